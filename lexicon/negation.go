package lexicon

import "strings"

// negatedBy is the unit that negates unit i, -1 for none.
func (r *reader) negatedBy(s *sentence, i int) int {
	if u := &r.units[i]; r.answeredNo(u.to) || r.questionDenied(s) || r.word(u.to) == "free" && u.kind != kindVerb {
		return i
	}
	if k := r.failedAt(s, i); k >= 0 {
		return k
	}
	if k, decided := r.negatedBefore(s, i); decided {
		return k
	}
	return r.negatedBehind(s, i)
}

// failedAt is the unit that tells that the move at unit i was only tried ("tried to stand but could not"), -1 for
// none.
func (r *reader) failedAt(s *sentence, i int) int {
	u := &r.units[i]
	if u.kind != kindVerb || u.form != Base || r.word(u.from-1) != "to" || !r.is(u.from-2, tries) {
		return -1
	}
	for k := i + 1; k < s.hi; k++ {
		switch n := &r.units[k]; {
		case n.kind == kindNegPre:
			if r.cannot(n) && (k+1 >= s.hi || r.units[k+1].kind != kindVerb) {
				return k
			}
			return -1
		case n.kind == kindVerb, n.kind == kindSign, n.kind == kindFall:
			return -1
		}
	}
	return -1
}

// negatedBefore looks for the negation of unit i from there back to the beginning of its sentence. It is
// decided where a negation is found, or something over which none acts (-1).
func (r *reader) negatedBefore(s *sentence, i int) (at int, decided bool) {
	u := &r.units[i]
	noun := r.listable(u)
	or := r.orNext(s, i)
	for k := i - 1; k >= s.lo; k-- {
		switch n := &r.units[k]; {
		case u.kind == kindAid && n.kind == kindVerb && n.e.name == "refuse" && u.from-n.to <= 3 && r.onlyArticles(n.to, u.from):
			return k, true // "refused the walker"
		case n.kind == kindNegPost && r.word(n.to) == "any":
			return k, true // "not reported any falls"
		case n.kind == kindNegPre && r.unseen(n.from, u):
			return -1, true // "nobody saw her fall"
		case n.kind == kindNegPre:
			if w := r.word(n.from); (w == "without" || w == "w/o") && u.kind == kindVerb || r.negOwn(k, i) {
				return -1, true
			}
			return k, true
		case noun && or && n.kind == kindIgnore && n.e.name == "pseudo" && r.deniesAll(n):
			return k, true // "no incidents or falls"
		case n.kind == kindExcept: // "no complaints except for dizziness"
			return -1, true
		case n.kind == kindNegStop, n.kind == kindBreak && r.parts(k) == 2, n.sign == ';', n.sign == ':' && !noun:
			return -1, true
		case r.parts(k) > 0 && (r.word(n.from) == "or" || r.word(n.from) == "nor"):
			or = true
		case n.sign == ',' && !or && u.kind == kindFall && u.e.name == "injury" && k > s.lo && r.blowDenied(k-1):
			return -1, true // "did not hit head, skin tear to arm"
		case r.parts(k) > 0:
			if !r.negationParts(n, u, noun, or) {
				return -1, true
			}
		case n.kind == kindReason && u.kind == kindVerb && r.word(u.from-1) == "to" && n.e.name == "no-time":
			return k, true // "no time to walk him"
		case !r.negationPasses(s, k, u, noun, or):
			return -1, true
		}
	}
	return -1, false
}

// unseen reports whether the negation from token i on only says that nobody saw or heard what the unit tells.
func (r *reader) unseen(i int, u *unit) bool {
	if u.kind != kindFall || !r.object(u.from-1) && !r.is(u.from-1, article) {
		return false
	}
	for k := u.from - 2; k >= i && k >= u.from-4; k-- {
		if r.is(k, perceives) && !r.is(k, perfect) {
			return true
		}
	}
	return false
}

// blowDenied reports whether unit k is a blow to the head told by a verb, whose negation ends with it.
func (r *reader) blowDenied(k int) bool {
	u := &r.units[k]
	return u.kind == kindFall && u.e.name == "head" && r.word(u.from) != "head"
}

// negationParts reports whether a negation before the comma or "and" n goes on to unit u behind it. Noun says
// that u is a thing of a list, or that the list goes on with "or".
func (r *reader) negationParts(n, u *unit, noun, or bool) bool {
	switch {
	case n.kind == kindBreak, u.kind == kindVitalTaken, u.kind == kindFall && u.e.name == "assessed":
		return false // "no injury seen, RN assessed her"
	case n.sign == ',' && !or && (!r.crossesComma(u.kind) || r.is(n.to, minor)):
		return false // "no injuries, incident report done", "no crutches, stick given"
	case noun:
		return true
	}
	return n.kind == kindAnd && u.kind == kindVerb && u.form == Base || or && n.sign == ','
}

// negationPasses reports whether a negation before unit k acts on unit u behind it.
func (r *reader) negationPasses(s *sentence, k int, u *unit, noun, or bool) bool {
	if u.kind == kindVitalTaken && r.units[k].kind != kindSubject && r.units[k].kind != kindNone {
		return false // "no redness obs stable"
	}
	switch n := &r.units[k]; n.kind {
	case kindSubject:
		// "…, he …" starts a clause of its own, "denies that she fell" does not
		return !r.is(n.from, thirdPerson) && !r.is(n.from, firstPerson) ||
			k > s.lo && r.units[k-1].kind == kindNegPre && strings.HasPrefix(r.word(r.units[k-1].from), "den") && n.from-r.units[k-1].to <= 1
	case kindVerb:
		if noun && n.e.name == "use" && k > s.lo && r.units[k-1].kind == kindAnd && n.form != Base {
			return false // "cannot use a walker and uses a wheelchair"
		}
		return n.e.fields.weak || noun || or || n.form == NounForm
	case kindTold:
		return !noun && or || noun && k > s.lo && r.units[k-1].kind == kindNegPre && r.units[k-1].to == n.from && (r.word(n.to) == "any" || u.from == n.to)
	case kindDistance:
		return !noun && or
	case kindSign, kindStaff, kindLevel, kindAid, kindFall, kindPlace, kindVitalName, kindVague:
		return noun || or || n.kind == kindPlace || n.kind == kindAid && u.kind == kindBearing
	case kindCare:
		return noun || or
	case kindReason, kindOffFloor, kindReviewDone:
		return false
	}
	return true
}

// negatedBehind is the negation behind unit i that acts on it, -1 for none: "dizziness: nil", "head not struck",
// "stairs not attempted".
func (r *reader) negatedBehind(s *sentence, i int) int {
	u := &r.units[i]
	for k := i + 1; k < s.hi && k <= i+3; k++ {
		n := &r.units[k]
		if n.from-u.to > 3 && n.kind != kindNegPost {
			break
		}
		if n.kind == kindNegPost && n.from-u.to <= 4 && r.word(n.from-1) != "hand" && r.word(n.to) != "by" {
			return k
		}
		if n.sign == ',' && k+1 < s.hi && r.units[k+1].kind == kindNegPre && strings.HasPrefix(r.word(r.units[k+1].from), "unable") && r.endsThere(r.units[k+1].to) {
			return k + 1 // "attempted to pivot, unable"
		}
		if (u.kind == kindSign || u.kind == kindFall || u.kind == kindVerb) && r.closesWithNo(s, k, u) {
			return k
		}
		if n.sign == ',' && r.word(n.from) == "|" {
			continue // the cell beside the heading of a row
		}
		if n.sign == ',' || r.parts(k) == 2 {
			break
		}
	}
	return -1
}

// closesWithNo reports whether unit k is a no that ends the clause right behind unit u: "dizziness nil".
func (r *reader) closesWithNo(s *sentence, k int, u *unit) bool {
	n := &r.units[k]
	return n.kind == kindNegPre && r.is(n.from, noAnswer) && n.from-u.to <= 2 && r.endsThere(n.to) &&
		(k+1 >= s.hi || r.units[k+1].from > n.to || r.units[k+1].sign != 0)
}

// listable reports whether the unit is a thing that a list can deny together; of falls only the nouns are
// ("no falls or bruises"), for a clause that tells one stands for itself ("without her walker and fell").
func (r *reader) listable(u *unit) bool {
	if u.kind != kindFall {
		return nounLike(u.kind)
	}
	switch u.e.name {
	case "injury", "assessed", "history", "follow":
		return true
	case "head":
		return !r.is(u.from, strikes)
	}
	return r.is(u.to-1, fallNoun)
}

// crossesComma reports whether a negation goes on over a plain comma to a unit of the kind: findings are
// listed that way, what was done or used is not.
func (r *reader) crossesComma(k kind) bool { return k == kindSign || k == kindFall || k == kindVerb }

// orNext reports whether the list of unit i goes on to its end with "or": "can't stand, walk or pivot".
func (r *reader) orNext(s *sentence, i int) bool {
	for k := i + 1; k < s.hi && k <= i+4; k++ {
		switch n := &r.units[k]; {
		case n.kind == kindAnd:
			w := r.word(n.from)
			return w == "or" || w == "nor"
		case n.sign == ',' || n.kind == r.units[i].kind:
		case n.sign != 0 || r.parts(k) > 0 || n.kind == kindVerb:
			return false
		}
	}
	return false
}

// answeredNo reports whether the label that ends before token i, or in words of time from there on, is answered
// with a no: "Falls: 0", "Falls this shift: no".
func (r *reader) answeredNo(i int) bool {
	for end := i + 4; i < end && r.is(i, labelTime); {
		i++
	}
	switch r.word(i) {
	case ":", "x", "=", "-":
	default:
		return false
	}
	return r.is(i+1, noAnswer) && (r.endsThere(i+2) || r.is(i+2, labelTime))
}

// questionDenied reports whether the sentence is a question that the next word answers with a no: "Dizzy? No."
func (r *reader) questionDenied(s *sentence) bool {
	end := r.startOf(s.hi)
	return r.word(end) == "?" && r.is(end+1, noAnswer) && (r.endsThere(end+2) || r.word(end+2) == "-")
}

// nounLike reports whether the head is a thing that a list can deny together ("no dizziness, nausea or pain").
func nounLike(k kind) bool {
	switch k {
	case kindSign, kindFall, kindAid, kindForm, kindVitalTaken, kindFaultWord, kindPosture:
		return true
	}
	return false
}

// deniesAll reports whether the pseudo-negation says that there was none of something ("no issues"), so
// that a list joined to it by "or" is denied too.
func (r *reader) deniesAll(n *unit) bool {
	if r.is(n.from, deniesAll) {
		return r.word(n.from+1) != "change" && r.word(n.from+1) != "changes"
	}
	return false
}

// endsThere reports whether the clause ends at token i.
func (r *reader) endsThere(i int) bool {
	switch r.word(i) {
	case "", ".", ",", ";", "\n", ")", "|":
		return true
	}
	return r.numbersItem(i)
}

// negOwn reports whether the negation at unit k has an object of its own before unit i ("without walker to chair").
func (r *reader) negOwn(k, i int) bool {
	if n := &r.units[k]; r.word(n.from) == "not" && n.to-n.from == 1 && n.to < len(r.toks) && (r.toks[n.to].IsNum || k+1 < i && r.units[k+1].kind == kindStaff && r.units[k+1].from == n.to) {
		return true // "two staff, not one, for the transfer"
	}
	return k+1 < i && r.units[k+1].kind == kindAid && r.units[k+1].from-r.units[k].to <= 2 && r.units[i].kind != kindAid
}

// deniedBefore reports whether a negation stands before unit i in its segment.
func (r *reader) deniedBefore(s *sentence, i int) bool {
	lo, _ := r.segment(s, i)
	for k := lo; k < i; k++ {
		if r.units[k].kind == kindNegPre {
			return true
		}
	}
	return false
}
