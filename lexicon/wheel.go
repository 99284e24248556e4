package lexicon

import (
	"slices"
	"strings"
)

// wheel reads how a wheelchair was used.
func (t *themer) wheel(k, i int) {
	u := &t.reader.units[i]
	switch u.e.name {
	case "told", "fast":
		around := 1
		if u.e.name == "fast" {
			around = 0
		}
		if !t.wheeled(k, around) || t.relativeSays(k, i) && u.e.name == "told" {
			return
		}
	case "brakes":
		if t.ofRollator(k) || t.brakesOf(u) {
			return
		}
	case "footrests":
		if !t.wheeled(k, 1) && !t.anyBetween(u.from, u.to, restWord) {
			return
		}
	}
	st := t.start(k, i)
	switch {
	case u.e.name == "brakes" && st.Polarity == Affirmed && t.is(u.to, brakeOff):
		st.Polarity = Negated // "with his wheelchair brakes off"
	case u.e.name == "brakes" && st.Polarity == Negated:
		st.Detail.Mended = t.mendedHere(k, i, "brakes")
	case u.e.name == "footrests" && st.Polarity == Negated:
		st.Detail.Caught = t.anyBetween(u.from, u.to, footWord) && t.anyBetween(u.from, u.to, caughtWord) || t.pushedOn(k)
	}
	if u.e.name == "fast" && st.Polarity == Negated && st.Time == Now && t.ranInto(u) {
		st.Polarity = Affirmed
	}
	if st.Time != Before {
		st.Who = Resident
	}
	if n := len(t.out.Statements); n > t.read && t.sameRemark(&t.out.Statements[n-1], &st, u) {
		t.take(i)
		return
	}
	t.put(st, i)
	t.take(i)
}

// pushedOn reports whether sentence k, or the one before or behind, tells that the chair was taken somewhere.
func (t *themer) pushedOn(k int) bool {
	from := t.opening(max(0, k-1))
	return t.anyBetween(from, t.startOf(t.sents[min(len(t.sents)-1, k+1)].hi), pushes) && !t.near(k, 1, func(s *Statement) bool {
		n, ok := s.Staff.Get()
		return s.Concept == "move.wheel" && ok && n == 0
	})
}

// brakesOf reports whether "on" behind the brakes leads to what they belong to, and tells nothing of them: "brakes on
// my bike", "the left brake on it".
func (t *themer) brakesOf(u *unit) bool {
	return t.word(u.to-1) == "on" && u.to-u.from <= 3 && u.e.fields.polarity != Negated && (t.is(u.to, owner) || t.is(u.to, article) || t.is(u.to, things))
}

// mendedHere reports whether the sentence says behind unit i that it was put right.
func (t *themer) mendedHere(k, i int, name string) bool {
	s := &t.sents[k]
	for n := i + 1; n < s.hi; n++ {
		m := &t.reader.units[n]
		if m.kind != kindTheme || m.e.family != "mended" && (m.e.family != "wheel" || m.e.fields.polarity == Negated) {
			continue
		}
		// "put them on" puts right what was named last
		if (m.e.name == name || m.e.family == "mended" && t.anyBetween(m.from, m.to, things)) && t.saidSo(s, n) {
			return true
		}
	}
	return false
}

// ofRollator reports whether the brakes told in sentence k are those of a rollator: one is spoken of in it or right
// beside it, and no wheelchair.
func (t *themer) ofRollator(k int) bool {
	from, to := t.bounds(k, 1)
	for i := range t.toks {
		at := t.toks[i].Start
		if at >= from && at < to && t.is(i, wheelchairWord) {
			return false
		}
		if here, end := t.bounds(k, 0); at >= here && at < end && t.word(i) == "chair" {
			return false // "found his chair with the brakes off"
		}
	}
	return t.near(k, 1, func(s *Statement) bool { return s.Concept == "aid.walker-4w" || s.HasAid("walker-4w") }) &&
		!t.near(k, 1, func(s *Statement) bool {
			return s.To == "wheelchair" || s.From == "wheelchair" || s.Concept == "move.wheel"
		})
}

// ranInto reports whether the wording tells of a blow, which "not looking" before it does not deny.
func (t *themer) ranInto(u *unit) bool { return u.to-u.from > 3 }

// sameRemark reports whether a remark on the wheelchair goes on with the last: "took the corner too fast and
// clipped the door frame", "feet off the rests, toes scraping", "brakes were off so I put them on".
func (t *themer) sameRemark(last, st *Statement, u *unit) bool {
	if last.Concept != st.Concept || last.Detail.Clause == 0 {
		return false
	}
	between := t.text[last.Span.End:t.toks[u.from].Start]
	if strings.ContainsAny(between, ".\n!") {
		return false
	}
	switch st.Concept {
	case "wheel.fast":
		last.Span.End = t.toks[u.to-1].End
		return true
	case "wheel.brakes", "wheel.told":
		return last.Polarity != st.Polarity || len(between) < 6
	}
	// "no leg rests on the chair, left foot was catching" is two
	if last.Polarity != st.Polarity || t.restMissing(last) || len(between) >= 6 {
		return false
	}
	last.Detail.Caught = last.Detail.Caught || st.Detail.Caught
	return true
}

// restMissing reports whether a remark says that there are no rests.
func (t *themer) restMissing(s *Statement) bool {
	none := false
	for _, w := range strings.Fields(strings.ToLower(t.text[s.Span.Start:s.Span.End])) {
		in := t.lex.classes[strings.Trim(w, ",")]
		if in.has(footWord) && w != "leg" {
			return false
		}
		none = none || in.has(noneWord)
	}
	return none
}

// wheeled reports whether a wheelchair is spoken of within some sentences of sentence k, or pushed in one beside it.
func (t *themer) wheeled(k, around int) bool {
	if t.near(k, 1, func(s *Statement) bool { return s.Concept == "move.wheel" }) || t.near(k, around, func(s *Statement) bool {
		return s.Concept == "aid.wheelchair" || s.HasAid("wheelchair") || s.To == "wheelchair" && s.Group() == "move"
	}) {
		return true
	}
	from, to := t.bounds(k, around)
	for i := range t.toks {
		if at := t.toks[i].Start; at >= from && at < to && t.is(i, wheelchairWord) {
			return true
		}
	}
	return slices.ContainsFunc(t.hits, func(h themed) bool {
		at := t.toks[h.from].Start
		return h.e.family == "wheel" && (h.e.name == "brakes" || h.e.name == "footrests" && t.anyBetween(h.from, h.to, restWord)) && at >= from && at < to
	})
}
