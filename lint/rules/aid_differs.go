package rules

import (
	"fmt"
	"slices"

	"example.com/stance/lexicon"
	"example.com/stance/lint/chart"
	"example.com/stance/lint/finding"
)

func aidDiffers() Rule {
	return Rule{ID: "aid-differs", Severity: finding.Warning, charted: true, check: checkAidDiffers,
		Per: "walks and transfers that name a walking aid, on residents whose chart tells of aids", applies: namedAids}
}

func namedAids(p *pass) int {
	row := p.entry.Row
	if row == nil || !tellsOfAids(row) {
		return 0
	}
	return len(done(p.entry, func(s *lexicon.Statement) bool { return isWalked(s) && len(walkingAids(s.Aids)) > 0 }))
}

// tellsOfAids reports whether the row says which aids are used: it lists some, or has the resident
// walk independently, which lists none on purpose.
func tellsOfAids(row *chart.Row) bool {
	return len(row.Aids) > 0 || row.Walk == chart.WalkIndependent
}

func checkAidDiffers(p *pass) {
	row := p.entry.Row
	if row == nil {
		return
	}
	for _, s := range done(p.entry, isWalked) {
		used := unchartedAids(s, row)
		if len(used) == 0 {
			continue
		}
		charted := "none"
		if a := walkingAids(row.Aids); len(a) > 0 {
			charted = anyAid(a)
		}
		p.report(report{
			about:    s,
			message:  fmt.Sprintf("%s: walking aid %s; this note: %s", p.since(row), charted, moveWords(s)),
			advice:   aidAdvice(p, s, "Use the charted aid, or ask the therapist whether this one suits the resident."),
			evidence: []finding.Evidence{cell(row, "aids")},
		})
	}
}

// aidAdvice is what to do about the aid of a move. Where the chart does not allow the move with any aid, another aid is
// no remedy, and nobody must be told to fetch one for the next time.
func aidAdvice(p *pass, s *lexicon.Statement, allowed string) string {
	row := p.entry.Row
	withCharted := *s
	withCharted.Aids = row.Aids
	load, _ := breach(&withCharted, p.caps.Limits(row), row)
	if s.Concept == "move.walk" && row.Walk == chart.WalkNo || load.Over() {
		return "Do not do this move again before the nurse or therapist has said how: another aid alone does not make it safe."
	}
	return allowed
}

// unchartedAids are the walking aids of a move that the row does not list. A row that lists no aids
// says nothing about them, unless it has the resident walk independently.
func unchartedAids(s *lexicon.Statement, row *chart.Row) []string {
	if !tellsOfAids(row) {
		return nil
	}
	return slices.DeleteFunc(walkingAids(s.Aids), func(used string) bool {
		return slices.ContainsFunc(row.Aids, func(a string) bool { return sameAid(a, used) })
	})
}
