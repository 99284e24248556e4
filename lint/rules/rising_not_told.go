package rules

import (
	"fmt"

	"example.com/stance/lexicon"
	"example.com/stance/lint/finding"
)

func risingNotTold() Rule {
	return Rule{ID: "rising-not-told", Severity: finding.Warning, Waits: true, check: checkRisingNotTold,
		Per: "care workers' notes with a sign that may come of rising", applies: risingNotesOfCareWorkers}
}

func risingNotesOfCareWorkers(p *pass) int {
	if p.entry.Note.Role != lexicon.CareWorker {
		return 0
	}
	return risingNotes(p)
}

func checkRisingNotTold(p *pass) {
	if p.entry.Note.Role != lexicon.CareWorker || p.toldClinician() {
		return
	}
	s := risingSign(p.entry)
	if s == nil {
		return
	}
	p.report(report{
		about:   s,
		message: fmt.Sprintf("%s, and no word that a nurse or doctor was told", signWords(s)),
		advice:  "Tell the nurse now, and add whom you told and when.",
	})
}
