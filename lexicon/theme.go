package lexicon

import (
	"cmp"
	"slices"
	"strings"
)

// The themes of a note are rising in stages, hazards, what brought a fall about and what it broke, the
// wheelchair, and signs at the bed. Their words are often those of a move as well ("sat at the edge of the bed for
// two minutes"), so their wordings are matched beside all others, and once moves, signs and falls are read:
// what these say decides whether the words of a theme mean it.

// A themed is a wording of a theme, in tokens.
type themed struct {
	from, to int
	e        *entry
}

// themes reads the statements of the themes and lays them over what was read before.
func (r *reader) themes() {
	r.passedSigns()
	hits := r.themeHits()
	if len(hits) == 0 {
		r.movedBy()
		return
	}
	t := &themer{reader: r, hits: hits, read: len(r.out.Statements)}
	t.units = r.units
	// the rows change places, so that both keep their room for the next note
	r.units, r.spare = r.withThemes(hits), r.units
	for i := range r.units {
		r.units[i].part = int8(r.part(i))
	}
	r.stories()
	t.sents = r.sentences()
	for k := range t.sents {
		t.sentence(k)
	}
	t.takeOver()
	r.movedBy()
}

// passedSigns makes a sign negated that is told to be over: "dizziness gone", "the spinning had passed".
func (r *reader) passedSigns() {
	for n := range r.out.Statements {
		s := &r.out.Statements[n]
		if s.Group() != "sign" || s.Polarity != Affirmed || s.Time != Now {
			continue
		}
		_, end := r.tokensOf(s)
		for i := end; i < end+4 && i < len(r.toks); i++ {
			if r.pauses(i) || r.is(i, noAnswer) || r.word(i) == "not" || r.word(i) == "until" {
				break
			}
			if r.is(i, passedOff) {
				if w := r.word(i); (w == "went" || w == "wore") && r.word(i+1) != "off" && r.word(i+1) != "away" {
					break
				}
				s.Polarity = Negated
				break
			}
			if !r.is(i, perfect) && !r.is(i, beingOrUsing) && !strings.HasSuffix(r.word(i), "ly") && r.word(i) != "all" && r.word(i) != "soon" && r.word(i) != "now" {
				break
			}
		}
	}
}

// themeHits are the wordings of themes in text order. One that makes a statement, or says that its words make
// none, ends the others that begin in it; the rest only lend their sense.
func (r *reader) themeHits() []themed {
	hits := r.hits[:0]
	end := 0
	for i := range r.themeIn {
		if !r.lex.themes.Opens(&r.themeIn[i]) {
			continue
		}
		h, ok := r.lex.themes.At(r.themeIn, i)
		if !ok {
			continue
		}
		e := r.lex.said[h.Payload].e
		if lends(e) {
			hits = append(hits, themed{h.From, h.To, e})
			continue
		}
		if h.From < end {
			continue
		}
		end = h.To
		hits = append(hits, themed{h.From, h.To, e})
	}
	r.hits = hits
	return hits
}

// lends reports whether the wordings of an entry only bear on statements that others make.
func lends(e *entry) bool {
	return e.family == "mended" || e.family == "theme" && !strings.HasSuffix(e.name, "-nothing") && e.name != "foot-care"
}

// withThemes is the row of units with the wordings of themes in the place of the units that they overlap.
func (r *reader) withThemes(hits []themed) []unit {
	var own []unit // seldom more than a few
	for _, h := range hits {
		if h.e.family == "theme" && h.e.name != "foot-care" && !strings.HasSuffix(h.e.name, "-nothing") {
			continue
		}
		if h.e.family == "mended" && slices.ContainsFunc(hits, func(o themed) bool { return !lends(o.e) && o.from < h.to && h.from < o.to }) {
			continue
		}
		if n := len(own); n > 0 && own[n-1].to > h.from {
			continue
		}
		k := kindTheme
		if h.e.family == "told" && h.e.ID == "told."+h.e.name {
			k = kindPerson // somebody who may be told
		}
		own = append(own, unit{from: h.from, to: h.to, kind: k, e: h.e})
	}
	// both rows are in text order
	out, k := r.spare[:0], 0
	for i := range r.units {
		u := &r.units[i]
		for k < len(own) && own[k].to <= u.from {
			out = append(out, own[k])
			k++
		}
		if k < len(own) && own[k].from < u.to {
			continue
		}
		out = append(out, *u)
		last := &out[len(out)-1]
		last.used, last.story = false, 0
	}
	return append(out, own[k:]...)
}

// A themer reads the themes of one note.
type themer struct {
	*reader
	hits  []themed
	units []unit // as they were before the themes
	sents []sentence
	read  int    // how many statements were read before
	gone  []Span // words whose moves, aids and injuries are told by a theme
	inWay []Span // words of hazards, whose aids are aids still
}

// sentence reads the themes of one sentence.
func (t *themer) sentence(k int) {
	s := &t.sents[k]
	for i := s.lo; i < s.hi; i++ {
		u := &t.reader.units[i]
		if u.e == nil || u.e.kind != kindTheme || u.story > 0 {
			continue
		}
		switch u.e.family {
		case "rise":
			t.rise(k, i)
		case "hazard":
			t.hazard(k, i)
		case "fall":
			t.fall(k, i)
		case "told":
			t.tell(k, i)
		case "staff":
			st := t.start(k, i)
			st.Who = Other
			if !t.relativeSays(k, i) {
				t.put(st, i)
				t.take(i)
			}
		case "wheel":
			t.wheel(k, i)
		case "posted":
			t.posted(k, i)
		}
	}
	t.repairs(k)
}

// start is the statement of unit i, with its scope.
func (t *themer) start(k, i int) Statement {
	u := &t.reader.units[i]
	st := t.begin(u.e.conceptID())
	st.Detail.Head = t.span(u.from, u.to)
	t.scope(&t.sents[k], i, &st)
	if u.e.fields.polarity != "" {
		st.Polarity = u.e.fields.polarity
	}
	st.Fixed = u.e.fields.fixed
	return st
}

func (t *themer) put(st Statement, i int) *Statement {
	u := &t.reader.units[i]
	return t.add(st, u.from, u.to)
}

// take lets the words of unit i be told by its theme alone.
func (t *themer) take(i int) {
	u := &t.reader.units[i]
	t.gone = append(t.gone, t.span(u.from, u.to))
}

// bounds are the places in the text where sentence k and, on either side, as many more begin and end.
func (t *themer) bounds(k, around int) (from, to int) {
	lo, hi := max(0, k-around), min(len(t.sents)-1, k+around)
	from = t.toks[t.reader.units[t.sents[lo].lo].from].Start
	last := t.sents[hi].hi
	to = len(t.text)
	if last < len(t.reader.units) {
		to = t.toks[t.reader.units[last].from].Start
	}
	return from, to
}

// near reports whether a statement that was read before the themes, and that pick takes, begins within some sentences.
func (t *themer) near(k, around int, pick func(*Statement) bool) bool {
	from, to := t.bounds(k, around)
	for n := range t.read {
		st := &t.out.Statements[n]
		if st.Span.Start < to && st.Span.End > from && pick(st) {
			return true
		}
	}
	return false
}

// said reports whether a lending wording of the name stands in the sentence.
func (t *themer) said(k int, name string) bool {
	s := &t.sents[k]
	from, to := t.reader.units[s.lo].from, t.startOf(s.hi)
	return slices.ContainsFunc(t.hits, func(h themed) bool {
		return h.e.family == "theme" && h.e.name == name && h.from < to && h.to > from
	})
}

// rise reads the stages of getting up.
func (t *themer) rise(k, i int) {
	u := &t.reader.units[i]
	st := t.start(k, i)
	switch u.e.name {
	case "raised":
		if n, ok := t.numberIn(u.from, u.to, 10, 90); ok {
			st.Value = Some(n)
		}
	case "paused":
		n, ok := t.minutesIn(u.from, u.to)
		if ok && n > t.longestPause(u) || t.pastimeAt(u.to) {
			return // that long is sitting out
		}
		if ok {
			st.Value = Some(n)
		}
	case "asked":
		if t.relativeSays(k, i) || !t.changesPosition(k) {
			return
		}
		st.Polarity = Affirmed
	case "exercised":
		if n := len(t.out.Statements); n > t.read {
			if last := &t.out.Statements[n-1]; last.Concept == st.Concept && t.joined(last.Span.End, u.from) {
				return // "ankle pumps and quad sets"
			}
		}
	case "returned":
		if st.Time != Now || st.Polarity == Negated || !t.signBefore(k, i) {
			return
		}
		t.take(i)
	}
	t.put(st, i)
}

// longestPause is how many minutes a pause in the words of unit u may take: who sits longer sits out.
func (t *themer) longestPause(u *unit) float64 {
	if strings.HasPrefix(t.word(u.from), "rest") || strings.HasPrefix(t.word(u.from), "wait") {
		return 30
	}
	return 10
}

// numberIn is the first number from lo to hi that stands in the tokens.
func (t *themer) numberIn(from, to int, lo, hi float64) (float64, bool) {
	for i := from; i < to; i++ {
		if tok := &t.toks[i]; tok.IsNum && tok.Num >= lo && tok.Num <= hi {
			return tok.Num, true
		}
	}
	return 0, false
}

// minutesIn is the time in minutes that the tokens tell.
func (t *themer) minutesIn(from, to int) (float64, bool) {
	for i := from; i < to; i++ {
		if !t.is(i, minutes) {
			continue
		}
		n, ok := t.numberIn(from, i, 0, 600)
		switch {
		case t.is(i, second) && ok:
			return n / 60, true
		case ok:
			return n, true
		case t.word(i-1) == "a" && !t.is(i, second) && t.word(i-2) != "half":
			return 1, true
		}
	}
	return 0, false
}

// pastimeAt reports whether the words from token i tell what the time was spent on, which is no pause.
func (t *themer) pastimeAt(i int) bool {
	return t.is(i, pastime) || t.is(i+1, pastime) && !t.pauses(i)
}

// changesPosition reports whether a change of position is told in sentence k or right before or behind it.
func (t *themer) changesPosition(k int) bool {
	if t.near(k, 1, func(s *Statement) bool {
		switch s.Concept {
		case "move.sit-up", "move.stand", "move.transfer", "move.walk", "move.up", "move.lift":
			return true
		}
		return s.Group() == "sign" && (s.Detail.Rising || s.Posture != "")
	}) {
		return true
	}
	from, to := t.bounds(k, 1)
	return slices.ContainsFunc(t.hits, func(h themed) bool {
		at := t.toks[h.from].Start
		return h.e.family == "rise" && h.e.name != "asked" && h.e.name != "returned" && at >= from && at < to
	})
}

// signBefore reports whether a sign that is so is told before unit i, in its sentence or one of the two before.
func (t *themer) signBefore(k, i int) bool {
	from, _ := t.bounds(k, 2)
	at := t.toks[t.reader.units[i].from].Start
	for n := range t.read {
		if s := &t.out.Statements[n]; s.Group() == "sign" && s.Polarity == Affirmed && s.Time == Now && s.Who == Resident &&
			s.Span.Start < at && s.Span.Start >= from {
			return true
		}
	}
	return slices.ContainsFunc(t.out.Statements[:t.read], func(s Statement) bool {
		// "blood pressure 92/58, so laid her back down"
		return s.Concept == "vital.pressure" && (s.Posture == "sitting" || s.Posture == "standing") && s.Span.Start < at && s.Span.Start >= from
	}) && t.is(t.reader.units[i].from-1, hence)
}

// relativeSays reports whether unit i is what a relative or another resident says or has.
func (t *themer) relativeSays(k, i int) bool {
	lo, _ := t.segment(&t.sents[k], i)
	for j := lo; j < i; j++ {
		if t.relativeOrOther(j) && !t.is(t.reader.units[j].from-1, toPerson) {
			return true
		}
	}
	return false
}

// fall reads what brought a fall about and what it may have broken. Where the note tells of no fall the words mean
// something else.
func (t *themer) fall(k, i int) {
	u := &t.reader.units[i]
	if u.e.name == "cause" {
		if !t.near(k, 3, func(s *Statement) bool { return isFallen(s) && s.Polarity == Affirmed && s.Time == Now }) {
			return
		}
		if t.causeTold(k, i) {
			return
		}
		st := t.start(k, i)
		st.Polarity, st.Time, st.Mood, st.Certainty = Affirmed, Now, Report, Certain
		if st.Who == Other {
			return
		}
		t.put(st, i)
		t.takeClause(k, i)
		return
	}
	if !t.fell || !t.happened() || t.elsewhere(u.from) {
		return
	}
	st := t.start(k, i)
	if st.Time == Planned || st.Time == Conditional {
		return
	}
	if n := len(t.out.Statements); n > t.read {
		// "shortened and turned out" is one sign
		last := &t.out.Statements[n-1]
		if last.Concept == st.Concept && last.Polarity == st.Polarity && last.Detail.Clause == st.Detail.Clause && t.joined(last.Span.End, u.from) {
			last.Span.End = t.toks[u.to-1].End
			t.take(i)
			return
		}
	}
	t.put(st, i)
	t.take(i)
}

// causeTold reports whether a sign or a fault beside the words at unit i tells already what brought the fall about, or
// whether the words are a move with staff, or the getting up afterwards.
func (t *themer) causeTold(k, i int) bool {
	u := &t.reader.units[i]
	at := t.span(u.from, u.to)
	from, to := t.bounds(k, 0)
	for n := range t.read {
		s := &t.out.Statements[n]
		if s.Span.Overlaps(at) {
			staff, _ := s.Staff.Get()
			if s.Concept == "fall.moved" || s.Group() == "move" && s.Done() && !t.fallsIn(k) && !strings.HasSuffix(t.word(u.from), "ing") ||
				s.Group() == "move" && (staff > 0 || s.Method != "" || s.HasAid("belt") || s.Time == Before) {
				return true
			}
		}
		if (s.Group() == "sign" || s.Concept == "aid.fault") && s.Polarity == Affirmed && s.Time == Now && s.Span.Start >= from && s.Span.Start < to {
			return true
		}
	}
	return false
}

// fallsIn reports whether the fall is told in sentence k itself.
func (t *themer) fallsIn(k int) bool {
	return t.near(k, 0, func(s *Statement) bool { return isFallen(s) && s.Polarity == Affirmed && s.Time == Now })
}

// joined reports whether only "and" or a sign stands between a place in the text and token i.
func (t *themer) joined(end, i int) bool {
	between := strings.TrimSpace(strings.ToLower(t.text[end:t.toks[i].Start]))
	switch between {
	case "", "and", "&", "+", "/", ",", "or", "and slightly", "and was", "and is":
		return true
	}
	return false
}

// takeClause lets the words from unit i to the end of its clause be told by its theme alone.
func (t *themer) takeClause(k, i int) {
	_, hi := t.segment(&t.sents[k], i)
	u := &t.reader.units[i]
	end := t.toks[u.to-1].End
	for j := i + 1; j < hi; j++ {
		n := &t.reader.units[j]
		if n.kind == kindFall || n.kind == kindTheme {
			break
		}
		end = t.toks[n.to-1].End
	}
	t.gone = append(t.gone, Span{Start: t.toks[u.from].Start, End: end})
}

// isFallen accepts falls that reached the floor and near falls.
func isFallen(s *Statement) bool {
	switch s.Concept {
	case "fall.fell", "fall.found", "fall.eased", "fall.collapse":
		return s.Who == Resident
	}
	return false
}

// happened reports whether the note tells of a fall of this shift, or goes on from one.
func (t *themer) happened() bool {
	return t.fellBefore || slices.ContainsFunc(t.out.Statements[:t.read], func(s Statement) bool {
		return (isFallen(&s) || s.Concept == "fall.moved") && s.Time == Now
	})
}

// hazard reads a hazard: whose it is, and whether it was put right.
func (t *themer) hazard(k, i int) {
	u := &t.reader.units[i]
	st := t.start(k, i)
	if st.Time == Planned || st.Time == Conditional || st.Mood == Order {
		return
	}
	for n := t.read; n < len(t.out.Statements); n++ {
		o := &t.out.Statements[n]
		from, _ := t.bounds(k, 0)
		if t.is(u.from, slips) {
			from, _ = t.bounds(k, 2) // "boots all over the hall. He stumbled on a bag"
		}
		if o.Concept == st.Concept && o.Span.Start >= from && o.Polarity == st.Polarity {
			o.Fixed = o.Fixed || st.Fixed || t.mended(k, i)
			t.inWay = append(t.inWay, t.span(u.from, u.to))
			return // one hazard, told in more words than one
		}
	}
	switch {
	case st.Who == Other:
	case t.is(u.from, slips) && (t.is(u.from-1, firstPerson) || t.is(u.from-1, staffWord)):
		st.Who = Other // "I tripped over the crash mat"
	case u.e.name == "footwear", t.met(k), t.said(k, "own-place"):
	case t.said(k, "shared-place"):
		st.Who, st.Detail.Nobody = Other, true
	}
	st.Fixed = st.Fixed || t.mended(k, i)
	if st.Fixed {
		st.Polarity, st.Certainty = Affirmed, Certain
	}
	t.put(st, i)
	t.inWay = append(t.inWay, t.span(u.from, u.to))
}

// met reports whether the resident fell or nearly fell in the sentence or the next.
func (t *themer) met(k int) bool {
	from, _ := t.bounds(k, 0)
	_, to := t.bounds(k, 1)
	for n := range t.read {
		s := &t.out.Statements[n]
		if (isFallen(s) || s.Concept == "fall.near" || s.Concept == "fall.caught") && s.Who == Resident && s.Polarity == Affirmed &&
			s.Span.Start >= from && s.Span.Start < to {
			return true
		}
	}
	return false
}

// mended reports whether the note tells that the hazard at unit i was put right: behind it in its sentence, or in
// plain words anywhere after it.
func (t *themer) mended(k, i int) bool {
	name := t.reader.units[i].e.name
	for j := range t.sents {
		if j < k {
			continue
		}
		s := &t.sents[j]
		for n := s.lo; n < s.hi; n++ {
			m := &t.reader.units[n]
			if m.e == nil || m.kind != kindTheme || m.e.family != "mended" || m.e.name != name {
				continue
			}
			if near := strings.HasSuffix(m.e.ID, "#near"); near && (j != k || n < i) {
				continue
			}
			st := t.begin("")
			t.scope(s, n, &st)
			if st.Polarity == Affirmed && st.Time == Now && st.Mood == Report {
				return true
			}
		}
	}
	return false
}

// repairs remarks that those who put buildings right were told.
func (t *themer) repairs(k int) {
	s := &t.sents[k]
	from, to := t.reader.units[s.lo].from, t.startOf(s.hi)
	for _, h := range t.hits {
		if h.e.family == "theme" && h.e.name == "repair" && h.from >= from && h.from < to && !t.toBe(h.from) {
			t.out.Remarks = append(t.out.Remarks, Remark{Kind: Repair, Span: t.span(h.from, h.to)})
		}
	}
}

// toBe reports whether the words before token i put off or deny what they lead to.
func (t *themer) toBe(i int) bool {
	for k := i - 1; k >= 0 && k >= i-3 && !t.pauses(k); k-- {
		switch t.word(k) {
		case "will", "not", "to", "should", "must", "please", "need", "needs", "nobody":
			return true
		}
	}
	return false
}

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

// wheel reads how a wheelchair was used.
func (t *themer) wheel(k, i int) {
	u := &t.reader.units[i]
	switch u.e.name {
	case "told", "fast":
		around := 1
		if u.e.name == "fast" {
			around = 0
		}
		if !t.wheeled(k, around) || t.relativeSays(k, i) && u.e.name == "told" {
			return
		}
	case "brakes":
		if t.ofRollator(k) {
			return
		}
	case "footrests":
		if !t.wheeled(k, 1) && !t.anyBetween(u.from, u.to, restWord) {
			return
		}
	}
	st := t.start(k, i)
	switch {
	case u.e.name == "brakes" && st.Polarity == Negated:
		st.Detail.Mended = t.mendedHere(k, i, "brakes")
	case u.e.name == "footrests" && st.Polarity == Negated:
		st.Detail.Caught = t.anyBetween(u.from, u.to, footWord) && t.anyBetween(u.from, u.to, caughtWord) || t.pushedOn(k)
	}
	if u.e.name == "fast" && st.Polarity == Negated && st.Time == Now && t.ranInto(u) {
		st.Polarity = Affirmed
	}
	if st.Time != Before {
		st.Who = Resident
	}
	if n := len(t.out.Statements); n > t.read && t.sameRemark(&t.out.Statements[n-1], &st, u) {
		t.take(i)
		return
	}
	t.put(st, i)
	t.take(i)
}

// pushedOn reports whether sentence k, or the one before or behind, tells that the chair was taken somewhere.
func (t *themer) pushedOn(k int) bool {
	from := t.reader.units[t.sents[max(0, k-1)].lo].from
	return t.anyBetween(from, t.startOf(t.sents[min(len(t.sents)-1, k+1)].hi), pushes) && !t.near(k, 1, func(s *Statement) bool {
		n, ok := s.Staff.Get()
		return s.Concept == "move.wheel" && ok && n == 0
	})
}

// mendedHere reports whether the sentence says behind unit i that it was put right.
func (t *themer) mendedHere(k, i int, name string) bool {
	s := &t.sents[k]
	for n := i + 1; n < s.hi; n++ {
		m := &t.reader.units[n]
		if m.kind != kindTheme || m.e.family != "mended" && (m.e.family != "wheel" || m.e.fields.polarity == Negated) || m.e.name != name {
			continue
		}
		st := t.begin("")
		t.scope(s, n, &st)
		if st.Polarity == Affirmed && st.Time == Now && st.Mood == Report {
			return true
		}
	}
	return false
}

// ofRollator reports whether the brakes told in sentence k are those of a rollator: one is spoken of in it or right
// beside it, and no wheelchair.
func (t *themer) ofRollator(k int) bool {
	from, to := t.bounds(k, 1)
	for i := range t.toks {
		if at := t.toks[i].Start; at >= from && at < to && t.is(i, wheelchairWord) {
			return false
		}
	}
	return t.near(k, 1, func(s *Statement) bool { return s.Concept == "aid.walker-4w" || s.HasAid("walker-4w") }) &&
		!t.near(k, 1, func(s *Statement) bool {
			return s.To == "wheelchair" || s.From == "wheelchair" || s.Concept == "move.wheel"
		})
}

// ranInto reports whether the wording tells of a blow, which "not looking" before it does not deny.
func (t *themer) ranInto(u *unit) bool { return u.to-u.from > 3 }

// sameRemark reports whether a remark on the wheelchair goes on with the last: "took the corner too fast and
// clipped the door frame", "feet off the rests, toes scraping", "brakes were off so I put them on".
func (t *themer) sameRemark(last, st *Statement, u *unit) bool {
	if last.Concept != st.Concept || last.Detail.Clause == 0 {
		return false
	}
	between := t.text[last.Span.End:t.toks[u.from].Start]
	if strings.ContainsAny(between, ".\n!") {
		return false
	}
	switch st.Concept {
	case "wheel.fast":
		last.Span.End = t.toks[u.to-1].End
		return true
	case "wheel.brakes", "wheel.told":
		return last.Polarity != st.Polarity || len(between) < 6
	}
	// "no leg rests on the chair, left foot was catching" is two
	if last.Polarity != st.Polarity || t.restMissing(last) || len(between) >= 6 {
		return false
	}
	last.Detail.Caught = last.Detail.Caught || st.Detail.Caught
	return true
}

// restMissing reports whether a remark says that there are no rests.
func (t *themer) restMissing(s *Statement) bool {
	none := false
	for _, w := range strings.Fields(strings.ToLower(t.text[s.Span.Start:s.Span.End])) {
		in := t.lex.classes[strings.Trim(w, ",")]
		if in.has(footWord) && w != "leg" {
			return false
		}
		none = none || in.has(noneWord)
	}
	return none
}

// wheeled reports whether a wheelchair is spoken of within some sentences of sentence k, or pushed in one beside it.
func (t *themer) wheeled(k, around int) bool {
	if t.near(k, 1, func(s *Statement) bool { return s.Concept == "move.wheel" }) || t.near(k, around, func(s *Statement) bool {
		return s.Concept == "aid.wheelchair" || s.HasAid("wheelchair") || s.To == "wheelchair" && s.Group() == "move"
	}) {
		return true
	}
	from, to := t.bounds(k, around)
	for i := range t.toks {
		if at := t.toks[i].Start; at >= from && at < to && t.is(i, wheelchairWord) {
			return true
		}
	}
	return slices.ContainsFunc(t.hits, func(h themed) bool {
		at := t.toks[h.from].Start
		return h.e.family == "wheel" && (h.e.name == "brakes" || h.e.name == "footrests" && t.anyBetween(h.from, h.to, restWord)) && at >= from && at < to
	})
}

// posted reads a sign with the way to move that it states; one that states none is another sign.
func (t *themer) posted(k, i int) {
	s := &t.sents[k]
	st := t.start(k, i)
	u := &t.reader.units[i]
	if st.Polarity == Negated {
		if t.toBe(u.from) || !t.moveSign(u) {
			return
		}
		st.Who, st.Mood = Resident, Report
		t.put(st, i)
		t.take(i)
		return
	}
	end := u.to
	found := false
	for j := i + 1; j < s.hi; j++ {
		n := &t.reader.units[j]
		if n.kind == kindTheme || n.kind == kindBreak && t.parts(j) == 2 || n.sign == ';' ||
			found && (t.parts(j) > 0 && !t.goesOnAt(s, j) || n.kind == kindSubject && !t.possessive(j)) {
			break
		}
		if t.postedField(&st, n) {
			found, end = true, n.to
		}
	}
	if u.to < len(t.toks) && st.Staff.IsZero() {
		if n := &t.toks[u.to]; n.IsNum && n.Num >= 1 && n.Num <= 4 {
			st.Staff, found, end = Some(int(n.Num)), true, max(end, u.to+1) // "card says 1 + frame"
		}
	}
	if !found {
		return
	}
	st.Polarity, st.Who, st.Mood, st.Certainty = Affirmed, Resident, Report, Certain
	if st.Time != Before {
		st.Time = Now
	}
	t.add(st, u.from, end)
	t.gone = append(t.gone, t.span(u.from, end))
}

// goesOnAt reports whether what the sign states goes on behind the comma at unit j.
func (t *themer) goesOnAt(s *sentence, j int) bool {
	if j+1 >= s.hi {
		return false
	}
	switch n := &t.reader.units[j+1]; n.kind {
	case kindStaff, kindLevel:
		return true
	case kindAid:
		return t.reader.units[j].to == n.from
	}
	return false
}

// moveSign reports whether a missing sign is one about moving, by its own words or those around it.
func (t *themer) moveSign(u *unit) bool {
	return t.anyBetween(u.from, min(u.to+4, len(t.toks)), signAbout)
}

// postedField gives the sign what unit n states.
func (t *themer) postedField(st *Statement, n *unit) bool {
	switch n.kind {
	case kindStaff:
		if c := t.count(*n); c >= 0 {
			st.Staff = Some(c)
			return true
		}
	case kindLevel:
		st.Assist = n.e.fields.assist
		if n.e.fields.hasStaff {
			st.Staff = Some(n.e.fields.staff)
		}
		return true
	case kindAid:
		switch name := n.e.name; {
		case isLift(name), name == "board":
			st.Method = name
		case name != "none":
			st.Aids = appendNew(st.Aids, name)
		}
		return true
	case kindVerb:
		if n.e.name == "lift" || n.e.name == "hoist" {
			st.Method = cmp.Or(st.Method, "lift")
			return true
		}
		if m := n.e.fields.method; m != "" {
			if st.Method == "" || st.Method == "lift" {
				st.Method = m
			}
			return true
		}
		if n.e.fields.hasStaff {
			st.Staff = Some(n.e.fields.staff)
			return true
		}
	}
	return false
}

// takeOver takes out what was read before from words that a theme tells.
func (t *themer) takeOver() {
	kept := t.out.Statements[:0]
	for n, s := range t.out.Statements {
		if n < t.read && t.taken(&s) {
			continue
		}
		kept = append(kept, s)
	}
	t.out.Statements = kept
}

// taken reports whether a theme tells the words of the statement.
func (t *themer) taken(s *Statement) bool {
	if s.Group() == "move" && slices.ContainsFunc(t.inWay, s.Span.Overlaps) {
		return true
	}
	return slices.ContainsFunc(t.gone, func(g Span) bool {
		head := s.Detail.Head
		if head.IsZero() {
			head = s.Span
		}
		if !head.Overlaps(g) {
			return false
		}
		switch s.Group() {
		case "move":
			staff, _ := s.Staff.Get()
			return staff == 0 && s.Assist == "" && !s.HasAid("belt") && s.Method == "" || s.Concept == "move.up" || t.posts(g)
		case "aid", "assist", "reason":
			return true
		case "told":
			return s.Concept == "told.nurse" && t.personIn(g)
		}
		return s.Concept == "fall.injury"
	})
}

// posts reports whether a sign tells the words of g.
func (t *themer) posts(g Span) bool {
	return slices.ContainsFunc(t.out.Statements, func(s Statement) bool {
		return (s.Concept == "posted.way" || s.Concept == "rise.returned") && s.Span.Overlaps(g)
	})
}

// personIn reports whether the words of g name a person in another sense too ("on call supervisor").
func (t *themer) personIn(g Span) bool {
	return slices.ContainsFunc(t.units, func(u unit) bool {
		return u.kind == kindPerson && t.span(u.from, u.to).Overlaps(g)
	})
}
