package report

import (
	"cmp"
	"encoding/json"
	"fmt"
	"io"
	"net/url"
	"path/filepath"
	"strings"

	"example.com/stance/lexicon"
	"example.com/stance/lint/finding"
	"example.com/stance/lint/note"
)

// A Rule describes one rule to readers of SARIF.
type Rule struct {
	ID       string
	Title    string
	LooksFor string
	Help     string // what to do
	Severity finding.Severity
}

// SARIFOptions carry what SARIF says about the program that ran.
type SARIFOptions struct {
	Version string
	Rules   []Rule
}

// SARIF writes the run as a log of the Static Analysis Results Interchange Format, version 2.1.0
// (OASIS Standard, errata 01, 2023). A note is one record of a file, so the region of a result is the
// line on which the record starts; the place within the note's text is in the result's properties,
// as bytes, line and column. What was not understood is a result of kind review (section 3.27.9), which is for a person
// to judge and counts as no failure.
func SARIF(w io.Writer, run *Run, opt SARIFOptions) error {
	rules := make([]sarifRule, len(opt.Rules))
	index := make(map[string]int, len(opt.Rules))
	for i, r := range opt.Rules {
		index[r.ID] = i
		rules[i] = sarifRule{
			ID:      r.ID,
			Short:   sarifText{r.Title},
			Full:    sarifText{r.LooksFor},
			Help:    sarifText{r.Help},
			Default: sarifDefault{level(r.Severity)},
		}
	}
	if len(run.Overlooked) > 0 {
		index[NotUnderstood] = len(rules)
		rules = append(rules, sarifRule{
			ID: NotUnderstood, Short: sarifText{notUnderstoodTitle}, Full: sarifText{notUnderstoodMeans},
			Help: sarifText{notUnderstoodAdvice}, Default: sarifDefault{"none"},
		})
	}
	results := make([]sarifResult, 0, len(run.Findings)+len(run.Overlooked))
	for i := range run.Findings {
		f := &run.Findings[i]
		res := sarifResult{
			RuleID:  f.Rule,
			Level:   level(f.Severity),
			Message: sarifText{sentence(f.Message) + " " + sentence(f.Advice)},
			Locations: []sarifLocation{
				findingLocation(run, f),
			},
			Properties: sarifProperties{Resident: f.Resident, Note: f.Note, Shift: f.Shift, Rewrite: f.Rewrite},
		}
		if f.ID != "" {
			res.Fingerprints = map[string]string{"stanceFinding/v1": f.ID}
		}
		if a := f.Answer; a != nil {
			res.Suppressions = []sarifSuppression{{
				Kind: "external", Status: "accepted",
				Justification: fmt.Sprintf("%s by %s: %s", a.As.Said(), a.By, a.Why),
			}}
			if !a.Settles() {
				res.Suppressions[0].Status = "underReview"
			}
		}
		if n, ok := index[f.Rule]; ok {
			res.RuleIndex = &n
		}
		if f.Note != "" {
			res.Properties.Span = &f.Span
		}
		for _, e := range f.Evidence {
			if e.Chart != nil {
				res.Properties.Chart = append(res.Properties.Chart, *e.Chart)
				continue
			}
			n, ok := run.evidence(f, e)
			loc := location(n, ok, f.About(e), e.Note, e.Text)
			loc.Message = &sarifText{"compare note " + e.Note}
			res.Related = append(res.Related, loc)
		}
		results = append(results, res)
	}
	for i := range run.Overlooked {
		o := &run.Overlooked[i]
		n, ok := run.note(o.Resident, o.Note, o.Span, o.Text)
		at := index[NotUnderstood]
		results = append(results, sarifResult{
			RuleID: NotUnderstood, RuleIndex: &at, Kind: "review", Level: "none",
			Message:    sarifText{sentence(notUnderstoodTitle) + " " + notUnderstoodAdvice},
			Locations:  []sarifLocation{location(n, ok, o.Resident, o.Note, o.Text)},
			Properties: sarifProperties{Resident: o.Resident, Note: o.Note, Shift: o.Shift, Span: &o.Span},
		})
	}
	enc := json.NewEncoder(w)
	enc.SetEscapeHTML(false)
	enc.SetIndent("", " ")
	return enc.Encode(sarifLog{
		Schema:  "https://docs.oasis-open.org/sarif/sarif/v2.1.0/errata01/os/schemas/sarif-schema-2.1.0.json",
		Version: "2.1.0",
		Runs: []sarifRun{{
			Tool: sarifTool{sarifDriver{
				Name:    "stance",
				Version: opt.Version,
				Full:    sarifText{"Holds handover notes against the charted mobility status. " + Caution},
				Rules:   rules,
			}},
			Invocations: []sarifInvocation{{Successful: run.Tally.Unread == 0}},
			ColumnKind:  "unicodeCodePoints",
			Results:     results,
		}},
	})
}

// level is the SARIF name of a severity (section 3.27.10).
func level(s finding.Severity) string {
	switch s {
	case finding.Error:
		return "error"
	case finding.Warning:
		return "warning"
	case finding.Hint:
		return "note"
	}
	return "none"
}

// findingLocation is the note of the finding, or the shift that has none.
func findingLocation(run *Run, f *finding.Finding) sarifLocation {
	n, ok := run.on(f)
	return location(n, ok, f.Resident, cmp.Or(f.Note, f.Shift), f.Text)
}

// location is where a note lies. A note of standard input, or one not found, has a logical place only.
func location(n note.Note, found bool, resident, name, text string) sarifLocation {
	loc := sarifLocation{Logical: []sarifLogical{{Name: name, Full: resident + "/" + name, Kind: "element"}}}
	if !found || n.Source.File == "" || n.Source.File == "-" {
		return loc
	}
	loc.Physical = &sarifPhysical{Artifact: sarifArtifact{fileURI(n.Source.File)}}
	if n.Source.Line > 0 && n.Source.Sheet == "" { // a workbook has no lines
		loc.Physical.Region = &sarifRegion{StartLine: n.Source.Line}
		if text != "" {
			loc.Physical.Region.Snippet = &sarifText{text}
		}
	}
	return loc
}

// fileURI is the URI reference of a file: relative as given, or file: where it is absolute.
func fileURI(file string) string {
	u := url.URL{Path: filepath.ToSlash(file)}
	if filepath.IsAbs(file) {
		u.Scheme = "file"
		if !strings.HasPrefix(u.Path, "/") {
			u.Path = "/" + u.Path
		}
	}
	return u.String()
}

type (
	sarifLog struct {
		Schema  string     `json:"$schema"`
		Version string     `json:"version"`
		Runs    []sarifRun `json:"runs"`
	}
	sarifRun struct {
		Tool        sarifTool         `json:"tool"`
		Invocations []sarifInvocation `json:"invocations"`
		ColumnKind  string            `json:"columnKind"`
		Results     []sarifResult     `json:"results"`
	}
	sarifTool struct {
		Driver sarifDriver `json:"driver"`
	}
	sarifDriver struct {
		Name    string      `json:"name"`
		Version string      `json:"version,omitempty"`
		Full    sarifText   `json:"fullDescription"`
		Rules   []sarifRule `json:"rules"`
	}
	sarifRule struct {
		ID      string       `json:"id"`
		Short   sarifText    `json:"shortDescription"`
		Full    sarifText    `json:"fullDescription"`
		Help    sarifText    `json:"help"`
		Default sarifDefault `json:"defaultConfiguration"`
	}
	sarifDefault struct {
		Level string `json:"level"`
	}
	sarifInvocation struct {
		Successful bool `json:"executionSuccessful"`
	}
	sarifResult struct {
		RuleID    string          `json:"ruleId"`
		RuleIndex *int            `json:"ruleIndex,omitempty"`
		Kind      string          `json:"kind,omitempty"` // fail, unless it says another
		Level     string          `json:"level"`
		Message   sarifText       `json:"message"`
		Locations []sarifLocation `json:"locations"`
		Related   []sarifLocation `json:"relatedLocations,omitempty"`
		// Fingerprints are the stable id; section 3.27.17. Suppressions are the answer; section 3.35.
		Fingerprints map[string]string  `json:"partialFingerprints,omitempty"`
		Suppressions []sarifSuppression `json:"suppressions,omitempty"`
		Properties   sarifProperties    `json:"properties"`
	}
	sarifSuppression struct {
		Kind          string `json:"kind"`
		Status        string `json:"status"`
		Justification string `json:"justification"`
	}
	sarifLocation struct {
		Physical *sarifPhysical `json:"physicalLocation,omitempty"`
		Logical  []sarifLogical `json:"logicalLocations"`
		Message  *sarifText     `json:"message,omitempty"`
	}
	sarifPhysical struct {
		Artifact sarifArtifact `json:"artifactLocation"`
		Region   *sarifRegion  `json:"region,omitempty"`
	}
	sarifArtifact struct {
		URI string `json:"uri"`
	}
	sarifRegion struct {
		StartLine int        `json:"startLine"`
		Snippet   *sarifText `json:"snippet,omitempty"`
	}
	sarifLogical struct {
		Name string `json:"name"`
		Full string `json:"fullyQualifiedName"`
		Kind string `json:"kind"`
	}
	sarifProperties struct {
		Resident string               `json:"resident"`
		Note     string               `json:"note"`
		Shift    string               `json:"shift"`
		Span     *lexicon.Span        `json:"span,omitempty"`
		Chart    []finding.ChartValue `json:"chart,omitempty"`
		Rewrite  *finding.Rewrite     `json:"rewrite,omitempty"`
	}
	sarifText struct {
		Text string `json:"text"`
	}
)
