package cli

import (
	"example.com/stance/lint"
	"example.com/stance/lint/chart"
	"example.com/stance/lint/finding"
	"example.com/stance/lint/report"
	"example.com/stance/lint/shift"
)

// A roster is who was on the selected shifts: the residents of whom there is a note, and charted ones of whom there is
// none. A nil one takes nothing in.
type roster struct {
	sel   *selection
	chart *chart.Chart
	on    map[shift.Key]map[string]*report.Present // by resident
}

func newRoster(sel *selection, ch *chart.Chart) *roster {
	return &roster{sel, ch, map[shift.Key]map[string]*report.Present{}}
}

// take takes in the notes of one resident.
func (r *roster) take(j lint.Judged) {
	if r == nil {
		return
	}
	for _, e := range j.Timeline.Entries {
		n := &e.Note
		if !r.sel.has(n.Resident, n.Unit, n.Time, e.Shift.String()) {
			continue
		}
		p := r.of(e.Shift, n.Resident)
		p.Unit = n.Unit
		p.Notes++
		p.Charted = charted(e.Row)
	}
}

func (r *roster) of(k shift.Key, resident string) *report.Present {
	if r.on[k] == nil {
		r.on[k] = map[string]*report.Present{}
	}
	p := r.on[k][resident]
	if p == nil {
		p = &report.Present{Shift: k.String(), Start: r.sel.calendar.Start(k), Resident: resident}
		r.on[k][resident] = p
	}
	return p
}

// present is all of them, in no order.
func (r *roster) present() []report.Present {
	if r == nil {
		return nil
	}
	var out []report.Present
	for k, on := range r.on {
		start := r.sel.calendar.Start(k)
		for _, resident := range r.chart.Residents() {
			row, ok := r.chart.At(resident, start)
			if ok && on[resident] == nil && r.sel.has(resident, row.Unit, start, k.String()) {
				p := r.of(k, resident)
				p.Unit, p.Charted = row.Unit, charted(row)
			}
		}
		for _, p := range on {
			out = append(out, *p)
		}
	}
	return out
}

// charted are the cells of a row that say what somebody who moves the resident must know.
func charted(row *chart.Row) []finding.ChartValue {
	if row == nil {
		return nil
	}
	var out []finding.ChartValue
	for _, col := range []string{"transfer", "staff", "left_leg", "right_leg", "left_arm", "right_arm", "aids", "walk"} {
		if cell := row.Cell(col); cell != "" {
			out = append(out, finding.ChartValue{From: row.From, Field: col, Value: cell})
		}
	}
	return out
}
