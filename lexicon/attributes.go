package lexicon

import (
	"slices"
	"strings"
)

// take gives unit k to the move if it is an attribute of one.
func (m *mover) take(k int) {
	u := &m.r.units[k]
	if u.used || u.e == nil {
		return
	}
	field := m.attribute(k)
	if field == "" {
		return
	}
	u.used = true
	m.took = append(m.took, k)
	m.cover(u)
	m.st.Detail.Terms = append(m.st.Detail.Terms, Mark{Field: field, Span: m.r.span(u.from, u.to), Term: u.e.ID})
	// the preposition before a place and the verb "used" before a lift belong to the words
	if k > 0 {
		p := &m.r.units[k-1]
		if (field == "from" || field == "to") && (p.kind == kindFrom || p.kind == kindTo) && u.from-p.to <= 2 || field == "method" && p.kind == kindVerb && p.e.name == "use" {
			m.cover(p)
		}
	}
}

// attribute fills the field of the move that unit k gives, and names it; "" for none.
func (m *mover) attribute(k int) string {
	r, st := m.r, m.st
	switch u := &r.units[k]; u.kind {
	case kindStaff:
		return m.staff(k)
	case kindPlace:
		return m.place(k, u.e.fields.place)
	case kindAid:
		return m.aid(k)
	case kindLevel:
		if st.Assist == "" {
			st.Assist = u.e.fields.assist
			return "assist"
		}
	case kindVague:
		if st.Detail.Vague.IsZero() {
			st.Detail.Vague = r.span(u.from, u.to)
			return "vague"
		}
	case kindClock:
		if c := r.clockOf(*u); c != "" && st.Clock == "" {
			st.Clock = c
			return "clock"
		}
	case kindDistance:
		if d, ok := r.metres(u); ok && (m.a.concept == "move.walk" || m.a.concept == "move.wheel") && st.DistanceM.IsZero() {
			st.DistanceM = Some(d)
			return "distance_m"
		}
	case kindVerb:
		if u.e.fields.method != "" && st.Method == "" && m.a.concept == "move.transfer" {
			st.Method = u.e.fields.method
			return "method"
		}
	}
	return ""
}

// staff takes the helpers of unit k.
func (m *mover) staff(k int) string {
	r, st := m.r, m.st
	u := &r.units[k]
	n := r.count(*u)
	if _, has := st.Staff.Get(); has {
		if u.e.name == "n" && m.timesOnly() && n >= 0 && !r.commaBetween(m.a.at, k) {
			st.Staff, u.used = Some(n), true // "turned x3 with 2 staff": the first counts times
		}
		return ""
	}
	r.inner(u, func(e *entry) {
		if e.kind == kindAid && e.name == "belt" {
			st.Aids = appendNew(st.Aids, e.name) // "me and the belt"
		}
	})
	if r.swapped(k) || r.follows(k, kindNegPre) && r.word(u.from-1) == "not" {
		u.used = true // "not one"
		return ""
	}
	if u.e.name == "x" && m.countsTimes(n) || n < 0 || n > 8 {
		return ""
	}
	if n == 0 && r.word(u.to-1) == "alone" && (r.handled(m.a.at) || isLift(st.Method)) {
		n = 1 // "I transferred her alone", "ran the lift alone"
	}
	m.beside = u.e.name == "beside"
	st.Helpers = helpersOf(u.helpers)
	st.Staff = Some(n)
	return "staff"
}

// countsTimes reports whether a bare "x3" counts how often the move was made: where nobody or little help is
// needed, or more than two would be too many.
func (m *mover) countsTimes(n int) bool {
	if m.st.HasAid("none") {
		return n > 1 // "stood unaided x2"
	}
	switch m.a.concept {
	case "move.stairs", "move.stand", "move.walk":
		return n > 2
	}
	return m.st.Assist == "supervision" && n > 1 || m.st.Assist == "standby" && n > 2
}

// limbOff reports whether it is a foot that is off the floor at unit k, not the resident.
func (m *mover) limbOff(k int) bool {
	return k >= 2 && m.r.units[k-1].kind == kindFrom && m.r.units[k-2].kind == kindLimb && m.r.units[k-1].from-m.r.units[k-2].to <= 1
}

// place takes unit k as the place that the move left or reached.
func (m *mover) place(k int, place string) string {
	if place == "floor" {
		if from, _ := m.r.placeUse(k, false); from && !m.limbOff(k) && !m.r.commaBetween(m.a.at, k) && (m.a.concept == "move.lift" || m.a.concept == "move.transfer") {
			m.floor = true
		}
		return ""
	}
	loose := m.a.concept == "move.up" || m.a.concept == "move.transfer" || m.a.concept == "move.lift" || m.a.concept == "fall.moved"
	from, to := m.r.placeUse(k, loose)
	switch m.a.concept {
	case "move.sit-up":
		if place == "edge-of-bed" && m.st.To == "" {
			m.st.To = place // "lying to sitting edge of bed"
			return "to"
		}
		return ""
	case "move.reposition", "move.wheel", "move.stairs", "move.refused":
		return ""
	case "move.stand":
		to = false
	case "fall.moved":
		from = false
	}
	if !from && !to && m.leadsWay(k) {
		to = true // "BSC x1 pivot"
	}
	switch {
	case from && m.st.From == "":
		m.st.From = place
		return "from"
	case to && m.st.To == "":
		m.st.To = place
		return "to"
	}
	return ""
}

// leadsWay reports whether the place at unit k opens a clause that goes on to name no more than the way of transferring.
func (m *mover) leadsWay(k int) bool {
	u := &m.r.units[m.a.at]
	return k < m.a.at && u.kind == kindVerb && u.e.fields.method != "" && u.form != Past && m.r.startsSegment(m.s, k) && m.r.onlyPlaces(k+1, m.a.at)
}

// aid takes unit k as an aid, the method of a transfer, or a wheelchair that is a place.
func (m *mover) aid(k int) string {
	r, st := m.r, m.st
	u := &r.units[k]
	name := u.e.name
	switch {
	case name == "hearing":
		return ""
	case k+1 < len(r.units) && r.units[k+1].kind == kindNegPost && r.units[k+1].from-u.to <= 1:
		if isWalkingAid(name) && r.word(r.units[k+1].to-1) == "used" {
			return m.leftOut(k) // "walker not used"
		}
		u.used = true // "lifter not required"
		return ""
	case (name == "wheelchair" || name == "wheelchair-power") && st.Concept == "move.walk" && r.seatedIn(u):
		st.Concept = "move.wheel" // "a walk round the garden in her wheelchair"
	case name == "wheelchair" || name == "wheelchair-power":
		if field := m.place(k, "wheelchair"); field != "" {
			return field
		}
		if sat(m.a.concept) {
			return ""
		}
	}
	if n := len(st.Aids); n > 0 && st.Aids[n-1] == "walker" && strings.HasPrefix(name, "walker-") && k > 0 && r.units[k-1].sign == '(' {
		st.Aids = append(st.Aids[:n-1:n-1], name)
		return "aids" // "the wheeled frame (two wheels)"
	}
	without := r.without(k)
	switch {
	case without && r.swapped(k):
		u.used = true
		return ""
	case isLift(name):
		if without {
			return ""
		}
		return m.lift(k, name)
	case name == "board" && (m.a.concept == "move.transfer" || m.a.concept == "move.lift"):
		return m.board(without)
	case without && name != "none":
		return m.leftOut(k)
	}
	st.Aids = appendNew(st.Aids, name)
	return "aids"
}

// sat reports whether a wheelchair beside a move of the concept is only where somebody sat before or after it.
func sat(concept string) bool {
	switch concept {
	case "move.walk", "move.stand", "move.stairs", "move.reposition", "move.transfer", "move.lift", "fall.moved", "move.sit-up", "move.up":
		return true
	}
	return false
}

// lift takes the lift at unit k as the method, or as what somebody stood in ("stood in the stand aid").
func (m *mover) lift(k int, name string) string {
	st := m.st
	switch m.a.concept {
	case "move.transfer", "move.lift", "move.up", "fall.moved":
		if st.Method == "" || st.Method == "lift" {
			st.Method = name
			return "method"
		}
	case "move.stand":
		if k > m.a.at && m.r.before(k) != nil && !m.r.commaBetween(m.a.at, k) {
			st.Aids = appendNew(st.Aids, name)
			return "aids"
		}
	}
	return ""
}

// board takes a transfer board as the method.
func (m *mover) board(without bool) string {
	if without {
		return ""
	}
	if m.st.Method == "" {
		m.st.Method = "board"
	}
	if m.st.Method != "board" {
		return ""
	}
	return "method"
}

// leftOut takes an aid that was left out: without an aid to walk with, somebody walked with none.
func (m *mover) leftOut(k int) string {
	u := &m.r.units[k]
	if !isWalkingAid(u.e.name) || slices.ContainsFunc(m.st.Aids, isWalkingAid) {
		u.used = true // it was used for the move, and not needed after
		return ""
	}
	m.st.Aids = appendNew(m.st.Aids, "none")
	if k > 0 {
		m.cover(&m.r.units[k-1])
	}
	return "aids"
}

// seatedIn reports whether "in" leads to the chair, so that somebody sat in it.
func (r *reader) seatedIn(u *unit) bool {
	return r.word(r.leadIn(u)) == "in"
}

// leadIn is the token before the unit and its articles and owners: "in" of "in her chair".
func (r *reader) leadIn(u *unit) int {
	k := u.from - 1
	for k > 0 && (r.is(k, article) || r.is(k, owner)) {
		k--
	}
	return k
}

// without reports whether the aid at unit k is said to be left out.
func (r *reader) without(k int) bool {
	if u := &r.units[k]; r.word(u.to) == "behind" && (r.is(u.from-1, leavesBehind) || r.is(u.from-2, leavesBehind)) {
		return true // "left the frame behind"
	}
	p := r.before(k)
	at := r.leadIn(&r.units[k])
	if w := r.word(at - 1); r.is(at, needs) && (w == "not" || strings.HasSuffix(w, "n't")) {
		return true // "didn't need her frame"
	}
	return p != nil && p.kind == kindNegPre && r.units[k].from-p.to <= 3 && r.onlyArticles(p.to, r.units[k].from)
}

func isWalkingAid(aid string) bool {
	return strings.HasPrefix(aid, "cane") || strings.HasPrefix(aid, "crutch") || strings.HasPrefix(aid, "walker")
}

func appendNew(list []string, s string) []string {
	if slices.Contains(list, s) {
		return list
	}
	return append(list, s)
}

// wheelWords reads the chair named inside the verb's own words ("self-propels w/c").
func (m *mover) wheelWords(u *unit) {
	if m.a.concept != "move.wheel" {
		return
	}
	for k := u.from; k < u.to; k++ {
		switch {
		case m.r.word(k) == "self":
			m.st.Staff = Some(0)
		case m.r.is(k, wheelchairWord):
			m.st.Aids = appendNew(m.st.Aids, "wheelchair")
		case m.r.is(k, powered):
			m.st.Aids = []string{"wheelchair-power"}
			return
		}
	}
}

// staffOver reports whether more helpers than n are given.
func staffOver(st *Statement, n int) bool {
	v, _ := st.Staff.Get()
	return v > n
}

// timesOnly reports whether the number of helpers was read from a bare "x2".
func (m *mover) timesOnly() bool {
	for _, t := range m.st.Detail.Terms {
		if t.Field == "staff" {
			return t.Term == "staff.x"
		}
	}
	return false
}

// fullSling reports whether the sling named is one for the whole body, which only a total lift takes.
func (m *mover) fullSling() bool {
	for k := m.from; k < m.to; k++ {
		if m.r.is(k, fullSling) {
			return true
		}
	}
	return false
}

func (m *mover) settleMethod() {
	st := m.st
	if m.beside && (isLift(st.Method) || m.writerMoves()) {
		st.Staff = Some(2) // "hoisted with Ewa": nobody runs a lift without the writer
	}
	if (st.Assist == "independent" || st.Assist == "supervision" && staffOver(st, 1)) && m.timesOnly() {
		st.Staff = Optional[int]{} // "round the unit x2 independently"
	}
	if m.floor {
		st.Concept, st.From = "fall.moved", ""
		return
	}
	if st.Concept == "fall.moved" && st.Method == "" && strings.HasPrefix(m.r.word(m.r.units[m.a.at].from), "hoist") {
		st.Method = "lift" // "hoisted off the floor"
	}
	switch {
	case st.Concept == "move.walk" && st.From != "" && st.To != "" && m.r.nextIsColon(m.a.at):
		st.Concept = "move.transfer" // "Mobility: bed to w/c x1"
	case st.Concept == "move.transfer" && st.Method == "" && st.From == "" && m.onFoot():
		st.Concept = "move.walk" // "went to the loo on her stick"
	case st.Concept == "move.up" && isLift(st.Method):
		st.Concept = "move.transfer" // got up with a lift
	case st.Concept == "move.up" && st.To != "" && st.To != "bed" && m.r.outOfBed(m.r.units[m.a.at].to):
		st.Concept, st.From = "move.transfer", "bed" // "got him out of bed into the recliner"
	case st.Concept == "move.lift" && m.a.hand:
		if isLift(st.Method) {
			st.Detail.ByHand = false
		} else {
			st.Method = ""
		}
	}
	if st.Concept == "move.lift" && !isLift(st.Method) {
		st.Detail.ByHand = true
	}
	if st.Concept == "move.lift" && st.From == "" && st.To != "" && st.To != "bed" && m.r.leads(m.a.at, kindVerb) && m.r.outOfBed(m.r.units[m.a.at+1].to) {
		st.From = "bed" // "hoisted him out of bed into his recliner"
	}
	if st.Concept == "move.lift" && st.Method == "lift" && st.HasAid("sling") {
		if t := m.r.text[st.Detail.Head.Start:st.Detail.Head.End]; len(t) > 0 && m.fullSling() {
			st.Method = "total-lift"
		}
	}
}

// outOfBed reports whether "out of bed" ends before token end, however it was spelt.
func (r *reader) outOfBed(end int) bool {
	return r.word(end-1) == "bed" && r.word(end-2) == "of" && r.word(end-3) == "out"
}

// writerMoves reports whether the writer is the subject of the move and the resident its object.
func (m *mover) writerMoves() bool {
	u := &m.r.units[m.a.at]
	moved := m.r.helpsBy(u) || u.form == Past && (m.r.object(u.to) || m.r.isName(u.to) || m.r.is(u.to, title) || m.r.is(u.to, residentNoun))
	return moved && (m.r.is(u.from-1, firstPerson) || m.r.opens(u.from))
}

// onFoot reports whether somebody went somewhere with an aid to walk with.
func (m *mover) onFoot() bool {
	u := &m.r.units[m.a.at]
	if m.a.implicit && m.st.To == "toilet" && slices.ContainsFunc(m.st.Aids, isWalkingAid) {
		return true // "to the bathroom with one and frame"
	}
	if u.kind != kindVerb || len(m.a.extra) > 0 {
		return false
	}
	if !u.e.fields.weak || !slices.ContainsFunc(m.st.Aids, isWalkingAid) {
		return false
	}
	if m.r.is(u.from, went) {
		return true
	}
	return m.st.To == "" || m.st.To == "toilet" // a room, not a seat
}
