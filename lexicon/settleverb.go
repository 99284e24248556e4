package lexicon

import (
	"strings"

	"example.com/stance/lexicon/internal/english"
	"example.com/stance/lexicon/internal/token"
)

// settleVerb drops words of moves that are names or tell no move, and finds the machines and postures
// that words of lifting and standing stand for.
func (r *reader) settleVerb(i int) {
	u := &r.units[i]
	switch {
	case r.roseByName(i):
		drop(u)
	case u.e.name == "bedrest" && r.word(u.to-1) == "turn" && r.follows(i, kindStaff) && r.endsThere(u.to):
		u.e, u.form = r.lex.find("verb.reposition"), NounForm // "two staff to turn"
	case r.word(u.from) == "got" && u.to-u.from == 1 && r.english(u.to).form == english.Past && r.endOfWording(u.to) != kindVerb:
		drop(u) // "fell off the wall and got broke"
	case r.bareBase(u) && r.nounHere(u):
		drop(u)
	case u.e.name == "lift" && r.bareBase(u):
		r.settleLift(i)
	case u.e.name == "stand":
		r.settleStand(i)
	case u.e.name == "up" && r.word(u.to-1) == "up" && r.word(u.from) != "up":
		if r.word(u.to) == "to" && r.upOfVerb(u) || r.upAllNight(u) {
			drop(u) // "was up to ninety"
		}
	case u.e.name == "up" && r.word(u.from) == "up":
		if u.to-u.from == 1 && !r.upIsState(i) || u.to-u.from == 2 && r.upOfVerb(u) || r.thingUp(i) || r.upAllNight(u) {
			drop(u)
		}
	case u.e.fields.hand && r.carriesThing(u):
		drop(u)
	}
	if u.kind != kindVerb || r.nextIsColon(i) && u.form == NounForm {
		return
	}
	if r.staffOnFoot(i) {
		drop(u)
	}
}

// bareBase reports whether the verb is one word in the form that is a noun too ("lift", "stand").
func (r *reader) bareBase(u *unit) bool { return u.form == Base && u.to-u.from == 1 }

// nounHere reports whether the verb is part of a noun that moves nobody: "walk-off", "walk of shame", "a charity
// walk", "ramp and lift".
func (r *reader) nounHere(u *unit) bool {
	switch next := r.word(u.to); {
	case u.e.name == "walk" && next == "of":
		return true
	case u.e.name == "walk" && (next == "off" || next == "in" || next == "on"):
		return r.text[r.toks[u.from].End] == '-'
	case u.e.name == "lift" && u.from > 1 && r.word(u.from-1) == "and" && r.endsThere(u.to):
		return r.english(u.from - 2).isNoun
	case u.e.name == "walk" && u.from > 0:
		return r.english(u.from-1).noun == english.Group && !r.is(u.from-1, residentNoun) && !r.is(u.from-1, staffWord) && r.is(u.from-2, article)
	}
	return false
}

// roseByName reports whether "Rose" at unit i is a name, for nothing behind it tells how or from where
// somebody rose: "Rose walked to lunch", "moved to Rose unit".
func (r *reader) roseByName(i int) bool {
	u := &r.units[i]
	if r.word(u.from) != "rose" || u.to-u.from > 1 {
		return false
	}
	named := r.toks[u.from].Capital && !r.toks[u.from].Upper && !r.is(u.to, rises)
	return named || r.is(u.from-1, article) || r.is(u.from-1, owner) // "the rose smell"
}

// settleLift reads "lift" as the machine, whatever name stands before it, and where it is used
// ("lift used to return to bed").
func (r *reader) settleLift(i int) {
	u := &r.units[i]
	switch {
	case r.is(u.from-1, byMeans):
		u.kind, u.e = kindAid, r.lex.find("aid.lift") // "up in chair via lift x2"
	case r.nameOfLift(u.from - 1):
		u.kind, u.e, u.from = kindAid, r.lex.find("aid.lift"), u.from-1
	case r.leads(i, kindVerb) && r.units[i+1].e.name == "use", i+1 < len(r.units) && r.units[i+1].from == u.to && r.word(u.to) == "used":
		u.kind, u.e = kindAid, r.lex.find("aid.lift")
	}
}

// settleStand reads "stand" as the posture of a pressure ("98/58 (stand)", "stand 108/64"), as a lift
// ("uses the sit stand"), or drops a thing to stand something on ("Stand for the bird table mended").
func (r *reader) settleStand(i int) {
	u := &r.units[i]
	bracketed := r.word(u.from-1) == "(" && i >= 2 && r.units[i-2].kind == kindVitalPair
	measured := i+1 < len(r.units) && r.units[i+1].kind == kindVitalPair && r.units[i+1].from-u.to <= 1 ||
		i > 0 && r.units[i-1].kind == kindVitalPair && r.units[i-1].to == u.from
	switch {
	case (r.bareBase(u) || u.form == Gerund && u.to-u.from == 1) && (bracketed || measured) || u.form != Past && r.headsPressure(i):
		u.kind, u.e = kindPosture, r.lex.find("posture.standing-short")
	case u.form == NounForm && strings.HasSuffix(r.word(u.to-1), "stand") && (r.is(u.from-1, usedWith) || r.isMachine(i)):
		u.kind, u.e = kindAid, r.lex.find("aid.sit-stand-lift")
	case u.form == Base && r.opens(u.from) && r.word(u.to) == "for" && !r.toks[u.to].Upper:
		drop(u)
	}
}

// hoistsSomebody reports whether "hoist" at unit i is what staff named before it do to somebody: "a student and I hoist
// the lady".
func (r *reader) hoistsSomebody(i int) bool {
	u := &r.units[i]
	if u.to-u.from > 1 || r.word(u.from) != "hoist" && r.word(u.from) != "lift" || !r.is(u.from-1, firstPerson) && !r.is(u.from-1, staffWord) && !r.is(u.from-1, writerNamed) && !r.is(u.from-1, studentWord) && !(i > 0 && r.units[i-1].kind == kindStaff && r.units[i-1].to == u.from) {
		return false
	}
	p, ok := r.phraseOpening(u.to)
	return r.object(u.to) || r.isName(u.to) || r.is(u.to, title) || r.is(u.to, kinAddress) || r.is(u.to, residentNoun) || ok && p.names == doerResident
}

// isMachine reports whether "sit to stand" at unit i is the lift: an article stands before it, or it brings somebody to a
// place.
func (r *reader) isMachine(i int) bool {
	u := &r.units[i]
	if r.word(u.from-1) == "the" && !r.nextIsColon(i) {
		return true
	}
	for k := i + 1; k+1 < len(r.units) && r.parts(k) == 0 && r.units[k].sign == 0 && k < i+4; k++ {
		if r.units[k].kind == kindTo && r.isPlace(k+1) && !r.staysOn(&r.units[k]) {
			return true
		}
	}
	return false
}

// headsPressure reports whether a pressure follows the colon behind unit i: "Standing: BP 110/60".
func (r *reader) headsPressure(i int) bool {
	k := i + 1
	colon := r.word(r.units[i].to-1) == ":"
	if !colon && k < len(r.units) && r.units[k].sign == ':' && r.units[k].from == r.units[i].to {
		colon = true
		k++
	}
	if k < len(r.units) && r.units[k].kind == kindVitalName && r.units[k].e.name == "pressure" {
		k++
	}
	return (colon || k > i+1) && k < len(r.units) && r.units[k].kind == kindVitalPair && r.units[k].from-r.units[k-1].to <= 1
}

// carriesThing reports whether "carried" or "picked up" speaks of a thing.
func (r *reader) carriesThing(u *unit) bool {
	carried := strings.HasPrefix(r.word(u.from), "carr") && u.to-u.from == 1
	picked := strings.HasPrefix(r.word(u.from), "pick") && r.word(u.to-1) == "up" && u.to-u.from == 2
	if p, ok := r.phraseOpening(u.to + 1); ok && carried && r.is(u.to, particle) && p.names == doerThing && !isWay(p.sense) {
		return true // "carried up the gifts"
	}
	return (carried || picked) && !r.carriesPerson(u.to) && !r.helpersAt(u.to)
}

// isWay reports whether nouns of the sense may name what somebody goes up, down or along.
func isWay(s english.Sense) bool {
	return s == english.Artefact || s == english.Object || s == english.Place
}

// helpersAt reports whether helpers are named at token i: "carried x2 from bed to chair".
func (r *reader) helpersAt(i int) bool {
	h, ok := r.hitAt(i)
	return ok && r.kindOf(h) == kindStaff
}

// upAllNight reports whether "up" only tells how long somebody was awake: "up half the night", "up all night". Who was up
// twice in the night got up.
func (r *reader) upAllNight(u *unit) bool {
	if !r.is(u.to, howLong) {
		return false
	}
	for k := u.to + 1; k < u.to+4 && !r.pauses(k); k++ {
		if r.word(k) == "night" || r.word(k) == "nicht" {
			return true
		}
	}
	return false
}

// upOfVerb reports whether "up in", "up to" or "up for" only goes on from another word ("showed up in the
// lounge") or counts ("up to several times").
func (r *reader) upOfVerb(u *unit) bool {
	for k := u.from - 1; k >= 0 && k >= u.from-3 && r.toks[k].Kind == token.Word && r.word(k) != "and"; k-- {
		if r.is(k, wakeUp) || k < u.from-1 && r.is(k, notUp) {
			return true // "woke resident up for tablets", "rails are up to …"
		}
		if k == u.from-1 && r.word(u.to-1) == "for" && u.to-u.from == 2 && r.notUpFor(k) {
			return true
		}
		if k == u.from-1 && r.is(k, copula) && (r.word(k-1) == "it" || r.word(k-1) == "what" || r.word(k-1) == "that") {
			return true // "it's up to the family", "what's up with the wifi"
		}
		if k == u.from-1 && r.notResident(k) && r.word(k-1) != "with" {
			return true // "took it up with the office"
		}
		if k == u.from-1 && r.is(k, notUp) {
			return true
		}
	}
	at := u.to
	if r.word(at-1) != "to" && r.word(at) == "to" {
		at++
	}
	if r.word(at-1) != "to" || at >= len(r.toks) {
		return false
	}
	if r.is(at, owner) {
		return !r.leadsSomewhere(at) // "up to his usual divilment"
	}
	if r.is(at, upToOther) {
		return r.word(at) != "a" || !r.placeAhead(at)
	}
	return r.toks[at].IsNum
}

// notUpFor reports whether the word at token k, before "up for", tells that nobody was up for anything: they did not care
// to ("wasn't up for much chat"), or did something else ("reaching up for the tin", "boil up for lunch").
func (r *reader) notUpFor(k int) bool {
	w := r.english(k)
	if stem := r.word(k); strings.HasSuffix(stem, "n't") || stem == "not" || stem == "never" {
		return true
	}
	return (w.form == english.Gerund || r.opens(k) && w.verb && w.form == english.Bare) && !r.is(k, beWord) && w.stem != "get"
}

// leadsSomewhere reports whether what follows "up to" at token i is a place, an aid, a person, or what somebody got up to
// do: the first word that is no article or adjective tells.
func (r *reader) leadsSomewhere(i int) bool {
	for k := i; k < i+4 && k < len(r.toks) && r.toks[k].Kind == token.Word; k++ {
		if h, ok := r.hitAt(k); ok {
			switch r.kindOf(h) {
			case kindPlace, kindAid, kindStaff, kindVerb, kindCare, kindLevel, kindClock:
				return true
			}
		}
		w := r.english(k)
		switch {
		case r.is(k, article), r.is(k, owner):
			continue
		case w.noun == english.Artefact, w.noun == english.Place, w.noun == english.Person, w.unknown && r.toks[k].Capital, w.verb && k == i:
			return true
		case w.adjective || w.isNoun && !r.is(k+1, preposition) && !r.endsThere(k+1):
			continue
		}
		return false
	}
	return false
}

// thingUp reports whether a thing is told to be up somewhere ("poster up in the hall", "picture now up over her
// bed"): a noun that is no word of ours stands before it, and no seat or bed behind.
func (r *reader) thingUp(i int) bool {
	u := &r.units[i]
	where := u.to - 1
	if u.to-u.from == 1 {
		where++
	}
	if !r.is(where, upThere) || r.placeAhead(where+1) {
		return false
	}
	k := u.from - 1
	for k > 0 && r.is(k, upState) {
		k--
	}
	if k < 0 || r.toks[k].Kind != token.Word || r.toks[k].Capital {
		return false
	}
	for j := max(0, i-2); j < i; j++ {
		if n := &r.units[j]; n.from <= k && k < n.to {
			return n.kind == kindIgnore
		}
	}
	return true
}

// upIsState reports whether a bare "up" at unit i tells of being up: it opens its clause or follows a subject.
func (r *reader) upIsState(i int) bool {
	if r.upOfVerb(&r.units[i]) {
		return false
	}
	before := r.units[i].from - 1
	switch r.word(before) {
	case "", ".", ",", ";", "\n", "-", ":":
		return true
	}
	return r.is(before, upState) || r.is(before, residentNoun)
}

// placeAhead reports whether a place stands within three tokens of token i.
func (r *reader) placeAhead(i int) bool {
	for k := i; k < i+3 && k < len(r.toks); k++ {
		if h, ok := r.hitAt(k); ok {
			if e := r.lex.said[h.Payload].e; e.kind == kindPlace || e.kind == kindAid {
				return true
			}
		}
	}
	return false
}

// carriesPerson reports whether the word at token i lets "carried" speak of the resident.
func (r *reader) carriesPerson(i int) bool {
	if r.word(i) == "her" && r.ownsThing(i+1) {
		return false // "picked up her cardigan"
	}
	return r.is(i, object) || r.is(i, residentNoun) || r.is(i, carriedWhom) || r.isName(i) || r.is(i, title) || r.toks[min(i, len(r.toks)-1)].Capital && r.is(i, kinAddress)
}

// nameOfLift reports whether token i is a word that no wording knows behind "with", "via" or "used the", so
// that "lift" after it is the machine.
func (r *reader) nameOfLift(i int) bool {
	if i < 1 || r.toks[i].Kind != token.Word || r.in[i].Word != 0 {
		return false
	}
	if i > 1 && r.is(i-1, article) {
		i--
	}
	return r.is(i-1, byMeans) || r.is(i-1, byMachine)
}

// lastVerb cuts a unit down to the move that its last word names, if it does.
func (r *reader) lastVerb(u *unit) bool {
	h, ok := r.hitAt(u.to - 1)
	if !ok || h.To != u.to || r.word(u.from) != "with" {
		return false
	}
	s := &r.lex.said[h.Payload]
	e := s.e
	if e.kind != kindVerb || e.fields.weak {
		return false
	}
	u.from, u.kind, u.e, u.form = u.to-1, e.kind, e, s.form
	return true
}

// walksAlong reports whether a walking aid, or a place that residents go to, stands close behind the verb at unit i.
func (r *reader) walksAlong(i int) bool {
	for k := i + 1; k < len(r.units) && r.units[k].sign != '.' && r.units[k].from-r.units[i].to <= 6; k++ {
		if n := &r.units[k]; n.kind == kindAid && isWalkingAid(n.e.name) || n.kind == kindPlace && n.e.fields.place == "toilet" {
			return true
		}
	}
	return false
}

// staffOnFoot reports whether the verb at unit i tells of the writer walking in, out or past.
func (r *reader) staffOnFoot(i int) bool {
	u := r.units[i]
	if u.e.fields.concept != "move.walk" && u.e.fields.concept != "move.stand" {
		return false
	}
	if !r.is(u.from-1, staffSubject) {
		return false
	}
	switch {
	case r.word(u.from-1) == "we" && r.walksAlong(i), // "we walk to the toilet with her frame"
		r.is(u.from-2, joinsNames) && (r.is(u.from-3, thirdPerson) || r.is(u.from-3, residentNoun) || r.is(u.from-3, self)): // "she and I walked"
		return false
	}
	return !r.anyBetween(u.from, u.to+1, object) && !r.is(u.to, residentNoun) && !r.is(u.to, walkedWhom) && !r.isName(u.to)
}
