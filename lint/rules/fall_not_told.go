package rules

import (
	"example.com/stance/lexicon"
	"example.com/stance/lint/finding"
)

func fallNotTold() Rule {
	return Rule{ID: "fall-not-told", Severity: finding.Error, Waits: true, check: checkFallNotTold,
		Per: "care workers' notes with a fall", applies: fallNotesOfCareWorkers}
}

func fallNotesOfCareWorkers(p *pass) int {
	if p.entry.Note.Role != lexicon.CareWorker {
		return 0
	}
	return fallNotes(p)
}

func checkFallNotTold(p *pass) {
	if p.entry.Note.Role != lexicon.CareWorker || p.toldClinician() || p.entry.Done("fall.assessed") {
		return // who has examined the resident knows of the fall
	}
	falls := done(p.entry, (*lexicon.Statement).IsFall)
	if len(falls) == 0 {
		return
	}
	p.report(report{
		about:   falls[0], // once for the note: two words for one fall are one fall
		message: "a fall, and no word that a nurse or doctor was told",
		advice:  "Tell the nurse now, and add whom you told and when.",
	})
}
