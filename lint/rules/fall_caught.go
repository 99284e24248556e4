package rules

import "example.com/stance/lint/finding"

func fallCaught() Rule {
	return Rule{ID: "fall-caught", Severity: finding.Warning, check: checkFallCaught}
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
