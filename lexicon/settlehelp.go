package lexicon

import (
	"strings"

	"example.com/stance/lexicon/internal/english"
	"example.com/stance/lexicon/internal/token"
)

// settleStaff drops numbers that count no helpers.
func (r *reader) settleStaff(i int) {
	u := &r.units[i]
	switch u.e.name {
	case "n":
		if u.to-u.from == 2 && r.count(*u) > mostHelpers && (r.word(u.to-1) == "p" || r.word(u.to-1) == "a") {
			u.kind, u.e = kindClock, r.lex.find("clock.n") // "back to bed 8p"
		}
	case "x":
		if r.countsOther(i) {
			drop(u)
		}
	case "of":
		if !r.follows(i, kindLevel) {
			drop(u)
		}
	case "plain":
		if w := r.word(u.from); r.follows(i, kindStaff) && (w == "plus" || w == "+") && r.count(r.units[i-1]) == 1 && r.count(*u) == 1 {
			r.units[i-1].e, r.units[i-1].to = r.lex.find("staff.two"), u.to // "writer plus one"
			drop(u)
			break
		}
		if r.leads(i, kindAid) || r.is(u.to, countedThing) || u.to < len(r.toks) && r.toks[u.to].Kind == token.Word && r.in[u.to].Word == 0 && !r.isName(u.to) {
			drop(u) // "with two canes", "w/ 2 rails", "with two friends"
		}
	case "one", "zero":
		switch {
		case r.joinedName(i):
		case r.is(u.to-1, writerNamed) && u.to < len(r.toks) && strings.HasSuffix(r.word(u.to), "ing") && !r.is(u.to, standsBy) && r.english(u.to).verb:
			drop(u) // "and me shouting after him"
		case r.is(u.to, supervising):
			drop(u) // "with me supervising" tells no hands-on help
		case r.is(u.from, joinsNames) && r.word(u.to-1) == "writer" && !r.endsThere(u.to) && r.toks[u.to].Kind == token.Word && !r.is(u.to, goesOn):
			u.kind, u.e, u.to = kindAnd, r.lex.find("break.and"), u.from+1 // "… and writer called the nurse"
		}
	}
}

// joinedName reads a colleague named beside the writer as the second helper: "by me and Kofi", "by self and
// Joanne", "with Joy and me".
func (r *reader) joinedName(i int) bool {
	u := &r.units[i]
	last := u.to - 1
	if r.word(last) == "writer" || r.is(last, self) || r.is(last, writerNamed) || r.word(last) == "self" {
		if r.is(u.to, joinsNames) && r.personName(u.to+1) {
			u.to += 2
			u.e = r.lex.find("staff.two")
			return true
		}
	}
	if r.is(u.from, joinsNames) && r.is(last, writerNamed) && r.personName(u.from-1) {
		u.from--
		u.e = r.lex.find("staff.two")
		if r.follows(i, kindStaff) {
			u.from = r.units[i-1].from // "with nurse Joy and me"
			drop(&r.units[i-1])
		}
		return true
	}
	return false
}

// personName reports whether token i is a capitalised word that no wording knows.
func (r *reader) personName(i int) bool {
	return i >= 0 && i < len(r.toks) && r.toks[i].Capital && !r.toks[i].Upper && r.toks[i].Kind == token.Word && r.in[i].Word == 0
}

// settleLevel drops amounts of help that are for care, or are none.
func (r *reader) settleLevel(i int) {
	u := &r.units[i]
	if strings.HasSuffix(u.e.name, "-short") && !r.besideHelpers(i) {
		drop(u)
		return
	}
	switch w := r.word(u.to - 1); {
	case r.word(u.from) == "min" && u.from > 0 && r.toks[u.from-1].IsNum && w == ":", // "after 1 min: 132/78"
		w == "independence" && !r.is(u.to, ofCare),                                         // "keeps her independence"
		strings.HasPrefix(w, "depend") && (r.word(u.to) == "on" || r.word(u.to) == "upon"), // "dependent on a walker"
		r.helpWithCare(u.to), // "min assist with feeding"
		w == "s/b" && i+1 < len(r.units) && r.units[i+1].kind == kindPerson: // "S/B physio" is seen by
		drop(u)
	}
}

// settleVague drops help in vague words that is for care ("some help with his soup", "AM care with assist",
// "fluids ad lib").
func (r *reader) settleVague(i int) {
	u := &r.units[i]
	end := u.to
	if r.is(end, helpWord) {
		end++ // "needed some" and "help with her supper"
	}
	if r.word(end) == "from" && i+1 < len(r.units) && r.units[i+1].kind == kindPerson && r.units[i+1].e.name == "family" {
		drop(u)
		return
	}
	if r.helpAtCare(end) || r.follows(i, kindCare) && !r.purpose(r.units[i-1].from) {
		drop(u)
	}
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
	if r.smallNumber(u.from) && (r.follows(i, kindLevel) || r.countsHelpers(i) || r.behindWay(i)) {
		u.kind, u.e = kindStaff, r.lex.find("staff.plain") // "CGA1", "min A 2"
		return
	}
	drop(u)
}

// behindWay reports whether the number at unit i stands right behind a way of transferring or a lift and nothing is
// counted behind it: "pivot 1 with belt", "stand aid 2".
func (r *reader) behindWay(i int) bool {
	u := &r.units[i]
	if i == 0 || r.units[i-1].to != u.from || !(r.endsThere(u.to) || r.is(u.to, byMeans) || r.is(u.to, onward) || r.is(u.to, article)) {
		return false
	}
	p := &r.units[i-1]
	return p.kind == kindVerb && p.e.fields.method != "" || p.kind == kindAid && isLift(p.e.name)
}

// countsHelpers reports whether the bare number at unit i is of helpers by the words about it.
func (r *reader) countsHelpers(i int) bool {
	u := &r.units[i]
	before, after := r.word(u.from-1), r.word(u.to)
	held := before == "with" || before == "w/" || before == ","
	aid := r.besideAid(i)
	ends := after == "" || after == "," || after == "." || after == "then" || after == ";" || after == "\n"
	taken := r.is(u.from-1, needs) && ends // "turned 4-hourly, needs two"
	apart := before == "," && i >= 2 && r.toks[u.from].Kind == token.Word
	alone := apart && ends && (r.isPlace(i-2) || r.units[i-2].kind == kindAid) // "bed to chair, two, belt"
	doing := apart && r.is(u.to, standsBy)                                     // "2WW, belt, two assisting"

	// "with the frame and one"
	listed := before == "and" && i >= 2 && r.units[i-2].kind == kindAid && (ends || r.is(u.to, goesOn) || r.is(u.to, article) || r.is(u.to, thirdPerson) || after == "for" || after == "back")
	return held && aid || listed || taken || alone || doing
}

// besideAid reports whether the number at unit i is named together with an aid of a move: "two and the belt", "one with
// the frame".
func (r *reader) besideAid(i int) bool {
	k := i + 1
	if k < len(r.units) && r.units[k].kind == kindAnd {
		k++
	}
	if k >= len(r.units) || r.units[k].kind != kindAid {
		return false
	}
	from := r.units[i].to
	return (r.is(from, byMeans) || r.is(from, joinsNames)) && r.onlyArticles(from+1, r.units[k].from)
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
	e := r.lex.said[h.Payload].e
	return e.kind == kindVerb && !e.fields.weak && e.fields.concept != ""
}

// settleNames reads a colleague by name beside the writer as two helpers ("Kim and I").
func (r *reader) settleNames(i int) {
	u := &r.units[i]
	joined := func(k int) bool {
		return r.is(k, joinsNames)
	}
	if !r.is(u.from, writerNamed) {
		return
	}
	if r.is(u.from, self) && r.endsThere(u.to) && i > 0 && (r.units[i-1].kind == kindAid || r.units[i-1].kind == kindPlace) && r.units[i-1].to == u.from {
		u.kind, u.e = kindStaff, r.lex.find("staff.one") // "with the ceiling lift myself"
		return
	}
	switch {
	case joined(u.from-1) && r.personName(u.from-2):
		u.from -= 2
	case joined(u.to) && r.personName(u.to+1) && r.word(u.from) != "i":
		u.to += 2
	default:
		return
	}
	u.kind, u.e = kindStaff, r.lex.find("staff.two")
}

// letterLevel reads "I", "S" and "D" as the amount of help that they stand for in therapy notes: behind a label,
// or right behind a move, its distance or places, with no more than helpers or an aid to follow ("SPT S x1").
func (r *reader) letterLevel(i int) bool {
	u := &r.units[i]
	if u.to-u.from != 1 || !r.toks[u.from].Upper {
		return false
	}
	if r.word(u.from-1) != ":" {
		if i == 0 || r.units[i-1].to != u.from {
			return false
		}
		switch p := &r.units[i-1]; {
		case p.kind == kindDistance, r.isPlace(i - 1):
		case p.kind == kindVerb && p.e.fields.concept != "" && p.form != Past:
		default:
			return false
		}
	}
	if !r.endsThere(u.to) && !r.leads(i, kindStaff) && !r.is(u.to, byMeans) {
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
		if !ok {
			return true
		}
		switch r.kindOf(h) {
		case kindVerb, kindPlace, kindAid, kindPosture, kindLimb, kindTo, kindFrom, kindSubject:
			return false
		}
		return true
	}
	return false
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

// countsOther reports whether "x2" at unit i counts something other than helpers: repetitions of a
// distance or of an exercise, days, or doses.
func (r *reader) countsOther(i int) bool {
	u := r.units[i]
	if i > 0 && r.units[i-1].to == u.from && r.units[i-1].kind == kindDistance && r.count(u) > 1 {
		return true
	}
	if i > 0 && r.units[i-1].to == u.from && r.units[i-1].kind == kindVerb && r.units[i-1].e.name == "repeat" && r.count(u) > 1 {
		return true // "to the bathroom and back x2"
	}
	if i > 0 && r.units[i-1].to == u.from && (r.units[i-1].kind == kindFall || r.units[i-1].kind == kindSign) {
		return true // "LOB x2", "knee buckled x1"
	}
	if r.is(u.to, countsOther) || r.countsDeed(i) {
		return true
	}
	n := r.count(u)
	return n > 4
}

// countsDeed reports whether "x2" at unit i stands right behind a verb of something else, whose times it counts:
// "up to void x2", "called x3".
func (r *reader) countsDeed(i int) bool {
	u := &r.units[i]
	if i > 0 && r.units[i-1].to == u.from || u.from == 0 {
		return false
	}
	w := r.english(u.from - 1)
	return w.verb && (r.word(u.from-2) == "to" && w.noun != english.Artefact || !w.adjective && !w.isNoun)
}

// count is the number in a unit's words, -1 if it has none.
func (r *reader) count(u unit) int {
	if u.count > 0 {
		return int(u.count)
	}
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
