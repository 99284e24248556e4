package rules

import (
	"fmt"

	"example.com/stance/lexicon"
	"example.com/stance/lint/finding"
	"example.com/stance/lint/timeline"
)

func copiedForward() Rule {
	return Rule{ID: "copied-forward", Severity: finding.Warning, check: checkCopiedForward,
		Per: "notes long enough to compare, with an earlier note on the resident to compare them with", applies: comparedForward}
}

func comparedForward(p *pass) int {
	if p.copies.ComparedForward(p.at) {
		return 1
	}
	return 0
}

func checkCopiedForward(p *pass) {
	c, ok := p.copies.Forward[p.entry]
	if !ok {
		return
	}
	r := report{
		message: fmt.Sprintf("%s of the words are those of the note of %s (%s shift)",
			shareOfWords(c.Share), c.Of.Note.Time.Format("2 Jan 15:04"), c.Of.Shift.Name),
		advice:   "Write what this shift saw and did; leave out what was only carried over.",
		evidence: []finding.Evidence{opening(c.Of)},
	}
	if s, field := outdated(p.entry, c.Of); s != nil {
		r.raised = true
		r.message += fmt.Sprintf(", and it carries %s, which the chart has changed since", sayingWords(s))
		r.evidence = append(r.evidence, cell(c.Of.Row, field), cell(p.entry.Row, field))
	}
	p.report(r)
}

// outdated is a status that the note states as it was charted at the time of the earlier note and is
// no longer, with the chart's field; nil for none.
func outdated(e, earlier *timeline.Entry) (*lexicon.Statement, string) {
	if e.Row == nil || earlier.Row == nil || e.Row == earlier.Row {
		return nil, ""
	}
	for _, s := range done(e, isStatus) {
		for _, side := range sides(s) {
			was, field := charted(earlier.Row, limb(s), side)
			is, _ := charted(e.Row, limb(s), side)
			if sameStatus(s, was) && !agrees(s, is) {
				return s, field
			}
		}
	}
	return nil, ""
}

// opening is the first words of a note, as evidence.
func opening(e *timeline.Entry) finding.Evidence {
	span := e.Opening()
	return finding.Evidence{Resident: e.Note.Resident, Note: e.Note.ID, Span: &span, Text: e.Words(span)}
}
