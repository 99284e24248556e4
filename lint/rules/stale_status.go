package rules

import (
	"fmt"

	"example.com/stance/lint/finding"
)

func staleStatus() Rule {
	return Rule{ID: "stale-status", Severity: finding.Warning, charted: true, check: checkStaleStatus,
		Per: "statuses stated with a side, on residents whose chart has changed before", applies: statusesAfterChange}
}

func statusesAfterChange(p *pass) int {
	if p.line.RowBefore(p.entry.Row) == nil {
		return 0
	}
	return sidedStatuses(p)
}

func checkStaleStatus(p *pass) {
	for _, m := range mismatches(p.entry) {
		before := p.line.RowBefore(p.entry.Row)
		if before == nil {
			return
		}
		was, field := charted(before, limb(m.stated), m.side)
		if !sameStatus(m.stated, was) {
			continue
		}
		p.report(report{
			about: m.stated,
			message: fmt.Sprintf("%s: %s %s; this note still says %s, the status before that change", p.since(p.entry.Row),
				limbWords(limb(m.stated), m.side), bearingWords(m.charted), statedWords(m.stated)),
			advice:   "Write the present status, and check with the nurse or therapist that the team knows of the change.",
			evidence: []finding.Evidence{cell(p.entry.Row, m.field), cell(before, field)},
		})
	}
}
