package rules

import (
	"fmt"

	"example.com/stance/lexicon"
	"example.com/stance/lint/chart"
	"example.com/stance/lint/finding"
)

func manualLift() Rule {
	return Rule{ID: "manual-lift", Severity: finding.Error, check: checkManualLift,
		Per: "lifts worded as done by hand", applies: liftsByHand}
}

func liftsByHand(p *pass) int {
	return len(done(p.entry, func(s *lexicon.Statement) bool { return s.Detail.ByHand }))
}

func checkManualLift(p *pass) {
	for _, s := range done(p.entry, func(s *lexicon.Statement) bool { return s.Detail.ByHand }) {
		why, evidence := noLiftByHand(p, s)
		if why == "" {
			continue
		}
		p.report(report{
			about:    s,
			message:  fmt.Sprintf("%s; this note: %q, with no equipment named", why, p.entry.Words(headOf(s))),
			advice:   "If equipment was used, name it; if not, report the lift, and check resident and helpers for injury.",
			evidence: evidence,
		})
	}
}

// noLiftByHand says why people should not have lifted the resident; empty where nothing tells.
func noLiftByHand(p *pass, s *lexicon.Statement) (string, []finding.Evidence) {
	row := p.entry.Row
	switch {
	case row != nil && chartsLift(row):
		return p.since(row) + ": " + p.wayWords(row), []finding.Evidence{cell(row, "transfer")}
	case row != nil && row.LeftLeg.Status == chart.None && row.RightLeg.Status == chart.None:
		return p.since(row) + ": both legs no weight (NWB)", []finding.Evidence{cell(row, "left_leg"), cell(row, "right_leg")}
	case s.Concept == "fall.moved":
		return "up off the floor after a fall", nil
	case noPart(p.entry, s):
		return "the note says that the resident was dependent or could not bear weight", nil
	}
	return "", nil
}
