package lexicon

import (
	"strings"
)

// fits reads remarks on how an aid fits, and aids altered or swapped.
func (r *reader) fits(s *sentence) {
	for i := s.lo; i < s.hi; i++ {
		u := &r.units[i]
		if u.kind != kindFit || u.used {
			continue
		}
		lo, hi := r.segment(s, i)
		if !r.fitWords(lo, hi) && u.to-u.from < 4 {
			lo, hi = r.chunk(s, i)
		}
		var aids []string
		part, from, to := false, u.from, u.to
		r.inner(u, func(e *entry) {
			part = part || e.kind == kindFitPart
			if e.kind == kindAid && fitted(e.name) {
				aids = appendNew(aids, e.name)
			}
		})
		var taken []int
		for k := lo; k < hi; k++ {
			n := &r.units[k]
			if d := max(u.from-n.to, n.from-u.to); d > 12 || n.used {
				continue
			}
			near := !r.moveBetween(k, i)
			switch {
			case n.kind == kindFitPart && near:
				part = true
				n.used = true
				r.inner(n, func(e *entry) {
					if e.kind == kindAid && fitted(e.name) {
						aids = appendNew(aids, e.name)
					}
				})
				from, to = min(from, n.from), max(to, n.to)
			case n.kind == kindAid && fitted(n.e.name) && near:
				aids = appendNew(aids, n.e.name)
				taken = append(taken, k)
			}
		}
		if len(aids) == 0 && part {
			// "fitted his FWW, handles at the wrist crease": the aid named before, unless a remark of its own lies between
			for k := lo - 1; k >= s.lo && r.parts(k) < 2 && r.units[k].kind != kindFit; k-- {
				if n := &r.units[k]; n.kind == kindAid && isWalkingAid(n.e.name) && !n.used && !r.moveBetween(k, i) {
					aids = appendNew(aids, n.e.name)
					taken = append(taken, k)
				}
			}
		}
		if !part && len(aids) == 0 && r.ofPronoun(u) {
			if aid := r.lastAid(i); aid != "" {
				aids = []string{aid} // "her walker is too high. I put it down a notch"
			}
		}
		if !part && len(aids) == 0 {
			drop(u)
			continue
		}
		if u.e.name == "altered" && !part && r.weakAlter(u) {
			drop(u)
			continue
		}
		for _, k := range taken {
			r.units[k].used = true
			from, to = min(from, r.units[k].from), max(to, r.units[k].to)
		}
		for k := i + 1; k < hi; k++ {
			if r.units[k].kind == kindFit && !r.commaBetween(i, k) {
				r.units[k].used = true
			}
		}
		st := r.begin("aid.fit")
		st.Fit, st.Aids = u.e.name, aids
		st.Detail.Head = r.span(u.from, u.to)
		r.scope(s, i, &st)
		if strings.HasPrefix(r.lower(u), "no") && u.e.name == "wrong" {
			st.Polarity = Affirmed
		}
		r.add(st, from, to)
	}
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
			if e := &r.lex.entries[r.lex.said[h.Payload].entry]; e != u.e {
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
