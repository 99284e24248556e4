package report_test

import (
	"bytes"
	"os"
	"strings"
	"testing"

	"github.com/santhosh-tekuri/jsonschema/v6"

	"example.com/stance/lint/finding"
	"example.com/stance/lint/note"
	"example.com/stance/lint/report"
)

// The published JSON schema of FHIR R4, cut to the resources that are written: see testdata/README.md.
func fhirSchema(t *testing.T) *jsonschema.Schema {
	t.Helper()
	f, err := os.Open("testdata/fhir-4.0.1.schema.json")
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	doc, err := jsonschema.UnmarshalJSON(f)
	if err != nil {
		t.Fatal(err)
	}
	c := jsonschema.NewCompiler()
	if err := c.AddResource("fhir.json", doc); err != nil {
		t.Fatal(err)
	}
	s, err := c.Compile("fhir.json")
	if err != nil {
		t.Fatal(err)
	}
	return s
}

func TestFHIR(t *testing.T) {
	schema := fhirSchema(t)
	for name, run := range map[string]*report.Run{"findings": demoRun(t), "answered": answeredRun(t), "none": {}} {
		t.Run(name, func(t *testing.T) {
			var b bytes.Buffer
			if err := report.FHIR(&b, run, "v1", []report.Rule{{ID: "load-over-limit", Title: "More load than allowed"}}); err != nil {
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
	bad, err := jsonschema.UnmarshalJSON(strings.NewReader(`{"resourceType":"DetectedIssue","status":"final","severity":"worst"}`))
	if err != nil {
		t.Fatal(err)
	}
	if schema.Validate(bad) == nil {
		t.Error("the schema lets an unknown severity pass, so it proves nothing")
	}
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
