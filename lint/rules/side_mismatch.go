package rules

import (
	"fmt"

	"example.com/stance/lexicon"
	"example.com/stance/lint/finding"
)

func sideMismatch() Rule {
	return Rule{ID: "side-mismatch", Severity: finding.Error, charted: true, check: checkSideMismatch,
		Per: "statuses of one side, on residents whose two sides are charted differently", applies: statusesOfOneSide}
}

func statusesOfOneSide(p *pass) int {
	row := p.entry.Row
	if row == nil {
		return 0
	}
	return len(done(p.entry, func(s *lexicon.Statement) bool {
		if !isStatus(s) || len(sides(s)) != 1 {
			return false
		}
		left, _ := charted(row, limb(s), "left")
		right, _ := charted(row, limb(s), "right")
		return !alike(left, right)
	}))
}

func checkSideMismatch(p *pass) {
	for _, m := range mismatches(p.entry) {
		if m.stated.Side == "both" || m.stated.Concept == "bearing.full" {
			continue // full weight on a limited limb is bearing-mismatch, whatever the other side may do
		}
		other, field := charted(p.entry.Row, limb(m.stated), otherSide(m.side))
		if !sameStatus(m.stated, other) {
			continue
		}
		p.report(report{
			about: m.stated,
			message: fmt.Sprintf("%s: %s %s, %s %s; this note: %s %s, as if the sides were swapped", p.since(p.entry.Row),
				limbWords(limb(m.stated), otherSide(m.side)), bearingWords(other),
				limbWords(limb(m.stated), m.side), bearingWords(m.charted),
				limbWords(limb(m.stated), m.side), statedWords(m.stated)),
			advice:   swappedAdvice(p, m.stated),
			evidence: []finding.Evidence{cell(p.entry.Row, field), cell(p.entry.Row, m.field)},
		})
	}
}

// swappedAdvice says what to do where a side may be mistaken. A leg that is told to bear all may also have borne
// more than it may.
func swappedAdvice(p *pass, stated *lexicon.Statement) string {
	const check = "Check which side is meant before the next move, and correct the side in the note."
	if stated.Concept == "bearing.full" || stated.Concept == "bearing.tolerated" {
		return check + " If the side is right, the limb bears more than the chart allows: tell " + p.superior() + " now."
	}
	return check
}
