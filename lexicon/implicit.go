package lexicon

import (
	"slices"

	"example.com/stance/lexicon/internal/token"
)

// addImplicit adds the moves that have no verb: "bed to commode x1", "stand aid chair to toilet", "used the lift".
func (r *reader) addImplicit(s *sentence, list []anchor) []anchor {
	for i := s.lo; i < s.hi; i++ {
		a, pair, ok := r.implicit(s, i, list)
		if !ok || r.implicitTaken(s, &a, pair, list) {
			continue
		}
		at := 0
		for at < len(list) && list[at].at < i {
			at++
		}
		list = slices.Insert(list, at, a)
	}
	return list
}

// implicit is the move without a verb that unit i tells, if it does. Pair says that it is told by places.
func (r *reader) implicit(s *sentence, i int, list []anchor) (a anchor, pair, ok bool) {
	u := &r.units[i]
	if u.used {
		return a, false, false
	}
	a = anchor{at: i, concept: "move.transfer", implicit: true}
	if u.kind == kindVerb && u.e.name == "use" && u.form == Past && r.word(u.to) == "it" && !r.is(u.from, preposition) && !r.is(u.from, didWord) {
		a.method = r.lastLift(i) // "brought the hoist in and used it x2"
		return a, true, a.method != ""
	}
	if u.kind == kindAid && u.e.fields.concept == "move.walk" {
		a.concept = "move.walk"
		return a, false, true // "furniture walking to the loo"
	}
	if u.kind == kindDistance && r.is(u.from-1, managed) && r.aidIn(s, i) || u.kind == kindAid && isWalkingAid(u.e.name) && r.aidToPlace(s, i) {
		a.concept = "move.walk"
		return a, false, true
	}
	if r.pairOfPlaces(s, i, list) || r.placeWithHelp(s, i) {
		return a, true, true
	}
	if r.risesWithHelp(s, i) {
		a.concept = "move.up"
		return a, true, true
	}
	if r.goesWithAid(s, i, list) {
		a.concept = "move.walk"
		return a, false, true
	}
	lift := u.kind == kindAid && isLift(u.e.name) && r.liftUsed(s, i)
	board := u.kind == kindAid && u.e.name == "board" && r.helpBeside(s, i)
	return a, false, lift || board
}

// pairOfPlaces reports whether a place left and one reached begin at unit i, or one of them with helpers.
func (r *reader) pairOfPlaces(s *sentence, i int, list []anchor) bool {
	u := &r.units[i]
	if u.kind == kindSame && r.onceMore(s, i, list) {
		return true
	}
	if r.isPlace(i) && !r.isFloor(i) {
		if r.placeToPlace(s, i) {
			return true
		}
		if i+1 < s.hi && r.isPlace(i+1) && !r.isFloor(i+1) {
			if from, _ := r.placeUse(i, false); from {
				return true // "bed-chair"
			}
		}
	}
	if k := r.placeLedTo(s, i); k >= 0 && u.kind == kindTo && (r.startsSegment(s, i) || r.helpersLead(s, i)) &&
		(r.helpersIn(s, k) || r.backAgain(s, i, list) || r.liftCloses(s, k)) {
		return true // "back to bed x2"
	}
	return r.isPlace(i) && i > s.lo && r.units[i-1].kind == kindExcept && u.from-r.units[i-1].to <= 2 && r.helpersIn(s, i) // "all transfers x1 except shower x2"
}

// placeToPlace reports whether the place at unit i leads on to another with "to": "bed to commode".
func (r *reader) placeToPlace(s *sentence, i int) bool {
	if i+2 >= s.hi {
		return false
	}
	to := &r.units[i+1]
	return to.kind == kindTo && to.from == r.units[i].to && r.word(to.from) != "in" && r.word(to.from) != "on" && r.placeLedTo(s, i+1) >= 0
}

// implicitTaken reports whether what the move b without a verb tells belongs to a move of the list in its chunk.
func (r *reader) implicitTaken(s *sentence, b *anchor, pair bool, list []anchor) bool {
	lo, hi := r.chunk(s, b.at)
	for _, a := range list {
		if !pair && a.at > b.at && r.finishes(a.at) {
			continue // "used the ceiling lift, two persons, to put her to bed": one move, joined later
		}
		if pair && a.at < b.at && r.commaBetween(a.at, b.at) && r.sameHere(s, b.at) {
			continue // "bed to commode with two, back in bed same"
		}
		if a.at >= lo && a.at < hi && a.concept != "move.refused" && r.takesImplicit(&a, b, pair) {
			return true
		}
	}
	return false
}

// takesImplicit reports whether the move a tells what the move b without a verb does: places, a lift or an aid.
func (r *reader) takesImplicit(a, b *anchor, pair bool) bool {
	from := a.at
	if a.implicit {
		from = r.joinedHelp(from)
	}
	behind := a.at < b.at && !r.commaBetween(from, b.at)
	switch a.concept {
	case "move.transfer", "move.lift", "move.up", "fall.moved", "move.wheel", "move.sit-up":
		return !r.blocked(a.at, b.at) && !(pair && r.pairBetween(a.at, b.at))
	case "move.reposition":
		return !r.commaBetween(a.at, b.at)
	case "move.stand":
		onAid := b.concept == "move.walk" && r.units[b.at].kind == kindAid
		return behind || onAid && !r.commaBetween(a.at, b.at)
	case "move.walk":
		if r.units[a.at].form == NounForm && r.nextIsColon(a.at) && !pair {
			return false // "Mobility: stand lift x2"
		}
	}
	return behind // a walk owns the pair that follows it directly, and a lift it was done with
}

// aidIn reports whether a walking aid or help stands in the segment of unit i.
func (r *reader) aidIn(s *sentence, i int) bool {
	lo, hi := r.segment(s, i)
	for k := lo; k < hi; k++ {
		if n := &r.units[k]; n.kind == kindStaff || n.kind == kindLevel || n.kind == kindAid && isWalkingAid(n.e.name) {
			return true
		}
	}
	return false
}

// aidToPlace reports whether the walking aid at unit i goes on to somewhere ("2WW to BR x1", "Rollator and one down to
// the parlour"), with help or nothing but helpers before it, so that a walk is told without a verb.
func (r *reader) aidToPlace(s *sentence, i int) bool {
	switch {
	case r.isStored(s, i):
		return false
	case r.helpedWith(s, i):
		return true
	case !r.startsSegment(s, i) && !r.onlyHelp(s.lo, i):
		return false
	}
	k := r.joinedHelp(i)
	if at := r.units[k].to; !r.leadsOff(at) {
		return false
	}
	return k > i || r.joinedToHelp(i) || r.helpNamed(s, i) || r.helpersIn(s, i)
}

// joinedHelp is the unit of the helpers right behind the aid at unit i ("rollator and one carer", "frame with one"), i for
// none.
func (r *reader) joinedHelp(i int) int {
	if r.leads(i, kindStaff) {
		return i + 1
	}
	if r.leads(i, kindAnd) && r.leads(i+1, kindStaff) {
		return i + 2
	}
	return i
}

// leadsOff reports whether a word of direction at token i goes on to a noun, past others and what belongs to it.
func (r *reader) leadsOff(i int) bool {
	switch {
	case r.word(i) == "as" && r.word(i+1) == "far" && r.word(i+2) == "as":
		i += 3
	case !r.is(i, onward) && !r.is(i, particle):
		return false
	}
	for r.is(i, onward) || r.is(i, particle) || r.is(i, article) || r.is(i, owner) {
		i++
	}
	return i < len(r.toks) && r.toks[i].Kind == token.Word && !r.is(i, beWord) && (r.english(i).isNoun || r.english(i).unknown || r.english(i).adjective)
}

// onlyHelp reports whether no more than helpers, amounts of help and aids stand among the units from lo to hi.
func (r *reader) onlyHelp(lo, hi int) bool {
	for k := lo; k < hi; k++ {
		switch n := &r.units[k]; n.kind {
		case kindStaff, kindLevel, kindClock, kindAnd, kindNone, kindAid, kindHeader:
		default:
			return false
		}
	}
	return true
}

// helpedWith reports whether only helpers or a level stand before the walking aid at unit i in its sentence,
// joined to it by "with": "A1 w/ RW", "independent with cane".
func (r *reader) helpedWith(s *sentence, i int) bool {
	if i == s.lo {
		return false
	}
	if !r.is(r.units[i].from-1, byMeans) {
		return false
	}
	for k := s.lo; k < i; k++ {
		switch n := &r.units[k]; n.kind {
		case kindStaff, kindLevel, kindClock, kindSubject, kindNow, kindOrder, kindPlanHead:
		default:
			return false
		}
	}
	switch p := &r.units[i-1]; p.kind {
	case kindLevel, kindStaff:
		return r.units[i].from-p.to == 1 && p.e.name != "plain"
	}
	return false
}

// backAgain reports whether unit i opens a return to bed or chair with a time of its own after a transfer:
// "up to the wheelchair at 0800, back to bed at 1930".
func (r *reader) backAgain(s *sentence, i int, list []anchor) bool {
	if r.word(r.units[i].from) != "back" || len(list) == 0 || list[0].at > i {
		return false
	}
	lo, hi := r.segment(s, i)
	for k := lo; k < hi; k++ {
		if u := &r.units[k]; u.kind == kindClock && r.clockOf(*u) != "" {
			return true
		}
	}
	return false
}

// liftCloses reports whether a lift closes the sentence behind the place at unit i ("back to bed at 4, hoist again").
func (r *reader) liftCloses(s *sentence, i int) bool {
	for k := i + 1; k < s.hi; k++ {
		switch u := &r.units[k]; {
		case u.kind == kindAid && isLift(u.e.name):
			return u.to == r.units[s.hi-1].to && !r.isStored(s, k)
		case u.kind == kindClock, u.sign == ',':
		default:
			return false
		}
	}
	return false
}

// lastLift is the lift named last before unit i, "" for none.
func (r *reader) lastLift(i int) string {
	for k := i - 1; k >= 0; k-- {
		if u := &r.units[k]; u.kind == kindAid && isLift(u.e.name) {
			return u.e.name
		}
	}
	return ""
}

// pairBetween reports whether two places of a move stand between units i and j, with a comma or "and" behind them.
func (r *reader) pairBetween(i, j int) bool {
	for k := i + 1; k+2 < j; k++ {
		if r.isPlace(k) && r.units[k+1].kind == kindTo && r.isPlace(k+2) && r.commaBetween(k+2, j) {
			return true
		}
	}
	return false
}

func (r *reader) isFloor(k int) bool {
	return r.units[k].kind == kindPlace && r.units[k].e.fields.place == "floor"
}

// helpersLead reports whether only helpers stand before unit i in its sentence: "Ax1 to toilet".
func (r *reader) helpersLead(s *sentence, i int) bool {
	if i == s.lo || r.units[i].from-r.units[i-1].to > 0 {
		return false
	}
	for k := s.lo; k < i; k++ {
		if n := &r.units[k]; n.kind != kindStaff && n.kind != kindLevel && n.kind != kindClock {
			return false
		}
		if k == s.lo && r.units[k].from > 0 && r.toks[r.units[k].from-1].Kind == token.Word {
			return false
		}
	}
	return true
}

// startsSegment reports whether unit i opens its segment.
func (r *reader) startsSegment(s *sentence, i int) bool {
	for i > s.lo && r.units[i-1].kind == kindClock && r.units[i-1].to == r.units[i].from {
		i--
	}
	if i == s.lo {
		at := r.units[i].from
		return at == 0 || r.toks[at-1].Kind != token.Word || (r.is(at-1, residentNoun) || r.word(at-1) == "pt") && r.opens(at-1)
	}
	return r.parts(i-1) > 0 && r.units[i-1].to == r.units[i].from
}

// liftUsed reports whether the lift at unit i is the means of a move and not merely spoken of.
func (r *reader) liftUsed(s *sentence, i int) bool {
	u := &r.units[i]
	if r.isStored(s, i) {
		return false
	}
	if i > s.lo {
		p := &r.units[i-1]
		if p.kind == kindVerb && p.e.name == "use" && r.onlyArticles(p.to, u.from) {
			return true
		}
		if lead := r.leadIn(u); r.isPlace(i-1) && p.to == lead && !r.is(u.to, alongside) && (r.is(lead, byMeans) || r.is(lead, byMachine)) {
			return true // "bed by total lift"
		}
	}
	return r.helpBeside(s, i)
}

// helpBeside reports whether helpers, a place reached or the word "used" stand in the segment of unit i.
func (r *reader) helpBeside(s *sentence, i int) bool {
	if r.isStored(s, i) {
		return false
	}
	if u := &r.units[i]; isLift(u.e.name) {
		if r.word(u.to) == "only" {
			return true // "hoist only"
		}
		if i+2 < s.hi && r.units[i+1].kind == kindAnd && r.units[i+1].from == u.to && r.units[i+2].from == r.units[i+1].to && (r.units[i+2].kind == kindStaff || r.units[i+2].kind != kindAid && r.smallNumber(r.units[i+2].from)) {
			return true // "hoist and two"
		}
	}
	lo, hi := r.segment(s, i)
	for k := lo; k < hi; k++ {
		n := &r.units[k]
		if n.kind == kindStaff || n.kind == kindVerb && n.e.name == "use" {
			return true
		}
		if r.isPlace(k) {
			if f, t := r.placeUse(k, false); f || t || r.word(r.leadIn(n)) == "for" {
				return true
			}
		}
	}
	return false
}

// smallNumber reports whether token i is a number that may be of helpers.
func (r *reader) smallNumber(i int) bool {
	return i < len(r.toks) && r.toks[i].IsNum && r.toks[i].Num >= 1 && r.toks[i].Num <= 4
}

// helpersIn reports whether helpers or a level of assistance stand in the segment of unit i.
func (r *reader) helpersIn(s *sentence, i int) bool {
	lo, hi := r.segment(s, i)
	for k := lo; k < hi; k++ {
		if n := &r.units[k]; n.kind == kindStaff || n.kind == kindLevel || n.kind == kindVague {
			return true
		}
	}
	return false
}
