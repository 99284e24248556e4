package lexicon

import (
	"slices"
	"strings"
)

// fits reads remarks on how an aid fits, and aids altered or swapped.
func (r *reader) fits(s *sentence) {
	for i := s.lo; i < s.hi; i++ {
		u := &r.units[i]
		if u.kind != kindFit || u.used {
			continue
		}
		if w := r.word(u.to - 1); r.word(u.to) == "to" && (w == "down" || w == "up") {
			drop(u) // "taken down to bingo in a wheelchair"
			continue
		}
		f := r.fitOf(s, i)
		if u.e.name == "altered" && slices.Equal(f.aids, []string{"sling"}) {
			drop(u) // an arm sling is adjusted as often
			continue
		}
		if !f.part && (len(f.aids) == 0 || u.e.name == "altered" && r.weakAlter(u)) {
			drop(u)
			continue
		}
		for _, k := range f.taken {
			r.units[k].used = true
			f.cover(&r.units[k])
		}
		for k := i + 1; k < f.hi; k++ {
			if r.units[k].kind == kindFit && !r.commaBetween(i, k) {
				r.units[k].used = true
			}
		}
		st := r.begin("aid.fit")
		st.Fit, st.Aids = u.e.name, f.aids
		st.Detail.Head = r.span(u.from, u.to)
		r.scope(s, i, &st)
		st.Detail.Expert = u.e.name == "altered" && r.expertBefore(s, i)
		if strings.HasPrefix(r.lower(u), "no") && u.e.name == "wrong" {
			st.Polarity = Affirmed
		}
		r.add(st, f.from, f.to)
	}
}

// expertBefore reports whether a therapist or nurse is the subject of what is told at unit i: "physio came and
// lowered the handles".
func (r *reader) expertBefore(s *sentence, i int) bool {
	for k := i - 1; k >= s.lo; k-- {
		switch n := &r.units[k]; {
		case r.parts(k) == 2, n.kind == kindSubject && r.is(n.from, firstPerson):
			return false
		case n.kind == kindPerson && (n.e.name == "therapy" || n.e.name == "nurse"):
			return n.from == r.units[s.lo].from || r.subjectPerson(s, k)
		}
	}
	return false
}

// fit is what a remark on how an aid fits speaks of.
type fit struct {
	aids     []string
	taken    []int // the units that named them
	part     bool  // a part that must fit is named, such as a handle
	from, to int   // tokens covered
	hi       int   // the end of its units, exclusive
}

func (f *fit) cover(u *unit) { f.from, f.to = min(f.from, u.from), max(f.to, u.to) }

// fitOf finds the aids and parts of which the remark at unit i speaks.
func (r *reader) fitOf(s *sentence, i int) fit {
	u := &r.units[i]
	lo, hi := r.segment(s, i)
	if !r.fitWords(lo, hi) && u.to-u.from < 4 {
		lo, hi = r.chunk(s, i)
	}
	f := fit{from: u.from, to: u.to, hi: hi}
	within := func(e *entry) {
		if e.kind == kindAid && fitted(e.name) {
			f.aids = appendNew(f.aids, e.name)
		}
	}
	r.inner(u, func(e *entry) {
		f.part = f.part || e.kind == kindFitPart
		within(e)
	})
	for k := lo; k < hi; k++ {
		n := &r.units[k]
		if max(u.from-n.to, n.from-u.to) > 12 || n.used || r.moveBetween(k, i) {
			continue
		}
		switch {
		case n.kind == kindFitPart:
			f.part, n.used = true, true
			r.inner(n, within)
			f.cover(n)
		case n.kind == kindAid && fitted(n.e.name):
			f.aids = appendNew(f.aids, n.e.name)
			f.taken = append(f.taken, k)
		}
	}
	switch {
	case len(f.aids) > 0:
	case f.part:
		// "fitted his FWW, handles at the wrist crease": the aid named before, unless a remark of its own lies between
		for k := lo - 1; k >= s.lo && r.parts(k) < 2 && r.units[k].kind != kindFit; k-- {
			if n := &r.units[k]; n.kind == kindAid && isWalkingAid(n.e.name) && !n.used && !r.moveBetween(k, i) {
				f.aids = appendNew(f.aids, n.e.name)
				f.taken = append(f.taken, k)
			}
		}
	case r.ofPronoun(u):
		if aid := r.lastAid(i); aid != "" {
			f.aids = []string{aid} // "her walker is too high. I put it down a notch"
		}
	}
	return f
}

// fitted reports whether the aid is one that has to fit its user.
func fitted(aid string) bool { return isWalkingAid(aid) || aid == "sling" }

// ofPronoun reports whether what was altered is only called "it" or "them".
func (r *reader) ofPronoun(u *unit) bool {
	for k := u.from - 1; k <= u.to; k++ {
		if r.is(k, altered) {
			return true
		}
	}
	return false
}

// fitWords reports whether an aid or a part of one stands among the units.
func (r *reader) fitWords(lo, hi int) bool {
	for k := lo; k < hi; k++ {
		if n := &r.units[k]; n.kind == kindFitPart || n.kind == kindAid && fitted(n.e.name) {
			return true
		}
	}
	return false
}

// inner calls yield for the wordings inside a wording with a gap ("let her elbow crutches down").
func (r *reader) inner(u *unit, yield func(*entry)) {
	for i := u.from; i < u.to; i++ {
		end := u.to
		if i == u.from {
			end--
		}
		if i >= end {
			break
		}
		if h, ok := r.lex.matcher.At(r.in[:end], i); ok {
			if e := r.lex.said[h.Payload].e; e != u.e {
				yield(e)
				i = h.To - 1
			}
		}
	}
}

// weakAlter reports whether the altering word needs a part or a count to be about an aid's fit.
func (r *reader) weakAlter(u *unit) bool {
	if r.is(u.from, alters) {
		return u.to-u.from == 1
	}
	return false
}

func (r *reader) moveBetween(i, j int) bool {
	if i > j {
		i, j = j, i
	}
	for k := i + 1; k < j; k++ {
		if u := &r.units[k]; u.kind == kindVerb && !u.e.fields.weak && u.form != NoTense && u.form != NounForm {
			return true
		}
	}
	return false
}
