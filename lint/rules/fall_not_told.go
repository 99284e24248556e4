package rules

import (
	"example.com/stance/lexicon"
	"example.com/stance/lint/finding"
)

func fallNotTold() Rule {
	return Rule{ID: "fall-not-told", Severity: finding.Error, check: checkFallNotTold}
}

func checkFallNotTold(p *pass) {
	if p.entry.Note.Role != lexicon.CareWorker || toldClinician(p.entry) {
		return
	}
	for _, s := range done(p.entry, isFall) {
		p.report(report{
			about:   s,
			message: "a fall, and no word that a nurse or doctor was told",
			advice:  "Tell the nurse now, and add whom you told and when.",
		})
	}
}
