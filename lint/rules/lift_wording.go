package rules

import (
	"fmt"
	"slices"

	"example.com/stance/lexicon"
	"example.com/stance/lint/finding"
	"example.com/stance/lint/timeline"
	"example.com/stance/lint/trade"
)

func liftWording() Rule {
	return Rule{ID: "lift-wording", Severity: finding.Warning, check: checkLiftWording,
		Per: "moves worded as a lift, with no lift named", applies: liftWords}
}

func liftWords(p *pass) int { return len(done(p.entry, isLiftWord)) }

// isLiftWord accepts the moves that are worded as a lift and name no equipment.
func isLiftWord(s *lexicon.Statement) bool {
	return s.Concept == "move.lift" && !trade.IsLift(s.Method) && !s.HasAid("sling")
}

func checkLiftWording(p *pass) {
	row := p.entry.Row
	for _, s := range done(p.entry, isLiftWord) {
		var why string
		var evidence []finding.Evidence
		switch {
		case tookPart(p.entry, s):
			why = "the same sentence shows that the resident took part"
		case row != nil && !chartsLift(row) && !noPart(p.entry, s):
			why = fmt.Sprintf("%s: %s, which the resident takes part in", p.since(row), p.wayWords(row))
			evidence = []finding.Evidence{cell(row, "transfer")}
		default:
			continue
		}
		p.report(report{
			about:    s,
			span:     s.Detail.Head,
			message:  fmt.Sprintf("%q says that the whole weight was carried; %s", p.entry.Words(headOf(s)), why),
			advice:   "Write a transfer as a transfer, with the number of helpers, and keep lift for a resident who took no part.",
			evidence: evidence,
			rewrite:  reword(p.entry, s, "transfer"),
		})
	}
}

// headOf is the word that names the move, or the whole statement where that is not known.
func headOf(s *lexicon.Statement) lexicon.Span {
	if s.Detail.Head.IsZero() {
		return s.Span
	}
	return s.Detail.Head
}

// tookPart reports whether the clause of a move shows the resident at work: a pivot, a stand, steps,
// weight on the legs, or an assist level below dependent.
func tookPart(e *timeline.Entry, s *lexicon.Statement) bool {
	if s.Method == "pivot" || s.Method == "side-by-side" || s.Assist != "" && s.Assist != "dependent" {
		return true
	}
	return remarked(e, lexicon.TookPart, s.Detail.Clause) ||
		slices.ContainsFunc(done(e, of("move.stand", "move.walk", "bearing.able", "assist.level")), func(o *lexicon.Statement) bool {
			return o.Detail.Clause == s.Detail.Clause && o.Assist != "dependent"
		})
}

// noPart reports whether the note says that the resident took no part in the move: dependent there,
// or anywhere in the note dead weight, limp, or unable to bear weight.
func noPart(e *timeline.Entry, s *lexicon.Statement) bool {
	return s.Assist == "dependent" || len(remarks(e, lexicon.NoPart)) > 0 || unable(e)
}

// unable reports whether the note says that the resident could not bear weight or stand.
func unable(e *timeline.Entry) bool {
	return len(remarks(e, lexicon.Unable)) > 0 || e.Any(func(s *lexicon.Statement) bool {
		return s.Concept == "bearing.able" && s.Polarity == lexicon.Negated && s.Time == lexicon.Now &&
			s.Who == lexicon.Resident && s.Mood == lexicon.Report
	})
}
