package note

import (
	"regexp"
	"slices"
	"strings"
)

// A Survey is what readers see of a home's files beside the notes, for whoever looks into how the files are made.
type Survey struct {
	Fields map[string]bool // the fields that have a column or a key
	Others []string        // columns and keys that are no field, in the order in which they were met
	Titles map[string]int  // job titles that stand for no role, and how many notes have each
	NoZone int             // notes whose time is written without an offset from UTC
}

// offset is the end of a time with an offset from UTC.
var offset = regexp.MustCompile(`(?i):?\d{2} ?(z|[+-]\d{2}(:?\d{2})?)$`)

// mostSeen bounds what a survey remembers of each sort: a file with more is none of a home's.
const mostSeen = 100

// columns takes in the header of a table, or the keys of an object. A nil survey takes nothing in.
func (s *Survey) columns(header []string, own map[string]string) {
	if s == nil {
		return
	}
	if s.Fields == nil {
		s.Fields = map[string]bool{}
	}
	for _, head := range header {
		head = strings.TrimSpace(head)
		i := slices.IndexFunc(fieldNames(), func(f string) bool { return named(f, own)(head) })
		switch {
		case i >= 0:
			s.Fields[fieldNames()[i]] = true
		case head != "" && len(s.Others) < mostSeen && !slices.Contains(s.Others, head):
			s.Others = append(s.Others, head)
		}
	}
}

// note takes in a note's time and its author's title, as they are written.
func (s *Survey) note(time, title string, known bool) {
	if !offset.MatchString(strings.TrimSpace(time)) {
		s.NoZone++
	}
	title = strings.TrimSpace(title)
	if known || title == "" {
		return
	}
	if s.Titles == nil {
		s.Titles = map[string]int{}
	}
	if s.Titles[title] > 0 || len(s.Titles) < mostSeen {
		s.Titles[title]++
	}
}
