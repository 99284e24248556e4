package rules

import (
	"fmt"
	"slices"
	"strings"

	"example.com/stance/lexicon"
	"example.com/stance/lint/finding"
	"example.com/stance/lint/timeline"
)

func transferWording() Rule {
	return Rule{ID: "transfer-wording", Severity: finding.Hint, check: checkTransferWording,
		Per: "moves worded as a transfer", applies: transferWords}
}

func transferWords(p *pass) int {
	return len(done(p.entry, func(s *lexicon.Statement) bool {
		return s.Concept == "move.transfer" && saysTransferred(p.entry, s)
	}))
}

func checkTransferWording(p *pass) {
	for _, s := range done(p.entry, of("move.transfer")) {
		if !saysTransferred(p.entry, s) || tookPart(p.entry, s) {
			continue
		}
		why := "by total lift"
		switch {
		case s.Method == "total-lift":
		case s.Assist == "dependent", remarked(p.entry, lexicon.NoPart, s.Detail.Clause):
			why = "dependent"
		default:
			continue
		}
		p.report(report{
			about:   s,
			span:    s.Detail.Head,
			message: fmt.Sprintf("%q is for a resident who takes part; this one took no part (%s)", p.entry.Words(headOf(s)), why),
			advice:  "Write a lift as a lift, so that nobody takes it that the resident can help.",
			rewrite: reword(p.entry, s, "lift"),
		})
	}
}

// saysTransferred reports whether the move is worded as a transfer, in full or in an abbreviation.
// The heading "Transfers" is no wording of one move.
func saysTransferred(e *timeline.Entry, s *lexicon.Statement) bool {
	head := strings.ToLower(e.Words(s.Detail.Head))
	if strings.HasPrefix(head, "transfer") {
		return s.Detail.Tense != lexicon.NounForm
	}
	return slices.ContainsFunc([]string{"tranf", "transf", "xf", "trf", "tfr", "trsf", "tx"}, func(abbr string) bool {
		return strings.HasPrefix(head, abbr)
	})
}
