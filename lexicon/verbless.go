package lexicon

import "slices"

// A clause with no verb of moving tells a move where it has a place and somebody who helped, or a walking aid and
// where it went or who went along: "Bed half nine with one", "off down to breakfast on the rollator".

// placeWithHelp reports whether unit i is the place of such a clause, at its beginning or reached by "to".
func (r *reader) placeWithHelp(s *sentence, i int) bool {
	u := &r.units[i]
	switch {
	case r.isPlace(i) && !r.isFloor(i) && r.startsSegment(s, i) && !washedIn(u.e.fields.place) && !r.figureAt(u.to):
	case u.kind == kindTo && r.placeLedTo(s, i) >= 0 && !r.staysOn(u):
	case u.kind == kindFrom && r.startsSegment(s, i) && r.leavesToilet(s, i): // "on and off the commode with two"
	default:
		return false
	}
	return r.helpNamed(s, i) || r.sameHere(s, i)
}

// leavesToilet reports whether unit i leads off a toilet or a commode, from which nobody goes on without help told.
func (r *reader) leavesToilet(s *sentence, i int) bool {
	k := r.placeLedTo(s, i)
	return k >= 0 && (r.units[k].e.fields.place == "toilet" || r.units[k].e.fields.place == "commode")
}

// placeLedTo is the place, no floor, to which unit i leads, past whoever owns it ("into his chair"); -1 for none.
func (r *reader) placeLedTo(s *sentence, i int) int {
	u := &r.units[i]
	if u.kind != kindTo && u.kind != kindFrom {
		return -1
	}
	for k := i + 1; k < s.hi && r.units[k].from-u.to <= 3; k++ {
		n := &r.units[k]
		if r.isPlace(k) && !r.isFloor(k) && r.leadsStraight(u.to, n.from) {
			return k
		}
		if n.kind != kindSubject {
			return -1
		}
	}
	return -1
}

// leadsStraight reports whether the tokens from i to j only belong to the noun behind them.
func (r *reader) leadsStraight(i, j int) bool {
	for ; i < j; i++ {
		if w := r.english(i); !r.onlyArticles(i, i+1) && !w.adjective && !w.isNoun && r.word(i) != "'s" {
			return false
		}
	}
	return true
}

// onceMore reports whether "same again" at unit i opens a clause of its own in a note that told a move: it was made once
// more.
func (r *reader) onceMore(s *sentence, i int, list []anchor) bool {
	if !r.startsSegment(s, i) || r.units[i].to-r.units[i].from < 2 {
		return false
	}
	for k := range r.out.Statements {
		if helped(r.out.Statements[k].Concept) {
			return true
		}
	}
	u := &r.units[i]
	joined := i > s.lo && r.units[i-1].kind == kindAnd && (r.is(u.to-1, reversed) || r.word(u.to) == "back") // "popped him across to the recliner and same way back"
	return joined && slices.ContainsFunc(list, func(a anchor) bool { return a.at < i && helped(a.concept) })
}

// meansBefore reports whether the aid at unit k is what the move told before it in the sentence was made with.
func (r *reader) meansBefore(s *sentence, k int) bool {
	u := &r.units[k]
	if lead := r.leadIn(u); !r.is(lead, byMeans) && r.word(lead) != "on" {
		return false
	}
	for i := k - 1; i >= s.lo; i-- {
		if n := &r.units[i]; n.kind == kindVerb && n.e.fields.concept != "" && !n.e.fields.weak {
			return true
		}
	}
	return false
}

// sameHere reports whether the segment of unit i says that it was done like the time before.
func (r *reader) sameHere(s *sentence, i int) bool {
	lo, hi := r.segment(s, i)
	for k := lo; k < hi; k++ {
		if r.units[k].kind == kindSame {
			return true
		}
	}
	return false
}

// goesWithAid reports whether unit i is a walking aid that somebody went with: "with", "on" or "using" leads to it, and
// its clause says who helped, where to, or that somebody went.
func (r *reader) goesWithAid(s *sentence, i int, list []anchor) bool {
	u := &r.units[i]
	if u.kind != kindAid || !isWalkingAid(u.e.name) || r.isStored(s, i) {
		return false
	}
	if lead := r.leadIn(u); !r.is(lead, byMeans) && r.word(lead) != "on" && !r.joinedToHelp(i) {
		return false
	}
	from, to := r.chunk(s, i)
	for _, a := range list {
		if a.at >= from && a.at < to && helped(a.concept) {
			return false // it is how somebody made the move told beside it
		}
	}
	if r.helpNamed(s, i) {
		return true
	}
	lo, _ := r.segment(s, i)
	for k := lo; k < i; k++ {
		if n := &r.units[k]; n.kind == kindTo && r.is(n.to-1, onward) || n.kind == kindVerb && n.e.fields.weak && r.is(n.from, went) ||
			n.kind == kindPlace && n.e.fields.place == "toilet" && r.startsSegment(s, k) {
			return true
		}
	}
	return false
}

// risesWithHelp reports whether unit i leads out of a bed or a seat in a clause of help: "some help up from her chair".
func (r *reader) risesWithHelp(s *sentence, i int) bool {
	u := &r.units[i]
	if u.kind != kindFrom || !r.is(u.from, upOrOut) || r.placeLedTo(s, i) < 0 {
		return false
	}
	for k := i - 1; k >= s.lo && r.parts(k) == 0; k-- {
		if n := &r.units[k]; n.kind == kindVague || n.kind == kindStaff {
			return true
		}
	}
	return false
}

// doesPerson reports whether the verb at unit i only stands for the move that somebody was helped with: "did her with two",
// "did the commode with me and the frame".
func (r *reader) doesPerson(s *sentence, i int) bool {
	u := &r.units[i]
	if !r.is(u.from, didWord) || u.to-u.from > 1 {
		return false
	}
	person := r.object(u.to) || r.isName(u.to) || r.is(u.to, title)
	place := i+1 < s.hi && r.isPlace(i+1) && r.onlyArticles(u.to, r.units[i+1].from)
	return (person || place) && r.helpNamed(s, i)
}

// settleDid reads "did her" at unit i, which is care of any sort, as a word that stands for a move where who helped or a lift
// follows at once: "did her with 2 and the belt".
func (r *reader) settleDid(i int) {
	u := &r.units[i]
	if u.to-u.from == 2 && r.is(u.from, didWord) && r.object(u.to-1) && (r.leads(i, kindStaff) || r.is(u.to, byMeans) && i+1 < len(r.units) && r.units[i+1].kind == kindAid) {
		u.kind, u.e, u.form, u.to = kindVerb, r.lex.find("verb.use"), Past, u.to-1
	}
}

// joinedToHelp reports whether the aid at unit i follows helpers with "and": "one and the frame".
func (r *reader) joinedToHelp(i int) bool {
	return i >= 2 && r.units[i-1].kind == kindAnd && r.units[i-2].kind == kindStaff && r.onlyArticles(r.units[i-1].to, r.units[i].from)
}

// helpNamed reports whether the segment of unit i names helpers or an amount of help: more than a bare "x2", which may
// count times, and nothing that was denied or is care of another sort.
func (r *reader) helpNamed(s *sentence, i int) bool {
	lo, hi := r.segment(s, i)
	hi = r.withAttributes(s, hi)
	help, times, aid := false, false, false
	for k := lo; k < hi; k++ {
		switch n := &r.units[k]; n.kind {
		case kindStaff:
			if n.e.name == "x" {
				times = true
			} else if c := r.count(*n); c > 0 && c <= mostHelpers || c == 0 && r.is(n.to-1, self) && r.isPlace(i) {
				help = true
			}
		case kindLevel:
			help = help || n.e.fields.assist != "independent"
		case kindAid:
			aid = aid || isWalkingAid(n.e.name) || n.e.name == "belt"
		case kindNegPre, kindSign, kindFall, kindVitalName, kindVitalPair, kindFaultWord:
			return false
		case kindCare:
			if !r.purpose(n.from) {
				return false
			}
		}
	}
	return help || times && aid
}

// withAttributes is the end of the segments behind unit hi that hold nothing but helpers, amounts of help and aids: the
// last of "BR x1, A1, belt, FWW".
func (r *reader) withAttributes(s *sentence, hi int) int {
	for at := hi; at < s.hi && r.units[at].sign == ','; {
		k := at + 1
		for ; k < s.hi && r.parts(k) == 0; k++ {
			switch n := &r.units[k]; n.kind {
			case kindStaff, kindLevel, kindAid, kindSubject, kindClock, kindWas, kindNone, kindSame:
			default:
				return hi
			}
		}
		if k == at+1 || k < s.hi && r.parts(k) != 1 {
			return hi
		}
		at, hi = k, k
	}
	return hi
}

// mostHelpers is how many people help with one move at the most; a larger number counts something else.
const mostHelpers = 4

// washedIn reports whether the place is named for the care that is done there: "Bath x1 assist" is a wash.
func washedIn(place string) bool { return place == "bath" || place == "shower" }

// staysOn reports whether the preposition only says where somebody is.
func (r *reader) staysOn(u *unit) bool {
	w := r.word(u.to - 1)
	return u.to-u.from == 1 && (w == "in" || w == "on")
}
