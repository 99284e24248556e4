package lexicon

import (
	"math"
	"slices"
	"strings"

	"example.com/stance/lexicon/internal/token"
)

// --- weight bearing ---

// bearings reads what limbs may or do bear.
func (r *reader) bearings(s *sentence) {
	for i := s.lo; i < s.hi; i++ {
		u := &r.units[i]
		if u.kind != kindBearing || u.used {
			continue
		}
		st := r.begin("bearing." + u.e.name)
		st.Detail.Head = r.span(u.from, u.to)
		from, to := u.from, u.to
		limbAt := r.limbOf(s, i)
		if limbAt >= 0 {
			l := &r.units[limbAt]
			st.Limb, st.Side = l.e.fields.limb, l.e.fields.side
			if st.Side == "" {
				st.Side = r.sideBeside(limbAt)
			}
			from, to = min(from, l.from), max(to, l.to)
			st.Detail.Terms = append(st.Detail.Terms, Mark{"side", r.span(l.from, l.to), l.e.ID})
		}
		if st.Limb == "" {
			st.Limb = "leg"
		}
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
}

// limbOf is the unit of the limb or side that the status at unit i speaks of, -1 for none.
func (r *reader) limbOf(s *sentence, i int) int {
	isLimb := func(k int) bool { return r.units[k].kind == kindLimb || r.units[k].kind == kindSide }
	end := r.units[i].to
	for k := i + 1; k < s.hi; k++ {
		u := &r.units[k]
		if r.parts(k) > 0 || u.kind == kindVerb && !u.e.fields.weak && u.form != NoTense || u.from-end > 5 {
			break
		}
		if u.kind == kindBearing {
			if r.word(u.from-1) == "→" {
				// both ends of an arrow speak of one limb
				if l := r.limbOf(s, k); l >= 0 {
					return l
				}
			}
			break
		}
		if isLimb(k) {
			return k
		}
		end = max(end, u.to)
	}
	start := r.units[i].from
	for k := i - 1; k >= s.lo; k-- {
		u := &r.units[k]
		if r.parts(k) > 0 && u.sign != '-' {
			break
		}
		if u.kind == kindBearing {
			if r.word(u.to) == "→" || r.units[k+1].kind == kindTo {
				start = u.from
				continue
			}
			break
		}
		if u.kind == kindVerb && !u.e.fields.weak && !r.nextIsColon(k) || start-u.to > 6 {
			break
		}
		if isLimb(k) && !r.limbTaken(s, k) {
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
	for k := u.from; k < u.to; k++ {
		if r.toks[k].IsNum && r.word(k+1) == "%" {
			return r.toks[k].Num, -1, true
		}
		if r.toks[k].IsNum && r.toks[k].Kind == token.Number {
			return r.toks[k].Num, -1, true
		}
	}
	if u.e.name != "partial" && u.e.name != "able" && u.e.name != "toe-touch" {
		return 0, 0, false
	}
	look := func(k int) (float64, bool) {
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
				const kgPerLb = 0.45359237 // exact since the international yard and pound agreement of 1959
				if l.e.name == "lb" {
					n *= kgPerLb
				}
				return math.Round(1000*n/body) / 10, true
			}
		}
		return 0, false
	}
	for k := i + 1; k < s.hi && k <= i+5; k++ {
		if r.units[k].sign == ',' && k+1 < s.hi && r.units[k+1].kind == kindLoad && r.units[k+1].from-r.units[k].to <= 2 {
			continue // "PWB R leg, max 20 kg"
		}
		if r.parts(k) > 0 || r.units[k].kind == kindBearing || r.units[k].from-u.to > 7 {
			break
		}
		if p, ok := look(k); ok {
			return p, k, true
		}
	}
	for k := i - 1; k >= s.lo && k >= i-2; k-- {
		if r.parts(k) > 0 || u.from-r.units[k].to > 2 {
			break
		}
		if p, ok := look(k); ok && r.units[k].e.name == "percent" {
			return p, k, true
		}
	}
	return 0, 0, false
}

func (r *reader) number(u *unit) float64 {
	n := -1.0
	for k := u.from; k < u.to; k++ {
		if r.toks[k].IsNum {
			if n >= 20 && r.toks[k].Num < 10 && r.toks[k].Kind == token.Word {
				n += r.toks[k].Num // "twenty five"
				continue
			}
			n = r.toks[k].Num
		}
	}
	return n
}

func (r *reader) wordPercent(u *unit) float64 {
	if r.word(u.from) == "half" {
		return 50
	}
	return -1
}

// bodyWeight is the body weight in kg that the note states, other than in unit but; 0 for none.
func (r *reader) bodyWeight(but int) float64 {
	for k := range r.units {
		if r.units[k].kind != kindLoad || r.units[k].e.name != "weight" {
			continue
		}
		for j := k + 1; j < len(r.units) && j <= k+2; j++ {
			l := &r.units[j]
			if j != but && l.kind == kindLoad && l.from-r.units[k].to <= 4 {
				switch l.e.name {
				case "kg":
					return r.number(l)
				case "lb":
					return r.number(l) * 0.45359237
				}
			}
		}
	}
	return 0
}

// bearingMood reads a bare status in a therapist's or doctor's note as an order, and "was … until" as past.
func (r *reader) bearingMood(s *sentence, i int, st *Statement) {
	u := &r.units[i]
	if r.word(u.from-1) == "from" && i+2 < s.hi && r.units[i+1].kind == kindTo && r.units[i+2].kind == kindBearing {
		st.Time, st.Mood = Before, Report // "upgraded from NWB to TTWB"
		return
	}
	if r.word(u.to) == "→" || i+1 < s.hi && r.units[i+1].kind == kindTo && r.word(r.units[i+1].from) == "→" {
		st.Time, st.Mood = Before, Report
		return
	}
	if lo, hi := r.chunk(s, i); st.Time == Now {
		was := false
		for k := lo; k < i; k++ {
			was = was || r.units[k].kind == kindWas && u.from-r.units[k].to <= 4
		}
		if was {
			for k := lo; k < hi; k++ {
				if r.units[k].kind == kindPast || r.word(r.units[k].from) == "until" {
					st.Time = Before
				}
			}
			if hi < s.hi && (r.word(r.units[hi].from) == "until" || r.word(r.units[hi].from) == "till") {
				st.Time = Before
			}
			for k := u.to; k < u.to+8 && k < len(r.toks); k++ {
				switch r.word(k) {
				case "wks", "weeks", "months", "wk", "days":
					st.Time = Before
				}
			}
			if p := r.word(r.units[max(lo, i-1)].from - 1); p == "(" {
				st.Time = Before
			}
			for k := lo; k < i; k++ {
				if r.units[k].sign == '(' {
					st.Time = Before
				}
			}
		}
	}
	if st.Time == Before {
		st.Mood = Report
		return
	}
	if st.Mood == Report && !s.report && (r.role == Therapist || r.role == Doctor) && u.e.name != "able" && !r.hasVerb(s, i) {
		st.Mood = Order
	}
}

// hasVerb reports whether the segment of unit i tells of something being or having been so.
func (r *reader) hasVerb(s *sentence, i int) bool {
	lo, hi := r.segment(s, i)
	from, to := 0, len(r.toks)
	if lo > 0 {
		from = r.units[lo-1].to
	}
	if hi < len(r.units) {
		to = r.units[hi].from
	}
	for k := from; k < to; k++ {
		switch r.word(k) {
		case "is", "was", "'s", "remains", "remained", "maintained", "kept", "observed", "following", "followed", "complied", "adhered", "walked", "ambulated", "maintaining", "managing", "tolerated", "demonstrated", "able", "were", "are", "continues", "adhering", "maintains", "showed", "transferred", "stood":
			return true
		}
	}
	return false
}

// --- signs ---

// signs reads dizziness and its kin, with the posture that their words name.
func (r *reader) signs(s *sentence) {
	for i := s.lo; i < s.hi; i++ {
		u := &r.units[i]
		if u.kind != kindSign || u.used {
			continue
		}
		st := r.begin("sign." + u.e.name)
		st.Detail.Head = r.span(u.from, u.to)
		from, to := u.from, u.to
		if k := r.postureOf(s, i); k >= 0 {
			p := &r.units[k]
			if st.Posture = p.e.fields.posture; p.kind == kindSign {
				st.Posture = r.ownPosture(p)
			}
			st.Detail.Rising = true
			if !r.commaBetween(i, k) {
				from, to = min(from, p.from), max(to, p.to)
			}
		} else if pos := r.ownPosture(u); pos != "" {
			st.Posture, st.Detail.Rising = pos, true
		} else if pos := r.risenAfter(s, i); pos != "" {
			st.Posture, st.Detail.Rising = pos, true
		} else if pos := r.risenBefore(s, i); pos != "" {
			st.Posture, st.Detail.Rising = pos, true
		}
		if u.e.name == "nausea" && !st.Detail.Rising {
			continue
		}
		if c, at := r.clockNear(s, i); c != "" {
			st.Clock = c
			from, to = min(from, r.units[at].from), max(to, r.units[at].to)
		}
		r.scope(s, i, &st)
		r.add(st, from, to)
	}
}

// ownPosture is the posture inside the sign's own wording ("weak on standing").
func (r *reader) ownPosture(u *unit) string {
	for k := u.from; k < u.to; k++ {
		switch r.word(k) {
		case "standing", "stood":
			return "standing"
		}
	}
	return ""
}

// postureOf is the unit of the posture said with the sign at unit i, -1 for none.
func (r *reader) postureOf(s *sentence, i int) int {
	for k := i + 1; k < s.hi; k++ {
		u := &r.units[k]
		if r.parts(k) == 2 || u.kind == kindVitalPair || u.kind == kindVitalName {
			break
		}
		if u.kind == kindPosture || u.kind == kindSign && r.ownPosture(u) != "" {
			return k
		}
		// a list of signs shares what follows it
		if u.kind == kindSign || r.parts(k) == 0 && !r.blocks(k) && u.kind != kindVerb || u.kind == kindAnd {
			if u.kind == kindNegPre {
				break
			}
			continue
		}
		break
	}
	for k := i - 1; k >= s.lo; k-- {
		u := &r.units[k]
		if r.parts(k) > 0 && !(u.sign == ',' && k > s.lo && r.units[k-1].kind == kindPosture) || r.blocks(k) && u.kind != kindSign {
			break
		}
		if u.kind == kindPosture {
			return k
		}
		if u.kind == kindVerb {
			break
		}
	}
	return -1
}

// risenAfter is the posture that a clause of standing or sitting up gives the sign before it:
// "legs buckled when she stood at the commode".
func (r *reader) risenAfter(s *sentence, i int) string {
	when := false
	for k := i + 1; k < s.hi && k <= i+4; k++ {
		u := &r.units[k]
		switch {
		case u.kind == kindBreak:
			w := r.word(u.from)
			when = w == "when" || w == "as" || w == "once" || w == "while" || w == "after"
			if !when {
				return ""
			}
		case u.kind == kindVerb && when:
			switch u.e.fields.concept {
			case "move.stand":
				return "standing"
			case "move.sit-up":
				return "sitting"
			}
			return ""
		case u.kind != kindSubject:
			return ""
		}
	}
	return ""
}

// risenBefore is the posture that a clause of standing or sitting up just before gives the sign:
// "when she stood up she got stars in front of her eyes".
func (r *reader) risenBefore(s *sentence, i int) string {
	for k := i - 1; k >= s.lo && k >= i-7; k-- {
		u := &r.units[k]
		if r.blocks(k) && u.kind != kindSign {
			return ""
		}
		if u.kind != kindVerb {
			continue
		}
		posture := ""
		switch u.e.fields.concept {
		case "move.stand":
			posture = "standing"
		case "move.sit-up":
			posture = "sitting"
		default:
			if u.e.fields.weak {
				continue
			}
			return ""
		}
		for j := u.from - 1; j >= 0 && j >= u.from-3; j-- {
			switch r.word(j) {
			case "when", "as", "once", "after", "while", "upon", "whenever":
				return posture
			}
		}
		return ""
	}
	return ""
}

// clockNear is the time of day of the segment of unit i and its unit.
func (r *reader) clockNear(s *sentence, i int) (string, int) {
	lo, hi := r.chunk(s, i)
	for k := lo; k < hi; k++ {
		if u := &r.units[k]; u.kind == kindClock && !u.used && (k < i || !r.commaBetween(i, k)) {
			if c := r.clockOf(*u); c != "" {
				if r.anchorBetween(k, i) {
					continue
				}
				return c, k
			}
		}
	}
	return "", -1
}

// anchorBetween reports whether another statement stands between units i and j.
func (r *reader) anchorBetween(i, j int) bool {
	if i > j {
		i, j = j, i
	}
	for k := i + 1; k < j; k++ {
		switch u := &r.units[k]; u.kind {
		case kindFall, kindSign, kindOffFloor, kindTold, kindCare:
			return true
		case kindVerb:
			if !u.e.fields.weak {
				return true
			}
		}
	}
	return false
}

// --- falls ---

// falls reads what is said of falls and their aftermath.
func (r *reader) falls(s *sentence) {
	for i := s.lo; i < s.hi; i++ {
		u := &r.units[i]
		if u.kind != kindFall || u.used {
			continue
		}
		st := r.begin("fall." + u.e.name)
		st.Detail.Head = r.span(u.from, u.to)
		from, to := u.from, u.to
		switch u.e.name {
		case "injury", "assessed":
			if !r.afterAFall() || r.elsewhere(u.from) {
				continue
			}
			if u.e.name == "injury" && r.settleInjury(s, i) {
				continue
			}
		case "caught":
			if r.word(u.to-1) == "her" && r.ownsNext(u.to) {
				continue // "caught her slippers on the rug"
			}
		case "fell":
			if u.form == NoTense && r.fellOver(s, i) {
				continue
			}
		}
		if u.e.name != "injury" && u.e.name != "head" && u.e.name != "assessed" {
			if c, at := r.clockNear(s, i); c != "" {
				st.Clock = c
				from, to = min(from, r.units[at].from), max(to, r.units[at].to)
			}
		}
		if u.e.name == "fell" && r.sameFall(s, i) {
			if n := len(r.out.Statements); st.Clock != "" && n > 0 && r.out.Statements[n-1].Concept == "fall.fell" && r.out.Statements[n-1].Clock == "" {
				r.out.Statements[n-1].Clock = st.Clock
				r.out.Statements[n-1].Span.End = r.toks[to-1].End
			}
			continue // "slipped at the sink and fell on her side" is one fall
		}
		if w := r.lower(u); u.e.name == "fell" && (strings.HasSuffix(w, "went down") || strings.HasSuffix(w, "go down")) && r.gaveOut(s, i) {
			st.Concept = "fall.collapse"
		}
		r.scope(s, i, &st)
		if strings.Contains(r.lower(u), " not ") || strings.Contains(r.lower(u), "n't ") {
			st.Polarity = Negated
		}
		r.add(st, from, to)
	}
}

// gaveOut reports whether a faint or failing legs were told before unit i in the sentence.
func (r *reader) gaveOut(s *sentence, i int) bool {
	for k := s.lo; k < i; k++ {
		if u := &r.units[k]; u.kind == kindSign && (u.e.name == "faint" || u.e.name == "weak") {
			return true
		}
	}
	return false
}

// sameFall reports whether the fall word at unit i goes on with one told just before.
func (r *reader) sameFall(s *sentence, i int) bool {
	for k := i - 1; k >= s.lo && k >= i-5; k-- {
		n := &r.units[k]
		if r.parts(k) == 2 || n.sign == ',' {
			return false
		}
		if n.kind == kindFall && (n.e.name == "fell" || n.e.name == "near") {
			return true
		}
	}
	return false
}

// ownsNext reports whether "her" before token i owns what follows rather than being the one caught.
func (r *reader) ownsNext(i int) bool {
	if i >= len(r.toks) || r.toks[i].Kind != token.Word {
		return false
	}
	switch r.word(i) {
	case "by", "under", "before", "as", "and", "in", "on", "with", "from", "just", "when", "at", "to", "then", "around", "round", "mid", "so", "but", "quickly", "safely", "again", "first", "who", "while", "because", "straight":
		return false
	}
	return true
}

// elsewhere reports whether the pain or mark at token i is of a part that a fall does not explain.
func (r *reader) elsewhere(i int) bool {
	switch r.word(i - 1) {
	case "chest", "abdominal", "abdo", "stomach", "tummy", "throat", "ear", "dental", "tooth", "suprapubic", "epigastric", "pressure", "calf":
		return true
	}
	return false
}

// afterAFall reports whether the note tells of a fall that happened, so far or in the sentence at hand.
func (r *reader) afterAFall() bool {
	for k := range r.units {
		if u := &r.units[k]; u.kind == kindOffFloor {
			return true
		} else if u.kind == kindFall {
			switch u.e.name {
			case "fell", "found", "eased", "collapse":
				if k > 0 && r.units[k-1].kind == kindNegPre {
					continue
				}
				return true
			}
		}
	}
	return false
}

// settleInjury reports whether the injury words at unit i speak of something else, or repeat one just listed.
func (r *reader) settleInjury(s *sentence, i int) bool {
	u := &r.units[i]
	if w := r.word(u.from); w == "pain" || w == "redness" || w == "sore" {
		if n := r.word(u.to); n == "/" || r.toks[min(u.to, len(r.toks)-1)].Kind == token.Number {
			return false
		}
	}
	// "bruise or skin tear noted" is one remark a word, but "injury noted" is one
	return i > s.lo && r.units[i-1].kind == kindFall && r.units[i-1].e.name == "injury" && r.units[i-1].to == u.from
}

// fellOver reports whether the noun "fall" or "falls" names a programme or belongs to another fall word in the clause.
func (r *reader) fellOver(s *sentence, i int) bool {
	u := &r.units[i]
	if i > s.lo && r.units[i-1].kind == kindAid && r.units[i-1].to == u.from {
		return true // "her crutches fell over"
	}
	if u.to-u.from == 1 && (r.word(u.from) == "fall" || r.word(u.from) == "falls") {
		switch r.word(u.from - 1) {
		case "post", "the", "this", "that", "after", "from", "following", "since", "their":
			return true
		}
	}
	for k := s.lo; k < i; k++ {
		if r.units[k].kind == kindFall && r.units[k].e.name == "eased" {
			return true // "lowered to the floor as she slid"
		}
	}
	// "caught her before she fell", "found on floor, ?fell": the stronger word stands already
	lo, hi := r.chunk(s, i)
	for k := lo; k < hi; k++ {
		if k == i || r.units[k].kind != kindFall {
			continue
		}
		switch r.units[k].e.name {
		case "caught", "eased", "collapse":
			return true
		case "near":
			return k > i
		}
	}
	return lo > s.lo && hi > lo && (r.word(r.units[lo-1].from) == "before" || r.word(r.units[lo-1].from) == "so") && r.caughtBefore(s, lo)
}

func (r *reader) caughtBefore(s *sentence, i int) bool {
	for k := s.lo; k < i; k++ {
		if u := &r.units[k]; u.kind == kindFall && u.e.name == "caught" {
			return true
		}
	}
	return false
}

// afterFall turns the first move with a lift, or up, after a fall into the getting up off the floor.
func (r *reader) afterFall() {
	r.dropInjuries()
	fell := -1
	for k := range r.out.Statements {
		st := &r.out.Statements[k]
		switch st.Concept {
		case "fall.fell", "fall.found", "fall.eased", "fall.collapse":
			if st.Done() && (fell < 0 || st.Span.Start < fell) {
				fell = st.Span.Start
			}
		case "fall.moved":
			return
		}
	}
	if fell < 0 {
		return
	}
	best := -1
	for k := range r.out.Statements {
		st := &r.out.Statements[k]
		if st.Span.Start <= fell || !st.Done() || st.From != "" {
			continue
		}
		up := st.Concept == "move.up" && strings.Contains(strings.ToLower(r.text[st.Span.Start:st.Span.End]), "up")
		if up || (st.Concept == "move.transfer" || st.Concept == "move.lift") && isLift(st.Method) || st.Concept == "move.lift" {
			if best < 0 || st.Span.Start < r.out.Statements[best].Span.Start {
				best = k
			}
		}
	}
	if best >= 0 {
		r.out.Statements[best].Concept = "fall.moved"
	}
}

// dropInjuries takes out injuries and examinations where no fall of the resident is told to have happened.
func (r *reader) dropInjuries() {
	happened := false
	for k := range r.out.Statements {
		st := &r.out.Statements[k]
		switch st.Concept {
		case "fall.fell", "fall.found", "fall.eased", "fall.collapse", "fall.moved":
			happened = happened || st.Polarity == Affirmed && st.Who == Resident && (st.Time == Now || st.Time == Before)
		}
	}
	if !happened {
		r.out.Statements = slices.DeleteFunc(r.out.Statements, func(s Statement) bool {
			return s.Concept == "fall.injury" || s.Concept == "fall.assessed"
		})
	}
}

// --- told ---

// told reads who was told: a verb of telling with a person before or behind it, and report forms.
func (r *reader) told(s *sentence) {
	for i := s.lo; i < s.hi; i++ {
		u := &r.units[i]
		switch u.kind {
		case kindForm:
			st := r.begin("told.form")
			r.scope(s, i, &st)
			r.add(st, u.from, u.to)
			continue
		case kindPerson:
		default:
			continue
		}
		if u.e.name == "other" || u.e.name == "pt" || u.used {
			continue
		}
		v := r.tellingVerb(s, i)
		if v < 0 {
			continue
		}
		from, to := u.from, u.to
		if !r.personBetween(i, v) {
			from, to = min(from, r.units[v].from), max(to, r.units[v].to)
		}
		st := r.begin("told." + u.e.name)
		st.Detail.Head = r.span(r.units[v].from, r.units[v].to)
		r.scope(s, min(i, v), &st)
		st.Who = Resident
		r.add(st, from, to)
	}
}

func (r *reader) personBetween(i, j int) bool {
	if i > j {
		i, j = j, i
	}
	for k := i + 1; k < j; k++ {
		if r.units[k].kind == kindPerson {
			return true
		}
	}
	return false
}

// tellingVerb is the unit of the verb by which the person at unit i was told, -1 for none.
func (r *reader) tellingVerb(s *sentence, i int) int {
	u := &r.units[i]
	// behind: "RN aware", "charge nurse and daughter called", "physio was informed"
	at := u.to
	for k := i + 1; k < s.hi; k++ {
		n := &r.units[k]
		if n.from-at > 3 || n.sign == ';' {
			break
		}
		if n.kind == kindTold {
			if r.calls(i, k) {
				break
			}
			return k
		}
		if n.kind == kindPerson || n.kind == kindAnd || n.sign == ',' || n.kind == kindWas || n.kind == kindSubject || n.kind == kindNow || n.kind == kindPlanned || n.kind == kindNegPre || n.sign == '(' || n.sign == ')' {
			at = n.to
			continue
		}
		break
	}
	// before: "told the charge nurse", "reported to RN", "let charge know"
	if r.word(u.from-1) == "by" {
		return -1
	}
	at = u.from
	for k := i - 1; k >= s.lo; k-- {
		n := &r.units[k]
		if at-n.to > 3 || r.parts(k) == 2 {
			break
		}
		if n.kind == kindTold {
			if r.callsOut(s, k, i) {
				return -1
			}
			return k
		}
		if n.sign == ',' && r.acts(u.to) {
			return -1 // "called charge nurse, nurse checked her"
		}
		if n.kind == kindPerson || n.kind == kindAnd || n.kind == kindTo || n.kind == kindSubject || n.sign == ',' || n.kind == kindNone {
			at = n.from
			continue
		}
		break
	}
	return -1
}

// acts reports whether the word at token i says what a person did.
func (r *reader) acts(i int) bool {
	switch r.word(i) {
	case "check", "checked", "checks", "came", "come", "assessed", "said", "says", "examined", "attended", "gave", "took", "will", "to", "assess":
		return true
	}
	return false
}

// callsOut reports whether the verb at unit v is the resident's own telephoning of the relative at unit i.
func (r *reader) callsOut(s *sentence, v, i int) bool {
	if r.units[i].e.name != "family" {
		return false
	}
	switch r.word(r.units[v].from) {
	case "phoned", "rang", "ringing", "called", "calling", "texted", "emailed", "call", "ring", "spoke", "messaged", "got":
	default:
		return false
	}
	for k := v - 1; k >= s.lo && k >= v-2; k-- {
		switch r.word(r.units[k].from) {
		case "i", "writer", "we", "staff", "nurse", "rn", "to":
			return false
		}
	}
	switch r.word(r.units[i].from - 1) {
	case "her", "his":
		return true
	}
	return false
}

// calls reports whether the verb at unit v is what the person at unit i did, not what was done to them:
// relatives ring in, nurses tell carers.
func (r *reader) calls(i, v int) bool {
	w, p := r.word(r.units[v].from), &r.units[i]
	for k := p.to; k < r.units[v].from; k++ {
		switch r.word(k) {
		case "is", "was", "were", "been", "be", "are", "made", "has":
			return false
		}
	}
	next := r.word(r.units[v].to)
	switch w {
	case "told", "reported", "informed", "notified", "advised", "tell", "report", "asked", "reports", "advise", "tells":
		switch next {
		case "me", "us", "writer", "that", "to", "her", "him", "staff", "she", "he", "feeling":
			return true
		}
	case "phoned", "rang", "ring", "called", "call", "texted", "emailed", "messaged", "ringing", "tel":
		if p.e.name == "family" {
			switch next {
			case "from", "to", "and", "in", "at", "for", "this", "with", "about", "during", "her", "him":
				return true
			}
			return w != "called"
		}
		return next == "me" || next == "to" || next == "back" || next == "us" || next == "writer"
	case "got", "fetched", "shouted", "buzzed", "spoke":
		return true
	}
	return false
}

// --- vitals ---

// vitals reads figures with their names.
func (r *reader) vitals(s *sentence) {
	label := -1
	after := -1 // does posture stand after the pair? -1 not known yet
	last := -1
	for i := s.lo; i < s.hi; i++ {
		u := &r.units[i]
		switch u.kind {
		case kindVitalTaken:
			if r.figuresHere(s, i) {
				continue
			}
			st := r.begin("vital.taken")
			r.scope(s, i, &st)
			r.add(st, u.from, u.to)
		case kindVitalName:
			if u.e.name == "pressure" {
				label = i
				continue
			}
			r.vital(s, i)
		case kindVitalPair:
			r.pressure(s, i, &label, &after, last)
			last = i
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

func (r *reader) pressure(s *sentence, i int, label, after *int, last int) {
	u := &r.units[i]
	var n []float64
	for k := u.from; k < u.to; k++ {
		if r.toks[k].Kind == token.Number {
			n = append(n, r.toks[k].Num)
		}
	}
	if len(n) != 2 || n[0] < 50 || n[0] > 280 || n[1] < 20 || n[1] > 180 || n[0] <= n[1] {
		return
	}
	before, behind := -1, -1
	floor := s.lo
	if last >= 0 {
		floor = last + 1
	}
	for k := i - 1; k >= floor; k-- {
		if r.units[k].kind == kindPosture {
			// before the label it must touch it: "supine BP 120/70", not "dizzy on standing, BP 120/70"
			if *label < 0 || k > *label || r.units[*label].from-r.units[k].to <= 1 && r.word(r.units[k].to) != "," {
				before = k
			}
			break
		}
		if r.blocks(k) && r.units[k].kind != kindVitalName {
			break
		}
	}
	for k := i + 1; k < s.hi && k <= i+3; k++ {
		p := &r.units[k]
		if p.kind == kindPosture && p.from-u.to <= 3 {
			behind = k
			break
		}
		if p.kind == kindVitalPair || p.kind == kindVitalName || p.sign == ',' || p.sign == ';' {
			break
		}
	}
	letter := ""
	switch r.word(u.from - 1) {
	case "l":
		letter = "lying"
	case "s", "st":
		letter = "standing"
	}
	if *after < 0 {
		switch {
		case before >= 0 || letter != "":
			*after = 0
		case behind >= 0:
			*after = 1
		}
	}
	at := before
	if *after == 1 {
		at = behind
	}
	if *label < 0 && at < 0 && letter == "" && last < 0 && !r.labelled(i) {
		return
	}
	st := r.begin("vital.pressure")
	st.Systolic, st.Diastolic = Some(n[0]), Some(n[1])
	st.Detail.Head = r.span(u.from, u.to)
	from, to := u.from, u.to
	if *label >= 0 && last < 0 {
		from = min(from, r.units[*label].from)
	}
	if at >= 0 {
		st.Posture = r.units[at].e.fields.posture
		from, to = min(from, r.units[at].from), max(to, r.units[at].to)
	} else if letter != "" {
		st.Posture = letter
		from = min(from, u.from-1)
	}
	if st.Posture == "" && *after == 1 && before >= 0 && last < 0 {
		st.Posture = r.units[before].e.fields.posture
	}
	r.scope(s, i, &st)
	st.Polarity, st.Certainty = Affirmed, Certain
	if c := r.clockLeads(s, i); c != "" && st.Clock == "" {
		st.Clock = c
	}
	r.add(st, from, to)
}

// clockLeads is the time of day that opens the sentence of a vital sign, if only vitals stand between.
func (r *reader) clockLeads(s *sentence, i int) (c string) {
	for k := s.lo; k < i; k++ {
		switch u := &r.units[k]; u.kind {
		case kindClock:
			if c == "" {
				c = r.clockOf(*u)
			}
		case kindVitalName, kindVitalPair, kindVitalTaken, kindPosture:
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
	for k := u.to; k < len(r.toks) && k < u.to+5; k++ {
		t := &r.toks[k]
		if t.Kind != token.Number {
			if t.Word == "." || t.Word == "\n" || t.Word == "," || t.Word == ";" {
				return
			}
			continue
		}
		v := t.Num
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
			if v >= 90 && v <= 110 {
				v = math.Round((v-32)*5/9*10) / 10 // °F
			}
			if v < 30 || v > 45 {
				return
			}
		case "saturation":
			if v < 50 || v > 100 {
				return
			}
		}
		st := r.begin("vital." + u.e.name)
		st.Value = Some(v)
		st.Detail.Head = r.span(u.from, u.to)
		end := k + 1
		if r.word(end) == "%" {
			end++
		}
		r.scope(s, i, &st)
		st.Polarity, st.Certainty = Affirmed, Certain
		if c := r.clockLeads(s, i); c != "" && st.Clock == "" {
			st.Clock = c
		}
		r.add(st, u.from, end)
		return
	}
}

// --- why, faults, fit, review ---

// reasons reads why a move was done otherwise or left out.
func (r *reader) reasons(s *sentence) {
	for i := s.lo; i < s.hi; i++ {
		u := &r.units[i]
		if u.kind == kindAway {
			r.away(s, i)
			continue
		}
		if u.kind != kindReason {
			continue
		}
		if !r.anyMove() {
			r.inner(u, func(e *entry) {
				if e.kind == kindAid && u.kind == kindReason {
					u.kind, u.e = kindAid, e
				}
			})
			if u.kind == kindReason {
				drop(u)
			}
			continue
		}
		st := r.begin("reason." + u.e.name)
		st.Detail.Head = r.span(u.from, u.to)
		from := u.from
		if i > s.lo && r.units[i-1].kind == kindAid && r.units[i-1].to == u.from {
			r.units[i-1].used = true // "standing hoist sling missing"
			from = r.units[i-1].from
		}
		r.scope(s, i, &st)
		st.Polarity, st.Who = Affirmed, Resident
		r.add(st, from, u.to)
	}
}

// away reads an aid told to be elsewhere or in use, where the note tells a move that went without it.
func (r *reader) away(s *sentence, i int) {
	u := &r.units[i]
	for k := i - 1; k >= s.lo && k >= i-4; k-- {
		n := &r.units[k]
		if r.parts(k) > 0 || u.from-n.to > 4 || n.kind == kindVerb && !n.e.fields.weak {
			return
		}
		if n.kind != kindAid {
			continue
		}
		n.used, u.kind = true, kindReason
		if !r.anyMoveBut(k) {
			n.used, u.kind = false, kindNone
			return
		}
		st := r.begin("reason.no-equipment")
		st.Detail.Head = r.span(u.from, u.to)
		r.scope(s, k, &st)
		st.Polarity, st.Who = Affirmed, Resident
		r.add(st, n.from, u.to)
		return
	}
}

// anyMoveBut reports whether the note tells a move, leaving unit k out of account.
func (r *reader) anyMoveBut(k int) bool {
	was := r.units[k].kind
	r.units[k].kind = kindNone
	defer func() { r.units[k].kind = was }()
	return r.anyMove()
}

// anyMove reports whether the note tells any move at all.
func (r *reader) anyMove() bool {
	for k := range r.units {
		switch u := &r.units[k]; u.kind {
		case kindVerb:
			if !u.e.fields.weak {
				return true
			}
		case kindOffFloor:
			return true
		case kindAid:
			if isLift(u.e.name) {
				return true
			}
		case kindTo:
			if k > 0 && k+1 < len(r.units) && r.isPlace(k-1) && r.isPlace(k+1) {
				return true
			}
		}
	}
	return false
}

// faults reads an aid or a part of one told to be broken, flat or missing.
func (r *reader) faults(s *sentence) {
	for i := s.lo; i < s.hi; i++ {
		u := &r.units[i]
		if u.kind != kindFaultWord || u.used {
			continue
		}
		thing := -1
		for k := i - 1; k >= s.lo && k >= i-6; k-- {
			n := &r.units[k]
			if r.parts(k) == 2 || n.sign == ',' && thing < 0 || n.kind == kindVerb && !n.e.fields.weak || n.kind == kindCare && n.kind != kindFaultPart {
				break
			}
			if n.kind == kindFaultPart || n.kind == kindAid && n.e.name != "none" || n.kind == kindFitPart && !strings.HasPrefix(r.lower(n), "cuff") {
				if thing < 0 && u.from-n.to > 5 {
					break
				}
				thing = k
			}
		}
		if thing < 0 {
			for k := i + 1; k < s.hi && k <= i+3; k++ {
				n := &r.units[k]
				if r.parts(k) > 0 || n.from-u.to > 3 || n.kind == kindVerb && n.e.name != "use" {
					break
				}
				if n.kind == kindFaultPart || n.kind == kindAid && n.e.name != "none" {
					thing = k
					break
				}
			}
		}
		own := strings.Contains(r.lower(u), "batter") || strings.Contains(r.lower(u), "sling") || strings.Contains(r.lower(u), "brake")
		if thing < 0 && !own {
			drop(u)
			continue
		}
		from, to := u.from, u.to
		for k := i + 1; k < s.hi && k <= i+3; k++ {
			if r.units[k].kind == kindAid && r.units[k].from-u.to <= 4 && !r.commaBetween(i, k) {
				r.units[k].used = true // "rubber tip gone off the quad cane"
			}
		}
		if thing >= 0 {
			from, to = min(from, r.units[thing].from), max(to, r.units[thing].to)
			for k := min(thing, i); k <= max(thing, i); k++ {
				if r.units[k].kind == kindAid || r.units[k].kind == kindFaultWord {
					r.units[k].used = true
				}
			}
		}
		st := r.begin("aid.fault")
		st.Detail.Head = r.span(u.from, u.to)
		r.scope(s, i, &st)
		if st.Polarity == Negated && r.faultNegates(u) {
			st.Polarity = Affirmed
		}
		r.add(st, from, to)
	}
}

func (r *reader) faultNegates(u *unit) bool { return strings.HasPrefix(r.lower(u), "no") }

func (r *reader) lower(u *unit) string {
	return strings.ToLower(r.text[r.toks[u.from].Start:r.toks[u.to-1].End])
}

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
			if e.kind == kindAid && isWalkingAid(e.name) {
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
					if e.kind == kindAid && isWalkingAid(e.name) {
						aids = appendNew(aids, e.name)
					}
				})
				from, to = min(from, n.from), max(to, n.to)
			case n.kind == kindAid && isWalkingAid(n.e.name) && near:
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

// fitWords reports whether an aid or a part of one stands among the units.
func (r *reader) fitWords(lo, hi int) bool {
	for k := lo; k < hi; k++ {
		if n := &r.units[k]; n.kind == kindFitPart || n.kind == kindAid && isWalkingAid(n.e.name) {
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
	switch r.word(u.from) {
	case "dropped", "replaced", "put", "moved", "took", "taken", "changed", "let", "gave", "lent", "reset", "tightened", "loosened", "extended", "switched":
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

// reviews reads that somebody reassessed or was asked to.
func (r *reader) reviews(s *sentence) {
	for i := s.lo; i < s.hi; i++ {
		u := &r.units[i]
		st := r.begin("")
		from, to := u.from, u.to
		switch u.kind {
		case kindReviewDone:
			st.Concept = "review.done"
			switch r.word(u.from - 1) {
			case "until", "till", "once", "when", "if", "unless", "before":
				continue
			case "be":
				st.Concept = "review.asked"
			}
		case kindReviewAsked:
			st.Concept = "review.asked"
		case kindReviewWord:
			w := r.word(u.from)
			strong := strings.HasPrefix(w, "reassess") || w == "re" || strings.HasPrefix(w, "upgrad") || strings.HasPrefix(w, "downgrad") || w == "cleared" || strings.HasPrefix(w, "reevalu") || w == "progressed"
			person := r.therapyIn(s, i)
			if !strong && !person {
				continue
			}
			if strong && !person && w == "cleared" && u.to-u.from == 1 && r.word(u.to) != "by" && r.word(u.to) != "for" && r.word(u.to) != "to" {
				continue
			}
			if strong && !person && r.role == CareWorker && strings.HasPrefix(w, "re") {
				if n := r.word(u.to); n == "pain" || n == "by" && false {
					continue
				}
			}
			st.Concept = "review.done"
		default:
			continue
		}
		st.Detail.Head = r.span(u.from, u.to)
		r.scope(s, i, &st)
		st.Who = Resident
		if st.Concept == "review.asked" {
			st.Mood = Report
			l := r.lower(u)
			if strings.Contains(l, " to ") && !strings.Contains(l, "refer") && !strings.Contains(l, "ask") && !strings.Contains(l, "request") {
				st.Time = Planned
			}
			if strings.HasPrefix(l, "refer") || strings.Contains(l, "sent") || strings.Contains(l, "requested") || strings.Contains(l, "made") {
				st.Time = Now
			}
		}
		if u.kind == kindReviewDone && st.Concept == "review.asked" {
			st.Time = Planned
		}
		if st.Concept == "review.done" {
			st.Mood = Report
			if st.Time == Planned {
				st.Concept = "review.asked"
			}
		}
		r.add(st, from, to)
	}
}

// therapyIn reports whether a therapist or surgeon stands near unit i.
func (r *reader) therapyIn(s *sentence, i int) bool {
	for k := max(s.lo, i-3); k < s.hi && k <= i+3; k++ {
		u := &r.units[k]
		if u.kind == kindPerson && u.e.name == "therapy" && !r.commaBetween(k, i) {
			u.used = true
			return true
		}
	}
	return false
}

// --- what is left over ---

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
		if r.inReason(u) || r.incidental(s, i) {
			continue
		}
		st := r.begin("aid." + u.e.name)
		st.Detail.Head = r.span(u.from, u.to)
		r.scope(s, i, &st)
		if u.e.name == "none" {
			st.Polarity = Affirmed
		}
		r.add(st, u.from, u.to)
	}
}

// incidental reports whether the aid at unit i is only where something else happened: the belt by
// which somebody was caught, the wheelchair fallen from or sat in.
func (r *reader) incidental(s *sentence, i int) bool {
	u := &r.units[i]
	lo, hi := r.segment(s, i)
	if u.e.name == "belt" {
		for k := lo; k < hi; k++ {
			if r.units[k].kind == kindFall {
				return true
			}
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
func (r *reader) inReason(u *unit) bool {
	at := r.toks[u.from].Start
	for k := range r.out.Statements {
		st := &r.out.Statements[k]
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
