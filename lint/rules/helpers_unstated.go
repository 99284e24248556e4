package rules

import (
	"fmt"

	"example.com/stance/lexicon"
	"example.com/stance/lint/finding"
)

func helpersUnstated() Rule {
	return Rule{ID: "helpers-unstated", Severity: finding.Hint, Waits: true, check: checkHelpersUnstated,
		Per: "assisted transfers and lifts of residents charted with helpers", applies: assistedMoves}
}

func assistedMoves(p *pass) int {
	row := p.entry.Row
	if row == nil || row.Helpers(p.policy.LiftHelpers) < 1 {
		return 0
	}
	return len(done(p.entry, func(s *lexicon.Statement) bool { return isTransferLike(s) && (assisted(s) || givesHelpers(s)) }))
}

func checkHelpersUnstated(p *pass) {
	row := p.entry.Row
	if row == nil || row.Helpers(p.policy.LiftHelpers) < 1 || p.entry.Any(givesHelpers) {
		return
	}
	for _, s := range done(p.entry, isTransferLike) {
		if !assisted(s) || len(s.Helpers) > 0 {
			continue
		}
		p.report(report{
			about: s,
			message: fmt.Sprintf("%s: %s to transfer; this note: %s, and not by how many",
				p.since(row), helpers(row.Helpers(p.policy.LiftHelpers)), moveWords(s)),
			advice:   "Add how many helpers there were.",
			evidence: []finding.Evidence{cell(row, "staff"), cell(row, "transfer")},
		})
	}
}

// givesHelpers reports whether a statement gives a number of helpers for a transfer, a lift, a stand
// or the help of the shift as a whole.
func givesHelpers(s *lexicon.Statement) bool {
	_, ok := s.Staff.Get()
	return ok && s.Done() && (isSupported(s) || s.Concept == "move.up" || s.Concept == "assist.level")
}

// assisted reports whether a transfer or lift was with help, as far as its words tell.
func assisted(s *lexicon.Statement) bool {
	return s.Detail.Helped || s.Assist != "" && s.Assist != "independent" || s.Method != "" || s.HasAid("belt") ||
		s.Detail.ByHand || !s.Detail.Vague.IsZero()
}

// isTransferLike accepts transfers and lifts, and getting up out of a bed or chair, read as a stand or as being up.
func isTransferLike(s *lexicon.Statement) bool {
	if s.Concept != "move.up" && s.Concept != "move.stand" {
		return isTransferred(s)
	}
	switch s.From {
	case "bed", "chair", "wheelchair", "toilet", "commode", "edge-of-bed":
		return true
	}
	return s.Detail.Helped
}
