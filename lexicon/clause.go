package lexicon

import "example.com/stance/lexicon/internal/token"

// A sentence is the units from lo to hi (exclusive).
type sentence struct {
	lo, hi int
	headed bool // under a status heading such as "Transfers:"
	plan   bool // in a section of orders
	report bool // in a section of what was found
	clock  string
	past   int   // the unit of a heading of what was before ("History:"), -1 for none
	has    kinds // what its units do
}

// longest is how many units a sentence has before it is cut at the next boundary, and at twice as many wherever
// that is. What belongs together stands far closer, and looking about in a sentence costs more than its length.
const longest = 150

// sentences parts the units, carrying section headings from line to line.
func (r *reader) sentences() []sentence {
	out := r.sents[:0]
	lo, plan, report := 0, false, false
	form := r.systemsForm()
	timed := r.timedLines() >= 2 || r.timedEntry()
	clock, past := "", -1
	flush := func(hi int) {
		if hi <= lo {
			lo = hi + 1
			return
		}
		if u := &r.units[lo]; u.kind == kindPast && (r.nextIsColon(lo) || r.word(u.to-1) == ":") {
			past = lo
		}
		s := sentence{lo: lo, hi: hi}
		for i := lo; i < hi; i++ {
			u := &r.units[i]
			s.has |= 1 << u.kind
			if u.kind == kindNow || u.kind == kindHeader || u.kind == kindPlanHead {
				past = -1 // the story has come to this shift
			}
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
		s.plan, s.report, s.past = plan && !form, report || form, past
		if timed {
			if r.opensWithClock(lo) || r.entryClock(&r.units[lo]) && r.opens(r.units[lo].from) {
				clock = r.clockOf(r.units[lo])
			}
			s.clock = clock
		}
		out = append(out, s)
		lo = hi + 1
	}
	for i := range r.units {
		switch {
		case r.units[i].sign == '.':
			flush(i)
			if r.word(r.units[i].from) == "\n" {
				past = -1
			}
		case i-lo >= longest && r.parts(i) > 0, i-lo >= 2*longest:
			flush(i)
			lo = i // nothing is lost: the unit opens the next part
		}
	}
	flush(len(r.units))
	r.sents = out
	return out
}

// systemsForm reports whether the note is a form with a line for each system of the body ("NEURO: … SKIN: …"), all
// of which report.
func (r *reader) systemsForm() bool {
	n := 0
	for t := range r.toks {
		if r.is(t, bodySystem) && (r.word(t+1) == ":" || r.word(t+1) == "/") && r.opens(t) {
			n++
		}
	}
	return n >= 2
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

// timedEntry reports whether some line is the entry of a timeline by its form: "0545: …", "0900 - …".
func (r *reader) timedEntry() bool {
	for i := range r.units {
		if u := &r.units[i]; r.startsLine(u.from) && r.entryClock(u) {
			return true
		}
	}
	return false
}

// entryClock reports whether the unit is a time of day that a colon or a dash sets before the words of an entry.
func (r *reader) entryClock(u *unit) bool {
	if u.kind != kindClock || r.clockOf(*u) == "" {
		return false
	}
	w := r.word(u.to)
	return (w == ":" || w == "-" || w == "–") && u.to+1 < len(r.toks) && r.toks[u.to+1].Kind == token.Word
}

func (r *reader) startsLine(tok int) bool {
	return tok == 0 || r.word(tok-1) == "\n" || (r.word(tok-1) == "-" && (tok < 2 || r.word(tok-2) == "\n"))
}

func (r *reader) opensWithClock(i int) bool {
	return i < len(r.units) && r.units[i].kind == kindClock && r.startsLine(r.units[i].from)
}

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
		if r.word(u.from) == "because" && r.word(u.to) == "of" {
			return 0
		}
		if r.is(u.from, partsFully) {
			return 2
		}
		if r.is(u.from, purpose) && r.is(u.to, things) && (r.endsThere(u.to+1) || r.is(u.to+1, besideHelpers)) {
			return 0 // "to bed after it with two of us"
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
		switch {
		case r.word(u.from) == "once":
			if i+1 < len(r.units) && r.units[i+1].kind == kindPast {
				return 0 // "once last year"
			}
			return 1
		case r.is(u.from, partsNot), r.onlyDates(i):
			return 0
		}
		return 1
	case kindNegStop:
		if r.is(u.from, endsDenial) {
			return 2
		}
	}
	return 0
}

// onlyDates reports whether the word at unit i only dates a move by the care, the meal or whatever else it leads to: "to
// the toilet after tea with two", "to bed after the news, me and Pat".
func (r *reader) onlyDates(i int) bool {
	u := &r.units[i]
	if i+1 < len(r.units) && r.units[i+1].kind == kindCare {
		return r.purpose(r.units[i+1].from) && r.units[i+1].from-u.to <= 2
	}
	p, ok := r.phraseOpening(u.to)
	return ok && r.is(u.from, purpose) && !r.partOfMove(p.head) && (r.endsThere(p.head+1) || r.is(p.head+1, besideHelpers))
}

// possessive reports whether the subject word at unit i only owns the next ("her wash").
func (r *reader) possessive(i int) bool {
	if r.is(r.units[i].from, owner) {
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
		return u.e.name != "times" && !r.purpose(u.from)
	}
	return false
}

// purpose reports whether the word at token i only says what a move was for or when ("for lunch", "after her wash").
func (r *reader) purpose(i int) bool {
	for k := i - 1; k >= 0 && k >= i-3; k-- {
		switch {
		case r.is(k, purpose):
			return true
		case r.is(k, article), r.is(k, owner), r.is(k, beforeCare):
			continue
		}
		return false
	}
	return false
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

// pauses reports whether token i is a comma or ends a sentence or line.
func (r *reader) pauses(i int) bool {
	switch r.word(i) {
	case ".", ",", ";", "\n":
		return true
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
