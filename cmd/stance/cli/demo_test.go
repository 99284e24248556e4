package cli_test

import (
	"bytes"
	"context"
	"encoding/json"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/santhosh-tekuri/jsonschema/v6"

	"example.com/stance/cmd/stance/cli"
	"example.com/stance/lint/finding"
)

const root = "../../.."

// run runs one command line and returns its status and what it printed.
func run(args ...string) (status int, stdout, stderr string) {
	var out, errs bytes.Buffer
	status = cli.MainAt(context.Background(), clock(), args, strings.NewReader(""), &out, &errs)
	return status, out.String(), errs.String()
}

func demoArgs(more ...string) []string {
	return append([]string{"check", "--chart", filepath.Join(root, "testdata/demo/chart.csv"),
		filepath.Join(root, "testdata/demo/notes.jsonl")}, more...)
}

type demoReport struct {
	Findings         []finding.Finding
	Notes, Residents int
	Counts           map[finding.Severity]int
}

func demo(t *testing.T, more ...string) demoReport {
	t.Helper()
	_, out, errs := run(demoArgs(append([]string{"--format", "json"}, more...)...)...)
	if errs != "" {
		t.Fatalf("on stderr: %s", errs)
	}
	var r demoReport
	if err := json.Unmarshal([]byte(out), &r); err != nil {
		t.Fatal(err)
	}
	return r
}

func TestDemoHome(t *testing.T) {
	all := demo(t)
	if all.Residents != 24 {
		t.Errorf("got %d residents, want the 24 of the demo home", all.Residents)
	}
	counts := map[finding.Severity]int{finding.Error: 0, finding.Warning: 0, finding.Hint: 0}
	flagged := map[string]bool{}
	for _, f := range all.Findings {
		counts[f.Severity]++
		flagged[f.Resident] = true
	}
	if diff := cmp.Diff(counts, all.Counts); diff != "" {
		t.Errorf("counts (-of the findings +as printed):\n%s", diff)
	}
	if counts[finding.Error] == 0 || counts[finding.Warning] == 0 || counts[finding.Hint] == 0 {
		t.Errorf("got %v, want some of each severity", counts)
	}
	if len(flagged) == all.Residents {
		t.Error("every resident is flagged, want clean ones too")
	}
}

// The notes of testdata/gold/clean keep every rule, so that whatever is flagged in them is a false alarm.
func TestCleanNotes(t *testing.T) {
	clean := filepath.Join(root, "testdata/gold/clean")
	status, out, errs := run("check", "--chart", filepath.Join(clean, "clean-chart.csv"), "--fail-on", "hint", filepath.Join(clean, "clean.jsonl"))
	if status != 0 || errs != "" {
		t.Errorf("status %d, want 0; on stderr: %s\n%s", status, errs, out)
	}
}

// The shifts part the notes: what is found on each must add up to what is found on all, because each
// report judges a note with all the others around it, selected or not.
func TestSelectingPartsTheReport(t *testing.T) {
	all := demo(t)
	parts, notes := 0, 0
	for _, shift := range []string{"day", "evening", "night"} {
		r := demo(t, "--shift", shift)
		notes += r.Notes
		for _, f := range r.Findings {
			if !strings.HasSuffix(f.Shift, "/"+shift) {
				t.Errorf("--shift %s gave a finding on %s", shift, f.Shift)
			}
		}
		parts += len(r.Findings)
	}
	if parts != len(all.Findings) || notes != all.Notes {
		t.Errorf("by shift: %d findings in %d notes, want %d in %d", parts, notes, len(all.Findings), all.Notes)
	}
}

func TestDemoReportsAreStable(t *testing.T) {
	for _, format := range []string{"text", "md", "json", "csv", "xlsx", "sarif", "junit", "fhir"} {
		_, first, _ := run(demoArgs("--format", format)...)
		_, second, _ := run(demoArgs("--format", format)...)
		if first == "" || first != second {
			t.Errorf("%s: two runs on one input differ", format)
		}
	}
}

func TestFailOnAndQuiet(t *testing.T) {
	for _, tt := range []struct {
		args []string
		want int
	}{
		{nil, 1},
		{[]string{"--fail-on", "hint"}, 1},
		{[]string{"--fail-on", "never"}, 0},
		{[]string{"--until", "2020-01-01"}, 0}, // nothing selected, nothing found
	} {
		status, _, _ := run(demoArgs(tt.args...)...)
		if status != tt.want {
			t.Errorf("check %v: status %d, want %d", tt.args, status, tt.want)
		}
		status, out, errs := run(demoArgs(append(tt.args, "--quiet")...)...)
		if status != tt.want || out+errs != "" {
			t.Errorf("check %v --quiet: status %d and %d bytes, want %d and none", tt.args, status, len(out+errs), tt.want)
		}
	}
}

// OASIS Standard SARIF 2.1.0 with errata 01 (2023): the schema lies with the reports.
func TestDemoSARIFIsValid(t *testing.T) {
	f, err := os.Open(filepath.Join(root, "lint/report/testdata/sarif-schema-2.1.0.json"))
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
	if err := c.AddResource("sarif.json", doc); err != nil {
		t.Fatal(err)
	}
	schema, err := c.Compile("sarif.json")
	if err != nil {
		t.Fatal(err)
	}
	_, out, _ := run(demoArgs("--format", "sarif")...)
	log, err := jsonschema.UnmarshalJSON(strings.NewReader(out))
	if err != nil {
		t.Fatal(err)
	}
	if err := schema.Validate(log); err != nil {
		t.Error(err)
	}
}
