package rules

import "example.com/stance/lint/finding"

func aidMisfit() Rule {
	return Rule{ID: "aid-misfit", Severity: finding.Warning, check: checkAidMisfit,
		Per: "remarks on the fit of an aid", applies: fitRemarks}
}

func fitRemarks(p *pass) int { return len(done(p.entry, of("aid.fit"))) }

func checkAidMisfit(p *pass) {
	for _, s := range done(p.entry, of("aid.fit")) {
		if s.Fit != "wrong" {
			continue
		}
		p.report(report{
			about:   s,
			message: "the aid does not fit as this note has it",
			advice:  "Ask the therapist to fit it: handle at the wrist crease, crutch pads two to three finger widths below the armpit.",
		})
	}
}
