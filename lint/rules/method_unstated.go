package rules

import (
	"fmt"
	"strings"

	"example.com/stance/lexicon"
	"example.com/stance/lint/finding"
	"example.com/stance/lint/timeline"
	"example.com/stance/lint/trade"
)

func methodUnstated() Rule {
	return Rule{ID: "method-unstated", Severity: finding.Warning, Waits: true, charted: true, check: checkMethodUnstated,
		Per: "transfers of residents charted for a lift", applies: liftTransfers}
}

func liftTransfers(p *pass) int {
	if p.entry.Row == nil || !chartsLift(p.entry.Row) {
		return 0
	}
	return len(done(p.entry, isTransferOrUp))
}

// isTransferOrUp accepts the moves that a lift is charted for: transfers, and being up somewhere.
func isTransferOrUp(s *lexicon.Statement) bool {
	return s.Concept == "move.transfer" || s.Concept == "move.up" && s.To != ""
}

func checkMethodUnstated(p *pass) {
	row := p.entry.Row
	if row == nil || !chartsLift(row) {
		return
	}
	for i := range p.entry.Reading.Statements {
		s := &p.entry.Reading.Statements[i]
		if !s.Done() || !isTransferOrUp(s) || !onlyHelpers(s) || s.HasAid("sling") || liftNamedBeside(p.entry, i) {
			continue
		}
		p.report(report{
			about:    s,
			message:  fmt.Sprintf("%s: %s; this note: %s, with no word of the lift", p.since(row), p.wayWords(row), moveWords(s)),
			advice:   "Write how the resident was moved: which lift, which sling, how many helpers.",
			evidence: []finding.Evidence{cell(row, "transfer")},
		})
	}
}

// liftNamedBeside reports whether the statement just before or after the one at i names a lift for the
// same move: a lift as an aid, or a move by lift that does not go between other places.
func liftNamedBeside(e *timeline.Entry, i int) bool {
	at := &e.Reading.Statements[i]
	for _, j := range []int{i - 1, i + 1} {
		if j < 0 || j >= len(e.Reading.Statements) {
			continue
		}
		s := &e.Reading.Statements[j]
		if !s.Done() {
			continue
		}
		switch {
		case s.Concept == "aid.sling", strings.HasPrefix(s.Concept, "aid.") && trade.IsLift(strings.TrimPrefix(s.Concept, "aid.")):
			return true
		case trade.IsLift(s.Method) && sameMove(s, at):
			return true
		}
	}
	return false
}

// couldBe reports whether two places may be one.
func couldBe(a, b string) bool { return a == "" || b == "" || a == b }

// sameMove reports whether two statements may be about one move.
func sameMove(a, b *lexicon.Statement) bool { return couldBe(a.From, b.From) && couldBe(a.To, b.To) }
