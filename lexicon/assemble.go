package lexicon

import (
	"slices"
	"strconv"
	"strings"

	"example.com/stance/lexicon/internal/token"
)

// anchor is the word that carries a move, with the units of its clause.
type anchor struct {
	at       int // unit
	concept  string
	method   string
	hand     bool
	implicit bool // no verb: a pair of places or a lift as the means
	lo, hi   int  // units that may belong to it, hi exclusive
	extra    []int
}

// assemble turns units into statements, sentence by sentence.
func (r *reader) assemble() {
	for i := range r.units {
		r.units[i].part = int8(r.part(i))
	}
	sents := r.sentences()
	for i := range sents {
		s := &sents[i]
		for _, step := range r.lex.steps {
			if s.has.any(step.needs) {
				step.run(r, s)
			}
		}
	}
	r.afterFall()
}

// moves builds the moves of a sentence. Helpers named before the first of two verbs that share their
// subject count for both: "with two staff she stood up and pivoted".
func (r *reader) moves(s *sentence) {
	lead := -1 // statement whose helpers stand before its verb
	leadAt := 0
	for _, a := range r.anchors(s) {
		n := len(r.out.Statements)
		r.move(s, a)
		if len(r.out.Statements) == n {
			continue
		}
		st := &r.out.Statements[n]
		_, has := st.Staff.Get()
		if n > 0 && a.at >= 2 && r.units[a.at-1].kind == kindAnd && r.units[a.at-2].kind == kindVerb && r.units[a.at-2].to == r.units[a.at-1].from {
			// "transfers and walks independently": what follows speaks of both
			if p := &r.out.Statements[n-1]; p.Detail.Head.End == r.toks[r.units[a.at-2].to-1].End && p.Staff.IsZero() && p.Assist == "" {
				p.Staff, p.Assist = st.Staff, st.Assist
			}
		}
		switch {
		case has && r.staffLeads(st):
			lead, leadAt = n, a.at
		case has:
			lead = -1
		case lead >= 0 && st.Assist == "" && helped(st.Concept) && helped(r.out.Statements[lead].Concept) && r.sharesSubject(leadAt, a.at):
			st.Staff = r.out.Statements[lead].Staff
		default:
			lead = -1
		}
	}
}

func helped(concept string) bool {
	switch concept {
	case "move.transfer", "move.stand", "move.lift", "move.walk", "move.up":
		return true
	}
	return false
}

// staffLeads reports whether the helpers of a move are named before its head.
func (r *reader) staffLeads(st *Statement) bool {
	for _, m := range st.Detail.Terms {
		if m.Field == "staff" {
			return m.Span.Start < st.Detail.Head.Start
		}
	}
	return false
}

// sharesSubject reports whether the verb at unit b goes on from the one at unit a with "and" and no new subject.
func (r *reader) sharesSubject(a, b int) bool {
	and := false
	for k := a + 1; k < b; k++ {
		u := &r.units[k]
		if r.parts(k) == 2 || u.kind == kindPerson || u.kind == kindSubject && !r.possessive(k) && !r.objectOf(k) {
			return false
		}
		and = and || u.kind == kindAnd
	}
	return and
}

// step reads one sort of statement from a sentence that has the kinds it needs.
type step struct {
	needs kinds
	run   func(*reader, *sentence)
}

// steps are the sorts of statement in the order in which they take their words: what explains, then
// moves, then the rest, and last what nobody took.
func steps() []step {
	return []step{
		{setOf(kindReason, kindAway), (*reader).reasons},
		{setOf(kindReviewDone, kindReviewWord, kindReviewAsked), (*reader).reviews},
		{setOf(kindFaultWord), (*reader).faults},
		{setOf(kindFit), (*reader).fits},
		{setOf(kindVerb, kindOffFloor, kindAid, kindPlace), (*reader).moves},
		{setOf(kindBearing), (*reader).bearings},
		{setOf(kindSign), (*reader).signs},
		{setOf(kindFall), (*reader).falls},
		{setOf(kindPerson, kindForm), (*reader).told},
		{setOf(kindVitalName, kindVitalPair, kindVitalTaken), (*reader).vitals},
		{setOf(kindLevel), (*reader).levels},
		{setOf(kindAid, kindReason), (*reader).aids},
		{setOf(kindNoPart, kindUnable, kindTookPart, kindVague, kindLevel, kindVerb), (*reader).remarks},
	}
}

// --- clause boundaries ---

// parts says how strongly unit i parts clauses: 0 not at all, 1 as a comma does, 2 fully.
func (r *reader) parts(i int) int { return int(r.units[i].part) }

// part works out what parts tells, once a note.
func (r *reader) part(i int) int {
	u := &r.units[i]
	switch u.sign {
	case ',', '-':
		return 1
	case ';':
		return 2
	case '(', ')', ':', '?':
		return 0
	}
	switch u.kind {
	case kindAnd:
		return 1
	case kindBreak, kindExcept:
		if r.word(u.from) == "then" && i > 0 && r.units[i-1].to == u.from && (r.units[i-1].kind == kindStaff || r.units[i-1].kind == kindSubject || r.units[i-1].kind == kindPerson) {
			return 0 // "one aide then wheeled her"
		}
		switch r.word(u.from) {
		case "then", "but", "however", "afterwards", "because", "although", "though", "whereas", "otherwise", "anyway", "subsequently", "which", "who", "and", "so", "except", "apart", "followed", "unless", "despite", "where":
			return 2
		}
		// "after her wash" and "before lunch" only date a move; with a subject or verb they open a clause.
		for k := i + 1; k < len(r.units) && k <= i+2; k++ {
			n := &r.units[k]
			if n.sign != 0 {
				break
			}
			if n.kind == kindSubject && !r.possessive(k) || n.kind == kindPerson || n.kind == kindVerb && n.form != NounForm && !n.e.fields.weak || n.kind == kindTold || n.kind == kindFall {
				return 2
			}
		}
		switch r.word(u.from) {
		case "later", "earlier", "first", "initially", "also", "next", "finally", "once", "overall", "since", "post", "plus":
			return 0
		}
		return 1
	case kindNegStop:
		switch r.word(u.from) {
		case "but", "however", "although", "though", "then", "because", "instead":
			return 2
		}
	}
	return 0
}

// possessive reports whether the subject word at unit i only owns the next ("her wash").
func (r *reader) possessive(i int) bool {
	switch r.word(r.units[i].from) {
	case "her", "his", "my", "your", "their":
		return i+1 >= len(r.units) || r.units[i+1].from > r.units[i].to || r.units[i+1].kind != kindVerb
	}
	return false
}

// chunk is the widest run about unit i with no full clause boundary.
func (r *reader) chunk(s *sentence, i int) (lo, hi int) {
	lo, hi = i, i+1
	for lo > s.lo && r.parts(lo-1) < 2 {
		lo--
	}
	for hi < s.hi && r.parts(hi) < 2 {
		hi++
	}
	return lo, hi
}

// segment is the run about unit i with no boundary at all.
func (r *reader) segment(s *sentence, i int) (lo, hi int) {
	lo, hi = i, i+1
	for lo > s.lo && r.parts(lo-1) == 0 {
		lo--
	}
	for hi < s.hi && r.parts(hi) == 0 {
		hi++
	}
	return lo, hi
}

// blocks reports whether unit i keeps what lies beyond it from the move on the other side.
func (r *reader) blocks(i int) bool {
	u := &r.units[i]
	switch u.kind {
	case kindSign, kindFall, kindOffFloor, kindTold, kindVitalName, kindVitalPair, kindVitalTaken, kindReason, kindFaultWord,
		kindFit, kindReviewDone, kindReviewAsked, kindForm:
		return true
	case kindCare:
		return !r.purpose(u.from)
	}
	return false
}

// purpose reports whether the word at token i only says what a move was for or when ("for lunch", "after her wash").
func (r *reader) purpose(i int) bool {
	for k := i - 1; k >= 0 && k >= i-3; k-- {
		switch r.word(k) {
		case "for", "to", "at", "after", "before", "from", "during", "of", "with", "until", "into", "in", "@", "following", "prior":
			return true
		case "her", "his", "the", "a", "their", "my", "am", "pm", "some", "all", "every", "both", "two", "three", "own", "each", "most":
			continue
		}
		return false
	}
	return false
}

// --- moves ---

// anchors finds the moves of a sentence in order and gives each its units.
func (r *reader) anchors(s *sentence) []anchor {
	list := r.list[:0]
	for i := s.lo; i < s.hi; i++ {
		u := &r.units[i]
		switch {
		case u.kind == kindOffFloor:
			list = append(list, anchor{at: i, concept: "fall.moved", hand: u.e.fields.hand})
		case u.kind != kindVerb || u.used:
		case (u.form == NounForm || u.form == Base) && r.word(u.from-1) == "for" && len(list) > 0 && !r.commaBetween(list[len(list)-1].at, i):
			u.used = true // "unable to stand for transfers"
		case r.swapped(i):
			u.used = true // "instead of a pivot"
		case u.e.name == "refuse":
			if a, ok := r.refusal(s, i); ok {
				list = append(list, a)
				i = a.extra[len(a.extra)-1]
			}
		case u.e.name == "use" || u.e.name == "repeat" || u.e.name == "bedrest":
		case u.e.fields.weak:
			if r.carriesMove(s, i) {
				list = append(list, anchor{at: i, concept: u.e.fields.concept})
			}
		default:
			if u.e.name == "lift" && u.form == Base && u.to-u.from == 1 && !r.verbal(u.from) {
				continue // "lift x2" is the machine
			}
			list = append(list, anchor{at: i, concept: u.e.fields.concept, method: u.e.fields.method, hand: u.e.fields.hand})
		}
	}
	list = r.addImplicit(s, list)
	list = r.mergeTransfers(s, list)
	for k := range list {
		a := &list[k]
		a.lo, a.hi = s.lo, s.hi
		if k > 0 {
			a.lo = list[k-1].hi
		}
		if k+1 < len(list) {
			a.hi = r.between(a.last(), list[k+1].at)
		}
	}
	r.list = list
	return list
}

func (a *anchor) last() int {
	if n := len(a.extra); n > 0 && a.extra[n-1] > a.at {
		return a.extra[n-1]
	}
	return a.at
}

// verbal reports whether a base form at token i is used as a verb.
func (r *reader) verbal(i int) bool {
	switch r.word(i - 1) {
	case "to", "we", "i", "not", "don't", "staff", "must", "can", "will", "didn't", "never", "cannot", "nurses", "carers", "should":
		return true
	}
	return false
}

// refusal reads "refused to stand", "declined to get up" and "walk refused".
func (r *reader) refusal(s *sentence, i int) (anchor, bool) {
	for k := i + 1; k < s.hi && k <= i+4; k++ {
		u := &r.units[k]
		if r.parts(k) > 0 || r.units[k].from-r.units[i].to > 5 {
			break
		}
		if u.kind == kindCare && !r.purpose(u.from) {
			break
		}
		if u.kind == kindVerb && u.e.name != "use" && u.e.name != "refuse" && (!u.e.fields.weak || u.form == Base && r.carriesMove(s, k)) {
			return anchor{at: i, concept: "move.refused", extra: []int{k}}, true
		}
	}
	if i > s.lo {
		u := &r.units[i-1]
		if u.kind == kindVerb && r.units[i].from-u.to <= 2 && (u.form == NounForm || u.form == Base) && u.e.name != "use" && u.e.name != "move" {
			u.used = true
			return anchor{at: i, concept: "move.refused", extra: []int{i}}, true
		}
	}
	return anchor{}, false
}

// carriesMove reports whether the everyday verb at unit i ("moved", "went", "got") tells a transfer:
// its clause has a lift, a board or a way of transferring, two places, or a seat or bed and help.
func (r *reader) carriesMove(s *sentence, i int) bool {
	var from, to, help, means bool
	for k := i + 1; k < s.hi; k++ {
		u := &r.units[k]
		if r.parts(k) == 2 || r.blocks(k) {
			break
		}
		switch u.kind {
		case kindVerb:
			if u.e.fields.method != "" {
				means = true
				continue
			}
			if !u.e.fields.weak || u.e.name == "use" && u.form != NoTense {
				if u.e.fields.concept == "move.transfer" || u.e.name == "use" || u.e.name == "move" {
					continue
				}
				goto done
			}
		case kindAid:
			switch {
			case isLift(u.e.name) || u.e.name == "board":
				means = true
			case u.e.name == "wheelchair":
				f, t := r.placeUse(k, true)
				from, to = from || f, to || t
			case u.e.name == "belt" || u.e.name == "disc" || u.e.name == "sling" || u.e.name == "slide-sheet":
				help = true
			}
		case kindPlace:
			if u.e.fields.place == "floor" {
				continue
			}
			f, t := r.placeUse(k, true)
			from, to = from || f, to || t
		case kindStaff, kindLevel, kindVague:
			help = true
		}
	}
done:
	if !help {
		for k := i - 1; k >= s.lo && r.parts(k) < 2 && !r.blocks(k); k-- {
			if r.units[k].kind == kindStaff {
				help = true
			}
		}
	}
	return means || from && to || to && help || from && help
}

func isLift(aid string) bool { return aid == "sit-stand-lift" || aid == "total-lift" || aid == "lift" }

// placeUse reports whether the place at unit k is left or reached. Loose takes "in" and "on" as reaching.
func (r *reader) placeUse(k int, loose bool) (from, to bool) {
	u := &r.units[k]
	if p := r.before(k); p != nil {
		if p.kind == kindExcept && u.from-p.to <= 2 {
			return false, true
		}
		near := u.from-p.to <= 3 && r.onlyArticles(p.to, u.from)
		switch {
		case near && p.kind == kindFrom:
			return true, false
		case near && (p.kind == kindTo || p.kind == kindVerb && p.e.fields.weak && r.endsTo(p)):
			if w := r.word(p.to - 1); w == "in" || w == "on" || w == "in the" {
				return false, loose
			}
			return false, true
		}
		if near && p.kind == kindVerb && r.endsTo(p) {
			return false, true
		}
	}
	if k+1 < len(r.units) {
		n := &r.units[k+1]
		if n.from == u.to && n.kind == kindTo && k+2 < len(r.units) && r.isPlace(k+2) && r.units[k+2].from-n.to <= 2 {
			return true, false
		}
		// "bed-chair" with the hyphen gone
		if n.from == u.to && r.isPlace(k+1) && r.toks[n.from].Start-r.toks[u.to-1].End == 1 && r.text[r.toks[u.to-1].End] == '-' {
			return true, false
		}
	}
	if k > 0 && r.isPlace(k-1) && r.units[k-1].to == u.from && r.text[r.toks[u.from-1].End] == '-' {
		return false, true
	}
	return false, false
}

// before is the unit before unit k, leaving out words that only own it ("to her bed"), nil for none.
func (r *reader) before(k int) *unit {
	for j := k - 1; j >= 0; j-- {
		if p := &r.units[j]; p.kind != kindSubject || !r.onlyArticles(p.from, p.to) {
			return p
		}
	}
	return nil
}

// endsTo reports whether the verb's wording itself ends in a word of direction ("up to", "back into").
func (r *reader) endsTo(u *unit) bool {
	switch r.word(u.to - 1) {
	case "to", "into", "onto", "in":
		return true
	}
	return false
}

// onlyArticles reports whether the tokens from i to j say nothing of their own.
func (r *reader) onlyArticles(i, j int) bool {
	for ; i < j; i++ {
		switch r.word(i) {
		case "bariatric", "the", "a", "an", "her", "his", "their", "own", "my", "to", "on", "that", "this", "back", "tilt", "big", "dining", "lounge", "blue", "new", "high", "side", "of", "recliner", "shared", "main", "nearest", "same", "front":
			continue
		}
		return false
	}
	return true
}

func (r *reader) isPlace(k int) bool {
	u := &r.units[k]
	return u.kind == kindPlace || u.kind == kindAid && (u.e.name == "wheelchair" || u.e.name == "wheelchair-power")
}

// addImplicit adds the moves that have no verb: "bed to commode x1", "stand aid chair to toilet", "used the lift".
func (r *reader) addImplicit(s *sentence, list []anchor) []anchor {
	for i := s.lo; i < s.hi; i++ {
		u := &r.units[i]
		if u.used {
			continue
		}
		pair := r.isPlace(i) && i+2 < s.hi && r.units[i+1].kind == kindTo && r.isPlace(i+2) && r.units[i+1].from == u.to &&
			r.units[i+2].from-r.units[i+1].to <= 2 && r.word(r.units[i+1].from) != "in" && r.word(r.units[i+1].from) != "on" &&
			!r.isFloor(i) && !r.isFloor(i+2)
		if !pair && r.isPlace(i) && i+1 < s.hi && r.isPlace(i+1) && !r.isFloor(i) && !r.isFloor(i+1) {
			f, _ := r.placeUse(i, false)
			pair = f // "bed-chair"
		}
		if !pair && u.kind == kindTo && (r.startsSegment(s, i) || r.helpersLead(s, i)) && i+1 < s.hi && r.isPlace(i+1) && !r.isFloor(i+1) && r.helpersIn(s, i+1) {
			pair = true // "back to bed x2"
		}
		if !pair && r.isPlace(i) && i > s.lo && r.units[i-1].kind == kindExcept && u.from-r.units[i-1].to <= 2 && r.helpersIn(s, i) {
			pair = true // "all transfers x1 except shower x2"
		}
		var method string
		if u.kind == kindVerb && u.e.name == "use" && r.word(u.to) == "it" {
			if method = r.lastLift(i); method == "" {
				continue
			}
			pair = true // "brought the hoist in and used it x2"
		}
		lift := u.kind == kindAid && isLift(u.e.name) && r.liftUsed(s, i)
		board := u.kind == kindAid && u.e.name == "board" && r.helpBeside(s, i)
		if !pair && !lift && !board {
			continue
		}
		lo, hi := r.chunk(s, i)
		taken := false
		for _, a := range list {
			if a.at < lo || a.at >= hi || a.concept == "move.refused" {
				continue
			}
			switch a.concept {
			case "move.transfer", "move.lift", "move.up", "fall.moved", "move.wheel", "move.sit-up":
				taken = taken || !r.blocked(a.at, i) && !(pair && r.pairBetween(a.at, i))
			case "move.reposition":
				taken = taken || !r.commaBetween(a.at, i)
			case "move.walk":
				if h := &r.units[a.at]; h.form == NounForm && r.nextIsColon(a.at) && !pair {
					continue // "Mobility: stand lift x2"
				}
				taken = taken || a.at < i && !r.commaBetween(a.at, i)
			default:
				// a walk or stand owns the pair that follows it directly, and a lift it was done with
				taken = taken || a.at < i && !r.commaBetween(a.at, i)
			}
		}
		if !taken {
			a := anchor{at: i, concept: "move.transfer", method: method, implicit: true}
			at := 0
			for at < len(list) && list[at].at < i {
				at++
			}
			list = slices.Insert(list, at, a)
		}
	}
	return list
}

// lastLift is the lift named last before unit i, "" for none.
func (r *reader) lastLift(i int) string {
	for k := i - 1; k >= 0; k-- {
		if u := &r.units[k]; u.kind == kindAid && isLift(u.e.name) {
			return u.e.name
		}
	}
	return ""
}

// lastAid is the walking aid named last before unit i, "" for none.
func (r *reader) lastAid(i int) string {
	for k := i - 1; k >= 0; k-- {
		if u := &r.units[k]; u.kind == kindAid && isWalkingAid(u.e.name) {
			return u.e.name
		}
	}
	return ""
}

// pairBetween reports whether two places of a move stand between units i and j, with a comma or "and" behind them.
func (r *reader) pairBetween(i, j int) bool {
	for k := i + 1; k+2 < j; k++ {
		if r.isPlace(k) && r.units[k+1].kind == kindTo && r.isPlace(k+2) && r.commaBetween(k+2, j) {
			return true
		}
	}
	return false
}

func (r *reader) isFloor(k int) bool {
	return r.units[k].kind == kindPlace && r.units[k].e.fields.place == "floor"
}

// helpersLead reports whether only helpers stand before unit i in its sentence: "Ax1 to toilet".
func (r *reader) helpersLead(s *sentence, i int) bool {
	if i == s.lo || r.units[i].from-r.units[i-1].to > 0 {
		return false
	}
	for k := s.lo; k < i; k++ {
		if n := &r.units[k]; n.kind != kindStaff && n.kind != kindLevel && n.kind != kindClock {
			return false
		}
		if k == s.lo && r.units[k].from > 0 && r.toks[r.units[k].from-1].Kind == token.Word {
			return false
		}
	}
	return true
}

// startsSegment reports whether unit i opens its segment.
func (r *reader) startsSegment(s *sentence, i int) bool {
	for i > s.lo && r.units[i-1].kind == kindClock && r.units[i-1].to == r.units[i].from {
		i--
	}
	if i == s.lo {
		at := r.units[i].from
		return at == 0 || r.toks[at-1].Kind != token.Word
	}
	return r.parts(i-1) > 0 && r.units[i-1].to == r.units[i].from
}

func (r *reader) blocked(i, j int) bool {
	if i > j {
		i, j = j, i
	}
	for k := i + 1; k < j; k++ {
		if r.blocks(k) {
			return true
		}
	}
	return false
}

func (r *reader) commaBetween(i, j int) bool {
	if i > j {
		i, j = j, i
	}
	for k := i + 1; k < j; k++ {
		if r.parts(k) > 0 {
			return true
		}
	}
	return false
}

// liftUsed reports whether the lift at unit i is the means of a move and not merely spoken of.
func (r *reader) liftUsed(s *sentence, i int) bool {
	u := &r.units[i]
	if r.isStored(s, i) {
		return false
	}
	if i > s.lo {
		p := &r.units[i-1]
		if p.kind == kindVerb && p.e.name == "use" && r.onlyArticles(p.to, u.from) {
			return true
		}
	}
	return r.helpBeside(s, i)
}

// helpBeside reports whether helpers, a place reached or the word "used" stand in the segment of unit i.
func (r *reader) helpBeside(s *sentence, i int) bool {
	if r.isStored(s, i) {
		return false
	}
	lo, hi := r.segment(s, i)
	for k := lo; k < hi; k++ {
		n := &r.units[k]
		if n.kind == kindStaff || n.kind == kindVerb && n.e.name == "use" {
			return true
		}
		if r.isPlace(k) {
			if f, t := r.placeUse(k, false); f || t {
				return true
			}
		}
	}
	return false
}

// helpersIn reports whether helpers or a level of assistance stand in the segment of unit i.
func (r *reader) helpersIn(s *sentence, i int) bool {
	lo, hi := r.segment(s, i)
	for k := lo; k < hi; k++ {
		if n := &r.units[k]; n.kind == kindStaff || n.kind == kindLevel || n.kind == kindVague {
			return true
		}
	}
	return false
}

// isStored reports whether the aid at unit i is told to be kept, brought, cleaned or at fault.
func (r *reader) isStored(s *sentence, i int) bool {
	u := &r.units[i]
	for k := i + 1; k < s.hi && k <= i+3; k++ {
		n := &r.units[k]
		if n.from-u.to > 4 || r.parts(k) > 0 {
			break
		}
		if n.kind == kindStore || n.kind == kindFaultWord {
			return true
		}
		if n.kind == kindIgnore && strings.Contains(r.text[r.toks[n.from].Start:r.toks[n.to-1].End], "charge") {
			return true
		}
	}
	if i > s.lo {
		p := &r.units[i-1]
		if p.kind == kindStore && u.from-p.to <= 2 {
			return true
		}
	}
	return false
}

// mergeTransfers joins anchors that tell one transfer: "Tfr bed → w/c SPT", "Transfers: pivot x1", "moved her with a pivot".
func (r *reader) mergeTransfers(s *sentence, list []anchor) []anchor {
	out := list[:0] // never longer than what is read
	for _, b := range list {
		if len(out) > 0 {
			a := &out[len(out)-1]
			if r.oneMove(s, a, b) {
				if a.method == "" || a.method == "lift" && b.method != "" {
					a.method = b.method
				}
				a.hand = a.hand || b.hand
				if a.concept == "move.up" || a.concept == "move.walk" && b.concept == "move.transfer" {
					a.concept = b.concept
				}
				a.extra = append(append(a.extra, b.at), b.extra...)
				continue
			}
		}
		out = append(out, b)
	}
	return out
}

func (r *reader) oneMove(s *sentence, a *anchor, b anchor) bool {
	ua, ub := &r.units[a.at], &r.units[b.at]
	if r.blocked(a.last(), b.at) {
		return false
	}
	strongest := 0
	for k := a.last() + 1; k < b.at; k++ {
		strongest = max(strongest, r.parts(k))
	}
	if strongest == 2 {
		return false
	}
	transferLike := func(x *anchor) bool { return x.concept == "move.transfer" }
	switch {
	case transferLike(a) && transferLike(&b):
		if strongest == 0 {
			// two finite verbs with places of their own stay two moves
			return !(ua.kind == kindVerb && ub.kind == kindVerb && ua.form == Past && ub.form == Past && !ua.e.fields.weak && ub.e.fields.method == "")
		}
		// ", pivot" after a transfer only adds the way; so does a pair of places
		only := ub.kind == kindVerb && ub.e.fields.method != "" && ub.form != Past || ua.kind == kindVerb && ua.e.fields.method != "" && ua.form != Past && b.implicit
		return only && !r.ownPlaces(s, b.at)
	case a.concept == "move.walk" && ua.form == NounForm && r.nextIsColon(a.at):
		// "Mobility: transfers x2" tells the transfer
		return transferLike(&b) && strongest == 0 && b.at == a.at+2
	case a.concept == "move.stand" && b.concept == "move.transfer" && ub.kind == kindVerb && ub.e.fields.method == "pivot":
		return strongest == 0 && ub.from-ua.to <= 2
	case a.concept == "move.up" && (b.concept == "move.up" || transferLike(&b) && b.implicit):
		return strongest == 0
	case a.concept == "move.lift" && (b.concept == "move.lift" || transferLike(&b) && (b.implicit || ub.e.fields.weak)):
		return strongest == 0
	case (a.concept == "move.lift" || transferLike(a)) && b.concept == "move.up":
		return strongest == 0 && ub.from-ua.to <= 2 // "lifted out of bed"
	case a.concept == "move.lift" && ub.kind == kindVerb && ub.e.fields.method == "pivot" && ub.form != Past:
		return strongest == 0
	case a.concept == "move.reposition" && b.concept == "move.reposition":
		return strongest == 0 && ub.from-ua.to <= 2 || strongest == 1 && ub.from-ua.to <= 1
	case a.concept == "fall.moved" && (b.concept == "fall.moved" || transferLike(&b) && b.implicit || b.concept == "move.up"):
		return true
	case a.concept == "move.walk" && b.concept == "move.walk":
		return strongest == 0 && (ua.form == NounForm || ub.form == NounForm || ub.from-ua.to <= 1)
	case a.concept == "move.wheel" && b.concept == "move.wheel":
		return strongest == 0
	case a.concept == "move.stand" && b.concept == "move.stand":
		return strongest == 0 && ub.from-ua.to <= 2
	}
	return false
}

// ownPlaces reports whether the segment of unit i names a place left or reached.
func (r *reader) ownPlaces(s *sentence, i int) bool {
	lo, hi := r.segment(s, i)
	for k := lo; k < hi; k++ {
		if r.isPlace(k) {
			if f, t := r.placeUse(k, false); f || t {
				return true
			}
		}
	}
	return false
}

// between finds where the units of one move end and those of the next begin.
func (r *reader) between(a, b int) int {
	best, strength := -1, 0
	for k := a + 1; k < b; k++ {
		if p := r.parts(k); p > 0 && p >= strength {
			best, strength = k, p
		}
	}
	if strength == 2 {
		return best
	}
	// a subject or a time of day opens the next clause in run-on text
	opener := -1
	for k := b - 1; k > a; k-- {
		if u := &r.units[k]; u.kind == kindSubject && !r.possessive(k) && !r.objectOf(k) || u.kind == kindClock && strings.HasPrefix(r.word(u.from), "at") {
			opener = k
			break
		}
	}
	if best >= 0 && (opener < 0 || opener > best) {
		return best
	}
	if opener > best {
		return opener
	}
	if best >= 0 {
		return best
	}
	// care told between two moves ends the first
	for k := a + 1; k < b; k++ {
		if r.blocks(k) {
			return k
		}
	}
	return b
}

// objectOf reports whether the pronoun at unit k is an object ("walked her"), which opens nothing.
func (r *reader) objectOf(k int) bool {
	switch r.word(r.units[k].from) {
	case "her", "him", "them", "me", "us", "it", "resident", "res", "self", "you", "someone":
		return true
	}
	return false
}

// move builds the statement of an anchor from the units of its clause.
func (r *reader) move(s *sentence, a anchor) {
	u := &r.units[a.at]
	// both are kept in the reader, for they are many and pointed to
	r.building = r.begin(a.concept)
	st := &r.building
	st.Method = a.method
	r.moving = mover{r: r, s: s, a: &a, st: st, from: u.from, to: u.to, took: r.moving.took[:0]}
	m := &r.moving
	st.Detail.ByHand = a.hand
	if u.kind == kindVerb {
		st.Detail.Tense = u.form
		if a.concept == "move.sit-up" && u.e.fields.to != "" {
			st.To = u.e.fields.to
		}
	}
	st.Detail.Head = r.span(u.from, u.to)
	if a.implicit {
		st.Detail.Head = Span{}
	}
	for _, k := range a.extra {
		m.cover(&r.units[k])
	}
	m.wheelWords(u)
	if a.implicit {
		m.take(a.at, false)
	}
	m.right()
	m.left()
	if st.Detail.Head.IsZero() {
		st.Detail.Head = r.span(m.from, m.to)
	}
	m.settleMethod()
	if !m.worth() {
		for _, k := range m.took {
			r.units[k].used = false
		}
		return
	}
	if _, ok := st.Staff.Get(); ok || st.Assist != "" && st.Assist != "independent" {
		st.Detail.Vague = Span{}
	}
	r.scope(s, a.at, st)
	if m.gone {
		st.Polarity = Negated
	}
	if a.concept == "move.refused" {
		st.Polarity = Affirmed
		st.Staff, st.Aids, st.Method, st.Assist, st.From, st.To = Optional[int]{}, nil, "", "", "", ""
	}
	r.add(*st, m.from, m.to)
}

// mover collects the attributes of one move.
type mover struct {
	r        *reader
	s        *sentence
	a        *anchor
	st       *Statement
	from, to int // tokens covered
	took     []int
	floor    bool // off the floor
	gone     bool // a negation after the move ("left out")
}

func (m *mover) cover(u *unit) {
	m.from, m.to = min(m.from, u.from), max(m.to, u.to)
}

func (m *mover) isExtra(k int) bool {
	for _, x := range m.a.extra {
		if x == k {
			return true
		}
	}
	return k == m.a.at
}

func (m *mover) right() {
	r := m.r
	comma := false
	for k := m.a.at + 1; k < m.a.hi; k++ {
		if m.isExtra(k) {
			m.cover(&r.units[k])
			continue
		}
		switch r.parts(k) {
		case 2:
			return
		case 1:
			comma = comma || r.units[k].kind != kindAnd
			continue
		}
		if r.blocks(k) {
			return
		}
		u := &r.units[k]
		if comma0 := k > m.a.at+1 && r.parts(k-1) > 0 || k > m.a.at+2 && r.parts(k-2) > 0 && r.units[k-1].kind == kindSubject; comma0 && u.kind == kindPerson && (u.e.name == "family" || u.e.name == "other") && r.subjectPerson(m.s, k) {
			return // ", and her sister …" speaks of somebody else
		}
		if u.kind == kindPast && (r.units[k-1].kind == kindSubject || r.units[k-1].kind == kindIgnore) {
			return // "… he tells me last night …"
		}
		if comma && (u.kind == kindPlanned || u.kind == kindIf) {
			return
		}
		if u.kind == kindNegPost && !comma {
			m.gone = true
			continue
		}
		if u.kind == kindAid && comma && r.isStored(m.s, k) {
			return
		}
		if u.kind == kindSubject && r.word(u.from) == "it" {
			switch r.word(u.from - 1) {
			case "without", "w/o":
				if len(m.st.Aids) == 0 && r.lastAid(k) != "" {
					m.st.Aids = []string{"none"}
					m.took = append(m.took, k)
					m.cover(u)
				}
			case "with", "using", "on", "w/":
				if aid := r.lastAid(k); aid != "" && len(m.st.Aids) == 0 && m.a.concept != "move.transfer" {
					m.st.Aids = []string{aid}
					m.took = append(m.took, k)
					m.cover(u)
				}
			}
		}
		m.take(k, true)
	}
}

func (m *mover) left() {
	r := m.r
	for k := m.a.at - 1; k >= m.a.lo; k-- {
		if m.isExtra(k) {
			continue
		}
		if r.parts(k) == 2 || r.blocks(k) {
			return
		}
		u := &r.units[k]
		if u.sign == ',' || u.sign == '-' || u.kind == kindAnd && r.verbBefore(m.a.lo, k) {
			// only bare attributes lead across a comma: "Two staff, belt, side by side …"
			if !m.bareBefore(k) {
				return
			}
			continue
		}
		switch u.kind {
		case kindNegPre, kindPlanned, kindPerson:
			continue
		case kindAid:
			if r.isStored(m.s, k) {
				return
			}
		case kindDistance:
			continue
		}
		m.take(k, false)
	}
}

// verbBefore reports whether a verb stands between units lo and k.
func (r *reader) verbBefore(lo, k int) bool {
	for j := lo; j < k; j++ {
		if r.units[j].kind == kindVerb {
			return true
		}
	}
	return false
}

// bareBefore reports whether only attributes stand before unit k in the sentence.
func (m *mover) bareBefore(k int) bool {
	for j := m.a.lo; j < k; j++ {
		switch u := &m.r.units[j]; u.kind {
		case kindStaff, kindAid, kindLevel, kindVague, kindClock, kindSubject, kindAnd, kindCare, kindTo, kindFrom, kindPlace:
			if u.kind == kindCare && !m.r.purpose(u.from) {
				return false
			}
		case kindNone:
		default:
			return false
		}
	}
	return true
}

// take gives unit k to the move if it is an attribute of one.
func (m *mover) take(k int, after bool) {
	r, st := m.r, m.st
	u := &r.units[k]
	if u.used || u.e == nil {
		return
	}
	got := false
	field := ""
	switch u.kind {
	case kindStaff:
		if _, has := st.Staff.Get(); has {
			return
		}
		if r.swapped(k) {
			u.used = true
			return
		}
		if u.e.name == "x" && ((m.a.concept == "move.stairs" || m.a.concept == "move.stand" || st.Assist == "supervision" || st.Assist == "standby") && r.count(*u) > 2) {
			return
		}
		n := r.count(*u)
		if n < 0 || n > 8 {
			return
		}
		st.Staff, got, field = Some(n), true, "staff"
	case kindLevel:
		if st.Assist == "" {
			st.Assist, got, field = u.e.fields.assist, true, "assist"
		}
	case kindVague:
		if st.Detail.Vague.IsZero() {
			st.Detail.Vague, got, field = r.span(u.from, u.to), true, "vague"
		}
	case kindClock:
		if c := r.clockOf(*u); c != "" && st.Clock == "" {
			st.Clock, got, field = c, true, "clock"
		}
	case kindDistance:
		if d, ok := r.metres(u); ok && (m.a.concept == "move.walk" || m.a.concept == "move.wheel") && st.DistanceM.IsZero() {
			st.DistanceM, got, field = Some(d), true, "distance_m"
		}
	case kindPlace:
		got, field = m.place(k, u.e.fields.place)
	case kindAid:
		got, field = m.aid(k)
	case kindVerb:
		if u.e.fields.method != "" && st.Method == "" && m.a.concept == "move.transfer" {
			st.Method, got, field = u.e.fields.method, true, "method"
		}
	}
	if got {
		u.used = true
		m.took = append(m.took, k)
		m.cover(u)
		st.Detail.Terms = append(st.Detail.Terms, Mark{Field: field, Span: r.span(u.from, u.to), Term: u.e.ID})
		// the preposition before a place and the verb "used" before a lift belong to the words
		if k > 0 {
			p := &r.units[k-1]
			if (field == "from" || field == "to") && (p.kind == kindFrom || p.kind == kindTo) && u.from-p.to <= 2 || field == "method" && p.kind == kindVerb && p.e.name == "use" {
				m.cover(p)
			}
		}
	}
}

func (m *mover) place(k int, place string) (bool, string) {
	if place == "floor" {
		if from, _ := m.r.placeUse(k, false); from && (m.a.concept == "move.lift" || m.a.concept == "move.transfer") {
			m.floor = true
		}
		return false, ""
	}
	loose := m.a.concept == "move.up" || m.a.concept == "move.transfer" || m.a.concept == "move.lift" || m.a.concept == "fall.moved"
	from, to := m.r.placeUse(k, loose)
	switch m.a.concept {
	case "move.reposition", "move.wheel", "move.stairs", "move.refused", "move.sit-up":
		return false, ""
	case "move.stand":
		to = false
	case "fall.moved":
		from = false
	}
	switch {
	case from && m.st.From == "":
		m.st.From = place
		return true, "from"
	case to && m.st.To == "":
		m.st.To = place
		return true, "to"
	}
	return false, ""
}

func (m *mover) aid(k int) (bool, string) {
	r, st := m.r, m.st
	u := &r.units[k]
	name := u.e.name
	if name == "hearing" {
		return false, ""
	}
	if name == "wheelchair" || name == "wheelchair-power" {
		if ok, field := m.place(k, "wheelchair"); ok {
			return ok, field
		}
		switch m.a.concept {
		case "move.walk", "move.stand", "move.stairs", "move.reposition", "move.transfer", "move.lift", "fall.moved", "move.sit-up", "move.up":
			return false, ""
		}
	}
	without := r.without(k)
	if without && r.swapped(k) {
		u.used = true
		return false, ""
	}
	switch {
	case isLift(name):
		if without {
			return false, ""
		}
		switch m.a.concept {
		case "move.transfer", "move.lift", "move.up", "fall.moved":
			if st.Method == "" || st.Method == "lift" {
				st.Method = name
				return true, "method"
			}
		}
		return false, ""
	case name == "board" && (m.a.concept == "move.transfer" || m.a.concept == "move.lift"):
		if without {
			return false, ""
		}
		if st.Method == "" {
			st.Method = "board"
		}
		return st.Method == "board", "method"
	case name == "none":
		st.Aids = appendNew(st.Aids, "none")
		return true, "aids"
	}
	if without {
		if isWalkingAid(name) {
			st.Aids = appendNew(st.Aids, "none")
			if k > 0 {
				m.cover(&r.units[k-1])
			}
			return true, "aids"
		}
		u.used = true
		return false, ""
	}
	st.Aids = appendNew(st.Aids, name)
	return true, "aids"
}

// without reports whether the aid at unit k is said to be left out.
func (r *reader) without(k int) bool {
	p := r.before(k)
	return p != nil && p.kind == kindNegPre && r.units[k].from-p.to <= 3 && r.onlyArticles(p.to, r.units[k].from)
}

// swapped reports whether unit k is what something else was done instead of.
func (r *reader) swapped(k int) bool {
	p := r.before(k)
	if p == nil || p.kind != kindNegPre || r.units[k].from-p.to > 2 {
		return false
	}
	switch r.word(p.from) {
	case "instead", "rather":
		return true
	}
	return false
}

func isWalkingAid(aid string) bool {
	return strings.HasPrefix(aid, "cane") || strings.HasPrefix(aid, "crutch") || strings.HasPrefix(aid, "walker")
}

func appendNew(list []string, s string) []string {
	for _, x := range list {
		if x == s {
			return list
		}
	}
	return append(list, s)
}

// wheelWords reads the chair named inside the verb's own words ("self-propels w/c").
func (m *mover) wheelWords(u *unit) {
	if m.a.concept != "move.wheel" {
		return
	}
	for k := u.from; k < u.to; k++ {
		switch m.r.word(k) {
		case "self":
			m.st.Staff = Some(0)
		case "w/c", "wheelchair":
			m.st.Aids = appendNew(m.st.Aids, "wheelchair")
		case "power", "electric", "powered":
			m.st.Aids = []string{"wheelchair-power"}
			return
		}
	}
}

func (m *mover) settleMethod() {
	st := m.st
	if st.Assist == "independent" && m.timesOnly() {
		st.Staff = Optional[int]{} // "round the unit x2 independently"
	}
	if m.floor {
		st.Concept, st.From = "fall.moved", ""
		return
	}
	switch {
	case st.Concept == "move.up" && isLift(st.Method):
		st.Concept = "move.transfer" // got up with a lift
	case st.Concept == "move.up" && st.To != "" && st.To != "bed" && strings.HasSuffix(m.r.lower(&m.r.units[m.a.at]), "out of bed"):
		st.Concept, st.From = "move.transfer", "bed" // "got him out of bed into the recliner"
	case st.Concept == "move.lift" && m.a.hand:
		if isLift(st.Method) {
			st.Detail.ByHand = false
		} else {
			st.Method = ""
		}
	}
	if st.Concept == "move.lift" && !isLift(st.Method) {
		st.Detail.ByHand = true
	}
	if st.Concept == "move.lift" && st.Method == "lift" && st.HasAid("sling") {
		if t := m.r.text[st.Detail.Head.Start:st.Detail.Head.End]; len(t) > 0 && m.fullSling() {
			st.Method = "total-lift"
		}
	}
}

// timesOnly reports whether the number of helpers was read from a bare "x2".
func (m *mover) timesOnly() bool {
	for _, t := range m.st.Detail.Terms {
		if t.Field == "staff" {
			return t.Term == "staff.x"
		}
	}
	return false
}

// fullSling reports whether the sling named is one for the whole body, which only a total lift takes.
func (m *mover) fullSling() bool {
	for k := m.from; k < m.to; k++ {
		if m.r.word(k) == "full" || m.r.word(k) == "universal" {
			return true
		}
	}
	return false
}

// worth reports whether the words amount to a move: a bare noun such as "gait" or "mobility" needs something said of it.
func (m *mover) worth() bool {
	u := &m.r.units[m.a.at]
	if u.kind != kindVerb {
		return true
	}
	said := len(m.took) > 0
	if !said && u.form == Past && (m.a.concept == "move.transfer" || m.a.concept == "move.lift") && len(m.a.extra) == 0 && m.r.movesThing(u.to) {
		return false // "transferred her files", "lifted fluid restriction"
	}
	if !said && u.form == NounForm && m.a.concept == "move.walk" {
		for k := m.a.lo; k < m.a.hi; k++ {
			switch n := &m.r.units[k]; n.kind {
			case kindNegPre:
				if k < m.a.at && u.from-n.to <= 2 {
					return true
				}
			case kindNegPost:
				if k > m.a.at {
					return true
				}
			}
		}
		return false
	}
	return true
}

// movesThing reports whether the words from token i name a thing as the object, not a person.
func (r *reader) movesThing(i int) bool {
	if i >= len(r.toks) || r.toks[i].Kind != token.Word {
		return false
	}
	switch r.word(i) {
	case "her", "his", "the", "my", "their":
		i++
		if i >= len(r.toks) || r.toks[i].Kind != token.Word || r.toks[i].Start == 0 {
			return false
		}
	}
	return r.in[i].Word == 0
}

// metres converts a length in feet, yards or metres.
func (r *reader) metres(u *unit) (float64, bool) {
	n := -1.0
	for k := u.from; k < u.to; k++ {
		if r.toks[k].IsNum {
			n = r.toks[k].Num
		}
	}
	if n < 0 {
		return 0, false
	}
	const foot = 0.3048 // metres, exact since the international yard and pound agreement of 1959
	switch u.e.name {
	case "m":
		return n, true
	case "ft":
		return n * foot, true
	case "yd":
		return n * 3 * foot, true
	}
	return 0, false
}

// clockOf reads a time of day as HH:MM; "" for a number that is none.
func (r *reader) clockOf(u unit) string {
	var nums []int
	bare, suffix := u.to-u.from == 1, ""
	digits := 0
	for k := u.from; k < u.to; k++ {
		t := &r.toks[k]
		if t.Kind == token.Number {
			if strings.Contains(t.Word, ".") || strings.Contains(t.Word, ",") {
				h, mm, ok := strings.Cut(t.Word, ".")
				if !ok || len(mm) != 2 {
					return ""
				}
				a, _ := strconv.Atoi(h)
				b, _ := strconv.Atoi(mm)
				nums = append(nums, a, b)
				continue
			}
			n, err := strconv.Atoi(t.Word)
			if err != nil {
				return ""
			}
			nums, digits = append(nums, n), len(t.Word)
			continue
		}
		switch t.Word {
		case "am", "pm", "a", "p":
			suffix = t.Word[:1]
		}
	}
	var h, min int
	switch {
	case len(nums) == 1 && digits == 4:
		h, min = nums[0]/100, nums[0]%100
		if bare && !r.bareClock(u) {
			return ""
		}
	case len(nums) == 1 && suffix != "":
		h = nums[0]
	case len(nums) == 2:
		h, min = nums[0], nums[1]
	default:
		return ""
	}
	if len(nums) == 2 && digits == 1 {
		return "" // "2:1" counts helpers
	}
	if suffix == "p" && h < 12 {
		h += 12
	}
	if suffix == "a" && h == 12 {
		h = 0
	}
	if h > 23 || min > 59 {
		return ""
	}
	return pad(h) + ":" + pad(min)
}

func pad(n int) string {
	if n < 10 {
		return "0" + strconv.Itoa(n)
	}
	return strconv.Itoa(n)
}

// bareClock reports whether four digits on their own may be a time: no unit after, no "in" before.
func (r *reader) bareClock(u unit) bool {
	switch r.word(u.to) {
	case "ml", "mls", "cc", "steps", "kcal", "mg", "g", "m", "ft", "%", "units", "/":
		return false
	}
	switch r.word(u.from - 1) {
	case "in", "since", "of", "year", "/", "born":
		return false
	}
	return true
}
