package lexicon

import (
	"slices"
	"strings"
)

// afterFall turns the first move with a lift, or up, after a fall into the getting up off the floor.
func (r *reader) afterFall() {
	defer r.dropRaised()
	defer r.intoSeat()
	r.dropInjuries()
	r.dropImplied("fall.head", "fall.head-sound", "fall.head-marked")
	r.dropImplied("fall.injury", "fall.unhurt")
	r.pastAftermath()
	fell := r.firstFall()
	if fell < 0 || slices.ContainsFunc(r.out.Statements, func(s Statement) bool { return s.Concept == "fall.moved" }) {
		return
	}
	st := r.gettingUp(fell)
	if st == nil {
		return
	}
	st.Concept, st.Who = "fall.moved", Resident
	if words := strings.ToLower(r.text[st.Detail.Head.Start:st.Detail.Head.End]); st.Staff.IsZero() && strings.Contains(words, "self") {
		st.Staff = Some(0) // "got himself up"
	}
}

// firstFall is where in the text the first fall of this shift is told, -1 for none.
func (r *reader) firstFall() int {
	fell := -1
	for k := range r.out.Statements {
		if st := &r.out.Statements[k]; st.IsFall() && st.Done() && (fell < 0 || st.Span.Start < fell) {
			fell = st.Span.Start
		}
	}
	return fell
}

// gettingUp is the first move after the fall told at byte fell that got the resident off the floor, nil for none.
func (r *reader) gettingUp(fell int) *Statement {
	var first *Statement
	for k := range r.out.Statements {
		st := &r.out.Statements[k]
		if st.Span.Start <= fell || !st.Done() && !r.liftedByOther(st) || st.From != "" || first != nil && st.Span.Start >= first.Span.Start {
			continue
		}
		if r.getsUp(st, fell) {
			first = st
		}
	}
	return first
}

// liftedByOther reports whether the resident was lifted by somebody who is no staff: "her husband hauled her up".
func (r *reader) liftedByOther(st *Statement) bool {
	if st.Concept != "move.lift" || st.Who != Other || st.Polarity != Affirmed || st.Time != Now {
		return false
	}
	head, end := r.tokensOf(st)
	return r.anyBetween(head, end, object)
}

// intoSeat takes what goes straight on from getting the resident up off the floor as part of it: "picked him up and got
// him back into bed".
func (r *reader) intoSeat() {
	up := slices.IndexFunc(r.out.Statements, func(s Statement) bool { return s.Concept == "fall.moved" && s.To == "" && s.Done() })
	if up < 0 {
		return
	}
	_, end := r.tokensOf(&r.out.Statements[up])
	for end < len(r.toks) && (r.joinsOn(end) || r.word(end) == "," || r.is(end, wayBack)) {
		end++
	}
	on := slices.IndexFunc(r.out.Statements, func(s Statement) bool {
		at, _ := r.tokensOf(&s)
		return at == end && s.To != "" && s.From == "" && (s.Concept == "move.transfer" || s.Concept == "move.up" || s.Concept == "move.lift")
	})
	if on >= 0 {
		r.out.Statements[up].To, r.out.Statements[up].Span.End = r.out.Statements[on].To, r.out.Statements[on].Span.End
		r.out.Statements = slices.Delete(r.out.Statements, on, on+1)
	}
}

// getsUp reports whether the move may be how the resident got off the floor after the fall told at byte fell.
func (r *reader) getsUp(st *Statement, fell int) bool {
	switch st.Concept {
	case "move.lift":
		return true
	case "move.transfer":
		// "found on the floor … put back to bed with three"
		return isLift(st.Method) || st.To != "" && r.putBack(st, fell)
	case "move.up":
		return st.raised() || strings.Contains(strings.ToLower(r.text[st.Span.Start:st.Span.End]), "up")
	}
	return false
}

// pastAftermath makes what came of a fall of before this shift past too, where the note tells of no other:
// "On Tuesday she fell. Was hoisted off the floor. Today …". It reaches up to the first move told after.
func (r *reader) pastAftermath() {
	old := r.lastOldFall()
	if old < 0 || r.firstFall() >= 0 {
		return
	}
	end := r.firstMove(old)
	for k := range r.units {
		if u := &r.units[k]; u.kind == kindNow && r.toks[u.from].Start > old {
			end = min(end, r.toks[u.from].Start)
		}
	}
	for k := range r.out.Statements {
		switch st := &r.out.Statements[k]; st.Concept {
		case "fall.moved", "fall.head", "fall.assessed":
			if st.Time == Now && st.Span.Start > old && st.Span.Start < end {
				st.Time = Before
			}
		}
	}
}

// lastOldFall is where in the text the last of the resident's falls of before this shift is told, -1 for none.
func (r *reader) lastOldFall() int {
	old := -1
	for k := range r.out.Statements {
		if st := &r.out.Statements[k]; st.IsFall() && st.Polarity == Affirmed && st.Who == Resident && st.Time == Before {
			old = max(old, st.Span.Start)
		}
	}
	return old
}

// firstMove is where in the text the first move told after byte at begins, the end of the text for none.
func (r *reader) firstMove(at int) int {
	first := len(r.text)
	for k := range r.out.Statements {
		if st := &r.out.Statements[k]; st.Group() == "move" && st.Span.Start > at {
			first = min(first, st.Span.Start)
		}
	}
	return first
}

// putBack reports whether the transfer follows the fall closely and in words of getting somebody back.
func (r *reader) putBack(st *Statement, fell int) bool {
	const near = 240 // bytes; about two sentences
	if st.Span.Start-fell > near {
		return false
	}
	head, _, _ := strings.Cut(strings.ToLower(r.text[st.Detail.Head.Start:st.Detail.Head.End]), " ")
	in := r.lex.classes[head]
	return in.has(putBack)
}

// dropInjuries takes out injuries and examinations where no fall of the resident is told to have happened.
// That there was none is worth telling after a near fall too; and what hurts before, or once moves are told
// after, a fall of before this shift is no injury of it.
func (r *reader) dropInjuries() {
	told := func(time Time, concepts ...string) int {
		last := -1 // where the words of the last of them begin
		for k := range r.out.Statements {
			st := &r.out.Statements[k]
			if st.Polarity == Affirmed && st.Who == Resident && st.Time == time && slices.Contains(concepts, st.Concept) {
				last = max(last, st.Span.Start)
			}
		}
		return last
	}
	down := []string{"fall.fell", "fall.found", "fall.eased", "fall.collapse", "fall.moved"}
	if r.fellBefore || told(Now, down...) >= 0 {
		return
	}
	near, old := told(Now, "fall.near", "fall.caught", "sign.faint") >= 0, told(Before, down...)
	moved := r.firstMove(old)
	r.out.Statements = slices.DeleteFunc(r.out.Statements, func(s Statement) bool {
		after := old >= 0 && s.Span.Start > old && s.Span.Start < moved
		switch s.Concept {
		case "fall.injury":
			return !after && !(near && s.Polarity == Negated)
		case "fall.assessed":
			return !after
		}
		return false
	})
}
