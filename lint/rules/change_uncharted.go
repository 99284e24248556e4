package rules

import (
	"fmt"
	"slices"
	"strings"

	"example.com/stance/lexicon"
	"example.com/stance/lint/chart"
	"example.com/stance/lint/finding"
	"example.com/stance/lint/timeline"
)

func changeUncharted() Rule {
	return Rule{ID: "change-uncharted", Severity: finding.Warning, charted: true, check: checkChangeUncharted,
		Per: "statuses ordered by a therapist, nurse or doctor, on charted residents", applies: chartableOrders}
}

func chartableOrders(p *pass) int {
	if !isClinician(p.entry.Note.Role) || len(rowsWithin(p)) == 0 {
		return 0
	}
	return len(orders(p.entry)) + len(orderedWays(p.entry))
}

// orderedWays are the ways to transfer that the note orders for now, as far as they can be ranked.
func orderedWays(e *timeline.Entry) []*lexicon.Statement {
	var out []*lexicon.Statement
	for i := range e.Reading.Statements {
		s := &e.Reading.Statements[i]
		if s.Mood == lexicon.Order && s.Polarity == lexicon.Affirmed && s.Time == lexicon.Now && s.Who == lexicon.Resident &&
			s.Concept == "move.transfer" && isRanked(s) {
			out = append(out, s)
		}
	}
	return out
}

// carriesWay reports whether the row charts the ordered way to transfer: its rank, and the helpers where they are told.
func carriesWay(p *pass, r *chart.Row, s *lexicon.Statement) bool {
	rank, _ := statedRank(s, chartRank(r.Transfer))
	n, counted := s.Staff.Get()
	return rank == chartRank(r.Transfer) && (!counted || n == r.Helpers(p.policy.LiftHelpers))
}

func checkChangeUncharted(p *pass) {
	if !isClinician(p.entry.Note.Role) {
		return
	}
	rows := rowsWithin(p)
	if len(rows) == 0 {
		return
	}
	for _, s := range orderedWays(p.entry) {
		if slices.ContainsFunc(rows, func(r *chart.Row) bool { return carriesWay(p, r, s) }) {
			continue
		}
		last := rows[len(rows)-1]
		p.report(report{
			about: s,
			message: fmt.Sprintf("this note orders: %s; no chart row within %s carries that (%s: %s)",
				moveWords(s), hours(p), p.since(last), p.wayWords(last)),
			advice:   "Update the chart, or have the nurse or therapist do it, so that the next shift moves the resident by the new way.",
			evidence: []finding.Evidence{cell(last, "transfer"), cell(last, "staff")},
		})
	}
	for _, s := range orders(p.entry) {
		if slices.ContainsFunc(rows, func(r *chart.Row) bool { return carries(r, s) }) {
			continue
		}
		var now []string
		var evidence []finding.Evidence
		for _, side := range orderedSides(s) {
			b, field := charted(rows[len(rows)-1], limb(s), side)
			now = append(now, limbWords(limb(s), side)+" "+bearingWords(b))
			evidence = append(evidence, cell(rows[len(rows)-1], field))
		}
		p.report(report{
			about: s,
			message: fmt.Sprintf("this note orders %s %s; no chart row within %s carries that (%s: %s)",
				limbWords(limb(s), s.Side), statedWords(s), hours(p), p.since(rows[len(rows)-1]), strings.Join(now, ", ")),
			advice:   "Update the chart, or have the nurse or therapist do it, so that the next shift moves the resident by the new status.",
			evidence: evidence,
		})
	}
}

// rowsWithin are the chart row in force at the note and those that start within the policy's window.
func rowsWithin(p *pass) []*chart.Row {
	var rows []*chart.Row
	if p.entry.Row != nil {
		rows = append(rows, p.entry.Row)
	}
	at := p.entry.Time
	for _, r := range p.line.Rows {
		if r.From.After(at) && !r.From.After(at.Add(p.policy.ChangeWindow)) {
			rows = append(rows, r)
		}
	}
	return rows
}

// carries reports whether the row has the ordered status: on each side named or, with no side, on
// one of them.
func carries(r *chart.Row, s *lexicon.Statement) bool {
	has := func(side string) bool {
		b, _ := charted(r, limb(s), side)
		return agrees(s, b)
	}
	if s.Side == "" {
		return has("left") || has("right")
	}
	return !slices.ContainsFunc(sides(s), func(side string) bool { return !has(side) })
}

// orderedSides are the sides to show of the chart.
func orderedSides(s *lexicon.Statement) []string {
	if on := sides(s); len(on) > 0 {
		return on
	}
	return []string{"left", "right"}
}

// hours writes the policy's window: "24 h".
func hours(p *pass) string { return number(p.policy.ChangeWindow.Hours()) + " h" }
