package audit

import (
	"fmt"
	"io"
	"strings"

	"example.com/stance/lint/internal/sheet"
)

// XLSX writes a workbook: a sheet of what the figures rest on, one for each table of rates, and one of the events. Rates
// are per 100 opportunities, and their cells are empty where there are none.
func XLSX(w io.Writer, r *Report) error {
	about := sheet.Sheet{Name: "About", Columns: []sheet.Column{{Name: "what", Width: 28}, {Name: "value", Width: 90}}, Below: []string{r.Caution}}
	about.Rows = [][]any{
		{"made", r.Made}, {"version", r.Version}, {"from", r.From}, {"to", r.To}, {"notes", r.Notes}, {"residents", r.Residents},
		{"charted", map[bool]string{true: "yes", false: "no"}[r.Charted]}, {"policy", r.Policy.Digest},
	}
	for _, l := range r.LeftOut {
		about.Rows = append(about.Rows, []any{"left out", fmt.Sprintf("%d %s that %s", l.N, l.What, l.Why)})
	}
	for _, m := range r.Method {
		about.Rows = append(about.Rows, []any{m.Title, strings.TrimSpace(m.Words + " " + m.Source)})
	}
	sheets := []sheet.Sheet{about}
	severity := make(map[string]string)
	for _, rule := range r.Rules {
		severity[rule.ID] = rule.Severity
	}
	events := sheet.Sheet{Name: "Events", Columns: []sheet.Column{{Name: "by", Width: 10}, {Name: "value", Width: 16}, {Name: "event", Width: 40},
		{Name: "told", Width: 8}, {Name: "fixed", Width: 8}}}
	for _, t := range r.Tables {
		s := sheet.Sheet{Name: "By " + t.By, Columns: []sheet.Column{{Name: "value", Width: 16}, {Name: "scope", Width: 24}, {Name: "severity", Width: 10},
			{Name: "all notes", Width: 10}, {Name: "notes", Width: 8}, {Name: "flagged", Width: 8}, {Name: "opportunities", Width: 13}, {Name: "findings", Width: 9},
			{Name: "rate per 100", Width: 12}, {Name: "low per 100", Width: 12}, {Name: "high per 100", Width: 12}}}
		if t.By == ByAll {
			s.Name = "All"
		}
		for _, row := range t.Rows {
			line := []any{row.Value, row.Scope, severity[row.Scope], row.All, row.Notes, row.Flagged, row.Opportunities, row.Findings}
			if row.Rate != nil {
				line = append(line, 100*row.Rate.Value, 100*row.Rate.Low, 100*row.Rate.High)
			}
			s.Rows = append(s.Rows, line)
		}
		sheets = append(sheets, s)
		for _, row := range t.Events {
			var fixed any
			if row.Fixed != nil {
				fixed = *row.Fixed
			}
			events.Rows = append(events.Rows, []any{t.By, row.Value, row.Event, row.Told, fixed})
		}
	}
	events.Below = []string{r.Caution}
	return sheet.Write(w, append(sheets, events))
}
