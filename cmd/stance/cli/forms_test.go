package cli

import (
	"bytes"
	"context"
	"encoding/base64"
	"encoding/csv"
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/xuri/excelize/v2"
)

// A formNote is one of the set that is written in each form. It has no shift, which FHIR and HL7 v2 do not know.
type formNote struct {
	Note     string `json:"note"`
	Resident string `json:"resident"`
	Unit     string `json:"unit"`
	Time     string `json:"time"`
	Role     string `json:"role"`
	Author   string `json:"author"`
	Text     string `json:"text"`
}

// hundred are the first hundred notes of the demo home.
func hundred(t *testing.T) []formNote {
	t.Helper()
	data, err := os.ReadFile("../../../testdata/demo/notes.jsonl")
	if err != nil {
		t.Fatal(err)
	}
	var notes []formNote
	for line := range strings.Lines(string(data)) {
		var n formNote
		if err := json.Unmarshal([]byte(line), &n); err != nil {
			t.Fatal(err)
		}
		if notes = append(notes, n); len(notes) == 100 {
			return notes
		}
	}
	t.Fatalf("the demo home has %d notes, want 100", len(notes))
	return nil
}

func asJSONLines(t *testing.T, notes []formNote) []byte {
	var b bytes.Buffer
	enc := json.NewEncoder(&b)
	for _, n := range notes {
		if err := enc.Encode(n); err != nil {
			t.Fatal(err)
		}
	}
	return b.Bytes()
}

func asCSV(t *testing.T, notes []formNote) []byte {
	var b bytes.Buffer
	w := csv.NewWriter(&b)
	rows := [][]string{{"note", "resident", "unit", "time", "role", "author", "text"}}
	for _, n := range notes {
		rows = append(rows, []string{n.Note, n.Resident, n.Unit, n.Time, n.Role, n.Author, n.Text})
	}
	if err := w.WriteAll(rows); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

// asWorkbook writes the notes to the second sheet of a workbook, their times as dates on the clock of the home.
func asWorkbook(t *testing.T, notes []formNote) []byte {
	f := excelize.NewFile()
	rows := [][]any{{"note", "resident", "unit", "time", "role", "author", "text"}}
	for _, n := range notes {
		at, err := time.Parse(time.RFC3339, n.Time)
		if err != nil {
			t.Fatal(err)
		}
		rows = append(rows, []any{n.Note, n.Resident, n.Unit, at, n.Role, n.Author, n.Text})
	}
	if _, err := f.NewSheet("Notes"); err != nil {
		t.Fatal(err)
	}
	for i, row := range rows {
		if err := f.SetSheetRow("Notes", fmt.Sprintf("A%d", i+1), &row); err != nil {
			t.Fatal(err)
		}
	}
	var b bytes.Buffer
	if err := f.Write(&b); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

type object map[string]any

// asFHIR writes each note as a DocumentReference: its author as a contained practitioner, its unit as a Location.
func asFHIR(n formNote) object {
	return object{
		"resourceType": "DocumentReference", "id": strings.ToLower(n.Note), "status": "current",
		"contained": []object{{"resourceType": "Practitioner", "id": "who", "identifier": []object{{"value": n.Author}},
			"qualification": []object{{"code": object{"text": n.Role}}}}},
		"identifier": []object{{"value": n.Note}},
		"subject":    object{"reference": "Patient/" + n.Resident},
		"author":     []object{{"reference": "#who"}},
		"date":       n.Time,
		"content": []object{{"attachment": object{"contentType": "text/plain; charset=utf-8",
			"data": base64.StdEncoding.EncodeToString([]byte(n.Text))}}},
		"context": object{"related": []object{{"reference": "Location/u", "display": n.Unit}}},
	}
}

func asBundle(t *testing.T, notes []formNote) []byte {
	var entries []object
	for _, n := range notes {
		entries = append(entries, object{"resource": asFHIR(n)})
	}
	data, err := json.MarshalIndent(object{"resourceType": "Bundle", "type": "collection", "entry": entries}, "", " ")
	if err != nil {
		t.Fatal(err)
	}
	return data
}

func asNDJSON(t *testing.T, notes []formNote) []byte {
	var b bytes.Buffer
	enc := json.NewEncoder(&b)
	for _, n := range notes {
		if err := enc.Encode(asFHIR(n)); err != nil {
			t.Fatal(err)
		}
	}
	return b.Bytes()
}

// asHL7 writes each note as an MDM^T02 message in a batch: its line ends as formatting commands, its author's role as
// the degree.
func asHL7(t *testing.T, notes []formNote) []byte {
	escape := strings.NewReplacer(`\`, `\E\`, "|", `\F\`, "^", `\S\`, "&", `\T\`, "~", `\R\`, "\n", `\.br\`)
	var b bytes.Buffer
	fmt.Fprint(&b, "FHS|^~\\&|NOTES\rBHS|^~\\&|NOTES\r")
	for i, n := range notes {
		at, err := time.Parse(time.RFC3339, n.Time)
		if err != nil {
			t.Fatal(err)
		}
		fmt.Fprintf(&b, "MSH|^~\\&|NOTES|HOME|REG|HOME|20261201||MDM^T02^MDM_T02|M%d|P|2.5.1||||||UNICODE UTF-8\rPID|1||%s^^^HOME^MR\rPV1|1|I|%s\r"+
			"TXA|1|PN|TX|%s|||||%s^^^^^^%s|||%s\rOBX|1|FT|N||%s||||||F\r",
			i, escape.Replace(n.Resident), escape.Replace(n.Unit), at.Format("20060102150405-0700"), n.Author, n.Role, n.Note, escape.Replace(n.Text))
	}
	fmt.Fprintf(&b, "BTS|%d\rFTS|1\r", len(notes))
	return b.Bytes()
}

// One set of notes gives the same findings to the byte in whatever form it comes.
func TestForms(t *testing.T) {
	notes := hundred(t)
	dir := t.TempDir()
	files := []struct {
		name string
		data []byte
	}{
		{"notes.jsonl", asJSONLines(t, notes)},
		{"notes.csv", asCSV(t, notes)},
		{"notes.xlsx", asWorkbook(t, notes)},
		{"bundle.json", asBundle(t, notes)},
		{"documents.ndjson", asNDJSON(t, notes)},
		{"batch.hl7", asHL7(t, notes)},
	}
	var want string
	for i, f := range files {
		name := filepath.Join(dir, f.name)
		if err := os.WriteFile(name, f.data, 0o600); err != nil {
			t.Fatal(err)
		}
		a, stdout, stderr := testApp("")
		root := a.root()
		root.SetArgs([]string{"check", "--format", "json", "--fail-on", "never", "--sheet", "Notes", "--policy", "../../../testdata/demo/stance.yaml", "--chart", "../../../testdata/demo/chart.csv", name})
		ctx, cancel := context.WithTimeout(context.Background(), 5*time.Minute)
		err := root.ExecuteContext(ctx)
		cancel()
		if err != nil || stderr.Len() > 0 {
			t.Fatalf("%s: %v, and on standard error %q", f.name, err, stderr)
		}
		if i == 0 {
			want = stdout.String()
			if !strings.Contains(want, `"notes":100`) || !strings.Contains(want, `"rule"`) {
				t.Fatalf("no findings on a hundred notes: %.300s", want)
			}
		}
		if stdout.String() != want {
			t.Errorf("%s gives other findings than %s", f.name, files[0].name)
		}
	}
}
