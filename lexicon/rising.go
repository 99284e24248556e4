package lexicon

import (
	"slices"
	"strings"
)

// rise reads the stages of getting up.
func (t *themer) rise(k, i int) {
	u := &t.reader.units[i]
	st := t.start(k, i)
	switch u.e.name {
	case "raised":
		if n, ok := t.numberIn(u.from, u.to, 10, 90); ok {
			st.Value = Some(n)
		}
	case "paused":
		n, ok := t.minutesIn(u.from, u.to)
		if ok && n > t.longestPause(u) || t.pastimeAt(u.to) {
			return // that long is sitting out
		}
		if ok {
			st.Value = Some(n)
		}
	case "asked":
		if t.relativeSays(k, i) || !t.changesPosition(k) {
			return
		}
		st.Polarity = Affirmed
	case "exercised":
		if n := len(t.out.Statements); n > t.read {
			if last := &t.out.Statements[n-1]; last.Concept == st.Concept && t.joined(last.Span.End, u.from) {
				return // "ankle pumps and quad sets"
			}
		}
	case "returned":
		if st.Time != Now || st.Polarity == Negated || !t.signBefore(k, i) {
			return
		}
		t.take(i)
	}
	t.put(st, i)
}

// longestPause is how many minutes a pause in the words of unit u may take: who sits longer sits out.
func (t *themer) longestPause(u *unit) float64 {
	if strings.HasPrefix(t.word(u.from), "rest") || strings.HasPrefix(t.word(u.from), "wait") {
		return 30
	}
	return 10
}

// numberIn is the first number from lo to hi that stands in the tokens.
func (t *themer) numberIn(from, to int, lo, hi float64) (float64, bool) {
	for i := from; i < to; i++ {
		if tok := &t.toks[i]; tok.IsNum && tok.Num >= lo && tok.Num <= hi {
			return tok.Num, true
		}
	}
	return 0, false
}

// minutesIn is the time in minutes that the tokens tell.
func (t *themer) minutesIn(from, to int) (float64, bool) {
	for i := from; i < to; i++ {
		if !t.is(i, minutes) {
			continue
		}
		n, ok := t.numberIn(from, i, 0, 600)
		switch {
		case t.is(i, second) && ok:
			return n / 60, true
		case ok:
			return n, true
		case t.word(i-1) == "a" && !t.is(i, second) && t.word(i-2) != "half":
			return 1, true
		}
	}
	return 0, false
}

// pastimeAt reports whether the words from token i tell what the time was spent on, which is no pause.
func (t *themer) pastimeAt(i int) bool {
	return t.is(i, pastime) || t.is(i+1, pastime) && !t.pauses(i)
}

// changesPosition reports whether a change of position is told in sentence k or right before or behind it.
func (t *themer) changesPosition(k int) bool {
	if t.near(k, 1, func(s *Statement) bool {
		switch s.Concept {
		case "move.sit-up", "move.stand", "move.transfer", "move.walk", "move.up", "move.lift":
			return true
		}
		return s.Group() == "sign" && (s.Detail.Rising || s.Posture != "")
	}) {
		return true
	}
	from, to := t.bounds(k, 1)
	return slices.ContainsFunc(t.hits, func(h themed) bool {
		at := t.toks[h.from].Start
		return h.e.family == "rise" && h.e.name != "asked" && h.e.name != "returned" && at >= from && at < to
	})
}

// signBefore reports whether a sign that is so is told before unit i, in its sentence or one of the two before.
func (t *themer) signBefore(k, i int) bool {
	from, _ := t.bounds(k, 2)
	at := t.toks[t.reader.units[i].from].Start
	for n := range t.read {
		if s := &t.out.Statements[n]; s.Group() == "sign" && s.Polarity == Affirmed && s.Time == Now && s.Who == Resident &&
			s.Span.Start < at && s.Span.Start >= from {
			return true
		}
	}
	return slices.ContainsFunc(t.out.Statements[:t.read], func(s Statement) bool {
		// "blood pressure 92/58, so laid her back down"
		return s.Concept == "vital.pressure" && (s.Posture == "sitting" || s.Posture == "standing") && s.Span.Start < at && s.Span.Start >= from
	}) && t.is(t.reader.units[i].from-1, hence)
}

// relativeSays reports whether unit i is what a relative or another resident says or has.
func (t *themer) relativeSays(k, i int) bool {
	lo, _ := t.segment(&t.sents[k], i)
	for j := lo; j < i; j++ {
		if t.relativeOrOther(j) && !t.is(t.reader.units[j].from-1, toPerson) {
			return true
		}
	}
	return false
}
