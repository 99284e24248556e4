package cli

import (
	"encoding/csv"
	"io"
	"strings"
	"time"

	"example.com/stance/index"
	"example.com/stance/lexicon"
	"example.com/stance/lint/report"
)

// A foundPage is the JSON form of what was found.
type foundPage struct {
	Total   int                      `json:"total"` // on all pages
	Hits    []foundNote              `json:"hits"`
	Counts  map[string][]index.Count `json:"counts"` // by resident, unit, role, shift, concept and rule
	Next    string                   `json:"next"`   // for --after; empty on the last page
	Caution string                   `json:"caution"`
}

// A foundNote is the JSON form of one found note.
type foundNote struct {
	Note       string              `json:"note"`
	Resident   string              `json:"resident"`
	Unit       string              `json:"unit"`
	Time       time.Time           `json:"time"`
	Shift      string              `json:"shift"` // "2026-11-24/evening"
	Role       lexicon.Role        `json:"role"`
	Author     string              `json:"author"`
	Text       string              `json:"text"`
	Spans      []lexicon.Span      `json:"spans"`      // what was looked for
	Statements []lexicon.Statement `json:"statements"` // those that answer the facts asked for, else all
	Rules      []string            `json:"rules"`
	Replaced   bool                `json:"replaced"`            // a later version is kept
	Withdrawn  bool                `json:"withdrawn,omitempty"` // no version holds any more
	Kept       time.Time           `json:"kept"`
	Score      float64             `json:"score"`
}

func findJSON(w io.Writer, page *index.Page, sel *selection) error {
	out := foundPage{Total: page.Total, Hits: []foundNote{}, Counts: page.Facets, Next: page.Next, Caution: report.Caution}
	for i := range page.Hits {
		h := &page.Hits[i]
		n := &h.Note
		out.Hits = append(out.Hits, foundNote{
			Note: n.ID, Resident: n.Resident, Unit: n.Unit, Time: n.Time, Shift: sel.calendar.Key(n.Time, n.Shift).String(),
			Role: n.Role, Author: n.Author, Text: n.Text,
			Spans: append([]lexicon.Span{}, h.Spans...), Statements: append([]lexicon.Statement{}, h.Statements...),
			Rules: orEmpty(h.Rules), Replaced: h.Replaced, Withdrawn: h.Withdrawn, Kept: h.Kept, Score: h.Score,
		})
	}
	return encode(w, out)
}

func findCSV(w io.Writer, hits []index.Hit, sel *selection) error {
	c := csv.NewWriter(w)
	rows := [][]string{{"note", "resident", "unit", "time", "shift", "role", "author", "rules", "replaced", "found", "text"}}
	for i := range hits {
		h := &hits[i]
		n := &h.Note
		var found []string
		for _, s := range h.Spans {
			found = append(found, n.Text[s.Start:s.End])
		}
		replaced := ""
		if h.Replaced {
			replaced = "yes"
		}
		if h.Withdrawn {
			replaced = "withdrawn"
		}
		rows = append(rows, []string{n.ID, n.Resident, n.Unit, n.Time.Format(time.RFC3339),
			sel.calendar.Key(n.Time, n.Shift).String(), string(n.Role), n.Author, strings.Join(h.Rules, "; "), replaced,
			strings.Join(found, "; "), n.Text})
	}
	for _, row := range rows {
		for i := range row {
			row[i] = report.Cell(row[i])
		}
		if err := c.Write(row); err != nil {
			return err
		}
	}
	c.Flush()
	return c.Error()
}
