package rules

import (
	"fmt"

	"example.com/stance/lint/chart"
	"example.com/stance/lint/finding"
)

func limbUnstated() Rule {
	return Rule{ID: "limb-unstated", Severity: finding.Warning, check: checkLimbUnstated}
}

func checkLimbUnstated(p *pass) {
	for _, s := range done(p.entry, of("bearing.none", "bearing.toe-touch", "bearing.partial")) {
		if s.Side != "" {
			continue
		}
		message := fmt.Sprintf("%s, and no side; there is no chart row to tell which %s", statedWords(s), limb(s))
		var evidence []finding.Evidence
		if row := p.entry.Row; row != nil {
			left, lf := charted(row, limb(s), "left")
			right, rf := charted(row, limb(s), "right")
			if alike(left, right) {
				continue
			}
			message = fmt.Sprintf("%s, and no side; %s: left %s %s, right %s %s",
				statedWords(s), p.since(row), limb(s), bearingWords(left), limb(s), bearingWords(right))
			evidence = []finding.Evidence{cell(row, lf), cell(row, rf)}
		}
		p.report(report{
			about:    s,
			message:  message,
			advice:   "Add which limb and which side.",
			evidence: evidence,
		})
	}
}

// alike reports whether two limbs are charted with one status.
func alike(a, b chart.Bearing) bool { return a.Status == b.Status && a.Percent == b.Percent }
