package lexicon

import (
	"strings"

	"example.com/stance/lexicon/internal/token"
)

// worth reports whether the words amount to a move of a person.
func (m *mover) worth() bool {
	u := &m.r.units[m.a.at]
	if u.kind != kindVerb || strings.HasPrefix(m.r.word(u.from), "non") {
		return true
	}
	said := len(m.took) > 0 || m.a.listed
	if m.a.concept == "move.lift" && m.liftsThing(u, said) || m.a.concept == "move.reposition" && m.liftsAid(u.to) {
		return false
	}
	if (m.a.concept == "move.stand" || m.a.concept == "move.reposition") && m.r.word(u.to-1) == "her" && u.to-u.from > 1 && m.r.ownsThing(u.to) {
		return false // "stood her photo back on the shelf"
	}
	if to := u.to; m.a.concept == "move.transfer" && u.form == Past && !u.e.fields.weak && m.r.word(to) == "to" && m.r.named(to+1) && !m.r.toks[to+1].Upper {
		return false // "transferred to the General at 0815"
	}
	if said {
		return true
	}
	if m.bareNoun(u) || m.turnsInPivot() {
		return false
	}
	switch m.a.concept {
	case "move.reposition":
		return !m.rolls(u) && !m.r.turnsThing(m.a.at)
	case "move.transfer":
		return !m.transfersThing(u)
	case "move.walk":
		return u.form != NounForm || m.walkDenied(u)
	}
	return true
}

// mentionsAgain reports whether a walk that says nothing of its own only goes on about the one told before it in the
// sentence: "to the bathroom on her crutches, hopping nicely".
func (m *mover) mentionsAgain() bool {
	if m.a.concept != "move.walk" || m.a.implicit || len(m.took) > 0 || m.r.units[m.a.at].form == NounForm {
		return false
	}
	for k := len(m.r.out.Statements) - 1; k >= 0; k-- {
		p := &m.r.out.Statements[k]
		if p.Span.Start < m.r.toks[m.r.units[m.s.lo].from].Start {
			return false
		}
		stepped := m.r.is(m.r.units[m.a.at].to-1, stepWord) && (p.Concept == "move.transfer" || p.Concept == "move.up")
		if (p.Concept == "move.walk" || stepped) && p.Polarity == Affirmed && !m.r.newSubject(m.s, m.a.at) {
			return true
		}
	}
	return false
}

// newSubject reports whether somebody else than the resident is named between the move before and unit i.
func (r *reader) newSubject(s *sentence, i int) bool {
	for k := i - 1; k >= s.lo; k-- {
		switch n := &r.units[k]; {
		case n.kind == kindVerb && n.e.fields.concept != "":
			return false
		case n.kind == kindPerson, n.kind == kindNegPre, n.kind == kindPlanned, n.kind == kindIf, n.kind == kindPast:
			return true
		}
	}
	return false
}

// bareNoun reports whether a word that may be a verb is a noun here ("the candle stand", "Transfer of papers").
func (m *mover) bareNoun(u *unit) bool {
	return m.r.bareBase(u) && len(m.a.extra) == 0 && m.a.concept != "move.walk" && !m.r.verbal(u.from) && !m.r.nextIsColon(m.a.at)
}

// liftsThing reports whether what was lifted is a thing or a limb. Said tells that help or aids were named.
func (m *mover) liftsThing(u *unit, said bool) bool {
	r, at := m.r, m.a.at
	if u.form != NounForm && (m.liftsAid(u.to) || r.word(u.to-1) == "her" && r.ownsThing(u.to)) {
		return true // "lifted her walker over the step"
	}
	next := at + 1
	if next < m.s.hi && r.units[next].kind == kindSide && r.leads(at, kindSide) {
		next++
	}
	if next < m.s.hi {
		if p := &r.units[next]; (p.kind == kindLimb || p.kind == kindLoad) && p.from-r.units[next-1].to <= 1 {
			return true // "can lift left leg off the bed", "no lifting > 2 lb"
		}
	}
	if said {
		return false
	}
	switch u.form {
	case Past: // "it lifted once the letter came", "legs lifted onto a pillow", "lifted fluid restriction"
		return r.word(u.from-1) == "it" || at > m.s.lo && r.follows(at, kindLimb) || len(m.a.extra) == 0 && r.movesThing(u.to)
	case Gerund: // "worse with lifting"
		return u.to-u.from == 1 && !r.deniedBefore(m.s, at)
	}
	return false
}

// rolls reports whether it is an aid or a bed that rolled ("the w/c rolled back").
func (m *mover) rolls(u *unit) bool {
	return m.a.at > m.s.lo && (m.r.follows(m.a.at, kindAid) || m.r.follows(m.a.at, kindPlace))
}

// transfersThing reports whether a thing was transferred ("transferred her files"), or somebody to a ward by
// its name.
func (m *mover) transfersThing(u *unit) bool {
	if u.form != Past {
		return false
	}
	return len(m.a.extra) == 0 && m.r.movesThing(u.to) || m.r.word(u.to) == "to" && m.r.named(u.to+1)
}

// walkDenied reports whether a bare noun such as "gait" or "mobility" is at least denied ("no mobility").
func (m *mover) walkDenied(u *unit) bool {
	for k := m.a.lo; k < m.a.hi; k++ {
		switch n := &m.r.units[k]; n.kind {
		case kindNegPre:
			if k < m.a.at && u.from-n.to <= 2 {
				return true
			}
		case kindNegPost:
			if k > m.a.at {
				return true
			}
		}
	}
	return false
}

// named reports whether the words from token i name a house or ward, not a seat or bed.
func (r *reader) named(i int) bool {
	for k := i; k < len(r.toks) && k < i+5 && r.toks[k].Kind == token.Word; k++ {
		if r.is(k, institution) {
			return true
		}
	}
	if i >= len(r.toks) || !r.toks[i].Capital {
		return false
	}
	h, ok := r.hitAt(i)
	if !ok {
		return true
	}
	switch r.kindOf(h) {
	case kindPlace, kindAid, kindVerb, kindStaff, kindLevel, kindSubject:
		return false
	}
	return true
}

// turnsInPivot reports whether the verb only tells how the resident moved in a transfer told just before.
func (m *mover) turnsInPivot() bool {
	u := &m.r.units[m.a.at]
	if !m.r.is(u.from, turned) || u.form != Past || m.r.ontoSide(u.to) || m.r.is(u.to-1, sideWord) {
		return false
	}
	for k := m.a.at - 1; k >= m.s.lo; k-- {
		if n := &m.r.units[k]; n.kind == kindVerb && !n.e.fields.weak {
			switch n.e.fields.concept {
			case "move.transfer", "move.stand", "move.lift":
				return true
			}
			return false
		}
	}
	return false
}

// turnsThing reports whether what was turned or rolled by the verb at unit i is a thing or a joint ("turned
// over the call bell", "rolled her ankle").
func (r *reader) turnsThing(i int) bool {
	u := &r.units[i]
	if r.is(u.to-1, object) {
		return i+1 < len(r.units) && r.units[i+1].kind == kindLimb && r.units[i+1].from == u.to
	}
	if r.ontoSide(u.to) {
		return false // "repositioned on the left side"
	}
	if r.is(u.to, turnedWhat) {
		return i+1 >= len(r.units) || r.units[i+1].kind != kindSubject || r.units[i+1].from != u.to
	}
	return i+1 < len(r.units) && r.units[i+1].kind == kindLimb && r.units[i+1].from-u.to <= 1
}

// ontoSide reports whether the words from token i name the side onto which somebody was turned.
func (r *reader) ontoSide(i int) bool {
	if r.word(i) == "on" && r.word(i+1) == "to" {
		i++
	}
	w := r.word(i)
	return (w == "on" || w == "onto" || w == "to") && (r.is(i+1, sideWord) || r.is(i+2, sideWord))
}

// ownsThing reports whether "her" before token i owns a thing ("carried her dinner tray"), not a place that
// she was carried to or from.
func (r *reader) ownsThing(i int) bool {
	if h, ok := r.hitAt(i); ok {
		switch r.kindOf(h) {
		case kindPlace, kindAid, kindStaff, kindLevel, kindFrom, kindTo:
			return false
		}
	}
	return r.ownsNoun(i)
}

// liftsAid reports whether the words from token i name a walking aid as what was lifted.
func (m *mover) liftsAid(i int) bool {
	for k := m.a.at + 1; k < m.a.hi; k++ {
		if u := &m.r.units[k]; u.kind == kindAid {
			return isWalkingAid(u.e.name) && m.r.onlyArticles(i, u.from)
		}
	}
	return false
}

// movesThing reports whether the words from token i name a thing as the object, not a person.
func (r *reader) movesThing(i int) bool {
	if i >= len(r.toks) || r.toks[i].Kind != token.Word {
		return false
	}
	if r.is(i, article) || r.is(i, owner) {
		i++
		if i >= len(r.toks) || r.toks[i].Kind != token.Word || r.toks[i].Start == 0 {
			return false
		}
		if r.is(i-1, article) && !r.is(i, residentNoun) {
			h, ok := r.hitAt(i)
			if !ok {
				return true
			}
			switch r.kindOf(h) {
			case kindFaultPart, kindFitPart, kindIgnore, kindStore:
				return true // "lifted the footrests"
			}
		}
	}
	return r.in[i].Word == 0
}
