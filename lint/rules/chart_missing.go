package rules

import (
	"slices"

	"example.com/stance/lint/finding"
	"example.com/stance/lint/timeline"
)

func chartMissing() Rule {
	return Rule{ID: "chart-missing", Severity: finding.Hint, check: checkChartMissing,
		Per: "residents, where a chart is given", applies: residents}
}

// residents counts each resident once: on the first note with no row, else on the first note.
func residents(p *pass) int {
	if p.line.Charted && p.at == max(0, firstUncharted(p)) {
		return 1
	}
	return 0
}

// firstUncharted is the place of the resident's first note with no chart row, or -1.
func firstUncharted(p *pass) int {
	return slices.IndexFunc(p.line.Entries, func(e *timeline.Entry) bool { return e.Row == nil })
}

// checkChartMissing speaks once for a resident, on the first note with no row. Where no chart was
// given at all, nobody asked.
func checkChartMissing(p *pass) {
	if !p.line.Charted || p.entry.Row != nil {
		return
	}
	if p.at != firstUncharted(p) {
		return
	}
	message := "no chart row for this resident at the time of this note, so the rules against the chart stay silent"
	if len(p.line.Rows) > 0 {
		if next := p.line.Rows[0]; next.From.After(p.entry.Time) {
			message = "the resident's chart starts on " + next.From.Format("2 Jan 15:04") +
				", after this note, so the rules against the chart stay silent"
		}
	}
	p.report(report{
		message: message,
		advice:  "Ask the nurse or therapist to chart the mobility status.",
	})
}
