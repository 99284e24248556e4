package rules

import (
	"fmt"

	"example.com/stance/lint/finding"
)

func aidUnstated() Rule {
	return Rule{ID: "aid-unstated", Severity: finding.Hint, check: checkAidUnstated}
}

func checkAidUnstated(p *pass) {
	row := p.entry.Row
	if row == nil || len(walkingAids(row.Aids)) == 0 {
		return
	}
	for _, s := range done(p.entry, of("move.walk")) {
		if len(walkingAids(s.Aids)) > 0 || s.HasAid("none") {
			continue
		}
		p.report(report{
			about:    s,
			message:  fmt.Sprintf("%s: walks with %s; this note: %s, with no word of an aid", p.since(row), anyAid(walkingAids(row.Aids)), moveWords(s)),
			advice:   "Add which walking aid was used, or that none was.",
			evidence: []finding.Evidence{cell(row, "aids")},
		})
	}
}
