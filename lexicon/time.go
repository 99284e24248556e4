package lexicon

import (
	"strings"

	"example.com/stance/lexicon/internal/token"
)

// timeOf is the time of unit i and the unit that sets it.
func (r *reader) timeOf(s *sentence, i int) (Time, int) {
	u := &r.units[i]
	lo, hi := r.segment(s, i)
	clo, _ := r.chunk(s, i)
	if u.story > 0 {
		return Before, u.story - 1
	}
	if k := r.conditionOf(i, clo, lo, hi); k >= 0 {
		return Conditional, k
	}
	if u.kind == kindFall && r.onlyPossible(u) || u.kind == kindVerb && r.unfulfilled(u) {
		return Conditional, i
	}
	if u.kind == kindVerb && u.form == Gerund && (r.word(u.from-1) == "about" || r.word(u.from-2) == "about" && (r.object(u.from-1) || r.is(u.from-1, owner))) {
		return Planned, i // "asked about lifting her into bed"
	}
	if t, k := r.timeBefore(i, lo); k >= 0 {
		return t, k
	}
	if t, k := r.timeBehind(i, hi); k >= 0 {
		return t, k
	}
	if u.kind == kindFall && (r.is(u.to, weekday) || r.word(u.from-1) == "'s" && r.is(u.from-2, weekday)) {
		return Before, i // "fell Sunday", "after Friday's fall"
	}
	if k := r.joinedPast(s, i, hi); k >= 0 {
		return Before, k
	}
	if s.plan && u.kind == kindVerb && u.form != Past && r.weekdayAfter(u.to) {
		return Planned, i // "P: Car transfer practice Thursday"
	}
	if k := r.pastOfSentence(s, i, clo, lo); k >= 0 {
		return Before, k
	}
	if s.past >= 0 {
		return Before, s.past
	}
	return Now, -1
}

// conditionOf is the unit of the condition that governs unit i, -1 for none. A condition governs up to the
// end of its segment (lo to hi), and "if" may itself be the boundary within the chunk from clo.
func (r *reader) conditionOf(i, clo, lo, hi int) int {
	u := &r.units[i]
	for k := i - 1; k >= clo; k-- {
		n := &r.units[k]
		if n.kind == kindIf {
			if r.is(n.from, dependsMay) && u.kind == kindBearing && r.plannedAfter(i, hi) {
				break // "can go WBAT from tomorrow"
			}
			if k >= lo || r.word(n.from) == "if" {
				return k
			}
		}
		if r.parts(k) > 0 {
			break
		}
	}
	if k := clo - 1; k > 0 && r.word(r.units[k].from) == "then" {
		for k--; k >= 0 && r.units[k].sign != '.' && r.units[k].sign != ';'; k-- {
			if n := &r.units[k]; n.kind == kindIf && r.word(n.from) == "if" {
				return k // "If letter says so, then TTWB"
			}
		}
	}
	for k := i + 1; k < hi; k++ {
		n := &r.units[k]
		if n.kind != kindIf {
			continue
		}
		if r.is(n.from, provided) {
			return k
		}
		if r.is(n.from, dependsMay) && k == i+1 && u.kind == kindAid && n.from-u.to <= 1 {
			return k // "a wheelchair may be used"
		}
	}
	return -1
}

// unfulfilled reports whether the move is one that would or should have been made.
func (r *reader) unfulfilled(u *unit) bool {
	k := u.from - 1
	if r.word(k) == "been" {
		k--
	}
	return u.form == Past && (r.word(k) == "have" || r.word(k) == "of") && r.is(k-1, modal) && r.word(k-1) != "to" && r.word(k-1) != "may" && r.word(k-1) != "might"
}

// fellThen reports whether the unit tells a fall by a verb in the past, which no plan governs.
func (r *reader) fellThen(u *unit) bool {
	return u.kind == kindFall && u.e.name == "fell" && (strings.HasPrefix(r.word(u.from), "fell") || strings.HasSuffix(r.word(u.from), "ed"))
}

// onlyPossible reports whether the fall is told with "would", "could" or as something about to be: "she'd have
// fallen", "so as not to fall".
func (r *reader) onlyPossible(u *unit) bool {
	if u.e.name != "fell" || strings.HasPrefix(r.word(u.from), "fell") {
		return false
	}
	k := u.from - 1
	for k >= 0 && r.inVerbGroup(k) && !r.is(k, modal) {
		k--
	}
	if w := r.word(k); (w == "may" || w == "might") && k < u.from-1 {
		return false // "might have fallen" is not known, but may be so
	}
	return r.is(k, modal) && (r.word(k) != "to" || k == u.from-1 && !r.is(k-1, reportedTo) && !r.is(k-1, hadTo))
}

// timeBefore is the time said before unit i in the segment from unit lo, and its unit, -1 for none.
func (r *reader) timeBefore(i, lo int) (Time, int) {
	u := &r.units[i]
	for k := i - 1; k >= lo; k-- {
		n := &r.units[k]
		if n.kind == kindPlanned {
			if r.fellThen(u) && !isDay(n) {
				continue // "trying to get to the toilet she fell"
			}
			if r.word(n.to-1) == "about" && (u.kind == kindFall || u.form == Past) {
				continue // "talked about how she fell"
			}
			if t := r.planOrDay(n, u); t != Now {
				return t, k
			}
			continue
		}
		if n.kind == kindPast && r.word(n.from) != "baseline" && !r.homeless(n, u) {
			return Before, k
		}
		if n.kind == kindCare && !r.purpose(n.from) || n.kind == kindTold && u.kind != kindPerson {
			break
		}
	}
	return Now, -1
}

// timeBehind is the time said behind unit i in the segment up to unit hi, and its unit, -1 for none.
func (r *reader) timeBehind(i, hi int) (Time, int) {
	u := &r.units[i]
	for k := i + 1; k < hi; k++ {
		n := &r.units[k]
		if n.kind == kindPast && !r.homeless(n, u) && !(u.kind == kindVerb && r.untilHour(n)) {
			return Before, k
		}
		if n.kind == kindPlanned && (isDay(n) || (!r.done(u) || r.saysUp(u)) && (r.is(n.from, toCome) || r.is(n.from, toComeLater))) {
			if t := r.planOrDay(n, u); t != Now {
				return t, k
			}
		}
		if r.anchorAt(k) {
			break
		}
	}
	return Now, -1
}

// isDay reports whether the unit names a day or a part of one, which what it dates makes past or to come.
func isDay(n *unit) bool { return n.e.name == "day" || n.e.name == "part" }

// planOrDay is the time that the planned unit n gives to unit u: what it names as a day lies behind what was done
// ("on Tuesday she fell"), in this shift where it is a part of one ("had a fall in the morning"), and ahead otherwise.
func (r *reader) planOrDay(n, u *unit) Time {
	switch {
	case !isDay(n) || !r.done(u) && u.kind != kindFall && u.kind != kindSign:
		return Planned
	case n.e.name == "day":
		return Before
	}
	return Now
}

// saysUp reports whether the unit is "up", which tells by itself neither what was done nor what is to be.
func (r *reader) saysUp(u *unit) bool {
	return u.kind == kindVerb && u.e.name == "up" && r.word(u.from) == "up"
}

// done reports whether the words of the unit tell something as done.
func (r *reader) done(u *unit) bool {
	switch u.kind {
	case kindVerb:
		return u.form == Past
	case kindTold:
		return !r.is(u.from, tellBase)
	}
	return u.kind == kindOffFloor
}

// untilHour reports whether the unit is "until" with an hour of the day: "walked until 3".
func (r *reader) untilHour(n *unit) bool {
	last := &r.toks[n.to-1]
	return r.word(n.from) == "until" && last.IsNum && last.Num <= 24
}

// pastOfSentence is the unit of a time gone by that holds for unit i from another clause of its sentence, -1
// for none. The segment of the unit begins at lo, its chunk at clo.
func (r *reader) pastOfSentence(s *sentence, i, clo, lo int) int {
	if clo < lo {
		if k := r.leadingPast(clo, lo); k >= 0 {
			return k // "Last year, she walked …"
		}
	}
	u := &r.units[i]
	if i == lo && lo-2 >= clo && r.units[lo-1].kind == kindAnd && u.kind == kindVerb && u.form == Past {
		// "used a rollator before the stroke and walked to the shop"
		from, to := r.segment(s, lo-2)
		for k := from; k < to; k++ {
			if n := &r.units[k]; n.kind == kindPast && !r.homeless(n, u) && r.word(n.from) != "until" {
				return k
			}
		}
	}
	if i == lo && lo-2 >= s.lo && r.units[lo-1].sign == ',' && u.kind == kindVerb && u.form == Gerund {
		// "was up and about yesterday, walking with her frame"
		from, to := r.segment(s, lo-2)
		for k := from; k < to; k++ {
			if n := &r.units[k]; n.kind == kindPast && !r.homeless(n, u) && r.word(n.from) != "until" && r.word(n.from) != "baseline" {
				return k
			}
		}
	}
	if clo > s.lo && r.word(r.units[clo-1].from) == "when" {
		// "Three months ago, when she fell, …"
		end := clo - 1
		for end > s.lo && r.units[end-1].sign == ',' {
			end--
		}
		if end > s.lo {
			from, _ := r.segment(s, end-1)
			return r.leadingPast(from, end)
		}
	}
	return -1
}

// leadingPast is the unit of a time gone by that stands alone before the first comma between units lo and hi
// ("Last year, she walked …", "About two years ago, …"), -1 for none.
func (r *reader) leadingPast(lo, hi int) int {
	past := -1
	for k := lo; k < hi && r.parts(k) == 0; k++ {
		switch u := &r.units[k]; u.kind {
		case kindPast:
			if u.e.name == "home" || u.e.name == "after" || r.word(u.from) == "until" {
				return -1
			}
			past = k
		case kindNone, kindPossible, kindIgnore:
		case kindSubject:
			if past >= 0 {
				return -1
			}
		default:
			return -1
		}
	}
	return past
}

// homeless reports whether the unit is "at home" or "post", which put only a fall before the stay: a status
// "post surgery" holds now.
func (r *reader) homeless(n, u *unit) bool {
	return (n.e.name == "home" || n.e.name == "after") && (u.kind != kindFall || u.e.name == "injury")
}

// joinedPast is the unit of a time gone by that closes the next clause of the same subject and so holds for
// the fall or past move at unit i too ("fell and hit her head three days ago"), -1 for none.
func (r *reader) joinedPast(s *sentence, i, hi int) int {
	u := &r.units[i]
	if hi >= s.hi || r.units[hi].kind != kindAnd || u.kind != kindFall && !(u.kind == kindVerb && u.form == Past) {
		return -1
	}
	_, end := r.segment(s, min(hi+1, s.hi-1))
	for k := hi + 1; k < end; k++ {
		switch n := &r.units[k]; n.kind {
		case kindSubject:
			if !r.possessive(k) {
				return -1
			}
		case kindNow, kindPerson:
			return -1
		case kindPast:
			if !r.homeless(n, u) && r.word(n.from) != "until" && r.word(n.to-1) == "ago" {
				return k
			}
		}
	}
	return -1
}

// weekdayAfter reports whether a day of the week is named within four tokens of token i.
func (r *reader) weekdayAfter(i int) bool {
	for k := i; k < i+4 && k < len(r.toks) && r.toks[k].Kind == token.Word; k++ {
		if r.is(k, weekday) {
			return true
		}
	}
	return false
}

// plannedAfter reports whether a day to come is named among the units after i.
func (r *reader) plannedAfter(i, hi int) bool {
	for k := i + 1; k < hi; k++ {
		if u := &r.units[k]; u.kind == kindPlanned {
			if r.is(u.from, toCome) {
				return true
			}
		}
	}
	return false
}
