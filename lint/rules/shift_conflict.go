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
	before := p.on(p.line.Calendar.Prev(p.entry.Shift))
	n := 0
	if before.statuses {
		n += len(done(p.entry, isStatus))
	}
	if before.transfers {
		n += len(done(p.entry, isTransferred))
	}
	return n
}

func checkShiftConflict(p *pass) {
	if changesPlan(p) {
		return
	}
	before := p.on(p.line.Calendar.Prev(p.entry.Shift))
	if before.row != p.entry.Row {
		return // the chart changed between the two
	}
	for _, s := range done(p.entry, func(s *lexicon.Statement) bool { return isStatus(s) || isTransferred(s) }) {
		y, ok := before.contradicting(s)
		if !ok || p.conflictsWithChart(s) && !p.conflictsWithChart(y.said) { // told already, against the chart
			continue
		}
		p.report(report{
			about:  s,
			unsure: y.said.Certainty == lexicon.Possible,
			message: fmt.Sprintf("%s shift: %s; this note, on the next shift: %s; nothing between them tells of a change",
				y.entry.Shift.Name, sayingWords(y.said), sayingWords(s)),
			advice:   "Find out which of the two holds before the next move, and write what changed if something did.",
			evidence: []finding.Evidence{place(y.entry, y.said)},
		})
	}
}

// changesPlan reports whether this note, or an earlier one of its shift, carries an order or a review.
func changesPlan(p *pass) bool {
	on := p.on(p.entry.Shift)
	return on.planned && !on.plannedFrom.After(p.entry.Time)
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
func contradicts(s, earlier *lexicon.Statement) bool {
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
