package lexicon

import (
	"slices"
	"sort"
	"strings"

	"example.com/stance/lexicon/internal/token"
)

// movedBy gives moves the helpers who are no staff: students, relatives, volunteers, other residents; and a
// wheelchair driven by who sits in it no helper at all.
func (r *reader) movedBy() {
	for n := range r.out.Statements {
		if st := &r.out.Statements[n]; st.Concept == "move.wheel" && st.Staff.IsZero() {
			r.wheelsSelf(st)
		}
	}
	if !r.noteNames(studentWord) && !r.noteNames(kin) && !r.noteNames(youngWord) && !r.noteNames(volunteerWord) && !r.noteNames(tablemate) && !r.noteNames(otherOf) && !r.noteNames(title) {
		return
	}
	for n := range r.out.Statements {
		if st := &r.out.Statements[n]; mayBeHelped(st) {
			r.helpedBy(st)
		}
	}
}

// wheelsSelf reads that whoever sits in the wheelchair drives it.
func (r *reader) wheelsSelf(st *Statement) {
	head, end := r.tokensOf(st)
	if !r.anyBetween(head, end, self) || r.word(head) == "by" {
		return
	}
	st.Staff = Some(0)
	for i := head; i < end+5 && i < len(r.toks) && r.word(i) != "."; i++ {
		if r.is(i, wheelchairWord) && !st.HasAid("wheelchair") {
			st.Aids = append(st.Aids, "wheelchair")
		}
	}
}

// mayBeHelped reports whether helpers are looked for beside the statement: those named together with staff are read
// with the move.
func mayBeHelped(st *Statement) bool {
	return (st.Group() == "move" || st.Concept == "fall.moved") && st.Concept != "move.refused" && st.Mood != Order && len(st.Helpers) == 0
}

// helpedBy gives the move the helpers named before and behind it.
func (r *reader) helpedBy(st *Statement) {
	h := helping{from: len(r.toks), to: 0}
	lo, hi := r.tokensOf(st)
	if !r.is(lo-1, beWord) || r.anyBetween(hi, hi+2, object) { // "her brothers were lifted" names who was
		r.helpersBefore(lo, &h)
	}
	if len(h.who) > 0 && !r.movesOther(st, &h, max(hi, lo+3)) {
		return // "her son walked the hall"
	}
	r.helpersWithin(st, lo, hi, &h)
	if len(h.who) > 0 {
		r.give(st, &h)
	}
}

// helping is who helped with a move, and the tokens that say so.
type helping struct {
	who      []string
	students int
	staff    int
	from, to int
}

func (h *helping) add(who string, at int) {
	if !slices.Contains(h.who, who) {
		h.who = append(h.who, who)
	}
	h.from, h.to = min(h.from, at), max(h.to, at+1)
}

// tokensOf are the tokens of a statement's head and the end of its span.
func (r *reader) tokensOf(st *Statement) (head, end int) {
	at := st.Detail.Head.Start
	if st.Detail.Head.IsZero() {
		at = st.Span.Start
	}
	head = sort.Search(len(r.toks), func(i int) bool { return r.toks[i].Start >= at })
	end = sort.Search(len(r.toks), func(i int) bool { return r.toks[i].Start >= st.Span.End })
	if head == len(r.toks) {
		head = 0
	}
	return head, end
}

// nonStaff is the sort of helper that token i names, "" for none.
func (r *reader) nonStaff(i int) string {
	switch {
	case r.is(i, studentWord):
		return "student"
	case r.is(i, volunteerWord):
		return "volunteer"
	case r.sisterByTitle(i):
	case r.is(i, kin), r.theirChild(i):
		return "family"
	case r.is(i, tablemate), r.is(i, title) && r.fromRoom(i), (r.is(i, residentNoun) || r.word(i) == "residents") && r.is(i-1, otherOf), r.word(i) == "mate" && (r.word(i-1) == "room" || r.word(i-1) == "table"):
		return "other-resident"
	}
	return ""
}

// fromRoom reports whether the name behind the title at token i is told to be from another room: "Mr Doyle from room 2".
func (r *reader) fromRoom(i int) bool {
	for k := i + 1; k < i+4 && k+1 < len(r.toks); k++ {
		if r.word(k) == "from" || r.word(k) == "in" {
			return r.word(k+1) == "room" || r.word(k+1) == "rm" || r.word(k+1) == "bed" || r.word(k+1) == "number"
		}
	}
	return false
}

// helpersBefore finds helpers who are the subject of the verb at token head.
func (r *reader) helpersBefore(head int, h *helping) {
	for i := head - 1; i >= 0 && i >= head-12; i-- {
		who := r.nonStaff(i)
		switch {
		case who != "":
			if r.onlyNamed(i) {
				return
			}
			h.add(who, i)
			r.countHelper(i, who, h)
		case r.word(i) == "they" || r.word(i) == "they'd":
			r.theyWho(i, h)
			return
		case len(h.who) == 0 && r.staffAlone(i), !r.passesTo(i, head):
			return
		}
	}
}

// onlyNamed reports whether the person at token i looks on, is told something or is only spoken of.
func (r *reader) onlyNamed(i int) bool {
	return r.is(i+1, looksOn) && r.word(i+2) != "law" && !(r.is(i+1, inBetween) && r.word(i+1) != "to" && r.word(i+2) != "to") || r.word(i+1) == "'s" || r.word(i-1) == "to" || r.is(i-1, tells) || r.beside(i)
}

// staffAlone reports whether token i is staff whom nothing joins to somebody else: they did it.
func (r *reader) staffAlone(i int) bool {
	return r.is(i, besideStaff) && !r.joins(i+1) && !r.joins(i-1) && r.word(i-1) != "("
}

// passesTo reports whether token i may stand between who helped and the move at token head.
func (r *reader) passesTo(i, head int) bool {
	switch w := r.word(i); {
	case w == "(", w == ")", w == "," && (i > head-2 || r.isName(i-1) || r.isName(i+1) || r.joins(i+1)), r.betweenMoves(i), r.is(i, besideStaff):
		return true
	case r.pauses(i), r.is(i, thirdPerson), r.is(i, says), r.is(i, tells), r.is(i, informed), r.is(i, looksOn) && !r.is(i, inBetween):
		return false
	}
	if h, ok := r.hitAt(i); ok {
		switch r.kindOf(h) {
		case kindTold, kindSign, kindFall, kindNegPre, kindPerson:
			return false
		}
	}
	return r.toks[i].Kind == token.Word || r.toks[i].Kind == token.Number
}

// theyWho adds those whom "they" at token i means, named before with no staff in between.
func (r *reader) theyWho(i int, h *helping) {
	for k := i - 1; k >= 0 && k >= i-30; k-- {
		if r.is(k, besideStaff) {
			return
		}
		if who := r.nonStaff(k); who != "" {
			h.add(who, i)
			r.countHelper(k, who, h)
			h.from = i
			return
		}
	}
}

// movesOther reports whether the move is told to be of somebody else than who did it: relatives and residents
// walk by themselves too.
func (r *reader) movesOther(st *Statement, h *helping, end int) bool {
	if h.students > 0 || slices.Contains(h.who, "staff") {
		return true
	}
	switch st.Concept {
	case "move.lift", "fall.moved":
		return true
	case "move.transfer":
		if isLift(st.Method) {
			return true
		}
	}
	for k := h.to; k < end && k < len(r.toks); k++ {
		if r.is(k, self) {
			return false
		}
		if r.object(k) && !(r.word(k) == "her" && r.ownsNoun(k+1) && !r.is(k+1, particle) && !r.is(k+1, onward)) || r.is(k, residentNoun) || r.is(k, title) || r.isName(k) {
			return true
		}
	}
	return false
}

// betweenMoves reports whether token i stands between who helped and what a move is told by: another word of moving
// ("my students had moved Mr B from bed to chair with the lift") or the resident's name.
func (r *reader) betweenMoves(i int) bool {
	if r.partOfName(i) || r.is(i, residentNoun) || r.is(i, object) {
		return true // "moved Mr. Bell", "moved him", "put the resident"
	}
	h, ok := r.hitAt(i)
	if !ok {
		return false
	}
	e := r.lex.said[h.Payload].e
	return e.kind == kindVerb && strings.HasPrefix(e.fields.concept, "move.") || e.kind == kindAid || e.kind == kindPlace || e.kind == kindFrom || e.kind == kindTo
}

// partOfName reports whether token i is a title, a name that no wording knows, or the full stop of a title or an initial.
func (r *reader) partOfName(i int) bool {
	t := &r.toks[i]
	if t.Word == "." {
		return r.is(i-1, title) || i > 0 && r.toks[i-1].Capital && len(r.toks[i-1].Word) == 1
	}
	return r.is(i, title) || t.Kind == token.Word && t.Capital && !r.opens(i) && r.in[i].Word == 0
}

// beside reports whether the person at token i is only spoken of with what stands before ("with her daughter, …").
func (r *reader) beside(i int) bool {
	k := i - 1
	for r.is(k, owner) || r.is(k, article) {
		k--
	}
	return r.is(k, toPerson) && !r.is(k, withHelp)
}

// joins reports whether token i joins two persons.
func (r *reader) joins(i int) bool {
	switch r.word(i) {
	case "and", "&", "+", "plus", "with", "n":
		return true
	}
	return false
}

// farthestHelper is how many words may stand between a move and who helped with it.
const farthestHelper = 12

// helpersWithin finds helpers named behind the verb: "walked to the car with his son", "wheeled by a volunteer".
func (r *reader) helpersWithin(st *Statement, head, end int, h *helping) {
	if st.Concept == "move.up" || st.Concept == "move.sit-up" {
		return
	}
	for i := head + 1; i < len(r.toks) && i < end+farthestHelper && !r.endsHelpers(i, end); i++ {
		who := r.nonStaff(i)
		if who == "" || r.toldInReason(i) || r.is(i+1, looksOn) || r.word(i+1) == "'s" || strings.HasSuffix(r.word(i), "'s") {
			continue
		}
		if r.leadsToHelper(head, r.beforeHelper(head, i)) {
			h.add(who, i)
			r.countHelper(i, who, h)
		}
	}
}

// toldInReason reports whether the person at token i is named in a reason, as whom a colleague was with.
func (r *reader) toldInReason(i int) bool {
	at := r.toks[i].Start
	return slices.ContainsFunc(r.out.Statements, func(s Statement) bool {
		return s.Group() == "reason" && s.Span.Start <= at && at < s.Span.End
	})
}

// endsHelpers reports whether helpers named behind token i help with another move than that whose words end at token
// end.
func (r *reader) endsHelpers(i, end int) bool {
	switch r.word(i) {
	case ".", ";", "but", "then":
		return true
	case ",":
		return i >= end && !r.personNext(i+1)
	}
	return r.toks[i].Kind == token.Newline
}

// beforeHelper is the token before the words that belong to the helper at token i, head at the earliest.
func (r *reader) beforeHelper(head, i int) int {
	k := i - 1
	for k > head && (r.countsPerson(k) || r.word(k) == "new" || r.word(k) == "two" || r.is(k, otherOf)) {
		k--
	}
	return k
}

// countsPerson reports whether token k may stand between a preposition and a person.
func (r *reader) countsPerson(k int) bool {
	return r.opensNoun(k) || r.is(k, beforePerson) || r.toks[k].IsNum
}

// leadsToHelper reports whether token k leads to somebody who helped with the move at token head.
func (r *reader) leadsToHelper(head, k int) bool {
	switch {
	case !r.is(k, withHelp):
		return r.word(k) == "," && r.withBefore(head, k)
	case r.word(k) == "of", r.word(k) == "from":
		return r.is(k-1, helpWord) || r.word(k-1) == "help" || r.word(k-1) == "assistance"
	case r.joins(k) && r.word(k) != "with":
		return r.is(k-1, besideStaff) || r.nonStaff(k-1) != "" || r.withBefore(head, k)
	}
	return true
}

// personNext reports whether somebody who is no staff is named at token i, behind "his" or "the" if need be.
func (r *reader) personNext(i int) bool {
	for r.is(i, owner) || r.is(i, article) || r.is(i, beforePerson) {
		i++
	}
	return r.nonStaff(i) != ""
}

// withBefore reports whether "with" leads a list that goes on at token k: "with her frame and one student".
func (r *reader) withBefore(head, k int) bool {
	for i := k - 1; i > head && i > k-6 && r.word(i) != ","; i-- {
		if r.is(i, byMeans) {
			return true
		}
	}
	return false
}

// countHelper counts students, and staff who are named with the person at token i.
func (r *reader) countHelper(i int, who string, h *helping) {
	if who == "student" {
		r.countStudents(i, h)
	}
	if at := r.joinBehind(i); at >= 0 {
		if k := r.staffJoined(at); k >= 0 {
			r.countStaff(k, h)
			return
		}
	}
	k := i - 1
	for k > 0 && r.countsPerson(k) {
		k--
	}
	if r.joins(k) && r.is(k-1, besideStaff) && (r.word(k) != "with" || r.is(k-1, firstPerson)) {
		r.countStaff(k-1, h)
	}
}

// countStudents counts the students named at token i.
func (r *reader) countStudents(i int, h *helping) {
	n := 1
	if strings.HasSuffix(r.word(i), "s") {
		n = 2
	}
	for k := i - 1; k >= 0 && k >= i-3; k-- {
		if t := &r.toks[k]; t.IsNum && t.Num >= 1 && t.Num <= 4 {
			n = int(t.Num)
			h.from = min(h.from, k)
		}
	}
	h.students += n
}

// joinBehind is the token that joins somebody to the person at token i, past brackets, -1 for none: "her son and I",
// "me and the husband", "one student (me) plus my preceptor".
func (r *reader) joinBehind(i int) int {
	for k := i + 1; k < len(r.toks) && k <= i+7; k++ {
		switch {
		case r.word(k) == "(" || r.word(k) == ")":
		case r.joins(k):
			return k
		case r.word(k-1) != "(":
			return -1
		}
	}
	return -1
}

// staffJoined is the token of the staff whom the token at joins to somebody, -1 for none.
func (r *reader) staffJoined(at int) int {
	for k := at + 1; k <= at+4 && k < len(r.toks); k++ {
		if r.is(k, besideStaff) {
			return k
		}
		if !r.opensNoun(k) && !r.toks[k].IsNum && r.word(k) != "another" && r.word(k) != "one" {
			return -1
		}
	}
	return -1
}

// countStaff counts the staff named at token k.
func (r *reader) countStaff(k int, h *helping) {
	n := 1
	for j := k - 1; j >= 0 && j >= k-2; j-- {
		if t := &r.toks[j]; t.IsNum && t.Num >= 1 && t.Num <= 4 {
			n = int(t.Num)
		}
	}
	h.staff += n
	h.add("staff", k)
}

// give lays the helpers over the move. The number of staff counts students, never relatives or other residents.
func (r *reader) give(st *Statement, h *helping) {
	slices.Sort(h.who)
	st.Helpers = h.who
	if st.Who == Other {
		st.Who = Resident
	}
	said := Span{Start: r.toks[h.from].Start, End: r.toks[h.to-1].End}
	counted := !st.Staff.IsZero()
	read := slices.ContainsFunc(st.Detail.Terms, func(m Mark) bool { return m.Field == "staff" && m.Span.Overlaps(said) })
	n := h.students + h.staff
	if zero, ok := st.Staff.Get(); ok && zero == 0 && n > 0 {
		counted = false // "two students hoisted him on their own"
	}
	switch {
	case n > 0 && (!counted || read):
		st.Staff = Some(n)
	case n == 0 && read:
		st.Staff = Optional[int]{}
	}
	if st.Span.Start > said.Start && st.Span.Start-said.Start < 60 {
		st.Span.Start = said.Start
	}
}
