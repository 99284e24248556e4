package lexicon

import (
	"strings"

	"example.com/stance/lexicon/internal/english"
	"example.com/stance/lexicon/internal/token"
)

// faller is who or what a fall is told of.
type faller uint8

const (
	whoUnsaid faller = iota
	theResident
	aThing
	stranger // somebody who is neither the resident nor known by name
)

// fallerOf reports who or what is told to fall, faint or collapse by the verb at token i.
func (r *reader) fallerOf(i int) faller {
	switch {
	case r.is(i, fallNoun) && r.is(i-1, someoneElse):
		return stranger // "heard someone fall"
	case r.is(i, fallNoun), !r.english(i).verb && !r.is(i, perfect):
		return whoUnsaid // "no falls" tells nobody's
	}
	k := i - 1
	for k >= 0 && (r.is(k, perfect) || r.is(k, justThere) || strings.HasSuffix(r.word(k), "ly")) {
		k--
	}
	if k < 0 || r.toks[k].Kind != token.Word {
		return whoUnsaid
	}
	if r.word(k) == "door" && r.word(k-1) == "next" {
		k -= 2
	}
	for n := 0; n < 2; n++ {
		if from := r.prepositionOf(k); from > 0 {
			k = from - 1 // "the clock on the wall fell"
		}
	}
	switch {
	case k < 0 || r.toks[k].Kind != token.Word:
		return whoUnsaid
	case r.is(k, someoneElse):
		return stranger
	case r.is(k, things) && !r.object(k):
		return aThing
	case r.someone(k), r.is(k, residentNoun):
		return theResident
	}
	w := r.english(k)
	if !w.isNoun || w.noun == english.NoSense {
		return whoUnsaid
	}
	first := k
	for first > 0 && first > k-4 && (r.english(first-1).adjective || r.english(first-1).isNoun && !r.english(first-1).verb) && !r.is(first-1, article) && !r.is(first-1, owner) {
		first--
	}
	named := first > 0 && (r.is(first-1, article) || r.is(first-1, owner) || r.word(first-1) == "'s")
	if named {
		first--
	}
	if r.word(first) == "'s" {
		first--
	}
	switch {
	case !r.opensClause(first):
		return whoUnsaid
	case w.noun != english.Person:
		return aThing
	case named && (r.word(first) == "a" || r.word(first) == "an") || r.nextDoor(k):
		return stranger
	}
	return whoUnsaid
}

// nextDoor reports whether the words behind the person at token k say that it is somebody else: "the bloke next door".
func (r *reader) nextDoor(k int) bool {
	return r.word(k+1) == "next" && r.word(k+2) == "door" || r.word(k+1) == "opposite" || r.word(k+1) == "across" ||
		r.word(k+1) == "down" && r.word(k+2) == "the"
}

// opensClause reports whether token i begins a clause.
func (r *reader) opensClause(i int) bool {
	return r.opens(i) || r.pauses(i-1) || r.is(i-1, when) || r.is(i-1, joinsClause)
}

// prepositionOf is the preposition of the phrase that ends at token i, 0 for none.
func (r *reader) prepositionOf(i int) int {
	for k := i - 1; k > 0 && k >= i-4; k-- {
		if r.is(k, besidePlace) || r.is(k, onPart) || r.word(k) == "across" || r.word(k) == "from" {
			return k
		}
		if !r.beforeFloor(k) {
			return 0
		}
	}
	return 0
}

// fellForIt reports whether the words at unit u are an idiom of being taken in, or in love: "fell for her husband".
func (r *reader) fellForIt(u *unit) bool {
	for k := u.from; k <= u.to; k++ {
		if r.word(k) == "for" {
			return r.is(k+1, owner) || r.is(k+1, article) && !r.is(k+2, ordinal) || r.is(k+1, things) || r.object(k+1) || r.isName(k+1)
		}
	}
	return false
}

// retold reports whether the fall at unit i is a story that somebody told: "told us how she fell in the market". A note
// that tells what came of it tells no story.
func (r *reader) retold(i int) bool {
	u := &r.units[i]
	how := -1
	for k := u.from - 1; k >= 0 && k >= u.from-4 && !r.pauses(k); k-- {
		if r.word(k) == "how" || r.word(k) == "about" {
			how = k
		}
	}
	if how < 0 || !r.is(how-1, otherObject) && !r.is(how-2, otherObject) {
		return false
	}
	for k := range r.units {
		if n := &r.units[k]; k != i && (n.kind == kindOffFloor || n.kind == kindFall && n.e.name != "injury" && n.e.name != "going") {
			return false
		}
	}
	return true
}

// longAgo reports whether a later clause of the sentence puts the fall at unit i some time back: "fell off a
// stepladder picking plums, three weeks ago now".
func (r *reader) longAgo(s *sentence, i int) bool {
	for k := i + 1; k < s.hi && k <= i+6; k++ {
		switch n := &r.units[k]; {
		case n.kind == kindPast:
			return r.word(n.to-1) == "ago"
		case n.kind == kindFall, n.kind == kindNow, n.kind == kindOffFloor, n.kind == kindBreak && r.parts(k) == 2:
			return false
		}
	}
	return false
}

// dreamt reports whether the words before token i in its clause tell of a dream.
func (r *reader) dreamt(i int) bool {
	for k := i - 1; k >= 0 && k >= i-6 && !r.pauses(k); k-- {
		if r.is(k, dreams) {
			return true
		}
	}
	return false
}
