package cli

import (
	"encoding/csv"
	"io"
	"strings"
	"time"

	"example.com/stance/index"
	"example.com/stance/index/homes"
	"example.com/stance/lexicon"
	"example.com/stance/lint/report"
)

// What was found, on one page.
type found struct {
	*homes.Page
	several bool                         // homes were asked, and are named
	absent  []string                     // homes that could not answer
	sel     func(home string) *selection // by which a home's shifts are named
}

// A foundPage is the JSON form of what was found.
type foundPage struct {
	Total   int                      `json:"total"` // on all pages
	Hits    []foundNote              `json:"hits"`
	Counts  map[string][]index.Count `json:"counts"` // by resident, unit, role, shift, concept and rule; of several homes, by home too
	Next    string                   `json:"next"`   // for --after; empty on the last page
	Absent  []string                 `json:"homes_not_asked,omitempty"`
	Caution string                   `json:"caution"`
}

// A foundNote is the JSON form of one found note.
type foundNote struct {
	Home       string              `json:"home,omitempty"` // of several
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

func findJSON(w io.Writer, found *found) error {
	out := foundPage{Total: found.Total, Hits: []foundNote{}, Counts: found.Facets, Next: found.Next, Absent: found.absent, Caution: report.Caution}
	for i := range found.Hits {
		h := &found.Hits[i]
		n := &h.Note
		out.Hits = append(out.Hits, foundNote{
			Home: h.Home, Note: n.ID, Resident: n.Resident, Unit: n.Unit, Time: n.Time, Shift: found.sel(h.Home).calendar.Key(n.Time, n.Shift).String(),
			Role: n.Role, Author: n.Author, Text: n.Text,
			Spans: append([]lexicon.Span{}, h.Spans...), Statements: append([]lexicon.Statement{}, h.Statements...),
			Rules: orEmpty(h.Rules), Replaced: h.Replaced, Withdrawn: h.Withdrawn, Kept: h.Kept, Score: h.Score,
		})
	}
	return encode(w, out)
}

func findCSV(w io.Writer, found *found) error {
	c := csv.NewWriter(w)
	rows := [][]string{{"note", "resident", "unit", "time", "shift", "role", "author", "rules", "replaced", "found", "text"}}
	if found.several {
		rows[0] = append([]string{"home"}, rows[0]...)
	}
	for i := range found.Hits {
		h := &found.Hits[i]
		n := &h.Note
		var words []string
		for _, s := range h.Spans {
			words = append(words, n.Text[s.Start:s.End])
		}
		replaced := ""
		if h.Replaced {
			replaced = "yes"
		}
		if h.Withdrawn {
			replaced = "withdrawn"
		}
		row := []string{n.ID, n.Resident, n.Unit, n.Time.Format(time.RFC3339),
			found.sel(h.Home).calendar.Key(n.Time, n.Shift).String(), string(n.Role), n.Author, strings.Join(h.Rules, "; "), replaced,
			strings.Join(words, "; "), n.Text}
		if found.several {
			row = append([]string{h.Home}, row...)
		}
		rows = append(rows, row)
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
