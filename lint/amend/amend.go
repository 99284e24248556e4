// Package amend puts proposed words in place of those of notes, in copies: it shows what would change
// ([Diff]) and makes the amended content of a file of notes ([File]). It proposes nothing itself and
// writes no file.
package amend

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"example.com/stance/lint/finding"
)

// A Change is one wording that a rule proposes, in the bytes Start to End of a note's text.
type Change struct {
	Finding  string `json:"finding"` // the finding's id
	Rule     string `json:"rule"`
	Start    int    `json:"start"`
	End      int    `json:"end"`
	Original string `json:"original"`
	Proposed string `json:"proposed"`
}

// Changes are the wordings that the findings on one text propose, in the order of the text. Where two
// lie over one another the one of the worse finding stands, then the one that starts first; of two
// that say the same, the first. A proposal that lies outside the text, or that changes nothing, is none.
func Changes(text string, fs []finding.Finding) []Change {
	type ranked struct {
		Change
		rank int
	}
	var all []ranked
	for _, f := range fs {
		r := f.Rewrite
		if r == nil || r.Start < 0 || r.Start > r.End || r.End > len(text) || text[r.Start:r.End] == r.Text {
			continue
		}
		all = append(all, ranked{Change{f.ID, f.Rule, r.Start, r.End, text[r.Start:r.End], r.Text}, f.Severity.Rank()})
	}
	slices.SortStableFunc(all, func(a, b ranked) int { return cmp.Or(b.rank-a.rank, a.Start-b.Start) })
	var kept []Change
	for _, c := range all {
		if !slices.ContainsFunc(kept, func(k Change) bool { return overlap(k, c.Change) }) {
			kept = append(kept, c.Change)
		}
	}
	slices.SortFunc(kept, func(a, b Change) int { return a.Start - b.Start })
	return kept
}

// overlap reports whether two changes touch the same bytes, or start at the same place.
func overlap(a, b Change) bool {
	return a.Start < b.End && b.Start < a.End || a.Start == b.Start
}

// Apply is the text with the changes made. They are those of [Changes] for that text.
func Apply(text string, changes []Change) string {
	var b strings.Builder
	at := 0
	for _, c := range changes {
		b.WriteString(text[at:c.Start])
		b.WriteString(c.Proposed)
		at = c.End
	}
	b.WriteString(text[at:])
	return b.String()
}

// A Text is one note's text and what is to stand in its place.
type Text struct {
	Note     string // its id, for errors
	Line     int    // on which its record starts, from 1
	Original string
	Proposed string
}

// A PlaceError tells a note whose text could not be put in place without touching anything else.
type PlaceError struct {
	File string
	Line int    // 0 for a workbook, which has no lines
	Note string // its id; empty where that is not known
}

// Error is "file:line: …" and holds no words of the note.
func (e *PlaceError) Error() string {
	which := "the note"
	if e.Note != "" {
		which += " " + e.Note
	}
	if e.Line == 0 {
		return fmt.Sprintf("%s: want notes in a file of text, a workbook is not copied: save the sheet as CSV", e.File)
	}
	return fmt.Sprintf("%s:%d: want a record in which the text of %s can be changed and nothing else", e.File, e.Line, which)
}
