package rules

import (
	"example.com/stance/lexicon"
	"example.com/stance/lint/finding"
)

func brakesOff() Rule {
	return Rule{ID: "brakes-off", Severity: finding.Warning, check: checkBrakesOff,
		Per: "notes that tell of wheelchair brakes", applies: brakesTold}
}

func brakesTold(p *pass) int {
	n := 0
	for i := range p.entry.Reading.Statements {
		if s := &p.entry.Reading.Statements[i]; s.Concept == "wheel.brakes" && s.Time == lexicon.Now && s.Mood == lexicon.Report {
			n++
		}
	}
	return n
}

func checkBrakesOff(p *pass) {
	for i := range p.entry.Reading.Statements {
		s := &p.entry.Reading.Statements[i]
		if s.Concept != "wheel.brakes" || !isSo(s, lexicon.Negated) || s.Who != lexicon.Resident || s.Detail.Mended {
			continue
		}
		p.report(report{
			about:   s,
			message: "the brakes of the wheelchair were off",
			advice:  "Put both brakes on before anybody gets in or out; if they do not hold, take the chair out of use and report it.",
		})
	}
}
