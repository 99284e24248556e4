package rules

import (
	"fmt"
	"strings"

	"golang.org/x/tools/txtar"
)

// A Doc is the text of a rule, for people. Every field is filled, save Example.Chart where the
// example is about a resident with no chart.
type Doc struct {
	Title    string // one line, lower case, no full stop
	LooksFor string // what it looks for
	Why      string // why that matters
	Do       string // what to do
	Source   string // published, with year and section, or "common practice"
	Trigger  Example
	NearMiss Example
}

// An Example is notes that a rule fires on, or that it must let pass.
type Example struct {
	Says  string // one line: what the example shows
	Chart string // CSV with a header, as a chart file has it; empty for none
	Notes string // plain text, as a notes file has it
}

// ParseDoc reads the text of a rule. The form is a txtar archive with the files title, looks for,
// why, do and source, and for each of trigger and near miss: says, chart and notes ("trigger says",
// "near miss chart" …). Lines of one paragraph are joined. A chart may be left out; anything else
// that is missing, empty, repeated or unknown is an error that names the file and the line.
func ParseDoc(name string, b []byte) (Doc, error) {
	var d Doc
	fields := map[string]*string{
		"title": &d.Title, "looks for": &d.LooksFor, "why": &d.Why, "do": &d.Do, "source": &d.Source,
		"trigger says": &d.Trigger.Says, "near miss says": &d.NearMiss.Says,
	}
	verbatim := map[string]*string{
		"trigger chart": &d.Trigger.Chart, "trigger notes": &d.Trigger.Notes,
		"near miss chart": &d.NearMiss.Chart, "near miss notes": &d.NearMiss.Notes,
	}
	line := 1
	arc := txtar.Parse(b)
	line += strings.Count(string(arc.Comment), "\n")
	for _, f := range arc.Files {
		text := string(f.Data)
		switch {
		case fields[f.Name] != nil:
			*fields[f.Name] = strings.Join(strings.Fields(text), " ")
			delete(fields, f.Name)
		case verbatim[f.Name] != nil:
			*verbatim[f.Name] = text
			delete(verbatim, f.Name)
		default:
			return Doc{}, fmt.Errorf("%s:%d: section %q is unknown or stands twice", name, line, f.Name)
		}
		if strings.TrimSpace(text) == "" {
			return Doc{}, fmt.Errorf("%s:%d: section %q is empty", name, line, f.Name)
		}
		line += 1 + strings.Count(text, "\n")
	}
	for _, want := range []string{"title", "looks for", "why", "do", "source", "trigger says", "near miss says"} {
		if fields[want] != nil {
			return Doc{}, fmt.Errorf("%s:%d: section %q is missing", name, line, want)
		}
	}
	for _, want := range []string{"trigger notes", "near miss notes"} {
		if verbatim[want] != nil {
			return Doc{}, fmt.Errorf("%s:%d: section %q is missing", name, line, want)
		}
	}
	return d, nil
}
