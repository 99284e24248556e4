// Package rules is what stance checks: each rule is a value with an id, a severity, its text as data
// and a check.
//
// [All] lists them in the order of the published tables. A [Bench] runs them over one resident's
// timeline. A rule is one file, load_over_limit.go, with its text beside it, load-over-limit.txt; to
// add one, write both and add a line to the list in list.go. Rules read what notes say as typed
// statements and remarks, the chart and the notes around; they see no flags, no files, no clock and
// not one another. Where two rules would tell the same story about one statement, precedence.go says
// which one does.
package rules

import (
	"embed"
	"fmt"

	"example.com/stance/lint/finding"
)

// A Rule is one thing that is checked.
type Rule struct {
	ID       string
	Severity finding.Severity // unless policy sets another
	Doc      Doc

	Group string // of the published tables that it stands in: "Against the chart" …
	Per   string // what an opportunity is, for a rate: "notes with a fall"; lower case, plural

	// Waits says that it finds something missing, which words still to come may bring: while a note is being typed, it
	// has no say before the sentence ends.
	Waits bool

	charted bool // what it finds is a conflict with the chart
	check   func(*pass)
	applies func(*pass) int // how many findings the check could have come to in the note, at most
}

//go:embed *.txt
var texts embed.FS

// All is every rule with its text, in the order of the published tables.
func All() ([]Rule, error) {
	rs := list()
	for i := range rs {
		name := rs[i].ID + ".txt"
		b, err := texts.ReadFile(name)
		if err != nil {
			return nil, fmt.Errorf("rule %s: want its text in %s", rs[i].ID, name)
		}
		if rs[i].Doc, err = ParseDoc(name, b); err != nil {
			return nil, err
		}
	}
	return rs, nil
}
