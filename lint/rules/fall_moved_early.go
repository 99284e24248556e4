package rules

import (
	"slices"

	"example.com/stance/lexicon"
	"example.com/stance/lint/finding"
	"example.com/stance/lint/policy"
)

func fallMovedEarly() Rule {
	return Rule{ID: "fall-moved-early", Severity: finding.Error, check: checkFallMovedEarly,
		Per: "moves off the floor", applies: movesOffFloor}
}

func movesOffFloor(p *pass) int { return len(done(p.entry, of("fall.moved"))) }

func checkFallMovedEarly(p *pass) {
	for _, s := range done(p.entry, of("fall.moved")) {
		if n, ok := s.Staff.Get(); ok && n == 0 && len(s.Helpers) == 0 {
			continue // nobody moved the resident
		}
		first := append(slices.DeleteFunc(p.clinicians(), func(c string) bool { return c == "told.doctor" }), "fall.assessed")
		if toldBefore(p.entry, s.Span.Start, first...) || p.lookedFirst(s) {
			continue
		}
		p.report(report{
			about:   s,
			message: "moved off the floor, and before that no word of a nurse called or of an examination",
			advice:  "Ask the nurse to examine the resident, and write what came first: the call, the examination, the move.",
		})
	}
}

// lookedFirst reports whether a worker in home care, who has no nurse to call over, looked for injury before the
// move and found none.
func (p *pass) lookedFirst(moved *lexicon.Statement) bool {
	if p.setting() != policy.HomeCare || len(done(p.entry, injured)) > 0 {
		return false
	}
	return p.entry.Any(func(s *lexicon.Statement) bool { return speaksOfInjury(s) && s.Span.Start < moved.Span.Start })
}

// injured accepts the statements of an injury from a fall.
func injured(s *lexicon.Statement) bool {
	return s.Concept == "fall.injury" || s.Concept == "fall.fracture" || s.Concept == "fall.spine"
}
