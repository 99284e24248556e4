package report

import (
	"encoding/xml"
	"fmt"
	"io"
	"strings"

	"example.com/stance/lint/finding"
)

// JUnitOptions say what JUnit XML tells of the rules, and which findings fail.
type JUnitOptions struct {
	Rules []Rule // those in force, each a suite of its own
	Fails func(*finding.Finding) bool
}

// JUnit writes the run as JUnit XML, which tools that gather the outcome of tests read: a suite for each rule, and in it
// a case for each finding, which fails, or is passed with its words where it need not fail; one that has been answered is
// skipped. A rule that found nothing has one case, which passes. What was not understood is a suite of skipped cases.
func JUnit(w io.Writer, run *Run, opt JUnitOptions) error {
	out := junitSuites{Name: "stance"}
	t := newTextWriter(io.Discard, run, TextOptions{})
	listed := map[string]bool{}
	rules := opt.Rules
	for _, r := range rules {
		listed[r.ID] = true
	}
	for _, f := range run.Findings {
		if !listed[f.Rule] { // of a run with other rules
			listed[f.Rule] = true
			rules = append(rules[:len(rules):len(rules)], Rule{ID: f.Rule})
		}
	}
	for _, r := range rules {
		suite := junitSuite{Name: r.ID, Properties: []junitProperty{{"title", r.Title}, {"caution", Caution}}}
		if !run.Tally.Charted {
			suite.Properties = append(suite.Properties, junitProperty{"chart", "none was given, so nothing was held against one"})
		}
		for i := range run.Findings {
			if f := &run.Findings[i]; f.Rule == r.ID {
				suite.add(t.junitCase(f, opt.Fails(f)))
			}
		}
		if len(suite.Cases) == 0 {
			suite.add(junitCase{Class: "stance." + r.ID, Name: "nothing found"})
		}
		out.add(suite)
	}
	if len(run.Overlooked) > 0 {
		suite := junitSuite{Name: NotUnderstood, Properties: []junitProperty{{"title", notUnderstoodTitle}, {"caution", Caution}}}
		for i := range run.Overlooked {
			o := &run.Overlooked[i]
			suite.add(junitCase{Class: "stance." + NotUnderstood, Name: fmt.Sprintf("resident %s, note %s: %s", o.Resident, o.Note, oneLine(o.Text)),
				Skipped: &junitSkipped{notUnderstoodMeans + " " + notUnderstoodAdvice}})
		}
		out.add(suite)
	}
	if _, err := io.WriteString(w, xml.Header); err != nil {
		return err
	}
	enc := xml.NewEncoder(w)
	enc.Indent("", " ")
	if err := enc.Encode(out); err != nil {
		return err
	}
	_, err := io.WriteString(w, "\n")
	return err
}

func oneLine(s string) string { return strings.Join(strings.Fields(Printable(s)), " ") }

func (t *textWriter) junitCase(f *finding.Finding, fails bool) junitCase {
	c := junitCase{Class: "stance." + f.Rule, Name: fmt.Sprintf("resident %s, %s", f.Resident, oneLine(t.where(f)))}
	if f.ID != "" {
		c.Name += " [" + f.ID + "]"
	}
	said := []string{Capital(string(f.Severity)) + ". " + Capital(oneLine(t.where(f))) + "."}
	say := func(label, s string) {
		if s != "" {
			said = append(said, label+": "+oneLine(s))
		}
	}
	if n, ok := t.run.on(f); ok {
		c.File = n.Source.File
		if n.Source.Sheet == "" {
			c.Line = n.Source.Line
		}
		say("Written", t.quote(n.Text, f.Span))
	} else {
		say("Written", f.Text)
	}
	say("Problem", sentence(f.Message))
	say("Sum", sentence(f.Sum))
	for _, line := range t.chartLines(f.Evidence) {
		say("Chart", line)
	}
	for _, e := range f.Evidence {
		if e.Chart == nil && e.Text != "" {
			say("Compare", t.compare(f, e))
		}
	}
	say("Do", sentence(f.Advice))
	text := strings.Join(said, "\n")
	switch {
	case f.Answer.Settles():
		c.Skipped = &junitSkipped{fmt.Sprintf("%s by %s: %s", f.Answer.As.Said(), f.Answer.By, oneLine(f.Answer.Why))}
		c.Out = text
	case fails:
		c.Failure = &junitFailure{sentence(f.Message), string(f.Severity), text}
	default:
		c.Out = text
	}
	return c
}

type (
	junitSuites struct {
		XMLName  xml.Name     `xml:"testsuites"`
		Name     string       `xml:"name,attr"`
		Tests    int          `xml:"tests,attr"`
		Failures int          `xml:"failures,attr"`
		Errors   int          `xml:"errors,attr"`
		Skipped  int          `xml:"skipped,attr"`
		Suites   []junitSuite `xml:"testsuite"`
	}
	junitSuite struct {
		Name       string          `xml:"name,attr"`
		Tests      int             `xml:"tests,attr"`
		Failures   int             `xml:"failures,attr"`
		Errors     int             `xml:"errors,attr"`
		Skipped    int             `xml:"skipped,attr"`
		Properties []junitProperty `xml:"properties>property"`
		Cases      []junitCase     `xml:"testcase"`
	}
	junitProperty struct {
		Name  string `xml:"name,attr"`
		Value string `xml:"value,attr"`
	}
	junitCase struct {
		Class   string        `xml:"classname,attr"`
		Name    string        `xml:"name,attr"`
		File    string        `xml:"file,attr,omitempty"`
		Line    int           `xml:"line,attr,omitempty"`
		Failure *junitFailure `xml:"failure"`
		Skipped *junitSkipped `xml:"skipped"`
		Out     string        `xml:"system-out,omitempty"`
	}
	junitFailure struct {
		Message string `xml:"message,attr"`
		Type    string `xml:"type,attr"`
		Text    string `xml:",chardata"`
	}
	junitSkipped struct {
		Message string `xml:"message,attr"`
	}
)

func (s *junitSuite) add(c junitCase) {
	s.Cases = append(s.Cases, c)
	s.Tests++
	switch {
	case c.Failure != nil:
		s.Failures++
	case c.Skipped != nil:
		s.Skipped++
	}
}

func (s *junitSuites) add(suite junitSuite) {
	s.Suites = append(s.Suites, suite)
	s.Tests += suite.Tests
	s.Failures += suite.Failures
	s.Skipped += suite.Skipped
}
