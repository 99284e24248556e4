package lexicon

import "strings"

// hazard reads a hazard: whose it is, and whether it was put right.
func (t *themer) hazard(k, i int) {
	u := &t.reader.units[i]
	st := t.start(k, i)
	if st.Time == Planned || st.Time == Conditional || st.Mood == Order || t.word(u.from) == "icy" && u.to-u.from == 1 && !t.met(k) {
		return // "roads icy tomorrow" is the weather, "went down on the step, icy" is not
	}
	for n := t.read; n < len(t.out.Statements); n++ {
		o := &t.out.Statements[n]
		from, _ := t.bounds(k, 0)
		if t.is(u.from, slips) {
			from, _ = t.bounds(k, 2) // "boots all over the hall. He stumbled on a bag"
		}
		if o.Concept == st.Concept && o.Span.Start >= from && o.Polarity == st.Polarity {
			o.Fixed = o.Fixed || st.Fixed || t.mended(k, i)
			t.inWay = append(t.inWay, t.span(u.from, u.to))
			return // one hazard, told in more words than one
		}
	}
	switch {
	case st.Who == Other:
	case t.metByOther(k):
		st.Who = Other // "a man in the street fell over his dog"
	case t.is(u.from, slips) && (t.is(u.from-1, firstPerson) || t.is(u.from-1, staffWord)):
		st.Who = Other // "I tripped over the crash mat"
	case u.e.name == "footwear", t.met(k), t.said(k, "own-place"):
	case t.said(k, "shared-place"):
		st.Who, st.Detail.Nobody = Other, true
	}
	st.Fixed = st.Fixed || t.mended(k, i)
	if st.Fixed {
		st.Polarity, st.Certainty = Affirmed, Certain
	}
	t.put(st, i)
	t.inWay = append(t.inWay, t.span(u.from, u.to))
}

// met reports whether the resident fell or nearly fell in the sentence or the next.
func (t *themer) met(k int) bool {
	from, _ := t.bounds(k, 0)
	_, to := t.bounds(k, 1)
	for n := range t.read {
		s := &t.out.Statements[n]
		if (isFallen(s) || s.Concept == "fall.near" || s.Concept == "fall.caught") && s.Who == Resident && s.Polarity == Affirmed &&
			s.Span.Start >= from && s.Span.Start < to {
			return true
		}
	}
	return false
}

// metByOther reports whether somebody else than the resident fell or nearly fell in the sentence.
func (t *themer) metByOther(k int) bool {
	return t.near(k, 0, func(s *Statement) bool {
		return (s.IsFall() || s.Concept == "fall.near") && s.Who == Other
	})
}

// mended reports whether the note tells that the hazard at unit i was put right: behind it in its sentence, or in
// plain words anywhere after it.
func (t *themer) mended(k, i int) bool {
	name := t.reader.units[i].e.name
	for j := range t.sents {
		if j < k {
			continue
		}
		s := &t.sents[j]
		for n := s.lo; n < s.hi; n++ {
			m := &t.reader.units[n]
			if m.e == nil || m.kind != kindTheme || m.e.family != "mended" || m.e.name != name {
				continue
			}
			if near := strings.HasSuffix(m.e.ID, "#near"); near && (j != k || n < i) {
				continue
			}
			if t.saidSo(s, n) {
				return true
			}
		}
	}
	return false
}

// saidSo reports whether what unit n of the sentence says is so in this shift.
func (t *themer) saidSo(s *sentence, n int) bool {
	st := t.begin("")
	t.scope(s, n, &st)
	return st.Polarity == Affirmed && st.Time == Now && st.Mood == Report
}

// repairs remarks that those who put buildings right were told.
func (t *themer) repairs(k int) {
	s := &t.sents[k]
	from, to := t.reader.units[s.lo].from, t.startOf(s.hi)
	for _, h := range t.hits {
		if h.e.family == "theme" && h.e.name == "repair" && h.from >= from && h.from < to && !t.toBe(h.from) {
			t.out.Remarks = append(t.out.Remarks, Remark{Kind: Repair, Span: t.span(h.from, h.to)})
		}
	}
}

// toBe reports whether the words before token i put off or deny what they lead to.
func (t *themer) toBe(i int) bool {
	for k := i - 1; k >= 0 && k >= i-3 && !t.pauses(k); k-- {
		switch t.word(k) {
		case "will", "not", "to", "should", "must", "please", "need", "needs", "nobody":
			return true
		}
	}
	return false
}
