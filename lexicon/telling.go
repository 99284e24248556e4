package lexicon

// Telling has more words than a list of verbs holds. A message may be named ("gave the nurse a shout", "her daughter
// got the phone call"), and what was told may stand between the verb and the person ("passed all that on to the
// office", "sung out to Marg the LPN"). The message or the verb is found first; then the words beside it say whom.

// tellingAt makes a unit of the words at token i by which somebody named beside them was told.
func (r *reader) tellingAt(i int) (unit, bool) {
	end := 0
	switch {
	case r.is(i, receives):
		end = r.messageGot(i)
	case r.is(i, messageNoun):
		end = r.messageTo(i)
	}
	if end == 0 && r.is(i, passesOn) {
		end = r.passedOn(i)
	}
	if end == 0 {
		return unit{}, false
	}
	return unit{from: i, to: end, kind: kindTold, e: r.lex.find("told.message")}, true
}

// messageGot is the token behind the message that somebody named before the verb at token i got, 0 for none: "her
// daughter in Leeds got the phone call", "GP was sent a text".
func (r *reader) messageGot(i int) int {
	end := r.messageEnd(i + 1)
	if end == 0 || r.word(end) == "from" || r.word(end) == "to" {
		return 0
	}
	for k := i - 1; k >= 0 && k >= i-5 && !r.pauses(k); k-- {
		if r.mayBeTold(k) {
			return end
		}
	}
	return 0
}

// messageEnd is the token behind an article and the message that it opens at token i, 0 for none.
func (r *reader) messageEnd(i int) int {
	if !r.is(i, article) && r.word(i) != "word" {
		return 0
	}
	end := 0
	for k := i; k < i+4 && (r.is(k, article) || r.is(k, messageNoun) || r.english(k).adjective); k++ {
		if r.is(k, messageNoun) {
			end = k + 1
		}
	}
	return end
}

// messageTo is the token behind the words from the message at token i on that lead to somebody who was told, or that
// stand behind somebody who was given it: "had a word with Sister", "gave the nurse a shout". 0 for none.
func (r *reader) messageTo(i int) int {
	if r.is(i+1, leadsToTold) && r.personBehind(i+2) && r.happenedBefore(len(r.units)) {
		return i + 2
	}
	k := i - 1
	for r.is(k, article) || r.is(k, messageNoun) || r.english(k).adjective && !r.object(k) {
		k--
	}
	if k < i-1 && !r.object(k) && !r.is(k, thirdPerson) && r.wasGiven(k) {
		return i + 1
	}
	return 0
}

// wasGiven reports whether the words that end at token i say that somebody who may be told was given something.
func (r *reader) wasGiven(i int) bool {
	told := false
	for k := i; k >= 0 && k > i-8 && !r.pauses(k); k-- {
		if r.is(k, gives) {
			return told
		}
		told = told || r.mayBeTold(k)
	}
	return false
}

// passedOn is the token behind the preposition that leads from the verb at token i, over what was told, to somebody
// who was told it, 0 for none: "passed that straight on to the office", "reported same to RN".
func (r *reader) passedOn(i int) int {
	if r.opensNoun(i - 1) {
		return 0 // "on the phone to his daughter"
	}
	for k := i + 1; k < i+6; k++ {
		switch {
		case r.is(k, leadsToTold) && r.personBehind(k+1):
			return k + 1
		case !r.is(k, whatIsTold):
			return 0
		}
	}
	return 0
}

// personBehind reports whether somebody who may be told stands at token i, behind an article, an owner or a name.
func (r *reader) personBehind(i int) bool {
	for end := i + 4; i < end; i++ {
		switch {
		case r.mayBeTold(i):
			return true
		case !r.opensNoun(i) && !r.isName(i) && !r.is(i, title):
			return false
		}
	}
	return false
}

// mayBeTold reports whether the word at token i is somebody whose being told counts: a nurse, a relative, the office.
func (r *reader) mayBeTold(i int) bool {
	if i >= len(r.toks) {
		return false
	}
	if h, ok := r.hitAt(i); ok && r.kindOf(h) == kindPerson {
		name := r.lex.said[h.Payload].e.name
		return name != "other" && name != "pt"
	}
	if !r.lex.themes.Opens(&r.themeIn[i]) {
		return false
	}
	h, ok := r.lex.themes.At(r.themeIn, i)
	return ok && r.lex.said[h.Payload].e.family == "told"
}
