package lexicon

import "example.com/stance/lexicon/internal/token"

// Why somebody moved a resident alone is mostly told as what kept a colleague: "Tasha was still on break", "my buddy
// was stuck in room 4", "Bola had gone home sick", "the agency girl never turned up". The words that keep somebody away
// are found first; then those before them say who. A bare name may be the resident's own, so it needs a writer who
// tells nearby that they were alone.

// keptAwayAt makes a unit of the words at token i that tell that a colleague was not there to help.
func (r *reader) keptAwayAt(i int) (unit, bool) {
	end := r.keptEnd(i)
	if end == 0 {
		return unit{}, false
	}
	who, told := i-1, r.is(i, goesOff)
	for who >= 0 && who >= i-7 && r.leadsToKept(who) {
		told = told || r.is(who, beWord) || r.is(who, hasWord) || r.is(who, goesOff) || r.deniesBeing(who)
		who--
	}
	if !told || !r.colleagueEnding(who) && !(r.namedColleague(who) && r.writerAlone(who)) {
		return unit{}, false
	}
	for r.opensNoun(who-1) || r.is(who-1, otherOf) || r.is(who-1, colleagueNoun) || r.is(who-1, staffWord) || r.word(who-1) == "second" {
		who--
	}
	if !r.opensClause(who-1) && !r.is(who-1, why) && !r.is(who-1, hence) {
		return unit{}, false // "told the nurse at handover"
	}
	return unit{from: who, to: end, kind: kindReason, e: r.lex.find("reason.no-staff")}, true
}

// keptEnd is the token behind the words at token i that tell what kept somebody, 0 where they do not.
func (r *reader) keptEnd(i int) int {
	before := i - 1
	if r.english(before).isNoun && !r.is(before, keptBy) && !r.is(before, beWord) && !r.is(before, hasWord) {
		before-- // "at the fire drill"
	}
	for r.opensNoun(before) || r.english(before).adjective && !r.is(before, beWord) && !r.is(before, keptBy) {
		before-- // "on her long break"
	}
	switch {
	case r.is(i, keptState):
		if r.is(before, beWord) || r.is(before, perfect) || r.is(before, justThere) || r.is(before, still) {
			if r.opensNoun(i+1) && r.is(i+2, otherRoom) {
				return i + 3 // "off the floor"
			}
			return i + 1
		}
	case r.is(i, goesOff) && (r.is(i+1, offHome) || r.word(i-1) == "to" && r.is(i-2, hasWord)):
		return i + 2 // "gone home sick", "had to go with Mr Jones"
	case r.is(i, keptPause):
		if r.is(before, keptBy) || r.is(before, hasWord) && before == i-1 {
			return i + 1
		}
	case r.is(i, keptBusy):
		return r.busyEnd(i)
	case r.is(i, keptBy):
		return r.elsewhereEnd(i)
	case r.is(i, turnsUp):
		if r.deniesBeing(before) && r.word(i+1) == "up" {
			return i + 2
		}
		if r.deniesBeing(before) {
			return i + 1
		}
	}
	return 0
}

// busyEnd is the token behind the work at token i that kept somebody, 0 where it is with the writer or resident:
// "doing the meds", "seeing to Mr Bell".
func (r *reader) busyEnd(i int) int {
	k := i + 1
	for r.is(k, somewhere) || r.word(k) == "to" || r.word(k) == "with" {
		k++
	}
	if r.is(k, object) || r.is(k, things) || r.is(k, firstPerson) || r.word(k) == "me" || r.word(k) == "us" || r.endsThere(k) {
		return 0
	}
	if r.is(i-1, beWord) || r.is(i-1, justThere) || r.is(i-1, still) {
		return k + 1
	}
	return 0
}

// elsewhereEnd is the token behind the place or person at which the preposition at token i says that a colleague was,
// 0 for none: "in room 4", "on the other floor", "with another resident".
func (r *reader) elsewhereEnd(i int) int {
	if !r.is(i-1, beWord) && !r.is(i-1, justThere) && !r.is(i-1, still) {
		return 0
	}
	k := i + 1
	if h, ok := r.hitAt(k); r.word(i) == "with" && ok && r.kindOf(h) == kindPerson {
		return h.To
	}
	if r.word(i) == "with" && (r.is(k, title) || r.isName(k)) {
		return k + 1
	}
	other := false
	for k < i+5 && (r.opensNoun(k) || r.is(k, otherOf) || r.word(k) == "a" || r.word(k) == "new") {
		other = other || !r.opensNoun(k)
		k++
	}
	if r.is(k, otherRoom) && (other || k+1 < len(r.toks) && (r.toks[k+1].IsNum || r.isName(k+1))) || other && (r.is(k, residentNoun) || r.word(i) == "with") {
		return k + 1
	}
	return 0
}

// leadsToKept reports whether token i may stand between a colleague and what kept them.
func (r *reader) leadsToKept(i int) bool {
	return r.is(i, beWord) || r.is(i, perfect) || r.is(i, justThere) || r.is(i, still) || r.is(i, keptBy) || r.opensNoun(i) ||
		r.is(i, hasWord) || r.is(i, goesOff) || r.is(i, keptState) || r.deniesBeing(i) ||
		(r.english(i).adjective || r.english(i).isNoun) && !r.is(i, colleagueNoun) && !r.is(i, staffWord) && !r.is(i, everyColleague) && !r.isName(i)
}

// colleagueEnding reports whether the words that end at token i name staff: "my partner", "the other girl",
// "everybody", "all the girls".
func (r *reader) colleagueEnding(i int) bool {
	return r.is(i, everyColleague) || r.is(i, colleagueNoun) || r.is(i, staffWord)
}

// namedColleague reports whether token i is a bare name, as staff call one another.
func (r *reader) namedColleague(i int) bool {
	if i < 0 || !r.toks[i].Capital || !r.english(i).given && !r.isName(i) {
		return false
	}
	return !r.is(i-1, title) && r.word(i-1) != "." && !r.is(i, kinAddress) || r.opens(i) && !r.is(i-2, title)
}

// writerAlone reports whether the sentence of token i says that the writer was alone.
func (r *reader) writerAlone(i int) bool {
	from := i
	for from > 0 && r.signAt(from-1) != '.' {
		from--
	}
	for k := max(from, i-30); k < i+20 && k < len(r.toks) && (k < i || r.signAt(k) != '.'); k++ {
		switch t := &r.toks[k]; {
		case r.is(k, aloneWord), r.is(k, onlyWord) && (r.word(k+1) == "me" || r.word(k-1) == "me"):
			return true
		case t.IsNum && t.Num == 1 && (t.Kind == token.Number || r.word(k+1) == "person") && (r.word(k-1) == "x" || r.word(k+1) == "x" || r.word(k+1) == "person" || t.Glued):
			return true
		}
	}
	return false
}
