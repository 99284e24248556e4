package lexicon

import "example.com/stance/lexicon/internal/english"

// told reads who was told: a verb of telling with a person before or behind it, and report forms.
func (r *reader) told(s *sentence) {
	for i := s.lo; i < s.hi; i++ {
		switch r.units[i].kind {
		case kindForm:
			r.formWritten(s, i)
		case kindPerson:
			r.personTold(s, i)
		}
	}
}

// formWritten adds the report form that unit i names.
func (r *reader) formWritten(s *sentence, i int) {
	u := &r.units[i]
	st := r.begin("told.form")
	r.scope(s, i, &st)
	if r.word(u.to) == "to" && r.word(u.to+1) == "be" {
		st.Time = Planned
	}
	r.add(st, u.from, u.to)
}

// personTold adds that the person at unit i was told, or came and so knows.
func (r *reader) personTold(s *sentence, i int) {
	u := &r.units[i]
	if u.e.name == "other" || u.e.name == "pt" || u.used || r.word(u.to) == "'s" && !r.is(u.to+1, beWord) {
		return // "the nurse's desk", but "son's been rung"
	}
	v := r.tellingVerb(s, i)
	if v < 0 {
		v = r.toldThem(s, i)
	}
	switch {
	case v < 0 && r.attends(s, i):
		st := r.begin("told." + u.e.name)
		st.Detail.Head = r.span(u.from, u.to)
		r.scope(s, i, &st)
		st.Who = Resident
		r.add(st, u.from, u.to)
	case v < 0, u.e.name == "family" && v < i && r.residentTells(v):
	default:
		r.toldBy(s, i, v)
	}
}

// toldBy adds that the person at unit i was told, by the verb at unit v.
func (r *reader) toldBy(s *sentence, i, v int) {
	u := &r.units[i]
	from, to := u.from, u.to
	if !r.personBetween(i, v) {
		from, to = min(from, r.units[v].from), max(to, r.units[v].to)
	}
	st := r.begin("told." + u.e.name)
	if c, at := r.clockTold(s, i, v); c != "" {
		st.Clock = c
		from, to = min(from, r.units[at].from), max(to, r.units[at].to)
	}
	st.Detail.Head = r.span(r.units[v].from, r.units[v].to)
	r.scope(s, min(i, v), &st)
	st.Who = Resident
	for k := min(i, v) + 1; k < max(i, v); k++ {
		switch r.units[k].kind {
		case kindNegPre:
			st.Polarity = Negated // "GP not informed"
		case kindPlanned, kindOrder:
			st.Time = Planned // "family to be informed"
		}
	}
	if st.Time == Now && v < i && (r.toTell(s, v, i) || r.word(r.units[v].from-1) == "to" && r.is(r.units[v].from, tellBase)) {
		st.Time = Planned // "reminded to call the nurse", "Notify RN for any falls"
	}
	r.add(st, from, to)
}

// clockTold is the time of day that stands right behind the telling of the person at unit i by the verb at
// unit v, or opens its sentence, and its unit.
func (r *reader) clockTold(s *sentence, i, v int) (string, int) {
	last := max(i, v)
	for k := last + 1; k < s.hi && k <= last+3; k++ {
		switch u := &r.units[k]; {
		case u.kind == kindClock:
			return r.clockOf(*u), k
		case u.kind == kindPerson || r.parts(k) > 0 || u.from-r.units[last].to > 3:
			return "", -1
		}
	}
	if first := min(i, v); first == s.lo+1 && r.units[s.lo].kind == kindClock {
		return r.clockOf(r.units[s.lo]), s.lo
	}
	return "", -1
}

// onlyNames reports whether the tokens from i to j say nothing but who: "got Karen (RN)".
func (r *reader) onlyNames(i, j int) bool {
	for ; i < j; i++ {
		if !r.onlyArticles(i, i+1) && !r.isName(i) && r.word(i) != "(" && r.word(i) != "," {
			return false
		}
	}
	return true
}

// toldThem is the unit of the verb by which the writer told the nurse or doctor of unit i, who is named before and
// then meant: "Nurse Biju was doing the round and I told him", -1 for none.
func (r *reader) toldThem(s *sentence, i int) int {
	if r.units[i].e.name == "family" {
		return -1
	}
	for k := i + 1; k < s.hi; k++ {
		switch u := &r.units[k]; {
		case u.kind == kindPerson:
			return -1
		case u.kind == kindTold && r.is(u.from-1, firstPerson) && (r.object(u.to) || r.object(u.to-1)):
			return k
		}
	}
	return -1
}

// attends reports whether the nurse or doctor of unit i is told to have come to, seen or known of what was told before:
// a fall, or a sign. Where they examined somebody who fell, that is told by itself.
func (r *reader) attends(s *sentence, i int) bool {
	u := &r.units[i]
	if u.e.name != "nurse" && u.e.name != "doctor" || !r.happenedBefore(i) {
		return false
	}
	if i > 0 && r.units[i-1].kind == kindNegPre && u.from-r.units[i-1].to <= 2 {
		return false
	}
	at := u.to
	for at < len(r.toks) && r.betweenNameAndVerb(at) {
		at++
	}
	if r.is(at, article) {
		at++ // "had a look"
	}
	return r.is(at, attendWord) && !r.onOtherErrand(at) && !r.examinesFall(s, i, at+8)
}

// betweenNameAndVerb reports whether token t may stand between a person's trade and what they did: "RN (Jen) has just".
func (r *reader) betweenNameAndVerb(t int) bool {
	switch r.word(t) {
	case "(", ")", ",":
		return true
	}
	return r.isName(t) || r.is(t, perfect) || r.is(t, justThere) || r.personAt(t)
}

// onOtherErrand reports whether the verb at token t goes on with another errand: "came round with the meds".
func (r *reader) onOtherErrand(t int) bool {
	for k := t; k < t+7 && k < len(r.toks) && r.word(k) != "."; k++ {
		if r.is(k, otherErrand) {
			return true
		}
	}
	return false
}

// examinesFall reports whether the words behind unit i, up to token end, tell of examining somebody who fell.
func (r *reader) examinesFall(s *sentence, i, end int) bool {
	for k := i + 1; k < s.hi && r.units[k].from < end; k++ {
		if n := &r.units[k]; n.kind == kindFall && n.e.name == "assessed" {
			return true
		}
	}
	return false
}

// personAt reports whether the word at token i is a person by trade: "Jen (RN)".
func (r *reader) personAt(i int) bool {
	h, ok := r.hitAt(i)
	return ok && r.kindOf(h) == kindPerson
}

// happenedBefore reports whether a fall or a sign that is not denied was told before unit i.
func (r *reader) happenedBefore(i int) bool {
	for k := i - 1; k >= 0; k-- {
		switch u := &r.units[k]; {
		case k > 0 && r.units[k-1].kind == kindNegPre:
		case u.kind == kindSign:
			return true
		case u.kind == kindFall && (u.e.name == "fell" || u.e.name == "found" || u.e.name == "eased" || u.e.name == "collapse"):
			return true
		}
	}
	return false
}

func (r *reader) personBetween(i, j int) bool {
	if i > j {
		i, j = j, i
	}
	for k := i + 1; k < j; k++ {
		if r.units[k].kind == kindPerson {
			return true
		}
	}
	return false
}

// tellingVerb is the unit of the verb by which the person at unit i was told, -1 for none.
func (r *reader) tellingVerb(s *sentence, i int) int {
	by := r.word(r.leadIn(&r.units[i])) == "by"
	if by && i > s.lo && r.units[i-1].kind == kindTold {
		return -1 // "doctor is informed by nurse"
	}
	if v := r.toldBehind(s, i); v >= 0 {
		return v
	}
	if by {
		return -1
	}
	return r.toldBefore(s, i)
}

// toldBehind is the unit of the verb of telling behind the person at unit i, -1 for none: "RN aware", "charge nurse and
// daughter called", "physio was informed".
func (r *reader) toldBehind(s *sentence, i int) int {
	at := r.units[i].to
	for k := i + 1; k < s.hi; k++ {
		n := &r.units[k]
		switch {
		case n.from-at > 3 || n.sign == ';':
			return -1
		case n.kind != kindTold:
			if !r.betweenPersonAndTold(n) {
				return -1
			}
		case !r.calls(i, k):
			return k
		case !r.toldNext(s, k): // but "daughter rang and was told"
			return -1
		}
		at = n.to
	}
	return -1
}

// betweenPersonAndTold reports whether the unit may stand between a person and the verb by which they were told.
func (r *reader) betweenPersonAndTold(n *unit) bool {
	switch n.kind {
	case kindPerson, kindAnd, kindWas, kindSubject, kindSide, kindNow, kindPlanned, kindNegPre:
		return true
	case kindBreak:
		return r.word(n.from) == "also"
	case kindVerb:
		return r.word(n.from) == "in" && n.to == n.from+1 // "her daughter in Leeds"
	}
	return n.sign == ',' || n.sign == '(' || n.sign == ')' || n.kind == kindNone && n.sign == 0 && (r.toks[n.from].IsNum || r.is(n.from, article))
}

// toldBefore is the unit of the verb of telling before the person at unit i, -1 for none: "told the charge nurse",
// "reported to RN", "let charge know".
func (r *reader) toldBefore(s *sentence, i int) int {
	u := &r.units[i]
	at := u.from
	for k := i - 1; k >= s.lo; k-- {
		n := &r.units[k]
		switch {
		case k > s.lo && n.kind == kindBreak && r.word(n.to-1) == "then" && r.onlyArticles(n.to, u.from):
			// "called the daughter and then the nurse"
		case at-n.to > 3 || r.parts(k) == 2 || r.word(r.leadIn(u)) == "to" && r.word(r.leadIn(u)-1) == "up":
			return -1
		case r.fetched(n, u):
			return k
		case n.kind == kindTold:
			if r.callsOut(s, k, i) {
				return -1
			}
			return k
		case r.actsNext(s, k, u), !betweenToldAndPerson(n):
			return -1
		}
		at = n.from
	}
	return -1
}

// fetched reports whether the verb n says that the person u was got: "got the nurse right away".
func (r *reader) fetched(n, u *unit) bool {
	return r.word(n.from) == "got" && (n.kind == kindVerb || n.kind == kindIgnore) && u.e.name != "family" && r.onlyNames(n.from+1, u.from)
}

// actsNext reports whether the person u, behind unit k, begins to tell of what they did themselves.
func (r *reader) actsNext(s *sentence, k int, u *unit) bool {
	n := &r.units[k]
	if (n.sign == ',' || n.kind == kindAnd && r.word(u.to) == "is") && r.is(u.to, acts) {
		return true // "called charge nurse, nurse checked her", "nurse informed and GP is coming"
	}
	// "his brother's call, brother had a hip done"
	return n.sign == ',' && k > s.lo && r.units[k-1].kind == kindTold && r.word(r.units[k-1].from-1) == "'s"
}

// betweenToldAndPerson reports whether the unit may stand between a verb of telling and the person told.
func betweenToldAndPerson(n *unit) bool {
	switch n.kind {
	case kindPerson, kindAnd, kindTo, kindSubject, kindNone:
		return true
	}
	return n.sign == ','
}

// residentTells reports whether the resident is who told what the verb at unit v says ("she told her mother").
func (r *reader) residentTells(v int) bool {
	at := r.units[v].from
	return (r.is(at, tells) || r.units[v].e.name == "message") && (r.is(at-1, thirdPerson) || r.is(at-1, residentNoun))
}

// tellsOther reports whether what the person at unit i did by the verb at unit v is to tell somebody else, who
// stands right behind it: "RN rang her son".
func (r *reader) tellsOther(i, v int) bool {
	if v+1 >= len(r.units) || r.units[v].from-r.units[i].to > 1 {
		return false
	}
	n := v + 1
	for n+1 < len(r.units) && r.units[n].kind == kindSubject && r.possessive(n) {
		n++
	}
	p := &r.units[n]
	if p.kind != kindPerson || !r.onlyArticles(r.units[v].to, p.from) || p.e.name == r.units[i].e.name {
		return false
	}
	return n+1 >= len(r.units) || r.units[n+1].kind != kindTold && r.units[n+1].kind != kindWas
}

// toldNext reports whether the person who did what the verb at unit v says was told next: "rang and was told".
func (r *reader) toldNext(s *sentence, v int) bool {
	k := v + 1
	for k < s.hi && (r.units[k].kind == kindAnd || r.units[k].kind == kindWas || r.units[k].kind == kindNow || r.units[k].kind == kindTo) {
		k++
	}
	return k > v+1 && k < s.hi && r.units[k].kind == kindTold && r.word(r.units[k].from-1) != "and"
}

// callsOut reports whether the verb at unit v is the resident's own telephoning of the relative at unit i.
func (r *reader) callsOut(s *sentence, v, i int) bool {
	if r.units[i].e.name != "family" {
		return false
	}
	if !r.is(r.units[v].from, phones) && r.word(r.units[v].from) != "spoke" && r.word(r.units[v].from) != "got" {
		return false
	}
	for k := v - 1; k >= s.lo && k >= v-2; k-- {
		if r.is(r.units[k].from, staffSubject) || r.word(r.units[k].from) == "to" {
			return false
		}
	}
	if at := r.units[v].from; r.opens(at) && r.english(at).form == english.Past && r.happenedBefore(v) {
		return false // "Rang his son." after a fall is the writer's doing
	}
	return r.is(r.units[i].from-1, owner) || r.is(r.units[i].from, owner)
}

// toTell reports whether the verb of telling at unit v, before the person at unit i, tells what is to be done:
// it follows a reminder, or opens the sentence and goes on with the occasion.
func (r *reader) toTell(s *sentence, v, i int) bool {
	n := &r.units[v]
	if !r.is(n.from, tellBase) {
		return false
	}
	if v > s.lo && n.from-r.units[v-1].to <= 1 && r.units[v-1].kind == kindOrder {
		return true
	}
	if v == s.lo && r.opens(n.from) {
		if r.is(r.units[i].to, toldOccasion) {
			return r.word(r.units[i].to) != "of" || r.word(r.units[i].to+1) == "any"
		}
	}
	return false
}

// calls reports whether the verb at unit v is what the person at unit i did, not what was done to them:
// relatives ring in, nurses tell carers.
func (r *reader) calls(i, v int) bool {
	p := &r.units[i]
	if r.units[v].e.name == "message" || r.anyBetween(p.to, r.units[v].from, beingTold) {
		return false
	}
	verb, next := r.units[v].from, r.units[v].to
	if r.tellsOther(i, v) || verb == p.to && p.e.name != "family" && r.serviceAt(next) {
		return true
	}
	switch {
	case r.is(verb, tells):
		return r.is(next, tellsWhom)
	case !r.is(verb, phones):
		return r.is(verb, reaches)
	case p.e.name == "family":
		return r.familyRings(v)
	}
	return r.is(next, phonesBack)
}

// serviceAt reports whether somebody who is no person, such as the emergency number, is called at token i: "the nurse rang
// nine nine nine".
func (r *reader) serviceAt(i int) bool {
	for r.is(i, article) {
		i++
	}
	return !r.personAt(i) && r.mayBeTold(i)
}

// familyRings reports whether a relative, named before the verb of telephoning at unit v, rang or called by.
func (r *reader) familyRings(v int) bool {
	verb, next := r.units[v].from, r.units[v].to
	switch {
	case r.word(next) == "by" && (v+1 >= len(r.units) || r.units[v+1].kind != kindPerson || r.units[v+1].from-next > 2):
		return true // "called by with flowers", not "called by the nurse"
	case r.is(next, phonesAbout):
		return true
	case r.fell && r.endsThere(next):
		return false // after a fall, "daughter phoned" is what was done
	case r.word(next) == "," && r.is(next+1, onWay):
		return true
	}
	return r.word(verb) != "called"
}
