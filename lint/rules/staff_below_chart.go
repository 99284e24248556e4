package rules

import (
	"fmt"

	"example.com/stance/lexicon"
	"example.com/stance/lint/chart"
	"example.com/stance/lint/finding"
	"example.com/stance/lint/trade"
)

func staffBelowChart() Rule {
	return Rule{ID: "staff-below-chart", Severity: finding.Error, charted: true, check: checkStaffBelowChart,
		Per: "transfers, lifts by hand and stands that tell the helpers, on residents charted with helpers", applies: countedMoves}
}

func countedMoves(p *pass) int {
	row := p.entry.Row
	if row == nil || row.Helpers(p.policy.LiftHelpers) < 1 {
		return 0
	}
	return len(done(p.entry, func(s *lexicon.Statement) bool {
		_, told := s.Staff.Get()
		return isSupported(s) && told && !trade.IsLift(s.Method)
	}))
}

func checkStaffBelowChart(p *pass) {
	row := p.entry.Row
	if row == nil {
		return
	}
	want := row.Helpers(p.policy.LiftHelpers)
	for _, s := range done(p.entry, isSupported) {
		n, ok := s.Staff.Get()
		if !ok || n >= want || trade.IsLift(s.Method) || !methodFits(s, row) {
			continue
		}
		p.report(report{
			about:    s,
			message:  fmt.Sprintf("%s: %s; this note: %s", p.since(row), p.wayWords(row), moveWords(s)),
			advice:   "Get the charted number of helpers before the next move; if fewer seem enough, ask the nurse or therapist to reassess first.",
			evidence: []finding.Evidence{cell(row, "staff"), cell(row, "transfer")},
		})
	}
}

// methodFits reports whether the method is unsaid, as charted, or of the charted rank.
func methodFits(s *lexicon.Statement, row *chart.Row) bool {
	if s.Method == "" || namesChartedWay(s, row) {
		return true
	}
	r, ok := statedRank(s, chartRank(row.Transfer))
	return ok && r == chartRank(row.Transfer)
}
