package lexicon

// sex is what a note shows of the resident.
type sex int8

const (
	sexUnsaid sex = iota
	woman
	man
)

// residentSex is what the words for relatives show of the resident: "his daughter", "wife", "her brother". Where they
// show both, it is unsaid: a relative has relatives too.
func (r *reader) residentSex() sex {
	shown := sexUnsaid
	r.sexFrom = len(r.toks)
	for i := range r.toks {
		says := sexUnsaid
		switch {
		case r.is(i, wifeWord) && !r.is(i-1, she) && r.word(i-1) != "a":
			says = man
		case r.is(i, husbandWord) && !r.is(i-1, he) && r.word(i-1) != "a":
			says = woman
		case r.word(i-1) == "his" && r.is(i, female) && !r.is(i, parent):
			says = man
		case r.word(i-1) == "her" && r.is(i, male) && !r.is(i, parent):
			says = woman
		}
		switch {
		case says == sexUnsaid || says == shown:
		case shown == sexUnsaid:
			shown, r.sexFrom = says, i
		default:
			return sexUnsaid
		}
	}
	return shown
}

// ofOtherSex is the unit of the pronoun that makes unit i the doing of somebody of the other sex than the resident,
// -1 for none: "His wife came. She walks with a stick", "I walked her down for a coffee".
func (r *reader) ofOtherSex(s *sentence, i int) int {
	u := &r.units[i]
	if r.sex == sexUnsaid || u.from < r.sexFrom || u.kind == kindFall && (u.e.name == "assessed" || u.e.name == "caught" || u.e.name == "eased") {
		return -1
	}
	theirs, own := she, he
	if r.sex == woman {
		theirs, own = he, she
	}
	if u.kind == kindVerb {
		for t := u.from; t <= u.to; t++ {
			switch {
			case r.is(t, own) && r.is(t, object) && !(r.word(t) == "her" && r.ownsNoun(t+1)):
				return -1 // "she walked him to the door"
			case r.is(t, theirs) && r.is(t, object) && !(r.word(t) == "her" && r.ownsNoun(t+1)):
				return i
			}
		}
	}
	for k := i - 1; k >= s.lo; k-- {
		switch n := &r.units[k]; {
		case n.kind == kindSubject && r.is(n.from, theirs) && (r.is(n.from, thirdPerson) || u.kind == kindAid && k == i-1):
			return k
		case n.kind == kindSubject && r.is(n.from, own) && r.is(n.from, thirdPerson), n.kind == kindSubject && r.is(n.from, firstPerson), n.kind == kindPerson, n.kind == kindStaff:
			return -1
		case n.sign != 0 && n.sign != ',', n.kind == kindBreak && r.parts(k) == 2, n.sign == ',' && u.kind != kindAid && !r.leadsBySubject(k+1, i):
			return -1
		}
	}
	return -1
}

// leadsBySubject reports whether a pronoun as the subject stands among the units from k to i.
func (r *reader) leadsBySubject(k, i int) bool {
	for ; k < i; k++ {
		if u := &r.units[k]; u.kind == kindSubject && r.is(u.from, thirdPerson) {
			return true
		}
	}
	return false
}
