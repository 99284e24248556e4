package lexicon

import (
	"strings"

	"example.com/stance/lexicon/internal/token"
)

// settle decides units whose words have several readings by what stands beside them.
func (r *reader) settle() {
	for i := range r.units {
		u := &r.units[i]
		if u.e == nil {
			continue
		}
		switch u.kind {
		case kindSide:
			r.settleSide(i)
		case kindTold:
			if strings.HasPrefix(r.word(u.from), "let") && u.to-u.from == 1 && !r.wordWithin(u.to, 7, "know") {
				drop(u)
			}
		case kindVitalName:
			r.settleVitalName(i)
		case kindPerson:
			r.settlePerson(i)
		case kindHeader, kindPlanHead:
			r.settleHeading(i)
		case kindStaff:
			r.settleStaff(i)
		case kindBearing:
			// "WB:" and "Weight bearing status:" head a line; the status follows.
			if u.e.name == "able" && r.nextIsColon(i) {
				u.kind = kindHeader
			}
		case kindAid:
			if r.hoistsSomebody(i) {
				u.kind, u.e, u.form = kindVerb, r.lex.find("verb.hoist"), Base
				break
			}
			if u.to-u.from == 1 && r.is(u.from, surnameToo) && (r.surname(u.from) || r.titled(u.from)) || r.otherThing(i) {
				drop(u)
			}
		case kindIgnore:
			r.settleDid(i)
		case kindVague:
			r.settleVague(i)
		case kindSubject:
			r.settleNames(i)
		case kindPast:
			r.settlePast(i)
		case kindLevel:
			r.settleLevel(i)
		case kindOrder:
			if r.word(u.from) == "to" && r.is(u.from-1, hadTo) {
				drop(u) // "had to use the belt"
			}
		case kindPlanned:
			switch {
			case r.word(u.from) == "to" && (r.is(u.from-1, reportedTo) || (r.is(u.from-1, hadTo) || r.is(u.from-1, helpWord)) && u.to-u.from == 2):
				drop(u) // "was noted to have slipped", "had to be picked up", "needed help to get to bed"
			case r.word(u.from) == "to" && (r.usedBefore(i) || r.follows(i, kindVague)):
				drop(u) // "used the lift to get him up"
			case strings.HasPrefix(r.word(u.from), "plan") && r.nextIsColon(i):
				u.kind = kindPlanHead
			case u.to-u.from == 2 && r.word(u.to-1) == "to" && i+1 < len(r.units) && r.isPlace(i+1) && r.onlyArticles(u.to, r.units[i+1].from):
				u.kind, u.e, u.from = kindTo, r.lex.find("prep.to"), u.from+1 // "Pt to w/c with A2"
			}
		case kindSign:
			if r.faintly(u) {
				drop(u)
			} else if r.is(u.from, wobbles) && r.thingBefore(i) {
				u.kind, u.e = kindFaultWord, r.lex.find("fault.word") // "wheel is wobbly on her rollator"
			}
		case kindFall:
			if r.onlyTopic(i) {
				drop(u)
			}
		case kindIf:
			if r.word(u.from) == "provided" && u.to-u.from == 1 && (r.endsThere(u.to) || r.is(u.to, givenFor) || r.givenBefore(u.from)) {
				drop(u) // "treatment provided: …", "assistance provided with transfers", "was provided help x1"
			}
		case kindVitalTaken:
			if r.word(u.from) == "vs" && u.to-u.from == 1 && i > 0 && r.units[i-1].to == u.from && r.units[i-1].kind != kindAnd && r.units[i-1].sign == 0 {
				drop(u) // "max A today vs min A yesterday"
			}
		case kindClock:
			r.settleBareNumber(i)
		case kindTo:
			if r.helpersToMove(u) {
				u.kind, u.e = kindStaff, r.lex.find("staff.plain") // the figure 2 is also written for "to"
			}
		case kindPosture:
			r.settlePosture(i)
		case kindVerb:
			r.settleVerb(i)
		}
	}
}

// onlyTopic reports whether falls are only talked or worried about: "concerns about falls", "discussed falls".
func (r *reader) onlyTopic(i int) bool {
	u := &r.units[i]
	w := r.word(u.from)
	if u.to-u.from > 1 || w != "falls" && w != "falling" || i > 0 && r.units[i-1].kind == kindNegPre {
		return false
	}
	for k := u.from - 1; k >= 0 && k >= u.from-4 && r.toks[k].Kind == token.Word && !r.is(k, article); k-- {
		if r.is(k, topicLead) {
			return true
		}
		if w == "falls" && !r.english(k).adjective && !r.english(k).isNoun && !r.is(k, owner) {
			return false
		}
	}
	return false
}

// faintly reports whether "faint" only weakens the noun beside it ("faint redness", "pulse faint").
func (r *reader) faintly(u *unit) bool {
	if r.word(u.from) != "faint" || u.to-u.from > 1 {
		return false
	}
	next := r.english(min(u.to, len(r.toks)-1))
	if u.to < len(r.toks) && r.toks[u.to].Kind == token.Word && (next.isNoun || next.adjective) && !r.is(u.to, faintTurn) && !r.is(u.to, preposition) && !r.is(u.to, goesOn) {
		return true
	}
	return r.is(u.from-1, vitalsWord) || r.is(u.from-1, thingFalls)
}

// givenBefore reports whether somebody gave or was given what follows token i, a verb then and no condition.
func (r *reader) givenBefore(i int) bool {
	return r.is(i-1, perfect) || r.is(i-1, beingTold) || r.is(i-1, thirdPerson) || r.is(i-1, firstPerson) || r.is(i-1, staffWord)
}

// follows reports whether a unit of the kind stands right before unit i.
func (r *reader) follows(i int, k kind) bool {
	return i > 0 && r.units[i-1].kind == k && r.units[i-1].to == r.units[i].from
}

// leads reports whether a unit of the kind stands right behind unit i.
func (r *reader) leads(i int, k kind) bool {
	return i+1 < len(r.units) && r.units[i+1].kind == k && r.units[i+1].from == r.units[i].to
}

// oneLetter reports whether the unit is a single letter, which needs company to mean anything.
func (r *reader) oneLetter(u *unit) bool { return u.to-u.from == 1 && len(r.word(u.from)) == 1 }

// settleSide reads "R" as a heading ("R: …") or as the breathing rate, and drops a lone "L" or "R".
func (r *reader) settleSide(i int) {
	u := &r.units[i]
	if !r.oneLetter(u) {
		return
	}
	isR := r.word(u.from) == "r"
	switch {
	case isR && r.nextIsColon(i) && r.opens(u.from) && !(r.figureAt(u.to+1) && r.vitalBeside(i)):
		u.kind = kindPlanHead
	case isR && (r.figureAt(u.to) || (r.word(u.to) == ":" || r.word(u.to) == "=") && r.figureAt(u.to+1)) && r.vitalBeside(i):
		u.kind, u.e = kindVitalName, r.lex.find("vital.breaths")
	case !r.nearLimbOrStatus(i) && !r.is(u.from-1, through) && !r.onTheSide(i):
		drop(u)
	}
}

// onTheSide reports whether a status leads to the lone letter with "on the": "NWB on the L".
func (r *reader) onTheSide(i int) bool {
	u := &r.units[i]
	at := i - 1
	for at > 0 && r.units[at].from >= u.from-2 {
		at-- // "on" may lead to a place too
	}
	return at >= 0 && r.is(u.from-1, article) && r.is(u.from-2, through) && r.units[at].kind == kindBearing && r.units[at].to == u.from-2
}

// settleVitalName reads "P:" and "R:" as headings, and drops names of vital signs that no figure follows,
// but for "BP" and other names that are plain enough.
func (r *reader) settleVitalName(i int) {
	u := &r.units[i]
	one := r.oneLetter(u)
	if w := r.word(u.from); one && (w == "p" || w == "r") && r.nextIsColon(i) && r.opens(u.from) && !(r.figureAt(u.to+1) && r.vitalBeside(i)) {
		u.kind = kindPlanHead
		return
	}
	if !r.toks[u.from].IsNum && !r.figureFollows(i) && (one || u.e.name != "pressure") {
		drop(u)
	}
}

// settlePerson reads "PT", and "Sister" as the nurse ("told Sister").
func (r *reader) settlePerson(i int) {
	u := &r.units[i]
	switch {
	case u.e.name == "pt":
		r.settlePT(i)
	case u.e.name == "family" && r.word(u.from) == "sister" && r.toks[u.from].Capital && !r.toks[u.from].Upper &&
		(!r.opens(u.from) || r.isName(u.to)) && !r.object(u.from-1) && r.word(u.from-1) != "his":
		u.e = r.lex.find("person.nurse")
	case u.e.name == "family" && r.word(u.from) == "sister" && u.to-u.from == 1 && (r.word(u.from-1) == "the" || r.isName(u.from-1)):
		u.e = r.lex.find("person.nurse") // "told the sister", "Sunita sister"
	}
}

// settleHeading takes words of headings for what else they are where no colon follows.
func (r *reader) settleHeading(i int) {
	u := &r.units[i]
	if r.nextIsColon(i) || r.letterLevel(i) {
		return
	}
	if r.word(u.from) == "i" {
		if r.settleNames(i); u.kind == kindStaff {
			return
		}
	}
	if w := r.word(u.from); (w == "rec" || w == "recs") && r.opens(u.from) && r.role != CareWorker && r.role != OtherRole {
		u.kind, u.e = kindOrder, r.lex.find("mood.order") // "Rec 1 person pivot for all transfers"
		return
	}
	if drop(u); r.word(u.from) == "toileting" {
		u.kind, u.e = kindCare, r.lex.find("care.word")
	}
}

// settlePast reads "used to" behind an aid as its use ("lift used to return to bed"), and drops a post that
// is a thing ("hit his head on the verandah post").
func (r *reader) settlePast(i int) {
	u := &r.units[i]
	switch {
	case r.word(u.from) == "used" && u.to-u.from == 2 && r.follows(i, kindAid):
		u.kind, u.e = kindVerb, r.lex.find("verb.use")
	case r.is(u.from, untilWord) && r.untilPlace(u):
		u.kind, u.e = kindTo, r.lex.find("prep.to") // "walked until the window"
	case r.word(u.to-1) == "it" && !r.endsThere(u.to):
		drop(u) // "before it got dark"
	case r.word(u.from) == "post" && u.to-u.from == 1 && (u.to >= len(r.toks) || r.toks[u.to].Kind != token.Word):
		drop(u)
	}
}

// settlePosture reads postures that are moves ("no standing at all", "assist of two with transfers"), and
// drops short ones with no pressure beside them.
func (r *reader) settlePosture(i int) {
	u := &r.units[i]
	if u.e.name == "standing" && u.to-u.from == 1 && r.word(u.from) == "standing" && r.follows(i, kindNegPre) && !r.signBeside(i) {
		u.kind, u.e, u.form = kindVerb, r.lex.find("verb.stand"), Gerund
		return
	}
	if u.e.name == "rising" && !r.signBeside(i) && r.lastVerb(u) {
		return
	}
	if strings.HasSuffix(u.e.name, "-short") && !r.pressureBeside(i) {
		drop(u)
	}
}

// signBeside reports whether a sign stands within a few units of unit i, whose rising it then tells of.
func (r *reader) signBeside(i int) bool {
	for k := max(0, i-5); k < len(r.units) && k <= i+5; k++ {
		switch r.units[k].kind {
		case kindSign, kindVitalPair:
			return true
		}
	}
	return false
}

// vitalBeside reports whether another vital sign stands within four units of unit i: its figure and a comma
// may be units too.
func (r *reader) vitalBeside(i int) bool {
	for k := max(0, i-4); k < len(r.units) && k <= i+4; k++ {
		if n := &r.units[k]; k != i && (n.kind == kindVitalName || n.kind == kindVitalPair) {
			return true
		}
	}
	return false
}

// surname reports whether the capitalised word at token i follows a given name that the vocabulary does not know.
func (r *reader) surname(i int) bool {
	return i > 0 && r.toks[i].Capital && !r.toks[i].Upper && r.toks[i-1].Kind == token.Word && r.toks[i-1].Capital && !r.toks[i-1].Upper && r.in[i-1].Word == 0
}

// titled reports whether the word at token i is a person: a title with a full stop stands before it, or
// it opens the sentence and says or does something that no aid can.
func (r *reader) titled(i int) bool {
	if !r.toks[i].Capital {
		return false
	}
	if r.word(i-1) == "." && r.is(i-2, title) {
		return true
	}
	return r.opens(i) && r.is(i+1, says)
}

// opens reports whether token i begins a line or follows a full stop.
func (r *reader) opens(i int) bool { return r.startsLine(i) || r.word(i-1) == "." }

// wordWithin reports whether w stands among the n tokens from i.
func (r *reader) wordWithin(i, n int, w string) bool {
	for k := i; k < i+n && k < len(r.toks); k++ {
		if r.toks[k].Word == w {
			return true
		}
	}
	return false
}

// pressureBeside reports whether a pair of figures stands within two tokens of unit i.
func (r *reader) pressureBeside(i int) bool {
	for _, k := range [...]int{i - 1, i - 2, i + 1, i + 2} {
		if k >= 0 && k < len(r.units) && r.units[k].kind == kindVitalPair {
			return r.units[k].from-r.units[i].to <= 2 && r.units[i].from-r.units[k].to <= 2
		}
	}
	return false
}

func (r *reader) nextIsColon(i int) bool { return r.word(r.units[i].to) == ":" }

// nearLimbOrStatus reports whether a bare "L" or "R" stands beside a limb or a status.
func (r *reader) nearLimbOrStatus(i int) bool {
	if r.word(r.units[i].to) == ")" && i+2 < len(r.units) && r.units[i+1].sign == ')' {
		switch n := &r.units[i+2]; n.kind {
		case kindLimb, kindBearing:
			return n.from-r.units[i].to <= 2 // "R) NWB", "R) leg"
		}
	}
	for _, k := range [...]int{i - 1, i + 1} {
		if k < 0 || k >= len(r.units) {
			continue
		}
		switch r.units[k].kind {
		case kindLimb, kindBearing, kindLoad:
			return r.units[k].to == r.units[i].from || r.units[i].to == r.units[k].from
		}
	}
	return false
}

// figureFollows reports whether a number stands within a few words of unit i in its sentence.
func (r *reader) figureFollows(i int) bool {
	u := r.units[i]
	reach := 4
	if u.to-u.from == 1 && len(r.word(u.from)) == 1 {
		reach = 1
	}
	if u.e.name == "pressure" {
		reach = 8
	}
	if w := r.word(u.to); (w == ":" || w == "=") && r.figureAt(u.to+1) {
		return true // "T: 36.8", "P=72"
	}
	for k := u.to; k < len(r.toks) && k < u.to+reach; k++ {
		t := r.toks[k]
		if t.Kind == token.Number || t.IsNum && t.Kind == token.Word && (t.Num >= 20 || r.toks[min(k+1, len(r.toks)-1)].IsNum) {
			return true
		}
		if reach > 1 && reach < 12 && r.is(k, hedge) {
			reach++
		}
		if t.Kind == token.Newline || t.Word == "." || t.Word == ";" {
			return false
		}
	}
	return false
}

// thingBefore reports whether an aid or a part of one is what unit i is said of.
func (r *reader) thingBefore(i int) bool {
	for k := r.units[i].from - 1; k >= 0 && k >= r.units[i].from-8; k-- {
		if r.pauses(k) || r.is(k, thirdPerson) || r.is(k, residentNoun) {
			return false
		}
		for j := i - 1; j >= 0 && j >= i-3; j-- {
			if n := &r.units[j]; n.to == k+1 && n.kind == kindFaultPart {
				return true
			}
		}
	}
	return false
}

// figureAt reports whether token i is a number in digits.
func (r *reader) figureAt(i int) bool {
	return i < len(r.toks) && r.toks[i].Kind == token.Number && !r.is(i+1, halfOfDay)
}

// untilPlace reports whether "until" at unit u leads to where somebody went.
func (r *reader) untilPlace(u *unit) bool {
	at := u.to
	if r.opensNoun(at - 1) {
		at--
	}
	p, ok := r.phraseOpening(at)
	return ok && isWay(p.sense) || ok && r.endOfWording(p.head) == kindPlace
}

// usedBefore reports whether the words before unit i in its clause say what was used, so that "to get" tells what for.
func (r *reader) usedBefore(i int) bool {
	for k := i - 1; k >= 0 && k >= i-4; k-- {
		switch u := &r.units[k]; {
		case u.kind == kindVerb && u.e.name == "use":
			return u.form == Past
		case u.kind != kindAid && u.kind != kindStaff && u.kind != kindNone || u.sign != 0:
			return false
		}
	}
	return false
}

// settlePT reads "PT": the patient, unless a verb of assessing follows or "by", "per", "from" stands before.
func (r *reader) settlePT(i int) {
	u := &r.units[i]
	if r.is(u.from-1, byTherapist) || r.is(u.from-1, lets) && r.word(u.to) == "know" {
		u.e = r.lex.find("person.therapy")
		return
	}
	next := i + 1
	if r.leads(i, kindPlanned) {
		next++ // "PT will reassess"
	}
	if next < len(r.units) && r.units[next].from == r.units[next-1].to {
		switch r.units[next].kind {
		case kindReviewWord, kindReviewAsked, kindReviewDone:
			if r.role == Therapist && r.word(r.units[next].from) == "seen" {
				break // "Pt seen in room": it is the therapist who writes
			}
			u.e = r.lex.find("person.therapy")
			return
		case kindTold:
			if n := &r.units[next]; r.is(n.from, informed) || r.is(n.to-1, informed) {
				if r.toks[u.from].Upper {
					u.e = r.lex.find("person.therapy")
					return
				}
			}
		}
	}
	u.kind, u.e = kindSubject, nil
}
