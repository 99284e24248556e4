package rules

import (
	"fmt"

	"example.com/stance/lexicon"
	"example.com/stance/lint/finding"
)

func liftOneHelper() Rule {
	return Rule{ID: "lift-one-helper", Severity: finding.Error, check: checkLiftOneHelper,
		Per: "moves by lift that tell the helpers", applies: countedLifts}
}

func countedLifts(p *pass) int {
	return len(done(p.entry, func(s *lexicon.Statement) bool {
		_, told := s.Staff.Get()
		return isLift(s.Method) && told
	}))
}

func checkLiftOneHelper(p *pass) {
	for _, s := range done(p.entry, func(s *lexicon.Statement) bool { return isLift(s.Method) }) {
		n, ok := s.Staff.Get()
		if !ok || n >= p.policy.LiftHelpers {
			continue
		}
		p.report(report{
			about:   s,
			message: fmt.Sprintf("a lift takes %s here; this note: %s", helpers(p.policy.LiftHelpers), moveWords(s)),
			advice:  "Wait for a second helper before running the lift; tell the nurse if there is none to be had.",
		})
	}
}
