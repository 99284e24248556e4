package lexicon

// changes reads a way of moving that is told to have changed, as two moves: the way before, which is
// past, and the one after ("downgraded from one-person pivot to sit-stand lift with two").
func (r *reader) changes(s *sentence) {
	from, to, end := -1, 0, 0
	if r.saysFrom {
		from, to, end = r.changed(s)
	}
	if from < 0 {
		from, to, end = r.wasNow(s)
	}
	if from < 0 {
		return
	}
	before, ok := r.way(s, from, to)
	if !ok {
		return
	}
	after, ok := r.way(s, to, end)
	if !ok {
		return
	}
	concept := r.changing(s, from)
	if concept == "" {
		concept = "move.transfer"
		if before.method == "" && after.method == "" && (before.walked || after.walked) {
			concept = "move.walk"
		}
	}
	for i, w := range []way{before, after} {
		st := r.begin(concept)
		st.Detail.Head = r.span(r.units[w.first].from, r.units[w.last].to)
		r.scope(s, w.first, &st)
		st.Polarity = Affirmed
		if i == 0 {
			st.Time, st.Mood = Before, Report
		} else {
			st.Time = Now
			if r.role != CareWorker && r.role != OtherRole {
				st.Mood = Order
			}
		}
		st.Staff, st.Assist, st.Method, st.Aids = w.staff, w.assist, w.method, w.aids
		st.Detail.Terms = append(st.Detail.Terms, w.marks...)
		for k := w.first; k <= w.last; k++ {
			r.units[k].used = true
		}
		r.add(st, r.units[w.first].from, r.units[w.last].to)
	}
}

// changing is the move that is named as what was changed before unit i, "" for none. It takes that word.
func (r *reader) changing(s *sentence, i int) string {
	for k := i - 1; k >= s.lo; k-- {
		u := &r.units[k]
		if u.kind != kindVerb || u.used || u.e.fields.weak || u.form == Past {
			continue
		}
		switch c := u.e.fields.concept; c {
		case "move.walk", "move.transfer", "move.stand":
			u.used = true
			return c
		}
	}
	return ""
}

// changed finds the units of what was changed from (from, to) and to (to, end), from -1 for none. The
// words of changing stand before "from".
func (r *reader) changed(s *sentence) (from, to, end int) {
	lo := r.units[s.lo].from
	hi := r.units[s.hi-1].to
	at := -1
	for k := lo; k < hi; k++ {
		switch w := r.word(k); {
		case r.is(k, changing):
			at = k
		case w == "from" && at >= 0 && k-at <= 4:
			from = r.unitAfter(s, k)
		case (w == "to" || w == "→") && from > s.lo:
			to = r.unitAfter(s, k)
			if to <= from || to >= s.hi {
				return -1, 0, 0
			}
			_, end = r.chunk(s, to)
			return from, to, end
		}
	}
	return -1, 0, 0
}

// wasNow finds the units of what somebody's way of moving was (from, to) and what it is now (to, end), from -1
// for none: "Was A1 pivot, now sit-stand lift with two".
func (r *reader) wasNow(s *sentence) (from, to, end int) {
	from = -1
	for k := s.lo; k < s.hi; k++ {
		switch u := &r.units[k]; {
		case u.kind == kindWas && from < 0:
			from = k + 1
		case u.kind == kindVerb && u.form == Past && !u.e.fields.weak, u.kind == kindClock && r.clockOf(*u) != "":
			return -1, 0, 0 // something was done
		case u.kind == kindNow && from >= 0 && k > from:
			_, end = r.chunk(s, min(k+1, s.hi-1))
			return from, k + 1, end
		}
	}
	return -1, 0, 0
}

// unitAfter is the first unit of the sentence that begins after token k.
func (r *reader) unitAfter(s *sentence, k int) int {
	i := s.lo
	for i < s.hi && r.units[i].from <= k {
		i++
	}
	return i
}

// way is how somebody is moved, with the units that say so.
type way struct {
	first, last int
	staff       Optional[int]
	assist      string
	method      string
	aids        []string
	walked      bool
	marks       []Mark
}

// way reads the units from lo to hi; it is none unless they give help, a method or a lift.
func (r *reader) way(s *sentence, lo, hi int) (w way, ok bool) {
	w.first = -1
	for k := lo; k < hi && k < s.hi; k++ {
		u := &r.units[k]
		if u.used || u.e == nil {
			if u.sign != 0 && u.sign != '(' && u.sign != ')' {
				break
			}
			continue
		}
		field := ""
		switch u.kind {
		case kindBearing, kindFall, kindSign, kindTold:
			return way{}, false
		case kindOrder, kindPerson:
			return w, ok
		case kindStaff:
			if n := r.count(*u); n >= 0 && w.staff.IsZero() {
				w.staff, field, ok = Some(n), "staff", true
			}
		case kindLevel:
			if w.assist == "" {
				w.assist, field, ok = u.e.fields.assist, "assist", true
			}
		case kindVerb:
			switch {
			case u.e.fields.method != "" && w.method == "":
				w.method, field, ok = u.e.fields.method, "method", true
			case u.e.fields.concept == "move.walk":
				w.walked, field = true, "concept"
			}
		case kindAid:
			switch name := u.e.name; {
			case isLift(name) && w.method == "":
				w.method, field, ok = name, "method", true
			case name == "board" && w.method == "":
				w.method, field, ok = "board", "method", true
			case !isLift(name) && name != "none":
				w.aids, field = appendNew(w.aids, name), "aids"
				w.walked = w.walked || isWalkingAid(name)
			}
		}
		if field == "" {
			continue
		}
		if w.first < 0 {
			w.first = k
		}
		w.last = k
		w.marks = append(w.marks, Mark{Field: field, Span: r.span(u.from, u.to), Term: u.e.ID})
	}
	return w, ok && w.first >= 0
}
