package lexicon

import (
	"slices"
	"strings"

	"example.com/stance/lexicon/internal/english"
	"example.com/stance/lexicon/internal/token"
)

// falls reads what is said of falls and their aftermath.
func (r *reader) falls(s *sentence) {
	for i := s.lo; i < s.hi; i++ {
		u := &r.units[i]
		switch {
		case u.kind != kindFall || u.used:
		case u.e.name == "follow":
			r.fellBefore = true
		case u.e.name == "assessed" && !r.fell && r.personAt(u.from) && r.happenedBefore(i):
			st := r.begin("told.nurse") // a nurse who came to somebody dizzy knows of it
			r.scope(s, i, &st)
			r.add(st, u.from, u.to)
		case !r.tellsNoFall(s, i):
			r.fall(s, i)
		}
	}
}

// fall adds what the words at unit i say of a fall.
func (r *reader) fall(s *sentence, i int) {
	u := &r.units[i]
	st := r.begin("fall." + u.e.name)
	st.Detail.Head = r.span(u.from, u.to)
	from, to := u.from, u.to
	if u.e.name != "injury" && !strings.HasPrefix(u.e.name, "head") && u.e.name != "assessed" {
		if c, at := r.clockNear(s, i); c != "" {
			st.Clock = c
			from, to = min(from, r.units[at].from), max(to, r.units[at].to)
		}
	}
	if u.e.name == "fell" && r.sameFall(s, i) {
		r.clockOfSameFall(st.Clock, to) // "slipped at the sink and fell on her side" is one fall
		return
	}
	st.Concept = r.sortOfFall(s, i)
	told := i
	if k := r.markBehind(s, i); k >= 0 && r.deniedNear(s, k) {
		told, from = k, r.units[k].from // "no bump on the head"
	}
	r.scope(s, told, &st)
	r.fallScope(s, i, &st)
	if st.Time == Now && r.fellElsewhere(u) {
		st.Who = Other
	}
	r.add(st, from, to)
}

// deniedNear reports whether a negation right before unit i denies it.
func (r *reader) deniedNear(s *sentence, i int) bool {
	k := r.negatedBy(s, i)
	return k >= 0 && k < i && r.units[i].from-r.units[k].to <= 4
}

// markBehind is the unit of the mark before the head at unit i, -1 for none.
func (r *reader) markBehind(s *sentence, i int) int {
	for k := i - 1; k >= s.lo && k >= i-3; k-- {
		if r.markOnHead(s, k) >= 0 && r.units[i].e.name == "head-marked" {
			return k
		}
	}
	return -1
}

// markOnHead is unit i where it names a mark that the words behind it say to be on the head, -1 otherwise.
func (r *reader) markOnHead(s *sentence, i int) int {
	if i < s.lo || i+1 >= s.hi || r.units[i].kind != kindFall || r.units[i].e.name != "injury" {
		return -1
	}
	for k := i + 1; k < s.hi && r.parts(k) == 0 && r.units[k].from-r.units[i].to <= 6; k++ {
		if n := &r.units[k]; n.kind == kindFall {
			if n.e.name == "head-marked" {
				return i
			}
			return -1
		}
	}
	return -1
}

// clockOfSameFall gives the fall told last the time told with words that go on with it up to token to.
func (r *reader) clockOfSameFall(clock string, to int) {
	n := len(r.out.Statements)
	if clock == "" || n == 0 {
		return
	}
	if last := &r.out.Statements[n-1]; last.Concept == "fall.fell" && last.Clock == "" {
		last.Clock = clock
		last.Span.End = r.toks[to-1].End
	}
}

// sortOfFall is the concept of which the fall words at unit i tell.
func (r *reader) sortOfFall(s *sentence, i int) string {
	switch u := &r.units[i]; u.e.name {
	case "history":
		return "fall.fell"
	case "held":
		return "fall.caught"
	case "unhurt":
		return "fall.injury"
	case "head-sound", "head-marked":
		return "fall.head"
	case "fell":
		if r.is(u.from, slips) && r.stayedUp(s, i) {
			return "fall.near"
		}
		if w := r.lower(u); (strings.HasSuffix(w, "went down") || strings.HasSuffix(w, "go down")) && r.gaveOut(s, i) {
			return "fall.collapse"
		}
	}
	return "fall." + r.units[i].e.name
}

// fallScope settles what holds of a fall told at unit i beyond the scopes of its sentence.
func (r *reader) fallScope(s *sentence, i int, st *Statement) {
	u := &r.units[i]
	if st.Polarity == Negated {
		if st.Concept == "fall.fell" && s.clock != "" && !r.opensWithClock(s.lo) {
			st.Clock = "" // "No falls." below the last entry is of the whole shift
		}
		if st.Time == Before {
			r.upToNow(st)
		}
	}
	if u.e.name == "history" || st.Time == Now && r.ofPastFall(s, i) {
		st.Time = Before
	}
	switch u.e.name {
	case "fell", "near", "collapse":
		if r.staffFell(u) {
			st.Who = Other
		}
	case "head-sound", "unhurt":
		st.Polarity = Negated
	case "head":
		if r.anyBetween(u.from, u.to, noBlow) {
			st.Polarity = Negated
		}
	}
}

// staffFell reports whether a member of staff is the subject of the fall: "carer slipped on the wet floor".
func (r *reader) staffFell(u *unit) bool {
	before := u.from - 1
	switch r.word(before) {
	case "one":
		return r.is(before, staffWord) || r.word(before-1) == "and" || r.word(before-1) == ","
	case "i":
		return r.is(before, staffWord) || r.opens(before)
	}
	return r.is(before, staffWord)
}

// upToNow makes what is denied since some day in the past hold now: "no falls since last review".
func (r *reader) upToNow(st *Statement) {
	st.Detail.Terms = slices.DeleteFunc(st.Detail.Terms, func(m Mark) bool {
		since := m.Field == "time" && strings.HasPrefix(strings.ToLower(r.text[m.Span.Start:m.Span.End]), "since")
		if since {
			st.Time = Now
		}
		return since
	})
}

// tellsNoFall reports whether the words at unit i speak of something else here, or repeat what was told.
func (r *reader) tellsNoFall(s *sentence, i int) bool {
	switch u := &r.units[i]; u.e.name {
	case "unhurt", "head-sound", "head-marked":
		return !r.fell
	case "injury":
		return r.noInjury(s, i)
	case "assessed":
		return r.noExamination(s, i)
	case "head":
		return r.headAlone(u)
	case "eased":
		return r.easedOnto(u)
	case "going":
		return true // only what somebody was held back from
	case "caught":
		return r.caughtOther(u)
	case "near":
		return r.wentDown(s, i) // "stumbled, fell and hit her face" is a fall
	case "held":
		return !r.nearBefore(s, i) || r.caughtBefore(s, i) // a hand held on a walk saves nobody
	case "fell":
		return u.form == NoTense && r.fellOver(s, i)
	}
	return false
}

// noExamination reports whether the words at unit i tell of no examination after a fall, or of one told before.
func (r *reader) noExamination(s *sentence, i int) bool {
	return !r.fell || r.elsewhere(r.units[i].from) || r.sameCheck(s, i) || r.lookedOver(i)
}

// noInjury reports whether the injury words at unit i tell none of a fall, or one that other words tell.
func (r *reader) noInjury(s *sentence, i int) bool {
	if !r.fell || r.elsewhere(r.units[i].from) || r.settleInjury(s, i) {
		return true
	}
	return r.markOnHead(s, i) >= 0 && r.deniedNear(s, i)
}

// headAlone reports whether the head is named where no fall is told and nothing strikes it. Alone, it is what somebody
// searches for.
func (r *reader) headAlone(u *unit) bool {
	return !r.fell && !r.anyBetween(u.from, u.to, strikes) && len(r.toks) > u.to-u.from+1
}

// caughtOther reports whether "caught" saves nobody from falling: "caught him walking back unaided", "caught her
// slippers on the rug", "staff caught up with the family".
func (r *reader) caughtOther(u *unit) bool {
	if strings.HasSuffix(r.word(u.to), "ing") && r.object(u.to-1) && !r.is(u.to, falling) {
		return true
	}
	return r.word(u.to-1) == "her" && r.ownsNext(u.to) ||
		r.word(u.to) == "up" && u.to-u.from == 2 && strings.HasSuffix(r.word(u.to-1), "caught")
}

// stayedUp reports whether the trip or slip at unit i is told next to have ended well: "tripped over the mat but
// managed to steady herself", "slipped, did not go down".
func (r *reader) stayedUp(s *sentence, i int) bool {
	end := r.startOf(s.hi)
	for k := r.units[i].to; k+1 < end; k++ {
		switch {
		case r.is(k, steadies) && (r.is(k+1, self) || r.is(k+2, self)):
			return true
		case (r.word(k) == "not" || strings.HasSuffix(r.word(k), "n't") || r.word(k) == "never") && r.is(k+1, goesDown):
			return true
		}
	}
	return false
}

// gaveOut reports whether a faint or failing legs were told before unit i in the sentence.
func (r *reader) gaveOut(s *sentence, i int) bool {
	for k := s.lo; k < i; k++ {
		if u := &r.units[k]; u.kind == kindSign && (u.e.name == "faint" || u.e.name == "weak") {
			return true
		}
	}
	return false
}

// ofPastFall reports whether unit i tells how a fall of before this shift, told just before, went on:
// "last night she fell and hit her head".
func (r *reader) ofPastFall(s *sentence, i int) bool {
	switch r.units[i].e.name {
	case "head":
	case "injury":
		if !r.atThatTime(r.units[i].to) {
			return false
		}
	default:
		return false
	}
	for n := len(r.out.Statements) - 1; n >= 0; n-- {
		st := &r.out.Statements[n]
		if st.Span.Start < r.toks[r.units[s.lo].from].Start {
			break
		}
		if st.Concept == "fall.fell" {
			if st.Time != Before {
				return false
			}
			for k := s.lo; k < i; k++ {
				if r.units[k].kind == kindNow && r.toks[r.units[k].from].Start > st.Span.Start {
					return false
				}
			}
			return true
		}
	}
	return false
}

// atThatTime reports whether the words from token i put what was told into the past: "no injury at that time".
func (r *reader) atThatTime(i int) bool {
	return r.word(i) == "then" || r.word(i) == "at" && (r.word(i+1) == "that" || r.word(i+1) == "the") && r.word(i+2) == "time"
}

// wentDown reports whether the stumble at unit i is told to have ended in a fall: "lost balance while reaching
// and fell".
func (r *reader) wentDown(s *sentence, i int) bool {
	for k := i + 1; k < s.hi; k++ {
		u := &r.units[k]
		switch {
		case u.kind == kindFall:
			return u.e.name == "fell" && r.is(u.from, wentDownBy) && r.units[k-1].kind != kindNegPre
		case u.kind == kindBreak && r.parts(k) == 2, u.sign == ';', u.kind == kindTold:
			return false
		}
	}
	return false
}

// thingFell reports whether what fell at token i is a thing: a figure some hedging words before, or a noun
// that is no person.
func (r *reader) thingFell(i int) bool {
	k := i - 1
	for k >= 0 && k >= i-5 && (r.is(k, hedge) || r.is(k, perfect) || r.word(k) == ",") {
		k--
	}
	if k < i-1 && r.is(k, thingFalls) {
		return true
	}
	return i > 0 && strings.HasPrefix(r.word(i), "f") && r.anyBetween(i+1, i+4, ontoBody) && r.unknownThing(i-1)
}

// unknownThing reports whether token i is a word that neither names a person nor has a meaning here.
func (r *reader) unknownThing(i int) bool {
	t := &r.toks[i]
	return t.Kind == token.Word && !t.Capital && r.in[i].Word == 0 && !strings.HasSuffix(t.Word, "ly")
}

// easedOnto reports whether somebody was eased down onto a seat or into a bath, not to the floor.
func (r *reader) easedOnto(u *unit) bool {
	for k := u.to - 1; k < u.to+3; k++ {
		if h, ok := r.hitAt(max(k, 0)); ok && r.kindOf(h) == kindPlace {
			return r.lex.said[h.Payload].e.fields.place != "floor"
		}
	}
	return false
}

// nearBefore reports whether the sentence tells of a near fall before unit i.
func (r *reader) nearBefore(s *sentence, i int) bool {
	for k := s.lo; k < i; k++ {
		if u := &r.units[k]; u.kind == kindFall && (u.e.name == "near" || u.e.name == "going" && r.goesDownThere(u)) || u.kind == kindSign && u.e.name == "weak" {
			return true
		}
	}
	return false
}

// lookedOver reports whether the examination at unit i is only a care worker's own look, no nurse having been named.
func (r *reader) lookedOver(i int) bool {
	u := &r.units[i]
	if r.role != CareWorker || !r.object(u.from+1) || r.is(u.from-1, thirdPerson) {
		return false
	}
	for k := 0; k < i; k++ {
		if n := &r.units[k]; n.kind == kindPerson && (n.e.name == "nurse" || n.e.name == "doctor") {
			return false
		}
	}
	return true
}

// goesDownThere reports whether the words of the unit tell of somebody going down, not going somewhere: "she was
// going, so I grabbed her".
func (r *reader) goesDownThere(u *unit) bool {
	return r.word(u.to-1) != "going" || r.endsThere(u.to) || r.word(u.to) == "so" || r.word(u.to) == "and" || r.word(u.to) == "but"
}

// sameCheck reports whether the examination at unit i was told by the words just before it in the clause.
func (r *reader) sameCheck(s *sentence, i int) bool {
	for k := i - 1; k >= s.lo && k >= i-3 && r.parts(k) == 0; k-- {
		if n := &r.units[k]; n.kind == kindFall && n.e.name == "assessed" {
			return true
		}
	}
	return false
}

// sameFall reports whether the fall word at unit i goes on with one told just before.
func (r *reader) sameFall(s *sentence, i int) bool {
	w := r.word(r.units[i].from)
	cause := w == "tripped" || w == "slipped"
	if cause || w == "hit" || strings.HasPrefix(w, "land") {
		return r.howFell(s, i, cause)
	}
	for k := i - 1; k >= s.lo && k >= i-5; k-- {
		n := &r.units[k]
		if r.parts(k) == 2 || n.sign == ',' {
			return false
		}
		if r.tellsFall(s, k) {
			return true
		}
	}
	return false
}

// howFell reports whether a fall told before unit i is the one whose end or cause that tells: "went down on his bum,
// landed soft", "fell in the hall, tripped over her slipper".
func (r *reader) howFell(s *sentence, i int, cause bool) bool {
	for k := i - 1; k >= s.lo && k >= i-8; k-- {
		n := &r.units[k]
		if n.kind == kindFall && n.e.name == "fell" && (!cause || r.word(n.from) == "fell") {
			return true
		}
		if r.parts(k) == 2 {
			return false
		}
	}
	return false
}

// tellsFall reports whether unit k tells a fall, or a near one that did not end in one told next.
func (r *reader) tellsFall(s *sentence, k int) bool {
	n := &r.units[k]
	return n.kind == kindFall && (n.e.name == "fell" || n.e.name == "near" && !r.wentDown(s, k))
}

// ownsNext reports whether "her" before token i owns what follows rather than being the one caught.
func (r *reader) ownsNext(i int) bool {
	if i >= len(r.toks) || r.toks[i].Kind != token.Word {
		return false
	}
	return !r.is(i, goesOn)
}

// elsewhere reports whether the pain or mark at token i is of a part that a fall does not explain.
func (r *reader) elsewhere(i int) bool {
	switch {
	case r.is(i-1, elsewhere):
		return true
	case r.word(i-1) == "for", r.word(i-1) == "of":
		return r.is(i, ache) // what a tablet is given for
	}
	return false
}

// afterAFall reports whether the note tells of a fall that is not denied.
func (r *reader) afterAFall() bool {
	for k := range r.units {
		if u := &r.units[k]; u.kind == kindOffFloor || u.kind == kindSign && u.e.name == "faint" {
			return true
		} else if u.kind == kindFall {
			switch u.e.name {
			case "fell", "found", "eased", "collapse", "follow", "history", "caught", "near":
				if k > 0 && r.units[k-1].kind == kindNegPre {
					continue
				}
				return true
			}
		}
	}
	return false
}

// settleInjury reports whether the injury words at unit i speak of something else, or repeat one just listed.
func (r *reader) settleInjury(s *sentence, i int) bool {
	u := &r.units[i]
	// "bruise or skin tear noted" is one remark a word, but "injury noted" is one
	return i > s.lo && r.units[i-1].kind == kindFall && r.units[i-1].e.name == "injury" && r.units[i-1].to == u.from
}

// fellOver reports whether the fall word at unit i tells no fall of its own: a thing fell, it names a fall
// told elsewhere or a heading, or a stronger word of its clause tells the fall.
func (r *reader) fellOver(s *sentence, i int) bool {
	return r.thingFellAt(s, i) || r.namesFall(i) || !r.placedFall(i) && r.strongerFall(s, i)
}

// bareFall reports whether the unit is the noun "fall" or "falls".
func (r *reader) bareFall(u *unit) bool {
	w := r.word(u.from)
	return u.to-u.from == 1 && (w == "fall" || w == "falls")
}

// placedFall reports whether the noun at unit i tells a fall by its place or time: "sore after fall in the
// bathroom".
func (r *reader) placedFall(i int) bool {
	u := &r.units[i]
	return r.bareFall(u) && (r.is(u.from-1, afterFall) && r.is(u.to, placed) || r.leads(i, kindPast))
}

// thingFellAt reports whether the fall word at unit i is told of a thing or a figure.
func (r *reader) thingFellAt(s *sentence, i int) bool {
	u := &r.units[i]
	if r.thingFell(u.from) || r.word(u.from) == "hit" && (r.is(u.from-1, ontoBody) || r.english(u.from-1).noun == english.BodyPart) {
		return true // "her sats have, uh, fallen", "the footrest fell on her foot"
	}
	if r.is(u.from-1, thingFalls) || r.is(u.from-2, thingFalls) && r.is(u.from-1, perfect) {
		return true // "temp has fallen"
	}
	if r.fellOff(u) {
		return true // "catheter fell out", "her rings slipped off"
	}
	if r.word(u.to-1) == "over" && r.word(u.from) == "went" {
		if r.is(u.to, wentOver) {
			return true // "went over the care plan"
		}
		if r.is(u.to, owner) {
			return r.ownsNext(u.to + 1)
		}
	}
	return i > s.lo && r.follows(i, kindAid) // "her crutches fell over"
}

// fellOff reports whether something fell off or out, and not off a bed or out of a chair.
func (r *reader) fellOff(u *unit) bool {
	if !r.is(u.from, comesOff) {
		return false
	}
	for k := u.from + 1; k <= u.to; k++ {
		if w := r.word(k); w == "off" || w == "out" {
			return !r.is(k+1, offWhat) && !r.is(u.from-1, thirdPerson) && !r.is(u.from-1, residentNoun)
		}
	}
	return false
}

// namesFall reports whether the fall word at unit i only names a fall, which was then told elsewhere, or
// heads a focus note.
func (r *reader) namesFall(i int) bool {
	u := &r.units[i]
	if u.to-u.from == 1 && r.word(u.from-1) == ":" && r.word(u.from-2) == "focus" {
		return true
	}
	if !r.bareFall(u) || r.placedFall(i) || !r.is(u.from-1, thatFall) && !r.is(u.from-1, afterFall) && !(r.is(u.from-1, owner) && r.is(u.from-2, afterFall)) {
		return false
	}
	r.fellBefore = true
	return true
}

// strongerFall reports whether another word of the sentence tells the fall at unit i: "caught her before she
// fell", "lowered to the floor as she slid", "found on floor, ?fell".
func (r *reader) strongerFall(s *sentence, i int) bool {
	for k := s.lo; k < i; k++ {
		if r.units[k].kind == kindFall && r.units[k].e.name == "eased" {
			return true
		}
	}
	if r.slipGrabbed(s, i) {
		return true
	}
	lo, hi := r.chunk(s, i)
	before := ""
	if lo > s.lo {
		before = r.word(r.units[lo-1].from)
	}
	if before == "as" && r.caughtBefore(s, lo) {
		return true // "caught him as he fell"
	}
	if k := r.otherFall(lo, hi, i); k >= 0 {
		w := r.word(r.units[i].from)
		return r.units[k].e.name != "near" || k > i && w != "falls" && w != "fall"
	}
	return (before == "before" || before == "so") && r.caughtBefore(s, lo)
}

// slipGrabbed reports whether the slip at unit i is told next to have been caught: "tripped on the rug but grabbed the
// rail".
func (r *reader) slipGrabbed(s *sentence, i int) bool {
	if !r.is(r.units[i].from, slips) {
		return false
	}
	for k := i + 1; k < s.hi && k <= i+4 && (r.parts(k) < 2 || r.word(r.units[k].from) == "but"); k++ {
		if n := &r.units[k]; n.kind == kindFall && n.e.name == "near" {
			return true
		}
	}
	return false
}

// otherFall is the first of the units from lo to hi, unit i apart, that tells how a fall ended, -1 for none.
func (r *reader) otherFall(lo, hi, i int) int {
	for k := lo; k < hi; k++ {
		if k == i || r.units[k].kind != kindFall {
			continue
		}
		switch r.units[k].e.name {
		case "caught", "eased", "collapse", "near":
			return k
		}
	}
	return -1
}

func (r *reader) caughtBefore(s *sentence, i int) bool {
	for k := s.lo; k < i; k++ {
		if u := &r.units[k]; u.kind == kindFall && (u.e.name == "caught" || u.e.name == "held" && r.nearBefore(s, k)) {
			return true
		}
	}
	return false
}
