package audit

import (
	"encoding/csv"
	"io"
	"slices"
	"strconv"
	"time"

	"example.com/stance/lint/report"
)

// CSV writes the tables as one: a line for each scope of rules in each value of each table. Rates are
// per 100 opportunities and empty where there are none. Events have lines of their own, with no scope and
// with the last three columns, which are empty in the others. What was left out stands in lines of its own,
// by "left out", and what every figure rests on in the columns before those of events.
func CSV(w io.Writer, r *Report) error {
	out := csv.NewWriter(w)
	severity := make(map[string]string)
	for _, rule := range r.Rules {
		severity[rule.ID] = rule.Severity
	}
	rests := []string{r.From, r.To, strconv.FormatBool(r.Charted), r.Policy.Digest, r.Version, r.Made.Format(time.RFC3339)}
	lines := [][]string{append([]string{
		"by", "value", "scope", "severity", "all_notes", "notes", "flagged", "opportunities", "findings",
		"rate_per_100", "low_per_100", "high_per_100"}, "from", "to", "charted", "policy", "version", "made", "event", "told", "fixed")}
	add := func(line []string, event ...string) {
		lines = append(lines, slices.Concat(line, rests, event))
	}
	for _, t := range r.Tables {
		for _, row := range t.Rows {
			line := []string{t.By, report.Cell(row.Value), row.Scope, severity[row.Scope]}
			for _, n := range []int{row.All, row.Notes, row.Flagged, row.Opportunities, row.Findings} {
				line = append(line, strconv.Itoa(n))
			}
			rate := []string{"", "", ""}
			if row.Rate != nil {
				rate = []string{figure(row.Rate.Value), figure(row.Rate.Low), figure(row.Rate.High)}
			}
			add(append(line, rate...), "", "", "")
		}
		for _, row := range t.Events {
			fixed := ""
			if row.Fixed != nil {
				fixed = strconv.Itoa(*row.Fixed)
			}
			add([]string{t.By, report.Cell(row.Value), "", "", "", "", "", "", "", "", "", ""}, row.Event, strconv.Itoa(row.Told), fixed)
		}
	}
	for _, l := range r.LeftOut {
		add([]string{"left out", l.What + " that " + l.Why, "", "", strconv.Itoa(l.N), "", "", "", "", "", "", ""}, "", "", "")
	}
	return out.WriteAll(lines)
}

// figure writes a share per 100, with figures enough to work on.
func figure(share float64) string { return strconv.FormatFloat(100*share, 'f', 4, 64) }
