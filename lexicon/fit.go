package lexicon

import (
	"slices"
	"strings"

	"example.com/stance/lexicon/internal/english"
)

// fits reads remarks on how an aid fits, and aids altered or swapped.
func (r *reader) fits(s *sentence) {
	for i := s.lo; i < s.hi; i++ {
		u := &r.units[i]
		if end := r.heightAgainstBody(s, i); end > 0 {
			r.fitsWrong(s, i, end)
			continue
		}
		if u.kind != kindFit || u.used {
			continue
		}
		if r.fitsNothing(s, u) {
			drop(u)
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

// fitsNothing reports whether the words of altering are told of something that is no aid.
func (r *reader) fitsNothing(s *sentence, u *unit) bool {
	switch w := r.word(u.to - 1); {
	case r.word(u.to) == "to" && (w == "down" || w == "up"):
		return true // "taken down to bingo in a wheelchair"
	case u.to-u.from == 1 && r.english(u.to).noun == english.Artefact:
		return !r.unitAt(s, u.to, kindAid) && !r.unitAt(s, u.to, kindFitPart) // "off a raised chair"
	}
	return r.thingTurned(u)
}

// thingTurned reports whether "up a notch" is told of the noun right before it, which is no aid: "heating up a notch".
func (r *reader) thingTurned(u *unit) bool {
	w := r.word(u.from)
	if w != "up" && w != "down" || u.to-u.from < 2 || r.nominal(u.from-1) && r.namesResident(u.from-1) || !r.english(u.from-1).isNoun {
		return false
	}
	return r.endOfWording(u.from-1) == kindNone
}

// unitAt reports whether a unit of the kind begins at token t.
func (r *reader) unitAt(s *sentence, t int, k kind) bool {
	for i := s.lo; i < s.hi; i++ {
		if u := &r.units[i]; u.from == t {
			return u.kind == k
		}
	}
	return false
}

// heightAgainstBody gives the token behind the part of the body that the handles at unit i, or the stick, are told to
// reach and should not ("handles nearly at the elbow"), 0 for none.
func (r *reader) heightAgainstBody(s *sentence, i int) int {
	u := &r.units[i]
	part := u.kind == kindFitPart && r.is(u.to-1, handle)
	if u.used || !part && !(u.kind == kindAid && isWalkingAid(u.e.name) && r.is(u.to, reachesTo)) {
		return 0
	}
	if i > s.lo && r.follows(i, kindAid) && !fitted(r.units[i-1].e.name) {
		return 0 // the grips of a lift
	}
	end := u.to + 9
	for k := i + 1; k < s.hi && r.units[k].from < end; k++ {
		if n := &r.units[k]; n.kind == kindAid && n.from-u.to <= 3 {
			if !fitted(n.e.name) {
				return 0
			}
			end = n.to + 7 // "the handles of his frame"
		} else if n.sign != 0 || n.kind == kindFit || n.kind == kindVerb && r.word(n.from) != "stand" && !r.is(n.from, reachesTo) && !r.is(n.from, toHeight) {
			end = n.from
		}
	}
	for t := u.to; t < end && t < len(r.toks); t++ {
		if r.is(t, wrongHeight) && r.is(r.leadOf(t), toHeight) {
			return t + 1
		}
	}
	return 0
}

// leadOf is the token before the articles and owners that stand before token t.
func (r *reader) leadOf(t int) int {
	for t--; t > 0 && (r.is(t, article) || r.is(t, owner)); t-- {
	}
	return t
}

// fitsWrong reads the height told from unit i to token end as one that is wrong.
func (r *reader) fitsWrong(s *sentence, i, end int) {
	st := r.begin("aid.fit")
	st.Fit = "wrong"
	st.Detail.Head = r.span(r.units[i].from, end)
	for k := i; k < s.hi && r.units[k].from < end; k++ {
		n := &r.units[k]
		if n.kind == kindAid && fitted(n.e.name) {
			st.Aids = appendNew(st.Aids, n.e.name)
		}
		n.used = true
		if n.kind == kindVerb {
			drop(n) // "handles stand at the elbow"
		}
	}
	if len(st.Aids) == 0 {
		if aid := r.lastAid(i); aid != "" {
			st.Aids = []string{aid}
		}
	}
	r.scope(s, i, &st)
	r.add(st, r.units[i].from, end)
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
	last := r.word(u.to - 1)
	return r.is(u.from, alters) && (u.to-u.from == 1 || u.to-u.from == 2 && (last == "up" || last == "down"))
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
