package lexicon

import (
	"cmp"
	"math"
	"strings"

	"example.com/stance/lexicon/internal/token"
)

// bearings reads what limbs may or do bear.
func (r *reader) bearings(s *sentence) {
	for i := s.lo; i < s.hi; i++ {
		u := &r.units[i]
		switch {
		case u.kind != kindBearing || u.used:
		case r.word(u.from) == "half" && r.word(u.to-1) == "weight" && r.limbOf(s, i) < 0:
			// "half weight, PWB 50% right leg": the share is told with the status
		default:
			r.bearing(s, i)
		}
	}
	r.shareSide(s)
}

// bearing adds the status at unit i.
func (r *reader) bearing(s *sentence, i int) {
	u := &r.units[i]
	st := r.begin("bearing." + u.e.name)
	st.Detail.Head = r.span(u.from, u.to)
	from, to := u.from, u.to
	if at := r.bearingLimb(s, i, &st); at >= 0 {
		from, to = min(from, r.units[at].from), max(to, r.units[at].to)
	}
	r.bearingSide(s, i, &st)
	if p, at, ok := r.percentOf(s, i); ok {
		st.Percent = Some(p)
		if at >= 0 {
			from, to = min(from, r.units[at].from), max(to, r.units[at].to)
		}
	}
	if _, ok := st.Percent.Get(); ok && u.e.name == "able" {
		st.Concept = "bearing.partial"
	}
	r.scope(s, i, &st)
	r.bearingMood(s, i, &st)
	r.add(st, from, to)
}

// bearingLimb gives the status at unit i the limb and side named beside it, inside its own words or as a heading, and
// is the unit of a limb or side named beside it, -1 for none.
func (r *reader) bearingLimb(s *sentence, i int, st *Statement) int {
	u := &r.units[i]
	at := r.limbOf(s, i)
	if at >= 0 {
		l := &r.units[at]
		st.Limb, st.Side = l.e.fields.limb, l.e.fields.side
		if st.Side == "" {
			st.Side = cmp.Or(r.sideBeside(at), r.sideBehind(s, at))
		}
		st.Detail.Terms = append(st.Detail.Terms, Mark{"side", r.span(l.from, l.to), l.e.ID})
		st.Limb = cmp.Or(st.Limb, r.limbBefore(s, i))
	}
	r.inner(u, func(e *entry) {
		// "weight through the right leg as tolerated" names the limb inside its own words
		if (e.kind == kindLimb || e.kind == kindSide) && st.Side == "" {
			st.Limb, st.Side = cmp.Or(e.fields.limb, st.Limb), e.fields.side
		}
	})
	st.Limb = cmp.Or(st.Limb, r.limbHeading(u.from))
	return at
}

// bearingSide gives the status at unit i the side to which it is corrected, or that was told before, where none stands
// beside it.
func (r *reader) bearingSide(s *sentence, i int, st *Statement) {
	st.Side = cmp.Or(r.corrected(s, i), st.Side)
	if st.Side != "" {
		return
	}
	if l := r.sideSaidBefore(s, i); l != nil {
		st.Limb, st.Side = cmp.Or(l.e.fields.limb, st.Limb), l.e.fields.side
	} else if o := r.sameStatusBefore(st); o != nil && r.orderBefore(s, i) < 0 {
		st.Limb, st.Side = o.Limb, o.Side
	}
}

// sameStatusBefore is the statement of the same status with a side that the note gave last, if it gave only one:
// "TTWB R leg. Walked 30 m, TTWB kept"; nil for none.
func (r *reader) sameStatusBefore(st *Statement) *Statement {
	for ; r.bearingsSeen < len(r.out.Statements); r.bearingsSeen++ {
		o := &r.out.Statements[r.bearingsSeen]
		if o.Side == "" || o.Group() != "bearing" {
			continue
		}
		r.twoSides = r.twoSides || r.sided >= 0 && r.out.Statements[r.sided].Side != o.Side
		r.sided = r.bearingsSeen
	}
	if r.twoSides || r.sided < 0 || r.out.Statements[r.sided].Concept != st.Concept {
		return nil
	}
	return &r.out.Statements[r.sided]
}

// limbBefore is the limb that stands right before the status at unit i, whose side is told behind it: "Arm NWB L",
// "Arm: NWB L".
func (r *reader) limbBefore(s *sentence, i int) string {
	k := i - 1
	for k >= s.lo && r.units[k].sign == ':' {
		k--
	}
	if k < s.lo || r.units[k].kind != kindLimb || r.units[i].from-r.units[k].to > 1 {
		return ""
	}
	return r.units[k].e.fields.limb
}

// sideSaidBefore is the limb or side of which the status at unit i speaks without naming it again: "on that side",
// "through it", or the limb with which the sentence opens ("R ankle in plaster, NWB"); nil for none.
func (r *reader) sideSaidBefore(s *sentence, i int) *unit {
	u := &r.units[i]
	if r.is(u.to, through) && (r.is(u.to+1, things) || r.word(u.to+1) == "same") {
		for k := i - 1; k >= 0 && k >= i-12; k-- {
			if n := &r.units[k]; n.isLimb() && n.e.fields.side != "" {
				return n
			}
		}
		return nil
	}
	return r.limbOpening(s)
}

// limbOpening is the limb with which the sentence opens, if it names no other; nil for none.
func (r *reader) limbOpening(s *sentence) *unit {
	first := &r.units[s.lo]
	if first.kind != kindLimb || first.e.fields.side == "" || !r.opens(first.from) && !r.is(first.from-1, owner) {
		return nil
	}
	for k := s.lo + 1; k < s.hi; k++ {
		if n := &r.units[k]; n.kind == kindSide || n.kind == kindLimb && n.e.fields.side != "" && n.e != first.e {
			return nil
		}
	}
	return first
}

// sideBehind is the side in apposition behind the limb at unit k: "the bad leg, the left"; "" for none.
func (r *reader) sideBehind(s *sentence, k int) string {
	if k+2 < s.hi && r.units[k+1].sign == ',' && r.units[k+2].kind == kindSide && r.onlyArticles(r.units[k+1].to, r.units[k+2].from) {
		return r.units[k+2].e.fields.side
	}
	return ""
}

// limbHeading is the limb that a bare word before token i names, as a heading or not: "Arm: NWB L"; a leg where none does.
func (r *reader) limbHeading(i int) string {
	if r.word(i-1) == ":" {
		i--
	}
	if w := r.word(i - 1); w == "arm" || w == "arms" {
		return "arm"
	}
	return "leg"
}

// shareSide gives the side of one of two statuses of a sentence to the other where one is past: "Was NWB on the
// right, now TTWB".
func (r *reader) shareSide(s *sentence) {
	at := r.toks[r.units[s.lo].from].Start
	var two []*Statement
	for n := len(r.out.Statements) - 1; n >= 0 && r.out.Statements[n].Span.Start >= at; n-- {
		if st := &r.out.Statements[n]; st.Group() == "bearing" {
			two = append(two, st)
		}
	}
	if len(two) != 2 || (two[0].Time == Before) == (two[1].Time == Before) {
		return
	}
	switch a, b := two[0], two[1]; {
	case a.Side == "":
		a.Side, a.Limb = b.Side, b.Limb
	case b.Side == "":
		b.Side, b.Limb = a.Side, a.Limb
	}
}

// corrected is the side to which the writer puts the status at unit i right in the same sentence
// ("TTWB L leg - correction: R not L"), "" for none.
func (r *reader) corrected(s *sentence, i int) string {
	end := r.startOf(s.hi)
	for k := r.units[i].to; k < end; k++ {
		if !r.is(k, correction) {
			continue
		}
		for j := k + 1; j < end && j <= k+3; j++ {
			switch {
			case r.is(j, left):
				return "left"
			case r.is(j, right):
				return "right"
			}
		}
	}
	return ""
}

// limbOf is the unit of the limb or side that the status at unit i speaks of, -1 for none.
func (r *reader) limbOf(s *sentence, i int) int {
	if k := r.limbBehind(s, i); k >= 0 {
		return k
	}
	if k := r.limbAhead(s, i); k >= 0 {
		return k
	}
	if r.is(r.units[i].from-1, keptTo) && r.word(r.units[i].from-2) == "and" {
		// "left arm in collar and cuff and kept NWB": the limb is the subject
		for k := i - 1; k >= s.lo && r.units[k].kind != kindBearing && r.parts(k) < 2; k-- {
			if r.units[k].kind == kindLimb {
				return k
			}
		}
	}
	return -1
}

// isLimb reports whether the unit names a limb or a side.
func (u *unit) isLimb() bool { return u.kind == kindLimb || u.kind == kindSide }

// limbBehind is the unit of the limb or side named behind the status at unit i, -1 for none.
func (r *reader) limbBehind(s *sentence, i int) int {
	end := r.units[i].to
	for k := i + 1; k < s.hi; k++ {
		u := &r.units[k]
		switch {
		case r.commaToLimb(s, k): // "half body weight, on the right leg"
			end = u.to
			continue
		case r.parts(k) > 0 || u.kind == kindVerb && !u.e.fields.weak && u.form != NoTense || u.from-end > 5:
			return -1
		case u.kind == kindBearing:
			if r.word(u.from-1) == "→" {
				return r.limbOf(s, k) // both ends of an arrow speak of one limb
			}
			return -1
		case u.isLimb():
			return k
		}
		end = max(end, u.to)
	}
	return -1
}

// commaToLimb reports whether the comma at unit k only parts a status from its share or limb.
func (r *reader) commaToLimb(s *sentence, k int) bool {
	u := &r.units[k]
	if u.sign != ',' || k+1 >= s.hi || r.units[k+1].from != u.to {
		return false
	}
	next := r.units[k+1].kind
	return next == kindLoad || next == kindTo && r.word(u.to) == "on"
}

// limbAhead is the unit of the limb or side named before the status at unit i, -1 for none.
func (r *reader) limbAhead(s *sentence, i int) int {
	start := r.units[i].from
	for k := i - 1; k >= s.lo; k-- {
		u := &r.units[k]
		switch {
		case r.parts(k) > 0 && u.sign != '-':
			return -1
		case u.kind == kindBearing:
			if r.word(u.to) != "→" && r.units[k+1].kind != kindTo {
				return -1
			}
			start = u.from
		case u.kind == kindVerb && !u.e.fields.weak && !r.nextIsColon(k) || start-u.to > 6:
			return -1
		case u.isLimb() && !r.limbTaken(s, k):
			return k
		}
	}
	return -1
}

// limbTaken reports whether the limb at unit k stands right behind an earlier status of its own.
func (r *reader) limbTaken(s *sentence, k int) bool {
	return k > s.lo && r.units[k-1].kind == kindBearing && r.units[k].from-r.units[k-1].to <= 3
}

func (r *reader) sideBeside(k int) string {
	if k >= 2 && r.units[k-1].sign == ')' && r.units[k-2].kind == kindSide && r.units[k].from-r.units[k-2].to == 1 {
		return r.units[k-2].e.fields.side // "R) leg"
	}
	for _, j := range [...]int{k - 1, k + 1} {
		if j >= 0 && j < len(r.units) && r.units[j].kind == kindSide {
			d := r.units[k].from - r.units[j].to
			if j > k {
				d = r.units[j].from - r.units[k].to
			}
			if d <= 1 {
				return r.units[j].e.fields.side
			}
		}
	}
	return ""
}

// percentOf is the share stated with the status at unit i, or worked out from a load and a body weight.
// At is the unit that gave it, -1 if it stands in the status's own words.
func (r *reader) percentOf(s *sentence, i int) (p float64, at int, ok bool) {
	u := &r.units[i]
	if p, ok := r.ownPercent(u); ok {
		return p, -1, true
	}
	if u.e.name != "partial" && u.e.name != "able" && u.e.name != "toe-touch" {
		return 0, 0, false
	}
	if p, at, ok := r.percentBehind(s, i); ok {
		return p, at, true
	}
	for k := i - 1; k >= s.lo && k >= i-2 && r.parts(k) == 0 && u.from-r.units[k].to <= 2; k-- {
		if p, ok := r.share(k); ok && r.units[k].e.name == "percent" {
			return p, k, true
		}
	}
	return 0, 0, false
}

// ownPercent is the share that the status's own words state.
func (r *reader) ownPercent(u *unit) (float64, bool) {
	for k := u.from; k < u.to; k++ {
		if r.word(k) == "half" {
			return 50, true
		}
		if t := &r.toks[k]; t.IsNum && (t.Kind == token.Number || r.word(k+1) == "%") {
			return t.Num, true
		}
	}
	return 0, false
}

// percentBehind is the share stated behind the status at unit i, and its unit.
func (r *reader) percentBehind(s *sentence, i int) (p float64, at int, ok bool) {
	u := &r.units[i]
	for k := i + 1; k < s.hi && k <= i+5; k++ {
		if n := r.pastBlank(k + 1); r.units[k].sign == ',' && n < s.hi && r.units[n].kind == kindLoad && r.units[n].from-r.units[k].to <= 2 {
			continue // "PWB R leg, max 20 kg"
		}
		if r.parts(k) > 0 || r.units[k].kind == kindBearing || r.units[k].from-u.to > 7 {
			break
		}
		if p, ok := r.share(k); ok {
			return p, k, true
		}
	}
	return 0, 0, false
}

// share is the share of the body weight that the load at unit k is.
func (r *reader) share(k int) (float64, bool) {
	l := &r.units[k]
	if l.kind != kindLoad {
		return 0, false
	}
	n := r.number(l)
	switch l.e.name {
	case "percent":
		if n < 0 {
			n = r.wordPercent(l)
		}
		return n, n > 0 && n <= 100
	case "kg", "lb":
		if body := r.bodyWeight(k); body > 0 && n > 0 && !(k > 0 && r.units[k-1].kind == kindLoad && r.units[k-1].e.name == "weight") {
			if l.e.name == "lb" {
				n *= kgPerLb
			}
			return math.Round(1000*n/body) / 10, true
		}
	}
	return 0, false
}

// pastBlank is the first unit from i on that is a sign or has a meaning here.
func (r *reader) pastBlank(i int) int {
	for i < len(r.units) && r.units[i].kind == kindNone && r.units[i].sign == 0 {
		i++
	}
	return i
}

// bearingMood reads a bare status in a therapist's or doctor's note as an order, and "was … until" as past.
func (r *reader) bearingMood(s *sentence, i int, st *Statement) {
	u := &r.units[i]
	if r.leftBehind(s, i) {
		st.Time, st.Mood = Before, Report
		return
	}
	r.statusTime(s, i, st)
	if st.Time == Now && r.word(u.from-1) == "then" && s.has.any(setOf(kindIf)) {
		st.Time = Conditional // "if the letter says so, then TTWB"
		return
	}
	if u.e.name != "able" && (r.role == Therapist || r.role == Doctor) {
		r.statusOrdered(s, i, st)
	}
	if st.Time == Before {
		st.Mood = Report
	}
}

// statusOrdered makes the status at unit i, in the note of somebody who orders, an order where nothing says that it was
// only found.
func (r *reader) statusOrdered(s *sentence, i int, st *Statement) {
	if st.Time == Conditional && r.permittedNow(s, i) {
		st.Time, st.Mood = Now, Order
	}
	if st.Mood == Report && !s.report && !r.hasVerb(s, i) && !r.movedHere(s) {
		st.Mood = Order
	}
}

// statusTime puts the status at unit i into the past where it was left, and into the present where only its end is
// told: "NWB until 12/1", with no "was".
func (r *reader) statusTime(s *sentence, i int, st *Statement) {
	switch past := r.statusPast(s, i); {
	case st.Time == Before && !past && r.heldUntil(st):
		st.Time = Now
	case st.Time == Now && past:
		st.Time = Before
	}
}

// leftBehind reports whether the words beside the status at unit i say that another has taken its place: "upgraded from
// NWB to TTWB", "NWB → TTWB", "D/C NWB", "NWB RLE d/c'd, now WBAT".
func (r *reader) leftBehind(s *sentence, i int) bool {
	u := &r.units[i]
	if r.word(u.from-1) == "from" && i+2 < s.hi && r.units[i+1].kind == kindTo && r.units[i+2].kind == kindBearing {
		return true
	}
	if r.word(u.to) == "→" || r.arrowAfter(s, i) {
		return true
	}
	end := u.to
	if i+1 < s.hi && r.units[i+1].from == end && r.units[i+1].isLimb() {
		end = r.units[i+1].to
	}
	return r.is(u.from-1, discontinued) || r.is(end, discontinued)
}

// permittedNow reports whether the status at unit i is allowed from now on: "may now be WBAT", "can be PWB from today".
func (r *reader) permittedNow(s *sentence, i int) bool {
	lo, hi := r.segment(s, i)
	allowed, now := false, false
	for k := lo; k < hi; k++ {
		n := &r.units[k]
		allowed = allowed || n.kind == kindIf && r.is(n.from, dependsMay)
		now = now || n.kind == kindNow
	}
	return allowed && now
}

// heldUntil reports whether the time of the status is how long it holds.
func (r *reader) heldUntil(st *Statement) bool {
	for _, m := range st.Detail.Terms {
		if m.Field == "time" {
			return strings.HasPrefix(strings.ToLower(r.text[m.Span.Start:m.Span.End]), "until")
		}
	}
	return false
}

// movedHere reports whether the sentence tells of a move that was made, in which a status is what was kept to.
func (r *reader) movedHere(s *sentence) bool {
	at := r.toks[r.units[s.lo].from].Start
	for n := len(r.out.Statements) - 1; n >= 0 && r.out.Statements[n].Span.Start >= at; n-- {
		if st := &r.out.Statements[n]; st.Group() == "move" && st.Mood == Report && st.Time == Now && st.Polarity == Affirmed {
			return true
		}
	}
	return false
}

// statusPast reports whether "was" stands before the status at unit i, and something says that it holds no more.
func (r *reader) statusPast(s *sentence, i int) bool {
	u := &r.units[i]
	lo, hi := r.chunk(s, i)
	was, bracketed := false, r.word(r.units[max(lo, i-1)].from-1) == "("
	for k := lo; k < i; k++ {
		was = was || r.units[k].kind == kindWas && u.from-r.units[k].to <= 4
		bracketed = bracketed || r.units[k].sign == '('
	}
	if !was {
		return false
	}
	// "was NWB, now TTWB"
	return bracketed || r.statusNow(s, i) || r.statusBefore(s, i) || hi < s.hi && r.is(r.units[hi].from, until) || r.datedStatus(s, i)
}

// datedStatus reports whether words of the past, or of how long it held, stand with the status at unit i: "was NWB on
// the right after a fracture in 2019".
func (r *reader) datedStatus(s *sentence, i int) bool {
	lo, hi := r.chunk(s, i)
	for k := lo; k < hi; k++ {
		if r.units[k].kind == kindPast || r.word(r.units[k].from) == "until" {
			return true
		}
	}
	for k := i + 1; k < s.hi && k <= i+7 && r.units[k].sign == 0; k++ {
		if r.units[k].kind == kindPast {
			return true
		}
	}
	to := r.units[i].to
	return r.anyBetween(to, to+8, weeks)
}

// arrowAfter reports whether an arrow to another status follows the one at unit i, past its limb and share.
func (r *reader) arrowAfter(s *sentence, i int) bool {
	for k := i + 1; k < s.hi && k <= i+4; k++ {
		switch u := &r.units[k]; u.kind {
		case kindTo:
			return r.word(u.from) == "→"
		case kindLimb, kindSide, kindLoad:
		default:
			return false
		}
	}
	return false
}

// statusNow reports whether another status, told to hold now, follows the one at unit i.
func (r *reader) statusNow(s *sentence, i int) bool {
	now := false
	for k := i + 1; k < s.hi; k++ {
		now = now || r.units[k].kind == kindNow
		if r.units[k].kind == kindBearing {
			return now
		}
	}
	return false
}

// statusBefore reports whether the sentence told before unit i what holds now: "may now be PWB, was NWB since May".
func (r *reader) statusBefore(s *sentence, i int) bool {
	status, now := false, false
	for k := s.lo; k < i; k++ {
		status = status || r.units[k].kind == kindBearing
		now = now || r.units[k].kind == kindNow
	}
	return status && now
}

// hasVerb reports whether the segment of unit i tells of something being or having been so.
func (r *reader) hasVerb(s *sentence, i int) bool {
	lo, hi := r.segment(s, i)
	from := 0
	if lo > 0 {
		from = r.units[lo-1].to
	}
	return r.anyBetween(from, r.startOf(hi), toldSo)
}
