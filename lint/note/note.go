// Package note is a handover note and the readers that bring notes in from files.
package note

import (
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

	Source Source `json:"-"`

	// Numbers are those of the documents of HL7 v2 that have taken the place of the one with the note's id, each that of
	// the one before; the note says what the last one does.
	Numbers []string `json:"-"`
}

// Source is where a note was read.
type Source struct {
	File string // as given on the command line; "-" for standard input
	Line int    // 1-based line on which the record starts
	Ref  string // the resource of FHIR that it was read from, "DocumentReference/n7"; else empty
}
