package rules

import (
	"fmt"
	"slices"
	"strings"

	"example.com/stance/lexicon"
	"example.com/stance/lint/finding"
)

func liftUnsupervised() Rule {
	return Rule{ID: "lift-unsupervised", Severity: finding.Error, check: checkLiftUnsupervised,
		Per: "moves by lift with helpers who are no staff", applies: liftsWithOthers}
}

func liftsWithOthers(p *pass) int {
	return len(done(p.entry, func(s *lexicon.Statement) bool { return ranLift(s) && len(s.Helpers) > 0 }))
}

func checkLiftUnsupervised(p *pass) {
	for _, s := range done(p.entry, func(s *lexicon.Statement) bool { return ranLift(s) && len(s.Helpers) > 0 }) {
		if slices.Contains(s.Helpers, "staff") || !slices.ContainsFunc(s.Helpers, func(who string) bool {
			return !p.policy.MayLift(who, p.setting())
		}) {
			continue
		}
		who := make([]string, len(s.Helpers))
		for i, h := range s.Helpers {
			who[i] = groupWords(h)
		}
		p.report(report{
			about:   s,
			message: fmt.Sprintf("a lift was run by %s, and no staff with them", strings.Join(who, " and ")),
			advice:  "Have staff who are trained on the lift run it; tell the nurse, and show the others when to call for help.",
		})
	}
}

// groupWords names those who are no staff.
func groupWords(group string) string {
	switch group {
	case "student":
		return "students"
	case "volunteer":
		return "volunteers"
	case "other-resident":
		return "other residents"
	}
	return group
}
