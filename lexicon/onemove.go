package lexicon

// A joint is two words of moves, one behind the other, that may tell one move.
type joint struct {
	r      *reader
	s      *sentence
	a, b   *anchor
	ua, ub *unit
	apart  int // how strongly what stands between parts them
}

// oneMove reports whether the anchors a and b tell one move.
func (r *reader) oneMove(s *sentence, a *anchor, b anchor) bool {
	j := joint{r: r, s: s, a: a, b: &b, ua: &r.units[a.at], ub: &r.units[b.at]}
	for k := a.last() + 1; k < b.at; k++ {
		j.apart = max(j.apart, r.parts(k))
	}
	if j.apart == 2 || r.blocked(a.last(), b.at) {
		return false
	}
	switch a.concept {
	case "move.transfer":
		return j.transfer()
	case "move.lift":
		return j.lift()
	case "fall.moved":
		return j.setDown() || b.concept == "fall.moved" || j.toTransfer() && b.implicit || b.concept == "move.up"
	case "move.up":
		return j.apart == 0 && (b.concept == "move.up" || j.toTransfer() && (b.implicit || j.byMeans()))
	case "move.stand":
		return j.apart == 0 && j.near() && (b.concept == "move.stand" || j.toTransfer() && j.ub.kind == kindVerb && j.ub.e.fields.method == "pivot")
	case "move.reposition":
		return b.concept == "move.up" && j.apart == 0 && j.near() || b.concept == a.concept && (j.apart == 0 && j.near() || j.apart == 1 && j.ub.from-j.ua.to <= 1)
	case "move.walk":
		return j.walk()
	case "move.wheel":
		return j.apart == 0 && b.concept == a.concept
	}
	return false
}

func (j *joint) toTransfer() bool { return j.b.concept == "move.transfer" }

// near reports whether hardly a word stands between the two.
func (j *joint) near() bool { return j.ub.from-j.ua.to <= 2 }

// byMeans reports whether the second is what the first was done by: "got up from bed to chair by stand pivot".
func (j *joint) byMeans() bool {
	return j.ub.kind == kindVerb && j.ub.form != Past && (j.r.is(j.ub.from-1, byMeans) || j.r.is(j.ub.from-1, byMachine))
}

// bareWay reports whether the second only names a way of transferring: "pivot", not "pivoted".
func (j *joint) bareWay() bool {
	return j.ub.kind == kindVerb && j.ub.e.fields.method != "" && j.ub.form != Past
}

// transfer reports whether the second goes on with a transfer.
func (j *joint) transfer() bool {
	ua, ub := j.ua, j.ub
	switch {
	case j.b.concept == "move.up":
		return j.apart == 0 && j.near()
	case !j.toTransfer():
		return false
	case ua.kind == kindVerb && ua.form != Past && j.r.word(ua.to) == "|":
		return true // the heading of a row and one of its cells
	case (j.a.implicit || ua.kind == kindVerb && ua.e.name == "use") && j.r.finishes(j.b.at):
		return true // "used the ceiling lift, two persons, to put her to bed"
	case ua.kind == kindVerb && ua.e.name == "use" && j.b.implicit:
		return true // "did her with two, bed to chair"
	case j.apart == 0:
		// two finite verbs with places of their own stay two moves
		return !(ua.kind == kindVerb && ub.kind == kindVerb && ua.form == Past && ub.form == Past && !ua.e.fields.weak && ub.e.fields.method == "")
	}
	// ", pivot" after a transfer only adds the way; so does a pair of places
	only := j.bareWay() || ua.kind == kindVerb && ua.e.fields.method != "" && ua.form != Past && j.b.implicit
	return only && !j.r.ownPlaces(j.s, j.b.at)
}

// lift reports whether the second goes on with a lift.
func (j *joint) lift() bool {
	switch {
	case j.setDown():
		return true
	case j.bareWay():
		return j.ub.e.fields.method == "pivot" && (j.apart == 0 || !j.r.ownPlaces(j.s, j.b.at)) // "lifted her to the chair, one person pivot"
	case j.b.concept == "move.up":
		return j.apart == 0 && j.near() // "lifted out of bed"
	case j.b.concept == "move.lift" || j.toTransfer() && (j.b.implicit || j.ub.e.fields.weak):
		return j.apart == 0
	}
	return false
}

// setDown reports whether the second is where somebody was put who was picked up: "picked her up and put her in the chair".
func (j *joint) setDown() bool {
	r := j.r
	carries := j.a.hand && j.b.hand // "scooped her up in our arms and toted her over"
	if carries && j.apart == 1 && r.units[j.b.at-1].kind == kindAnd && !r.ownPlaces(j.s, j.a.at) {
		return true
	}
	return j.ub.kind == kindVerb && j.ub.e.name == "move" && r.units[j.b.at-1].kind == kindAnd && r.onlyHelpers(j.a.last()+1, j.b.at-1) && r.is(j.ub.from, putDown)
}

// walk reports whether the second goes on with a walk or is what a heading of walks tells.
func (j *joint) walk() bool {
	switch {
	case j.ua.form == NounForm && j.r.nextIsColon(j.a.at):
		// "Mobility: transfers x2" tells the transfer
		return j.toTransfer() && (j.b.at == j.a.at+2 || j.r.onlyPlaces(j.a.at+2, j.b.at))
	case j.b.concept == "move.walk":
		return j.apart == 0 && (j.ua.form == NounForm || j.ub.form == NounForm || j.ub.from-j.ua.to <= 1)
	}
	return false
}

// finishes reports whether the everyday verb at unit k only says what a lift told before it was used for: "to put her to
// bed", "and put her in bed".
func (r *reader) finishes(k int) bool {
	u := &r.units[k]
	if u.kind != kindVerb || !u.e.fields.weak {
		return false
	}
	return r.word(u.from-1) == "to" || k > 0 && r.units[k-1].kind == kindAnd && r.units[k-1].to == u.from && r.is(u.from, putDown) && r.helpsBy(u)
}

// onlyHelpers reports whether nothing but helpers stands among the units from i to j, or "us" behind "between".
func (r *reader) onlyHelpers(i, j int) bool {
	for ; i < j; i++ {
		if r.units[i].kind == kindFrom && i+1 < j && r.isPlace(i+1) {
			i++ // "picked him up out of the chair and put him on the bed"
			continue
		}
		if u := &r.units[i]; u.kind != kindStaff && !(u.kind == kindSubject && r.is(u.from, otherObject)) {
			return false
		}
	}
	return true
}
