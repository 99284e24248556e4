package lexicon

import "strings"

// signs reads dizziness and its kin, with the posture that their words name.
func (r *reader) signs(s *sentence) {
	for i := s.lo; i < s.hi; i++ {
		u := &r.units[i]
		if u.kind != kindSign || u.used {
			continue
		}
		st := r.begin("sign." + u.e.name)
		st.Detail.Head = r.span(u.from, u.to)
		from, to := u.from, u.to
		if k := r.postureOf(s, i); k >= 0 {
			p := &r.units[k]
			if st.Posture = p.e.fields.posture; p.kind == kindSign {
				st.Posture = r.ownPosture(p)
			}
			st.Detail.Rising = true
			if !r.commaBetween(i, k) {
				from, to = min(from, p.from), max(to, p.to)
			}
		} else if pos := r.ownPosture(u); pos != "" {
			st.Posture, st.Detail.Rising = pos, true
		} else if pos := r.risenAfter(s, i); pos != "" {
			st.Posture, st.Detail.Rising = pos, true
		} else if pos := r.risenBefore(s, i); pos != "" {
			st.Posture, st.Detail.Rising = pos, true
		}
		if u.e.name == "nausea" && !st.Detail.Rising && !r.besideSign(s, i) {
			continue
		}
		if c, at := r.clockNear(s, i); c != "" {
			st.Clock = c
			from, to = min(from, r.units[at].from), max(to, r.units[at].to)
		}
		r.scope(s, i, &st)
		r.add(st, from, to)
	}
}

// besideSign reports whether unit i goes on with another sign that was looked for: "no dizziness or nausea".
func (r *reader) besideSign(s *sentence, i int) bool {
	for k := i - 1; k >= s.lo && k >= i-3; k-- {
		switch u := &r.units[k]; u.kind {
		case kindSign:
			return r.deniedBefore(s, k)
		case kindAnd, kindNegPre:
		default:
			if u.sign != ',' {
				return false
			}
		}
	}
	return false
}

// signsOver adds that a sign was over where a later clause says only that it was: "after some minutes it has passed".
func (r *reader) signsOver() {
	for i := range r.toks {
		if !r.is(i, passedOff) {
			continue
		}
		it := i - 1
		for r.is(it, perfect) || r.is(it, justThere) || strings.HasSuffix(r.word(it), "ly") {
			it--
		}
		if w := r.word(it); w != "it" && w != "that" || it == i-1 && (r.is(i, beWord) || !r.endsThere(i+1) && !r.is(i+1, offWord)) {
			continue
		}
		if sign := r.signJustBefore(it); sign != nil {
			st := r.begin(sign.Concept)
			st.Polarity, st.Time, st.Who, st.Certainty, st.Mood = Negated, Now, Resident, Certain, Report
			r.add(st, it, i+1)
		}
	}
}

// signJustBefore is the last sign that the resident is told to have had shortly before token i, nil for none.
func (r *reader) signJustBefore(i int) *Statement {
	const near = 200 // bytes; about two sentences
	var last *Statement
	for k := range r.out.Statements {
		st := &r.out.Statements[k]
		if at := r.toks[i].Start; st.Group() == "sign" && st.Done() && st.Span.End < at && at-st.Span.End < near && (last == nil || st.Span.Start > last.Span.Start) {
			last = st
		}
	}
	return last
}

// ownPosture is the posture inside the sign's own wording ("weak on standing").
func (r *reader) ownPosture(u *unit) string {
	for k := u.from; k < u.to; k++ {
		if r.is(k, upright) {
			return "standing"
		}
	}
	return ""
}

// postureOf is the unit of the posture said with the sign at unit i, -1 for none.
func (r *reader) postureOf(s *sentence, i int) int {
	for k := i + 1; k < s.hi; k++ {
		u := &r.units[k]
		if r.parts(k) == 2 || u.kind == kindVitalPair || u.kind == kindVitalName {
			break
		}
		if u.kind == kindPosture || u.kind == kindSign && r.ownPosture(u) != "" {
			return k
		}
		// a list of signs shares what follows it
		if u.sign == ',' && k+1 < s.hi && (r.units[k+1].kind == kindSign || r.units[k+1].kind == kindAnd) {
			continue // "dizziness, nausea or blurred vision on standing"
		}
		if u.kind == kindSign || r.parts(k) == 0 && !r.blocks(k) && u.kind != kindVerb || u.kind == kindAnd {
			if u.kind == kindNegPre {
				break
			}
			continue
		}
		break
	}
	for k := i - 1; k >= s.lo; k-- {
		u := &r.units[k]
		if r.parts(k) > 0 && !(u.sign == ',' && k > s.lo && r.units[k-1].kind == kindPosture) || r.blocks(k) && u.kind != kindSign && !r.saysOfThemselves(u) {
			break
		}
		if u.kind == kindPosture {
			return k
		}
		if u.kind == kindVerb {
			break
		}
	}
	return -1
}

// saysOfThemselves reports whether the word of telling is what the resident says: "on standing she told that head is
// spinning".
func (r *reader) saysOfThemselves(u *unit) bool {
	return u.kind == kindTold && (r.is(u.from-1, thirdPerson) || r.is(u.from-1, joinsNames)) && r.is(u.from, tells)
}

// risenAfter is the posture that a clause of standing or sitting up gives the sign before it:
// "legs buckled when she stood at the commode".
func (r *reader) risenAfter(s *sentence, i int) string {
	k := i + 1
	for k < s.hi && (r.units[k].sign == '-' || r.units[k].kind == kindIgnore || r.units[k].kind == kindSubject && r.is(r.units[k].from-1, preposition)) {
		k++ // "swimmy-headed", "the head was spinning on her"
	}
	if k < s.hi && r.units[k].kind == kindVerb && r.units[k].form == Gerund && r.units[k].from-r.units[i].to <= 1 {
		return postureInto(&r.units[k]) // "dizzy sitting up"
	}
	if k >= s.hi || r.units[k].kind != kindBreak || !r.is(r.units[k].from, when) {
		return ""
	}
	for k++; k < s.hi && k <= i+6; k++ {
		switch u := &r.units[k]; u.kind {
		case kindVerb:
			return postureInto(u)
		case kindSubject, kindStaff, kindPerson, kindNone:
			if u.sign != 0 {
				return ""
			}
		default:
			return ""
		}
	}
	return ""
}

// postureInto is the posture that the move at unit u leads to, "" for none.
func postureInto(u *unit) string {
	switch u.e.fields.concept {
	case "move.stand":
		return "standing"
	case "move.sit-up":
		return "sitting"
	}
	return ""
}

// risenBefore is the posture that a clause of standing or sitting up just before gives the sign:
// "when she stood up she got stars in front of her eyes".
func (r *reader) risenBefore(s *sentence, i int) string {
	for k := i - 1; k >= s.lo && k >= i-7; k-- {
		u := &r.units[k]
		if r.blocks(k) && u.kind != kindSign {
			return ""
		}
		if u.kind != kindVerb {
			continue
		}
		posture := postureInto(u)
		if posture == "" && u.e.fields.weak {
			continue
		}
		if posture == "" {
			return ""
		}
		for j := u.from - 1; j >= 0 && j >= u.from-3; j-- {
			if r.is(j, when) {
				return posture
			}
		}
		return ""
	}
	return ""
}

// clockNear is the time of day of the segment of unit i and its unit.
func (r *reader) clockNear(s *sentence, i int) (string, int) {
	lo, hi := r.chunk(s, i)
	for k := lo; k < hi; k++ {
		if u := &r.units[k]; u.kind == kindClock && !u.used && (k < i || !r.commaBetween(i, k)) {
			if c := r.clockOf(*u); c != "" {
				if r.anchorBetween(k, i) {
					continue
				}
				return c, k
			}
		}
	}
	return "", -1
}

// anchorBetween reports whether another statement stands between units i and j.
func (r *reader) anchorBetween(i, j int) bool {
	if i > j {
		i, j = j, i
	}
	for k := i + 1; k < j; k++ {
		switch u := &r.units[k]; u.kind {
		case kindFall, kindSign, kindOffFloor, kindTold, kindCare:
			return true
		case kindVerb:
			if !u.e.fields.weak {
				return true
			}
		}
	}
	return false
}
