package rules

import (
	"fmt"
	"slices"

	"example.com/stance/lexicon"
	"example.com/stance/lint/chart"
	"example.com/stance/lint/finding"
	"example.com/stance/lint/timeline"
	"example.com/stance/lint/trade"
)

func methodAboveChart() Rule {
	return Rule{ID: "method-above-chart", Severity: finding.Warning, charted: true, check: checkMethodAboveChart,
		Per: "transfers, lifts and stands that tell way or help, on charted residents", applies: rankedMovesCharted}
}

func rankedMovesCharted(p *pass) int {
	if p.entry.Row == nil {
		return 0
	}
	return len(done(p.entry, func(s *lexicon.Statement) bool { return isSupported(s) && isRanked(s) }))
}

func checkMethodAboveChart(p *pass) {
	row := p.entry.Row
	if row == nil || explained(p.entry) || reassessing(p.entry) {
		return
	}
	for _, s := range done(p.entry, isSupported) {
		if !aboveChart(s, row) {
			continue
		}
		p.report(report{
			about:    s,
			message:  fmt.Sprintf("%s: %s; this note: %s, which is much more support", p.since(row), p.wayWords(row), moveWords(s)),
			advice:   "Write why more help was needed, and tell the nurse or therapist so that the resident can be reassessed.",
			evidence: []finding.Evidence{cell(row, "transfer")},
		})
	}
}

// aboveChart reports whether a move gave two ranks more support than the row asks, or was by a lift
// where none is charted.
func aboveChart(s *lexicon.Statement, row *chart.Row) bool {
	if trade.IsLift(s.Method) && !chartsLift(row) && !slices.ContainsFunc(row.Aids, trade.IsLift) {
		return true
	}
	r, ok := statedRank(s, chartRank(row.Transfer))
	return ok && r >= chartRank(row.Transfer)+2
}

// explained reports whether the note tells why more support was given, and that it was passed on: a
// fall or a sign, and a nurse, doctor or therapist told.
func explained(e *timeline.Entry) bool {
	event := len(done(e, func(s *lexicon.Statement) bool {
		return s.IsFall() || s.Group() == "sign" || s.Concept == "fall.near" || s.Concept == "fall.caught"
	})) > 0
	return event && e.Done("told.nurse", "told.doctor", "told.therapy", "told.emergency", "told.office")
}
