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
		one := u.to-u.from == 1 && len(r.word(u.from)) == 1
		switch u.kind {
		case kindSide:
			switch {
			case one && r.nextIsColon(i) && r.opens(u.from) && r.word(u.from) == "r":
				u.kind = kindPlanHead
			case one && r.word(u.from) == "r" && u.to < len(r.toks) && r.toks[u.to].Kind == token.Number && r.vitalBeside(i):
				u.kind, u.e = kindVitalName, r.lex.find("vital.breaths")
			case one && !r.nearLimbOrStatus(i) && !r.through(u.from-1):
				drop(u)
			}
		case kindTold:
			if strings.HasPrefix(r.word(u.from), "let") && u.to-u.from == 1 && !r.wordWithin(u.to, 7, "know") {
				drop(u)
			}
		case kindVitalName:
			if one && r.nextIsColon(i) && r.opens(u.from) && (r.word(u.from) == "p" || r.word(u.from) == "r") {
				u.kind = kindPlanHead
				continue
			}
			// "T", "P", "R" and "obs" name a vital only where a figure follows.
			if !r.figureFollows(i) && (one || u.e.name != "pressure") {
				drop(u)
			}
		case kindPerson:
			switch {
			case u.e.name == "pt":
				r.settlePT(i)
			case u.e.name == "family" && r.word(u.from) == "sister" && r.toks[u.from].Capital && !r.toks[u.from].Upper && !r.opens(u.from) && !r.object(u.from-1) && r.word(u.from-1) != "his":
				u.e = r.lex.find("person.nurse") // "told Sister"
			}
		case kindHeader, kindPlanHead:
			if !r.nextIsColon(i) {
				if r.letterLevel(u) {
					continue
				}
				if r.word(u.from) == "i" {
					if r.settleNames(i); u.kind == kindStaff {
						continue
					}
				}
				if drop(u); r.word(u.from) == "toileting" {
					u.kind, u.e = kindCare, r.lex.find("care.word")
				}
			}
		case kindStaff:
			switch {
			case u.e.name == "x" && r.countsOther(i):
				drop(u)
			case u.e.name == "of" && !(i > 0 && r.units[i-1].kind == kindLevel && r.units[i-1].to == u.from):
				drop(u)
			case u.e.name == "plain" && i+1 < len(r.units) && r.units[i+1].from == u.to && r.units[i+1].kind == kindAid:
				drop(u)
			}
		case kindBearing:
			// "WB:" and "Weight bearing status:" head a line; the status follows.
			if u.e.name == "able" && r.nextIsColon(i) {
				u.kind = kindHeader
			}
		case kindAid:
			if u.to-u.from == 1 && r.is(u.from, surnameToo) && (r.surname(u.from) || r.titled(u.from)) {
				drop(u)
			}
		case kindVague:
			if r.helpAtCare(u.to) || strings.HasPrefix(r.word(u.from), "ad") && i > 0 && r.units[i-1].kind == kindCare && r.units[i-1].to == u.from {
				drop(u) // "some help with his soup", "fluids ad lib"
			}
		case kindSubject:
			r.settleNames(i)
		case kindPast:
			if r.word(u.from) == "used" && u.to-u.from == 2 && i > 0 && r.units[i-1].kind == kindAid && r.units[i-1].to == u.from {
				u.kind, u.e = kindVerb, r.lex.find("verb.use") // "lift used to return to bed"
				continue
			}
			if r.word(u.from) == "post" && u.to-u.from == 1 && (u.to >= len(r.toks) || r.toks[u.to].Kind != token.Word) {
				drop(u) // "hit his head on the verandah post"
			}
		case kindLevel:
			if strings.HasSuffix(u.e.name, "-short") && !r.besideHelpers(i) {
				drop(u)
				continue
			}
			switch w := r.word(u.to - 1); {
			case w == "independence" && !r.is(u.to, ofCare), strings.HasPrefix(w, "depend") && (r.word(u.to) == "on" || r.word(u.to) == "upon"), r.helpWithCare(u.to):
				drop(u) // "keeps her independence", "dependent on a walker", "min assist with feeding"
			case w == "s/b" && i+1 < len(r.units) && r.units[i+1].kind == kindPerson:
				drop(u) // "S/B physio" is seen by
			}
		case kindOrder:
			if r.word(u.from) == "to" && r.is(u.from-1, hadTo) {
				drop(u) // "had to use the belt"
			}
		case kindPlanned:
			if strings.HasPrefix(r.word(u.from), "plan") && r.nextIsColon(i) {
				u.kind = kindPlanHead
			}
		case kindClock:
			r.settleBareNumber(i)
		case kindTo:
			if r.helpersToMove(u) {
				u.kind, u.e = kindStaff, r.lex.find("staff.plain") // the figure 2 is also written for "to"
			}
		case kindPosture:
			if w := r.word(u.from); u.e.name == "standing" && u.to-u.from == 1 && w == "standing" && i > 0 && r.units[i-1].kind == kindNegPre && r.units[i-1].to == u.from && !r.signBeside(i) {
				u.kind, u.e, u.form = kindVerb, r.lex.find("verb.stand"), Gerund // "no standing at all"
				continue
			}
			if u.e.name == "rising" && !r.signBeside(i) && r.lastVerb(u) {
				continue // "assist of two with transfers"
			}
			if strings.HasSuffix(u.e.name, "-short") && !r.pressureBeside(i) {
				drop(u)
			}
		case kindVerb:
			if r.word(u.from) == "rose" && r.toks[u.from].Capital && r.opens(u.from) && i+1 < len(r.units) && r.units[i+1].kind == kindVerb && r.units[i+1].from == u.to {
				drop(u) // "Rose walked to lunch"
				continue
			}
			if u.e.name == "lift" && u.form == Base && u.to-u.from == 1 && r.nameOfLift(u.from-1) {
				u.kind, u.e, u.from = kindAid, r.lex.find("aid.lift"), u.from-1 // whatever make it is
				continue
			}
			if u.e.name == "lift" && u.form == Base && u.to-u.from == 1 && i+1 < len(r.units) && r.units[i+1].from == u.to && (r.units[i+1].kind == kindVerb && r.units[i+1].e.name == "use" || r.word(u.to) == "used") {
				u.kind, u.e = kindAid, r.lex.find("aid.lift") // "lift used to return to bed"
				continue
			}
			if u.e.name == "stand" && u.form == Base && u.to-u.from == 1 && r.word(u.from-1) == "(" && i >= 2 && r.units[i-2].kind == kindVitalPair {
				u.kind, u.e = kindPosture, r.lex.find("posture.standing-short") // "98/58 (stand)"
				continue
			}
			if u.e.name == "stand" && u.form == Base && u.to-u.from == 1 && i+1 < len(r.units) && r.units[i+1].kind == kindVitalPair && r.units[i+1].from-u.to <= 1 {
				u.kind, u.e = kindPosture, r.lex.find("posture.standing-short") // "stand 108/64"
				continue
			}
			if u.e.name == "stand" && u.form == NounForm && r.is(u.from-1, usedWith) && strings.HasSuffix(r.word(u.to-1), "stand") {
				u.kind, u.e = kindAid, r.lex.find("aid.sit-stand-lift") // "uses the sit stand"
				continue
			}
			if u.e.name == "stand" && u.form == Base && r.opens(u.from) && r.word(u.to) == "for" && !r.toks[u.to].Upper {
				drop(u) // "Stand for the bird table mended"
				continue
			}
			if u.e.name == "up" && r.word(u.from) == "up" && (u.to-u.from == 1 && !r.upIsState(i) || u.to-u.from == 2 && r.upOfVerb(u)) {
				drop(u)
				continue
			}
			if u.e.fields.hand && (strings.HasPrefix(r.word(u.from), "carr") && u.to-u.from == 1 || strings.HasPrefix(r.word(u.from), "pick") && r.word(u.to-1) == "up" && u.to-u.from == 2) && !r.carriesPerson(u.to) {
				drop(u)
				continue
			}
			if r.nextIsColon(i) && u.form == NounForm {
				continue
			}
			if r.staffOnFoot(i) {
				drop(u)
			}
		}
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

// lastVerb cuts a unit down to the move that its last word names, if it does.
func (r *reader) lastVerb(u *unit) bool {
	h, ok := r.hitAt(u.to - 1)
	if !ok || h.To != u.to {
		return false
	}
	s := &r.lex.said[h.Payload]
	e := &r.lex.entries[s.entry]
	if e.kind != kindVerb || e.fields.weak {
		return false
	}
	u.from, u.kind, u.e, u.form = u.to-1, e.kind, e, s.form
	return true
}

// joinLines takes out the line ends that only wrap a sentence, so that a wording may run over them.
func (r *reader) joinLines() {
	first := 0
	for first < len(r.toks) && r.toks[first].Kind != token.Newline {
		first++
	}
	if first == len(r.toks) {
		return // most notes are one line
	}
	out := r.toks[:first]
	for i := first; i < len(r.toks); i++ {
		if r.toks[i].Kind == token.Newline && !r.endsSentence(i) {
			continue
		}
		out = append(out, r.toks[i])
	}
	r.toks = out
}

// endsSentence reports whether the line end at token i closes a sentence: what follows is a list mark,
// a heading, a time, a blank line or a capital letter where the line before could end.
func (r *reader) endsSentence(i int) bool {
	switch next := i + 1; {
	case next >= len(r.toks):
		return true
	case strings.Count(strings.ReplaceAll(r.text[r.toks[i].Start:r.toks[i].End], "\r\n", "\n"), "\n") > 1:
		return true
	case r.word(next) == "-" || r.lineOpens(next):
		return true
	default:
		return r.toks[next].Capital && !r.toks[next].Upper && !r.wraps(i)
	}
}

// wraps reports whether the text before a line end cannot end a sentence.
func (r *reader) wraps(at int) bool {
	w := r.word(at - 1)
	in := r.lex.classes[w] // the tokens are not classed yet
	return w == "" || w == "," || in.has(wraps)
}

// lineOpens reports whether token i opens a headed or timed line: "Transfers:", "S:", "0730 …".
func (r *reader) lineOpens(i int) bool {
	if i >= len(r.toks) {
		return false
	}
	if r.toks[i].Kind == token.Number && (len(r.toks[i].Word) == 4 || r.word(i+1) == ":" && i+2 < len(r.toks) && r.toks[i+2].Kind == token.Number && r.toks[i+2].Glued) {
		return true
	}
	for k := i; k < len(r.toks) && k < i+4; k++ {
		if r.toks[k].Word == ":" {
			return k > i && !(r.toks[i].Kind == token.Number)
		}
		if r.toks[k].Kind != token.Word {
			break
		}
	}
	return false
}

// settleBareNumber reads "with one and the belt" and ", one with belt" as helpers.
func (r *reader) settleBareNumber(i int) {
	u := &r.units[i]
	if r.helpersToMove(u) {
		u.kind, u.e = kindStaff, r.lex.find("staff.plain")
		return
	}
	if u.to-u.from != 1 || r.clockOf(*u) != "" {
		return
	}
	n := r.toks[u.from].Num
	if i > 0 && r.units[i-1].kind == kindLevel && r.units[i-1].to == u.from && n >= 1 && n <= 4 {
		u.kind, u.e = kindStaff, r.lex.find("staff.plain") // "CGA1", "min A 2"
		return
	}
	before, after := r.word(u.from-1), r.word(u.to)
	held := before == "with" || before == "w/" || before == ","
	belt := (after == "with" || after == "and" || after == "w/" || after == "+") && (r.wordWithin(u.to, 4, "belt") || r.wordWithin(u.to, 4, "disc"))
	ends := after == "" || after == "," || after == "." || after == "then" || after == ";" || after == "\n"
	taken := r.is(u.from-1, needs) && ends                                                                           // "turned 4-hourly, needs two"
	listed := before == "and" && i >= 2 && r.units[i-2].kind == kindAid && (ends || after == "to" || after == "for") // "with the frame and one"
	if n >= 1 && n <= 4 && (held && belt || listed || taken) {
		u.kind, u.e = kindStaff, r.lex.find("staff.plain")
		return
	}
	drop(u)
}

// helpersToMove reports whether the number is of helpers that a move takes: "needs 2 to stand", "one to transfer".
func (r *reader) helpersToMove(u *unit) bool {
	if u.to-u.from != 1 || !r.toks[u.from].IsNum || r.toks[u.from].Num < 1 || r.toks[u.from].Num > 4 || r.word(u.to) != "to" {
		return false
	}
	h, ok := r.hitAt(u.to + 1)
	if !ok {
		return false
	}
	e := &r.lex.entries[r.lex.said[h.Payload].entry]
	return e.kind == kindVerb && !e.fields.weak && e.fields.concept != ""
}

// carriesPerson reports whether the word at token i lets "carried" speak of the resident.
func (r *reader) carriesPerson(i int) bool {
	return r.is(i, object) || r.is(i, residentNoun) || r.is(i, carriedWhom)
}

// vitalBeside reports whether another vital sign stands within two units of unit i.
func (r *reader) vitalBeside(i int) bool {
	for k := max(0, i-2); k < len(r.units) && k <= i+2; k++ {
		if n := &r.units[k]; k != i && (n.kind == kindVitalName || n.kind == kindVitalPair) {
			return true
		}
	}
	return false
}

// helpAtCare reports whether help at token i goes on to name care that is no move.
func (r *reader) helpAtCare(i int) bool {
	if !r.is(i, helpFor) {
		return false
	}
	for k := i + 1; k < len(r.toks) && k <= i+3; k++ {
		if r.is(k, article) || r.is(k, owner) {
			continue
		}
		if r.toks[k].Kind != token.Word {
			return false
		}
		if r.in[k].Word == 0 {
			return true
		}
		h, ok := r.hitAt(k)
		return ok && r.kindOf(h) == kindCare
	}
	return false
}

// besideHelpers reports whether "min", "mod" or "max" at unit i stands right beside a number of helpers
// ("1PA min", "mod x2") and not behind a figure ("10 min").
func (r *reader) besideHelpers(i int) bool {
	u := &r.units[i]
	if i > 0 && r.units[i-1].to == u.from && r.units[i-1].kind == kindStaff {
		return true
	}
	if u.from > 0 && r.toks[u.from-1].IsNum {
		return false
	}
	return i+1 < len(r.units) && r.units[i+1].from == u.to && r.units[i+1].kind == kindStaff
}

// letterLevel reads "I", "S" and "D" behind a label as the amount of help that they stand for in therapy notes.
func (r *reader) letterLevel(u *unit) bool {
	if u.to-u.from != 1 || !r.toks[u.from].Upper || r.word(u.from-1) != ":" || !r.endsThere(u.to) {
		return false
	}
	switch r.word(u.from) {
	case "i":
		u.kind, u.e = kindLevel, r.lex.find("level.independent")
	case "s":
		u.kind, u.e = kindLevel, r.lex.find("level.supervision")
	case "d":
		u.kind, u.e = kindLevel, r.lex.find("level.dependent")
	default:
		return false
	}
	return true
}

// nameOfLift reports whether token i is a word that no wording knows behind "with" or "via", so that "lift"
// after it is the machine.
func (r *reader) nameOfLift(i int) bool {
	if i < 1 || r.toks[i].Kind != token.Word || r.in[i].Word != 0 {
		return false
	}
	return r.is(i-1, byMeans) || r.is(i-1, byMachine)
}

// settleNames reads a colleague by name beside the writer as two helpers ("Kim and I").
func (r *reader) settleNames(i int) {
	u := &r.units[i]
	named := func(k int) bool {
		return k >= 0 && k < len(r.toks) && r.toks[k].Capital && r.toks[k].Kind == token.Word && r.in[k].Word == 0
	}
	joined := func(k int) bool {
		return r.is(k, joinsNames)
	}
	switch {
	case r.is(u.from, writerNamed):
	default:
		return
	}
	switch {
	case joined(u.from-1) && named(u.from-2):
		u.from -= 2
	case joined(u.to) && named(u.to+1) && r.word(u.from) != "i":
		u.to += 2
	default:
		return
	}
	u.kind, u.e = kindStaff, r.lex.find("staff.two")
}

// helpWithCare reports whether help is told to be with care that is no move ("with feeding").
func (r *reader) helpWithCare(i int) bool {
	if r.word(i) != "with" && r.word(i) != "in" {
		return false
	}
	for k := i + 1; k < len(r.toks) && k <= i+4; k++ {
		if h, ok := r.hitAt(k); ok {
			switch r.kindOf(h) {
			case kindCare:
				return true
			case kindSubject, kindFiller:
				continue
			}
			return false
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

// upOfVerb reports whether "up in", "up to" or "up for" only goes on from another word ("showed up in the
// lounge") or counts ("up to several times").
func (r *reader) upOfVerb(u *unit) bool {
	for k := u.from - 1; k >= 0 && k >= u.from-3 && r.toks[k].Kind == token.Word; k-- {
		if r.is(k, wakeUp) || k < u.from-1 && r.is(k, notUp) {
			return true // "woke resident up for tablets", "rails are up to …"
		}
		if k == u.from-1 && r.is(k, notUp) {
			return true
		}
	}
	if r.word(u.to-1) != "to" || u.to >= len(r.toks) {
		return false
	}
	if r.is(u.to, upToOther) {
		return r.word(u.to) != "a" || !r.placeAhead(u.to)
	}
	return r.toks[u.to].IsNum
}

// placeAhead reports whether a place stands within three tokens of token i.
func (r *reader) placeAhead(i int) bool {
	for k := i; k < i+3 && k < len(r.toks); k++ {
		if h, ok := r.hitAt(k); ok {
			if e := &r.lex.entries[r.lex.said[h.Payload].entry]; e.kind == kindPlace || e.kind == kindAid {
				return true
			}
		}
	}
	return false
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

// through reports whether token i is a word that leads from a status to its limb ("WB 50% through R").
func (r *reader) through(i int) bool {
	return r.is(i, through)
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

// settlePT reads "PT": the patient, unless a verb of assessing follows or "by", "per", "from" stands before.
func (r *reader) settlePT(i int) {
	u := &r.units[i]
	if r.is(u.from-1, byTherapist) {
		u.e = r.lex.find("person.therapy")
		return
	}
	if i+1 < len(r.units) && r.units[i+1].from == u.to {
		switch r.units[i+1].kind {
		case kindReviewWord, kindReviewAsked, kindReviewDone:
			u.e = r.lex.find("person.therapy")
			return
		case kindTold:
			if r.is(r.units[i+1].from, informed) {
				if r.toks[u.from].Upper {
					u.e = r.lex.find("person.therapy")
					return
				}
			}
		}
	}
	u.kind, u.e = kindSubject, nil
}

// find is the entry of an id; the ids used in code are checked by a test.
func (l *Lexicon) find(id string) *entry {
	for i := range l.entries {
		if l.entries[i].ID == id {
			return &l.entries[i]
		}
	}
	return nil
}

// countsOther reports whether "x2" at unit i counts something other than helpers: repetitions of a
// distance or of an exercise, days, or doses.
func (r *reader) countsOther(i int) bool {
	u := r.units[i]
	if i > 0 && r.units[i-1].to == u.from && r.units[i-1].kind == kindDistance && r.count(u) > 1 {
		return true
	}
	if i > 0 && r.units[i-1].to == u.from && r.units[i-1].kind == kindVerb && r.units[i-1].e.name == "repeat" {
		return true // "to the bathroom and back x2"
	}
	if r.is(u.to, countsOther) {
		return true
	}
	n := r.count(u)
	return n > 4
}

// count is the number in a unit's words, -1 if it has none.
func (r *reader) count(u unit) int {
	if u.e != nil && u.e.fields.hasStaff {
		return u.e.fields.staff
	}
	n := -1
	for k := u.from; k < u.to; k++ {
		if r.toks[k].IsNum {
			return int(r.toks[k].Num) // the first: "2:1" is two helpers
		}
	}
	return n
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
	return !r.is(u.to, object) && !r.is(u.to, residentNoun) && !r.is(u.to, walkedWhom)
}
