package handbook

import (
	"context"
	"errors"
	"io"
	"strconv"
	"strings"
	"time"

	"example.com/stance/lint"
	"example.com/stance/lint/chart"
	"example.com/stance/lint/finding"
	"example.com/stance/lint/note"
	"example.com/stance/lint/policy"
	"example.com/stance/lint/timeline"
)

// Worked is what stance makes of a practice note.
type Worked struct {
	Notes    []note.Note       // of one resident, numbered from 1, each text in one line
	Chart    *chart.Chart      // nil where there is none
	Findings []finding.Finding // by resident, note time, place, rule
}

// Row is the chart row in force at the note, nil where there is none.
func (w *Worked) Row(n *note.Note) *chart.Row {
	if w.Chart == nil {
		return nil
	}
	row, _ := w.Chart.At(n.Resident, n.Time)
	return row
}

// Charted are the cells of the row in force at the note, for people: limbs only where the chart has a word on them.
func (w *Worked) Charted(n *note.Note) []finding.ChartValue {
	row := w.Row(n)
	if row == nil {
		return nil
	}
	var out []finding.ChartValue
	for _, field := range []string{"left_leg", "right_leg", "left_arm", "right_arm", "transfer", "staff", "aids", "walk"} {
		cell := row.Cell(field)
		if cell == "" && field != "staff" {
			continue
		}
		out = append(out, finding.ChartValue{From: row.From, Field: field, Value: cell})
	}
	return out
}

// Work reads the notes and runs all rules over them, by the usual policy: a home's own may say otherwise.
func (p *Practice) Work(ctx context.Context, lex timeline.Reader) (*Worked, error) {
	out := &Worked{}
	if p.Chart != "" {
		ch, bad, err := chart.Read("practice chart", strings.NewReader(p.Chart), time.UTC)
		if err := errors.Join(append(bad, err)...); err != nil {
			return nil, err
		}
		out.Chart = ch
	}
	var err error
	if out.Notes, err = readNotes(p.Notes); err != nil {
		return nil, err
	}
	usual := policy.Default()
	usual.Zone = time.UTC
	c, err := lint.NewChecker(lex, out.Chart, usual)
	if err != nil {
		return nil, err
	}
	for _, n := range out.Notes {
		c.Add(n)
	}
	_, err = c.Run(ctx, func(f finding.Finding) error {
		out.Findings = append(out.Findings, f)
		return nil
	})
	return out, err
}

// readNotes reads plain text and numbers the notes. Lines are joined: they are broken for whoever edits the archive.
func readNotes(text string) ([]note.Note, error) {
	in, err := note.NewReader("practice notes", strings.NewReader(text), note.Options{Zone: time.UTC})
	if err != nil {
		return nil, err
	}
	var out []note.Note
	for {
		n, err := in.Next()
		if errors.Is(err, io.EOF) {
			return out, nil
		}
		if err != nil {
			return nil, err
		}
		n.ID, n.Text = strconv.Itoa(len(out)+1), strings.Join(strings.Fields(n.Text), " ")
		out = append(out, n)
	}
}
