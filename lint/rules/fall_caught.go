package rules

import (
	"example.com/stance/lexicon"
	"example.com/stance/lint/finding"
)

func fallCaught() Rule {
	return Rule{ID: "fall-caught", Severity: finding.Warning, check: checkFallCaught,
		Per: "falls and near falls", applies: fallsAndNearFalls}
}

func fallsAndNearFalls(p *pass) int {
	return len(done(p.entry, func(s *lexicon.Statement) bool {
		return s.IsFall() || s.Concept == "fall.near" || s.Concept == "fall.caught"
	}))
}

func checkFallCaught(p *pass) {
	for _, s := range done(p.entry, of("fall.caught")) {
		p.report(report{
			about:   s,
			message: "a falling resident was caught, which can injure both",
			advice:  "Tell the nurse, check resident and helper for strain or injury, and file it as a near injury to staff too.",
		})
	}
}
