package rules

import (
	"example.com/stance/lexicon"
	"example.com/stance/lint/finding"
)

func fallHeadUnchecked() Rule {
	return Rule{ID: "fall-head-unchecked", Severity: finding.Warning, Waits: true, check: checkFallHeadUnchecked,
		Per: "notes with a fall that nobody eased", applies: uneasedFallNotes}
}

func uneasedFallNotes(p *pass) int {
	if len(done(p.entry, isUneasedFall)) == 0 {
		return 0
	}
	return 1
}

// isUneasedFall accepts the falls in which the head may have been struck.
func isUneasedFall(s *lexicon.Statement) bool { return s.IsFall() && s.Concept != "fall.eased" }

func checkFallHeadUnchecked(p *pass) {
	struck := done(p.entry, of("fall.head"))
	for _, s := range done(p.entry, isUneasedFall) {
		switch {
		case len(struck) > 0 && !hasVitals(p.entry):
			p.report(report{
				about:    s,
				unsure:   struck[0].Certainty == lexicon.Possible,
				message:  "a fall with the head struck, and no vital sign in the note",
				advice:   "Ask the nurse to check the resident and for vital signs, and add them.",
				evidence: []finding.Evidence{place(p.entry, struck[0])},
			})
		case s.Concept == "fall.found" && !p.entry.Any(speaksOfHead):
			p.report(report{
				about:   s,
				message: "a fall that nobody saw, and nothing said of the head",
				advice:  "Ask the nurse to check the head, and add whether it was struck.",
			})
		default:
			continue
		}
		return // once for the note: two words for one fall are one fall
	}
}

// speaksOfHead reports whether a statement says anything of the resident's head in this shift's fall.
func speaksOfHead(s *lexicon.Statement) bool {
	return s.Concept == "fall.head" && s.Who == lexicon.Resident && s.Time == lexicon.Now
}
