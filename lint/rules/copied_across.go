package rules

import (
	"fmt"

	"example.com/stance/lint/finding"
)

func copiedAcross() Rule {
	return Rule{ID: "copied-across", Severity: finding.Warning, check: checkCopiedAcross,
		Per: "notes long enough to compare, with a note on another resident on the shift", applies: comparedAcross}
}

func comparedAcross(p *pass) int {
	if p.copies.ComparedAcross(p.at) {
		return 1
	}
	return 0
}

func checkCopiedAcross(p *pass) {
	c, ok := p.copies.Across[p.entry]
	if !ok {
		return
	}
	p.report(report{
		message: fmt.Sprintf("%s of the words are those of the note on resident %s of %s, on the same shift",
			shareOfWords(c.Share), c.Of.Note.Resident, c.Of.Note.Time.Format("2 Jan 15:04")),
		advice:   "Check that the note is about this resident, and write what was seen and done with this one.",
		evidence: []finding.Evidence{opening(c.Of)},
	})
}
