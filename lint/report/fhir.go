package report

import (
	"crypto/sha256"
	"encoding/json"
	"fmt"
	"io"
	"strings"

	"example.com/stance/lint/finding"
	"example.com/stance/lint/note"
)

// RuleSystem is the code system of rules' ids in FHIR.
const RuleSystem = "https://example.com/stance/rule"

// FindingSystem is the system of findings' ids in FHIR.
const FindingSystem = "https://example.com/stance/finding"

// FHIR writes the run as a Bundle of DetectedIssue resources, R4 (4.0.1). Each refers to the notes that it is about: to
// the resource that a note was read from or, for notes of other forms, by the note's id. It is preliminary, as a person
// has yet to look into it, until it is answered. What was not understood is one too, without a severity. It has no time of its own, so that the same notes give the same bytes.
func FHIR(w io.Writer, run *Run, version string, rules []Rule) error {
	titles := make(map[string]string, len(rules))
	for _, r := range rules {
		titles[r.ID] = r.Title
	}
	bundle := fhirBundle{ResourceType: "Bundle", Type: "collection"}
	for i := range run.Findings {
		f := &run.Findings[i]
		issue := detectedIssue(run, f, titles[f.Rule])
		issue.Author = fhirReference{Type: "Device", Display: strings.TrimSpace("stance " + version)}
		bundle.Entry = append(bundle.Entry, fhirEntry{"urn:uuid:" + issue.ID, issue})
	}
	for i := range run.Overlooked {
		issue := overlookedIssue(run, &run.Overlooked[i])
		issue.Author = fhirReference{Type: "Device", Display: strings.TrimSpace("stance " + version)}
		bundle.Entry = append(bundle.Entry, fhirEntry{"urn:uuid:" + issue.ID, issue})
	}
	enc := json.NewEncoder(w)
	enc.SetEscapeHTML(false)
	enc.SetIndent("", " ")
	return enc.Encode(bundle)
}

// uuid is made from the finding's id (RFC 9562, version 8), so that it is the same in every run.
func uuid(f *finding.Finding) string { return uuidOf(f.ID, f.Resident, f.Note) }

func uuidOf(parts ...string) string {
	h := sha256.Sum256([]byte(strings.Join(parts, "\x00")))
	h[6], h[8] = h[6]&0x0f|0x80, h[8]&0x3f|0x80
	return fmt.Sprintf("%x-%x-%x-%x-%x", h[:4], h[4:6], h[6:8], h[8:10], h[10:16])
}

func detectedIssue(run *Run, f *finding.Finding, title string) fhirIssue {
	issue := fhirIssue{
		ResourceType: "DetectedIssue",
		ID:           uuid(f),
		Status:       "preliminary",
		Code:         fhirConcept{[]fhirCoding{{RuleSystem, f.Rule, title}}, title},
		Severity:     fhirSeverity(f.Severity),
		Patient:      fhirReference{Type: "Patient", Identifier: &fhirIdentifier{Value: f.Resident}},
		Detail:       strings.Join([]string{sentence(f.Message), sentence(f.Advice), Caution}, " "),
	}
	if f.ID != "" {
		issue.Identifier = []fhirIdentifier{{FindingSystem, f.ID}}
	}
	if f.Note != "" {
		n, ok := run.on(f)
		ref := noteReference(n, ok, f.Note)
		issue.Implicated = []fhirReference{ref}
		if strings.TrimSpace(f.Text) != "" {
			issue.Evidence = append(issue.Evidence, fhirEvidence{[]fhirConcept{{Text: fhirText(f.Text)}}, []fhirReference{ref}})
		}
	}
	for _, e := range f.Evidence {
		if e.Chart != nil {
			charted := fmt.Sprintf("Charted since %s: %s %s", e.Chart.From.Format("2006-01-02T15:04:05Z07:00"), e.Chart.Field, e.Chart.Value)
			issue.Evidence = append(issue.Evidence, fhirEvidence{Code: []fhirConcept{{Text: strings.TrimSpace(charted)}}})
			continue
		}
		n, ok := run.evidence(f, e)
		piece := fhirEvidence{Detail: []fhirReference{noteReference(n, ok, e.Note)}}
		if strings.TrimSpace(e.Text) != "" {
			piece.Code = []fhirConcept{{Text: fhirText(e.Text)}}
		}
		issue.Evidence = append(issue.Evidence, piece)
	}
	if a := f.Answer; a != nil {
		issue.Status = "final"
		if a.As == finding.Mistaken {
			issue.Status = "cancelled"
		}
		issue.Mitigation = []fhirMitigation{{
			Action: fhirConcept{Text: fmt.Sprintf("%s: %s", a.As, a.Why)},
			Date:   a.Time.Format("2006-01-02T15:04:05Z07:00"),
			Author: fhirReference{Display: a.By},
		}}
	}
	return issue
}

// overlookedIssue is a sentence that was not understood.
func overlookedIssue(run *Run, o *finding.Overlooked) fhirIssue {
	n, ok := run.note(o.Resident, o.Note, o.Span, o.Text)
	ref := noteReference(n, ok, o.Note)
	return fhirIssue{
		ResourceType: "DetectedIssue",
		ID:           uuidOf(NotUnderstood, o.Resident, o.Note, o.Shift, fmt.Sprint(o.Span.Start)),
		Status:       "preliminary",
		Code:         fhirConcept{[]fhirCoding{{RuleSystem, NotUnderstood, notUnderstoodTitle}}, notUnderstoodTitle},
		Patient:      fhirReference{Type: "Patient", Identifier: &fhirIdentifier{Value: o.Resident}},
		Implicated:   []fhirReference{ref},
		Evidence:     []fhirEvidence{{[]fhirConcept{{Text: fhirText(o.Text)}}, []fhirReference{ref}}},
		Detail:       strings.Join([]string{notUnderstoodMeans, notUnderstoodAdvice, Caution}, " "),
	}
}

// noteReference is the resource that a note was read from, by its type and id; other notes have only the id.
func noteReference(n note.Note, found bool, id string) fhirReference {
	ref := fhirReference{Identifier: &fhirIdentifier{Value: id}}
	if found && n.Source.Ref != "" {
		ref.Reference, _, _ = strings.Cut(n.Source.Ref, "#")
		ref.Type, _, _ = strings.Cut(ref.Reference, "/")
	}
	return ref
}

// fhirText is words of a note without the one character that a string of FHIR may not have.
func fhirText(s string) string { return strings.ReplaceAll(s, "\f", " ") }

func fhirSeverity(s finding.Severity) string {
	switch s {
	case finding.Error:
		return "high"
	case finding.Warning:
		return "moderate"
	}
	return "low"
}

type (
	fhirBundle struct {
		ResourceType string      `json:"resourceType"`
		Type         string      `json:"type"`
		Entry        []fhirEntry `json:"entry,omitempty"` // FHIR has no empty lists
	}
	fhirEntry struct {
		FullURL  string    `json:"fullUrl"`
		Resource fhirIssue `json:"resource"`
	}
	fhirIssue struct {
		ResourceType string           `json:"resourceType"`
		ID           string           `json:"id"`
		Identifier   []fhirIdentifier `json:"identifier,omitempty"`
		Status       string           `json:"status"`
		Code         fhirConcept      `json:"code"`
		Severity     string           `json:"severity,omitempty"`
		Patient      fhirReference    `json:"patient"`
		Author       fhirReference    `json:"author"`
		Implicated   []fhirReference  `json:"implicated,omitempty"`
		Evidence     []fhirEvidence   `json:"evidence,omitempty"`
		Detail       string           `json:"detail"`
		Mitigation   []fhirMitigation `json:"mitigation,omitempty"`
	}
	fhirIdentifier struct {
		System string `json:"system,omitempty"`
		Value  string `json:"value"`
	}
	fhirConcept struct {
		Coding []fhirCoding `json:"coding,omitempty"`
		Text   string       `json:"text,omitempty"`
	}
	fhirCoding struct {
		System  string `json:"system"`
		Code    string `json:"code"`
		Display string `json:"display,omitempty"`
	}
	fhirReference struct {
		Reference  string          `json:"reference,omitempty"`
		Type       string          `json:"type,omitempty"`
		Identifier *fhirIdentifier `json:"identifier,omitempty"`
		Display    string          `json:"display,omitempty"`
	}
	fhirEvidence struct {
		Code   []fhirConcept   `json:"code,omitempty"`
		Detail []fhirReference `json:"detail,omitempty"`
	}
	fhirMitigation struct {
		Action fhirConcept   `json:"action"`
		Date   string        `json:"date"`
		Author fhirReference `json:"author"`
	}
)
