package rules

import (
	"example.com/stance/lexicon"
	"example.com/stance/lint/finding"
)

func fallInjuryUnstated() Rule {
	return Rule{ID: "fall-injury-unstated", Severity: finding.Hint, Waits: true, check: checkFallInjuryUnstated,
		Per: "notes with a fall", applies: fallNotes}
}

func fallNotes(p *pass) int {
	if len(done(p.entry, (*lexicon.Statement).IsFall)) == 0 {
		return 0
	}
	return 1
}

func checkFallInjuryUnstated(p *pass) {
	falls := done(p.entry, (*lexicon.Statement).IsFall)
	if len(falls) == 0 || p.entry.Any(speaksOfInjury) {
		return
	}
	p.report(report{
		about:   falls[0],
		message: "a fall, and nothing said of injury",
		advice:  "Add what injury was found, or that none was.",
	})
}

// speaksOfInjury reports whether a statement says that there was, or was not, an injury.
func speaksOfInjury(s *lexicon.Statement) bool {
	return injured(s) && s.Who == lexicon.Resident && s.Time == lexicon.Now
}
