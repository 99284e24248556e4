package report_test

import (
	"bytes"
	"encoding/json"
	"errors"
	"flag"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"
	"unicode/utf8"

	"github.com/google/go-cmp/cmp"
	"github.com/santhosh-tekuri/jsonschema/v6"

	"example.com/stance/lexicon"
	"example.com/stance/lint/finding"
	"example.com/stance/lint/internal/sheet"
	"example.com/stance/lint/note"
	"example.com/stance/lint/report"
)

var update = flag.Bool("update", false, "rewrite the golden files")

// place is the span of the first words in text.
func place(t *testing.T, text, words string) lexicon.Span {
	t.Helper()
	i := strings.Index(text, words)
	if i < 0 {
		t.Fatalf("%q is not in %q", words, text)
	}
	line := 1 + strings.Count(text[:i], "\n")
	column := 1 + utf8.RuneCountInString(text[strings.LastIndexByte(text[:i], '\n')+1:i])
	return lexicon.Span{Start: i, End: i + len(words), Line: line, Column: column}
}

// demoRun has what the reports must cope with: two residents out of order of severity, a note with
// several lines and a control character, evidence of both kinds, a rewrite, and a silent shift.
func demoRun(t *testing.T) *report.Run {
	t.Helper()
	zone := time.FixedZone("", -5*3600)
	at := func(day, hour, minute int) time.Time { return time.Date(2026, 11, day, hour, minute, 0, 0, zone) }
	notes := map[string]note.Note{
		"N1": {ID: "N1", Resident: "R-11", Unit: "Fir", Time: at(23, 9, 0), Role: lexicon.Nurse,
			Text: "Lifted to chair x1 with belt, took a few steps.", Source: note.Source{File: "notes one.jsonl", Line: 1}},
		"N2": {ID: "N2", Resident: "R-12", Unit: "Fir", Time: at(24, 21, 40), Role: lexicon.CareWorker,
			Text:   "Settled after supper, no complaints voiced, family in to visit and stayed until seven o'clock.\nAsked for the toilet: walked to BR with cane\x1b[2J and back to bed again, slippers on, call bell in reach, in good spirits and chatty.\nSlept.",
			Source: note.Source{File: "notes one.jsonl", Line: 2}},
		"N3": {ID: "N3", Resident: "R-12", Time: at(24, 8, 0), Role: lexicon.OtherRole, Text: "Mech lift x2 to chair.", Source: note.Source{File: "-", Line: 4}},
	}
	from := at(20, 9, 0)
	lifted := place(t, notes["N1"].Text, "Lifted to chair x1")
	lift := place(t, notes["N3"].Text, "Mech lift x2 to chair")
	return &report.Run{
		Findings: []finding.Finding{
			{Rule: "lift-wording", Severity: finding.Warning, Resident: "R-11", Note: "N1", Shift: "2026-11-23/day", Unit: "Fir", Time: at(23, 9, 0),
				Span: lifted, Text: "Lifted to chair x1", Message: "the note says lifted of a resident who took steps", Advice: "Write transferred, or say what was done",
				Rewrite: &finding.Rewrite{Start: 0, End: 6, Text: "Transferred"}},
			{Rule: "shift-silent", Severity: finding.Hint, Resident: "R-12", Shift: "2026-11-23/night", Unit: "Fir", Time: at(23, 23, 0),
				Message: "no word about moving on this shift", Advice: "Ask the night shift."},
			{Rule: "load-over-limit", Severity: finding.Error, Resident: "R-12", Note: "N2", Shift: "2026-11-24/evening", Unit: "Fir", Time: at(24, 21, 40),
				Span: place(t, notes["N2"].Text, "walked to BR with cane"), Text: "walked to BR with cane",
				Message: "walking with a cane leaves 75% on each leg in turn; the chart allows 0% on the left", Advice: "Stop walking until the therapist has looked at it.",
				Evidence: []finding.Evidence{
					{Chart: &finding.ChartValue{From: from, Field: "left_leg", Value: "nwb"}},
					{Chart: &finding.ChartValue{From: from, Field: "aids", Value: "walker-2w;belt"}},
					{Note: "N3", Span: &lift, Text: "Mech lift x2 to chair"},
				}},
		},
		Tally: report.Tally{Notes: 12, Residents: 4, Unread: 1, Charted: true},
		Notes: func(resident, id string) []note.Note {
			if n, ok := notes[id]; ok && n.Resident == resident {
				return []note.Note{{ID: id, Resident: resident, Text: "an id that was given twice"}, n}
			}
			return nil
		},
	}
}

// Where two residents have notes of one id, a report tells the other's by its resident, also where the words and
// the place are the same.
func TestNotesOfOneID(t *testing.T) {
	at := time.Date(2026, 11, 24, 8, 0, 0, 0, time.UTC)
	span := lexicon.Span{Start: 0, End: 6, Line: 1, Column: 1}
	run := &report.Run{
		Findings: []finding.Finding{{Rule: "copied-across", Severity: finding.Warning, Resident: "R-1", Note: "7", Shift: "2026-11-24/day", Time: at.Add(time.Hour),
			Span: span, Text: "Walked", Message: "copied", Advice: "check", Evidence: []finding.Evidence{{Resident: "R-2", Note: "7", Span: &span, Text: "Walked"}}}},
		Notes: func(resident, id string) []note.Note {
			n := note.Note{ID: id, Resident: resident, Time: at, Role: lexicon.Nurse, Text: "Walked.", Source: note.Source{File: resident, Line: 1}}
			return []note.Note{n}
		},
	}
	var text, sarif, js bytes.Buffer
	if err := report.Text(&text, run, report.TextOptions{}); err != nil {
		t.Fatal(err)
	}
	if err := report.SARIF(&sarif, run, sarifOptions); err != nil {
		t.Fatal(err)
	}
	if err := report.JSON(&js, run); err != nil {
		t.Fatal(err)
	}
	for _, tt := range []struct{ got, want string }{
		{text.String(), "Note 7 on resident R-2 of 24 November 2026, 08:00 says «Walked»."},
		{sarif.String(), `"fullyQualifiedName": "R-2/7"`},
		{sarif.String(), `"uri": "R-2"`},
		{sarif.String(), `"uri": "R-1"`},
		{js.String(), `"evidence":[{"resident":"R-2","note":"7","span":`},
	} {
		if !strings.Contains(tt.got, tt.want) {
			t.Errorf("want %s in %s", tt.want, tt.got)
		}
	}
}

// answeredRun is demoRun with ids, and with its error answered.
func answeredRun(t *testing.T) *report.Run {
	run := demoRun(t)
	for i := range run.Findings {
		run.Findings[i].ID = strings.Repeat(string(rune('a'+i)), 16)
	}
	run.Findings[2].Answer = &finding.Answer{As: finding.Confirmed, Why: "seen by the\ttherapist", By: "charge nurse",
		Time: time.Date(2026, 11, 25, 8, 0, 0, 0, time.UTC)}
	run.Tally.Answered = 1
	return run
}

var sarifOptions = report.SARIFOptions{Version: "1.2.3", Rules: []report.Rule{
	{ID: "load-over-limit", Title: "More load than the chart allows", LooksFor: "walks", Help: "stop", Severity: finding.Error},
	{ID: "lift-wording", Title: "Lift said of a transfer", LooksFor: "lift words", Help: "write transferred", Severity: finding.Warning},
}}

// overlooked is one sentence that was not understood.
func overlooked() []finding.Overlooked {
	return []finding.Overlooked{
		{Resident: "R-11", Unit: "Fir", Note: "N1", Shift: "2026-11-23/day", Time: time.Date(2026, 11, 23, 9, 0, 0, 0, time.UTC),
			Span: lexicon.Span{Start: 0, End: 18, Line: 1, Column: 1}, Text: "Quorvel x2\tto chair"},
	}
}

// junit writes a run in which errors fail.
func junit(run *report.Run) func(*bytes.Buffer) error {
	return func(b *bytes.Buffer) error {
		return report.JUnit(b, run, report.JUnitOptions{Rules: sarifOptions.Rules, Fails: func(f *finding.Finding) bool { return f.Severity == finding.Error }})
	}
}

// workbook writes what stands in the workbook of a run: its sheets, a line for each row.
func workbook(b *bytes.Buffer, run *report.Run) error {
	of := *run
	start := time.Date(2026, 11, 24, 15, 0, 0, 0, time.UTC)
	charted := []finding.ChartValue{{From: start, Field: "transfer", Value: "one-person"}, {From: start, Field: "left_leg", Value: "nwb"}}
	of.Present = []report.Present{
		{Shift: "2026-11-24/evening", Start: start, Unit: "Fir", Resident: "R-12", Notes: 1, Charted: charted},
		{Shift: "2026-11-23/day", Start: start.AddDate(0, 0, -1), Unit: "Fir", Resident: "R-11", Notes: 2},
		{Shift: "2026-11-24/evening", Start: start, Unit: "Elm", Resident: "=R-13", Charted: charted},
		{Shift: "2026-11-24/evening", Start: start, Unit: "Elm", Resident: "R-14", Notes: 1},
	}
	var book bytes.Buffer
	if err := report.XLSX(&book, &of, report.TextOptions{}); err != nil {
		return err
	}
	for _, name := range []string{"Findings", "Shift"} {
		table, err := sheet.Open(bytes.NewReader(book.Bytes()), sheet.Options{Sheet: name, Limit: 1 << 20, Wanted: func([]string) int { return 1 }})
		if err != nil {
			return err
		}
		fmt.Fprintf(b, "== %s\n%s\n", name, strings.Join(table.Header(), "|"))
		for {
			row, err := table.Next()
			if err == io.EOF {
				break
			}
			if err != nil {
				return err
			}
			fmt.Fprintln(b, strings.TrimRight(strings.Join(row.Fields, "|"), "|"))
		}
	}
	return nil
}

func TestReports(t *testing.T) {
	clean := &report.Run{Tally: report.Tally{Notes: 1, Residents: 1, Charted: true}}
	bare := &report.Run{Tally: report.Tally{Notes: 2, Residents: 1, Unread: 2}}
	none := &report.Run{}
	answered := answeredRun(t)
	leftOut := *answered
	leftOut.Findings = answered.Findings[:2]
	allLeftOut := *answered
	allLeftOut.Findings, allLeftOut.Tally.Answered = nil, 3
	unread := *clean
	unread.Overlooked = overlooked()
	text := func(run *report.Run, opt report.TextOptions) func(*bytes.Buffer) error {
		return func(b *bytes.Buffer) error { return report.Text(b, run, opt) }
	}
	for name, write := range map[string]func(*bytes.Buffer) error{
		"text.txt":              text(demoRun(t), report.TextOptions{}),
		"text-utc.txt":          text(demoRun(t), report.TextOptions{Zone: time.UTC, Width: 120}),
		"text-40.txt":           text(demoRun(t), report.TextOptions{Width: 12}),
		"text-color.txt":        text(demoRun(t), report.TextOptions{Color: true}),
		"text-clean.txt":        text(clean, report.TextOptions{}),
		"text-counted.txt":      text(&unread, report.TextOptions{}),
		"text-unread.txt":       text(&unread, report.TextOptions{Unread: true}),
		"unread-sarif.json":     func(b *bytes.Buffer) error { return report.SARIF(b, &unread, sarifOptions) },
		"unread-fhir.json":      func(b *bytes.Buffer) error { return report.FHIR(b, &unread, "1.2.3", nil) },
		"unread.json":           func(b *bytes.Buffer) error { return report.JSON(b, &unread) },
		"text-bare.txt":         text(bare, report.TextOptions{}),
		"text-none.txt":         text(none, report.TextOptions{}),
		"text-answered.txt":     text(answered, report.TextOptions{IDs: true}),
		"text-left-out.txt":     text(&leftOut, report.TextOptions{}),
		"text-all-left-out.txt": text(&allLeftOut, report.TextOptions{}),
		"answered.json":         func(b *bytes.Buffer) error { return report.JSON(b, answered) },
		"answered-sarif.json":   func(b *bytes.Buffer) error { return report.SARIF(b, answered, sarifOptions) },
		"json.json":             func(b *bytes.Buffer) error { return report.JSON(b, demoRun(t)) },
		"none.json":             func(b *bytes.Buffer) error { return report.JSON(b, none) },
		"findings.csv":          func(b *bytes.Buffer) error { return report.CSV(b, answered, report.TextOptions{}) },
		"unread.csv":            func(b *bytes.Buffer) error { return report.CSV(b, &unread, report.TextOptions{}) },
		"workbook.txt":          func(b *bytes.Buffer) error { return workbook(b, answered) },
		"workbook-unread.txt":   func(b *bytes.Buffer) error { return workbook(b, &unread) },
		"markdown.md":           func(b *bytes.Buffer) error { return report.Markdown(b, answered, report.TextOptions{}) },
		"markdown-unread.md":    func(b *bytes.Buffer) error { return report.Markdown(b, &unread, report.TextOptions{Unread: true}) },
		"junit.xml":             junit(answered),
		"junit-unread.xml":      junit(&unread),
		"sarif.json":            func(b *bytes.Buffer) error { return report.SARIF(b, demoRun(t), sarifOptions) },
	} {
		t.Run(name, func(t *testing.T) {
			var b bytes.Buffer
			if err := write(&b); err != nil {
				t.Fatal(err)
			}
			golden := filepath.Join("testdata", name)
			if *update {
				if err := os.WriteFile(golden, b.Bytes(), 0o644); err != nil {
					t.Fatal(err)
				}
			}
			want, err := os.ReadFile(golden)
			if err != nil {
				t.Fatal(err)
			}
			if diff := cmp.Diff(string(want), b.String()); diff != "" {
				t.Errorf("%s (-want +got):\n%s", golden, diff)
			}
		})
	}
}

// A control character of a note could drive the reader's terminal, so none but the report's own
// line ends may come through.
func TestTextLetsNoControlCharacterThrough(t *testing.T) {
	var b bytes.Buffer
	if err := report.Text(&b, demoRun(t), report.TextOptions{}); err != nil {
		t.Fatal(err)
	}
	for _, r := range b.String() {
		if r < 0x20 && r != '\n' {
			t.Fatalf("the report holds %U", r)
		}
	}
}

func TestTextFillsTheWidth(t *testing.T) {
	for _, width := range []int{40, 60, 80, 200} {
		var b bytes.Buffer
		if err := report.Text(&b, demoRun(t), report.TextOptions{Width: width}); err != nil {
			t.Fatal(err)
		}
		for line := range strings.Lines(b.String()) {
			if n := utf8.RuneCountInString(strings.TrimSuffix(line, "\n")); n > width {
				t.Errorf("width %d: a line has %d characters: %q", width, n, line)
			}
		}
	}
}

// What is underlined is so through its blanks, and neither what stands before the text of a line nor what is behind it.
func TestFillStyles(t *testing.T) {
	var b bytes.Buffer
	report.Fill(&b, 14, "> ", "  ", "one \x1b[4mtwo three four\x1b[0m five \x1b[1msix\x1b[0m")
	const want = "> one \x1b[4mtwo\x1b[0m\n  \x1b[4mthree four\x1b[0m\n  five \x1b[1msix\x1b[0m\n"
	if got := b.String(); got != want {
		t.Errorf("got %q, want %q", got, want)
	}
}

// published is the JSON schema of a standard, from testdata; its README says where each is from.
func published(t *testing.T, file string) *jsonschema.Schema {
	t.Helper()
	f, err := os.Open("testdata/" + file)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	doc, err := jsonschema.UnmarshalJSON(f)
	if err != nil {
		t.Fatal(err)
	}
	c := jsonschema.NewCompiler()
	c.AssertFormat()
	if err := c.AddResource(file, doc); err != nil {
		t.Fatal(err)
	}
	s, err := c.Compile(file)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// validates checks what write writes of several runs against the schema, which must refuse what is bad.
func validates(t *testing.T, schema *jsonschema.Schema, write func(io.Writer, *report.Run) error, bad string) {
	t.Helper()
	for name, run := range map[string]*report.Run{"findings": demoRun(t), "answered": answeredRun(t), "not understood": {Overlooked: overlooked()}, "none": {}} {
		t.Run(name, func(t *testing.T) {
			var b bytes.Buffer
			if err := write(&b, run); err != nil {
				t.Fatal(err)
			}
			doc, err := jsonschema.UnmarshalJSON(&b)
			if err != nil {
				t.Fatal(err)
			}
			if err := schema.Validate(doc); err != nil {
				t.Error(err)
			}
		})
	}
	doc, err := jsonschema.UnmarshalJSON(strings.NewReader(bad))
	if err != nil {
		t.Fatal(err)
	}
	if schema.Validate(doc) == nil {
		t.Errorf("the schema lets %s pass, so it proves nothing", bad)
	}
}

// OASIS Standard SARIF 2.1.0 with errata 01 (2023). A driver must have a name.
func TestSARIFIsValid(t *testing.T) {
	validates(t, published(t, "sarif-schema-2.1.0.json"), func(w io.Writer, run *report.Run) error {
		return report.SARIF(w, run, sarifOptions)
	}, `{"version":"2.1.0","runs":[{"tool":{"driver":{}}}]}`)
}

// Readers of the JSON report may rely on lists that are never null.
func TestJSONHasNoNull(t *testing.T) {
	var b bytes.Buffer
	if err := report.JSON(&b, demoRun(t)); err != nil {
		t.Fatal(err)
	}
	if strings.Contains(b.String(), "null") {
		t.Errorf("null in %s", b.String())
	}
	var got struct{ Findings []finding.Finding }
	if err := json.Unmarshal(b.Bytes(), &got); err != nil {
		t.Fatal(err)
	}
	if len(got.Findings) != 3 {
		t.Errorf("got %d findings, want 3", len(got.Findings))
	}
}

type full struct{}

var errFull = errors.New("disk full")

func (full) Write([]byte) (int, error) { return 0, errFull }

func TestWriteErrorsComeBack(t *testing.T) {
	run := demoRun(t)
	for name, err := range map[string]error{
		"text":  report.Text(full{}, run, report.TextOptions{}),
		"json":  report.JSON(full{}, run),
		"sarif": report.SARIF(full{}, run, sarifOptions),
	} {
		if !errors.Is(err, errFull) {
			t.Errorf("%s: got %v, want %v", name, err, errFull)
		}
	}
}
