package lexicon

// What stands apart from a move and still belongs to it: helpers named behind it, and the way of the move before.

// trailingHelpers gives helpers that no move has taken to the move told just before, where that names none: "Got her up
// to the chair then, me and Bern", "… with the stand lift. I was alone on this side".
func (r *reader) trailingHelpers(s *sentence) {
	for i := s.lo; i < s.hi; i++ {
		u := &r.units[i]
		if u.used || u.kind != kindStaff && u.kind != kindReason || u.kind == kindStaff && u.e.name == "x" {
			continue
		}
		n := r.count(*u)
		if n < 0 || n > mostHelpers || u.kind == kindReason && n == 0 {
			continue
		}
		st := r.moveBefore(s, i)
		if st == nil && u.kind == kindStaff && n > 1 {
			st = r.moveBehind(s, i)
		}
		if st == nil || !st.Staff.IsZero() || st.Assist == "independent" || st.HasAid("none") {
			continue
		}
		if n == 0 {
			if !isLift(st.Method) {
				continue
			}
			n = 1 // staff who run a lift alone
		}
		st.Staff = Some(n)
		u.used = true
		st.Detail.Terms = append(st.Detail.Terms, Mark{Field: "staff", Span: r.span(u.from, u.to), Term: u.e.ID})
		st.Detail.Vague = Span{}
	}
}

// moveBefore is the move told last before unit i, in its sentence or the one before, where nothing between them tells of
// anything else; nil for none.
func (r *reader) moveBefore(s *sentence, i int) *Statement {
	start := r.toks[r.units[i].from].Start
	var last *Statement
	for k := range r.out.Statements {
		st := &r.out.Statements[k]
		if helped(st.Concept) && st.Span.End <= start && (last == nil || st.Span.End > last.Span.End) {
			last = st
		}
	}
	if last == nil || last.Polarity != Affirmed || last.Time != Now {
		return nil
	}
	parted := false
	for k := i - 1; k >= 0 && r.toks[r.units[k].to-1].End > last.Span.End; k-- {
		switch n := &r.units[k]; {
		case n.sign == '.':
			if parted || k < s.lo-1 || !r.only(s, i) {
				return nil
			}
			parted = true
		case r.units[i].kind == kindReason && n.sign == 0 && (n.kind == kindBreak || n.kind == kindCare || n.kind == kindSubject):
			// "…, the rest were out for the fire drill so it was just me"
		case n.kind == kindVerb && !n.used, n.kind == kindPerson, n.kind == kindFall, n.kind == kindSign, n.kind == kindNegPre,
			n.kind == kindCare && !r.purpose(n.from), n.kind == kindBreak && r.parts(k) == 2 && r.units[k+1].sign == 0, n.kind == kindPast, n.kind == kindPlanned:
			return nil
		}
	}
	return last
}

// moveBehind is the move told first behind unit i in its sentence, where nothing between them tells of anything else:
// "We was three in the room, me, Ioana and Bev, for to put him in the wheelchair"; nil for none.
func (r *reader) moveBehind(s *sentence, i int) *Statement {
	for k := i + 1; k < s.hi; k++ {
		u := &r.units[k]
		switch {
		case u.kind == kindVerb && !u.used || u.kind == kindPlace || u.kind == kindAid:
			for n := range r.out.Statements {
				st := &r.out.Statements[n]
				if at := r.toks[u.from].Start; st.Span.Start <= at && at < st.Span.End {
					if helped(st.Concept) && st.Polarity == Affirmed && st.Time == Now && st.Who == Resident {
						return st
					}
					return nil
				}
			}
		case r.blocks(k), u.kind == kindPerson, u.kind == kindNegPre, u.kind == kindPast, u.kind == kindPlanned,
			u.kind == kindBreak && r.parts(k) == 2:
			return nil
		}
	}
	return nil
}

// only reports whether the sentence opens with the helpers at unit i or says "I was" and the like before them, so that it
// speaks of who made the move told before.
func (r *reader) only(s *sentence, i int) bool {
	for k := s.lo; k < i; k++ {
		if n := &r.units[k]; n.kind != kindSubject && n.kind != kindNone && n.kind != kindClock {
			return false
		}
	}
	return r.units[i].kind == kindReason || r.units[i].from-r.units[s.lo].from <= 3
}

// again fills a move told to be made the same way from the one before.
func (m *mover) again() {
	r := m.r
	same := -1
	for k := m.a.lo; k < m.a.hi && same < 0; k++ {
		if r.units[k].kind == kindSame && r.onlyCommas(m.a.at, k) {
			same = k
		}
	}
	if same < 0 {
		return
	}
	for k := len(r.out.Statements) - 1; k >= 0; k-- {
		if p := &r.out.Statements[k]; helped(p.Concept) {
			m.likeBefore(same, p)
			return
		}
	}
}

// likeBefore takes from the move p what this one does not say.
func (m *mover) likeBefore(same int, p *Statement) {
	m.r.units[same].used = true
	m.cover(&m.r.units[same])
	st := m.st
	if st.Staff.IsZero() && st.Assist == "" {
		st.Staff, st.Assist = p.Staff, p.Assist
	}
	if st.Method == "" && st.Concept != "move.walk" {
		st.Method = p.Method
	}
	if len(st.Aids) == 0 {
		st.Aids = append([]string(nil), p.Aids...)
	}
	if len(st.Helpers) == 0 {
		st.Helpers = append([]string(nil), p.Helpers...)
	}
	if m.r.is(m.r.units[same].to-1, reversed) {
		st.From, st.To = p.To, p.From
	}
}

// onlyCommas reports whether no more than commas part units i and j.
func (r *reader) onlyCommas(i, j int) bool {
	if i > j {
		i, j = j, i
	}
	for k := i + 1; k < j; k++ {
		if r.parts(k) == 2 || r.blocks(k) {
			return false
		}
	}
	return true
}
