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

func (r *reader) anchorAt(k int) bool {
	switch n := &r.units[k]; n.kind {
	case kindSign, kindFall, kindOffFloor, kindBearing, kindReviewDone, kindReviewAsked:
		return true
	case kindVerb:
		return !n.e.fields.weak
	}
	return false
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
	if r.word(r.startOf(s.hi)) == "?" && !r.questionDenied(s) {
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

// orderedBy is the unit that makes unit i an instruction; unsaid where the author's role and the form do; none otherwise.
func (r *reader) orderedBy(s *sentence, i int, st *Statement) int {
	u := &r.units[i]
	switch u.kind {
	case kindSign, kindFall, kindOffFloor, kindPerson, kindTold, kindForm, kindVitalName, kindVitalPair, kindVitalTaken, kindReason, kindFaultWord, kindFit, kindReviewAsked:
		return none
	}
	clinician := r.role == Therapist || r.role == Nurse || r.role == Doctor
	if clinician && (s.plan || s.headed && !s.report) {
		if u.kind == kindReviewDone || u.kind == kindReviewWord || u.kind == kindVerb && u.form == Past {
			return none
		}
		if st.Polarity == Negated && !r.deniedBefore(s, i) {
			return none // "walk left out" tells what did not happen
		}
		return unsaid
	}
	if k := r.orderBefore(s, i); k >= 0 {
		return k
	}
	if k := r.orderBehind(s, i); k >= 0 {
		return k
	}
	if r.role == Therapist || r.role == Doctor {
		if st.Time == Conditional && (u.kind == kindVerb || u.kind == kindAid) && (r.role == Therapist || r.permitted(s, i)) {
			return unsaid
		}
		if r.role == Doctor && u.kind == kindVerb && (u.form != Past && u.form != Third || u.e.name == "up" && r.opens(u.from)) && st.Time == Now && st.Polarity == Affirmed && r.oftenIn(s) {
			return unsaid // "OOB to chair BID with assist x2"
		}
		if u.kind == kindVerb && (u.form == NounForm || u.form == Gerund) && strings.HasPrefix(st.Concept, "move.") && !r.hasVerb(s, i) && st.Time == Now && st.Polarity == Negated && r.deniedBefore(s, i) && !r.anyBetween(u.to, min(u.to+4, len(r.toks)), weeks) {
			return unsaid
		}
	}
	return none
}

// oftenIn reports whether the sentence says how often something is to be done.
func (r *reader) oftenIn(s *sentence) bool {
	return r.anyBetween(r.units[s.lo].from, r.startOf(s.hi), howOften)
}

// permitted reports whether "may" stands before unit i in its segment: a doctor's "may walk" is an order, "can
// walk" a finding.
func (r *reader) permitted(s *sentence, i int) bool {
	lo, _ := r.segment(s, i)
	return r.anyBetween(r.units[lo].from, r.units[i].from, mayWord)
}

// orderBefore is the unit of the order or ban before unit i in its segment, -1 for none.
func (r *reader) orderBefore(s *sentence, i int) int {
	u := &r.units[i]
	lo, _ := r.segment(s, i)
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
			if k+1 == i && u.kind == kindVerb && u.form == Past && !r.saysUp(u) {
				continue
			}
			return k
		}
		if (n.kind == kindReviewDone || n.kind == kindReviewWord) && r.role != CareWorker && r.changedTo(n, u) {
			return k // "upgraded by physio this afternoon to WBAT"
		}
		if n.kind == kindBearing && (r.word(n.to) == "→" || k+1 < s.hi && r.units[k+1].kind == kindTo) {
			continue // the order governs both ends of an arrow
		}
		if r.anchorAt(k) || n.kind == kindCare {
			break
		}
	}
	return -1
}

// changedTo reports whether the status or the way that unit u names is what the review at unit n changed it to.
func (r *reader) changedTo(n, u *unit) bool {
	if !r.anyBetween(n.from, n.to, changing) || u.kind == kindVerb && u.form == Past {
		return false
	}
	for k := n.to - 1; k < u.from; k++ {
		if w := r.word(k); w == "to" || w == ":" || w == "→" {
			return true
		}
	}
	return false
}

// orderBehind is the unit behind unit i in its chunk that says whose order it is, or "only" in its segment; -1
// for none.
func (r *reader) orderBehind(s *sentence, i int) int {
	_, hi := r.segment(s, i)
	_, end := r.chunk(s, i)
	parted := false
	for k := i + 1; k < end; k++ {
		n := &r.units[k]
		if n.kind == kindOrder && (r.is(n.from, orderSource) && !(k > i+1 && r.word(n.from) == "from" && r.english(n.from-1).isNoun) || k < hi && r.word(n.from) == "only") {
			return k
		}
		if parted && r.anchorAt(k) {
			break
		}
		parted = parted || r.parts(k) > 0
	}
	return -1
}
