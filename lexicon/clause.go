package lexicon

// A sentence is the units from lo to hi (exclusive).
type sentence struct {
	lo, hi int
	mood   Mood // Order in a plan line or under a status heading, by the author's role
	headed bool // under a status heading such as "Transfers:"
	plan   bool // in a section of orders
	report bool // in a section of what was found
	clock  string
	has    kinds // what its units do
}

// sentences parts the units, carrying section headings from line to line.
func (r *reader) sentences() []sentence {
	out := r.sents[:0]
	lo, plan, report := 0, false, false
	timed := r.timedLines() >= 2
	clock := ""
	flush := func(hi int) {
		if hi <= lo {
			lo = hi + 1
			return
		}
		s := sentence{lo: lo, hi: hi, mood: Report}
		for i := lo; i < hi; i++ {
			u := &r.units[i]
			s.has |= 1 << u.kind
			if u.e == nil || !r.nextIsColon(i) {
				continue
			}
			switch {
			case u.kind == kindPlanHead:
				plan, report = true, false
			case u.kind == kindHeader && u.e.family == "section":
				plan, report = false, true
			case u.kind == kindHeader, u.kind == kindVerb && u.form != Past && r.opensSentence(lo, i):
				s.headed = true
			}
		}
		s.plan, s.report = plan, report
		if timed {
			if r.opensWithClock(lo) {
				clock = r.clockOf(r.units[lo])
			}
			s.clock = clock
		}
		out = append(out, s)
		lo = hi + 1
	}
	for i := range r.units {
		if s := r.units[i].sign; s == '.' {
			flush(i)
		}
	}
	flush(len(r.units))
	r.sents = out
	return out
}

// opensSentence reports whether nothing but signs stands between units lo and i.
func (r *reader) opensSentence(lo, i int) bool {
	for k := lo; k < i; k++ {
		if r.units[k].e != nil && !r.nextIsColon(k) {
			return false
		}
	}
	return true
}

// timedLines counts the sentences that open with a time of day.
func (r *reader) timedLines() int {
	n := 0
	for i := range r.units {
		if r.units[i].kind == kindClock && r.startsLine(r.units[i].from) {
			n++
		}
	}
	return n
}

func (r *reader) startsLine(tok int) bool {
	return tok == 0 || r.word(tok-1) == "\n" || (r.word(tok-1) == "-" && (tok < 2 || r.word(tok-2) == "\n"))
}

func (r *reader) opensWithClock(i int) bool {
	return i < len(r.units) && r.units[i].kind == kindClock && r.startsLine(r.units[i].from)
}
