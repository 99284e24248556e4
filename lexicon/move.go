package lexicon

import (
	"slices"
	"strings"
)

// moves builds the moves of a sentence. Helpers named before the first of two verbs that share their
// subject count for both: "with two staff she stood up and pivoted".
func (r *reader) moves(s *sentence) {
	lead := -1 // statement whose helpers stand before its verb
	leadAt := 0
	list := -1 // statement whose help stands before its noun
	listAt := 0
	at := -1
	for _, a := range r.anchors(s) {
		n, prev := len(r.out.Statements), at
		at = a.at
		a.listed = list >= 0 && r.listed(listAt, a.at)
		r.move(s, a)
		if len(r.out.Statements) == n {
			continue
		}
		st := &r.out.Statements[n]
		switch {
		case n > 0 && a.implicit && st.Method == "" && st.From != "" && st.To != "" && r.sameWay(&r.out.Statements[n-1], prev, a.at):
			// "stand aid x2 for bed to chair and chair to toilet"
			p := &r.out.Statements[n-1]
			st.Method = p.Method
			if st.Staff.IsZero() && st.Assist == "" {
				st.Staff, st.Assist = p.Staff, p.Assist
			}
		case a.listed && st.Staff.IsZero() && st.Assist == "":
			st.Staff, st.Assist = r.out.Statements[list].Staff, r.out.Statements[list].Assist
			list, listAt = n, a.at
		case r.units[a.at].form != Past && leadsHead(st, "staff", "assist"):
			list, listAt = n, a.at
		default:
			list = -1
		}
		alone, has := st.Staff.Get()
		if n > 0 && has && alone == 0 && prev >= 0 && r.sharesSubject(prev, a.at) {
			if p := &r.out.Statements[n-1]; p.Staff.IsZero() && p.Assist == "" && helped(p.Concept) {
				p.Staff = st.Staff // "got up out of the chair and walked off by himself"
			}
		}
		if n > 0 && a.at >= 2 && r.units[a.at-1].kind == kindAnd && r.units[a.at-2].kind == kindVerb && r.units[a.at-2].to == r.units[a.at-1].from {
			// "transfers and walks independently": what follows speaks of both
			if p := &r.out.Statements[n-1]; p.Detail.Head.End == r.toks[r.units[a.at-2].to-1].End && p.Staff.IsZero() && p.Assist == "" {
				p.Staff, p.Assist = st.Staff, st.Assist
			}
		}
		switch {
		case has && leadsHead(st, "staff"):
			lead, leadAt = n, a.at
		case has:
			lead = -1
		case lead >= 0 && st.Assist == "" && helped(st.Concept) && helped(r.out.Statements[lead].Concept) && r.sharesSubject(leadAt, a.at):
			st.Staff = r.out.Statements[lead].Staff
		default:
			lead = -1
		}
	}
}

// sameWay reports whether the pair of places at unit b goes on with "and" from the transfer p at unit a, whose
// way was named.
func (r *reader) sameWay(p *Statement, a, b int) bool {
	if p.Concept != "move.transfer" || p.Method == "" || a < 0 {
		return false
	}
	and := false
	for k := a + 1; k < b; k++ {
		n := &r.units[k]
		switch {
		case r.parts(k) == 2 || n.kind == kindSubject || n.kind == kindPerson || n.kind == kindVerb && !n.e.fields.weak:
			return false
		case n.kind == kindAnd:
			and = true
		case n.kind == kindStaff && and:
			return false
		}
	}
	return and
}

// leadsHead reports whether the first of the fields that a move was given stands before its head.
func leadsHead(st *Statement, fields ...string) bool {
	for _, m := range st.Detail.Terms {
		if slices.Contains(fields, m.Field) {
			return m.Span.Start < st.Detail.Head.Start
		}
	}
	return false
}

// listed reports whether the noun of a move at unit b only goes on with the list that unit a stands in.
func (r *reader) listed(a, b int) bool {
	u := &r.units[b]
	if u.kind != kindVerb || u.form != NounForm && u.form != Gerund {
		return false
	}
	at := r.units[a].to
	for k := a + 1; k < b; k++ {
		if n := &r.units[k]; n.from != at || n.kind != kindAnd && n.sign != ',' {
			return false
		}
		at = r.units[k].to
	}
	return b > a+1 && u.from == at
}

func helped(concept string) bool {
	switch concept {
	case "move.transfer", "move.stand", "move.lift", "move.walk", "move.up":
		return true
	}
	return false
}

// sharesSubject reports whether the verb at unit b goes on from the one at unit a with "and" and no new subject.
func (r *reader) sharesSubject(a, b int) bool {
	and := false
	for k := a + 1; k < b; k++ {
		u := &r.units[k]
		if r.parts(k) == 2 || u.kind == kindPerson || u.kind == kindSubject && !r.possessive(k) && !r.objectOf(k) {
			return false
		}
		and = and || u.kind == kindAnd
	}
	return and
}

// move builds the statement of an anchor from the units of its clause.
func (r *reader) move(s *sentence, a anchor) {
	u := &r.units[a.at]
	// both are kept in the reader, for they are many and pointed to
	r.building = r.begin(a.concept)
	st := &r.building
	st.Method = a.method
	r.moving = mover{r: r, s: s, a: &a, st: st, from: u.from, to: u.to, took: r.moving.took[:0]}
	m := &r.moving
	st.Detail.ByHand = a.hand
	st.Detail.Helped = r.helpsBy(u)
	if u.kind == kindVerb {
		st.Detail.Tense = u.form
		if a.concept == "move.sit-up" && u.e.fields.to != "" {
			st.To = u.e.fields.to
		}
	}
	st.Detail.Head = r.span(u.from, u.to)
	if a.implicit {
		st.Detail.Head = Span{}
	}
	for _, k := range a.extra {
		m.cover(&r.units[k])
	}
	if to := r.placeBefore(u); to != "" {
		st.To = to
	}
	m.wheelWords(u)
	if a.implicit {
		m.take(a.at)
	}
	m.right()
	m.left()
	m.again()
	m.thatAid()
	m.slings()
	if u.kind == kindVerb && st.Staff.IsZero() && st.Assist == "" && r.anyBetween(u.from+1, u.to+1, self) {
		st.Staff = Some(0) // "walked himself off to the lounge"
	}
	if a.implicit && r.isPlace(a.at) && (st.Staff.IsZero() || m.timesOnly()) && r.anyBetween(u.to, m.to, self) && !r.anyBetween(m.from, m.to, firstPerson) {
		st.Staff = Some(0) // "toilet himself with the crutches x2"
	}
	at := a.at
	if n := len(a.extra); n > 0 && r.nextIsColon(at) && r.units[a.extra[n-1]].kind == kindVerb && r.units[a.extra[n-1]].form == Past {
		at = a.extra[n-1] // "Mobility: transferred x2" tells what was done
	}
	if st.Detail.Head.IsZero() {
		st.Detail.Head = r.span(m.from, m.to)
	}
	m.settleMethod()
	if !m.worth() || m.mentionsAgain() {
		for _, k := range m.took {
			r.units[k].used = false
		}
		return
	}
	if _, ok := st.Staff.Get(); ok || st.Assist != "" && st.Assist != "independent" {
		st.Detail.Vague = Span{}
	}
	r.scope(s, at, st)
	if m.gone {
		st.Polarity = Negated
	}
	if a.concept == "move.refused" {
		st.Polarity = Affirmed
		st.Staff, st.Aids, st.Method, st.Assist, st.From, st.To = Optional[int]{}, nil, "", "", "", ""
	}
	r.add(*st, m.from, m.to)
}

// thatAid takes the walking aid named last where a walk was made "with that".
func (m *mover) thatAid() {
	r, st := m.r, m.st
	if st.Concept != "move.walk" || slices.ContainsFunc(st.Aids, isWalkingAid) || st.HasAid("none") {
		return
	}
	for t := m.from; t < m.to+2; t++ {
		if !r.is(t, things) || !r.is(t-1, byMeans) || r.english(t+1).isNoun && !r.endsThere(t+1) {
			continue
		}
		k := m.a.at
		for k < len(r.units) && r.units[k].from <= t {
			k++
		}
		if aid := r.lastAid(k); aid != "" {
			st.Aids = append(st.Aids, aid)
		}
		return
	}
}

// slings takes the sling named anywhere in the sentence of a move with a lift, whatever is said of it.
func (m *mover) slings() {
	if !isLift(m.st.Method) || m.st.HasAid("sling") {
		return
	}
	for k := m.s.lo; k < m.s.hi; k++ {
		if u := &m.r.units[k]; u.kind == kindAid && u.e.name == "sling" && !u.used {
			m.took, u.used = append(m.took, k), true
			m.st.Aids = append(m.st.Aids, "sling")
			m.st.Detail.Terms = append(m.st.Detail.Terms, Mark{Field: "aids", Span: m.r.span(u.from, u.to), Term: u.e.ID})
			return
		}
	}
}

// helpsBy reports whether the verb tells that somebody helped the resident to move, or moved them.
func (r *reader) helpsBy(u *unit) bool {
	return u.kind == kindVerb && (r.is(u.from, helpsVerb) || u.e.fields.weak && u.to-u.from > 1 && r.object(u.to-1) || u.e.fields.weak && r.object(u.to))
}

// mover collects the attributes of one move.
type mover struct {
	r        *reader
	s        *sentence
	a        *anchor
	st       *Statement
	from, to int // tokens covered
	took     []int
	floor    bool // off the floor
	gone     bool // a negation after the move ("left out")
	beside   bool // the helper named stood beside the writer
}

func (m *mover) cover(u *unit) {
	m.from, m.to = min(m.from, u.from), max(m.to, u.to)
}

func (m *mover) isExtra(k int) bool {
	for _, x := range m.a.extra {
		if x == k {
			return true
		}
	}
	return k == m.a.at
}

// right takes what stands behind the move.
func (m *mover) right() {
	r := m.r
	comma := false
	for k := m.a.at + 1; k < m.a.hi; k++ {
		if m.isExtra(k) {
			m.cover(&r.units[k])
			continue
		}
		switch r.parts(k) {
		case 2:
			return
		case 1:
			if strings.HasPrefix(r.word(r.units[m.a.at].from), "non") {
				return // "non amb, mech lift, 2 assist"
			}
			comma = comma || r.units[k].kind != kindAnd
			continue
		}
		u := &r.units[k]
		if comma && u.kind == kindVerb && u.e.fields.weak && u.form == Past && u.e.name != "use" {
			return // "…, came back in the wheelchair"
		}
		if u.kind == kindPerson && r.word(u.to) == "'s" {
			continue // "into her son's car"
		}
		if u.kind == kindCare && k == m.a.at+2 && r.units[k-1].kind == kindAnd {
			continue // "up and dressed with one"
		}
		if r.blocks(k) {
			return
		}
		if comma0 := k > m.a.at+1 && r.parts(k-1) > 0 || k > m.a.at+2 && r.parts(k-2) > 0 && r.units[k-1].kind == kindSubject; comma0 && u.kind == kindPerson && (u.e.name == "family" || u.e.name == "other") && r.subjectPerson(m.s, k) {
			return // ", and her sister …" speaks of somebody else
		}
		if u.kind == kindPast && (r.units[k-1].kind == kindSubject || r.units[k-1].kind == kindIgnore) {
			return // "… he tells me last night …"
		}
		if comma && (u.kind == kindPlanned || u.kind == kindIf) {
			return
		}
		if u.kind == kindNegPost && !comma {
			m.gone = true
			continue
		}
		if u.kind == kindAid && comma && r.isStored(m.s, k) {
			return
		}
		if u.kind == kindSubject && (r.word(u.from) == "it" || r.word(u.from) == "them") {
			m.takeIt(k)
		}
		m.take(k)
	}
}

// takeIt takes "it" at unit k as the walking aid named last, where a preposition leads to it.
func (m *mover) takeIt(k int) {
	r, u := m.r, &m.r.units[k]
	aid := r.lastAid(k)
	if aid == "" || len(m.st.Aids) > 0 {
		return
	}
	switch {
	case r.word(u.from-1) == "without", r.word(u.from-1) == "w/o":
		aid = "none"
	case (r.is(u.from-1, byMeans) || r.word(u.from-1) == "on") && (m.a.concept != "move.transfer" || m.a.implicit):
	default:
		return
	}
	m.st.Aids = []string{aid}
	m.took = append(m.took, k)
	m.cover(u)
}

// left takes what stands before the move.
func (m *mover) left() {
	r := m.r
	for k := m.a.at - 1; k >= m.a.lo; k-- {
		if m.isExtra(k) {
			continue
		}
		if r.parts(k) == 2 || r.blocks(k) {
			return
		}
		u := &r.units[k]
		if u.sign == ',' || u.sign == '-' || u.kind == kindAnd && r.verbBefore(m.a.lo, k) {
			// only bare attributes lead across a comma: "Two staff, belt, side by side …"
			if j := r.apposed(m.a.lo, k); j >= 0 {
				k = j + 1
				continue
			}
			if !m.bareBefore(k) {
				return
			}
			continue
		}
		switch u.kind {
		case kindNegPre, kindPlanned, kindPerson:
			continue
		case kindAid:
			if r.isStored(m.s, k) {
				return
			}
		case kindDistance:
			continue
		}
		m.take(k)
	}
}

// placeBefore is the place that a transfer is named after: "toilet transfer", "tub transfer"; "" for none.
// A bed or chair transfer leaves open which way it went.
func (r *reader) placeBefore(u *unit) string {
	if u.kind != kindVerb || u.e.fields.concept != "move.transfer" || u.form == Past || u.form == Gerund {
		return ""
	}
	at := u.from // the place opens the wording, or stands before the noun that is one
	if u.to-u.from == 1 {
		at--
		if w := r.word(at - 1); w == "to" || w == "→" || w == "from" {
			return "" // it is the end of a way
		}
	}
	if at < 0 || !r.lex.matcher.Opens(&r.in[at]) {
		return ""
	}
	h, ok := r.lex.matcher.At(r.in[:at+1], at)
	if !ok || r.kindOf(h) != kindPlace {
		return ""
	}
	switch p := r.lex.said[h.Payload].e.fields.place; p {
	case "bed", "chair", "floor":
		return ""
	default:
		return p
	}
}

// handled reports whether the verb at unit i has the resident as its object, so that somebody else is alone with them.
func (r *reader) handled(i int) bool {
	u := &r.units[i]
	if u.kind != kindVerb {
		return false
	}
	if r.object(u.to - 1) {
		return u.to-u.from > 1
	}
	return r.is(u.to, object) || r.is(u.to, residentNoun)
}

// verbBefore reports whether a verb stands between units lo and k.
func (r *reader) verbBefore(lo, k int) bool {
	for j := lo; j < k; j++ {
		if u := &r.units[j]; u.kind == kindVerb && (u.e.fields.concept != "" || u.e.fields.weak) {
			return true
		}
	}
	return false
}

// bareBefore reports whether only attributes stand before unit k in the sentence.
func (m *mover) bareBefore(k int) bool {
	for j := m.a.lo; j < k; j++ {
		switch u := &m.r.units[j]; u.kind {
		case kindStaff, kindAid, kindLevel, kindVague, kindClock, kindSubject, kindAnd, kindCare, kindTo, kindFrom, kindPlace:
			if u.kind == kindCare && !m.r.purpose(u.from) {
				return false
			}
		case kindVerb:
			if u.e.name != "use" {
				return false // "Using her frame, she walked …"
			}
		case kindNone, kindHeader, kindPlanHead:
		case kindBreak:
			if m.r.parts(j) > 0 {
				return false
			}
		default:
			return false
		}
	}
	return true
}
