package rules

import (
	"fmt"
	"slices"

	"example.com/stance/lexicon"
	"example.com/stance/lint/finding"
	"example.com/stance/lint/policy"
	"example.com/stance/lint/trade"
)

func liftOneHelper() Rule {
	return Rule{ID: "lift-one-helper", Severity: finding.Error, check: checkLiftOneHelper,
		Per: "moves by lift that tell the helpers", applies: countedLifts}
}

func countedLifts(p *pass) int {
	return len(done(p.entry, func(s *lexicon.Statement) bool {
		_, told := s.Staff.Get()
		return ranLift(s) && told
	}))
}

func checkLiftOneHelper(p *pass) {
	want := p.liftTakes()
	for _, s := range done(p.entry, ranLift) {
		n, ok := s.Staff.Get()
		if !ok || n+p.allowedHelpers(s) >= want {
			continue
		}
		p.report(report{
			about:   s,
			message: fmt.Sprintf("a lift takes %s here; this note: %s", helpers(want), moveWords(s)),
			advice:  "Wait for a second helper before running the lift; tell the nurse if there is none to be had.",
		})
	}
}

// ranLift accepts the moves done by a mechanical lift; a sign that states one is no move.
func ranLift(s *lexicon.Statement) bool {
	return trade.IsLift(s.Method) && (s.Group() == "move" || s.Concept == "fall.moved")
}

// liftTakes is how many helpers a lift takes: the home's number, unless the chart lets this resident be lifted
// by one.
func (p *pass) liftTakes() int {
	if row := p.entry.Row; row != nil && chartsLift(row) && row.Staff == 1 {
		return 1
	}
	return p.policy.LiftHelpers
}

// allowedHelpers counts those besides staff who may help to run a lift, as one: notes seldom count relatives.
// Students are counted among the staff already.
func (p *pass) allowedHelpers(s *lexicon.Statement) int {
	if p.setting() == policy.HomeCare && slices.ContainsFunc(s.Helpers, func(who string) bool {
		return who != "student" && p.policy.MayLift(who, policy.HomeCare)
	}) {
		return 1
	}
	return 0
}
