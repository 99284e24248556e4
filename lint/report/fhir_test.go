package report_test

import (
	"bytes"
	"io"
	"strings"
	"testing"

	"example.com/stance/lint/finding"
	"example.com/stance/lint/note"
	"example.com/stance/lint/report"
)

// FHIR R4, its schema cut to the resources that are written. A severity is one of a list.
func TestFHIR(t *testing.T) {
	validates(t, published(t, "fhir-4.0.1.schema.json"), func(w io.Writer, run *report.Run) error {
		return report.FHIR(w, run, "v1", []report.Rule{{ID: "load-over-limit", Title: "More load than allowed"}})
	}, `{"resourceType":"DetectedIssue","status":"final","severity":"worst"}`)
}

// A finding refers to the resource that its note was read from, without the place within it.
func TestFHIRReference(t *testing.T) {
	run := &report.Run{
		Findings: []finding.Finding{{ID: "1", Rule: "r", Severity: finding.Error, Resident: "R", Note: "N-2", Message: "m", Advice: "a"}},
		Notes: func(string, string) []note.Note {
			return []note.Note{{ID: "N-2", Resident: "R", Source: note.Source{File: "f", Line: 1, Ref: "Observation/o#2"}}}
		},
	}
	var b bytes.Buffer
	if err := report.FHIR(&b, run, "", nil); err != nil {
		t.Fatal(err)
	}
	if want := `"reference": "Observation/o",`; !strings.Contains(b.String(), want) {
		t.Errorf("no %s in\n%s", want, b.String())
	}
}
