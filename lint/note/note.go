// Package note is a handover note and the readers that bring notes in from files.
package note

import (
	"fmt"
	"time"

	"example.com/stance/lexicon"
)

// A Note is one entry by one author on one resident.
type Note struct {
	ID       string       `json:"note"`
	Resident string       `json:"resident"`
	Unit     string       `json:"unit,omitempty"`
	Time     time.Time    `json:"time"`            // event time
	Shift    string       `json:"shift,omitempty"` // as written; empty: the calendar decides
	Role     lexicon.Role `json:"role,omitempty"`
	Author   string       `json:"author,omitempty"`
	Text     string       `json:"text"`

	Home   string `json:"-"` // that the note is of; empty unless Options.Home asks for it
	Source Source `json:"-"`

	// Numbers are those of the documents of HL7 v2 that have taken the place of the one with the note's id, each that of
	// the one before; the note says what the last one does.
	Numbers []string `json:"-"`
}

// Source is where a note was read.
type Source struct {
	File string // as given on the command line; "-" for standard input
	Line int    // 1-based line on which the record starts, or row of the sheet
	Ref  string // the resource of FHIR that it was read from, "DocumentReference/n7"; else empty

	Sheet string // the sheet of a workbook that it was read from; else empty
}

// String is the place as errors name it: "notes.csv:7", or "notes.xlsx, sheet 'Notes', row 7".
func (s Source) String() string {
	switch {
	case s.Sheet != "" && s.Line > 0:
		return fmt.Sprintf("%s, sheet '%s', row %d", s.File, s.Sheet, s.Line)
	case s.Sheet != "":
		return fmt.Sprintf("%s, sheet '%s'", s.File, s.Sheet)
	case s.Line > 0:
		return fmt.Sprintf("%s:%d", s.File, s.Line)
	}
	return s.File
}
