package rules

import (
	"fmt"
	"slices"

	"example.com/stance/lexicon"
	"example.com/stance/lint/chart"
	"example.com/stance/lint/finding"
)

func limbUnstated() Rule {
	return Rule{ID: "limb-unstated", Severity: finding.Warning, Waits: true, check: checkLimbUnstated,
		Per: "restricted statuses stated, unless the chart has both sides alike", applies: restrictedStatuses}
}

func restrictedStatuses(p *pass) int {
	return len(done(p.entry, func(s *lexicon.Statement) bool {
		if !isRestricted(s) {
			return false
		}
		if p.entry.Row == nil {
			return true
		}
		left, _ := charted(p.entry.Row, limb(s), "left")
		right, _ := charted(p.entry.Row, limb(s), "right")
		return !alike(left, right)
	}))
}

// isRestricted accepts the statuses that allow less than weight as tolerated.
func isRestricted(s *lexicon.Statement) bool {
	return s.Concept == "bearing.none" || s.Concept == "bearing.toe-touch" || s.Concept == "bearing.partial"
}

func checkLimbUnstated(p *pass) {
	sided := done(p.entry, func(s *lexicon.Statement) bool { return isStatus(s) && s.Side != "" })
	for _, s := range done(p.entry, isRestricted) {
		if s.Side != "" || slices.ContainsFunc(sided, func(o *lexicon.Statement) bool { return sideTold(o, s) }) {
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

// sideTold reports whether o tells the side of the very status that s gives without one.
func sideTold(o, s *lexicon.Statement) bool {
	return sameBearing(o, s) && limb(o) == limb(s)
}
