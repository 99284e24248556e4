package lexicon

import (
	"strings"

	"example.com/stance/lexicon/internal/english"
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
		switch u.kind {
		case kindVerb:
			r.whoMoves(i)
		case kindFall, kindSign:
			if !r.tellsFalling(u) {
				continue
			}
			if r.fellForIt(u) {
				drop(u)
				continue
			}
			switch r.subjectOf(u) {
			case doerThing:
				drop(u)
			case doerOther:
				u.doer = doerOther
			}
		}
	}
}

// tellsFalling reports whether the unit tells by a verb of somebody's falling or fainting.
func (r *reader) tellsFalling(u *unit) bool {
	switch u.e.name {
	case "fell":
		return u.to-u.from > 1 || r.bareFall(u) || !r.is(u.from, fallNoun) || strings.HasSuffix(r.word(u.from), "ing")
	case "near", "collapse":
		return !r.is(u.to-1, fallNoun)
	case "faint":
		return r.is(u.from, faints)
	}
	return false
}

// fellForIt reports whether "fell" with its preposition tells no fall: somebody fell for a joke, on his food, into step,
// or from first place to fourth.
func (r *reader) fellForIt(u *unit) bool {
	if u.kind != kindFall || u.e.name != "fell" || !strings.HasPrefix(r.word(u.from), "f") {
		return false
	}
	at := u.to
	if r.leadsPhrase(u.to-1) && u.to-u.from > 1 {
		at--
	}
	head := at + 1
	for head < at+4 && (r.is(head, article) || r.is(head, owner) || r.is(head, beforePerson) || r.english(min(head, len(r.toks)-1)).adjective && !r.english(min(head, len(r.toks)-1)).isNoun) {
		head++
	}
	if head >= len(r.toks) {
		return false
	}
	sense := r.english(head).noun
	switch r.word(at) {
	case "for":
		return r.is(head, object) || r.word(head) == "it" || sense != english.NoSense && sense != english.Time
	case "on", "upon":
		return sense == english.Food && head > at+1
	case "into":
		return sense != english.NoSense && !hardThing(sense) && sense != english.BodyPart && sense != english.Place && sense != english.Person && !r.partOfMove(head)
	case "from":
		return r.is(head, ordinal)
	}
	return false
}

// whoMoves settles whom the verb at unit i moves.
func (r *reader) whoMoves(i int) {
	u := &r.units[i]
	if u.e.fields.weak || u.form == NounForm || u.e.name == "use" || u.e.name == "refuse" || u.e.fields.concept == "" || r.nextIsColon(i) {
		return
	}
	if r.word(u.to) == "by" && u.e.name == "lift" && u.form == Past && r.thingAhead(u.to+1) {
		drop(u) // "lifted by the music"
		return
	}
	onFoot := u.e.fields.concept == "move.walk" || u.e.fields.concept == "move.stand" || u.e.fields.concept == "move.stairs"
	switch r.objectOfVerb(u) {
	case doerThing:
		if u.e.fields.concept != "move.stairs" && u.e.fields.concept != "move.up" {
			drop(u)
		}
		return
	case doerOther:
		u.doer = doerOther
		return
	case doerResident:
		return
	}
	switch r.subjectOf(u) {
	case doerThing:
		if u.form != Base {
			drop(u)
		}
	case doerOther:
		if onFoot {
			u.doer = doerOther
		}
	}
}

// thingAhead reports whether the noun phrase that begins at token i names a thing that helps no move.
func (r *reader) thingAhead(i int) bool {
	head := i
	for head < i+3 && (r.is(head, article) || r.is(head, owner)) {
		head++
	}
	return head < len(r.toks) && r.nameOf(i, head) == doerThing && !r.partOfMove(head)
}

// objectOfVerb is whom or what the verb has as its object: a noun with an article or an owner right behind it. A
// walked way is none.
func (r *reader) objectOfVerb(u *unit) doer {
	if r.movesResident(u) && !(r.word(u.to) == "her" && r.ownsNoun(u.to+1)) || r.isName(u.to) {
		return doerResident
	}
	walks := u.e.fields.concept == "move.walk"
	from := u.to
	if r.word(from-1) == "her" && u.to-u.from > 1 && r.ownsNoun(from) {
		from-- // "stood her" + "handbag up"
	}
	if r.leadsPhrase(from-1) && u.to-u.from > 1 && r.word(from-1) != "up" || !r.is(from, article) && !r.is(from, owner) {
		return doerUnsaid
	}
	head, to := from, from+1
	for ; to < len(r.toks) && to <= from+4 && r.toks[to].Kind == token.Word; to++ {
		w := r.english(to)
		if !w.isNoun && !w.adjective && !r.is(to, male) && !r.is(to, female) || r.is(to, goesOn) {
			break
		}
		if w.isNoun || r.is(to, male) || r.is(to, female) {
			head = to
		}
		if r.word(to+1) == "'s" {
			to++
		}
	}
	switch d := r.nameOf(from, head); {
	case r.is(head, male), r.is(head, female), r.is(head, kin):
		return doerOther // "walked her husband to the door"
	case head == from, r.partOfMove(head):
		return doerUnsaid
	case d == doerThing && walks && r.english(head).noun != english.Animal:
		return doerUnsaid
	case r.english(head).noun == english.Group:
		return doerUnsaid
	case d == doerUnsaid && r.english(head).noun == english.BodyPart:
		return doerThing // "lifted his arm"
	default:
		return d
	}
}

// partOfMove reports whether token i is a place, an aid or help of a move.
func (r *reader) partOfMove(i int) bool {
	for k := i; k >= 0 && k >= i-2; k-- {
		h, ok := r.hitAt(k)
		if !ok || h.To <= i {
			continue
		}
		switch r.kindOf(h) {
		case kindPlace, kindAid, kindStaff, kindLevel, kindVague, kindLimb, kindSide, kindVerb, kindDistance, kindClock, kindSubject:
			return true
		}
	}
	return false
}

// ownsNoun reports whether "her" before token i owns what follows: a noun with which no other part of a sentence
// begins.
func (r *reader) ownsNoun(i int) bool {
	if !r.ownsNext(i) || r.is(i, wayOrManner) {
		return false
	}
	if r.english(i).adjective && !r.english(i).isNoun {
		return r.english(i + 1).isNoun
	}
	return r.english(i).isNoun
}

// subjectOf is who or what the words before the unit say that it is told of. It goes back over the words that only
// belong to the verb and over phrases with a preposition to the noun that begins the clause.
func (r *reader) subjectOf(u *unit) doer {
	noun := u.kind == kindFall && r.bareFall(u)
	k := u.from - 1
	for k >= 0 && r.inVerbGroup(k) {
		k--
	}
	away := false // somewhere else than where the resident is
	for k >= 0 {
		switch w := r.word(k); {
		case w == "door" && r.word(k-1) == "next":
			away, k = true, k-2
			continue
		case r.is(k, awayFrom):
			away, k = true, k-1
			continue
		case (w == "who" || w == "which" || w == "that") && k > 0:
			k--
			continue
		case w == "and" || w == "but" || w == "then":
			if noun {
				return doerUnsaid
			}
			return r.subjectBefore(k)
		case r.opensClause(k):
			return doerUnsaid
		case r.leadsPhrase(k) && k < u.from-1:
			k--
			continue
		}
		from, ok := r.phraseFrom(k)
		if !ok {
			return doerUnsaid
		}
		for t := from; t <= k; t++ {
			away = away || r.is(t, awayFrom)
		}
		if from > 0 && r.leadsPhrase(from-1) {
			if r.word(from-1) == "of" && from >= 2 && r.toks[from-2].IsNum && r.nameOf(from, k) == doerOther && !noun {
				return doerOther // "one of the visitors"
			}
			k = from - 2
			continue
		}
		return r.subjectNamed(u, from, k, away, noun)
	}
	return doerUnsaid
}

// subjectNamed is what the phrase of the tokens from from to head, before unit u, says as its subject. Away says that
// words behind it put it somewhere else; noun that the unit is the noun "fall", which has a subject only behind what
// somebody saw or heard.
func (r *reader) subjectNamed(u *unit, from, head int, away, noun bool) doer {
	d := r.nameOf(from, head)
	if d == doerResident && away && !r.is(head, thirdPerson) && !r.is(head, residentNoun) {
		return doerOther
	}
	clause := from == 0 || r.opensClause(from-1)
	if clause && !noun && !r.is(head, parent) && !r.is(max(from-1, 0), toPerson) && (r.is(head, male) || r.is(head, female) || r.is(head, kin)) && !r.is(head, anyone) {
		return doerOther
	}
	seen := from > 0 && r.is(from-1, perceives)
	sense := r.english(head).noun
	switch {
	case r.partOfMove(head) && !r.is(head, manyPeople) && !r.is(head, someone):
		return doerUnsaid
	case d == doerOther && (clause && !noun || seen || !noun && from >= 2 && r.leadsPhrase(from-2)):
		return doerOther
	case d != doerThing || noun && !(seen && hardThing(sense)) || !noun && !clause || sense == english.Time:
		return doerUnsaid
	case r.is(from, article) || r.is(from, owner) || r.word(from+1) == "'s":
		return doerThing
	case strings.HasSuffix(r.word(head), "s") && (u.kind != kindVerb || u.e.name == "lift"):
		return doerThing // "Restrictions lifted", "Gutters fell"
	case u.kind == kindFall && r.is(u.from, thingsFall) && hardThing(r.english(head).noun):
		return doerThing // "Clock on the wall fell"
	}
	return doerUnsaid
}

// subjectBefore is the subject that the clause before the "and" at token k shares with what follows it, where it is
// somebody else or a thing that was or did something: "Someone's crutches were propped by the piano and fell".
func (r *reader) subjectBefore(k int) doer {
	from := k
	for from > 0 && !r.opensClause(from-1) {
		from--
	}
	head := -1
	for t := from; t < k && t <= from+5 && r.toks[t].Kind == token.Word; t++ {
		if r.is(t, thirdPerson) || r.is(t, firstPerson) {
			return doerUnsaid
		}
		if r.is(t, beingOrUsing) || r.is(t, beingTold) {
			if head < 0 {
				return doerUnsaid
			}
			if d := r.nameOf(from, head); d == doerThing && !r.partOfMove(head) || d == doerThing && r.word(from+1) == "'s" {
				return d
			}
			return doerUnsaid
		}
		if r.english(t).isNoun {
			head = t
		}
	}
	return doerUnsaid
}

// phraseFrom is the token at which the noun phrase that ends at token k begins, and whether there is one.
func (r *reader) phraseFrom(k int) (int, bool) {
	if !r.nominal(k) {
		return 0, false
	}
	from := k
	for from > 0 {
		t := from - 1
		switch w := r.english(t); {
		case r.is(from, article), r.is(from, owner), r.is(from, thirdPerson), r.is(from, firstPerson):
			return from, true
		case r.toks[t].Kind != token.Word && r.word(t) != "'s":
			return from, true
		case r.word(t) == "'s", r.is(t, article), r.is(t, owner), r.is(t, beforePerson):
		case r.leadsPhrase(t), r.opensClause(t), r.inVerbGroup(t):
			return from, true
		case w.adjective, w.isNoun && !(w.verb && !r.toks[t].Capital), r.is(t, male), r.is(t, female), r.toks[t].Capital && !r.toks[t].Upper, r.toks[t].IsNum:
		default:
			return from, true
		}
		from--
	}
	return from, true
}

// nominal reports whether token k can be the noun or pronoun that a phrase ends with.
func (r *reader) nominal(k int) bool {
	if r.toks[k].Kind != token.Word {
		return false
	}
	return r.english(k).isNoun || r.isName(k) || r.is(k, thirdPerson) || r.is(k, firstPerson) || r.is(k, residentNoun) ||
		r.is(k, male) || r.is(k, female) || r.is(k, kin) || r.is(k, someone) || r.is(k, anyone) || r.is(k, manyPeople)
}

// nameOf is whom or what the noun phrase of the tokens from from to head names.
func (r *reader) nameOf(from, head int) doer {
	w := r.english(head)
	switch {
	case r.is(head, thirdPerson), r.is(head, residentNoun), r.is(head, firstPerson), r.is(head, object), r.isName(head):
		return doerResident
	case r.is(head, someone), r.is(head, manyPeople):
		return doerOther
	case r.is(head, parent), r.is(head, male) && !r.is(head, anyone), r.is(head, female) && !r.is(head, anyone), r.is(head, kin):
		return doerUnsaid // whom a sentence with relatives tells of is settled there
	case r.is(head, staffWord), r.is(head, colleagueNoun) && !r.is(head, anyone):
		return doerUnsaid
	case r.is(head, anyone):
		if w := r.word(from); w == "a" || w == "an" || w == "some" || w == "another" || r.is(from+1, beforePerson) && r.word(from+1) == "other" {
			return doerOther
		}
		return doerResident
	case (w.noun == english.Person || w.noun == english.Group) && (!w.adjective || r.is(from, article)):
		return doerOther
	case !w.isNoun, w.noun == english.BodyPart, w.noun == english.NoSense:
		return doerUnsaid
	}
	return doerThing
}

// hardThing reports whether nouns of the sense name something that one can touch.
func hardThing(s english.Sense) bool {
	switch s {
	case english.Animal, english.Artefact, english.Food, english.Object, english.Plant, english.Substance, english.Phenomenon:
		return true
	}
	return false
}

// inVerbGroup reports whether token k only belongs to the verb behind it: "had nearly", "was not", "'s just".
func (r *reader) inVerbGroup(k int) bool {
	return r.is(k, verbGroup) || strings.HasSuffix(r.word(k), "ly") && !r.english(k).isNoun || strings.HasSuffix(r.word(k), "n't")
}

// leadsPhrase reports whether token k is a preposition.
func (r *reader) leadsPhrase(k int) bool { return r.is(k, preposition) }

// opensClause reports whether a clause begins behind token k.
func (r *reader) opensClause(k int) bool {
	return r.toks[k].Kind == token.Newline || r.toks[k].Kind == token.Sign && r.word(k) != "'s" || r.is(k, clauseWord)
}
