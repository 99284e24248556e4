package lexicon

import "strings"

// otherPerson is the unit of the person other than the resident whose doing unit i is, -1 for none.
func (r *reader) otherPerson(s *sentence, i int) int {
	u := &r.units[i]
	if u.kind == kindPerson || u.kind == kindForm || u.kind == kindTold {
		return -1
	}
	switch {
	case u.doer == doerOther:
		return i
	case u.doer == doerResident, u.kind == kindFall && r.anyBetween(u.from, u.to, object) && !r.is(u.to-1, owner):
		return -1 // "wife found him on the floor"
	}
	if r.word(u.from-2) == "than" && r.is(u.from-1, thirdPerson) {
		for k := i - 1; k >= s.lo; k-- {
			if r.anchorAt(k) {
				return r.otherPerson(s, k) // "Daughter walked out in better spirits than she walked in"
			}
		}
	}
	if k := r.ofOtherSex(s, i); k >= 0 {
		return k
	}
	if k := r.ofAnother(s, i); k >= 0 && r.pronounFrom(k, i) {
		return k
	}
	if u.kind == kindVerb {
		if k := r.otherMoved(s, i); k >= 0 {
			return k
		}
		if r.movesResident(u) {
			return -1
		}
	}
	if k := r.relativeOf(s, i); k >= 0 {
		return k
	}
	switch u.kind {
	case kindAid, kindFall, kindSign, kindBearing:
		if k := r.relativesOwn(s, i); k >= 0 {
			return k
		}
	}
	return r.personBefore(s, i)
}

// relativesOwn is the unit of the relative named before in the sentence of whom unit i tells, -1 for none: their
// pronoun stands with weight before it or behind ("she's been in hospital herself after a fall", "on crutches
// herself"), has the aid ("his brother came by, he has a frame now"), or owns it where the resident is of the
// other sex ("wife came with her new walker, brought him a cake").
func (r *reader) relativesOwn(s *sentence, i int) int {
	u := &r.units[i]
	for k := i - 1; k >= s.lo; k-- {
		if !r.relativeOrOther(k) {
			continue
		}
		name := r.units[k].to - 1
		theirs, others := she, he
		switch {
		case r.is(name, male):
			theirs, others = he, she
		case !r.is(name, female):
			return -1
		}
		if r.is(u.to, self) && r.is(u.to, theirs) {
			return k
		}
		for t := u.from - 1; t >= r.units[k].to; t-- {
			switch near := u.kind == kindAid && t >= u.from-4; {
			case r.is(t, residentNoun):
				return -1
			case !r.is(t, theirs):
			case r.is(t, self):
				return k
			case !near:
			case r.is(t, thirdPerson) && r.is(t+1, goesWith):
				return k
			case r.is(t, owner) && r.is(t-1, leavesBehind), r.is(t, owner) && r.anyBetween(r.units[s.lo].from, r.units[s.hi-1].to, others):
				return k
			}
		}
		return -1
	}
	return -1
}

// anyBetween reports whether a word of the class stands among the tokens from from to to.
func (r *reader) anyBetween(from, to int, c class) bool {
	for k := from; k < to; k++ {
		if r.is(k, c) {
			return true
		}
	}
	return false
}

// otherMoved is the unit of another resident as the object of the verb at unit i ("helped transfer another
// resident"), -1 for none.
func (r *reader) otherMoved(s *sentence, i int) int {
	u := &r.units[i]
	if r.is(u.to, manyPeople) || r.is(u.to, article) && r.is(u.to+1, manyPeople) {
		return i // "staff walked the residents out"
	}
	if w := r.word(u.to); w != "another" && w != "other" || r.objectAbout(u) {
		return -1
	}
	if i+1 < s.hi && r.leads(i, kindPerson) && r.units[i+1].e.name == "other" {
		return i + 1
	}
	return -1
}

// movesResident reports whether the resident is the object of the verb: whoever moved them, it is the
// resident who was moved.
func (r *reader) movesResident(u *unit) bool {
	if r.objectAbout(u) || r.object(u.to) || r.is(u.to, residentNoun) {
		return true
	}
	with := r.word(u.to) == "with" && r.object(u.to+1)
	return with && !(r.word(u.to+1) == "her" && r.ownsNext(u.to+2))
}

// objectAbout reports whether the resident stands as the object in or before the words of the verb: "her son
// wheeled her", "helping her to walk".
func (r *reader) objectAbout(u *unit) bool {
	return r.object(u.to-1) && u.to-u.from > 1 || r.object(u.from-1) && r.word(u.from-2) != "with" ||
		r.word(u.from-1) == "to" && r.object(u.from-2)
}

// relativeOf is the unit of the person of whom the relative clause of unit i speaks ("her husband, who uses
// …"), -1 for none.
func (r *reader) relativeOf(s *sentence, i int) int {
	lo, _ := r.chunk(s, i)
	if lo <= s.lo || r.word(r.units[lo-1].from) != "who" {
		return -1
	}
	for k := lo - 2; k >= s.lo && k >= lo-4; k-- {
		if r.relativeOrOther(k) {
			return k
		}
	}
	return -1
}

// relativeOrOther reports whether unit k is a relative or another resident.
func (r *reader) relativeOrOther(k int) bool {
	n := &r.units[k]
	return n.kind == kindPerson && (n.e.name == "family" || n.e.name == "other")
}

// personBefore is the unit of the person before unit i in its segment who did it, -1 where that is the
// resident, the writer or nobody.
func (r *reader) personBefore(s *sentence, i int) int {
	u := &r.units[i]
	lo, _ := r.segment(s, i)
	for k := i - 1; k >= lo; k-- {
		switch n := &r.units[k]; {
		case n.kind == kindSubject && (r.word(n.from) == "she" || r.word(n.from) == "he"):
			if j := r.visitorIs(s, k); j >= 0 {
				return j
			}
			return r.ofAnother(s, k)
		case n.kind == kindSubject && (r.is(n.from, residentNoun) || r.is(n.from, firstPerson)):
			return -1
		case r.relativeOrOther(k):
			if r.is(n.from, parent) && r.childTells(s, k) {
				return -1 // "daughter says Mum fell"
			}
			if k > lo && r.units[k-1].kind == kindAnd && k-2 >= s.lo && r.units[k-2].kind == kindSubject && !r.possessive(k-2) {
				return -1 // "resident and wife walked"
			}
			if r.word(n.to) == "'s" || r.subjectPerson(s, k) && (u.kind != kindAid || r.usesAid(u)) {
				return k
			}
			return -1
		}
	}
	if lo-2 > s.lo && r.units[lo-1].kind == kindAnd {
		// "her man was on the buses and walked miles": who is told to have been something goes on
		from, to := r.segment(s, lo-2)
		for k := from; k < to; k++ {
			if n := &r.units[k]; r.relativeOrOther(k) {
				if r.is(n.to, beingOrUsing) && r.subjectPerson(s, k) {
					return k
				}
				return -1
			}
		}
	}
	return -1
}

// visitorIs is the unit of the relative who is told to be there at the beginning of the sentence, or as the whole
// of the one before, where "she" or "he" at unit i goes on from them: "Daughter visiting, she walked …", "Son in
// to visit. He uses …". -1 for none.
func (r *reader) visitorIs(s *sentence, i int) int {
	lo := s.lo
	if i == s.lo && r.opens(r.units[i].from) {
		for lo > 0 && r.units[lo-1].sign != '.' || lo == s.lo && lo > 0 {
			lo--
		}
	}
	k := lo
	for k < i && r.units[k].kind == kindSubject && r.possessive(k) {
		k++
	}
	if k >= i || r.units[k].kind != kindPerson || r.units[k].e.name != "family" || !r.is(r.units[k].to, isThere) {
		return -1
	}
	p := &r.units[k]
	he, she := r.is(p.to-1, male), r.is(p.to-1, female)
	if w := r.word(r.units[i].from); w == "he" && !he || w == "she" && !she {
		return -1
	}
	for j := k + 1; j < i; j++ {
		if n := &r.units[j]; n.kind == kindSubject && !r.possessive(j) || n.kind == kindPerson || n.kind == kindVerb && !n.e.fields.weak || r.is(n.from, residentNoun) {
			return -1
		}
	}
	if before := r.word(r.units[i].from - 1); before != "," && before != "." && before != "and" {
		return -1
	}
	return k
}

// ofAnother is the unit of somebody who is neither the resident nor a relative and who opens the sentence as
// its subject, so that "she" and "her" at unit i are that person; -1 for none.
func (r *reader) ofAnother(s *sentence, i int) int {
	for k := s.lo; k < i && k <= s.lo+2; k++ {
		switch n := &r.units[k]; {
		case n.kind == kindPerson && n.e.name == "other":
			if r.subjectPerson(s, k) && k+1 < s.hi && r.units[k+1].sign == 0 {
				return k
			}
			return -1
		case n.kind == kindClock, n.kind == kindNone, n.kind == kindSubject && r.possessive(k):
		default:
			return -1
		}
	}
	return -1
}

// pronounFrom reports whether only pronouns lead from the person at unit k to unit i, so that it speaks of them.
func (r *reader) pronounFrom(k, i int) bool {
	said := false
	for t := r.units[k].to; t < r.units[i].to; t++ {
		switch {
		case r.is(t, thirdPerson), r.is(t, object):
			said = true
		case r.is(t, residentNoun):
			return false
		}
	}
	return said
}

// childTells reports whether another relative tells of the parent at unit k.
func (r *reader) childTells(s *sentence, k int) bool {
	for j := k - 1; j >= s.lo; j-- {
		if n := &r.units[j]; n.kind == kindPerson && n.e.name == "family" {
			return r.anyBetween(n.to, r.units[k].from, says)
		}
	}
	return false
}

// object reports whether token i is the resident as somebody's object.
func (r *reader) object(i int) bool {
	return r.is(i, object)
}

// usesAid reports whether the words before the aid say that somebody goes with it, not that they brought it.
func (r *reader) usesAid(u *unit) bool {
	for k := u.from - 1; k >= 0 && k >= u.from-5; k-- {
		if r.is(k, goesWith) || r.word(k) == "in" && strings.HasPrefix(u.e.name, "wheelchair") {
			return true
		}
	}
	return false
}

// subjectPerson reports whether the person at unit k is who acts, not one told, visited or accompanied.
func (r *reader) subjectPerson(s *sentence, k int) bool {
	n := &r.units[k]
	at := n.from - 1
	for at >= 0 {
		if r.is(at, article) || r.is(at, owner) || r.is(at, beforePerson) {
			at--
			continue
		}
		break
	}
	if r.is(at, toPerson) {
		return r.is(n.to, beingOrUsing) && r.is(at, tells) && (r.is(at-1, thirdPerson) || r.is(at-1, residentNoun)) // "she told her mother used a stick"
	}
	// a telling verb behind makes the person the one told
	if k+1 < s.hi && r.units[k+1].kind == kindTold && r.units[k+1].from-n.to <= 2 {
		return false
	}
	return !r.is(n.to, visits)
}
