package review

import (
	"bytes"
	"compress/gzip"
	"encoding/base64"
	"encoding/csv"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"slices"
	"strings"

	"example.com/stance/lint/audit"
	"example.com/stance/lint/bounded"
	"example.com/stance/lint/internal/decode"
	"example.com/stance/lint/report"
)

// A Mark is what a person says of a row: whether what the rule looks for is there.
type Mark string

// The marks. NoMark is a row that nobody has marked.
const (
	Yes     Mark = "yes"
	No      Mark = "no"
	Unclear Mark = "unclear"
	NoMark  Mark = ""
)

// CSV writes the sheet that a person marks: yes, no or unclear in the column mark, and what they like in
// remark. It has no verdict, no severity and no count that would tell one.
func (s *Sample) CSV(w io.Writer) error {
	lines := [][]string{{"row", "mark", "remark", "question", "looks_for", "text", "chart", "around",
		"rule", "resident", "unit", "time", "shift", "role", "note"}}
	for _, r := range s.Rows {
		lines = append(lines, []string{r.ID, "", "", "Is this so: " + r.Title + "?", r.LooksFor, report.Cell(r.Text), r.Chart, r.Around,
			r.Rule, report.Cell(r.Resident), report.Cell(r.Unit), r.Time.Format("2006-01-02 15:04"), r.Shift, r.Role, report.Cell(r.Note)})
	}
	return csv.NewWriter(w).WriteAll(lines)
}

// What a sealed file calls itself. The version rises when its form changes.
const (
	sealedName    = "stance audit sample"
	sealedVersion = 1
)

// A Sealed is the verdicts on the rows of a sample and the strata they come from.
type Sealed struct {
	Version string       `json:"version"` // of the program that judged
	Charted bool         `json:"charted"`
	Policy  audit.Policy `json:"policy"`
	Names   audit.Names  `json:"names"`
	Seed    string       `json:"seed"`
	By      By           `json:"by"`
	Strata  []Stratum    `json:"strata"`
	NotIn   []string     `json:"not_in"`
	Gaps    int          `json:"gaps"`
	Rows    []SealedRow  `json:"rows"` // in the order of the sheet
}

// A SealedRow is the verdict on one row.
type SealedRow struct {
	ID       string `json:"row"`
	Rule     string `json:"rule"`
	Resident string `json:"resident"`
	Note     string `json:"note"`
	Stratum  string `json:"stratum"`
	Flagged  bool   `json:"flagged"`
}

// sealedFile is the written form. What it packs can be unpacked by anybody who sets out to; it is
// packed so that nobody sees a verdict before they mark.
type sealedFile struct {
	Format        string `json:"format"`
	FormatVersion int    `json:"format_version"`
	About         string `json:"about"`
	Packed        string `json:"packed"` // base64 of gzip of the JSON of Sealed
}

// Seal writes the verdicts. The header's strata and rows are set from the sample.
func (s *Sample) Seal(w io.Writer, header Sealed) error {
	header.Strata, header.NotIn, header.Gaps = s.Strata, s.NotIn, s.Gaps
	for _, r := range s.Rows {
		header.Rows = append(header.Rows, SealedRow{r.ID, r.Rule, r.Resident, r.Note, r.half.label, r.half.flagged})
	}
	var packed bytes.Buffer
	zip := gzip.NewWriter(&packed)
	if err := errors.Join(json.NewEncoder(zip).Encode(header), zip.Close()); err != nil {
		return err
	}
	return json.NewEncoder(w).Encode(sealedFile{sealedName, sealedVersion,
		"verdicts on a sample that is marked without seeing them; keep this file for stance audit agree",
		base64.StdEncoding.EncodeToString(packed.Bytes())})
}

// mostSealed bounds what is unpacked, in bytes: a million rows take less.
const mostSealed = 256 * bounded.MiB

// ReadSealed reads what [Sample.Seal] wrote. Errors name the file and say what was expected.
func ReadSealed(name string, r io.Reader) (*Sealed, error) {
	broken := fmt.Errorf("%s: is no sealed sample, want the file that stance audit sample wrote beside the sheet", name)
	var f sealedFile
	if err := json.NewDecoder(r).Decode(&f); err != nil || f.Format != sealedName {
		return nil, broken
	}
	if f.FormatVersion != sealedVersion {
		return nil, fmt.Errorf("%s: is a sealed sample of form %d, want form %d", name, f.FormatVersion, sealedVersion)
	}
	packed, err := base64.StdEncoding.DecodeString(f.Packed)
	if err != nil {
		return nil, broken
	}
	zip, err := gzip.NewReader(bytes.NewReader(packed))
	if err != nil {
		return nil, broken
	}
	b, err := bounded.All(zip, mostSealed) // gzip's checksum tells a changed file
	if err != nil {
		return nil, broken
	}
	var s Sealed
	if err := json.Unmarshal(b, &s); err != nil {
		return nil, broken
	}
	return &s, nil
}

// A MarkedRow is one row as the person left it.
type MarkedRow struct {
	ID     string
	Mark   Mark
	Remark string
	Line   int
}

// mostRow is the bytes that one record of a sheet may have.
const mostRow = 16 << 20

// ReadMarked reads a sheet that a person has marked, as a spreadsheet saves it. Rows and columns may
// stand in any order; only row and mark are needed. The error lists every line that cannot be read,
// and never what stands in it besides a mark.
func ReadMarked(name string, r io.Reader) ([]MarkedRow, error) {
	text, err := decode.Open(r)
	if err != nil {
		return nil, fmt.Errorf("%s: %w", name, err)
	}
	column := func(header []string, name string) int {
		return slices.IndexFunc(header, func(h string) bool { return strings.EqualFold(strings.TrimSpace(h), name) })
	}
	table, err := decode.NewTable(text, mostRow, func(header []string) int {
		return min(1, 1+column(header, "row")) + min(1, 1+column(header, "mark"))
	})
	if err != nil {
		return nil, fmt.Errorf("%s: want a sheet with a header that has row and mark", name)
	}
	row, mark, remark := column(table.Header(), "row"), column(table.Header(), "mark"), column(table.Header(), "remark")
	if row < 0 || mark < 0 {
		return nil, fmt.Errorf("%s:1: want the columns row and mark", name)
	}
	var rows []MarkedRow
	var bad []error
	for {
		rec, err := table.Next()
		var fault *decode.Fault
		switch {
		case errors.Is(err, io.EOF):
			return rows, errors.Join(bad...)
		case errors.As(err, &fault):
			bad = append(bad, fmt.Errorf("%s:%d: want %s", name, fault.Line, fault.Want))
			continue
		case err != nil:
			return nil, fmt.Errorf("%s: %w", name, err)
		}
		m, ok := parseMark(rec.Fields[mark])
		if !ok {
			bad = append(bad, fmt.Errorf("%s:%d: mark: want yes, no or unclear", name, rec.Line))
			continue
		}
		out := MarkedRow{ID: strings.TrimSpace(rec.Fields[row]), Mark: m, Line: rec.Line}
		if remark >= 0 {
			out.Remark = strings.TrimSpace(rec.Fields[remark])
		}
		rows = append(rows, out)
	}
}

// parseMark reads a mark as people write it.
func parseMark(s string) (Mark, bool) {
	switch strings.ToLower(strings.Trim(strings.TrimSpace(s), ".!")) {
	case "":
		return NoMark, true
	case "yes", "y", "1", "true":
		return Yes, true
	case "no", "n", "0", "false":
		return No, true
	case "unclear", "unsure", "?", "u":
		return Unclear, true
	}
	return NoMark, false
}
