// Package report writes the findings of a check: as text and Markdown for the person who closes a shift, as a workbook
// and CSV for those who go on working with them, as JSON for programs, and as SARIF, JUnit XML and FHIR for tools that
// collect findings. It judges nothing; every sentence about a conflict comes with the finding.
//
// Start with [Run], which all writers take.
package report

import (
	"encoding/json"
	"io"

	"example.com/stance/lexicon"
	"example.com/stance/lint/finding"
	"example.com/stance/lint/note"
)

// Caution is the sentence that every report ends with or carries.
const Caution = "Check the resident, the chart, and the nurse or therapist. " +
	"Local policy and licensed practice decide how a resident is moved."

// A Run is the outcome of one check.
type Run struct {
	Findings []finding.Finding // by resident, note time, span, rule
	Tally    Tally

	// Overlooked are the sentences about moving of which nothing was understood, by resident and note time.
	Overlooked []finding.Overlooked

	// Present are the residents on the shifts that were checked, for [XLSX]; the other writers do not need them.
	Present []Present

	// Notes finds a resident's notes of an id, for their text and their place in the input: one, unless
	// the input gave an id twice. A nil Notes finds none.
	Notes func(resident, id string) []note.Note
}

// NotUnderstood stands for a rule where a report can only tell of findings: a sentence about moving of which nothing was
// understood, so that no rule speaks of it.
const NotUnderstood = "not-understood"

const (
	notUnderstoodTitle  = "a sentence about moving was not understood"
	notUnderstoodMeans  = "Nothing was read of a sentence that names a move, so that nothing found in it means nothing."
	notUnderstoodAdvice = "Read the sentence again before you rely on this report."
)

// A Tally counts what a check looked at.
type Tally struct {
	Notes     int  // notes checked
	Residents int  // residents whom those notes are about
	Unread    int  // records that could not be read
	Charted   bool // a chart was given
	Answered  int  // findings that have been answered, among Run.Findings or left out
}

// on is the note that the finding is on.
func (r *Run) on(f *finding.Finding) (note.Note, bool) {
	return r.note(f.Resident, f.Note, f.Span, f.Text)
}

// note is the resident's note of that id that has the words at the place.
func (r *Run) note(resident, id string, at lexicon.Span, words string) (note.Note, bool) {
	if r.Notes == nil || id == "" {
		return note.Note{}, false
	}
	for _, n := range r.Notes(resident, id) {
		if 0 <= at.Start && at.Start <= at.End && at.End <= len(n.Text) && n.Text[at.Start:at.End] == words {
			return n, true
		}
	}
	return note.Note{}, false
}

// evidence is the note that e, which is of the finding, points to.
func (r *Run) evidence(f *finding.Finding, e finding.Evidence) (note.Note, bool) {
	if e.Span == nil {
		return note.Note{}, false
	}
	return r.note(f.About(e), e.Note, *e.Span, e.Text)
}

// counts is how many unanswered findings have each severity. All three are always written.
type counts struct {
	Error   int `json:"error"`
	Warning int `json:"warning"`
	Hint    int `json:"hint"`

	answered int
}

func (c *counts) add(f *finding.Finding) {
	if f.Answer.Settles() {
		c.answered++
		return
	}
	switch f.Severity {
	case finding.Error:
		c.Error++
	case finding.Warning:
		c.Warning++
	case finding.Hint:
		c.Hint++
	}
}

func count(fs []finding.Finding) counts {
	var c counts
	for i := range fs {
		c.add(&fs[i])
	}
	return c
}

// JSON writes the run as one object: findings, what was not understood, notes, residents, counts, and how many are
// answered.
func JSON(w io.Writer, run *Run) error {
	out := struct {
		Findings      []finding.Finding    `json:"findings"`
		NotUnderstood []finding.Overlooked `json:"not_understood"`
		Notes         int                  `json:"notes"`
		Residents     int                  `json:"residents"`
		Counts        counts               `json:"counts"`
		Answered      int                  `json:"answered"`
	}{
		Findings:      make([]finding.Finding, len(run.Findings)),
		NotUnderstood: append([]finding.Overlooked{}, run.Overlooked...),
		Notes:         run.Tally.Notes,
		Residents:     run.Tally.Residents,
		Counts:        count(run.Findings),
		Answered:      run.Tally.Answered,
	}
	copy(out.Findings, run.Findings)
	for i := range out.Findings {
		if out.Findings[i].Evidence == nil {
			out.Findings[i].Evidence = []finding.Evidence{} // [] and never null
		}
	}
	enc := json.NewEncoder(w)
	enc.SetEscapeHTML(false)
	return enc.Encode(out)
}
