package lexicon

import (
	"strings"

	"example.com/stance/lexicon/internal/english"
	"example.com/stance/lexicon/internal/token"
)

// A phrase is a noun with the words that belong to it.
type phrase struct {
	from, head int // tokens, the head being the noun
	names      doer
	sense      english.Sense // of the head
}

// longestPhrase is how many words a noun phrase has at the most before its noun. Nobody writes more, and a note of nothing
// but nouns would be gone through anew for each.
const longestPhrase = 12

// phraseEnding is the noun phrase that ends at token k, and whether there is one.
func (r *reader) phraseEnding(k int) (phrase, bool) {
	if k < 0 || !r.nominal(k) {
		return phrase{}, false
	}
	from := k
	if k > 0 {
		if h, ok := r.hitAt(k - 1); ok && h.To == k+1 {
			from-- // "head rest"
		}
	}
	for from > 0 && from > k-longestPhrase && r.goesWithNoun(from-1) {
		from--
	}
	return phrase{from: from, head: k, names: r.nameOf(from, k), sense: r.english(k).noun}, true
}

// nominal reports whether token k can be the noun or pronoun that a phrase ends with.
func (r *reader) nominal(k int) bool {
	if r.toks[k].Kind != token.Word || r.is(k, preposition) || r.is(k, particle) {
		return false
	}
	w := r.english(k)
	return w.isNoun || r.isName(k) || r.is(k, thirdPerson) || r.is(k, firstPerson) || r.is(k, residentNoun) || r.kin(k) ||
		r.is(k, someone) || r.is(k, anyone) || r.is(k, manyPeople) || w.unknown && k > 0 && r.is(k-1, article)
}

// kin reports whether token k is a relative.
func (r *reader) kin(k int) bool {
	return (r.is(k, male) || r.is(k, female) || r.is(k, kin)) && !r.is(k, anyone)
}

// goesWithNoun reports whether token t belongs to the noun phrase that goes on behind it.
func (r *reader) goesWithNoun(t int) bool {
	next, w := t+1, r.english(t)
	switch {
	case r.is(next, article), r.is(next, owner), r.is(next, thirdPerson), r.is(next, firstPerson):
		return false // it begins there
	case r.word(t) == "'s", r.is(t, article), r.is(t, owner), r.is(t, beforePerson), r.is(t, determiner):
		return true
	case r.toks[t].Kind != token.Word:
		return false
	case r.word(next) == "'s" && w.isNoun, w.noun == english.Person, w.isNoun && t > 0 && (r.is(t-1, article) || r.is(t-1, owner)):
		return true
	}
	return !r.is(t, preposition) && !r.opensClause(t) && !r.inVerbGroup(t) && r.standsBeforeNoun(t)
}

// standsBeforeNoun reports whether token t is of the sort of word that stands before a noun: an adjective, another noun, a name, a
// number.
func (r *reader) standsBeforeNoun(t int) bool {
	w := r.english(t)
	return w.adjective || w.isNoun && !w.verb || r.kin(t) || r.toks[t].Capital && !r.toks[t].Upper || r.toks[t].IsNum
}

// phraseOpening is the noun phrase that begins at token i with an article or an owner, and whether there is one.
func (r *reader) phraseOpening(i int) (phrase, bool) {
	if r.is(i, someone) && r.word(i+1) == "'s" {
		i++ // "everybody's mood"
	} else if !r.is(i, article) && !r.is(i, owner) {
		return phrase{}, false
	}
	p := phrase{from: i, head: i}
	for k := i + 1; k < len(r.toks) && k <= i+4 && r.toks[k].Kind == token.Word && !r.is(k, goesOn); k++ {
		w := r.english(k)
		if !w.isNoun && !w.adjective && !r.kin(k) {
			break
		}
		if w.isNoun || r.kin(k) {
			p.head = k
		}
		if r.word(k+1) == "'s" {
			k++
		}
	}
	p.names, p.sense = r.nameOf(i, p.head), r.english(p.head).noun
	return p, p.head > i
}

// nameOf is whom or what the noun phrase of the tokens from from to head names.
func (r *reader) nameOf(from, head int) doer {
	w := r.english(head)
	switch {
	case r.namesResident(head):
		return doerResident
	case r.is(head, someone), r.is(head, manyPeople):
		return doerOther
	case r.fondly(from, head) && !(r.toks[from].IsNum && r.oneOfMany(from, head)):
		return doerResident
	case r.is(head, anyone):
		if r.oneOfMany(from, head) {
			return doerOther
		}
		return doerResident
	case r.kin(head), r.is(head, parent), r.is(head, staffWord), r.is(head, colleagueNoun):
		return doerUnsaid // whom a sentence with relatives or staff tells of is settled there
	case w.noun == english.Person, w.noun == english.Group:
		return r.personNamed(from, head)
	case w.unknown && r.in[head].Word == 0 && head > from && r.is(from, article):
		return doerOther // "the postie", a word of somebody's that no dictionary has
	case w.noun == english.BodyPart && r.is(from, ownWord):
		return doerThing // "my back was turned"
	case !w.isNoun, w.noun == english.BodyPart, w.noun == english.NoSense:
		return doerUnsaid
	case from == head && w.given && r.toks[head].Capital && !r.toks[head].Upper:
		return doerUnsaid // "Ray walked 30 ft"
	}
	return doerThing
}

// personNamed is whom the noun phrase of the tokens from from to head, whose noun is one for persons, names.
func (r *reader) personNamed(from, head int) doer {
	w := r.english(head)
	switch {
	case from == head && !strings.HasSuffix(r.word(head), "s") && (r.toks[head].Capital || r.opens(head)):
		return doerUnsaid // "Monsieur walked"
	case !w.adjective || r.is(from, article):
		return doerOther
	}
	return doerThing
}

// namesResident reports whether the noun or pronoun at token k is one for the resident.
func (r *reader) namesResident(k int) bool {
	return r.is(k, thirdPerson) || r.is(k, residentNoun) || r.is(k, firstPerson) || r.is(k, object) || r.isName(k) ||
		r.is(k, kinAddress) && r.toks[k].Capital && !r.opensNoun(k-1) // "Baba fell"
}

// fondly reports whether the phrase is a name that staff have for a resident: "the poor lamb", "our wanderer", "the
// Colonel".
func (r *reader) fondly(from, head int) bool {
	t := &r.toks[head]
	switch person := r.english(head).noun == english.Person; {
	case r.is(head, endeared), person, r.english(head).unknown:
		return r.anyBetween(from, head, endearing) || person && (r.word(from) == "our" || t.Capital && !t.Upper && !r.opens(head))
	}
	return false
}

// oneOfMany reports whether the phrase, whose noun anybody can be called, sets somebody apart from the resident: "a
// man", "another lady", "the maintenance man".
func (r *reader) oneOfMany(from, head int) bool {
	switch r.word(from) {
	case "a", "an", "some", "another", "one":
		for k := from + 1; k < head; k++ {
			if r.toks[k].IsNum {
				return false // "An 84 year old man"
			}
		}
		return from > 0
	}
	if r.word(from+1) == "other" {
		return true
	}
	if head == from || r.partOfMove(head-1) {
		return false
	}
	trade := r.english(head - 1)
	return trade.isNoun && !trade.adjective && (trade.noun == english.Act || hardThing(trade.noun))
}

// hardThing reports whether nouns of the sense name something that one can touch.
func hardThing(s english.Sense) bool {
	switch s {
	case english.Animal, english.Artefact, english.Food, english.Object, english.Plant, english.Substance, english.Phenomenon:
		return true
	}
	return false
}

// partOfMove reports whether token i is a place, an aid or help of a move.
func (r *reader) partOfMove(i int) bool {
	switch r.endOfWording(i) {
	case kindPlace, kindAid, kindStaff, kindLevel, kindVague, kindLimb, kindSide, kindVerb, kindDistance, kindClock, kindSubject:
		return !r.is(i, manyPeople) && !r.is(i, someone)
	}
	return false
}

// endOfWording is the kind of the wording that token i stands in, kindNone for no wording.
func (r *reader) endOfWording(i int) kind {
	for k := i; k >= 0 && k >= i-2; k-- {
		if h, ok := r.hitAt(k); ok && h.To > i {
			return r.kindOf(h)
		}
	}
	return kindNone
}

// ownsNoun reports whether "her" before token i owns what follows: a noun with which no other part of a sentence
// begins.
func (r *reader) ownsNoun(i int) bool {
	switch {
	case !r.ownsNext(i) || r.is(i, wayOrManner) || r.anyBetween(i, i+3, countsOther):
		return false // "turned her every two hours"
	case r.english(i).isNoun:
		return true
	}
	return r.english(i).adjective && i+1 < len(r.toks) && r.english(i+1).isNoun
}

// inVerbGroup reports whether token k only belongs to the verb behind it: "had nearly", "was not", "'s just".
func (r *reader) inVerbGroup(k int) bool {
	return r.is(k, verbGroup) || strings.HasSuffix(r.word(k), "ly") && !r.english(k).isNoun || strings.HasSuffix(r.word(k), "n't")
}

// opensClause reports whether a clause begins behind token k, which may lie before the first.
func (r *reader) opensClause(k int) bool {
	return k < 0 || r.toks[k].Kind == token.Newline || r.toks[k].Kind == token.Sign && r.word(k) != "'s" || r.is(k, clauseWord)
}

// otherThing reports whether the one word of the aid at unit i names something else here: "carrot sticks", "a dog walker",
// "the board of his club", "analgesia on board", a sling of the arm where nothing is told of a lift.
func (r *reader) otherThing(i int) bool {
	u := &r.units[i]
	if r.headBehind(u.to) {
		return true
	}
	if u.to-u.from > 1 {
		return false
	}
	if u.from > 0 && r.toks[u.from-1].Kind == token.Word && r.endOfWording(u.from-1) == kindNone {
		if w := r.english(u.from - 1); !w.adjective {
			switch w.noun {
			case english.Animal, english.Food, english.Plant, english.Phenomenon, english.Communication:
				return true
			}
		}
	}
	switch w := r.word(u.from); {
	case r.word(u.to) == "of":
		return r.ofSomething(u.to + 1)
	case w == "board":
		return r.word(u.from-1) == "on" && (r.endsThere(u.to) || r.word(u.to) == "for" || r.word(u.to) == "with")
	case w == "sticks":
		return u.from > 0 && r.endsThere(u.to) && r.english(u.from-1).noun == english.Artefact && r.in[u.from-1].Word == 0
	case w == "sling":
		return r.noteNames(armWord) && !r.noteTellsLift()
	}
	return false
}

// headBehind reports whether the noun at token t, which no wording knows, makes the aid before it the name of something
// that is none: "wheelchair tennis", "Walker's crisps", "stick insects".
func (r *reader) headBehind(t int) bool {
	if r.word(t) == "'s" {
		t++
	}
	if t >= len(r.toks) || r.toks[t].Kind != token.Word || r.in[t].Word != 0 {
		return false
	}
	w := r.english(t)
	switch w.noun {
	case english.Animal, english.Food, english.Plant:
		return true
	case english.Act, english.Person, english.Communication:
		return !w.verb && !w.adjective && !r.isName(t)
	}
	return false
}

// ofSomething reports whether the words from token t, behind "of", name something else, neither an owner nor a size: not
// "a stick of her own", "a cane of the same height".
func (r *reader) ofSomething(t int) bool {
	what := t
	if r.is(what, article) {
		what++
	}
	if p, ok := r.phraseOpening(t); ok && (p.sense == english.Person || r.is(p.head, tablemate)) || r.object(t) {
		return false // "the cane of her room-mate", "the sling of her"
	}
	return r.word(t+1) != "own" && r.word(t) != "hers" && !r.english(what).adjective
}

// noteNames reports whether a word of the class stands anywhere in the note.
func (r *reader) noteNames(c class) bool { return r.anyBetween(0, len(r.toks), c) }

// noteTellsLift reports whether the note tells of a mechanical lift or of lifting.
func (r *reader) noteTellsLift() bool {
	for k := range r.units {
		switch u := &r.units[k]; u.kind {
		case kindAid:
			if isLift(u.e.name) {
				return true
			}
		case kindVerb:
			if u.e.name == "lift" || isLift(u.e.fields.method) {
				return true
			}
		}
	}
	return false
}
