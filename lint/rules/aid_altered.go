package rules

import (
	"example.com/stance/lexicon"
	"example.com/stance/lint/finding"
	"example.com/stance/lint/policy"
)

func aidAltered() Rule {
	return Rule{ID: "aid-altered", Severity: finding.Warning, check: checkAidAltered,
		Per: "aids altered or swapped by care workers", applies: alteredAids}
}

func alteredAids(p *pass) int {
	if p.entry.Note.Role != lexicon.CareWorker {
		return 0
	}
	return len(done(p.entry, alteredByCareWorker))
}

// alteredByCareWorker reports whether an aid was altered by who writes, not by a therapist or nurse of whom it is told.
func alteredByCareWorker(s *lexicon.Statement) bool {
	return s.Concept == "aid.fit" && s.Fit == "altered" && !s.Detail.Expert
}

func checkAidAltered(p *pass) {
	if p.entry.Note.Role != lexicon.CareWorker || p.entry.Done("told.therapy", "told.nurse") || p.setting() == policy.HomeCare && p.entry.Done("told.office") {
		return
	}
	for _, s := range done(p.entry, alteredByCareWorker) {
		p.report(report{
			about:   s,
			message: "an aid was altered or swapped, and no word that therapist or nurse was told",
			advice:  "Ask the therapist to check the fit before the resident walks with it, and add whom you told.",
		})
	}
}
