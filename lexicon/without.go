package lexicon

import (
	"slices"
	"sort"
)

// withSameAid gives a walk that only tells the manner ("with the frame, walking slowly") the aid that its sentence
// named for the move.
func (r *reader) withSameAid() {
	if !slices.ContainsFunc(r.out.Statements, func(st Statement) bool { return onlyManner(&st) }) {
		return
	}
	type when struct {
		sentence int
		time     Time
		who      Who
	}
	stops := r.stops()
	of := func(st *Statement) when {
		sentence, _ := slices.BinarySearch(stops, st.Span.Start)
		return when{sentence, st.Time, st.Who}
	}
	aids := make(map[when][]string)
	for k := range r.out.Statements {
		st := &r.out.Statements[k]
		if st.Polarity != Affirmed || st.Group() != "move" && st.Concept != "aid.fit" {
			continue
		}
		for _, aid := range st.Aids {
			if isWalkingAid(aid) || aid == "none" {
				aids[of(st)] = appendNew(aids[of(st)], aid)
			}
		}
	}
	for k := range r.out.Statements {
		if st := &r.out.Statements[k]; onlyManner(st) {
			st.Aids = slices.Clone(aids[of(st)])
		}
	}
}

// stops are the places in the text at which sentences end.
func (r *reader) stops() []int {
	var out []int
	for i := range r.units {
		if u := &r.units[i]; u.sign == '.' {
			out = append(out, r.toks[u.from].Start)
		}
	}
	return out
}

// onlyManner reports whether a statement is a walk of which nothing is told but that it was made.
func onlyManner(st *Statement) bool {
	return st.Concept == "move.walk" && st.Polarity == Affirmed && len(st.Aids) == 0 && st.Staff.IsZero() && st.DistanceM.IsZero() &&
		st.Assist == "" && st.To == "" && st.From == ""
}

// wentWithout gives the walks beside an absent walking aid that no other aid replaced "none".
func (r *reader) wentWithout() {
	for _, a := range r.absent {
		if st := r.walkBeside(a); st != nil {
			st.Aids = append(st.Aids, "none")
		}
	}
	r.absent = r.absent[:0]
}

// walkBeside is the walk done without the absent aid: in its sentence, else in the one before or after; nil for
// none or one with an aid.
func (r *reader) walkBeside(a absent) *Statement {
	at := r.toks[r.units[a.unit].from].Start
	var best *Statement
	apart := 2
	for k := range r.out.Statements {
		st := &r.out.Statements[k]
		if st.Concept != "move.walk" || st.Time != Now || st.Polarity != Affirmed || st.Who != Resident {
			continue
		}
		d := r.stopsBetween(at, st.Span.Start)
		if d < apart && (d == 0 || !a.same) {
			best, apart = st, d
		}
	}
	if best == nil || r.otherAidNear(a, best) || slices.ContainsFunc(best.Aids, isWalkingAid) || best.HasAid("none") {
		return nil
	}
	return best
}

// otherAidNear reports whether the sentence of the walk names another aid that was there, so that it was not made
// without any.
func (r *reader) otherAidNear(a absent, st *Statement) bool {
	for k := range r.units {
		u := &r.units[k]
		if k == a.unit || u.kind != kindAid || !isWalkingAid(u.e.name) || u.e.name == a.aid || r.without(k) {
			continue
		}
		at := r.toks[u.from].Start
		if r.stopsBetween(at, st.Span.Start) == 0 && !slices.ContainsFunc(r.absent, func(o absent) bool { return o.unit == k }) {
			return true
		}
	}
	return false
}

// stopsBetween counts the ends of sentences between two places in the text, whichever comes first, two at most:
// further apart is apart.
func (r *reader) stopsBetween(a, b int) int {
	from, to, n := min(a, b), max(a, b), 0
	first := sort.Search(len(r.units), func(i int) bool { return r.toks[r.units[i].from].Start >= from })
	for i := first; i < len(r.units) && n < 2; i++ {
		u := &r.units[i]
		if r.toks[u.from].Start >= to {
			break
		}
		if u.sign == '.' {
			n++
		}
	}
	return n
}
