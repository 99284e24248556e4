package lexicon

import (
	"example.com/stance/lexicon/internal/english"
	"example.com/stance/lexicon/internal/token"
)

// A fall is often told by where somebody is or ends up, with no word for falling: "there he was on the lino", "Lou on
// the floor next to her bed", "she finished up on her backside". The phrase that names the floor, or the part of the
// body that somebody is down on, is found first; then the words before it say who is there, and how they came there.

// downAt makes a unit of the words at token i that say that somebody is down.
func (r *reader) downAt(i int) (unit, bool) {
	if end := r.downWent(i); end > 0 {
		return unit{from: i, to: end, kind: kindFall, e: r.lex.find("fall.fell")}, true
	}
	if end := r.liesBeside(i); end > 0 {
		return unit{from: i, to: end, kind: kindFall, e: r.lex.find("fall.found")}, true
	}
	end, f := r.downPhrase(i)
	if end == 0 {
		return unit{}, false
	}
	d := down{r: r, at: i - 1, footing: f, motion: r.is(i, ontoWord) || r.word(i+1) == "to", placed: r.is(end, besidePlace)}
	concept := d.concept()
	if concept == "" {
		return unit{}, false
	}
	return unit{from: i, to: end, kind: kindFall, e: r.lex.find(concept)}, true
}

// downWent is the token behind a turned-about fall at token i ("down she went", "over went Doris"), 0 for none.
func (r *reader) downWent(i int) int {
	if r.goneDown(i) {
		return i + 2
	}
	if w := r.word(i); w != "down" && w != "over" {
		return 0
	}
	k := i + 1
	for k < i+3 && (r.someone(k) || r.is(k, title) || r.word(k) == ".") {
		k++
	}
	if !r.is(k, wentWord) || !r.someone(k-1) && !(k == i+1 && r.someone(k+1)) {
		return 0
	}
	if r.is(k+1, wentFor) && !(r.word(k+1) == "like" && r.is(k+3, heavyThing)) {
		return 0 // "down she went to dinner"
	}
	return k + 1
}

// goneDown reports whether the words at token i say that somebody has fallen: "had gone down by the sink".
func (r *reader) goneDown(i int) bool {
	if r.word(i) != "gone" || r.word(i+1) != "down" && r.word(i+1) != "over" {
		return false
	}
	return r.is(i-1, perfect) && r.someone(i-2) && (r.is(i+2, liesAt) || r.word(i+2) == "by" || r.endsThere(i+2))
}

// liesBeside is the token behind the fixture beside which the preposition at token i says that somebody lay, 0 for none:
// "lying between the sink and the toilet". Who lies there did not go to bed there.
func (r *reader) liesBeside(i int) int {
	if !r.is(i, besideFixture) {
		return 0
	}
	end := r.fixtureEnd(i + 1)
	if end == 0 || r.word(end) == "in" && r.is(end+1, owner) {
		return 0 // "lying by the door in her bed"
	}
	lies, at := false, i-1
	for r.is(at, lieWord) && !r.is(at, sitWord) || r.is(at, justThere) || r.is(at, beWord) {
		lies = lies || r.is(at, lieWord)
		at--
	}
	if lies && (r.seesSomebody(at) || r.someone(at) && !r.object(at) || r.thereIs(at)) {
		return end
	}
	return 0
}

// fixtureEnd is the token behind the fixture whose words begin at token i, 0 for none: "the foot of the linen cupboard".
func (r *reader) fixtureEnd(i int) int {
	for r.opensNoun(i) || r.word(i) == "to" || r.word(i) == "of" || r.is(i, beforePlace) || r.is(i, edgeOf) {
		i++
	}
	switch {
	case r.is(i+1, fixture):
		return i + 2
	case r.is(i, fixture):
		return i + 1
	}
	return 0
}

// thereIs reports whether the name that ends at token i is of somebody who is told to be there: "there was Doreen".
func (r *reader) thereIs(i int) bool {
	k := i
	for k > i-3 && (r.isName(k) || r.is(k, title) || r.someone(k) || r.is(k, owner)) {
		k--
	}
	return k < i && r.is(k, beWord) && r.is(k-1, thereWord)
}

// footing is what somebody is down on.
type footing uint8

const (
	indoors footing = iota // a floor within the house: nobody is there by choice
	outside                // grass or decking, where people sit and lie for pleasure
	seatOf                 // "on her bum": somebody who landed there, unless it speaks of sitting or skin
	sideOf                 // "on her back": a way to lie in bed too
	flat                   // "down by the piano"
)

// downPhrase is the token behind the phrase that begins at token i and names what somebody may be down on.
func (r *reader) downPhrase(i int) (end int, f footing) {
	switch r.word(i) {
	case "down":
		if r.downBeside(i) {
			return i + 1, flat
		}
		return 0, 0
	case "in":
		if r.word(i+1) == "a" && r.is(i+2, heapNoun) {
			return i + 3, seatOf
		}
		if !r.is(i-1, lieWord) {
			return 0, 0
		}
	case "on":
		if r.word(i+1) == "to" {
			return r.floorBehind(i + 2)
		}
	case "across", "onto", "into", "to":
	default:
		return 0, 0
	}
	return r.floorBehind(i + 1)
}

// downBeside reports whether "down" at token i says where somebody is, and not where they went: "was down beside the
// piano", "there was Doreen down by the side of her bed".
func (r *reader) downBeside(i int) bool {
	if r.is(i+1, liesAt) {
		return r.is(i-1, beWord) || r.thereIs(i-1)
	}
	return r.word(i+1) == "by" && r.thereIs(i-1)
}

// floorBehind is the token behind the words from token k that name what somebody may be down on, and what that is.
func (r *reader) floorBehind(k int) (end int, f footing) {
	for n := k; n < k+4; n++ {
		f, ok := r.footingAt(k, n)
		if !ok {
			if r.beforeFloor(n) {
				continue
			}
			return 0, 0
		}
		if f == indoors && r.storey(n+1) {
			return 0, 0 // "on floor 2"
		}
		for end = n + 1; f == indoors && r.is(end, floorNoun); {
			end++
		}
		return end, f
	}
	return 0, 0
}

// storey reports whether token i is the number of a floor of the house.
func (r *reader) storey(i int) bool {
	return i < len(r.toks) && r.toks[i].IsNum && r.toks[i].End-r.toks[i].Start < 3
}

// footingAt is what token n of the phrase from token k says that somebody is down on.
func (r *reader) footingAt(k, n int) (footing, bool) {
	owned := n > k && r.is(k, owner)
	switch {
	case r.is(n, floorNoun):
		return indoors, !r.otherFloor(k, n)
	case r.is(n, outdoorNoun):
		return outside, true
	case owned && r.is(n, seatNoun):
		return seatOf, true
	case owned && r.is(n, bodySide), n == k+1 && r.word(k) == "all" && r.word(n) == "fours":
		return sideOf, !(r.word(n+1) == "and" && r.is(n+2, bodySide)) && !r.is(n+1, bodySide)
	}
	return 0, false
}

// otherFloor reports whether the floor at token n, in the phrase from token k, is none to lie on: "to the ground floor",
// "on the floor plan".
func (r *reader) otherFloor(k, n int) bool {
	for t := k; t <= n; t++ {
		if h, ok := r.hitAt(t); ok && h.To > n && r.kindOf(h) == kindIgnore {
			return true
		}
	}
	return false
}

// beforeFloor reports whether token i may stand between the preposition and the floor: "on the cold kitchen floor".
func (r *reader) beforeFloor(i int) bool {
	switch {
	case i >= len(r.toks) || r.toks[i].Kind != token.Word:
		return r.word(i) == "'s"
	case r.is(i, article), r.is(i, owner), r.is(i, beforePlace), r.is(i, bodySide), r.word(i) == "and", r.endOfWording(i) == kindPlace:
		return true
	}
	w := r.english(i)
	return w.isNoun || w.adjective || w.unknown
}

// down looks back from such a phrase for who is there and how they came there.
type down struct {
	r       *reader
	at      int // the last token before the phrase that is not yet explained
	footing footing
	motion  bool // "onto", "to"
	placed  bool // a place stands beside the phrase
	be      bool // "is", "was"
	lies    bool // a posture
}

// concept is the fall that the words tell, "" for none.
func (d *down) concept() string {
	r := d.r
	for k := d.at; k >= 0 && k >= d.at-8 && !r.pauses(k) && !r.is(k, thirdPerson); k-- {
		switch {
		case r.is(k, findWord), r.word(k) == "and" && !r.english(k+1).adjective:
			k = 0 // another clause, or who came in and found somebody
		case r.is(k, lowers) && (r.object(k+1) || r.someone(k+1)):
			if d.motion {
				return "fall.eased"
			}
			return ""
		case d.footing == sideOf && d.motion && r.repositions(k):
			return "" // "rolled on to her side"
		case r.is(k, endsUp) && d.endedUp(k):
			return "fall.fell"
		}
	}
	if !d.motion && d.isThere() {
		return "fall.found"
	}
	return ""
}

// repositions reports whether token k opens the words of turning in bed.
func (r *reader) repositions(k int) bool {
	h, ok := r.hitAt(k)
	return ok && r.lex.said[h.Payload].e.fields.concept == "move.reposition"
}

// endedUp reports whether the verb at token k says that somebody came to be down there by nobody's hand.
func (d *down) endedUp(k int) bool {
	r := d.r
	if next := k + 1; next <= d.at && !r.is(next, wayDown) && !r.is(next, self) {
		return false // "dropped her fork on the floor"
	}
	who := k - 1
	for who >= 0 && (r.is(who, perfect) || r.is(who, justThere)) {
		who--
	}
	if who < 0 || r.toks[who].Kind != token.Word || r.someone(who) {
		return true
	}
	w := r.english(who)
	return !r.is(who, firstPerson) && !r.is(who, things) && !r.is(who, staffWord) && !(w.isNoun && w.noun != english.Person)
}

// isThere reports whether somebody is told to be there.
func (d *down) isThere() bool {
	r := d.r
	d.back()
	switch {
	case r.seesSomebody(d.at), r.thereIs(d.at):
		return true
	case d.byChoice():
		return false
	case r.someone(d.at):
		return !r.object(d.at) && (d.be || d.lies || d.footing == indoors)
	case d.footing != indoors:
		return false
	case d.at < 0, r.opens(d.at + 1), r.word(d.at) == ":", r.toks[d.at].Kind == token.Number:
		return d.lies || d.placed // no subject is the resident
	case r.word(d.at) == ",", r.is(d.at, when), r.word(d.at) == "and":
		return d.lies
	}
	return false
}

// byChoice reports whether nothing says that somebody who is down there did not mean to be.
func (d *down) byChoice() bool {
	switch d.footing {
	case outside:
		return !d.lies
	case seatOf:
		return !d.placed
	case sideOf:
		return !d.placed || !d.be
	}
	return false
}

// back goes over the words that say how somebody is there.
func (d *down) back() {
	for r := d.r; d.at >= 0; {
		switch {
		case r.is(d.at, beWord):
			d.be = true
		case r.is(d.at, lieWord):
			d.lies = true
		case r.is(d.at, justThere), r.word(d.at) == "," && (r.is(d.at-1, beWord) || r.is(d.at-1, lieWord)):
		default:
			from := r.placeEnding(d.at)
			if from < 0 {
				return
			}
			d.placed, d.at = true, from
		}
		d.at--
	}
}

// placeEnding is where the words of a place that end at token i begin, -1 for none: "by the commode".
func (r *reader) placeEnding(i int) int {
	if r.toks[i].Kind != token.Word || r.isName(i) && !r.english(i).isNoun || r.someone(i) {
		return -1
	}
	for k := i - 1; k >= 0 && k >= i-4; k-- {
		if r.is(k, besidePlace) || r.word(k) == "at" {
			return k
		}
		if !r.beforeFloor(k) {
			return -1
		}
	}
	return -1
}

// seesSomebody reports whether the words up to token i say that somebody was found: "found", "found by the night
// girl", "I see him".
func (r *reader) seesSomebody(i int) bool {
	for k := i; k >= 0 && k >= i-4; k-- {
		if r.is(k, findWord) || r.word(k) == "across" && r.is(k-1, findsBy) {
			return k == i || r.is(i, self) || r.word(k+1) == "by" || r.someone(i) && !r.is(i, things)
		}
		if r.toks[k].Kind != token.Word {
			return false
		}
	}
	return false
}

// someone reports whether the word at token i is the resident or somebody like them, not a member of staff.
func (r *reader) someone(i int) bool {
	if i < 0 || i >= len(r.toks) || r.toks[i].Kind != token.Word || r.is(i, staffWord) || r.is(i, firstPerson) {
		return false
	}
	if r.is(i, thirdPerson) || r.is(i, residentNoun) || r.object(i) || r.calledByName(i) {
		return true
	}
	h, ok := r.hitAt(i)
	if !ok || r.kindOf(h) != kindPerson || h.To != i+1 {
		return false
	}
	name := r.lex.said[h.Payload].e.name
	return name == "family" || name == "other"
}

// calledByName reports whether the word at token i is a name, or what relatives are called in place of one.
func (r *reader) calledByName(i int) bool {
	if r.isName(i) || r.is(i, kinAddress) && !r.is(i-1, owner) {
		return true
	}
	t := &r.toks[i]
	return t.Capital && (r.is(i-1, title) || r.english(i).given && !t.Upper)
}
