package rules

import (
	"fmt"
	"slices"

	"example.com/stance/lexicon"
	"example.com/stance/lint/finding"
	"example.com/stance/lint/timeline"
)

func shiftConflict() Rule {
	return Rule{ID: "shift-conflict", Severity: finding.Warning, check: checkShiftConflict,
		Per: "statuses and transfers, where the shift before tells of one too", applies: comparedWithShiftBefore}
}

func comparedWithShiftBefore(p *pass) int {
	earlier := p.line.On(p.line.Calendar.Prev(p.entry.Shift))
	tells := func(pick func(*lexicon.Statement) bool) bool {
		return slices.ContainsFunc(earlier, func(e *timeline.Entry) bool { return len(done(e, pick)) > 0 })
	}
	n := 0
	for _, pick := range []func(*lexicon.Statement) bool{isStatus, isTransferred} {
		if tells(pick) {
			n += len(done(p.entry, pick))
		}
	}
	return n
}

func checkShiftConflict(p *pass) {
	if changesPlan(p) {
		return
	}
	earlier := p.line.On(p.line.Calendar.Prev(p.entry.Shift))
	for _, s := range done(p.entry, func(s *lexicon.Statement) bool { return isStatus(s) || isTransferred(s) }) {
		for _, e := range slices.Backward(earlier) {
			if e.Row != p.entry.Row {
				break // the chart changed between the two
			}
			i := slices.IndexFunc(e.Reading.Statements, func(o lexicon.Statement) bool { return contradicts(p, s, &o) })
			if i < 0 {
				continue
			}
			o := &e.Reading.Statements[i]
			if p.conflictsWithChart(s) && !p.conflictsWithChart(o) {
				break // told already, against the chart
			}
			p.report(report{
				about:  s,
				unsure: o.Certainty == lexicon.Possible,
				message: fmt.Sprintf("%s shift: %s; this note, on the next shift: %s; nothing between them tells of a change",
					e.Shift.Name, sayingWords(o), sayingWords(s)),
				advice:   "Find out which of the two holds before the next move, and write what changed if something did.",
				evidence: []finding.Evidence{place(e, o)},
			})
			break
		}
	}
}

// changesPlan reports whether this note, or an earlier one of its shift, carries an order or a review.
func changesPlan(p *pass) bool {
	for _, e := range p.line.On(p.entry.Shift) {
		if !e.Time.After(p.entry.Time) && givesPlan(e) {
			return true
		}
	}
	return false
}

// givesPlan reports whether a note orders anything for the resident or reports a review.
func givesPlan(e *timeline.Entry) bool {
	return e.Done("review.done") || e.Any(func(s *lexicon.Statement) bool {
		return s.Mood == lexicon.Order && s.Polarity == lexicon.Affirmed && s.Time == lexicon.Now &&
			s.Who == lexicon.Resident && (isStatus(s) || isTransferred(s))
	})
}

// contradicts reports whether an earlier statement tells otherwise than s: a transfer two ranks
// apart, or another bearing status of the same limb on the same side.
func contradicts(p *pass, s, earlier *lexicon.Statement) bool {
	if !earlier.Done() {
		return false
	}
	if isStatus(s) {
		return isStatus(earlier) && limb(s) == limb(earlier) && sharesSide(s, earlier) && !sameBearing(s, earlier)
	}
	return isTransferred(earlier) && apart(s, earlier)
}

// apart reports whether two moves have ranks two or more apart.
func apart(a, b *lexicon.Statement) bool {
	ra, ok := statedRank(a, 0)
	rb, okb := statedRank(b, 0)
	return ok && okb && max(ra-rb, rb-ra) >= 2
}

// sharesSide reports whether two statements name one side at least in common.
func sharesSide(a, b *lexicon.Statement) bool {
	return slices.ContainsFunc(sides(a), func(side string) bool { return slices.Contains(sides(b), side) })
}

func isTransferred(s *lexicon.Statement) bool {
	return s.Concept == "move.transfer" || s.Concept == "move.lift"
}

// sayingWords says what a status or a move is, in a message that sets two notes side by side.
func sayingWords(s *lexicon.Statement) string {
	if isStatus(s) {
		return limbWords(limb(s), s.Side) + " " + statedWords(s)
	}
	return moveWords(s)
}
