package rules

import (
	"fmt"

	"example.com/stance/lexicon"
	"example.com/stance/lint/chart"
	"example.com/stance/lint/finding"
	"example.com/stance/lint/timeline"
)

func bearingMismatch() Rule {
	return Rule{ID: "bearing-mismatch", Severity: finding.Error, charted: true, check: checkBearingMismatch,
		Per: "statuses stated with a side, on charted residents", applies: sidedStatuses}
}

// sidedStatuses counts the statuses that name a side, where there is a chart row to hold them against.
func sidedStatuses(p *pass) int {
	if p.entry.Row == nil {
		return 0
	}
	return len(done(p.entry, func(s *lexicon.Statement) bool { return isStatus(s) && len(sides(s)) > 0 }))
}

func checkBearingMismatch(p *pass) {
	for _, m := range mismatches(p.entry) {
		p.report(report{
			about: m.stated,
			message: fmt.Sprintf("%s: %s %s; this note: %s %s", p.since(p.entry.Row),
				limbWords(limb(m.stated), m.side), bearingWords(m.charted), limbWords(limb(m.stated), m.side), statedWords(m.stated)),
			advice:   "Check the chart and ask the nurse or therapist which status holds; correct the note if it was a slip.",
			evidence: []finding.Evidence{cell(p.entry.Row, m.field)},
		})
	}
}

// A mismatch is a status that a note states for a limb that is charted otherwise.
type mismatch struct {
	stated  *lexicon.Statement
	side    string // the side, of those that the note names, where they differ
	charted chart.Bearing
	field   string
}

// mismatches lists the statuses that the note reports and that differ from the chart. A status with
// no side is none: the note does not say which limb it is about. Nor is one where the note orders a
// status for the limb, for then it tells of a change.
func mismatches(e *timeline.Entry) []mismatch {
	if e.Row == nil {
		return nil
	}
	var out []mismatch
	for _, s := range done(e, isStatus) {
		for _, side := range sides(s) {
			b, field := charted(e.Row, limb(s), side)
			if agrees(s, b) || ordered(e, limb(s), side) {
				continue
			}
			out = append(out, mismatch{s, side, b, field})
			break // one finding for one statement
		}
	}
	return out
}

// ordered reports whether the note orders a status for that limb.
func ordered(e *timeline.Entry, on, side string) bool {
	for _, o := range orders(e) {
		if limb(o) == on && (o.Side == side || o.Side == "both" || o.Side == "") {
			return true
		}
	}
	return false
}
