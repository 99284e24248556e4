package rules

import (
	"fmt"

	"example.com/stance/lint/chart"
	"example.com/stance/lint/finding"
)

func walkNotCharted() Rule {
	return Rule{ID: "walk-not-charted", Severity: finding.Error, charted: true, check: checkWalkNotCharted,
		Per: "walks of charted residents", applies: chartedWalks}
}

func chartedWalks(p *pass) int {
	if p.entry.Row == nil {
		return 0
	}
	return len(done(p.entry, of("move.walk")))
}

func checkWalkNotCharted(p *pass) {
	row := p.entry.Row
	if row == nil || row.Walk != chart.WalkNo {
		return
	}
	for _, s := range done(p.entry, of("move.walk")) {
		p.report(report{
			about:    s,
			message:  fmt.Sprintf("%s: walking is not allowed; this note: %s", p.since(row), moveWords(s)),
			advice:   "Tell " + p.superior() + " what happened, and have the therapist reassess before the next walk.",
			evidence: []finding.Evidence{cell(row, "walk")},
		})
	}
}
