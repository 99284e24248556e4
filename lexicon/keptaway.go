package lexicon

import "example.com/stance/lexicon/internal/token"

// Why somebody moved a resident alone is mostly told as what kept a colleague: "Tasha was still on break", "my buddy
// was stuck in room 4", "Bola had gone home sick", "the agency girl never turned up". The words that keep somebody away
// are found first; then those before them say who. A bare name may be the resident's own, so it needs a writer who
// tells nearby that they were alone.

// keptAway reads a unit that tells that a colleague was not there to help: by what kept them, which ends where end says,
// 0 for nowhere, and by who stands before it.
func keptAway(end func(*reader, int) int) func(*reader, int) (unit, bool) {
	return func(r *reader, i int) (unit, bool) {
		to := end(r, i)
		if to == 0 {
			return unit{}, false
		}
		from := r.keptFrom(i)
		return unit{from: from, to: to, kind: kindReason, e: r.lex.find("reason.no-staff")}, from >= 0
	}
}

// keptFrom is the token at which the name of the colleague begins whom the words at token i say to be kept, -1 for none.
func (r *reader) keptFrom(i int) int {
	who, told := i-1, r.is(i, goesOff)
	for who >= 0 && who >= i-7 && r.leadsToKept(who) {
		told = told || r.keptLink(who)
		who--
	}
	if !told || !r.isColleague(who) && !(r.namedColleague(who) && r.writerAlone(who)) {
		return -1
	}
	return r.colleagueFrom(who)
}

// colleagueFrom is the token at which the name of a colleague that ends at token i begins, -1 where it opens no clause:
// "told the nurse at handover".
func (r *reader) colleagueFrom(i int) int {
	for r.opensNoun(i-1) || r.is(i-1, otherOf) || r.isColleague(i-1) || r.word(i-1) == "second" {
		i--
	}
	if r.opensClause(i-1) || r.is(i-1, why) || r.is(i-1, hence) {
		return i
	}
	return -1
}

// keptLink reports whether token i is the verb that joins a colleague to what kept them.
func (r *reader) keptLink(i int) bool {
	return r.is(i, beWord) || r.is(i, hasWord) || r.is(i, goesOff) || r.deniesBeing(i)
}

// leadsToKept reports whether token i may stand between a colleague and what kept them.
func (r *reader) leadsToKept(i int) bool {
	if r.keptLink(i) || r.isStill(i) || r.is(i, keptBy) || r.opensNoun(i) || r.is(i, keptState) {
		return true
	}
	w := r.english(i)
	return (w.adjective || w.isNoun) && !r.isColleague(i) && !r.isName(i)
}

// isStill reports whether token i only says that a state is, was or has been going on.
func (r *reader) isStill(i int) bool {
	return r.is(i, beWord) || r.is(i, perfect) || r.is(i, justThere) || r.is(i, still)
}

// stateEnd is the token behind the state at token i in which nobody helps: "was off sick", "is away".
func (r *reader) stateEnd(i int) int {
	before := i - 1
	for r.opensNoun(before) {
		before--
	}
	switch {
	case !r.isStill(before):
		return 0
	case r.opensNoun(i+1) && r.is(i+2, otherRoom):
		return i + 3 // "off the floor"
	}
	return i + 1
}

// pauseEnd is the token behind the break at token i: "on her tea break", "at the fire drill", "have pause".
func (r *reader) pauseEnd(i int) int {
	before := i - 1
	for before > i-4 && !r.is(before, keptBy) && !r.keptLink(before) && (r.opensNoun(before) || r.english(before).isNoun || r.english(before).adjective) {
		before--
	}
	if r.is(before, keptBy) || r.is(before, hasWord) && before == i-1 {
		return i + 1
	}
	return 0
}

// goneEnd is the token behind the words at token i that somebody is gone: "gone home sick", "had to go with Mr Jones".
func (r *reader) goneEnd(i int) int {
	if r.is(i+1, offHome) || r.word(i-1) == "to" && r.is(i-2, hasWord) {
		return i + 2
	}
	return 0
}

// noShowEnd is the token behind the words at token i that somebody did not come: "never turned up".
func (r *reader) noShowEnd(i int) int {
	switch {
	case !r.deniesBeing(i - 1):
		return 0
	case r.word(i+1) == "up":
		return i + 2
	}
	return i + 1
}

// busyEnd is the token behind the work at token i that kept somebody, 0 where it is with the writer or resident:
// "doing the meds", "seeing to Mr Bell".
func (r *reader) busyEnd(i int) int {
	if !r.isStill(i - 1) {
		return 0
	}
	k := i + 1
	for r.is(k, somewhere) || r.word(k) == "to" || r.word(k) == "with" {
		k++
	}
	if r.is(k, object) || r.is(k, things) || r.is(k, writerNamed) || r.word(k) == "us" || r.endsThere(k) {
		return 0
	}
	return k + 1
}

// elsewhereEnd is the token behind the place or person at which the preposition at token i says that a colleague was,
// 0 for none: "in room 4", "on the other floor", "with another resident".
func (r *reader) elsewhereEnd(i int) int {
	if !r.isStill(i - 1) {
		return 0
	}
	if end := r.personEnd(i + 1); end > 0 && r.word(i) == "with" {
		return end
	}
	k, other := i+1, false
	for k < i+5 && (r.opensNoun(k) || r.is(k, otherOf) || r.word(k) == "new") {
		other = other || !r.opensNoun(k)
		k++
	}
	if r.is(k, otherRoom) && (other || r.numbered(k+1)) || other && r.word(i) == "with" {
		return k + 1
	}
	return 0
}

// numbered reports whether token i is the number or the name by which a room is told apart.
func (r *reader) numbered(i int) bool {
	return i < len(r.toks) && (r.toks[i].IsNum || r.isName(i))
}

// personEnd is the token behind the person named at token i, 0 for none.
func (r *reader) personEnd(i int) int {
	if h, ok := r.hitAt(i); ok && r.kindOf(h) == kindPerson {
		return h.To
	}
	if r.is(i, title) || r.isName(i) {
		return i + 1
	}
	return 0
}

// isColleague reports whether token i names staff by their work, or all who might help.
func (r *reader) isColleague(i int) bool {
	return r.is(i, everyColleague) || r.is(i, colleagueNoun) || r.is(i, staffWord)
}

// namedColleague reports whether token i is a bare name, as staff call one another.
func (r *reader) namedColleague(i int) bool {
	if i < 0 || !r.toks[i].Capital || !r.english(i).given && !r.isName(i) || r.is(i, kinAddress) {
		return false
	}
	return !r.is(i-1, title) && !(r.word(i-1) == "." && r.is(i-2, title))
}

// writerAlone reports whether the sentence of token i says that the writer was alone.
func (r *reader) writerAlone(i int) bool {
	from, to := i, i
	for from > 0 && from > i-30 && r.signAt(from-1) != '.' {
		from--
	}
	for to < len(r.toks) && to < i+20 && r.signAt(to) != '.' {
		to++
	}
	for k := from; k < to; k++ {
		if r.is(k, aloneWord) || r.is(k, onlyWord) && (r.word(k+1) == "me" || r.word(k-1) == "me") || r.timesOne(k) {
			return true
		}
	}
	return false
}

// timesOne reports whether token i counts one helper: "x1", "1 person".
func (r *reader) timesOne(i int) bool {
	t := &r.toks[i]
	if !t.IsNum || t.Num != 1 || t.Kind != token.Number && r.word(i+1) != "person" {
		return false
	}
	return r.word(i-1) == "x" || r.word(i+1) == "x" || r.word(i+1) == "person" || t.Glued
}
