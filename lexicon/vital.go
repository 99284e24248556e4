package lexicon

import (
	"cmp"
	"math"
	"slices"

	"example.com/stance/lexicon/internal/token"
)

// vitals reads figures with their names.
func (r *reader) vitals(s *sentence) {
	run := pressures{label: -1, last: -1}
	for i := s.lo; i < s.hi; i++ {
		u := &r.units[i]
		switch u.kind {
		case kindVitalTaken:
			if r.figuresHere(s, i) || r.figuresLater(s, i) || r.figuresNext(s, i) {
				run.label = i // "blood pressure is stable at 130 over 85", "VS 132/74"
				continue
			}
			st := r.begin("vital.taken")
			r.scope(s, i, &st)
			r.add(st, u.from, u.to)
		case kindVitalName:
			if u.e.name == "pressure" {
				run.label = i
				continue
			}
			r.vital(s, i)
		case kindVitalPair:
			r.pressure(s, i, &run)
			run.last = i
		}
	}
}

// figuresHere reports whether "obs" or "vitals" at unit i only heads figures that follow.
func (r *reader) figuresHere(s *sentence, i int) bool {
	for k := i + 1; k < s.hi && k <= i+4; k++ {
		switch u := &r.units[k]; u.kind {
		case kindVitalName, kindVitalPair:
			return u.from-r.units[i].to <= 4
		}
	}
	return false
}

// figuresLater reports whether "vitals" at unit i, with nothing said of them, heads figures further on in
// the sentence.
func (r *reader) figuresLater(s *sentence, i int) bool {
	u := &r.units[i]
	if u.to-u.from > 2 || !r.is(u.to-1, vitalsWord) {
		return false
	}
	for k := i + 1; k < s.hi; k++ {
		if n := &r.units[k]; n.kind == kindVitalPair || n.kind == kindVitalName && r.figureFollows(k) {
			return true
		}
	}
	return false
}

// figuresNext reports whether the pressures of which unit i tells that they were taken open the next sentence.
func (r *reader) figuresNext(s *sentence, i int) bool {
	u := &r.units[i]
	if !r.anyBetween(u.from, u.to, pressureWord) {
		return false
	}
	for k := s.hi + 1; k < len(r.units) && k <= s.hi+3; k++ {
		switch n := &r.units[k]; n.kind {
		case kindVitalPair:
			return true
		case kindPosture, kindVitalName, kindClock:
		default:
			return false
		}
	}
	return false
}

// pressures is what the pairs of figures of one sentence have told so far.
type pressures struct {
	label  int // the unit that names blood pressure, -1 for none
	last   int // the last pair, -1 for none
	places order
}

// order is where the posture of a pair of figures stands; the first pair with one decides for its sentence.
type order int8

const (
	unknown order = iota
	standsBefore
	standsBehind
)

// pressure reads the pair of figures at unit i.
func (r *reader) pressure(s *sentence, i int, run *pressures) {
	u := &r.units[i]
	top, bottom := r.pairOf(u)
	if top < 50 || top > 280 || bottom < 20 || bottom > 180 || top <= bottom {
		return // no pressures, such as a date; the bounds are common practice
	}
	from, to := u.from, u.to
	earlier, later := r.postureBefore(s, i, run), r.postureBehind(s, i)
	letter := r.postureLetter(u.from - 1)
	if run.places == unknown {
		switch {
		case earlier >= 0 || letter != "":
			run.places = standsBefore
		case later >= 0:
			run.places = standsBehind
		}
	}
	at := earlier
	if run.places == standsBehind {
		at = later
	}
	row := r.row(i)
	if run.label < 0 && at < 0 && letter == "" && run.last < 0 && !r.labelled(i) && row == nil && !((r.is(u.from-1, showsFigures) || r.standsAlone(u)) && likely(top, bottom)) {
		return
	}
	for _, f := range row {
		r.addVital(s, i, f)
	}
	st := r.begin("vital.pressure")
	st.Systolic, st.Diastolic = Some(top), Some(bottom)
	st.Detail.Head = r.span(u.from, u.to)
	if run.label >= 0 && run.last < 0 && (row == nil || row[0].from > u.from) {
		from = min(from, r.units[run.label].from)
	}
	switch {
	case at >= 0:
		st.Posture = r.units[at].e.fields.posture
		from, to = min(from, r.units[at].from), max(to, r.units[at].to)
	case letter != "":
		st.Posture = letter
		from = min(from, u.from-1)
	}
	if st.Posture == "" && run.places == standsBehind && earlier >= 0 && run.last < 0 {
		st.Posture = r.units[earlier].e.fields.posture
	}
	r.scope(s, i, &st)
	st.Polarity, st.Certainty = Affirmed, Certain
	if c := cmp.Or(r.clockBehind(to), r.clockLeads(s, i)); c != "" && st.Clock == "" {
		st.Clock = c
	}
	r.add(st, from, to)
}

// timeClose drops a time gone by that stands too far from a vital sign to be its own, as in dictated text without
// a full stop.
func (r *reader) timeClose(st *Statement) {
	const far = 40 // bytes
	for i, m := range st.Detail.Terms {
		if m.Field == "time" && st.Time == Before && m.Span.Start > st.Detail.Head.End+far {
			st.Time, st.Detail.Terms = Now, slices.Delete(st.Detail.Terms, i, i+1)
			return
		}
	}
}

// clockBehind is the time of day that "at" ties to the figure before token i ("134/80 at 1800"), "" for none.
func (r *reader) clockBehind(i int) string {
	if r.word(i) != "at" && r.word(i) != "@" {
		return ""
	}
	for k := range r.units {
		if u := &r.units[k]; u.from == i && u.kind == kindClock {
			return r.clockOf(*u)
		}
	}
	return ""
}

// pairOf is the two figures of a pair, 0 and 0 where it lacks one.
func (r *reader) pairOf(u *unit) (top, bottom float64) {
	var n []float64
	for k := u.from; k < u.to; k++ {
		if r.toks[k].Kind == token.Number {
			n = append(n, r.toks[k].Num)
		}
	}
	if len(n) == 2 {
		return n[0], n[1]
	}
	return 0, 0
}

// postureBefore is the unit of the posture before the pair at unit i, -1 for none.
func (r *reader) postureBefore(s *sentence, i int, run *pressures) int {
	for k := i - 1; k >= max(s.lo, run.last+1); k-- {
		u := &r.units[k]
		if u.kind == kindPosture {
			// before the label it must touch it: "supine BP 120/70", not "dizzy on standing, BP 120/70"
			if run.label < 0 || k > run.label || r.units[run.label].from-u.to <= 1 && r.word(u.to) != "," && r.word(u.to) != ";" {
				return k
			}
			return -1
		}
		if r.blocks(k) && u.kind != kindVitalName && u.sign != ':' {
			return -1
		}
	}
	return -1
}

// postureBehind is the unit of the posture right behind the pair at unit i, -1 for none.
func (r *reader) postureBehind(s *sentence, i int) int {
	for k := i + 1; k < s.hi && k <= i+3; k++ {
		p := &r.units[k]
		if p.kind == kindPosture && p.from-r.units[i].to <= 3 {
			return k
		}
		if p.kind == kindVitalPair || p.kind == kindVitalName || p.sign == ',' || p.sign == ';' {
			return -1
		}
	}
	return -1
}

// postureLetter is the posture for which the letter at token i stands before a pressure, "" for none.
func (r *reader) postureLetter(i int) string {
	switch r.word(i) {
	case "l":
		return "lying"
	case "s":
		if r.anyBetween(0, len(r.toks), standingLetters) {
			return "sitting" // "L 140/80, S 130/74, St 118/70"
		}
		return "standing"
	case "st":
		return "standing"
	}
	return ""
}

// spokenFrom is the number that the words from token i say, and the token after it. The words of one number are joined
// by now; a hundred that is left out, as those who dictate vital signs do ("one ten", "one forty two"), is put in here.
func (r *reader) spokenFrom(i int) (float64, int) {
	t := &r.toks[i]
	if next := i + 1; next < len(r.toks) && (t.Num == 1 || t.Num == 2) {
		if n := &r.toks[next]; n.Said && n.Num >= 10 && n.Num <= 99 && n.Num == math.Trunc(n.Num) {
			return t.Num*100 + n.Num, next + 1
		}
	}
	return t.Num, i + 1
}

// clockLeads is the time of day that opens the sentence of a vital sign, if only vitals stand between.
func (r *reader) clockLeads(s *sentence, i int) (c string) {
	for k := s.lo; k < i; k++ {
		switch u := &r.units[k]; u.kind {
		case kindClock:
			if c == "" {
				c = r.clockOf(*u)
			}
		case kindVitalName, kindVitalPair, kindVitalTaken, kindPosture, kindHeader, kindPlanHead:
		case kindNone:
			if u.sign == 0 {
				return ""
			}
		default:
			return ""
		}
	}
	return c
}

// standsAlone reports whether the figures at unit u are set apart by signs as a finding is: "checked him top to toe,
// 118/74, then …".
func (r *reader) standsAlone(u *unit) bool {
	before, behind := r.word(u.from-1), r.word(u.to)
	return (before == "," || before == "." || before == ":" || before == "-") && (r.endsThere(u.to) || behind == "and" || behind == "-" || r.vitalAt(u.to))
}

// vitalAt reports whether the name of a vital sign begins at token i.
func (r *reader) vitalAt(i int) bool {
	h, ok := r.hitAt(i)
	return ok && r.kindOf(h) == kindVitalName
}

// likely reports whether two figures that something showed are a blood pressure though nothing names it: no date,
// fraction or score has them so. The bounds are common practice.
func likely(top, bottom float64) bool { return top >= 80 && bottom >= 40 && top-bottom >= 15 }

// labelled reports whether a pressure was named in an earlier sentence of a run of figures.
func (r *reader) labelled(i int) bool {
	for k := i - 1; k >= 0 && k >= i-8; k-- {
		if u := &r.units[k]; u.kind == kindVitalName && u.e.name == "pressure" {
			return true
		}
	}
	return false
}

// vital reads a single figure behind its name, within the bounds of life.
func (r *reader) vital(s *sentence, i int) {
	u := &r.units[i]
	if t := &r.toks[u.from]; t.Kind == token.Number {
		if named := i > s.lo && r.units[i-1].kind == kindVitalName && r.units[i-1].e == u.e && u.from-r.units[i-1].to <= 3; !named && t.Num >= 50 && t.Num <= 100 && !r.toldAt(t.Start) {
			r.addVital(s, i, figure{u.e.name, t.Num, u.from, u.to, u.to}) // "97% RA"
		}
		return
	}
	end := u.to + 5
	for k := u.to; k < len(r.toks) && k < end; k++ {
		t := &r.toks[k]
		spoken, after := 0.0, k+1
		if t.Kind == token.Word && t.IsNum {
			spoken, after = r.spokenFrom(k)
		}
		if t.Kind != token.Number && spoken < 20 {
			switch {
			case t.Word == "." || t.Word == "\n" || t.Word == ";", t.Word == "," && !r.is(k-1, hedge) && !r.is(k+1, hedge):
				return
			case r.is(k, hedge) || t.Word == ",":
				end = min(end+1, u.to+12) // "is, uh, mildly elevated at 92"
			}
			continue
		}
		v := t.Num
		if spoken > 0 {
			v = spoken
		}
		if u.e.name == "temperature" && t.Said && v == math.Trunc(v) && after < len(r.toks) && r.toks[after].IsNum && r.toks[after].Said && r.toks[after].Num < 10 {
			v, after = v+r.toks[after].Num/10, after+1 // "thirty six nine"
		} else if k+2 < len(r.toks) && r.word(k+1) == "," && r.toks[k+1].Glued && r.toks[k+2].Glued && len(r.toks[k+2].Word) == 1 && r.toks[k+2].IsNum && u.e.name == "temperature" {
			v, after = v+r.toks[k+2].Num/10, k+3 // "36,8"
		}
		if r.is(k+1, minutes) && !r.figureAt(k+2) && r.word(k+2) != ":" && r.word(k+2) != "=" && !(u.e.name == "breaths" && r.word(k+2) == "") && u.e.name != "pulse" && r.word(k+1) != "min" {
			return // "breathing hard for 20 minutes"
		}
		if r.word(k+1) == "/" && u.e.name != "breaths" && u.e.name != "pulse" {
			return
		}
		switch u.e.name {
		case "pulse":
			if v < 25 || v > 250 {
				return
			}
		case "breaths":
			if v < 4 || v > 60 {
				return
			}
		case "temperature":
			v = celsius(v)
			if v < 30 || v > 45 {
				return
			}
		case "saturation":
			if v < 50 || v > 100 {
				return
			}
		}
		r.addVital(s, i, figure{u.e.name, v, u.from, u.to, after})
		return
	}
}

// toldAt reports whether a vital sign covers the place already, as in a row of figures.
func (r *reader) toldAt(at int) bool {
	return slices.ContainsFunc(r.out.Statements, func(st Statement) bool {
		return st.Group() == "vital" && st.Span.Start <= at && at < st.Span.End
	})
}

// addVital adds the vital sign of a figure beside unit i.
func (r *reader) addVital(s *sentence, i int, f figure) {
	st := r.begin("vital." + f.name)
	st.Value = Some(f.value)
	st.Detail.Head = r.span(f.from, f.head)
	if r.word(f.to) == "%" {
		f.to++
	}
	r.scope(s, i, &st)
	st.Polarity, st.Certainty = Affirmed, Certain
	r.timeClose(&st)
	if c := cmp.Or(r.clockBehind(f.to), r.clockLeads(s, i)); c != "" && st.Clock == "" {
		st.Clock = c
	}
	r.add(st, f.from, f.to)
}

// celsius is a body temperature in °C, be it given so or in °F.
func celsius(v float64) float64 {
	if v >= 90 && v <= 110 {
		return math.Round((v-32)*5/9*10) / 10
	}
	return v
}
