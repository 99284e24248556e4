package lexicon

import "strings"

// scope lays negation, time, person, certainty and mood over a statement whose head is unit i.
func (r *reader) scope(s *sentence, i int, st *Statement) {
	st.Polarity, st.Time, st.Who, st.Certainty, st.Mood = Affirmed, Now, Resident, Certain, Report
	st.Detail.Clause = r.clauseID(s, i)
	u := &r.units[i]
	st.Detail.Terms = append(st.Detail.Terms, Mark{Field: "concept", Span: r.span(u.from, u.to), Term: r.termID(u)})
	mark := func(field string, k int) {
		t := &r.units[k]
		st.Detail.Terms = append(st.Detail.Terms, Mark{Field: field, Span: r.span(t.from, t.to), Term: r.termID(t)})
	}
	if u.kind == kindVerb && strings.HasPrefix(r.word(u.from), "non") {
		st.Polarity = Negated // "non ambulatory"
	} else if k := r.negatedBy(s, i); k >= 0 {
		st.Polarity = Negated
		mark("polarity", k)
	}
	if t, k := r.timeOf(s, i); t != Now {
		st.Time = t
		mark("time", k)
	}
	if k := r.otherPerson(s, i); k >= 0 {
		st.Who = Other
		mark("who", k)
	}
	if k := r.doubtedBy(s, i); k >= 0 {
		st.Certainty = Possible
		mark("certainty", k)
	}
	if st.Time != Before {
		if k := r.orderedBy(s, i, st); k != none {
			st.Mood = Order
			if k >= 0 {
				mark("mood", k)
			}
		}
	}
	if st.Clock == "" && s.clock != "" {
		st.Clock = s.clock
	}
}

// none and unsaid are answers of orderedBy: no order, and an order that the author's role makes.
const (
	none   = -2
	unsaid = -1
)

func (r *reader) termID(u *unit) string {
	if u.e == nil {
		return string(u.sign)
	}
	return u.e.ID
}

// clauseID numbers the clauses of a note.
func (r *reader) clauseID(s *sentence, i int) int {
	lo, _ := r.chunk(s, i)
	return lo + 1
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

// answeredNo reports whether the label that ends before token i is answered with a no: "Falls: 0".
func (r *reader) answeredNo(i int) bool {
	switch r.word(i) {
	case ":", "x", "=", "-":
	default:
		return false
	}
	return r.is(i+1, noAnswer) && r.endsThere(i+2)
}

// nounLike reports whether the head is a thing that a list can deny together ("no dizziness, nausea or pain").
func nounLike(k kind) bool {
	switch k {
	case kindSign, kindFall, kindAid, kindForm, kindVitalTaken, kindFaultWord, kindPosture:
		return true
	}
	return false
}

// negatedBy is the unit that negates unit i, -1 for none.
func (r *reader) negatedBy(s *sentence, i int) int {
	u := &r.units[i]
	if r.answeredNo(u.to) {
		return i
	}
	noun := r.listable(u)
	or := r.orNext(s, i)
	for k := i - 1; k >= s.lo; k-- {
		n := &r.units[k]
		if u.kind == kindAid && n.kind == kindVerb && n.e.name == "refuse" && u.from-n.to <= 3 && r.onlyArticles(n.to, u.from) {
			return k // "refused the walker"
		}
		if n.kind == kindNegPre {
			if w := r.word(n.from); (w == "without" || w == "w/o") && u.kind == kindVerb {
				return -1
			}
			if r.negOwn(k, i) {
				return -1
			}
			return k
		}
		if noun && or && n.kind == kindIgnore && n.e.name == "pseudo" && r.deniesAll(n) {
			return k // "no incidents or falls"
		}
		if n.kind == kindExcept {
			return -1 // "no complaints except for dizziness"
		}
		if n.kind == kindNegStop || n.kind == kindBreak && r.parts(k) == 2 || n.sign == ';' || n.sign == ':' && !noun {
			return -1
		}
		if p := r.parts(k); p > 0 {
			switch r.word(n.from) {
			case "or", "nor":
				or = true
				continue
			}
			if n.kind == kindBreak {
				return -1
			}
			if n.sign == ',' && !or && (!r.crossesComma(u.kind) || r.is(n.to, minor)) {
				return -1 // "no injuries, incident report done", "no crutches, stick given"
			}
			if !noun {
				if n.kind == kindAnd && u.kind == kindVerb && u.form == Base || or && n.sign == ',' {
					continue
				}
				return -1
			}
			continue
		}
		switch n.kind {
		case kindSubject:
			if r.is(n.from, thirdPerson) || r.is(n.from, firstPerson) {
				if k > s.lo && r.units[k-1].kind == kindNegPre && strings.HasPrefix(r.word(r.units[k-1].from), "den") && n.from-r.units[k-1].to <= 1 {
					continue // "denies that she fell"
				}
				return -1 // "…, he …" starts a clause of its own
			}
		case kindVerb:
			if noun && n.e.name == "use" && k > s.lo && r.units[k-1].kind == kindAnd && n.form != Base {
				return -1 // "cannot use a walker and uses a wheelchair"
			}
			if n.e.fields.weak || noun {
				continue
			}
			if !or && n.form != NounForm || !or && u.kind == kindVerb && !u.e.fields.weak && n.form != NounForm {
				return -1
			}
		case kindReason:
			if u.kind == kindVerb && r.word(u.from-1) == "to" && n.e.name == "no-time" {
				return k // "no time to walk him"
			}
			return -1
		case kindSign, kindStaff, kindLevel, kindAid, kindFall, kindTold, kindPlace, kindDistance, kindVitalName, kindVague:
			if !noun {
				if or || n.kind == kindPlace || n.kind == kindAid && u.kind == kindBearing {
					continue
				}
				return -1
			}
			if n.kind == kindTold || n.kind == kindDistance {
				return -1
			}
		case kindCare:
			if !noun && !or {
				return -1
			}
		case kindOffFloor, kindReviewDone:
			return -1
		}
	}
	// behind: "dizziness: nil", "head not struck", "stairs not attempted"
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
		if n.kind == kindNegPre && (u.kind == kindSign || u.kind == kindFall || u.kind == kindVerb) {
			if r.is(n.from, noAnswer) {
				if n.from-u.to <= 2 && (k+1 >= s.hi || r.units[k+1].from > n.to || r.units[k+1].sign != 0) && r.endsThere(n.to) {
					return k
				}
			}
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

// timeOf is the time of unit i and the unit that sets it.
func (r *reader) timeOf(s *sentence, i int) (Time, int) {
	u := &r.units[i]
	lo, hi := r.segment(s, i)
	clo, _ := r.chunk(s, i)
	// a condition governs up to the end of its segment; "if" may be the boundary itself
	for k := i - 1; k >= clo; k-- {
		n := &r.units[k]
		if n.kind == kindIf {
			if r.is(n.from, dependsMay) && u.kind == kindBearing && r.plannedAfter(i, hi) {
				break // "can go WBAT from tomorrow"
			}
			if k >= lo || r.word(n.from) == "if" {
				return Conditional, k
			}
		}
		if r.parts(k) > 0 {
			break
		}
	}
	for k := i + 1; k < hi; k++ {
		if n := &r.units[k]; n.kind == kindIf {
			switch {
			case r.is(n.from, provided), r.is(n.from, depends):
				return Conditional, k
			case r.is(n.from, dependsMay):
				if k == i+1 && r.units[i].kind == kindAid && n.from-r.units[i].to <= 1 {
					return Conditional, k // "a wheelchair may be used"
				}
			}
		}
	}
	for k := i - 1; k >= lo; k-- {
		n := &r.units[k]
		if n.kind == kindPlanned {
			if r.possessedPlan(n) {
				continue
			}
			return Planned, k
		}
		if n.kind == kindPast && !(r.word(n.from) == "baseline") && !r.homeless(n, u) {
			return Before, k
		}
		if n.kind == kindCare && !r.purpose(n.from) || n.kind == kindTold && u.kind != kindPerson {
			break
		}
	}
	for k := i + 1; k < hi; k++ {
		n := &r.units[k]
		if n.kind == kindPast && !r.homeless(n, u) {
			return Before, k
		}
		if n.kind == kindPlanned && (u.kind == kindVerb && u.form == Past || u.kind == kindFall) && r.word(n.from) == "on" || n.kind == kindPlanned && u.kind == kindSign && r.word(n.from) == "on" {
			return Before, k // "had fallen at her daughter's on Sunday"
		}
		if n.kind == kindPlanned && !(u.kind == kindVerb && u.form == Past) {
			if r.is(n.from, toCome) || r.is(n.from, toComeLater) {
				return Planned, k
			}
		}
		if r.anchorAt(k) {
			break
		}
	}
	if u.kind == kindFall && r.is(u.to, weekday) {
		return Before, i // "fell on Sunday"
	}
	if k := r.joinedPast(s, i, hi); k >= 0 {
		return Before, k
	}
	if s.plan && u.kind == kindVerb && u.form != Past && r.weekdayAfter(u.to) {
		return Planned, i // "P: Car transfer practice Thursday"
	}
	// a time that leads the clause across a comma: "Last year, she walked …"
	if clo < lo {
		if k := r.leadingPast(clo, lo); k >= 0 {
			return Before, k
		}
	}
	if i == lo && lo > clo && r.units[lo-1].kind == kindAnd && u.kind == kindVerb && u.form == Past && lo-2 >= clo {
		// "used a rollator before the stroke and walked to the shop"
		from, to := r.segment(s, lo-2)
		for k := from; k < to; k++ {
			if n := &r.units[k]; n.kind == kindPast && !r.homeless(n, u) && r.word(n.from) != "until" {
				return Before, k
			}
		}
	}
	if clo > s.lo && r.word(r.units[clo-1].from) == "when" {
		// "Three months ago, when she fell, …"
		end := clo - 1
		for end > s.lo && r.units[end-1].sign == ',' {
			end--
		}
		if from, _ := r.segment(s, max(s.lo, end-1)); end > s.lo {
			if k := r.leadingPast(from, end); k >= 0 {
				return Before, k
			}
		}
	}
	return Now, -1
}

// leadingPast is the unit of a time gone by that stands alone before the first comma between units lo and hi
// ("Last year, she walked …", "About two years ago, …"), -1 for none.
func (r *reader) leadingPast(lo, hi int) int {
	past := -1
	for k := lo; k < hi && r.parts(k) == 0; k++ {
		switch u := &r.units[k]; u.kind {
		case kindPast:
			if u.e.name == "home" || u.e.name == "after" || r.word(u.from) == "until" {
				return -1
			}
			past = k
		case kindNone, kindPossible, kindIgnore:
		case kindSubject:
			if past >= 0 {
				return -1
			}
		default:
			return -1
		}
	}
	return past
}

// homeless reports whether the unit is "at home" or "post", which put only a fall before the stay: a status
// "post surgery" holds now.
func (r *reader) homeless(n, u *unit) bool {
	return (n.e.name == "home" || n.e.name == "after") && u.kind != kindFall
}

// joinedPast is the unit of a time gone by that closes the next clause of the same subject and so holds for
// the fall or past move at unit i too ("fell and hit her head three days ago"), -1 for none.
func (r *reader) joinedPast(s *sentence, i, hi int) int {
	u := &r.units[i]
	if hi >= s.hi || r.units[hi].kind != kindAnd || u.kind != kindFall && !(u.kind == kindVerb && u.form == Past) {
		return -1
	}
	_, end := r.segment(s, min(hi+1, s.hi-1))
	for k := hi + 1; k < end; k++ {
		switch n := &r.units[k]; n.kind {
		case kindSubject:
			if !r.possessive(k) {
				return -1
			}
		case kindNow, kindPerson:
			return -1
		case kindPast:
			if !r.homeless(n, u) && r.word(n.from) != "until" && r.word(n.to-1) == "ago" {
				return k
			}
		}
	}
	return -1
}

// weekdayAfter reports whether a day of the week is named within four tokens of token i.
func (r *reader) weekdayAfter(i int) bool {
	for k := i; k < i+4; k++ {
		if r.is(k, weekday) {
			return true
		}
	}
	return false
}

// plannedAfter reports whether a day to come is named among the units after i.
func (r *reader) plannedAfter(i, hi int) bool {
	for k := i + 1; k < hi; k++ {
		if u := &r.units[k]; u.kind == kindPlanned {
			if r.is(u.from, toCome) {
				return true
			}
		}
	}
	return false
}

func (r *reader) possessedPlan(n *unit) bool {
	return r.is(n.from, planWord) && r.word(n.to) == ":"
}

func (r *reader) anchorAt(k int) bool {
	switch n := &r.units[k]; n.kind {
	case kindSign, kindFall, kindOffFloor, kindBearing, kindReviewDone, kindReviewAsked:
		return true
	case kindVerb:
		return !n.e.fields.weak
	}
	return false
}

// otherPerson is the unit of the person other than the resident whose doing unit i is, -1 for none.
func (r *reader) otherPerson(s *sentence, i int) int {
	u := &r.units[i]
	if u.kind == kindPerson || u.kind == kindForm || u.kind == kindTold {
		return -1
	}
	if k := r.ofAnother(s, i); k >= 0 && r.pronounFrom(k, i) {
		return k
	}
	if u.kind == kindVerb {
		if r.object(u.to-1) && u.to-u.from > 1 || r.object(u.from-1) && r.word(u.from-2) != "with" || r.word(u.from-1) == "to" && r.object(u.from-2) {
			return -1 // "her son wheeled her", "helping her to walk"
		}
		switch {
		case r.is(u.to, object), r.is(u.to, residentNoun):
			return -1 // whoever moved her, it is the resident who was moved
		case r.word(u.to) == "another", r.word(u.to) == "other":
			if i+1 < s.hi && r.units[i+1].kind == kindPerson && r.units[i+1].e.name == "other" && r.units[i+1].from == u.to {
				return i + 1 // "helped transfer another resident"
			}
		case r.word(u.to) == "with":
			if r.object(u.to+1) && !(r.word(u.to+1) == "her" && r.ownsNext(u.to+2)) {
				return -1
			}
		}
	}
	clo, _ := r.chunk(s, i)
	// "her husband, who uses …": the relative clause speaks of the person before it
	if clo > s.lo && (r.word(r.units[clo-1].from) == "who") {
		for k := clo - 2; k >= s.lo && k >= clo-4; k-- {
			if n := &r.units[k]; n.kind == kindPerson && (n.e.name == "family" || n.e.name == "other") {
				return k
			}
		}
	}
	slo, _ := r.segment(s, i)
	for k := i - 1; k >= slo; k-- {
		n := &r.units[k]
		if n.kind == kindSubject {
			switch {
			case r.word(n.from) == "she", r.word(n.from) == "he":
				return r.ofAnother(s, k)
			case r.is(n.from, residentNoun), r.is(n.from, firstPerson):
				return -1
			}
		}
		if n.kind == kindBreak && r.is(n.from, meanwhile) {
			return -1
		}
		if n.kind == kindPerson && (n.e.name == "family" || n.e.name == "other") {
			if r.is(n.from, parent) && r.childTells(s, k) {
				return -1 // "daughter says Mum fell"
			}
			if k > slo && r.units[k-1].kind == kindAnd && k-2 >= s.lo && r.units[k-2].kind == kindSubject && !r.possessive(k-2) {
				return -1 // "resident and wife walked"
			}
			if r.word(n.to) == "'s" || r.subjectPerson(s, k) && (u.kind != kindAid || r.usesAid(u.from)) {
				return k
			}
			return -1
		}
	}
	return -1
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
			return r.is(n.to, says)
		}
	}
	return false
}

// object reports whether token i is the resident as somebody's object.
func (r *reader) object(i int) bool {
	return r.is(i, object)
}

// usesAid reports whether the words before the aid at token i say that somebody goes with it, not that they brought it.
func (r *reader) usesAid(i int) bool {
	for k := i - 1; k >= 0 && k >= i-5; k-- {
		if r.is(k, goesWith) {
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
		return false
	}
	// a telling verb behind makes the person the one told
	if k+1 < s.hi && r.units[k+1].kind == kindTold && r.units[k+1].from-n.to <= 2 {
		return false
	}
	return !r.is(n.to, visits)
}

// doubtedBy is the unit that makes unit i uncertain, -1 for none.
func (r *reader) doubtedBy(s *sentence, i int) int {
	lo, _ := r.segment(s, i)
	for k := i - 1; k >= lo; k-- {
		n := &r.units[k]
		if n.sign == '?' || n.kind == kindPossible {
			return k
		}
		if r.anchorAt(k) && !(n.kind == kindSign && r.units[i].kind == kindSign) {
			break
		}
		if n.kind == kindCare || n.kind == kindTold {
			break
		}
	}
	_, hi := r.segment(s, i)
	for k := i + 1; k < hi; k++ {
		if n := &r.units[k]; n.kind == kindPossible && r.is(n.from, trailing) {
			return k // "WBAT now it seems"
		}
	}
	if s.hi < len(r.units) && r.word(r.units[s.hi].from) == "?" {
		return s.hi // "Is he still NWB on the left?"
	}
	return -1
}

// forbids reports whether the negation at unit k forbids the move at unit i: "not to walk", "Do not transfer".
func (r *reader) forbids(s *sentence, k, i int) bool {
	n := &r.units[k]
	if r.units[i].kind != kindVerb || r.units[i].form != Base {
		return false
	}
	switch {
	case r.word(n.from) == "not":
		return r.word(n.to-1) == "to" && n.to-n.from == 2
	case r.is(n.from, commandsNot):
		return r.opens(n.from)
	}
	return false
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

// orderedBy is the unit that makes unit i an instruction; unsaid where the author's role and the form do; none otherwise.
func (r *reader) orderedBy(s *sentence, i int, st *Statement) int {
	u := &r.units[i]
	switch u.kind {
	case kindSign, kindFall, kindOffFloor, kindPerson, kindTold, kindForm, kindVitalName, kindVitalPair, kindVitalTaken, kindReason, kindFaultWord, kindFit, kindReviewAsked:
		return none
	}
	clinician := r.role == Therapist || r.role == Nurse || r.role == Doctor
	if clinician && (s.plan || s.headed) {
		if u.kind == kindReviewDone || u.kind == kindReviewWord || u.kind == kindVerb && u.form == Past {
			return none
		}
		if st.Polarity == Negated && !r.deniedBefore(s, i) {
			return none // "walk left out" tells what did not happen
		}
		return unsaid
	}
	lo, hi := r.segment(s, i)
	_, chi := r.chunk(s, i)
	for k := i - 1; k >= lo; k-- {
		n := &r.units[k]
		if n.kind == kindNegPre && r.forbids(s, k, i) {
			return k
		}
		if n.kind == kindOrder || n.kind == kindPlanHead {
			w := r.word(n.from)
			if (w == "do" || w == "don't") && r.role == CareWorker {
				continue
			}
			if k+1 == i && u.kind == kindVerb && u.form == Past {
				continue
			}
			return k
		}
		if n.kind == kindBearing && (r.word(n.to) == "→" || k+1 < s.hi && r.units[k+1].kind == kindTo) {
			continue // the order governs both ends of an arrow
		}
		if r.anchorAt(k) || n.kind == kindCare {
			break
		}
	}
	for k := i + 1; k < chi; k++ {
		n := &r.units[k]
		if n.kind == kindOrder {
			if r.is(n.from, orderSource) || k < hi && r.word(n.from) == "only" {
				return k
			}
		}
		if r.anchorAt(k) && k > i+1 && r.commaBetween(i, k) {
			break
		}
	}
	if r.role == Therapist || r.role == Doctor {
		if r.role == Therapist && st.Time == Conditional && (u.kind == kindVerb || u.kind == kindAid) {
			return unsaid
		}
		if u.kind == kindVerb && (u.form == NounForm || u.form == Gerund) && strings.HasPrefix(st.Concept, "move.") && !r.hasVerb(s, i) && st.Time == Now && st.Polarity == Negated && r.deniedBefore(s, i) {
			return unsaid
		}
	}
	return none
}
