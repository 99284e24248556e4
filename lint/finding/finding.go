// Package finding is what a rule reports: the place, what conflicts, what to do, and the evidence.
package finding

import (
	"cmp"
	"time"

	"example.com/stance/lexicon"
)

// Severity says how much a finding matters.
type Severity string

const (
	Off     Severity = "off" // policy switched the rule off
	Hint    Severity = "hint"
	Warning Severity = "warning"
	Error   Severity = "error"
)

// Lower is the severity one step down; a hint stays a hint.
func (s Severity) Lower() Severity {
	if s == Error {
		return Warning
	}
	return Hint
}

// Rank orders severities: off 0, hint 1, warning 2, error 3.
func (s Severity) Rank() int {
	switch s {
	case Hint:
		return 1
	case Warning:
		return 2
	case Error:
		return 3
	}
	return 0
}

// A Finding is one conflict, gap or risky wording in one note. Its JSON form is the published one.
type Finding struct {
	ID       string       `json:"id"` // set by [Identify]
	Rule     string       `json:"rule"`
	Severity Severity     `json:"severity"`
	Resident string       `json:"resident"`
	Note     string       `json:"note"`  // empty where a shift has no note at all
	Shift    string       `json:"shift"` // "2026-11-24/evening"
	Span     lexicon.Span `json:"span"`
	Text     string       `json:"text"`
	Message  string       `json:"message"`       // one sentence: what conflicts
	Sum      string       `json:"sum,omitempty"` // the figures behind the message
	Advice   string       `json:"advice"`        // one sentence: what to do
	Evidence []Evidence   `json:"evidence"`
	Rewrite  *Rewrite     `json:"rewrite,omitempty"`
	Covers   []string     `json:"covers,omitempty"` // rules that see the same cause and leave it to this one
	Answer   *Answer      `json:"answer,omitempty"` // nil: nobody has answered it

	Unit string    `json:"-"`
	Time time.Time `json:"-"` // of the note, or of the start of a silent shift
}

// Evidence is either a place in a note or a value of the chart.
type Evidence struct {
	// Resident is whom the note is on; empty where it is the finding's own resident. Ids of notes are only
	// one resident's: in many homes they start anew for each.
	Resident string        `json:"resident,omitempty"`
	Note     string        `json:"note,omitempty"`
	Span     *lexicon.Span `json:"span,omitempty"`
	Text     string        `json:"text,omitempty"`
	Chart    *ChartValue   `json:"chart,omitempty"`
}

// About is the resident whom a piece of the finding's evidence is about.
func (f *Finding) About(e Evidence) string { return cmp.Or(e.Resident, f.Resident) }

// Within reports whether a piece of the finding's evidence stands in the note that the finding is on.
func (f *Finding) Within(e Evidence) bool {
	return e.Note == "" || e.Note == f.Note && f.About(e) == f.Resident
}

// ChartValue is one cell of the chart row in force.
type ChartValue struct {
	From  time.Time `json:"from"`
	Field string    `json:"field"` // the column's name
	Value string    `json:"value"` // as written in the chart
}

// An Overlooked is a sentence of a note that names a move and of which nothing was understood. That no rule speaks of
// it is no approval.
type Overlooked struct {
	Resident string       `json:"resident"`
	Note     string       `json:"note"`
	Shift    string       `json:"shift"` // "2026-11-24/evening"
	Span     lexicon.Span `json:"span"`
	Text     string       `json:"text"`

	Unit string    `json:"-"`
	Time time.Time `json:"-"` // of the note
}

// A Rewrite proposes words for the bytes Start to End of the note.
type Rewrite struct {
	Start int    `json:"start"`
	End   int    `json:"end"`
	Text  string `json:"text"`
}

// An Answer is what somebody who looked into a finding says of it.
type Answer struct {
	As   Verdict   `json:"as"`
	Why  string    `json:"why"`
	By   string    `json:"by"`
	Time time.Time `json:"time"`
}

// Verdict is how a finding was answered.
type Verdict string

const (
	Confirmed Verdict = "confirmed" // it is so, and has been seen to
	Amended   Verdict = "amended"   // the record has been put right
	Mistaken  Verdict = "mistaken"  // the finding is wrong
	Looking   Verdict = "looking"   // it is being looked into, and stays open
)

// Verdicts are all verdicts, in the order in which they are listed.
func Verdicts() []Verdict { return []Verdict{Confirmed, Amended, Mistaken, Looking} }

// Settles reports whether the answer closes its finding. No answer settles nothing.
func (a *Answer) Settles() bool { return a != nil && a.As != Looking }

// Said is the verdict as it stands in a sentence.
func (v Verdict) Said() string {
	if v == Looking {
		return "being looked into"
	}
	return string(v)
}
