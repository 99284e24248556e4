package report

import (
	"cmp"
	"encoding/csv"
	"fmt"
	"io"
	"slices"
	"strings"
	"time"

	"example.com/stance/lint/finding"
	"example.com/stance/lint/internal/sheet"
)

// A Present is a resident on a shift, for the sheet of shifts.
type Present struct {
	Shift    string // "2026-11-24/evening"
	Start    time.Time
	Unit     string
	Resident string
	Notes    int                  // written on the shift; 0 for a charted resident of whom there is none
	Charted  []finding.ChartValue // in force on the shift; none where nothing is charted
}

// table is the findings and what was not understood, a row each. Their times are time.Time.
func table(run *Run, opt TextOptions) (columns []sheet.Column, rows [][]any) {
	columns = []sheet.Column{{Name: "finding", Width: 18}, {Name: "severity", Width: 10}, {Name: "rule", Width: 20},
		{Name: "resident", Width: 12}, {Name: "unit", Width: 12}, {Name: "shift", Width: 20}, {Name: "time", Width: 16},
		{Name: "note", Width: 10}, {Name: "role", Width: 12}, {Name: "written", Width: 50}, {Name: "problem", Width: 50},
		{Name: "sum", Width: 20}, {Name: "chart", Width: 40}, {Name: "compare", Width: 40}, {Name: "do", Width: 50},
		{Name: "wording", Width: 30}, {Name: "covers", Width: 16}, {Name: "answer", Width: 12}, {Name: "why", Width: 20},
		{Name: "by", Width: 12}, {Name: "answered", Width: 16}, {Name: "place", Width: 24}}
	t := newTextWriter(io.Discard, run, opt)
	for i := range run.Findings {
		f := &run.Findings[i]
		n, found := run.on(f)
		written, role, place := f.Text, "", ""
		if found {
			written, role, place = t.quote(n.Text, f.Span), string(n.Role), n.Source.String()
		}
		var at any // of a silent shift there is no time
		if f.Note != "" && !f.Time.IsZero() {
			at = t.in(f.Time)
		}
		var compare []string
		for _, e := range f.Evidence {
			if e.Chart == nil && e.Text != "" {
				compare = append(compare, t.compare(f, e))
			}
		}
		wording := ""
		if f.Rewrite != nil {
			wording = t.wording(f)
		}
		row := []any{f.ID, string(f.Severity), f.Rule, f.Resident, f.Unit, f.Shift, at, f.Note, role, written, sentence(f.Message),
			sentence(f.Sum), strings.Join(t.chartLines(f.Evidence), " "), strings.Join(compare, " "), sentence(f.Advice), wording, strings.Join(f.Covers, ", ")}
		if a := f.Answer; a != nil {
			row = append(row, string(a.As), a.Why, a.By, t.in(a.Time))
		} else {
			row = append(row, nil, nil, nil, nil)
		}
		rows = append(rows, append(row, place))
	}
	for i := range run.Overlooked {
		o := &run.Overlooked[i]
		row := make([]any, len(columns))
		for name, value := range map[string]any{"severity": "not understood", "rule": NotUnderstood, "problem": notUnderstoodMeans, "do": notUnderstoodAdvice, "resident": o.Resident, "unit": o.Unit, "shift": o.Shift, "time": t.in(o.Time), "note": o.Note, "written": o.Text} {
			row[slices.IndexFunc(columns, func(c sheet.Column) bool { return c.Name == name })] = value
		}
		rows = append(rows, row)
	}
	return columns, rows
}

// CSV writes a row for each finding, and for each sentence that was not understood, below a header. Times are those of
// RFC 3339. No cell is a formula.
func CSV(w io.Writer, run *Run, opt TextOptions) error {
	columns, rows := table(run, opt)
	out := csv.NewWriter(w)
	var names []string
	for _, c := range columns {
		names = append(names, c.Name)
	}
	if err := out.Write(names); err != nil {
		return err
	}
	for _, row := range rows {
		cells := make([]string, len(row))
		for i, value := range row {
			switch v := value.(type) {
			case time.Time:
				cells[i] = v.Format(time.RFC3339)
			case string:
				cells[i] = sheet.Guard(v)
			}
		}
		if err := out.Write(cells); err != nil {
			return err
		}
	}
	out.Flush()
	return out.Error()
}

// XLSX writes a workbook: a sheet of the findings, as [CSV] has them, and one of the shifts, with a row for each resident
// on each. Times are on the clock of the zone, or of the note where none is given.
func XLSX(w io.Writer, run *Run, opt TextOptions) error {
	opt.Unread = true // what was not understood has rows of its own
	columns, rows := table(run, opt)
	t := newTextWriter(io.Discard, run, opt)
	groups := byResident(run.Findings)
	below := append(t.said(len(groups)), Caution)
	shifts := sheet.Sheet{Name: "Shift", Below: below, Columns: []sheet.Column{{Name: "shift", Width: 20}, {Name: "unit", Width: 12},
		{Name: "resident", Width: 12}, {Name: "notes", Width: 8}, {Name: "state", Width: 28}, {Name: "errors", Width: 8}, {Name: "warnings", Width: 9},
		{Name: "hints", Width: 8}, {Name: "answered", Width: 9}, {Name: "not understood", Width: 14}, {Name: "chart", Width: 70}}}
	type place struct{ shift, resident string }
	found, overlooked := map[place]*counts{}, map[place]int{}
	for i := range run.Findings {
		f := &run.Findings[i]
		at := place{f.Shift, f.Resident}
		if found[at] == nil {
			found[at] = &counts{}
		}
		found[at].add(f)
	}
	for _, o := range run.Overlooked {
		overlooked[place{o.Shift, o.Resident}]++
	}
	present := slices.Clone(run.Present)
	slices.SortStableFunc(present, func(a, b Present) int {
		return cmp.Or(a.Start.Compare(b.Start), strings.Compare(a.Shift, b.Shift), strings.Compare(a.Unit, b.Unit), strings.Compare(a.Resident, b.Resident))
	})
	for _, p := range present {
		at := place{p.Shift, p.Resident}
		c := found[at]
		if c == nil {
			c = &counts{}
		}
		shifts.Rows = append(shifts.Rows, []any{p.Shift, p.Unit, p.Resident, p.Notes, state(p.Notes, c, overlooked[at]), c.Error, c.Warning, c.Hint, c.answered,
			overlooked[at], strings.Join(t.chartLines(evidence(p.Charted)), " ")})
	}
	return sheet.Write(w, []sheet.Sheet{{Name: "Findings", Columns: columns, Rows: rows, Below: below}, shifts})
}

// state says in a few words how it stands with a resident on a shift.
func state(notes int, c *counts, overlooked int) string {
	said := c.words()
	switch {
	case notes == 0 && said == "":
		return "no note on this shift"
	case notes == 0:
		return "no note on this shift: " + said
	case said != "":
		return said
	case overlooked > 0:
		return fmt.Sprintf("%d not understood", overlooked)
	}
	return "nothing to flag"
}

func evidence(charted []finding.ChartValue) []finding.Evidence {
	var out []finding.Evidence
	for i := range charted {
		out = append(out, finding.Evidence{Chart: &charted[i]})
	}
	return out
}

// Cell is a text that a spreadsheet takes for text: one that would start a formula gets an apostrophe before it.
func Cell(s string) string { return sheet.Guard(s) }
