package pages

import (
	"slices"
	"strings"

	"example.com/stance/cmd/stance/web/pages/sight"
	"example.com/stance/lexicon"
	"example.com/stance/lint/timeline"
)

// A search finds notes by words or by what they mean: "walker" finds "2WW" too, "two helpers" finds "x2" and
// "bathroom" finds "BR".
type search struct {
	words    []string // in lower case; each must be in the note, short ones whole and others from the start of a word
	concepts []lexicon.Statement
	part     part // of a move, where the words mean no more
}

// A part is what words give to a move that they do not name. The zero value gives nothing.
type part struct {
	field string // "staff" or "to"
	staff int
	place string
}

// newSearch takes the words as somebody types them. Where the lexicon understands them, they are
// looked for by meaning as well.
func newSearch(look *sight.Sight, words string) search {
	f := search{words: strings.Fields(strings.ToLower(words))}
	if len(f.words) == 0 {
		return f
	}
	f.concepts = look.Read(words, lexicon.OtherRole).Statements
	if len(f.concepts) == 0 {
		f.part = newPart(look, words)
	}
	return f
}

// newPart reads the words behind a verb, as they would stand in a note. They must be nothing else than the part.
func newPart(look *sight.Sight, words string) part {
	words = strings.TrimSpace(words)
	for field, before := range map[string]string{"staff": "transferred ", "to": "transferred to "} {
		for _, s := range look.Read(before+words, lexicon.OtherRole).Statements {
			all := lexicon.Span{Start: len(before), End: len(before) + len(words)}
			is := func(m lexicon.Mark) bool {
				return m.Field == field && m.Span.Start == all.Start && m.Span.End == all.End
			}
			if s.Concept != "move.transfer" || !slices.ContainsFunc(s.Detail.Terms, is) {
				continue
			}
			if n, ok := s.Staff.Get(); field == "staff" && ok {
				return part{field: field, staff: n}
			}
			if field == "to" && s.To != "" {
				return part{field: field, place: s.To}
			}
		}
	}
	return part{}
}

// in gives the places of a statement that give the part, none where it does not.
func (p part) in(s *lexicon.Statement) []lexicon.Span {
	n, counted := s.Staff.Get()
	var out []lexicon.Span
	for _, m := range s.Detail.Terms {
		switch {
		case p.field == "staff" && m.Field == "staff" && counted && n == p.staff,
			p.field == "to" && (m.Field == "to" && s.To == p.place || m.Field == "from" && s.From == p.place):
			out = append(out, m.Span)
		}
	}
	return out
}

// in reports whether the note has what is searched for, and where. No words find every note.
func (f search) in(e *timeline.Entry) ([]lexicon.Span, bool) {
	if len(f.words) == 0 {
		return nil, true
	}
	var hits []lexicon.Span
	meant := len(f.concepts) > 0
	for _, want := range f.concepts {
		found := false
		for _, s := range e.Reading.Statements {
			if means(&want, &s) {
				hits, found = append(hits, s.Span), true
			}
		}
		meant = meant && found
	}
	if f.part.field != "" {
		for i := range e.Reading.Statements {
			hits = append(hits, f.part.in(&e.Reading.Statements[i])...)
		}
		meant = len(hits) > 0
	}
	written, ok := f.written(e.Note.Text)
	if !meant && !ok {
		return nil, false
	}
	if ok {
		hits = append(hits, written...)
	}
	return hits, true
}

// written finds each of the words in the text; all must be there.
func (f search) written(text string) ([]lexicon.Span, bool) {
	lower := strings.ToLower(text)
	if len(lower) != len(text) {
		lower = text // a letter whose lower case is longer; then only what is written alike is found
	}
	var hits []lexicon.Span
	for _, w := range f.words {
		found := false
		for at := 0; ; {
			i := strings.Index(lower[at:], w)
			if i < 0 {
				break
			}
			start := at + i
			at = start + len(w)
			ends := at == len(lower) || !isWordByte(lower[at])
			if (start == 0 || !isWordByte(lower[start-1])) && (ends || len(w) > mostShort) {
				hits, found = append(hits, lexicon.Span{Start: start, End: at}), true
			}
		}
		if !found {
			return nil, false
		}
	}
	return hits, true
}

// mostShort is how many letters a word has that is only found whole: "BR" is no beginning of "brief".
const mostShort = 3

// isWordByte reports whether a word goes on over this byte; bytes above ASCII are letters for this purpose.
func isWordByte(b byte) bool {
	return 'a' <= b && b <= 'z' || 'A' <= b && b <= 'Z' || '0' <= b && b <= '9' || b >= 0x80
}

// means reports whether a statement tells of what is wanted: the same concept or an aid that is
// wanted, with the sides, methods and amounts of help that the wish names.
func means(want, s *lexicon.Statement) bool {
	if aid, ok := strings.CutPrefix(want.Concept, "aid."); ok {
		used := slices.ContainsFunc(s.Aids, func(a string) bool { return isKind(a, aid) })
		if said, ok := strings.CutPrefix(s.Concept, "aid."); used || ok && isKind(said, aid) {
			return true
		}
	}
	if want.Concept != s.Concept || want.Side != "" && want.Side != s.Side && s.Side != "both" {
		return false
	}
	if want.To != "" && want.To != s.To && want.To != s.From {
		return false
	}
	staff, counted := want.Staff.Get()
	if n, ok := s.Staff.Get(); counted && (!ok || n != staff) {
		return false
	}
	return (want.Method == "" || want.Method == s.Method) && (want.Assist == "" || want.Assist == s.Assist) &&
		!slices.ContainsFunc(want.Aids, func(a string) bool {
			return !slices.ContainsFunc(s.Aids, func(b string) bool { return isKind(b, a) })
		}) &&
		(want.Polarity == lexicon.Affirmed || s.Polarity == lexicon.Negated)
}

// isKind reports whether an aid is one of the kind that is wanted: "walker-2w" is a "walker", and
// "total-lift" a "lift".
func isKind(aid, wanted string) bool {
	return aid == wanted || strings.HasPrefix(aid, wanted+"-") || wanted == "lift" && strings.HasSuffix(aid, "-lift")
}

// markHits marks the places that a search found in the sentences of a note.
func markHits(segments []segment, hits []lexicon.Span) {
	at := 0
	for i := range segments {
		var out []piece
		for _, p := range segments[i].Pieces {
			out = append(out, cutAt(p, at, hits)...)
			at += len(p.Text)
		}
		segments[i].Pieces = out
	}
}

// cutAt parts a piece, which begins at that byte of its note, where hits begin and end.
func cutAt(p piece, start int, hits []lexicon.Span) []piece {
	cuts := []int{0, len(p.Text)}
	for _, h := range hits {
		for _, c := range []int{h.Start - start, h.End - start} {
			if 0 < c && c < len(p.Text) {
				cuts = append(cuts, c)
			}
		}
	}
	slices.Sort(cuts)
	cuts = slices.Compact(cuts)
	var out []piece
	for i := 0; i+1 < len(cuts); i++ {
		part := piece{Text: p.Text[cuts[i]:cuts[i+1]], Grade: p.Grade}
		here := lexicon.Span{Start: start + cuts[i], End: start + cuts[i+1]}
		part.Hit = slices.ContainsFunc(hits, here.Overlaps)
		if i+2 == len(cuts) {
			part.Numbers = p.Numbers
		}
		out = append(out, part)
	}
	return out
}
