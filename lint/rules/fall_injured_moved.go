package rules

import (
	"fmt"

	"example.com/stance/lexicon"
	"example.com/stance/lint/finding"
	"example.com/stance/lint/policy"
)

func fallInjuredMoved() Rule {
	return Rule{ID: "fall-injured-moved", Severity: finding.Error, check: checkFallInjuredMoved,
		Per: "moves off the floor with a sign of a broken bone or an injured neck or back", applies: movesInjured}
}

func movesInjured(p *pass) int {
	if gravelyHurt(p) == nil {
		return 0
	}
	return movesOffFloor(p)
}

// gravelyHurt is the first sign in the note of an injury with which nobody is to be moved, nil for none.
func gravelyHurt(p *pass) *lexicon.Statement {
	if hurt := done(p.entry, of("fall.fracture", "fall.spine")); len(hurt) > 0 {
		return hurt[0]
	}
	return nil
}

func checkFallInjuredMoved(p *pass) {
	hurt := gravelyHurt(p)
	if hurt == nil {
		return
	}
	for _, s := range done(p.entry, of("fall.moved")) {
		if n, ok := s.Staff.Get(); ok && n == 0 && len(s.Helpers) == 0 {
			continue // nobody moved the resident
		}
		first := []string{"told.nurse", "told.doctor", "told.emergency"}
		if p.setting() != policy.HomeCare {
			first = append(first, "fall.assessed")
		}
		if toldBefore(p.entry, s.Span.Start, first...) {
			continue
		}
		p.report(report{
			about:    s,
			message:  fmt.Sprintf("moved off the floor with %s, and before that no word of a nurse, a doctor or an ambulance", hurtWords(hurt)),
			advice:   "Leave the resident where they lie, keep them warm and still, and call the nurse or the emergency number; write what came first.",
			evidence: []finding.Evidence{place(p.entry, hurt)},
		})
	}
}

// hurtWords names an injury with which nobody is to be moved.
func hurtWords(s *lexicon.Statement) string {
	if s.Concept == "fall.spine" {
		return "pain or numbness of the neck or back"
	}
	return "a sign of a broken bone"
}
