package lexicon

// tell reads that the emergency services or the office were told.
func (t *themer) tell(k, i int) {
	s := &t.sents[k]
	u := &t.reader.units[i]
	if u.e.ID != "told."+u.e.name {
		t.tellOnce(t.start(k, i), i)
		return
	}
	v := t.tellingVerb(s, i)
	if v < 0 && i > s.lo {
		v = t.listed(s, i)
	}
	if v < 0 || t.calls(i, v) && u.e.name == "office" {
		return
	}
	st := t.begin("told." + u.e.name)
	from, to := u.from, u.to
	if !t.personBetween(i, v) {
		from, to = min(from, t.reader.units[v].from), max(to, t.reader.units[v].to)
	}
	if c, at := t.clockTold(s, i, v); c != "" {
		st.Clock = c
		from, to = min(from, t.reader.units[at].from), max(to, t.reader.units[at].to)
	}
	st.Detail.Head = t.span(t.reader.units[v].from, t.reader.units[v].to)
	t.scope(s, min(i, v), &st)
	st.Who = Resident
	for j := min(i, v) + 1; j < max(i, v); j++ {
		switch t.reader.units[j].kind {
		case kindNegPre:
			st.Polarity = Negated
		case kindPlanned, kindOrder:
			st.Time = Planned
		}
	}
	if st.Time == Now && v < i && (t.toTell(s, v, i) || t.word(t.reader.units[v].from-1) == "to" && t.is(t.reader.units[v].from, tellBase)) {
		st.Time = Planned
	}
	st.Span = t.span(from, to)
	t.add(st, from, to)
	t.gone = append(t.gone, t.span(u.from, u.to))
}

// tellOnce adds that the services were told unless that was just said.
func (t *themer) tellOnce(st Statement, i int) {
	for n := t.read; n < len(t.out.Statements); n++ {
		if o := &t.out.Statements[n]; o.Concept == st.Concept && t.toks[t.reader.units[i].from].Start-o.Span.End < 60 {
			return
		}
	}
	st.Who, st.Mood = Resident, Report
	t.put(st, i)
}

// listed is the unit of the verb of telling that reaches unit i over other things done in between: "called 911, put
// a coat round her, then the on call supervisor". -1 for none.
func (t *themer) listed(s *sentence, i int) int {
	if !t.is(t.reader.units[i].from-1, article) && !t.is(t.reader.units[i].from-1, thenWord) {
		return -1
	}
	at := t.reader.units[i].from - 1
	if t.is(at, article) {
		at--
	}
	if !t.is(at, thenWord) {
		return -1
	}
	for k := i - 1; k >= s.lo; k-- {
		if t.reader.units[k].kind == kindTold {
			return k
		}
	}
	return -1
}
