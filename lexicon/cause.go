package lexicon

import (
	"slices"
	"strings"

	"example.com/stance/lexicon/internal/token"
)

// fall reads what brought a fall about and what it may have broken. Where the note tells of no fall the words mean
// something else.
func (t *themer) fall(k, i int) {
	u := &t.reader.units[i]
	if u.e.name == "cause" {
		if !t.near(k, 3, func(s *Statement) bool { return isFallen(s) && s.Polarity == Affirmed && s.Time == Now }) {
			return
		}
		if t.causeTold(k, i) || t.writerDoes(u.from) {
			return
		}
		st := t.start(k, i)
		st.Polarity, st.Time, st.Mood, st.Certainty = Affirmed, Now, Report, Certain
		if st.Who == Other {
			return
		}
		t.put(st, i)
		t.takeClause(k, i)
		return
	}
	if !t.fell || !t.happened() || t.elsewhere(u.from) {
		return
	}
	st := t.start(k, i)
	if st.Time == Planned || st.Time == Conditional {
		return
	}
	if n := len(t.out.Statements); n > t.read {
		// "shortened and turned out" is one sign
		last := &t.out.Statements[n-1]
		if last.Concept == st.Concept && last.Polarity == st.Polarity && last.Detail.Clause == st.Detail.Clause && t.joined(last.Span.End, u.from) {
			last.Span.End = t.toks[u.to-1].End
			t.take(i)
			return
		}
	}
	t.put(st, i)
	t.take(i)
}

// causeTold reports whether a sign or a fault beside the words at unit i tells already what brought the fall about, or
// whether the words are a move with staff, or the getting up afterwards.
func (t *themer) causeTold(k, i int) bool {
	u := &t.reader.units[i]
	at := t.span(u.from, u.to)
	from, to := t.bounds(k, 0)
	for n := range t.read {
		s := &t.out.Statements[n]
		if s.Span.Overlaps(at) {
			staff, _ := s.Staff.Get()
			if s.Concept == "fall.moved" || s.Group() == "move" && s.Done() && !t.fallsIn(k) && !strings.HasSuffix(t.word(u.from), "ing") ||
				s.Group() == "move" && (staff > 0 || s.Method != "" || s.HasAid("belt") || s.Time == Before) {
				return true
			}
		}
		if (s.Group() == "sign" || s.Concept == "aid.fault") && s.Polarity == Affirmed && s.Time == Now && s.Span.Start >= from && s.Span.Start < to {
			return true
		}
	}
	return false
}

// writerDoes reports whether the writer is told to do what begins at token i, and the resident is not quoted: "I was
// reaching for the sling when he slid", not "said “I was reaching for the cup”".
func (t *themer) writerDoes(i int) bool {
	for i--; t.is(i, verbGroup); i-- {
	}
	return t.is(i, firstPerson) && (i == 0 || t.opensClause(i-1) && !t.is(i-1, says) && t.toks[i-1].Kind != token.Sign || t.pauses(i-1))
}

// fallsIn reports whether the fall is told in sentence k itself.
func (t *themer) fallsIn(k int) bool {
	return t.near(k, 0, func(s *Statement) bool { return isFallen(s) && s.Polarity == Affirmed && s.Time == Now })
}

// joined reports whether only "and" or a sign stands between a place in the text and token i.
func (t *themer) joined(end, i int) bool {
	between := strings.TrimSpace(strings.ToLower(t.text[end:t.toks[i].Start]))
	switch between {
	case "", "and", "&", "+", "/", ",", "or", "and slightly", "and was", "and is":
		return true
	}
	return false
}

// takeClause lets the words from unit i to the end of its clause be told by its theme alone.
func (t *themer) takeClause(k, i int) {
	_, hi := t.segment(&t.sents[k], i)
	u := &t.reader.units[i]
	end := t.toks[u.to-1].End
	for j := i + 1; j < hi; j++ {
		n := &t.reader.units[j]
		if n.kind == kindFall || n.kind == kindTheme {
			break
		}
		end = t.toks[n.to-1].End
	}
	t.gone = append(t.gone, Span{Start: t.toks[u.from].Start, End: end})
}

// isFallen accepts falls of the resident that reached the floor.
func isFallen(s *Statement) bool { return s.IsFall() && s.Who == Resident }

// happened reports whether the note tells of a fall of this shift, or goes on from one.
func (t *themer) happened() bool {
	return t.fellBefore || slices.ContainsFunc(t.out.Statements[:t.read], func(s Statement) bool {
		return (isFallen(&s) || s.Concept == "fall.moved") && s.Time == Now
	})
}
