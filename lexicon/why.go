package lexicon

import (
	"strings"

	"example.com/stance/lexicon/internal/english"
	"example.com/stance/lexicon/internal/token"
)

// reasons reads why a move was done otherwise or left out.
func (r *reader) reasons(s *sentence) {
	for i := s.lo; i < s.hi; i++ {
		u := &r.units[i]
		if u.kind != kindReason {
			continue
		}
		if !r.anyMove() || r.word(u.from-1) == "spare" || r.usedHere(u) {
			r.inner(u, func(e *entry) {
				if e.kind == kindAid && u.kind == kindReason {
					u.kind, u.e = kindAid, e
				}
			})
			if u.kind == kindReason {
				drop(u)
			}
			continue
		}
		st := r.begin("reason." + u.e.name)
		st.Detail.Head = r.span(u.from, u.to)
		from := u.from
		if i > s.lo && r.partOf(i-1, u) {
			r.units[i-1].used, from = true, r.units[i-1].from // "standing hoist sling missing"
		}
		r.scope(s, i, &st)
		st.Polarity, st.Who = Affirmed, Resident
		if st.Time == Planned {
			st.Time = Now // what is due is why there was no time
		}
		r.add(st, from, u.to)
		r.inner(u, func(e *entry) { r.miss(i, e) })
	}
}

// miss keeps the walking aid that the reason at unit i names for the walk that was made without it.
func (r *reader) miss(i int, e *entry) {
	if e.kind == kindAid && isWalkingAid(e.name) {
		r.absent = append(r.absent, absent{unit: i, aid: e.name})
	}
}

// usedHere reports whether "in use" tells of an aid that this resident used, not of equipment that others had:
// "transferred x1, gait belt in use".
func (r *reader) usedHere(u *unit) bool {
	if r.word(u.to-1) != "use" || r.word(u.to-2) != "in" || r.is(u.to, inUseBy) {
		return false
	}
	used := false
	r.inner(u, func(e *entry) {
		used = used || e.kind == kindAid && (e.name == "belt" || isWalkingAid(e.name))
	})
	return used
}

// partOf reports whether the aid at unit k goes with what the words of u say next: "sling for the hoist".
func (r *reader) partOf(k int, u *unit) bool {
	a := &r.units[k]
	return a.kind == kindAid && (a.to == u.from || r.word(a.to) == "for" && r.onlyArticles(a.to+1, u.from))
}

// anyMoveBut reports whether the note tells a move, leaving unit k out of account.
func (r *reader) anyMoveBut(k int) bool {
	was := r.units[k].kind
	r.units[k].kind = kindNone
	defer func() { r.units[k].kind = was }()
	return r.anyMove()
}

// anyMove reports whether the note tells any move at all.
func (r *reader) anyMove() bool {
	for k := range r.units {
		if r.tellsAMove(k) {
			return true
		}
	}
	return false
}

// tellsAMove reports whether unit k tells a move.
func (r *reader) tellsAMove(k int) bool {
	switch u := &r.units[k]; u.kind {
	case kindVerb:
		return !u.e.fields.weak || u.e.name == "move" && u.form == Past && r.leadsToPlace(k)
	case kindOffFloor:
		return true
	case kindAid:
		return isLift(u.e.name)
	case kindTo:
		return k > 0 && k+1 < len(r.units) && r.isPlace(k+1) && (r.isPlace(k-1) || r.units[k-1].kind == kindStaff)
	}
	return false
}

// leadsToPlace reports whether the verb at unit i leads to a seat or bed: "moved her to the chair".
func (r *reader) leadsToPlace(i int) bool {
	for k := i + 1; k+1 < len(r.units) && k <= i+3; k++ {
		if n := r.units[k].kind; n == kindTo || n == kindFrom {
			return r.isPlace(k+1) && r.units[k+1].from-r.units[k].to <= 2
		}
		if r.units[k].sign != 0 {
			return false
		}
	}
	return false
}

// faults reads an aid or a part of one told to be broken, flat or missing.
func (r *reader) faults(s *sentence) {
	for i := s.lo; i < s.hi; i++ {
		u := &r.units[i]
		switch {
		case u.kind != kindFaultWord || u.used:
		case r.jammedInto(u):
			drop(u) // "jammed into his armpits" tells the fit
		case r.sameFault(s, i):
			u.used = true
		default:
			r.fault(s, i)
		}
	}
}

// jammedInto reports whether the fault word tells how something presses on somebody.
func (r *reader) jammedInto(u *unit) bool {
	if u.to-u.from != 1 {
		return false
	}
	switch r.word(u.to) {
	case "hard", "up", "right", "against":
		return true
	case "it", "them":
		return r.word(u.from) == "stuck" // "stuck it on the charger"
	}
	return r.is(u.to, endsTo) && r.bodyPartAt(u.to+1)
}

// fault adds what the fault word at unit i tells of an aid, or takes it out where it tells of something else.
func (r *reader) fault(s *sentence, i int) {
	u := &r.units[i]
	r.machineBefore(s, i)
	thing := r.thingAtFault(s, i)
	if r.ofSomebody(u.from) || r.doneTo(s, i) || !r.faultOfAid(s, thing, i) { // "he was bent over it"
		if drop(u); r.word(u.from) == "fell" && u.doer != doerThing {
			u.kind, u.e = kindFall, r.lex.find("fall.fell")
			s.has |= setOf(kindFall)
		}
		return
	}
	for k := i + 1; k < s.hi && k <= i+3; k++ {
		if r.units[k].kind == kindAid && r.units[k].from-u.to <= 4 && !r.commaBetween(i, k) {
			r.units[k].used = true // "rubber tip gone off the quad cane"
		}
	}
	from, to := u.from, u.to
	if thing >= 0 {
		from, to = min(from, r.units[thing].from), max(to, r.units[thing].to)
		r.useFault(s, min(thing, i), max(thing, i))
	}
	st := r.begin("aid.fault")
	st.Detail.Head = r.span(u.from, u.to)
	r.scope(s, i, &st)
	if st.Polarity == Negated && strings.HasPrefix(r.lower(u), "no") {
		st.Polarity = Affirmed
	}
	r.add(st, from, to)
}

// doneTo reports whether the fault word at unit i is a verb with an object, which no aid is: "gave out the responses",
// "jammed the door frame".
func (r *reader) doneTo(s *sentence, i int) bool {
	u := &r.units[i]
	p, ok := r.phraseOpening(u.to)
	if !ok || r.word(u.to-1) == "off" || !r.english(u.from).verb && u.to-u.from == 1 || p.sense == english.Time || r.word(p.head) == "way" {
		return false
	}
	for k := i + 1; k < s.hi && r.units[k].from <= p.head; k++ {
		if n := &r.units[k]; n.mayFail() || n.kind == kindFitPart {
			return false
		}
	}
	return true
}

// faultOfAid reports whether the fault word at unit i, which is told of unit thing or names its part itself where that is
// negative, tells of an aid.
func (r *reader) faultOfAid(s *sentence, thing, i int) bool {
	if thing >= 0 {
		return r.ofAnAid(s, thing, i)
	}
	return r.namesPart(&r.units[i]) && r.ofAnAid(s, i, i)
}

// namesPart reports whether the fault word names the part itself: "flat battery".
func (r *reader) namesPart(u *unit) bool {
	l := r.lower(u)
	return strings.Contains(l, "batter") || strings.Contains(l, "sling") || strings.Contains(l, "brake")
}

// useFault marks the units first to last, which tell of a fault, as used, aids by which a move was made apart.
func (r *reader) useFault(s *sentence, first, last int) {
	for k := first; k <= last; k++ {
		switch n := &r.units[k]; n.kind {
		case kindAid:
			n.used = !r.meansBefore(s, k)
		case kindFaultWord:
			n.used = true
		case kindSign:
			drop(n) // "the belt's buckle won't catch"
		}
	}
}

// sameFault reports whether the fault word at unit i only goes on with the one before: "wobbly and cracked".
func (r *reader) sameFault(s *sentence, i int) bool {
	for k := i - 1; k >= s.lo && k >= i-2; k-- {
		n := &r.units[k]
		switch {
		case n.kind == kindFaultWord:
			return n.used && r.units[i].from-n.to <= 2
		case n.kind != kindAnd && n.sign != ',': // "dead as a doornail, battery flat again"
			return false
		}
	}
	return false
}

// machineBefore makes "sit to stand" before the fault at unit i the lift of that name ("sit to stand battery dead").
func (r *reader) machineBefore(s *sentence, i int) {
	if i == s.lo || !r.follows(i, kindVerb) {
		return
	}
	if m := &r.units[i-1]; m.e.fields.concept == "move.stand" && m.form == NounForm {
		m.kind, m.e = kindAid, r.lex.find("aid.sit-stand-lift")
	}
}

// bodyPartAt reports whether token t, past articles and owners, is a part of the body.
func (r *reader) bodyPartAt(t int) bool {
	for r.is(t, article) || r.is(t, owner) || r.is(t, beforeCare) {
		t++
	}
	return r.english(t).noun == english.BodyPart
}

// ofSomebody reports whether the words that end before token t speak of a person: "he was stuck".
func (r *reader) ofSomebody(t int) bool {
	for t--; r.is(t, copula) || r.is(t, still); t-- {
	}
	return r.is(t, thirdPerson) && r.word(t) != "they" || r.is(t, firstPerson)
}

// ofAnAid reports whether what is at fault at unit k, by the fault word at unit i, belongs to an aid and not to
// something else that has such parts or goes with it: "the cuff's batteries", "her watch strap", "the hoist card".
func (r *reader) ofAnAid(s *sentence, k, i int) bool {
	u := &r.units[k]
	switch {
	case u.kind == kindAid:
		return !r.is(u.to, aidGoods)
	case u.kind == kindFitPart:
		return true
	case r.is(u.from, footrest) && r.is(r.units[i].to-1, notThere):
		return false // a chair without footrests has a word of its own
	}
	holder := r.holderOf(u)
	near, own := r.aidNear(s, holder)
	switch w := r.english(holder); {
	case own != nil:
		return own.e.name != "hearing"
	case w.noun == english.Artefact && !r.is(holder, partHolder) && !w.adjective:
		return false
	}
	return near || !r.is(u.from, looseParts) || r.lastAidWithin(s, 2)
}

// holderOf is the token of what the part u may belong to: "the cuff's batteries", "the strap of her watch".
func (r *reader) holderOf(u *unit) int {
	switch r.word(u.to) {
	case "of", "on", "in", "from":
		behind := u.to + 1
		for r.opensNoun(behind) {
			behind++
		}
		return behind
	}
	before := u.from - 1
	for before >= 0 && (r.word(before) == "'s" || r.word(before) == "left" || r.word(before) == "right") {
		before--
	}
	return before
}

// aidNear reports whether the sentence names an aid or what has parts like one, and gives the aid at token t, if any.
func (r *reader) aidNear(s *sentence, t int) (near bool, at *unit) {
	for j := s.lo; j < s.hi; j++ {
		n := &r.units[j]
		if !(n.kind == kindAid && n.e.name != "none") && !(n.kind == kindPlace && r.is(n.to-1, partHolder)) {
			continue
		}
		near = near || n.e.name != "hearing"
		if n.to > t && n.from <= t {
			return near, n
		}
	}
	return near, nil
}

// lastAidWithin reports whether one of the n sentences before this one names an aid.
func (r *reader) lastAidWithin(s *sentence, n int) bool {
	for k := s.lo - 1; k >= 0 && n >= 0; k-- {
		switch u := &r.units[k]; {
		case u.sign == '.':
			n--
		case u.kind == kindAid && u.e.name != "none" && u.e.name != "hearing":
			return true
		}
	}
	return false
}

// thingAtFault is the unit of the aid or part of which the fault word at unit i is told, -1 for none.
func (r *reader) thingAtFault(s *sentence, i int) int {
	if thing := r.faultyBefore(s, i); thing >= 0 {
		return thing
	}
	u := &r.units[i]
	for k := i + 1; k < s.hi && k <= i+3; k++ {
		n := &r.units[k]
		if r.parts(k) > 0 || n.from-u.to > 3 || n.kind == kindVerb && n.e.name != "use" {
			break
		}
		if n.mayFail() {
			return k
		}
	}
	return -1
}

// mayFail reports whether the unit names an aid or a part of one.
func (u *unit) mayFail() bool {
	return u.kind == kindFaultPart || u.kind == kindAid && u.e.name != "none"
}

// faultyBefore is the first of the aids and parts named before the fault word at unit i, -1 for none.
func (r *reader) faultyBefore(s *sentence, i int) int {
	thing := -1
	for k := i - 1; k >= s.lo && k >= i-6; k-- {
		n := &r.units[k]
		if r.parts(k) == 2 || n.sign == ',' || n.kind == kindVerb && !n.e.fields.weak || n.kind == kindCare {
			break
		}
		if !n.mayFail() && (n.kind != kindFitPart || strings.HasPrefix(r.lower(n), "cuff")) {
			continue
		}
		if thing < 0 && r.units[i].from-n.to > 5 {
			break
		}
		thing = k
	}
	return thing
}

// reviews reads that somebody reassessed or was asked to.
func (r *reader) reviews(s *sentence) {
	for i := s.lo; i < s.hi; i++ {
		concept := r.reviewConcept(s, i)
		if concept != "" && (concept == "fall.assessed" || !r.reviewsOther(s, i)) {
			r.review(s, i, concept)
		}
	}
}

// reviewConcept is what unit i tells of reassessing, "" for nothing.
func (r *reader) reviewConcept(s *sentence, i int) string {
	switch u := &r.units[i]; u.kind {
	case kindReviewDone:
		switch {
		case r.is(u.from-1, until), r.is(u.from-1, provided):
			return ""
		case r.word(u.from-1) == "be":
			return "review.asked"
		}
		return "review.done"
	case kindReviewAsked:
		return "review.asked"
	case kindReviewWord:
		return r.reviewByWord(s, i)
	}
	return ""
}

// reviewByWord is what a word of examining at unit i tells, "" for nothing about moving.
func (r *reader) reviewByWord(s *sentence, i int) string {
	u := &r.units[i]
	switch {
	case r.fell && r.examines(s, i):
		return "fall.assessed" // "nurse called and assessed"
	case !r.therapyIn(s, i) && !r.reviewAlone(u) || r.yetToCome(u.from) || r.seenByWriter(u):
		return ""
	case (s.plan || r.orderBefore(s, i) >= 0) && r.role != Therapist && r.is(u.from, evaluation) && u.to-u.from == 1:
		return "review.asked" // "R: PT eval"
	}
	return "review.done"
}

// review adds what unit i tells of reassessing.
func (r *reader) review(s *sentence, i int, concept string) {
	u := &r.units[i]
	st := r.begin(concept)
	from, to := u.from, u.to
	st.Detail.Head = r.span(u.from, u.to)
	if concept == "review.done" {
		if c, at := r.clockNear(s, i); c != "" && !r.commaBetween(i, at) {
			st.Clock = c
			from, to = min(from, r.units[at].from), max(to, r.units[at].to)
		}
	}
	r.scope(s, i, &st)
	st.Who = Resident
	switch concept {
	case "review.asked":
		st.Mood = Report
		r.askedWhen(u, &st)
		if u.kind == kindReviewDone {
			st.Time = Planned
		}
	case "review.done":
		st.Mood = Report
		if st.Time == Planned {
			st.Concept = "review.asked"
		}
	}
	r.add(st, from, to)
}

// reviewsOther reports whether what was reviewed at unit i, named before or behind, has nothing to do with moving:
// "pain reassessed", "upgraded her diet", "review of the cushion".
func (r *reader) reviewsOther(s *sentence, i int) bool {
	u := &r.units[i]
	behind := u.to
	for r.is(behind, article) || r.is(behind, owner) || r.is(behind, ofReview) || r.english(behind).adjective && !r.english(behind).isNoun {
		behind++
	}
	if r.foreignTopic(s, behind) {
		return true
	}
	before := u.from - 1
	for r.is(before, copula) || r.is(before, still) {
		before--
	}
	return r.foreignTopic(s, before)
}

// foreignTopic reports whether token t is a thing that has nothing to do with moving.
func (r *reader) foreignTopic(s *sentence, t int) bool {
	if r.word(t) == "" || r.toks[t].Kind != token.Word {
		return false
	}
	for k := s.lo; k < s.hi; k++ {
		if u := &r.units[k]; u.from <= t && t < u.to {
			return u.kind == kindCare || u.kind == kindVitalName
		}
	}
	w := r.english(t)
	return w.isNoun && !w.adjective && w.noun != english.Person && w.noun != english.Time && !r.is(t, ofMobility) && !r.is(t, minutes) && !r.is(t, weekday)
}

// askedWhen tells a review that is still to come from one that was asked for.
func (r *reader) askedWhen(u *unit, st *Statement) {
	l := r.lower(u)
	if strings.Contains(l, " will ") || strings.Contains(l, " shall ") || strings.Contains(l, " to ") && !strings.Contains(l, "refer") && !strings.Contains(l, "ask") && !strings.Contains(l, "request") {
		st.Time = Planned
	}
	if strings.HasPrefix(l, "refer") || strings.Contains(l, "sent") || strings.Contains(l, "requested") || strings.Contains(l, "made") {
		st.Time = Now
	}
}

// examines reports whether a nurse is the subject of the examination at unit i.
func (r *reader) examines(s *sentence, i int) bool {
	if !r.is(r.units[i].from, examined) {
		return false
	}
	for k := i - 1; k >= s.lo && r.parts(k) < 2; k-- {
		if u := &r.units[k]; u.kind == kindPerson {
			return u.e.name == "nurse"
		}
	}
	return false
}

// seenByWriter reports whether "seen" only opens a therapist's own entry ("Pt seen in room for 45 min").
func (r *reader) seenByWriter(u *unit) bool {
	return r.role == Therapist && r.word(u.from) == "seen" && u.to-u.from == 1 && r.word(u.to) != "by"
}

// reviewAlone reports whether the words tell a reassessment of mobility with no therapist named.
func (r *reader) reviewAlone(u *unit) bool {
	if !r.is(u.from, reassesses) {
		return false
	}
	switch w := r.word(u.from); {
	case w == "cleared" && u.to-u.from == 1: // of somebody or for something, not a cleared plate
		next := r.word(u.to)
		return next == "by" || next == "for" || next == "to"
	case w == "reviewed": // "Reviewed in gym", a therapist's own
		return r.role == Therapist && r.opens(u.from) && r.word(u.to) == "in"
	case r.role == CareWorker && strings.HasPrefix(w, "re"):
		return r.word(u.to) != "pain" // "reassessed pain after the tablet"
	}
	return true
}

// yetToCome reports whether the review at token i is only what something lasts until.
func (r *reader) yetToCome(i int) bool {
	for k := i - 1; k >= 0 && k >= i-3; k-- {
		if r.is(k, until) {
			return true
		}
		if r.pauses(k) {
			return false
		}
	}
	return false
}

// therapyIn reports whether a therapist or surgeon stands near unit i.
func (r *reader) therapyIn(s *sentence, i int) bool {
	for k := max(s.lo, i-3); k < s.hi && k <= i+3; k++ {
		u := &r.units[k]
		if u.kind == kindPerson && u.e.name == "therapy" && !r.commaBetween(k, i) {
			u.used = true
			return true
		}
	}
	return false
}
