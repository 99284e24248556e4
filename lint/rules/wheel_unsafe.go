package rules

import (
	"example.com/stance/lexicon"
	"example.com/stance/lint/finding"
)

func wheelUnsafe() Rule {
	return Rule{ID: "wheel-unsafe", Severity: finding.Warning, check: checkWheelUnsafe,
		Per: "notes that tell how a wheelchair was driven", applies: driven}
}

func driven(p *pass) int {
	if p.entry.Any(func(s *lexicon.Statement) bool {
		return s.Concept == "move.wheel" || s.Concept == "wheel.told" || s.Concept == "wheel.fast"
	}) {
		return 1
	}
	return 0
}

func checkWheelUnsafe(p *pass) {
	for i := range p.entry.Reading.Statements {
		s := &p.entry.Reading.Statements[i]
		message := ""
		switch {
		case s.Who != lexicon.Resident:
		case s.Concept == "wheel.fast" && isSo(s, lexicon.Affirmed):
			message = "a wheelchair was pushed too fast or ran into something"
		case s.Concept == "wheel.told" && isSo(s, lexicon.Negated):
			message = "a wheelchair was moved and the resident was not told"
		}
		if message == "" {
			continue
		}
		p.report(report{
			about:   s,
			message: message,
			advice:  "Tell the resident before the chair moves, walk slowly, and keep feet and elbows inside; look for injury and tell the nurse of a blow.",
		})
		return // once for the note
	}
}
