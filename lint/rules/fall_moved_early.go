package rules

import (
	"example.com/stance/lexicon"
	"example.com/stance/lint/finding"
)

func fallMovedEarly() Rule {
	return Rule{ID: "fall-moved-early", Severity: finding.Error, check: checkFallMovedEarly,
		Per: "moves off the floor", applies: movesOffFloor}
}

func movesOffFloor(p *pass) int { return len(done(p.entry, of("fall.moved"))) }

func checkFallMovedEarly(p *pass) {
	for _, s := range done(p.entry, of("fall.moved")) {
		if n, ok := s.Staff.Get(); ok && n == 0 {
			continue // nobody moved them: they got up by themselves
		}
		checked := done(p.entry, func(o *lexicon.Statement) bool {
			return (o.Concept == "fall.assessed" || o.Concept == "told.nurse") && o.Span.Start < s.Span.Start
		})
		if len(checked) > 0 {
			continue
		}
		p.report(report{
			about:   s,
			message: "moved off the floor, and before that no word of a nurse called or of an examination",
			advice:  "Ask the nurse to examine the resident, and write what came first: the call, the examination, the move.",
		})
	}
}
