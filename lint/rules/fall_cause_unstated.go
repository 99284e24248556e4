package rules

import (
	"example.com/stance/lexicon"
	"example.com/stance/lint/finding"
)

func fallCauseUnstated() Rule {
	return Rule{ID: "fall-cause-unstated", Severity: finding.Hint, Waits: true, check: checkFallCauseUnstated,
		Per: "notes with a fall", applies: fallNotes}
}

func checkFallCauseUnstated(p *pass) {
	falls := done(p.entry, (*lexicon.Statement).IsFall)
	if len(falls) == 0 || p.entry.Any(TellsCause) {
		return
	}
	p.report(report{
		about:   falls[0],
		message: "a fall, and nothing said of what brought it about",
		advice:  "Add what the resident was doing, wore on the feet and used, and how floor and light were; if nobody knows, ask the resident and write the answer.",
	})
}

// TellsCause reports whether a statement says what may have brought a fall about.
func TellsCause(s *lexicon.Statement) bool {
	if s.Time != lexicon.Now {
		return false
	}
	if s.Concept == "wheel.brakes" {
		return s.Polarity == lexicon.Negated
	}
	switch s.Concept {
	case "fall.cause", "fall.near", "aid.fault":
	default:
		if g := s.Group(); g != "hazard" && g != "sign" {
			return false
		}
	}
	return s.Polarity == lexicon.Affirmed
}
