package rules

import (
	"fmt"

	"example.com/stance/lexicon"
	"example.com/stance/lint/chart"
	"example.com/stance/lint/finding"
)

func aidMissing() Rule {
	return Rule{ID: "aid-missing", Severity: finding.Error, Waits: true, charted: true, check: checkAidMissing,
		Per: "walks and transfers of residents charted with a walking aid", applies: movesWithAid}
}

func movesWithAid(p *pass) int {
	if p.entry.Row == nil || len(walkingAids(p.entry.Row.Aids)) == 0 {
		return 0
	}
	return len(done(p.entry, of("move.walk", "move.transfer")))
}

func checkAidMissing(p *pass) {
	row := p.entry.Row
	if row == nil {
		return
	}
	for _, s := range done(p.entry, of("move.walk", "move.transfer")) {
		if !leftOutAid(s, row) {
			continue
		}
		p.report(report{
			about:    s,
			message:  fmt.Sprintf("%s: walking aid %s; this note: %s", p.since(row), anyAid(walkingAids(row.Aids)), moveWords(s)),
			advice:   aidAdvice(p, s, "Fetch the charted aid before the next walk; if the resident will not use it, tell the nurse or therapist."),
			evidence: []finding.Evidence{cell(row, "aids")},
		})
	}
}

// leftOutAid reports whether a move was done with no aid where a walking aid is charted.
func leftOutAid(s *lexicon.Statement, row *chart.Row) bool {
	return s.HasAid("none") && len(walkingAids(row.Aids)) > 0
}
