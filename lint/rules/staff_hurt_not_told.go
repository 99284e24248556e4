package rules

import (
	"example.com/stance/lexicon"
	"example.com/stance/lint/finding"
)

func staffHurtNotTold() Rule {
	return Rule{ID: "staff-hurt-not-told", Severity: finding.Warning, Waits: true, check: checkStaffHurtNotTold,
		Per: "notes in which staff were hurt", applies: staffHurtNotes}
}

func staffHurtNotes(p *pass) int {
	if staffHurt(p) == nil {
		return 0
	}
	return 1
}

// staffHurt is the first injury of staff in the note, nil for none.
func staffHurt(p *pass) *lexicon.Statement {
	for i := range p.entry.Reading.Statements {
		if s := &p.entry.Reading.Statements[i]; IsStaffHurt(s) {
			return s
		}
	}
	return nil
}

// IsStaffHurt reports whether a statement says that staff were hurt or strained in this shift.
func IsStaffHurt(s *lexicon.Statement) bool {
	return s.Concept == "staff.hurt" && isSo(s, lexicon.Affirmed)
}

func checkStaffHurtNotTold(p *pass) {
	s := staffHurt(p)
	if s == nil || p.entry.Done("told.nurse", "told.doctor", "told.office", "told.form", "told.emergency") {
		return
	}
	p.report(report{
		about:   s,
		message: "staff were hurt or strained, and no word that anybody was told or a report filled in",
		advice:  "Tell the nurse or supervisor, fill in the report of the injury now, and see a doctor if it hurts; add whom you told.",
	})
}
