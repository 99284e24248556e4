package lexicon

import (
	"strings"
)

func (r *reader) lower(u *unit) string {
	return strings.ToLower(r.text[r.toks[u.from].Start:r.toks[u.to-1].End])
}

// levels reads an assist level said outside any move.
func (r *reader) levels(s *sentence) {
	for i := s.lo; i < s.hi; i++ {
		u := &r.units[i]
		if u.kind != kindLevel || u.used {
			continue
		}
		switch u.e.fields.assist {
		case "independent", "dependent", "supervision":
			continue
		}
		lo, hi := r.segment(s, i)
		care := false
		st := r.begin("assist.level")
		st.Assist = u.e.fields.assist
		from, to := u.from, u.to
		for k := lo; k < hi; k++ {
			n := &r.units[k]
			care = care || n.kind == kindCare && (n.from >= u.to && n.from-u.to <= 4 || n.to <= u.from && u.from-n.to <= 1)
			if _, has := st.Staff.Get(); !has && n.kind == kindStaff && !n.used {
				if c := r.count(*n); c >= 0 {
					st.Staff = Some(c)
					from, to = min(from, n.from), max(to, n.to)
				}
			}
		}
		if care {
			continue
		}
		st.Detail.Head = r.span(u.from, u.to)
		r.scope(s, i, &st)
		r.add(st, from, to)
	}
}

// aids reads aids spoken of outside any move.
func (r *reader) aids(s *sentence) {
	for i := s.lo; i < s.hi; i++ {
		u := &r.units[i]
		if u.kind != kindAid || u.used || u.e.name == "hearing" {
			continue
		}
		if r.inReason(s, u) || r.incidental(s, i) {
			continue
		}
		st := r.begin("aid." + u.e.name)
		st.Detail.Head = r.span(u.from, u.to)
		r.scope(s, i, &st)
		if isWalkingAid(u.e.name) && st.Polarity == Negated && st.Time == Now && r.without(i) && !r.swapped(i) {
			st.Concept = "aid.none" // "No frame."
			r.absent = append(r.absent, absent{unit: i, aid: "none"})
		}
		if st.Concept == "aid.none" {
			st.Polarity = Affirmed
		}
		r.add(st, u.from, u.to)
	}
}

// incidental reports whether the aid at unit i is only where something else happened: the belt by
// which somebody was caught, the wheelchair fallen from or sat in, the lift to another floor.
func (r *reader) incidental(s *sentence, i int) bool {
	u := &r.units[i]
	if u.e.name == "belt" {
		for k := s.lo; k < s.hi; k++ {
			if r.units[k].kind == kindFall {
				return true
			}
		}
	}
	if i > s.lo && r.word(u.from-1) == "not" && r.units[i-1].kind == kindNegPre && i-2 >= s.lo && r.units[i-2].kind == kindAid && r.units[i-2].used {
		return true // "with stand aid, not hoist": only what was not chosen
	}
	if r.word(u.from-1) == "than" || r.word(u.from-2) == "than" {
		return true // "lighter than the frame"
	}
	if u.e.name == "sling" {
		for k := s.lo; k < s.hi; k++ {
			if n := &r.units[k]; n.kind == kindLimb && n.e.fields.limb == "arm" {
				return true
			}
		}
	}
	if u.e.name == "lift" && r.word(u.to-1) == "lift" && i-2 >= s.lo && r.units[i-2].kind == kindVerb && r.units[i-1].kind == kindTo {
		switch r.units[i-2].e.fields.concept {
		case "move.walk", "move.wheel":
			return true
		}
	}
	if r.isPlace(i) {
		if p := r.before(i); p != nil && (p.kind == kindFrom || p.kind == kindTo || p.kind == kindFall || p.kind == kindPosture) && u.from-p.to <= 2 {
			return true
		}
	}
	return false
}

// inReason reports whether the unit's words lie inside a statement that was read already.
func (r *reader) inReason(s *sentence, u *unit) bool {
	at := r.toks[u.from].Start
	// what the sentence at hand gave stands last
	for k := len(r.out.Statements) - 1; k >= 0; k-- {
		st := &r.out.Statements[k]
		if st.Span.End <= r.toks[r.units[s.lo].from].Start {
			return false
		}
		if (st.Group() == "reason" || st.Concept == "aid.fault") && st.Span.Start <= at && at < st.Span.End {
			return true
		}
	}
	return false
}

// remarks keeps wordings that rules look at though they are no statements.
func (r *reader) remarks(s *sentence) {
	for i := s.lo; i < s.hi; i++ {
		u := &r.units[i]
		var kind RemarkKind
		switch u.kind {
		case kindVerb:
			// "unable to stand", "could not stand"
			if u.e.fields.concept != "move.stand" || i == s.lo || r.units[i-1].kind != kindNegPre || u.from-r.units[i-1].to > 1 || !r.cannot(&r.units[i-1]) {
				continue
			}
			kind = Unable
		case kindNoPart:
			kind = NoPart
		case kindUnable:
			kind = Unable
		case kindTookPart:
			kind = TookPart
		case kindInBed:
			if r.negatedBy(s, i) >= 0 {
				continue
			}
			kind = InBed
		case kindFall:
			if u.e.name != "follow" && u.e.name != "injury" {
				continue
			}
			kind = Watched
		case kindVague:
			if u.used {
				continue
			}
			kind = Vague
		case kindLevel:
			if u.e.fields.assist != "dependent" || u.used {
				continue
			}
			kind = NoPart
		default:
			continue
		}
		r.out.Remarks = append(r.out.Remarks, Remark{Kind: kind, Span: r.span(u.from, u.to), Clause: r.clauseID(s, i)})
	}
}

// cannot reports whether the negation tells of inability.
func (r *reader) cannot(u *unit) bool {
	l := r.lower(u)
	return strings.HasPrefix(l, "unable") || strings.HasPrefix(l, "could") || strings.HasPrefix(l, "can") || strings.Contains(l, " able")
}
