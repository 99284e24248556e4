package lexicon

import (
	"cmp"
	"slices"
	"sort"
	"strings"

	"example.com/stance/lexicon/internal/match"
	"example.com/stance/lexicon/internal/token"
)

// The themes of a note are rising in stages, hazards, what brought a fall about and what it broke, the
// wheelchair, and signs at the bed. Their words are often those of a move as well ("sat at the edge of the bed for
// two minutes"), so their wordings are matched beside all others, and once moves, signs and falls are read:
// what these say decides whether the words of a theme mean it.

// A themed is a wording of a theme, in tokens.
type themed struct {
	from, to int
	e        *entry
}

// themes reads the statements of the themes and lays them over what was read before.
func (r *reader) themes() {
	r.passedSigns()
	r.signsOver()
	hits := r.themeHits()
	if len(hits) == 0 {
		r.movedBy()
		return
	}
	t := &themer{reader: r, hits: hits, read: len(r.out.Statements)}
	t.sortRead()
	t.units = r.units
	// the rows change places, so that both keep their room for the next note
	r.units, r.spare = r.withThemes(hits), r.units
	for i := range r.units {
		r.units[i].part = int8(r.part(i))
	}
	r.stories()
	t.sents = r.sentences()
	for k := range t.sents {
		t.sentence(k)
	}
	t.takeOver()
	r.movedBy()
}

// passedSigns makes a sign negated that is told to be over: "dizziness gone", "the spinning had passed".
func (r *reader) passedSigns() {
	for n := range r.out.Statements {
		s := &r.out.Statements[n]
		if s.Group() != "sign" || s.Polarity != Affirmed || s.Time != Now {
			continue
		}
		_, end := r.tokensOf(s)
		for i := end; i < end+4 && i < len(r.toks); i++ {
			if r.pauses(i) || r.is(i, noAnswer) || r.word(i) == "not" || r.word(i) == "until" {
				break
			}
			if r.is(i, passedOff) {
				if w := r.word(i); (w == "went" || w == "wore") && r.word(i+1) != "off" && r.word(i+1) != "away" {
					break
				}
				s.Polarity = Negated
				break
			}
			if !r.is(i, perfect) && !r.is(i, beingOrUsing) && !strings.HasSuffix(r.word(i), "ly") && r.word(i) != "all" && r.word(i) != "soon" && r.word(i) != "now" {
				break
			}
		}
	}
}

// themeHits are the wordings of themes in text order. One that makes a statement, or says that its words make
// none, ends the others that begin in it; the rest only lend their sense.
func (r *reader) themeHits() []themed {
	hits := r.hits[:0]
	end := 0
	for i := range r.themeIn {
		if i >= end && r.is(i, limbNoun) {
			if to := r.looksBroken(i); to > 0 {
				look := r.lex.find("fall.fracture")
				if slices.ContainsFunc(r.toks[i:to], func(t token.Token) bool { return t.Word == "not" || strings.HasSuffix(t.Word, "n't") }) {
					look = r.lex.find("fall.fracture#none") // "foot not turned out"
				}
				hits = append(hits, themed{i, to, look})
				end = to
				continue
			}
		}
		if from, to := r.cardGoneAt(i); i >= end && to > 0 && from >= end {
			hits = append(hits, themed{from, to, r.lex.find("posted.way#none")})
			end = to
			continue
		}
		h, ok := r.themeAt(i)
		if !ok {
			e, from, to := r.chairPartAt(i)
			if f, t := r.staffHurtAt(i); t > 0 {
				e, from, to = r.lex.find("staff.hurt"), f, t
			}
			if e != nil && i >= end && from >= end {
				hits = append(hits, themed{from, to, e})
				end = to
			}
			continue
		}
		e := r.lex.said[h.Payload].e
		if lends(e) {
			hits = append(hits, themed{h.From, h.To, e})
			continue
		}
		if h.From < end {
			continue
		}
		end = h.To
		hits = append(hits, themed{h.From, h.To, e})
	}
	r.hits = hits
	return hits
}

// themeAt is the wording of a theme that begins at token i, and whether there is one.
func (r *reader) themeAt(i int) (match.Hit, bool) {
	if !r.lex.themes.Opens(&r.themeIn[i]) {
		return match.Hit{}, false
	}
	return r.lex.themes.At(r.themeIn, i)
}

// lends reports whether the wordings of an entry only bear on statements that others make.
func lends(e *entry) bool {
	return e.family == "mended" || onlyLends(e)
}

// onlyLends reports whether the wordings of an entry of the family theme stand beside statements and take no unit's
// place: all but those that say that their words make no statement.
func onlyLends(e *entry) bool {
	return e.family == "theme" && !strings.HasSuffix(e.name, "-nothing") && e.name != "foot-care"
}

// withThemes is the row of units with the wordings of themes in the place of the units that they overlap.
func (r *reader) withThemes(hits []themed) []unit {
	var own []unit // seldom more than a few
	for _, h := range hits {
		if onlyLends(h.e) {
			continue
		}
		if h.e.family == "mended" && slices.ContainsFunc(hits, func(o themed) bool { return !lends(o.e) && o.from < h.to && h.from < o.to }) {
			continue
		}
		if n := len(own); n > 0 && own[n-1].to > h.from {
			continue
		}
		k := kindTheme
		if h.e.family == "told" && h.e.ID == "told."+h.e.name {
			k = kindPerson // somebody who may be told
		}
		own = append(own, unit{from: h.from, to: h.to, kind: k, e: h.e})
	}
	// both rows are in text order
	out, k := r.spare[:0], 0
	for i := range r.units {
		u := &r.units[i]
		for k < len(own) && own[k].to <= u.from {
			out = append(out, own[k])
			k++
		}
		if k < len(own) && own[k].from < u.to {
			continue
		}
		out = append(out, *u)
		last := &out[len(out)-1]
		last.used, last.story = false, 0
	}
	return append(out, own[k:]...)
}

// A themer reads the themes of one note.
type themer struct {
	*reader
	hits  []themed
	units []unit // as they were before the themes
	sents []sentence
	read  int    // how many statements were read before
	gone  []Span // words whose moves, aids and injuries are told by a theme
	inWay []Span // words of hazards, whose aids are aids still

	order   []int // the statements read before, in text order
	longest int   // bytes of the longest of them
}

// sentence reads the themes of one sentence.
func (t *themer) sentence(k int) {
	s := &t.sents[k]
	for i := s.lo; i < s.hi; i++ {
		u := &t.reader.units[i]
		if u.e == nil || u.e.kind != kindTheme || u.story > 0 {
			continue
		}
		switch u.e.family {
		case "rise":
			t.rise(k, i)
		case "hazard":
			t.hazard(k, i)
		case "fall":
			t.fall(k, i)
		case "told":
			t.tell(k, i)
		case "staff":
			st := t.start(k, i)
			st.Who = Other
			if !t.relativeSays(k, i) && !t.is(u.from-1, holdsHand) {
				t.put(st, i)
				t.take(i)
			}
		case "wheel":
			t.wheel(k, i)
		case "posted":
			t.posted(k, i)
		}
	}
	t.repairs(k)
}

// start is the statement of unit i, with its scope.
func (t *themer) start(k, i int) Statement {
	u := &t.reader.units[i]
	st := t.begin(u.e.conceptID())
	st.Detail.Head = t.span(u.from, u.to)
	t.scope(&t.sents[k], i, &st)
	if u.e.fields.polarity != "" {
		st.Polarity = u.e.fields.polarity
	}
	st.Fixed = u.e.fields.fixed
	return st
}

func (t *themer) put(st Statement, i int) *Statement {
	u := &t.reader.units[i]
	return t.add(st, u.from, u.to)
}

// take lets the words of unit i be told by its theme alone.
func (t *themer) take(i int) {
	u := &t.reader.units[i]
	t.gone = append(t.gone, t.span(u.from, u.to))
}

// opening is the token with which sentence k begins.
func (t *themer) opening(k int) int {
	if lo := t.sents[k].lo; lo > 0 {
		return min(t.reader.units[lo-1].to, t.reader.units[lo].from)
	}
	return 0
}

// bounds are the places in the text where sentence k and, on either side, as many more begin and end.
func (t *themer) bounds(k, around int) (from, to int) {
	lo, hi := max(0, k-around), min(len(t.sents)-1, k+around)
	from = t.toks[t.opening(lo)].Start
	last := t.sents[hi].hi
	to = len(t.text)
	if last < len(t.reader.units) {
		to = t.toks[t.reader.units[last].from].Start
	}
	return from, to
}

// near reports whether a statement that was read before the themes, and that pick takes, begins within some sentences.
func (t *themer) near(k, around int, pick func(*Statement) bool) bool {
	from, to := t.bounds(k, around)
	first := sort.Search(len(t.order), func(n int) bool { return t.out.Statements[t.order[n]].Span.Start+t.longest > from })
	for _, n := range t.order[first:] {
		st := &t.out.Statements[n]
		if st.Span.Start >= to {
			break
		}
		if st.Span.End > from && pick(st) {
			return true
		}
	}
	return false
}

// sortRead puts the statements read before the themes in text order, so that those about a place are found without
// going through all.
func (t *themer) sortRead() {
	t.order = slices.Grow(t.reader.order[:0], t.read)
	for n := range t.read {
		s := t.out.Statements[n].Span
		t.order, t.longest = append(t.order, n), max(t.longest, s.End-s.Start)
	}
	slices.SortStableFunc(t.order, func(a, b int) int {
		return cmp.Compare(t.out.Statements[a].Span.Start, t.out.Statements[b].Span.Start)
	})
	t.reader.order = t.order
}

// said reports whether a lending wording of the name stands in the sentence.
func (t *themer) said(k int, name string) bool {
	s := &t.sents[k]
	from, to := t.opening(k), t.startOf(s.hi)
	return slices.ContainsFunc(t.hits, func(h themed) bool {
		return h.e.family == "theme" && h.e.name == name && h.from < to && h.to > from
	})
}

// takeOver takes out what was read before from words that a theme tells.
func (t *themer) takeOver() {
	kept := t.out.Statements[:0]
	for n, s := range t.out.Statements {
		if n < t.read && t.taken(&s) {
			continue
		}
		kept = append(kept, s)
	}
	t.out.Statements = kept
}

// taken reports whether a theme tells the words of the statement.
func (t *themer) taken(s *Statement) bool {
	if s.Group() == "move" && slices.ContainsFunc(t.inWay, s.Span.Overlaps) {
		return true
	}
	return slices.ContainsFunc(t.gone, func(g Span) bool {
		head := s.Detail.Head
		if head.IsZero() {
			head = s.Span
		}
		if !head.Overlaps(g) {
			return false
		}
		switch s.Group() {
		case "move":
			return !s.byStaff() || s.Concept == "move.up" || t.posts(g)
		case "aid", "assist", "reason":
			return true
		case "told":
			return s.Concept == "told.nurse" && t.personIn(g)
		}
		return s.Concept == "fall.injury"
	})
}

// byStaff reports whether the words tell that staff took part in the move.
func (s *Statement) byStaff() bool {
	staff, _ := s.Staff.Get()
	return staff > 0 || s.Assist != "" || s.HasAid("belt") || s.Method != ""
}

// posts reports whether a sign tells the words of g.
func (t *themer) posts(g Span) bool {
	return slices.ContainsFunc(t.out.Statements, func(s Statement) bool {
		return (s.Concept == "posted.way" || s.Concept == "rise.returned") && s.Span.Overlaps(g)
	})
}

// personIn reports whether the words of g name a person in another sense too ("on call supervisor").
func (t *themer) personIn(g Span) bool {
	return slices.ContainsFunc(t.units, func(u unit) bool {
		return u.kind == kindPerson && t.span(u.from, u.to).Overlaps(g)
	})
}
