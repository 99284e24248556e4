package lexicon

import "strings"

// A note often passes on what the resident told, dreamt or watched. A story takes along all that its sentence tells,
// and the sentences that go on with it, up to words of this shift.

// stories marks what is told in a story as told by the unit that opens it, and takes out what was only dreamt or seen
// in a film.
func (r *reader) stories() {
	opener := -1
	for i := range r.units {
		u := &r.units[i]
		switch {
		case u.kind == kindStory:
			if r.opensStory(i) {
				opener = i
			}
		case r.lateRelative(u):
			opener = i
		case opener < 0:
		case r.endsStory(opener, i):
			opener = -1
		default:
			r.inStory(u, opener)
		}
	}
}

// lateRelative reports whether the unit names a relative who has died: "her late husband's birthday".
func (r *reader) lateRelative(u *unit) bool {
	return u.kind == kindPerson && u.e.name == "family" && (r.word(u.from) == "late" || r.word(u.from-1) == "late" || r.word(u.from+1) == "late")
}

// endsStory reports whether the story of the opener ends at unit i.
func (r *reader) endsStory(opener, i int) bool {
	u := &r.units[i]
	if u.sign == '.' {
		return !r.goesOnTelling(opener, i)
	}
	return r.partsStory(i) && (r.backToShift(i+1) || r.word(u.from) == "when" && r.tellingWas(opener))
}

// inStory marks the unit as told in the story of the opener, or takes it out where that was no more than a dream.
func (r *reader) inStory(u *unit, opener int) {
	switch u.kind {
	case kindVerb, kindFall, kindSign, kindOffFloor, kindAid, kindFaultWord, kindFit, kindBearing, kindTheme:
		if r.units[opener].e.name == "dream" {
			drop(u)
		} else {
			u.story = opener + 1
		}
	}
}

// opensStory reports whether the words at unit i open a story: those of telling only where the sentence has words of
// the past, or none of this shift and this house.
func (r *reader) opensStory(i int) bool {
	u := &r.units[i]
	switch {
	case r.word(u.to) == "to", r.anyBetween(max(u.from-4, 0), u.from, amid):
		return false // "remembers to use her frame", "in the middle of a story about the war he fell"
	case u.e.name == "dream" && u.to-u.from == 1 && !r.is(u.from, dreams):
		return r.tellsDream(u.to)
	case u.e.name == "told":
		return r.tellsOfThen(i)
	}
	return true
}

// tellsDream reports whether what was dreamt is told from token t on.
func (r *reader) tellsDream(t int) bool {
	switch r.word(t) {
	case "of", "that", "where":
		return true
	}
	return r.is(t, thirdPerson) || r.is(t, topicLead)
}

// tellsOfThen reports whether the words of telling at unit i go on with the past, or with nothing of this shift and this
// house.
func (r *reader) tellsOfThen(i int) bool {
	u := &r.units[i]
	here := r.fallLookedAt() || i+1 < len(r.units) && r.units[i+1].kind == kindFall && r.units[i+1].from == u.to // "remembers falling"
	for k := i + 1; k < len(r.units) && r.units[k].sign != '.'; k++ {
		switch n := &r.units[k]; n.kind {
		case kindPast:
			if n.e.name != "home" && n.e.name != "after" {
				return true
			}
		case kindNow, kindClock, kindPlace, kindStaff, kindLevel:
			here = true
		}
	}
	return !here
}

// fallLookedAt reports whether the note tells of finding or examining somebody who fell, so that a fall that is told of
// in it is that one.
func (r *reader) fallLookedAt() bool {
	for k := range r.units {
		switch u := &r.units[k]; u.kind {
		case kindForm, kindOffFloor:
			return true
		case kindFall:
			switch u.e.name {
			case "found", "assessed", "injury", "head":
				return true
			}
		}
	}
	return false
}

// tellingWas reports whether the unit tells what somebody was busy telling, when something else happened: "was telling
// me about her wedding when she slipped".
func (r *reader) tellingWas(k int) bool {
	u := &r.units[k]
	return strings.HasSuffix(r.word(u.from), "ing") && r.is(u.from-1, beingTold)
}

// partsStory reports whether a part of the sentence begins behind unit i.
func (r *reader) partsStory(i int) bool {
	u := &r.units[i]
	return u.sign == ',' || u.sign == ';' || u.sign == '-' || u.sign == ')' || u.kind == kindBreak || u.kind == kindAnd
}

// backToShift reports whether the part of the sentence from unit i on tells of this shift: it names the time of it,
// helpers or an amount of help, or what the writer did.
func (r *reader) backToShift(i int) bool {
	for k := i; k < len(r.units) && r.units[k].sign != '.' && !r.partsStory(k); k++ {
		switch n := &r.units[k]; n.kind {
		case kindNow:
			if k == 0 || r.units[k-1].kind != kindPast {
				return true // but "three weeks ago now"
			}
		case kindClock, kindStaff, kindLevel, kindTold, kindHeader, kindPlanHead:
			return true
		case kindSubject:
			if r.is(n.from, firstPerson) {
				return true
			}
		}
	}
	return false
}

// goesOnTelling reports whether the sentence behind the full stop at unit i goes on with the story of the opener: it
// begins with "she" or "he", or tells of then, and names nothing of this shift or this house.
func (r *reader) goesOnTelling(opener, i int) bool {
	if r.units[opener].e.name == "told" || r.word(r.units[i].from) == "\n" || !r.is(r.units[i].to, thirdPerson) {
		return false
	}
	for k := i + 1; k < len(r.units) && r.units[k].sign != '.'; k++ {
		switch n := &r.units[k]; n.kind {
		case kindPlace, kindCare, kindStaff, kindLevel, kindNow, kindClock, kindTold, kindPlanned, kindIf:
			return false
		case kindSubject:
			if r.is(n.from, firstPerson) {
				return false
			}
		}
	}
	return true
}
