package lexicon

import "example.com/stance/lexicon/internal/token"

// shortest and longest words of a sentence in which a word for a move alone shows what it is about ("Pivot no longer
// safe"). In a longer one the word is as often part of something else ("a stand-in came for the candle stand").
const (
	fewestWords = 2
	mostWords   = 5
)

// overlooked are the sentences that name a move and from which nothing was read, so that nobody takes silence on them
// for approval. It is asked once all else is read.
func (r *reader) overlooked() []Span {
	var out []Span
	for i := range r.sents {
		s := &r.sents[i]
		at, words := r.placeOf(s)
		if words == 0 || r.saysOf(at) || !r.namesMove(s, words) {
			continue
		}
		out = append(out, at)
	}
	return out
}

// placeOf is the place of a sentence from its first word to its last, and how many words it has after its heading.
func (r *reader) placeOf(s *sentence) (Span, int) {
	from, to := 0, len(r.toks)
	if s.lo > 0 && r.units[s.lo-1].sign != 0 {
		from = r.units[s.lo-1].to
	} else if s.lo > 0 {
		from = r.units[s.lo].from
	}
	if s.hi < len(r.units) {
		to = r.units[s.hi].from
	}
	for from < to && r.toks[from].Kind != token.Word {
		from++
	}
	for to > from && r.toks[to-1].Kind == token.Newline {
		to--
	}
	if from >= to {
		return Span{}, 0
	}
	words := 0
	for t := from; t < to; t++ {
		switch {
		case r.word(t) == ":":
			words = 0
		case r.toks[t].Kind == token.Word:
			words++
		}
	}
	return r.span(from, to), words
}

// saysOf reports whether anything was read in a place.
func (r *reader) saysOf(at Span) bool {
	for i := range r.out.Statements {
		if r.out.Statements[i].Span.Overlaps(at) {
			return true
		}
	}
	for i := range r.out.Remarks {
		if r.out.Remarks[i].Span.Overlaps(at) {
			return true
		}
	}
	return false
}

// namesMove reports whether a sentence is about how somebody was moved: helpers and where to; a word for a move with
// what belongs to one; or a short sentence around such a word.
func (r *reader) namesMove(s *sentence, words int) bool {
	moves, around, plain, counted, ledTo := 0, 0, 0, false, false
	for k := s.lo; k < s.hi; k++ {
		switch u := &r.units[k]; u.kind {
		case kindIgnore:
			plain++
		case kindVerb:
			if ownMove(u.e.name) {
				moves++
			}
		case kindBearing, kindOffFloor:
			moves++
		case kindStaff:
			around++
			counted = counted || u.e.name != "plain"
		case kindPlace, kindAid:
			ledTo = ledTo || k > s.lo && r.units[k-1].kind == kindTo && surface(u.e)
			if u.kind == kindPlace || ownAid(u.e) {
				around++
			}
		case kindLevel, kindDistance:
			around++
		}
	}
	switch {
	case counted && ledTo:
		return true
	case moves == 0 || plain > 0:
		return false
	}
	return around > 0 || fewestWords <= words && words <= mostWords
}

// ownMove reports whether a verb hardly ever names anything but a move of the resident. People carry trays, lift
// spirits and turn the page.
func ownMove(verb string) bool {
	switch verb {
	case "walk", "stand", "transfer", "pivot", "side", "hoist", "stairs", "raised":
		return true
	}
	return false
}

// surface reports whether a resident is moved there, and does not only go there to be washed.
func surface(e *entry) bool {
	switch e.fields.place {
	case "bed", "chair", "wheelchair", "toilet", "commode", "edge-of-bed":
		return true
	}
	return e.name == "wheelchair"
}

// ownAid reports whether an aid is one that a move is made with.
func ownAid(e *entry) bool { return e.name != "sling" }
