package rules

import (
	"fmt"
	"slices"

	"example.com/stance/lexicon"
	"example.com/stance/lint/chart"
	"example.com/stance/lint/finding"
	"example.com/stance/lint/timeline"
	"example.com/stance/lint/trade"
)

func equipmentSkipped() Rule {
	return Rule{ID: "equipment-skipped", Severity: finding.Error, Waits: true, charted: true, check: checkEquipmentSkipped,
		Per: "moves for which the chart asks a lift, a board or a walking aid", applies: movesWithEquipment}
}

func movesWithEquipment(p *pass) int {
	row := p.entry.Row
	if row == nil {
		return 0
	}
	return len(done(p.entry, func(s *lexicon.Statement) bool {
		return chartsLift(row) && (isSupported(s) || s.Concept == "move.up" && s.To != "" || s.Concept == "fall.moved") ||
			row.Transfer == chart.Board && (s.Concept == "move.transfer" || s.Concept == "move.lift") ||
			isWalked(s) && len(walkingAids(row.Aids)) > 0
	}))
}

func checkEquipmentSkipped(p *pass) {
	row := p.entry.Row
	if row == nil {
		return
	}
	for i := range p.entry.Reading.Statements {
		s := &p.entry.Reading.Statements[i]
		field, what := skipped(p, s, row)
		if field == "" {
			continue
		}
		why := reasonFor(p.entry, i)
		if why == nil {
			continue
		}
		p.report(report{
			about: s,
			message: fmt.Sprintf("%s: %s; this note: %s, and gives a reason (%q)",
				p.since(row), what, moveWords(s), p.entry.Words(why.Span)),
			advice:   "Wait for the charted equipment or get a working one, and report what was missing so that it is there next time.",
			evidence: []finding.Evidence{cell(row, field), place(p.entry, why)},
		})
	}
}

// skipped says which charted equipment a move was done without: the chart's field and its words, or
// empty for none.
func skipped(p *pass, s *lexicon.Statement, row *chart.Row) (field, what string) {
	switch {
	case !s.Done():
	case chartsLift(row) && (isSupported(s) || s.Concept == "move.up" && s.To != "" || s.Concept == "fall.moved" && s.Detail.ByHand) &&
		!trade.IsLift(s.Method) && !s.HasAid("sling"):
		return "transfer", p.wayWords(row)
	case row.Transfer == chart.Board && (s.Concept == "move.lift" && s.Detail.ByHand ||
		s.Concept == "move.transfer" && (s.Method == "pivot" || s.Method == "side-by-side")):
		return "transfer", p.wayWords(row)
	case isWalked(s) && (leftOutAid(s, row) || len(walkingAids(row.Aids)) > 0 && len(unchartedAids(s, row)) > 0):
		return "aids", "walking aid " + anyAid(walkingAids(row.Aids))
	}
	return "", ""
}

// reasonFor is the reason that the note gives for the way the move at i was done, or nil. A reason in
// a clause with a move belongs to that move alone; one in a clause of its own belongs to the moves
// next to it, before and after.
func reasonFor(e *timeline.Entry, i int) *lexicon.Statement {
	ss := e.Reading.Statements
	for _, step := range []int{-1, 1} {
		for j := i + step; j >= 0 && j < len(ss); j += step {
			if ss[j].Done() && isMove(&ss[j]) {
				break
			}
			if !isReason(&ss[j]) {
				continue
			}
			own := slices.ContainsFunc(ss, func(m lexicon.Statement) bool {
				return m.Done() && isMove(&m) && m.Detail.Clause == ss[j].Detail.Clause
			})
			if !own || ss[j].Detail.Clause == ss[i].Detail.Clause {
				return &ss[j]
			}
		}
	}
	return nil
}

// isReason reports whether a statement tells why charted equipment was not used.
func isReason(s *lexicon.Statement) bool {
	return s.Done() && (s.Group() == "reason" || s.Concept == "aid.fault")
}

// isMove reports whether a statement is a move for which a reason may be given.
func isMove(s *lexicon.Statement) bool {
	return isSupported(s) || isWalked(s) || s.Concept == "move.up" || s.Concept == "fall.moved"
}
