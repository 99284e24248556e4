package rules

import (
	"fmt"
	"slices"
	"strings"

	"example.com/stance/lexicon"
	"example.com/stance/lint/chart"
	"example.com/stance/lint/finding"
	"example.com/stance/lint/load"
	"example.com/stance/lint/timeline"
	"example.com/stance/lint/trade"
)

func loadOverLimit() Rule {
	return Rule{ID: "load-over-limit", Severity: finding.Error, charted: true, check: checkLoadOverLimit,
		Per: "moves that load a limb, on residents whose chart limits one", applies: loadsLimb}
}

// loadsLimb counts the moves that the load model judges, where the chart limits a limb.
func loadsLimb(p *pass) int {
	if p.entry.Row == nil || !limitsLimb(p.entry.Row) {
		return 0
	}
	return len(done(p.entry, func(s *lexicon.Statement) bool {
		_, judged := breach(s, load.Limits{}, p.entry.Row)
		return s.Group() == "move" && judged
	}))
}

// limitsLimb reports whether the row limits the weight on any limb.
func limitsLimb(r *chart.Row) bool {
	return slices.ContainsFunc([]chart.Bearing{r.LeftLeg, r.RightLeg, r.LeftArm, r.RightArm}, func(b chart.Bearing) bool {
		return b.Status != chart.Full && b.Status != chart.Tolerated
	})
}

func checkLoadOverLimit(p *pass) {
	row := p.entry.Row
	if row == nil {
		return
	}
	lifted, unknown := newLimits(p.entry, row)
	for _, s := range done(p.entry, inGroup("move")) {
		b, _ := breach(s, p.caps.Limits(row), row)
		if !b.Over() || unknown {
			continue
		}
		if lifted != nil {
			if still, _ := breach(s, p.caps.Limits(lifted), row); !still.Over() {
				continue
			}
		}
		p.report(report{
			about:    s,
			message:  fmt.Sprintf("%s (%s)", tooMuch(s, row, b), p.since(row)),
			sum:      fmt.Sprintf("%s; %s, %s", limitWords(row, b), moveWords(s), breachWords(s, row, b)),
			advice:   "Tell " + p.superior() + " now what happened, and watch the limb for pain and swelling. Before the next move, ask how this resident may be moved.",
			evidence: limitCells(row, b),
		})
	}
}

// breach holds a move against the limits, and reports whether the load model judges that move. A walk that names no aid is taken to be with the charted
// ones; being up with a walking aid is a walk.
func breach(s *lexicon.Statement, l load.Limits, row *chart.Row) (b load.Breach, judged bool) {
	switch {
	case s.Concept == "move.walk", s.Concept == "move.stairs",
		s.Concept == "move.up" && len(walkingAids(s.Aids)) > 0:
		return load.Walk(l, walkedWith(s, row)), true
	case s.Method == "sit-stand-lift":
		return load.SitStand(l), true
	case s.Method == "board":
		return load.Board(l), true
	case trade.IsLift(s.Method):
		return load.Breach{}, false
	case s.Concept == "move.stand", s.Method == "pivot", s.Method == "side-by-side":
		return load.Stand(l), true
	}
	return load.Breach{}, false
}

// walkedWith is the walking aids that a walk is taken to be with.
func walkedWith(s *lexicon.Statement, row *chart.Row) []string {
	if a := walkingAids(s.Aids); len(a) > 0 || s.HasAid("none") {
		return a
	}
	return walkingAids(row.Aids)
}

// newLimits is the row as the note itself changes it: by an order, or by a status reported with a
// review. It is nil where the note changes nothing. A review that names no status leaves the new
// limit unknown.
func newLimits(e *timeline.Entry, row *chart.Row) (changed *chart.Row, unknown bool) {
	stated := orders(e)
	reviewed := e.Done("review.done")
	if reviewed {
		stated = append(stated, done(e, isStatus)...)
	}
	if len(stated) == 0 {
		return nil, reviewed
	}
	next := *row
	for _, s := range stated {
		st, _ := status(s)
		pc, _ := s.Percent.Get()
		on := sides(s)
		if len(on) == 0 { // the side that is restricted
			on = []string{"left", "right"}
		}
		for _, side := range on {
			b, _ := charted(row, limb(s), side)
			if s.Side == "" && b.Status == chart.Full {
				continue
			}
			setLimb(&next, limb(s), side, chart.Bearing{Status: st, Percent: pc})
		}
	}
	return &next, false
}

func setLimb(r *chart.Row, limb, side string, b chart.Bearing) {
	switch side + " " + limb {
	case "left leg":
		r.LeftLeg = b
	case "right leg":
		r.RightLeg = b
	case "left arm":
		r.LeftArm = b
	case "right arm":
		r.RightArm = b
	}
}

// tooMuch says in plain words what the move asks of a limb and what that may take; the figures are the sum's.
func tooMuch(s *lexicon.Statement, row *chart.Row, b load.Breach) string {
	switch b.Kind {
	case load.EachLeg:
		return aidFallsShort(s, row, b) + legMay(row, b)
	case load.Together:
		return "walking is too much for the two legs together: " + legsMay(row)
	case load.Arms:
		return "over a board an arm must push, and neither may take weight"
	}
	return moveName(s) + " is too much: " + legsMay(row)
}

// aidFallsShort says why the aids of a walk do not take enough off a leg.
func aidFallsShort(s *lexicon.Statement, row *chart.Row, b load.Breach) string {
	named, charted := walkingAids(s.Aids), walkingAids(row.Aids)
	switch idle := idleAid(s, row, b); {
	case idle != "":
		return "an aid does not help" + idle + ": "
	case len(named) > 0:
		return allAids(named) + isNotEnough(named)
	case s.HasAid("none"):
		return "without an aid it is too much: "
	case len(charted) > 0:
		return "the charted " + strings.TrimPrefix(anyAid(charted), "a ") + isNotEnough(charted)
	}
	return "no aid is named or charted, and it is too much: "
}

func isNotEnough(aids []string) string {
	if len(aids) > 1 || strings.HasPrefix(aids[0], "crutch") {
		return " are not enough: "
	}
	return " is not enough: "
}

// legMay says what the leg may take whose limit was broken.
func legMay(row *chart.Row, b load.Breach) string {
	switch b.Side {
	case "left":
		return "the left leg " + may(row.LeftLeg)
	case "right":
		return "the right leg " + may(row.RightLeg)
	}
	return legsMay(row)
}

func legsMay(row *chart.Row) string {
	if row.LeftLeg == row.RightLeg {
		return "each leg " + may(row.LeftLeg)
	}
	return "the left leg " + may(row.LeftLeg) + ", the right leg " + may(row.RightLeg)
}

// may says what a limb may take.
func may(b chart.Bearing) string {
	switch b.Status {
	case chart.None:
		return "may take no weight"
	case chart.ToeTouch:
		return "may only touch the floor"
	case chart.Partial:
		if b.Percent > 0 {
			return "may take " + number(b.Percent) + "% of the body weight at most"
		}
		return "may take only part of the weight"
	case chart.Tolerated:
		return "may take what is comfortable"
	}
	return "is not restricted"
}

// moveName names a move that is done standing.
func moveName(s *lexicon.Statement) string {
	switch {
	case s.Method == trade.SitStandLift:
		return "a sit-stand lift"
	case s.Method == "pivot":
		return "a pivot"
	case s.Method == "side-by-side":
		return "a transfer side by side"
	}
	return "standing"
}

// limitWords names the charted limit that was broken.
func limitWords(row *chart.Row, b load.Breach) string {
	switch {
	case b.Kind == load.Arms:
		return fmt.Sprintf("left arm %s, right arm %s", bearingWords(row.LeftArm), bearingWords(row.RightArm))
	case b.Kind == load.EachLeg && b.Side == "left":
		return "left leg " + bearingWords(row.LeftLeg)
	case b.Kind == load.EachLeg && b.Side == "right":
		return "right leg " + bearingWords(row.RightLeg)
	case row.LeftLeg == row.RightLeg:
		return "both legs " + bearingWords(row.LeftLeg)
	}
	return fmt.Sprintf("left leg %s, right leg %s", bearingWords(row.LeftLeg), bearingWords(row.RightLeg))
}

// breachWords shows the sum.
func breachWords(s *lexicon.Statement, row *chart.Row, b load.Breach) string {
	switch b.Kind {
	case load.EachLeg:
		how := ""
		if len(walkingAids(s.Aids)) == 0 && !s.HasAid("none") {
			how = "with no aid named or charted, "
			if a := walkingAids(row.Aids); len(a) > 0 {
				how = "with " + anyAid(a) + " as charted, "
			}
		}
		legs := "the " + b.Side + " leg"
		if b.Side == "both" {
			legs = "either leg"
		}
		return fmt.Sprintf("which %sleaves %s of the body weight on each leg in turn%s; the chart allows %s on %s",
			how, share(b.Load), idleAid(s, row, b), share(b.Limit), legs)
	case load.Together:
		return fmt.Sprintf("which takes at least %s on the two legs together between steps; the chart allows %s",
			share(b.Load), share(b.Limit))
	case load.Arms:
		return "which takes weight on an arm; the chart allows none on either"
	}
	return fmt.Sprintf("which takes at least %s of the body weight on one leg; the chart allows %s at most",
		share(b.Load), share(b.Limit))
}

// idleAid says why an aid takes nothing off the legs where an arm may not lean on it.
func idleAid(s *lexicon.Statement, row *chart.Row, b load.Breach) string {
	if b.Load < 1 || len(walkedWith(s, row)) == 0 {
		return ""
	}
	for _, side := range []string{"left", "right"} {
		if arm, _ := charted(row, "arm", side); arm.Status == chart.None {
			return ", since the " + side + " arm may put no weight on the aid"
		}
	}
	return ""
}

// limitCells are the chart cells that the limit comes from.
func limitCells(row *chart.Row, b load.Breach) []finding.Evidence {
	if b.Kind == load.Arms {
		return []finding.Evidence{cell(row, "left_arm"), cell(row, "right_arm")}
	}
	fields := []string{"left_leg", "right_leg"}
	if b.Kind == load.EachLeg && b.Side != "both" {
		fields = []string{b.Side + "_leg"}
	}
	var out []finding.Evidence
	for _, f := range fields {
		out = append(out, cell(row, f))
	}
	if b.Kind == load.EachLeg && slices.ContainsFunc([]chart.Bearing{row.LeftArm, row.RightArm},
		func(a chart.Bearing) bool { return a.Status == chart.None }) {
		for _, f := range []string{"left_arm", "right_arm"} {
			if row.Cell(f) != "" {
				out = append(out, cell(row, f))
			}
		}
	}
	return out
}
