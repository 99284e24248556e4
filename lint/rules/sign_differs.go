package rules

import (
	"fmt"
	"strings"

	"example.com/stance/lexicon"
	"example.com/stance/lint/chart"
	"example.com/stance/lint/finding"
)

func signDiffers() Rule {
	return Rule{ID: "sign-differs", Severity: finding.Warning, check: checkSignDiffers,
		Per: "signs that state the way to move, of charted residents", applies: signsCharted}
}

func signsCharted(p *pass) int {
	if p.entry.Row == nil {
		return 0
	}
	return len(done(p.entry, of("posted.way")))
}

func checkSignDiffers(p *pass) {
	row := p.entry.Row
	if row == nil || givesPlan(p.entry) {
		return
	}
	for _, s := range done(p.entry, of("posted.way")) {
		field := p.signDiffersIn(s, row)
		if field == "" {
			continue
		}
		p.report(report{
			about:    s,
			message:  fmt.Sprintf("%s: %s; the sign: %s", p.since(row), p.wayWords(row), signStates(s)),
			advice:   "Follow the chart, take the sign down or put the right one up, and ask the nurse or therapist if in doubt.",
			evidence: []finding.Evidence{cell(row, field)},
		})
	}
}

// signDiffersIn is the chart's field from which the sign differs, "" for none. Only what the sign states is
// compared, and a lift of unsaid kind fits any charted lift.
func (p *pass) signDiffersIn(s *lexicon.Statement, row *chart.Row) string {
	if s.Method != "" && !fitsMethod(s.Method, row) {
		return "transfer"
	}
	if n, ok := s.Staff.Get(); ok && n != row.Helpers(p.policy.LiftHelpers) {
		return "staff"
	}
	if s.Method == "" && s.Staff.IsZero() && s.Assist != "" {
		if r, ok := statedRank(s, 0); ok && r != chartRank(row.Transfer) {
			return "transfer"
		}
	}
	return ""
}

// fitsMethod reports whether a stated method is one that the charted way to transfer may be done by.
func fitsMethod(method string, row *chart.Row) bool {
	switch method {
	case "lift":
		return chartsLift(row)
	case "total-lift":
		return row.Transfer == chart.TotalLift
	case "sit-stand-lift":
		return row.Transfer == chart.SitStandLift
	case "board":
		return row.Transfer == chart.Board
	case "pivot":
		return row.Transfer == chart.OnePersonPivot || row.Transfer == chart.TwoPersonPivot || row.Transfer == chart.OnePerson || row.Transfer == chart.TwoPerson
	case "side-by-side":
		return row.Transfer == chart.OnePersonSide || row.Transfer == chart.TwoPersonSide || row.Transfer == chart.OnePerson || row.Transfer == chart.TwoPerson
	}
	return true
}

// signStates says what a sign states.
func signStates(s *lexicon.Statement) string {
	var parts []string
	if s.Method != "" {
		parts = append(parts, methodWords(s.Method))
	}
	if how := helpWords(s); how != "" {
		parts = append(parts, how)
	}
	if len(parts) == 0 {
		return "another way"
	}
	return strings.Join(parts, ", ")
}
