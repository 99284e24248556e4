package lexicon

import (
	"strings"

	"example.com/stance/lexicon/internal/english"
	"example.com/stance/lexicon/internal/people"
	"example.com/stance/lexicon/internal/token"
)

// doer is who or what a phrase names, as the subject or object of a verb.
type doer int8

const (
	doerUnsaid   doer = iota // nobody who is named, which in a note is the resident
	doerResident             // the resident, by any name
	doerOther                // somebody else
	doerThing                // a thing, an animal, a figure
)

// whoDoes finds for each unit that tells of somebody's moving or falling who or what it is told of. What things do is
// taken out; what other people do is marked.
func (r *reader) whoDoes() {
	for i := range r.units {
		u := &r.units[i]
		switch {
		case u.kind == kindVerb:
			r.whoMoves(i)
		case u.kind == kindAid:
			if r.ownedBy(u) == doerOther {
				u.doer = doerOther
			}
		case r.thingLies(u), u.kind == kindOffFloor && r.liftsThing(u):
			drop(u)
		case u.kind == kindFaultWord && r.word(u.from) == "fell":
			// "fell off the" is a fault of an aid, and a fall where none is named
			fell := *u
			fell.kind, fell.e = kindFall, r.lex.find("fall.fell")
			u.doer = r.subjectOf(&fell)
		case u.kind == kindFall && u.e.name == "found" && r.otherIsThere(u):
			u.doer = doerOther
		case u.kind == kindFall && u.e.name == "found" && r.theyDo(u):
			drop(u)
		case !r.tellsFalling(u):
		case r.fellForIt(u), r.wentDownIn(u):
			drop(u)
		case r.wentOverTo(u):
			u.kind, u.e, u.form = kindVerb, r.lex.find("verb.move"), Past
			u.to = u.from + 1
		default:
			if u.doer = r.subjectOf(u); u.doer == doerThing {
				drop(u)
			}
		}
	}
}

// ownedBy is who the words before the aid say goes about with it: "the vicar is on crutches", "her mate from over the
// road uses a stick". Who used it may have helped.
func (r *reader) ownedBy(u *unit) doer {
	k := u.from - 1
	for k > 0 && (r.is(k, article) || r.is(k, owner) || r.english(k).adjective && !r.is(k, goesWith)) {
		k--
	}
	if k < 1 || !r.is(k, goesWith) || r.is(k, usedWith) && r.word(k) != "uses" || r.is(k, preposition) && !r.is(k-1, beWord) {
		return doerUnsaid
	}
	has := unit{from: k, to: k + 1, kind: kindVerb, e: r.lex.find("verb.use")}
	return r.subjectOf(&has)
}

// tellsFalling reports whether the unit tells by a verb of somebody's falling or fainting.
func (r *reader) tellsFalling(u *unit) bool {
	if u.kind == kindSign {
		return u.e.name == "faint" && r.is(u.from, faints)
	}
	if u.kind != kindFall {
		return false
	}
	switch u.e.name {
	case "fell":
		return u.to-u.from > 1 || r.bareFall(u) || !r.is(u.from, fallNoun) || strings.HasSuffix(r.word(u.from), "ing")
	case "eased":
		return r.word(u.from) == "lowered"
	case "near", "collapse":
		return !r.is(u.to-1, fallNoun)
	}
	return false
}

// thingLies reports whether a thing is told to be on the floor, or feet to have hit it: "was water on the floor by the
// wardrobe", "before her feet hit the floor".
func (r *reader) thingLies(u *unit) bool {
	if u.kind != kindFall || r.word(u.from) != "on" && r.word(u.from) != "hit" {
		return false
	}
	if r.word(u.from) == "hit" {
		return r.word(u.from-1) == "feet"
	}
	k := u.from - 1
	for r.is(k, lieWord) || r.is(k, justThere) {
		k--
	}
	p, ok := r.phraseEnding(k)
	return ok && !r.someone(k) && u.e.name == "found" && p.names == doerThing && hardThing(p.sense)
}

// otherIsThere reports whether the words before those of being on the floor name somebody else: "somebody was on the floor".
func (r *reader) otherIsThere(u *unit) bool {
	p, ok := r.phraseEnding(u.from - 1)
	return ok && p.names == doerOther && !r.is(p.from-1, findWord)
}

// theyDo reports whether it is what several do on the floor: "they were piling up on the floor".
func (r *reader) theyDo(u *unit) bool {
	k := u.from - 1
	if r.is(k, lieWord) || r.english(k).form != english.Gerund {
		return false
	}
	return r.is(k-1, beWord) && r.word(k-2) == "they"
}

// liftsThing reports whether it is a thing, or a foot, that is told to come off the floor: "pick his phone up off the
// floor", "foot kept up off the floor".
func (r *reader) liftsThing(u *unit) bool {
	k := u.from - 1
	for r.english(k).does != 0 && r.english(k).form == english.Past && k > u.from-3 {
		k--
	}
	p, ok := r.phraseEnding(k)
	return ok && !r.is(u.from, helpsVerb) && (p.names == doerThing && r.opensNoun(p.from) && !r.partOfMove(p.head) || p.sense == english.BodyPart || r.endOfWording(p.head) == kindLimb)
}

// wentOverTo reports whether "went over" leads to a place, or to somebody who was looked over.
func (r *reader) wentOverTo(u *unit) bool {
	if u.kind != kindFall || r.word(u.from) != "went" || r.word(u.to-1) != "over" {
		return false
	}
	w := r.word(u.to)
	return w == "to" || w == "from" || w == "into" || r.object(u.to)
}

// wentDownIn reports whether "went down" goes on with what took somebody down, or with what shrinks: "in the lift", "in
// price". In a room somebody falls.
func (r *reader) wentDownIn(u *unit) bool {
	if u.kind != kindFall || r.word(u.from) != "went" || r.word(u.to-1) != "down" || r.word(u.to) != "in" {
		return false
	}
	head := r.nounBehind(u.to)
	if r.is(head, conveys) || r.is(head+1, purpose) || r.word(head+1) == "to" {
		return true
	}
	switch w := r.english(head); w.noun {
	case english.Artefact, english.Place, english.Object, english.Group:
		return false
	default:
		return w.isNoun || !r.opensNoun(u.to+1)
	}
}

// fellForIt reports whether "fell" with its preposition tells no fall: somebody fell for a joke, on his food, into step,
// or from first place to fourth.
func (r *reader) fellForIt(u *unit) bool {
	slipped := strings.HasPrefix(r.word(u.from), "slip")
	if p, ok := r.phraseOpening(u.to); ok && slipped && u.to-u.from == 1 && p.sense != english.Time {
		return true // "slipped the cat a bit of ham"
	}
	if u.kind != kindFall || u.e.name != "fell" || !slipped && !strings.HasPrefix(r.word(u.from), "f") {
		return false
	}
	at := u.to
	if r.is(u.to-1, preposition) && u.to-u.from > 1 {
		at--
	}
	head := r.nounBehind(at)
	switch {
	case head >= len(r.toks):
		return false
	case r.endsWithItHad(head):
		return true
	case slipped:
		return r.word(at) == "into" && r.is(at+1, owner) && !r.partOfMove(head) // "slipped into her nightie"
	}
	return r.fellNowhere(at, head)
}

// nounBehind is the token of the noun that the preposition at token at leads to.
func (r *reader) nounBehind(at int) int {
	head := at + 1
	for head+1 < len(r.toks) && head < at+longestPhrase && r.toks[head+1].Kind == token.Word && !r.is(head+1, goesOn) && len(r.word(head+1)) > 2 && (r.english(head+1).isNoun || !r.english(head).isNoun && head < at+4) {
		head++
	}
	return head
}

// fellElsewhere reports whether somebody fell off or into what no resident is on or near: "fell off a motorcycle".
func (r *reader) fellElsewhere(u *unit) bool {
	at := u.to - 1
	if u.e.name != "fell" || !r.is(at, preposition) && !r.is(at, particle) {
		if at++; !r.is(at, preposition) {
			return false
		}
	}
	return r.anyBetween(at+1, min(r.nounBehind(at)+1, at+5), notAboutHere)
}

// endsWithItHad reports whether the clause of token t ends with a thing's having fallen: "fell down behind the drawers
// it had".
func (r *reader) endsWithItHad(t int) bool {
	for k := t; k < len(r.toks) && k < t+farthestSubject && !r.pauses(k); k++ {
		if r.word(k) == "it" && (r.is(k+1, perfect) || r.word(k+1) == "did") && (k+2 >= len(r.toks) || r.pauses(k+2)) {
			return true
		}
	}
	return false
}

// fellNowhere reports whether the preposition at token at leads to the noun at token head as to nothing that anybody
// falls onto, into or from.
func (r *reader) fellNowhere(at, head int) bool {
	sense := r.english(head).noun
	switch r.word(at) {
	case "for":
		return r.is(at+1, object) || r.word(at+1) == "it" || sense != english.NoSense && sense != english.Time && !strings.HasPrefix(r.word(head), "time")
	case "on", "upon":
		return sense == english.Food && head > at+1
	case "into":
		switch sense {
		case english.NoSense, english.BodyPart, english.Place, english.Person:
			return false
		}
		return !hardThing(sense) && !r.partOfMove(head)
	case "to":
		return strings.HasSuffix(r.word(at+1), "ing") && !isWay(r.english(at+1).noun) // "fell to talking"
	case "from":
		return r.is(head, ordinal)
	}
	return false
}

// whoMoves settles whom the verb at unit i moves.
func (r *reader) whoMoves(i int) {
	u := &r.units[i]
	if p, ok := r.phraseEnding(u.from - 1); u.e.fields.weak && ok && r.opensClause(p.from-1) && r.walkingAidAt(p.head) {
		drop(u) // "stick returned to bed 14"
		return
	}
	if !tellsMoving(u) || r.nextIsColon(i) {
		return
	}
	if r.liftedInSpirit(u) || r.walksBeside(u) || r.walksThrough(u) {
		drop(u)
		return
	}
	switch r.objectOfVerb(u) {
	case doerThing:
		drop(u)
	case doerOther:
		u.doer = doerOther
	case doerUnsaid:
		r.whoMovesSelf(u)
	}
}

// tellsMoving reports whether the verb tells by itself of somebody's moving.
func tellsMoving(u *unit) bool {
	return !u.e.fields.weak && u.form != NounForm && u.e.name != "use" && u.e.name != "refuse" && u.e.fields.concept != ""
}

// whoMovesSelf settles by its subject whom a verb without an object moves.
func (r *reader) whoMovesSelf(u *unit) {
	if u.e.fields.concept == "move.reposition" && r.is(u.from-1, firstPerson) && r.word(u.to) == "to" {
		drop(u) // "I turned to fetch her cardigan"
		return
	}
	switch r.subjectOf(u) {
	case doerThing:
		if u.form != Base || r.inVerbGroup(u.from-1) {
			drop(u)
		}
	case doerOther:
		switch u.e.fields.concept {
		case "move.walk", "move.stand", "move.stairs":
			u.doer = doerOther
		default:
			if r.is(u.from-1, beingTold) || r.is(u.from-1, beWord) || r.is(u.from, beingTold) || r.word(u.to-1) == "over" {
				u.doer = doerOther // "his team were lifted by the crowd", "the baby rolled over"
			}
		}
	}
}

// walksBeside reports whether the writer tells only of walking beside the resident, whose walk is told elsewhere: "so I
// walked beside him". With a place or a distance it is the walk that is told.
func (r *reader) walksBeside(u *unit) bool {
	if u.e.fields.concept != "move.walk" || !r.is(u.from-1, firstPerson) && r.word(u.from-1) != "me" || !r.is(u.to, alongside) {
		return false
	}
	for k := u.to + 1; k < len(r.toks) && k < u.to+4; k++ {
		if r.pauses(k) {
			return true
		}
		if !r.is(k, object) && r.word(k) != "to" && r.word(k) != "of" || r.word(k) == "to" && !r.object(k+1) {
			return false
		}
	}
	return true
}

// walksThrough reports whether somebody was walked through what nobody walks in: "walked her through the menu".
func (r *reader) walksThrough(u *unit) bool {
	at := u.to
	if r.object(at) {
		at++
	}
	if u.e.fields.concept != "move.walk" || r.word(at) != "through" && (at > u.to || r.word(at-1) != "through") {
		return false
	}
	if r.word(at) == "through" {
		at++
	}
	p, ok := r.phraseOpening(at)
	return ok && p.names == doerThing && !isWay(p.sense) && !hardThing(p.sense) && !r.partOfMove(p.head) && p.sense != english.Group
}

// liftedInSpirit reports whether somebody was lifted by what lifts nobody: "lifted by the music".
func (r *reader) liftedInSpirit(u *unit) bool {
	if r.word(u.to) != "by" || u.e.name != "lift" || u.form != Past {
		return false
	}
	p, ok := r.phraseOpening(u.to + 1)
	return ok && p.names == doerThing && !r.partOfMove(p.head)
}

// objectOfVerb is whom or what the verb has as its object: a noun with an article or an owner right behind it. A
// walked way is none.
func (r *reader) objectOfVerb(u *unit) doer {
	from := u.to
	switch {
	case from < len(r.toks) && strings.EqualFold(r.text[r.toks[from].Start:r.toks[from].End], "em"):
		return doerThing // "lift em up mate"
	case r.movesResident(u) && !(r.word(from) == "her" && r.ownsNoun(from+1)), r.isName(from):
		return doerResident
	case r.word(from-1) == "her" && u.to-u.from > 1 && r.ownsNoun(from):
		from-- // "stood her" + "handbag up"
	case r.takesObject(u) && (r.notResident(from) || r.bareGoods(from)):
		return doerThing // "stood me a coffee"
	case r.particleFirst(u):
		from++
	case r.endsPrepositional(u):
		return doerUnsaid
	}
	if p, ok := r.phraseOpening(from); ok {
		return r.objectNamed(u, &p)
	}
	return doerUnsaid
}

// bareGoods reports whether token i is a thing that nobody is moved with, with no article before it: "lifted potatoes".
func (r *reader) bareGoods(i int) bool {
	w := r.english(i)
	switch w.noun {
	case english.Food, english.Plant, english.Artefact:
		return !w.verb && !w.adjective && r.in[i].Word == 0 && !r.isName(i)
	}
	return false
}

// notResident reports whether token i is a pronoun for somebody or something other than the resident, as an object.
func (r *reader) notResident(i int) bool {
	switch r.word(i) {
	case "it", "us", "you":
		return true
	case "me":
		return !r.joinsOn(i+1) && r.word(i+1) != "&" // "hoisted me and Deb" names helpers
	}
	return false
}

// particleFirst reports whether a particle stands between the verb and its object: "lift down his suitcase", "rolled
// out the pastry".
func (r *reader) particleFirst(u *unit) bool {
	return u.e.name == "lift" && r.is(u.to, particle) && r.is(u.to+1, owner) || u.e.fields.concept == "move.reposition" && r.word(u.to) == "out"
}

// endsPrepositional reports whether the verb ends with a preposition, to which what follows belongs.
func (r *reader) endsPrepositional(u *unit) bool {
	return u.to-u.from > 1 && r.is(u.to-1, preposition) && r.word(u.to-1) != "up"
}

// objectNamed is whom or what the object of the verb names.
func (r *reader) objectNamed(u *unit, p *phrase) doer {
	concept := u.e.fields.concept
	switch {
	case r.kin(p.head):
		return doerOther // "walked her husband to the door"
	case r.partOfMove(p.head), p.sense == english.Group, concept == "move.stairs", concept == "move.up":
		return doerUnsaid
	case p.names == doerThing && concept == "move.walk" && p.sense != english.Animal:
		return doerUnsaid
	case p.names == doerUnsaid && p.sense == english.BodyPart:
		return doerThing // "lifted his arm"
	}
	return p.names
}

// takesObject reports whether the verb tells what somebody does to somebody or something.
func (r *reader) takesObject(u *unit) bool {
	switch u.e.fields.concept {
	case "move.lift", "move.stand", "move.reposition", "move.wheel", "move.transfer":
		return u.to-u.from == 1
	}
	return false
}

// A subject is the phrase that a unit is told of.
type subject struct {
	phrase
	clause bool // it begins a clause
	away   bool // it is said to be somewhere else than the resident
	told   bool // it is told which by what the unit tells: "the girl who fell"
	noun   bool // the unit is the noun "fall", which has a subject only behind what somebody saw or heard
}

// farthestSubject is how many words may stand between a verb and its subject.
const farthestSubject = 40

// subjectOf is who or what the words before the unit say that it is told of. It goes back over the words that only
// belong to the verb and over phrases with a preposition to the noun that begins the clause.
func (r *reader) subjectOf(u *unit) doer {
	s := subject{noun: u.kind == kindFall && r.bareFall(u)}
	k := u.from - 1
	for k >= 0 && (r.inVerbGroup(k) || u.kind == kindFall && r.is(u.from, preposition) && (r.is(k, endsUp) || r.is(k, wayDown))) {
		k--
	}
	if r.word(k+1) == "all" && r.opensClause(k) {
		return doerOther // "all stood in the car park"
	}
	after := strings.HasSuffix(r.word(u.from), "ing") // "in plaster after falling"
	for first := k - farthestSubject; k >= 0 && k > first; {
		back := r.backOver(k, &s)
		switch {
		case back < k:
			k = back
			continue
		case r.joinsOn(k) && !s.noun:
			return r.subjectBefore(k)
		case r.opensClause(k):
			return doerUnsaid
		case r.is(k, preposition) && (k < u.from-1 || after):
			k--
			continue
		}
		who, next := r.subjectEnding(u, k, &s)
		if next < 0 {
			return who
		}
		k = next
	}
	return doerUnsaid
}

// backOver goes back over the words at token k that say where the subject is or begin its relative clause, and gives
// the token before them, k itself for none.
func (r *reader) backOver(k int, s *subject) int {
	switch w := r.word(k); {
	case w == "door" && r.word(k-1) == "next":
		s.away = true
		return k - 2
	case r.is(k, awayFrom) && !r.is(k-1, article):
		s.away = true
		return k - 1
	case (w == "who" || w == "which" || w == "that") && k > 0:
		s.noun, s.told = false, w == "who"
		return k - 1
	}
	return k
}

// joinsOn reports whether token k joins a verb to one before it.
func (r *reader) joinsOn(k int) bool {
	w := r.word(k)
	return w == "and" || w == "but" || w == "then"
}

// subjectEnding is who or what the phrase that ends at token k names where it is the subject of the unit; where it
// belongs to a preposition, next is the token to go on from, else -1.
func (r *reader) subjectEnding(u *unit, k int, s *subject) (who doer, next int) {
	if counted := k >= 2 && r.word(k-1) == "of" && (r.toks[k-2].IsNum || r.is(k-2, noneWord)); counted && r.is(k, things) {
		return doerOther, -1 // "one of them"
	}
	p, ok := r.phraseEnding(k)
	if !ok {
		return doerUnsaid, -1
	}
	s.away = s.away || r.anyBetween(p.from, k+1, awayFrom)
	if p.from == 0 || !r.is(p.from-1, preposition) || r.is(k, thirdPerson) {
		s.phrase = p
		return r.subjectNamed(u, s), -1
	}
	if !s.noun && (p.names == doerOther || r.kin(k)) && p.from >= 2 && r.word(p.from-1) == "of" && r.toks[p.from-2].IsNum {
		return doerOther, -1 // "one of the visitors"
	}
	s.away = s.away || r.is(p.from-1, locates) && r.is(p.from-2, anyone) // "the woman in the kitchen"
	if p.from < 2 {
		return doerUnsaid, -1
	}
	return doerUnsaid, p.from - 2
}

// subjectNamed is whom or what the subject of the unit names.
func (r *reader) subjectNamed(u *unit, s *subject) doer {
	s.clause = r.beginsClause(s)
	switch {
	case s.names == doerResident:
		return r.residentNamed(s)
	case r.kin(s.head):
		if r.kinDoes(s) {
			return doerOther
		}
		return doerUnsaid
	case s.clause && !s.noun && u.kind == kindFall && r.fallsAlone(s.head):
		return doerThing
	case r.partOfMove(s.head):
		return doerUnsaid
	case s.names == doerOther && r.otherDoes(s):
		return doerOther
	case s.names == doerThing && r.thingMayDo(u, s) && r.thingDoes(u, s):
		return doerThing
	}
	return doerUnsaid
}

// beginsClause reports whether the subject begins a clause: "the day the bridge fell" needs no word before it.
func (r *reader) beginsClause(s *subject) bool {
	before := r.english(s.from - 1)
	return r.opensClause(s.from-1) || r.is(s.from-1, speaks) || r.is(s.from, article) && before.isNoun && !before.verb
}

// kinDoes reports whether the relative that the subject names is told to do it: not the resident, whom their children
// call by the same word.
func (r *reader) kinDoes(s *subject) bool {
	return s.clause && !s.noun && (!r.is(s.head, parent) || r.word(s.from) == "my") && !r.is(s.from-1, toPerson)
}

// otherDoes reports whether the subject stands where it does what is told.
func (r *reader) otherDoes(s *subject) bool {
	return r.seen(s) || !s.noun && (s.clause || s.from >= 2 && r.is(s.from-2, preposition))
}

// thingMayDo reports whether the thing that the subject names stands where it does what is told.
func (r *reader) thingMayDo(u *unit, s *subject) bool {
	if s.noun {
		return r.seen(s) && hardThing(s.sense)
	}
	if u.kind == kindFall && (r.is(s.from, article) || r.is(s.from, owner)) {
		return s.sense != english.Time && (s.clause || hardThing(s.sense)) // "please note her cardigan fell in the bath"
	}
	return s.clause && s.sense != english.Time
}

// seen reports whether the subject is what somebody saw or heard.
func (r *reader) seen(s *subject) bool {
	return s.from > 0 && (r.is(s.from-1, perceives) || r.is(s.from-1, beWord) && r.is(s.from-2, thereWord))
}

// residentNamed is the resident where the subject calls them by name, somebody else where it says that they are
// somewhere else; a pronoun leaves it open.
func (r *reader) residentNamed(s *subject) doer {
	switch {
	case r.is(s.head, firstPerson):
		return doerUnsaid
	case r.is(s.head, thirdPerson):
		return r.antecedent(s.head)
	case r.is(s.head, residentNoun):
		if w := r.word(s.from); s.clause && w != "a" && w != "another" && w != "other" {
			return doerResident
		}
	case s.away, s.told && r.is(s.head, anyone):
		return doerOther
	case s.clause && r.isName(s.head):
		if role := r.roles[s.head].Role; r.introduced(s) || role == people.Family || role == people.Volunteer || role == people.Person {
			return doerOther
		}
		return doerResident
	}
	return doerUnsaid
}

// introduced reports whether the words before the name that the subject ends with say that it is somebody else's:
// "Mum's friend Betty".
func (r *reader) introduced(s *subject) bool {
	for k := s.from; k < s.head; k++ {
		if r.english(k).noun == english.Person && !r.toks[k].Capital && !r.is(k, anyone) && !r.is(k, title) && !r.is(k, residentNoun) {
			return true
		}
	}
	return false
}

// fallsAlone reports whether token i is an aid, or a part of the body that falls or slips without anybody falling: "the
// frame slipped and he fell", "her head fell forward".
func (r *reader) fallsAlone(i int) bool {
	return r.is(i, droops) || r.walkingAidAt(i)
}

// walkingAidAt reports whether a walking aid is named up to token i.
func (r *reader) walkingAidAt(i int) bool {
	for k := i; k >= 0 && k >= i-2; k-- {
		if h, ok := r.hitAt(k); ok && h.To == i+1 {
			return r.kindOf(h) == kindAid && isWalkingAid(r.lex.said[h.Payload].e.name)
		}
	}
	return false
}

// thingDoes reports whether the thing that the subject names is what the unit is told of, not a heading or an object in
// telegraphic words: it has an article or an owner, or is such a thing as does that.
func (r *reader) thingDoes(u *unit, s *subject) bool {
	switch {
	case r.is(s.from, article), r.is(s.from, owner), r.word(s.from+1) == "'s":
		return true
	case strings.HasSuffix(r.word(s.head), "s") && (u.kind != kindVerb || u.e.name == "lift"):
		return true // "Restrictions lifted", "Gutters fell"
	case u.kind == kindVerb && (s.sense == english.Artefact || s.sense == english.Substance || s.sense == english.Communication):
		return u.e.fields.concept == "move.reposition" && s.head == u.from-1 && !r.english(s.head).verb && !r.helpersAt(u.to) // "mattress turned"
	}
	if s.sense == english.Communication || s.sense == english.State {
		return u.kind == kindFall && u.form != NounForm && s.head == u.from-1
	}
	return u.e.name == "eased" || hardThing(s.sense) // "Bread didn't rise", "Clock on the wall fell"
}

// subjectBefore is the subject that the clause before the "and" at token k shares with what follows it, where it is a
// thing that was or had something: "Someone's crutches were propped by the piano and fell".
func (r *reader) subjectBefore(k int) doer {
	from := k
	for !r.opensClause(from - 1) {
		from--
	}
	head := -1
	for t := from; t < k && t <= from+5 && r.toks[t].Kind == token.Word && !r.is(t, thirdPerson) && !r.is(t, firstPerson); t++ {
		if head >= 0 && (r.is(t, beingOrUsing) || r.is(t, beingTold)) {
			if role := r.roles[head].Role; r.isName(head) && (role == people.Person || role == people.Family) {
				return doerOther // "Rose has two new hips and walks with a trolley", who is a friend
			}
			if r.nameOf(from, head) == doerThing && (!r.partOfMove(head) || r.word(from+1) == "'s") {
				return doerThing
			}
			break
		}
		if r.english(t).isNoun || r.isName(t) {
			head = t
		}
	}
	return doerUnsaid
}
