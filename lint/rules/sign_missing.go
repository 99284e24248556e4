package rules

import (
	"example.com/stance/lexicon"
	"example.com/stance/lint/finding"
)

func signMissing() Rule {
	return Rule{ID: "sign-missing", Severity: finding.Hint, check: checkSignMissing,
		Per: "notes that tell of the sign at the bed, door or chair", applies: signsTold}
}

func signsTold(p *pass) int {
	if p.entry.Any(func(s *lexicon.Statement) bool { return s.Concept == "posted.way" && s.Time == lexicon.Now }) {
		return 1
	}
	return 0
}

func checkSignMissing(p *pass) {
	if p.entry.Done("posted.way") {
		return // replaced
	}
	for i := range p.entry.Reading.Statements {
		s := &p.entry.Reading.Statements[i]
		if s.Concept != "posted.way" || !isSo(s, lexicon.Negated) || s.Detail.Mended {
			continue
		}
		p.report(report{
			about:   s,
			message: "no sign at the bed, door or chair states the way to move",
			advice:  "Put the sign up from the chart, or ask the nurse or therapist for one.",
		})
		return
	}
}
