package rules

import (
	"fmt"

	"example.com/stance/lexicon"
	"example.com/stance/lint/chart"
	"example.com/stance/lint/finding"
)

func methodBelowChart() Rule {
	return Rule{ID: "method-below-chart", Severity: finding.Error, charted: true, check: checkMethodBelowChart,
		Per: "transfers, lifts and stands that tell way or help, on residents charted with support", applies: rankedMoves}
}

func rankedMoves(p *pass) int {
	row := p.entry.Row
	if row == nil || chartRank(row.Transfer) == rankAlone {
		return 0
	}
	return len(done(p.entry, func(s *lexicon.Statement) bool { return isSupported(s) && isRanked(s) }))
}

// isRanked reports whether a move tells its way, its helpers or its assist level.
func isRanked(s *lexicon.Statement) bool {
	_, ok := statedRank(s, rankAlone)
	return ok
}

func checkMethodBelowChart(p *pass) {
	row := p.entry.Row
	if row == nil || reassessing(p.entry) {
		return
	}
	for _, s := range done(p.entry, isSupported) {
		if !belowChart(s, row) {
			continue
		}
		p.report(report{
			about:    s,
			message:  fmt.Sprintf("%s: %s; this note: %s, which is less support", p.since(row), p.wayWords(row), moveWords(s)),
			advice:   "Use the charted way for the next move; if less help seems enough, ask the nurse or therapist to reassess first.",
			evidence: []finding.Evidence{cell(row, "transfer"), cell(row, "staff")},
		})
	}
}

// belowChart reports whether a move gave less support than the row asks, as far as it can be told.
func belowChart(s *lexicon.Statement, row *chart.Row) bool {
	if chartsLift(row) && s.Concept != "move.stand" && onlyHelpers(s) {
		return false // a lift may have been used: method-unstated or manual-lift
	}
	_, counted := s.Staff.Get()
	if counted && namesChartedWay(s, row) {
		return false // the right way with too few helpers: staff-below-chart
	}
	r, ok := statedRank(s, chartRank(row.Transfer))
	return ok && r < chartRank(row.Transfer)
}

// onlyHelpers reports whether the move gives at most a number of helpers, which may have run a lift.
func onlyHelpers(s *lexicon.Statement) bool {
	n, counted := s.Staff.Get()
	return s.Method == "" && s.Assist == "" && (!counted || n > 0)
}

// namesChartedWay reports whether the note names the very way that is charted.
func namesChartedWay(s *lexicon.Statement, row *chart.Row) bool {
	switch row.Transfer {
	case chart.OnePersonPivot, chart.TwoPersonPivot:
		return s.Method == "pivot"
	case chart.OnePersonSide, chart.TwoPersonSide:
		return s.Method == "side-by-side"
	case chart.Board:
		return s.Method == "board"
	}
	return false
}
