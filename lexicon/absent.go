package lexicon

import (
	"strings"

	"example.com/stance/lexicon/internal/token"
)

// whereabouts is what the words behind an aid tell of where it was.
type whereabouts struct {
	verb   bool // it was, lay or had been put somewhere
	parked bool // put there by somebody
	gone   bool // not to be had: in use, charging, in the wash, nowhere
	denied bool // "not", "never"
	past   bool // it was
	here   bool // "there", "here", "back": behind "not", it was not where it should be; else it was put back
	place  bool // a place is named
	near   bool // it is one where the resident lives, such as a bed or the wall
	hand   bool // within reach
	to     int  // the token behind what was read
}

// away reports whether the aid was somewhere else.
func (w *whereabouts) away() bool {
	if w.denied || w.hand {
		return w.denied && !w.gone && (w.here || w.hand || w.place)
	}
	return w.gone || w.place && w.verb
}

// whereabouts reads where something was from token t on.
func (r *reader) whereabouts(t int) whereabouts {
	if r.word(t) == "of" && r.object(t+1) {
		t += 2 // "the sling of her was in laundry"
	}
	w := whereabouts{to: t}
	for end := t + 9; t < end && t < len(r.toks) && r.signAt(t) == 0; t++ {
		switch {
		case r.tellsBeing(t, &w):
			w.to = t + 1
		case r.is(t, copula): // "two of us and the belt got her from the bed"
			return w
		case w.verb && r.is(t, still) && r.opensNoun(t+1):
			r.placeFrom(t, &w) // "down the other end"
			return w
		case r.is(t, still), r.opensNoun(t), r.word(t) == "'":
		case r.endsGone(t):
			w.gone, w.to = true, t+1
		case r.is(t, somewhere):
			w.hand = w.hand || r.is(t, toHand)
			r.placeFrom(t, &w)
			return w
		default:
			return w
		}
	}
	return w
}

// tellsBeing reads token t as one that tells that something was, was put or was not somewhere, and reports whether it
// is one.
func (r *reader) tellsBeing(t int, w *whereabouts) bool {
	switch {
	case r.is(t, notToHand):
		w.gone = w.gone || !w.parked || w.past // "left charging" tidies up, "was left charging" does not
	case r.is(t, putSomewhere):
		w.parked, w.verb = true, true
	case r.deniesBeing(t):
		w.denied, w.verb = true, true
	case r.is(t, copula):
		if r.is(t, holdsAid) && r.is(t+1, object) {
			return false // it is somebody who was got or had
		}
		w.verb, w.past = true, w.past || r.is(t, pastBe)
	case r.is(t, there):
		w.here = w.here || w.denied || r.word(t) == "back"
	default:
		return false
	}
	return true
}

// placeFrom reads the place to which token t leads.
func (r *reader) placeFrom(t int, w *whereabouts) {
	w.place = true
	w.to = r.placeEnd(t+1, w)
}

// deniesBeing reports whether token t denies that something was somewhere: "not", "wasn't".
func (r *reader) deniesBeing(t int) bool {
	w := r.word(t)
	return w == "not" || w == "never" || strings.HasSuffix(w, "n't") || strings.HasSuffix(w, "nt") && w != "went" && r.is(t, copula)
}

// endsGone reports whether token t ends words for not being to be had: "out of reach", "being cleaned".
func (r *reader) endsGone(t int) bool {
	return r.word(t) == "of" && r.word(t-1) == "out" || r.word(t-1) == "being" && r.english(t).verb
}

// opensNoun reports whether token t is an article or an owner.
func (r *reader) opensNoun(t int) bool { return r.is(t, article) || r.is(t, owner) }

// placeEnd reads a place from token t on and gives the token behind it.
func (r *reader) placeEnd(t int, w *whereabouts) int {
	to, first := t, t
	for end := t + 6; t < end && t < len(r.toks) && r.signAt(t) == 0; t++ {
		word := r.word(t)
		switch {
		case r.is(t, notToHandNoun):
			w.gone = w.gone || !w.denied || word == "use" || word == "charge"
		case r.is(t, toHand) && !r.is(t-1, otherOf): // "on the other side" is out of it
			w.hand = true
		case r.is(t, nearResident), word == "room" && r.opensNoun(t-1):
			w.near = true
		case r.opensNoun(t), r.is(t, somewhere):
			continue
		case t > first && r.pastPlace(t):
			return to
		}
		to = t + 1
	}
	return to
}

// pastPlace reports whether something else than a place begins at token t.
func (r *reader) pastPlace(t int) bool {
	w := r.word(t)
	return r.english(t).verb && !r.english(t).isNoun || r.is(t, why) || w == "and" || w == "so" || r.is(t, thirdPerson) || r.is(t, firstPerson)
}

// absent is an aid told to be somewhere else.
type absent struct {
	unit     int    // that names it
	aid      string // its concept
	from, to int    // tokens
	why      bool   // and this is why a move was made without it
	stored   bool   // it was only put away
	same     bool   // it bears on moves of its own sentence alone
}

// absences reads aids told to be elsewhere, in use or taken by others, where the note tells a move: as the reason
// why that was made without them, or only as where they stood.
func (r *reader) absences(s *sentence) {
	for i := s.lo; i < s.hi; i++ {
		u := &r.units[i]
		if u.kind != kindAid || u.used || !mayBeMissed(u.e.name) || r.word(u.from-1) == "spare" {
			continue
		}
		for _, read := range []func(*sentence, int) (absent, bool){r.aidElsewhere, r.aidSought, r.aidTaken, r.aidRefused} {
			if a, ok := read(s, i); ok {
				if r.anyMoveBut(i) {
					r.tellAbsent(s, a)
				}
				break
			}
		}
	}
	r.pronounElsewhere(s)
}

// mayBeMissed reports whether the aid is one that a move needs.
func mayBeMissed(aid string) bool {
	return isWalkingAid(aid) || isLift(aid) || aid == "sling" || aid == "board" || aid == "belt"
}

// tellAbsent adds the statement of an absence and keeps it for the walks.
func (r *reader) tellAbsent(s *sentence, a absent) {
	u := &r.units[a.unit]
	if isWalkingAid(a.aid) && !a.stored {
		r.absent = append(r.absent, a)
	}
	concept := "aid." + a.aid
	if a.why {
		concept = "reason.no-equipment"
	}
	st := r.begin(concept)
	st.Detail.Head = r.span(u.from, u.to)
	r.scope(s, a.unit, &st)
	if a.why && r.word(a.to-1) == "be" {
		a.to++ // "away to be mended"
	}
	if a.why {
		st.Polarity, st.Who, st.Certainty, st.Mood = Affirmed, Resident, Certain, Report
		if st.Time != Before || !s.has.any(setOf(kindPast)) || !r.datedBefore(s) {
			st.Time = Now
		}
		u.kind = kindReason
		r.add(st, a.from, a.to)
	} else {
		r.add(st, u.from, u.to)
	}
	for k := s.lo; k < s.hi; k++ {
		n := &r.units[k]
		if n.from < a.from || n.to > a.to {
			continue
		}
		n.used = true
		switch n.kind {
		case kindPlanned, kindOrder, kindPast, kindIf, kindVerb:
			drop(n) // it dates the absence, not the move
		}
	}
}

// datedBefore reports whether the sentence has words that put it before this shift, "had been" apart.
func (r *reader) datedBefore(s *sentence) bool {
	for k := s.lo; k < s.hi; k++ {
		if u := &r.units[k]; u.kind == kindPast && !r.is(u.from, perfect) {
			return true
		}
	}
	return false
}

// aidElsewhere reads the aid at unit i as the subject of a clause that tells where it was.
func (r *reader) aidElsewhere(s *sentence, i int) (absent, bool) {
	u := &r.units[i]
	first := u
	if i > s.lo && r.partOf(i-1, u) {
		first = &r.units[i-1] // "sling for the hoist"
	}
	lead := r.nounFrom(first) - 1
	w := r.whereabouts(u.to)
	cause := r.is(lead, why) || r.word(u.to) == "being" || r.soBehind(w.to)
	switch {
	case r.anyBetween(w.to, r.startOf(s.hi), waited): // it was had in the end
		return absent{}, false
	case !w.away(), r.faultIn(s, u.to, w.to), !r.tellsWhere(lead, u, &w), !w.verb && !cause && !w.gone:
		return absent{}, false
	}
	a := absent{unit: i, aid: u.e.name, from: first.from, to: w.to}
	a.why = cause || r.tellsWhy(s, &a, &w)
	a.same = !a.why && (!w.past || r.aidUsed(&a))
	a.stored = !a.why && w.parked && !w.past
	return a, a.why || a.stored || isWalkingAid(u.e.name) && w.onlyStood()
}

// onlyStood reports whether the words tell no more than where the aid was.
func (w *whereabouts) onlyStood() bool {
	return !w.gone && (w.verb && !w.parked || w.past)
}

// tellsWhere reports whether the aid, whose noun token lead stands before, is the subject of words that tell where it
// was.
func (r *reader) tellsWhere(lead int, u *unit, w *whereabouts) bool {
	switch {
	case r.is(lead, byMeans) && r.is(u.to, copula) && w.gone:
		return true
	case !r.opensClause(lead) && (!w.gone || !w.verb || r.is(lead, somewhere) || r.is(lead, purpose)):
		return false
	}
	// "gait belt in use" is one that was used
	return r.word(w.to-1) != "use" || r.is(w.to, inUseBy) || isLift(u.e.name)
}

// faultIn reports whether a fault is told among the tokens from from to to.
func (r *reader) faultIn(s *sentence, from, to int) bool {
	for k := s.lo; k < s.hi; k++ {
		if u := &r.units[k]; u.kind == kindFaultWord && u.from >= from && u.from < to && r.word(u.from) != "gone" {
			return true
		}
	}
	return false
}

// tellsWhy reports whether an aid told to be elsewhere, with no word that this is why, is why a move was made
// without it: nobody could have it, and the note tells no move that was made with it.
func (r *reader) tellsWhy(s *sentence, a *absent, w *whereabouts) bool {
	if w.here && !w.denied {
		return false // "back on charge" tidies up
	}
	if w.parked && !w.gone && (!w.past || w.near || r.word(a.to-1) == "parked" || !r.moveOutside(s, a)) {
		return false
	}
	if !w.gone && !w.denied && isWalkingAid(a.aid) && !w.parked {
		return false // "her frame was in the hall" only tells where it stood
	}
	return r.moveOutside(s, a) || !r.aidUsed(a)
}

// moveOutside reports whether the sentence tells a move outside the words of the absence.
func (r *reader) moveOutside(s *sentence, a *absent) bool {
	for k := s.lo; k < s.hi; k++ {
		if u := &r.units[k]; u.kind == kindVerb && !u.e.fields.weak && (u.to <= a.from || u.from >= a.to) {
			return true
		}
	}
	return false
}

// aidUsed reports whether the note tells elsewhere that the aid, or one of its sort, was used.
func (r *reader) aidUsed(a *absent) bool {
	for k := range r.units {
		u := &r.units[k]
		switch {
		case k == a.unit || u.e == nil:
		case u.kind == kindVerb && isLift(u.e.fields.method):
			return isLift(a.aid) || a.aid == "sling"
		case u.kind == kindAid && a.sameSort(u.e.name) && r.broughtIn(k):
			return true
		}
	}
	return false
}

// sameSort reports whether an aid may be the one that is absent.
func (a *absent) sameSort(aid string) bool {
	return aid == a.aid || isLift(aid) && isLift(a.aid) || aid == "walker" && strings.HasPrefix(a.aid, "walker")
}

// broughtIn reports whether the words beside the aid at unit k say that it was used.
func (r *reader) broughtIn(k int) bool {
	before := r.nounFrom(&r.units[k]) - 1
	return r.is(before, byMeans) || r.is(before, byMachine) || r.is(before, usedWith) || r.word(before) == "on" || r.leads(k, kindStaff)
}

// nounFrom is the token at which the noun of the unit begins, with its articles, owners and adjectives.
func (r *reader) nounFrom(u *unit) int {
	k := u.from
	for k > 0 && r.signAt(k-1) == 0 {
		switch p := k - 1; {
		case r.is(p, article), r.is(p, owner), r.is(p, beforePerson), r.word(p) == "all", r.word(p) == "both", r.word(p) == "'s", r.isName(p),
			r.word(p) == "only", k == u.from && r.describes(p):
			k--
		case k < u.from && (r.word(k) == "'s") && r.toks[p].Kind == token.Word:
			k--
		default:
			return k
		}
	}
	return k
}

// describes reports whether token t is an adjective, or may be one before a noun.
func (r *reader) describes(t int) bool {
	w := r.english(t)
	return w.adjective && !w.verb && !strings.HasSuffix(r.word(t), "ed") && !r.is(t, still) && !r.is(t, leavesThere) && !r.is(t, takesAway)
}

// soBehind reports whether what follows token t goes on with "so": what stands before it is the reason.
func (r *reader) soBehind(t int) bool {
	for end := t + 25; t < end && t < len(r.toks); t++ {
		switch {
		case r.word(t) == "so" && r.opensClause(t-1), r.word(t) == "hence", r.word(t) == "therefore":
			return true
		case r.signAt(t) == '.' && r.word(t+1) != "so":
			return false
		}
	}
	return false
}

// aidTaken reads the aid at unit i as what somebody took away or left somewhere.
func (r *reader) aidTaken(s *sentence, i int) (absent, bool) {
	u := &r.units[i]
	t := r.takingOf(u)
	w := r.whereabouts(u.to)
	if r.word(u.to) == "behind" || t == (taking{verb: t.verb}) || r.word(r.nounFrom(u)) == "a" || w.hand && !w.denied {
		return absent{}, false
	}
	cause := r.soBehind(w.to)
	a := absent{unit: i, aid: u.e.name, from: t.verb, to: max(w.to, u.to)}
	w.gone = w.gone || t.takes || t.holds
	placed := w.place || w.gone || r.word(t.verb) == "forgot"
	if !t.away(r.heldBy(s, t.verb), cause, placed) {
		return absent{}, false
	}
	a.why = cause || !t.leaves && r.tellsWhy(s, &a, &w)
	a.same = !a.why
	return a, a.why || isWalkingAid(u.e.name)
}

// taking is what the verb before an aid tells.
type taking struct {
	verb   int  // its token
	takes  bool // somebody took the aid away, or went off with it
	holds  bool // somebody had the lift
	leaves bool // it was left somewhere
}

// away reports whether what somebody did with the aid kept it from the resident: another took or had it, or it was left
// and that is the reason told, or where it is.
func (t *taking) away(who holder, cause, placed bool) bool {
	if who == someoneElse {
		return t.takes || t.holds || t.leaves && cause // not "physio left a frame by her bed"
	}
	return t.leaves && (cause || placed)
}

// takingOf is what the verb before the aid tells of it.
func (r *reader) takingOf(u *unit) taking {
	lead := r.nounFrom(u) - 1
	led := r.word(lead) == "with"
	for lead > 0 && (r.word(lead) == "with" || r.is(lead, still)) {
		lead--
	}
	return taking{
		verb:   lead,
		takes:  r.is(lead, takesAway) && !r.opensNoun(lead-1) || led && r.is(lead, goesAway),
		holds:  r.is(lead, holdsAid) && isLift(u.e.name),
		leaves: r.is(lead, leavesThere) && !led,
	}
}

// aidSought reads the aid at unit i as what nobody could find or get.
func (r *reader) aidSought(_ *sentence, i int) (absent, bool) {
	u := &r.units[i]
	verb := r.nounFrom(u) - 1
	if w := r.word(verb); (w == "of" || w == "on") && r.is(verb-1, seekNoun) {
		verb-- // "no sign of", "lay hands on"
	}
	if !r.is(verb, seeks) && !r.is(verb, seekNoun) || !r.seeksInVain(verb) {
		return absent{}, false
	}
	return absent{unit: i, aid: u.e.name, from: verb - 1, to: u.to, why: true}, true
}

// seeksInVain reports whether somebody could not find or get what the verb at token t seeks.
func (r *reader) seeksInVain(t int) bool {
	for k := t - 1; k >= 0 && k >= t-4 && r.signAt(k) == 0; k-- {
		if w := r.word(k); w == "not" || w == "no" || w == "nobody" || w == "cannot" || w == "never" || w == "unable" || strings.HasSuffix(w, "n't") || w == "cant" || w == "couldnt" {
			return true
		}
	}
	return false
}

// aidRefused reads the lift or aid at unit i as what the resident would not have.
func (r *reader) aidRefused(s *sentence, i int) (absent, bool) {
	u := &r.units[i]
	for t := r.nounFrom(u) - 1; t >= 0 && t >= u.from-12 && (r.signAt(t) == 0 || r.signAt(t) == ','); t-- {
		if r.is(t, refuses) || r.refusesAt(t) {
			return r.refusedFrom(s, i, t)
		}
		if r.word(t) == "not" && r.word(t+1) != "be" && (r.word(t-1) == "would" || r.word(t-1) == "will") {
			return r.refusedFrom(s, i, t-1)
		}
		if r.is(t, firstPerson) || r.is(t, why) {
			break
		}
	}
	return absent{}, false
}

// refusesAt reports whether token t begins to tell that somebody would or did not have something.
func (r *reader) refusesAt(t int) bool {
	return r.is(t, wouldNot) && r.word(t+1) != "be" || r.is(t, didNot) && r.is(t+1, wants)
}

// refusedFrom is the aid at unit i, refused in words that begin at token from, where it is the resident who would not
// have it, and to the end: not "wouldn't let go of the frame".
func (r *reader) refusedFrom(s *sentence, i, from int) (absent, bool) {
	u := &r.units[i]
	if r.heldBy(s, from) != theResident || r.anyBetween(from+1, u.from, keepsIt) {
		return absent{}, false
	}
	return absent{unit: i, aid: u.e.name, from: from, to: u.to, why: true}, true
}

// holder is who has an aid or took it.
type holder uint8

const (
	theResident holder = iota
	theWriter
	someoneElse
)

// heldBy is who does what the verb at token t tells.
func (r *reader) heldBy(s *sentence, t int) holder {
	first := r.units[s.lo].from
	for first > 0 && r.signAt(first-1) != '.' {
		first--
	}
	for k := t - 1; k >= first; k-- {
		switch {
		case r.is(k, residentNoun), r.is(k, thirdPerson) && r.word(k) != "they":
			return theResident
		case r.is(k, firstPerson):
			return theWriter
		case r.word(k) == "they", r.is(k, otherPeople), r.is(k, colleagueNoun), r.is(k, kin), r.is(k, male), r.is(k, female):
			return someoneElse
		case r.signAt(k) == ';', r.is(k, why) && r.word(k) != "for":
			return theResident
		}
	}
	return theResident
}

// pronounElsewhere reads "it was at the hairdresser's" behind an aid of the same sentence.
func (r *reader) pronounElsewhere(s *sentence) {
	end := r.startOf(s.hi)
	for t := r.units[s.lo].from; t < end; t++ {
		first, ok := r.pronounOfAid(t)
		if !ok {
			continue
		}
		i := r.aidUnitBefore(s, t)
		if i < 0 || r.reasonAt(s, t) {
			continue
		}
		w := r.whereabouts(t + 1)
		if !w.verb || !w.away() {
			continue
		}
		u := &r.units[i]
		a := absent{unit: i, aid: u.e.name, from: first, to: w.to}
		a.why = r.is(t-1, why) || r.soBehind(w.to) || r.tellsWhy(s, &a, &w)
		a.same = !a.why
		if a.why && r.anyMoveBut(i) {
			was := *u
			r.tellAbsent(s, a)
			*u = was
		} else if isWalkingAid(a.aid) {
			r.absent = append(r.absent, a)
		}
	}
}

// pronounOfAid is the first token of the words that end at token t and may stand for an aid named before, at the
// beginning of a clause: "it", "the other one".
func (r *reader) pronounOfAid(t int) (first int, ok bool) {
	first = t
	if r.word(t) == "one" && r.is(t-1, beforePerson) {
		first = r.leadOf(t-1) + 1
	}
	return first, (first < t || r.is(t, aidPronoun) && r.word(t) != "one") && r.opensClause(first-1)
}

// reasonAt reports whether a unit that covers token t gave a reason already.
func (r *reader) reasonAt(s *sentence, t int) bool {
	for k := s.lo; k < s.hi; k++ {
		if u := &r.units[k]; u.kind == kindReason && u.from <= t && t < u.to {
			return true
		}
	}
	return false
}

// aidUnitBefore is the last unit of an aid that a move needs before token t in the sentence, -1 for none.
func (r *reader) aidUnitBefore(s *sentence, t int) int {
	for k := s.hi - 1; k >= s.lo; k-- {
		if u := &r.units[k]; u.to <= t && u.kind == kindAid && mayBeMissed(u.e.name) {
			return k
		}
	}
	return -1
}
