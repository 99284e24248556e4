package lexicon

import "strings"

// anchor is the word that carries a move, with the units of its clause.
type anchor struct {
	at       int // unit
	concept  string
	method   string
	hand     bool
	implicit bool // no verb: a pair of places or a lift as the means
	listed   bool // the next in a list of moves that share their help: "assist with transfers and gait"
	lo, hi   int  // units that may belong to it, hi exclusive
	extra    []int
}

// anchors finds the moves of a sentence in order and gives each its units.
func (r *reader) anchors(s *sentence) []anchor {
	list := r.list[:0]
	for i := s.lo; i < s.hi; i++ {
		u := &r.units[i]
		switch {
		case u.kind == kindOffFloor:
			list = append(list, anchor{at: i, concept: "fall.moved", hand: u.e.fields.hand})
		case u.kind == kindVerb && u.e.fields.concept == "move.walk" && u.form == NounForm && r.nextIsColon(i) && i+2 < s.hi && r.units[i+2].kind == kindAid && isLift(r.units[i+2].e.name) && r.units[i+2].from == r.units[i+1].to:
			r.units[i+2].used = true
			list = append(list, anchor{at: i, concept: "move.transfer", method: r.units[i+2].e.name, extra: []int{i + 2}}) // "Mobility: full hoist, assist of 2"
		case u.kind != kindVerb || u.used:
		case (u.form == NounForm || u.form == Base) && r.word(u.from-1) == "for" && len(list) > 0 && !r.commaBetween(list[len(list)-1].at, i):
			u.used = true // "unable to stand for transfers"
		case r.swapped(i), (u.form == NounForm || u.form == Base) && r.is(r.leadIn(u), reassesses):
			u.used = true // "instead of a pivot", "to reassess transfers"
		case u.e.name == "refuse":
			if a, ok := r.refusal(s, i); ok {
				if n := len(list); n > 0 && a.extra[0] == i && list[n-1].at == i-1 {
					list = list[:n-1] // "walk refused"
				}
				list = append(list, a)
				i = a.extra[len(a.extra)-1]
			}
		case r.offered(i) && r.refusedLater(s, i) >= 0:
			k := r.refusedLater(s, i)
			r.units[k].used = true
			list = append(list, anchor{at: i, concept: "move.refused", extra: []int{k}})
		case u.e.name == "use" && r.doesPerson(s, i):
			list = append(list, anchor{at: i, concept: "move.transfer"})
		case u.e.name == "use" || u.e.name == "repeat" || u.e.name == "bedrest":
		case u.e.fields.weak:
			if k := r.wheeledIn(s, i); k > i {
				list = append(list, anchor{at: i, concept: "move.wheel"})
				i = k - 1 // "came back in" is one way
			} else if r.carriesMove(s, i) {
				list = append(list, anchor{at: i, concept: u.e.fields.concept})
			}
		default:
			if u.e.name == "lift" && u.form == Base && u.to-u.from == 1 && !r.verbal(u.from) {
				continue // "lift x2" is the machine
			}
			list = append(list, anchor{at: i, concept: u.e.fields.concept, method: u.e.fields.method, hand: u.e.fields.hand})
		}
	}
	list = r.addImplicit(s, list)
	list = r.mergeTransfers(s, list)
	for k := range list {
		a := &list[k]
		a.lo, a.hi = s.lo, s.hi
		if k > 0 {
			a.lo = list[k-1].hi
		}
		if k+1 < len(list) {
			a.hi = r.between(a.last(), list[k+1].at)
		}
	}
	r.list = list
	return list
}

func (a *anchor) last() int {
	if n := len(a.extra); n > 0 && a.extra[n-1] > a.at {
		return a.extra[n-1]
	}
	return a.at
}

// offered reports whether the move at unit i is only one that was offered.
func (r *reader) offered(i int) bool {
	for k := r.units[i].from - 1; k >= 0 && k >= r.units[i].from-4; k-- {
		if r.is(k, offers) {
			return true
		}
		if r.pauses(k) {
			return false
		}
	}
	return false
}

// refusedLater is the unit of a refusal with no move of its own later in the sentence, -1 for none.
func (r *reader) refusedLater(s *sentence, i int) int {
	for k := i + 1; k < s.hi; k++ {
		u := &r.units[k]
		if u.kind != kindVerb {
			continue
		}
		if u.e.name != "refuse" {
			if u.e.fields.weak {
				continue
			}
			return -1
		}
		if k+1 < s.hi && r.units[k+1].kind == kindVerb && r.units[k+1].from-u.to <= 1 {
			return -1
		}
		return k
	}
	return -1
}

// verbal reports whether a base form at token i is used as a verb.
func (r *reader) verbal(i int) bool {
	return r.is(i-1, beforeVerb) || r.is(i-1, thirdPerson) || r.is(i-1, firstPerson) || r.is(i-1, object) || r.is(i-1, residentNoun)
}

// refusal reads "refused to stand", "declined to get up" and "walk refused".
func (r *reader) refusal(s *sentence, i int) (anchor, bool) {
	for k := i + 1; k < s.hi && k <= i+4; k++ {
		u := &r.units[k]
		if r.parts(k) > 0 || r.units[k].from-r.units[i].to > 5 {
			break
		}
		if u.kind == kindCare && !r.purpose(u.from) {
			break
		}
		if u.kind == kindVerb && u.e.name != "use" && u.e.name != "refuse" && (!u.e.fields.weak || u.form == Base && r.carriesMove(s, k)) {
			return anchor{at: i, concept: "move.refused", extra: []int{k}}, true
		}
	}
	if w := r.word(r.units[i].to - 1); w == "oob" || w == "bed" {
		return anchor{at: i, concept: "move.refused", extra: []int{i}}, true
	}
	if i+1 < s.hi {
		if u := &r.units[i+1]; u.kind == kindAid && isLift(u.e.name) && r.onlyArticles(r.units[i].to, u.from) {
			u.used = true
			return anchor{at: i, concept: "move.refused", extra: []int{i + 1}}, true // "refused the hoist"
		}
	}
	if i > s.lo {
		u := &r.units[i-1]
		if u.kind == kindVerb && r.units[i].from-u.to <= 2 && (u.form == NounForm || u.form == Base) && u.e.name != "use" && u.e.name != "move" {
			u.used = true
			return anchor{at: i, concept: "move.refused", extra: []int{i}}, true
		}
	}
	return anchor{}, false
}

// carriesMove reports whether the everyday verb at unit i ("moved", "went", "got") tells a transfer:
// its clause has a lift, a board or a way of transferring, two places, or a seat or bed and help.
func (r *reader) carriesMove(s *sentence, i int) bool {
	at := r.units[i].from
	switch {
	case r.is(at, went) && r.is(at-1, onFoot), r.is(at-1, staffSubject) && r.word(at+1) == "to", // "when I went to do her care", "when we got to her room"
		r.is(at, went) && r.onErrand(r.units[i].to),
		r.word(r.units[i].to) == "me", r.word(r.units[i].to) == "us": // "put me right"
		return false
	}
	e := evidence{help: r.is(at, helpsVerb)}
	for k := i + 1; k < s.hi && r.parts(k) < 2 && !r.blocks(k); k++ {
		if !r.weigh(&e, i, k) {
			break
		}
	}
	for k := i - 1; !e.help && k >= s.lo && r.parts(k) < 2 && !r.blocks(k); k-- {
		e.help = r.units[k].kind == kindStaff || r.units[k].kind == kindVague
	}
	e.help = e.help || e.to && r.sameHere(s, i)
	return e.means || e.from && e.to || (e.from || e.to) && e.help || e.leads && e.afoot || e.seated && r.is(at, putDown)
}

// onErrand reports whether the words at token i, behind "went", lead to what staff do to somebody: "in to do Beryl".
func (r *reader) onErrand(i int) bool {
	for r.is(i, particle) || r.word(i) == "in" || r.word(i) == "back" || r.word(i) == "over" {
		i++
	}
	if r.word(i) != "to" || i+2 >= len(r.toks) {
		return false
	}
	verb := r.english(i+1).verb || r.is(i+1, didWord)
	return verb && r.endOfWording(i+1) != kindPlace && (r.object(i+2) || r.isName(i+2) || r.is(i+2, title))
}

// wheeledIn is the wheelchair in which the everyday verb at unit i leads somewhere ("came back in the wheelchair"), -1
// for none.
func (r *reader) wheeledIn(s *sentence, i int) int {
	u := &r.units[i]
	if !r.is(u.from, onTheWay) {
		return -1
	}
	for k := i + 1; k < s.hi && r.parts(k) == 0; k++ {
		switch n := &r.units[k]; {
		case n.kind == kindAid && strings.HasPrefix(n.e.name, "wheelchair"):
			if r.seatedIn(n) {
				return k
			}
			return -1
		case n.kind == kindFrom, r.isPlace(k) && n.e.fields.place == "bed", n.kind == kindStaff && k == i+1:
			return -1
		}
	}
	return -1
}

// evidence is what stands behind an everyday verb that may tell a transfer.
type evidence struct {
	means    bool // a lift, a board or a way of transferring
	from, to bool // a place left, a place reached
	help     bool // helpers, or an aid that only helpers use
	leads    bool // a word that leads somewhere
	afoot    bool // a walking aid behind such a word: "assisted to the dining room with the rollator"
	seated   bool // a place reached soon
}

// weigh adds what unit k says of the verb at unit i. It reports whether the words behind still speak of it.
func (r *reader) weigh(e *evidence, i, k int) bool {
	u := &r.units[k]
	switch u.kind {
	case kindTo:
		e.leads = e.leads || r.is(u.from, onward)
	case kindVerb:
		switch {
		case u.e.fields.method != "":
			e.means = true
		case u.e.fields.weak && !(u.e.name == "use" && u.form != NoTense):
		default:
			return u.e.fields.concept == "move.transfer" || u.e.name == "use" || u.e.name == "move"
		}
	case kindAid:
		switch name := u.e.name; {
		case isLift(name) || name == "board":
			e.means = true
		case isWalkingAid(name):
			e.afoot = e.afoot || e.leads
		case name == "wheelchair":
			r.weighPlace(e, k)
		case name == "belt" || name == "disc" || name == "sling" || name == "slide-sheet":
			e.help = true
		}
	case kindPlace:
		if u.e.fields.place != "floor" {
			reached := r.weighPlace(e, k)
			e.seated = e.seated || reached && k <= i+4
		}
	case kindStaff, kindLevel, kindVague:
		e.help = true
	}
	return true
}

// weighPlace adds the place at unit k and reports whether it is reached.
func (r *reader) weighPlace(e *evidence, k int) bool {
	from, to := r.placeUse(k, true)
	e.from, e.to = e.from || from, e.to || to
	return to
}

func isLift(aid string) bool { return aid == "sit-stand-lift" || aid == "total-lift" || aid == "lift" }

// placeUse reports whether the place at unit k is left or reached. Loose takes "in" and "on" as reaching.
func (r *reader) placeUse(k int, loose bool) (from, to bool) {
	u := &r.units[k]
	if p := r.before(k); p != nil {
		if p.kind == kindExcept && u.from-p.to <= 2 {
			return false, true
		}
		near := u.from-p.to <= 3 && (r.onlyArticles(p.to, u.from) || r.word(u.from-1) == "'s")
		switch {
		case near && p.kind == kindFrom, near && p.kind == kindVerb && (r.word(p.to-1) == "from" || r.word(p.to-1) == "of" && r.word(p.to-2) == "out"):
			return true, false
		case near && (p.kind == kindTo || p.kind == kindVerb && p.e.fields.weak && r.endsTo(p)):
			if w := r.word(p.to - 1); w == "in" || w == "on" {
				return false, loose
			}
			return false, true
		}
		if near && p.kind == kindVerb && r.endsTo(p) {
			return false, true
		}
	}
	if k+1 < len(r.units) {
		n := &r.units[k+1]
		if n.from == u.to && n.kind == kindTo && k+2 < len(r.units) && r.isPlace(k+2) && r.units[k+2].from-n.to <= 2 {
			return true, false
		}
		// "bed-chair" with the hyphen gone
		if n.from == u.to && r.isPlace(k+1) && r.toks[n.from].Start-r.toks[u.to-1].End == 1 && r.text[r.toks[u.to-1].End] == '-' {
			return true, false
		}
	}
	if k > 0 && r.isPlace(k-1) && r.units[k-1].to == u.from && r.text[r.toks[u.from-1].End] == '-' {
		return false, true
	}
	return false, false
}

// before is the unit before unit k, leaving out what only owns it ("to her bed", "into her son's car"), nil for none.
func (r *reader) before(k int) *unit {
	for j := k - 1; j >= 0; j-- {
		if p := &r.units[j]; p.kind == kindPerson && r.word(p.to) == "'s" && p.to+1 == r.units[j+1].from {
			continue
		}
		if p := &r.units[j]; p.kind != kindSubject && (p.kind != kindNone || p.sign != 0) || !r.onlyArticles(p.from, p.to) {
			return p
		}
	}
	return nil
}

// endsTo reports whether the verb's wording itself ends in a word of direction ("up to", "back into").
func (r *reader) endsTo(u *unit) bool {
	return r.is(u.to-1, endsTo)
}

// onlyArticles reports whether the tokens from i to j say nothing of their own.
func (r *reader) onlyArticles(i, j int) bool {
	for ; i < j; i++ {
		if r.is(i, article) || r.is(i, owner) || r.is(i, beforePlace) {
			continue
		}
		return false
	}
	return true
}

func (r *reader) isPlace(k int) bool {
	u := &r.units[k]
	return u.kind == kindPlace || u.kind == kindAid && (u.e.name == "wheelchair" || u.e.name == "wheelchair-power")
}

// lastAid is the walking aid named last before unit i, "" for none.
func (r *reader) lastAid(i int) string {
	for k := i - 1; k >= 0; k-- {
		if u := &r.units[k]; u.kind == kindAid && isWalkingAid(u.e.name) {
			return u.e.name
		}
	}
	return ""
}

// isStored reports whether the aid at unit i is told to be kept, brought, cleaned or at fault.
func (r *reader) isStored(s *sentence, i int) bool {
	u := &r.units[i]
	for k := i + 1; k < s.hi && k <= i+3; k++ {
		n := &r.units[k]
		if n.from-u.to > 4 || r.parts(k) > 0 {
			break
		}
		if n.kind == kindStore || n.kind == kindFaultWord {
			return true
		}
		if n.kind == kindIgnore && strings.Contains(r.text[r.toks[n.from].Start:r.toks[n.to-1].End], "charge") {
			return true
		}
	}
	if i > s.lo {
		p := &r.units[i-1]
		if p.kind == kindStore && u.from-p.to <= 2 {
			return true
		}
	}
	return false
}

// mergeTransfers joins anchors that tell one transfer: "Tfr bed → w/c SPT", "Transfers: pivot x1", "moved her with a pivot".
func (r *reader) mergeTransfers(s *sentence, list []anchor) []anchor {
	out := list[:0] // never longer than what is read
	for _, b := range list {
		if len(out) > 0 {
			a := &out[len(out)-1]
			if r.onlyHeads(a, b) {
				b.extra = append(b.extra, a.at)
				*a = b
				continue
			}
			if r.oneMove(s, a, b) {
				if a.method == "" || a.method == "lift" && b.method != "" {
					a.method = b.method
				}
				a.hand = a.hand || b.hand
				if a.concept == "move.up" || a.concept == "move.walk" && b.concept == "move.transfer" {
					a.concept = b.concept
				}
				a.extra = append(append(a.extra, b.at), b.extra...)
				continue
			}
		}
		out = append(out, b)
	}
	return out
}

// onlyHeads reports whether the move a is the heading of the move b, of the same sort, that its line denies:
// "Walking: not walking at present".
func (r *reader) onlyHeads(a *anchor, b anchor) bool {
	return a.concept == b.concept && len(a.extra) == 0 && !a.implicit && !b.implicit && r.nextIsColon(a.at) &&
		b.at == a.at+3 && r.units[a.at+2].kind == kindNegPre
}

// onlyPlaces reports whether nothing but places, helpers and times stand between units lo and hi.
func (r *reader) onlyPlaces(lo, hi int) bool {
	for k := lo; k < hi; k++ {
		switch n := &r.units[k]; n.kind {
		case kindStaff, kindLevel, kindPlace, kindFrom, kindTo, kindClock, kindNone, kindAnd:
		default:
			return false
		}
	}
	return true
}

// ownPlaces reports whether the segment of unit i names a place left or reached.
func (r *reader) ownPlaces(s *sentence, i int) bool {
	lo, hi := r.segment(s, i)
	for k := lo; k < hi; k++ {
		if r.isPlace(k) {
			if f, t := r.placeUse(k, false); f || t {
				return true
			}
		}
	}
	return false
}

// between finds where the units of one move end and those of the next begin.
func (r *reader) between(a, b int) int {
	best, strength := -1, 0
	for k := a + 1; k < b; k++ {
		if p := r.parts(k); p > 0 && p >= strength {
			best, strength = k, p
		}
	}
	if strength == 2 {
		return best
	}
	// a subject or a time of day opens the next clause in run-on text
	opener := -1
	for k := b - 1; k > a; k-- {
		if u := &r.units[k]; u.kind == kindSubject && !r.possessive(k) && !r.objectOf(k) || u.kind == kindClock && strings.HasPrefix(r.word(u.from), "at") {
			opener = k
			break
		}
	}
	if best >= 0 && (opener < 0 || opener > best) {
		return best
	}
	if opener > best {
		return opener
	}
	if best >= 0 {
		return best
	}
	// care told between two moves ends the first
	for k := a + 1; k < b; k++ {
		if r.blocks(k) {
			return k
		}
	}
	return b
}

// objectOf reports whether the pronoun at unit k is an object ("walked her"), which opens nothing.
func (r *reader) objectOf(k int) bool {
	return r.is(r.units[k].from, object) || r.is(r.units[k].from, otherObject)
}

// swapped reports whether unit k is what something else was done instead of.
func (r *reader) swapped(k int) bool {
	p := r.before(k)
	if p == nil || p.kind != kindNegPre || r.units[k].from-p.to > 2 {
		return false
	}
	switch r.word(p.from) {
	case "instead", "rather":
		return true
	case "not": // "with the lift, not a pivot"
		u := &r.units[k]
		return u.kind == kindVerb && u.e.fields.method != "" && k >= 2 && (r.units[k-2].kind == kindAid || r.units[k-2].kind == kindVerb && r.units[k-2].e.name == "lift") && p.from-r.units[k-2].to <= 1
	}
	return false
}
