package note_test

import (
	"errors"
	"fmt"
	"io"
	"runtime"
	"strings"
	"testing"
	"testing/iotest"
	"time"

	"github.com/google/go-cmp/cmp"
	"golang.org/x/text/encoding"
	"golang.org/x/text/encoding/charmap"
	"golang.org/x/text/encoding/unicode"

	"example.com/stance/lexicon"
	"example.com/stance/lint/internal/decode/decodetest"
	"example.com/stance/lint/note"
)

// home is the zone of times without an offset in these tests.
func home() *time.Location { return time.FixedZone("home", -5*3600) }

// read reads all of r: the notes, and the errors as text.
func read(name string, r io.Reader, opt note.Options) (notes []note.Note, faults []string) {
	if opt.Zone == nil {
		opt.Zone = home()
	}
	reader, err := note.NewReader(name, r, opt)
	if err != nil {
		return nil, []string{err.Error()}
	}
	for {
		n, err := reader.Next()
		var bad *note.BadRecord
		switch {
		case err == io.EOF:
			return notes, faults
		case errors.As(err, &bad):
			faults = append(faults, bad.Error())
		case err != nil:
			return notes, append(faults, err.Error())
		default:
			notes = append(notes, n)
		}
	}
}

// one is the note that the files of TestForms hold, in all forms.
func one(name string, line int) note.Note {
	return note.Note{
		ID: "N7", Resident: "R-0412", Unit: "Birch", Time: time.Date(2026, 11, 24, 21, 40, 0, 0, home()),
		Shift: "evening", Role: lexicon.CareWorker, Author: "A17", Text: "Up in chair x2,\nsettled after café.",
		Source: note.Source{File: name, Line: line},
	}
}

const (
	jsonl = `{"note":"N7","resident":"R-0412","unit":"Birch","time":"2026-11-24T21:40:00-05:00","shift":"evening",` +
		`"role":"care worker","author":"A17","text":"Up in chair x2,\nsettled after café.","ward":{"beds":[1,2]}}` + "\n"
	table = "note,resident,unit,time,shift,role,author,ward,text\n" +
		"N7,R-0412,Birch,2026-11-24 21:40,evening,PSW,A17,x,\"Up in chair x2,\nsettled after café.\"\n"
	plain = "Resident: R-0412\nTime: 2026-11-24 21:40\nUnit: Birch\nshift: evening\nRole: H.C.A.\nAuthor: A17\nNote: N7\n\n" +
		"Up in chair x2,\nsettled after café.\n"
)

func TestForms(t *testing.T) {
	encoded := func(enc encoding.Encoding, s string) string {
		b, err := enc.NewEncoder().String(s)
		if err != nil {
			t.Fatal(err)
		}
		return b
	}
	le, be := unicode.UTF16(unicode.LittleEndian, unicode.UseBOM), unicode.UTF16(unicode.BigEndian, unicode.IgnoreBOM)
	delimited := func(delim string) string {
		head, row, _ := strings.Cut(table, "\n")
		return strings.ReplaceAll(head, ",", delim) + "\n" + strings.NewReplacer(",R", delim+"R", ",B", delim+"B", ",2", delim+"2",
			",e", delim+"e", ",P", delim+"P", ",A", delim+"A", ",x", delim+"x", ",\"", delim+"\"").Replace(row)
	}
	tests := []struct {
		form, name, in string
		line           int
	}{
		{"JSON Lines", "n.jsonl", jsonl, 1},
		{"JSON Lines by ndjson", "n.NDJSON", "\n \n" + jsonl, 3},
		{"JSON Lines by content", "-", jsonl, 1},
		{"JSON Lines, UTF-16", "n.jsonl", encoded(le, jsonl), 1},
		{"JSON Lines, Windows-1252", "n.jsonl", encoded(charmap.Windows1252, jsonl), 1},
		{"JSON Lines, BOM", "-", "\uFEFF" + jsonl, 1},
		{"CSV", "n.csv", table, 2},
		{"CSV by content", "-", table, 2},
		{"CSV, BOM", "n.csv", "\uFEFF" + table, 2},
		{"CSV, UTF-16 LE", "n.csv", encoded(le, table), 2},
		{"CSV, UTF-16 BE without BOM", "n.csv", encoded(be, table), 2},
		{"CSV, Windows-1252", "n.csv", encoded(charmap.Windows1252, table), 2},
		{"CSV, semicolons", "n.csv", delimited(";"), 2},
		{"CSV, bars", "n.csv", delimited("|"), 2},
		{"TSV", "n.tsv", delimited("\t"), 2},
		{"TSV in UTF-16 as .txt", "n.txt", encoded(le, delimited("\t")), 2},
		{"CSV, stated delimiter", "n.csv", "sep=;\n" + delimited(";"), 3},
		{"plain", "n.txt", plain, 1},
		{"plain from standard input", "-", "\n\n" + plain, 3},
		{"plain, Windows-1252", "n", encoded(charmap.Windows1252, plain), 1},
		{"plain, UTF-16", "n.note", encoded(be, plain), 1},
		{"plain after a divider", "n.txt", "---\n" + plain + "---\n", 2},
	}
	for _, tt := range tests {
		t.Run(tt.form, func(t *testing.T) {
			notes, faults := read(tt.name, iotest.HalfReader(strings.NewReader(tt.in)), note.Options{})
			if diff := cmp.Diff([]note.Note{one(tt.name, tt.line)}, notes); diff != "" || faults != nil {
				t.Errorf("bad records %q; notes -want +got:\n%s", faults, diff)
			}
		})
	}
}

func TestText(t *testing.T) {
	tests := []struct{ form, name, in, want string }{
		{"JSON as given", "n.jsonl", `{"resident":"R","time":"2026-11-24 21:40","text":" a\r\n\tb "}`, " a\r\n\tb "},
		{"CSV as given but for a lone CR", "n.csv", "resident,time,text\r\nR,2026-11-24 21:40,\" a\r\nb\rc \"\r\n", " a\r\nb\nc "},
		{"plain without the end", "n.txt", "Resident: R\r\nTime: 2026-11-24 21:40\r\n\r\n a\r\n\r\nb: c\r\n\r\n", " a\r\n\r\nb: c"},
		{"plain with a divider within a line", "n.txt", "Resident: R\nTime: 2026-11-24 21:40\n\na --- b\n----\n", "a --- b\n----"},
		{"plain with lone CR", "n.txt", "Resident: R\rTime: 2026-11-24 21:40\r\ra\rb\r", "a\nb"},
	}
	for _, tt := range tests {
		t.Run(tt.form, func(t *testing.T) {
			notes, faults := read(tt.name, strings.NewReader(tt.in), note.Options{})
			if len(notes) != 1 || faults != nil || notes[0].Text != tt.want {
				t.Errorf("got %+v, %q, want the text %q", notes, faults, tt.want)
			}
		})
	}
}

func TestColumns(t *testing.T) {
	opt := note.Options{Columns: map[string]string{"text": "Progress Note", "time": "written", "role": "Position"}}
	in := "Resident;Written;Position;Time;Progress Note\nR-1;24-Nov-2026 21:40;Enrolled Nurse;whenever;Settled, no falls.\n"
	notes, faults := read("n.csv", strings.NewReader(in), opt)
	if len(notes) != 1 || faults != nil {
		t.Fatalf("got %+v, %q", notes, faults)
	}
	n := notes[0]
	if n.Resident != "R-1" || n.Text != "Settled, no falls." || n.Role != lexicon.Nurse || !n.Time.Equal(one("", 0).Time) {
		t.Errorf("got %+v", n)
	}
}

func TestNoNotes(t *testing.T) {
	for _, tt := range []struct{ name, in string }{
		{"-", ""}, {"n.csv", ""}, {"n.jsonl", ""}, {"n.txt", ""}, {"n.txt", "\uFEFF"}, {"n.csv", " \r\n\n"}, {"n.jsonl", "\n\n"},
		{"n.csv", "resident,time,text\n"}, {"n.csv", "resident,time,text\n,,\n\n"}, {"n.txt", "---\n\n---\n"},
	} {
		if notes, faults := read(tt.name, strings.NewReader(tt.in), note.Options{}); notes != nil || faults != nil {
			t.Errorf("%s %q: got %v, %q, want nothing", tt.name, tt.in, notes, faults)
		}
	}
}

func TestFileErrors(t *testing.T) {
	const lacks = `; where it has another name, give that with --column text=NAME`
	tests := []struct {
		name, in string
		columns  map[string]string
		want     string
	}{
		{"n.csv", "resident,time,body\n", nil, `n.csv:1: want a header with a column "text" (of resident, time, text, note, unit, shift, role, author)` + lacks},
		{"n.csv", "resident,time,body\n", map[string]string{"text": "Note"}, `n.csv:1: want a header with the column "Note" for "text"`},
		{"n.csv", "resident,time,text,unit\n", map[string]string{"unit": "Ward"}, `n.csv:1: want a header with the column "Ward" for "unit"`},
		{"n.csv", "resident,time,text\n", map[string]string{"txt": "text"}, `column for "txt": want one of the fields resident, time, text, note, unit, shift, role, author (nearest is "text")`},
		{"n.csv", "resident,time,text,Text\n", nil, `n.csv:1: want one column for "text", but the header has two`},
		{"n.jsonl", "[\n" + jsonl + "]", nil, "n.jsonl:1: want one JSON object a line, not a list"},
		{"-", "[" + jsonl + "]", nil, "-:1: want one JSON object a line, not a list"},
		{"-", "Walked to the dining room x1", nil, `-:1: want JSON Lines, a table with a header, or text that starts with "Resident:"`},
		{"n.txt", "\x7fELF\x00\x00", nil, "n.txt:1: want text, but this is a binary file (it has NUL bytes)"},
		{"n.xlsx", "PK\x03\x04\x00", nil, "n.xlsx: want a workbook that is whole, but its archive cannot be read"},
	}
	for _, tt := range tests {
		t.Run(tt.want, func(t *testing.T) {
			_, err := note.NewReader(tt.name, strings.NewReader(tt.in), note.Options{Columns: tt.columns})
			if err == nil || err.Error() != tt.want {
				t.Errorf("error %v", err)
			}
		})
	}
}

// Each record stands between two good ones, which must both be read.
func TestBadRecords(t *testing.T) {
	const (
		forms   = `want "time" as 2026-11-24T21:40:00-05:00, 2026-11-24 21:40 or 24 Nov 2026 21:40`
		headers = `want "Resident:", "Time:" or another header line, and a blank line before the text`
	)
	long, longText := strings.Repeat("x", note.MaxRecord+1), strings.Repeat("x", note.MaxText+1)
	files := []struct {
		name, before, after string
		line                int // of the record
		tests               []struct{ in, want string }
	}{
		{
			"n.jsonl", jsonl, "\n" + jsonl, 2,
			[]struct{ in, want string }{
				{`{"time":"2026-11-24T21:40:00Z","text":"a"}`, `want "resident", which is missing or empty`},
				{`{"resident":"R","text":"a"}`, `want "time", which is missing or empty`},
				{`{"resident":"R","time":"2026-11-24T21:40:00Z"}`, `want "text", which is missing or empty`},
				{`{"resident":"R","time":"2026-11-24T21:40:00Z","text":null}`, `want "text", which is missing or empty`},
				{`{"resident":"R","time":"2026-11-24T21:40:00Z","text":" \n"}`, `want "text", which is missing or empty`},
				{`{"resident":["R"],"time":"2026-11-24T21:40:00Z","text":"a"}`, `want "resident" as a string`},
				{`{"resident":"R","time":"2026-11-24T21:40:00Z","text":true}`, `want "text" as a string`},
				{`{"resident":"R","time":"24/11/2026 21:40","text":"a"}`, forms + "; day and month in figures can be read two ways"},
				{`{"resident":"R","time":1795574400,"text":"a"}`, forms},
				{`{"resident":"R" "text":"a"}`, "want one JSON object a line; byte 17 does not fit"},
				{`{"resident":"R",`, "want one JSON object a line; byte 16 does not fit"},
				{`walked x1`, "want one JSON object a line; byte 1 does not fit"},
				{`"a"`, "want one JSON object a line"},
				{`null`, "want one JSON object a line"},
				{`{"text":"` + long + `"}`, "want a record of at most 4194304 bytes"},
				{`{"resident":"R","time":"2026-11-24T21:40:00Z","text":"` + longText + `"}`, `want "text" of at most 65536 bytes, as one note has`},
				{`{"resident":"R","time":"2026-11-24T21:40:00Z","text":"a","resident":"Q"}`, `want "resident" once in a note`},
				{`{"resident":"R","time":"2026-11-24T21:40:00Z","text":"a","\u0072esident":"Q"}`, `want "resident" once in a note`},
				{`{"\u0072\u0065sident":"R","time":"2026-11-24T21:40:00Z","text":"a","residen\u0074":"Q"}`, `want "resident" once in a note`},
				{`{"resident":"R","time":"2026-11-24T21:40:00Z","text":"a","te\u0078t":"b"}`, `want "text" once in a note`},
				{"{\"text\":\"caf\xe9\"}", "want UTF-8, as the text before this line is"},
			},
		},
		{
			"n.csv", table, table[strings.IndexByte(table, '\n')+1:], 4,
			[]struct{ in, want string }{
				{",,,2026-11-24 21:40,,,,,a\n", `want "resident", which is missing or empty`},
				{",R,,,,,,,a\n", `want "time", which is missing or empty`},
				{",R,,2026-11-24 21:40,,,,,\n", `want "text", which is missing or empty`},
				{",R,,11/24/2026 21:40,,,,,a\n", forms + "; day and month in figures can be read two ways"},
				{",R,,2026-11-24 21:40,,,,,a, b\n", "want 9 fields as in the header, but there are 10"},
				{",R,,2026-11-24 21:40\n", "want 9 fields as in the header, but there are 4"},
				{",R,,2026-11-24 21:40,,,,,\"a \"b\" c\"\n", "want quotes doubled within a quoted field (line 4 is left out)"},
				{",R,,2026-11-24 21:40,,,,,\"" + long + "\"\n", "want a record of at most 4194304 bytes"},
				{",R,,2026-11-24 21:40,,,,,\"" + longText + "\"\n", `want "text" of at most 65536 bytes, as one note has`},
			},
		},
		{
			"n.txt", plain + "---\n", "---\n" + plain, 12,
			[]struct{ in, want string }{
				{"Time: 2026-11-24 21:40\n\na\n", `want "resident", which is missing or empty`},
				{"Resident: R\n\na\n", `want "time", which is missing or empty`},
				{"Resident: R\nTime: 2026-11-24 21:40\n", `want "text", which is missing or empty`},
				{"Resident: R\nTime: 2026-11-24\n\na\n", forms + "; the time of day is missing"},
				{"Transfers: x2\n\na\n", headers},
				{"Text: a\n", headers},
				{"Resident: R\nTime: 2026-11-24 21:40\n\n" + longText + "\n", `want "text" of at most 65536 bytes, as one note has`},
				{"just text\n", headers},
				{"Resident: R\nresident: Q\n\na\n", ""}, // on its second line; see below
				{"Resident: R\nTime: 2026-11-24 21:40\n\n" + long + "\n", ""},
				{"Resident: R\nTime: 2026-11-24 21:40\n\n" + strings.Repeat("a line\n", note.MaxRecord/7), "want a record of at most 4194304 bytes"},
				{"Resident: R\nTime: 2026-11-24 21:40\n\ncaf\xe9\n", "want UTF-8, as the text before this line is"},
			},
		},
	}
	later := map[string]string{ // faults of plain text that stand below the first line of the note
		"Resident: R\nresident: Q\n\na\n":                       `n.txt:13: want one header line "resident:" in a note, and --- between notes`,
		"Resident: R\nTime: 2026-11-24 21:40\n\n" + long + "\n": "n.txt:15: want a record of at most 4194304 bytes",
	}
	for _, f := range files {
		for _, tt := range f.tests {
			t.Run(f.name+" "+tt.want, func(t *testing.T) {
				want, ok := later[tt.in]
				if !ok {
					want = fmt.Sprintf("%s:%d: %s", f.name, f.line, tt.want)
				}
				notes, faults := read(f.name, strings.NewReader(f.before+tt.in+f.after), note.Options{})
				if diff := cmp.Diff([]string{want}, faults); diff != "" {
					t.Errorf("bad records: -want +got:\n%s", diff)
				}
				if len(notes) != 2 {
					t.Errorf("%d notes read, want the one before and the one after", len(notes))
				}
			})
		}
	}
}

func TestTornUTF16(t *testing.T) {
	in, err := unicode.UTF16(unicode.LittleEndian, unicode.UseBOM).NewEncoder().String(jsonl + jsonl)
	if err != nil {
		t.Fatal(err)
	}
	notes, faults := read("n.jsonl", strings.NewReader(in[:len(in)-5]), note.Options{})
	want := []string{"n.jsonl:2: want UTF-16 in units of two bytes, but the file ends within one"}
	if diff := cmp.Diff(want, faults); diff != "" || len(notes) != 1 {
		t.Errorf("%d notes; bad records -want +got:\n%s", len(notes), diff)
	}
}

func TestReadError(t *testing.T) {
	broken := errors.New("disk is gone")
	in := io.MultiReader(strings.NewReader(strings.Repeat(jsonl, 1000)), iotest.ErrReader(broken))
	reader, err := note.NewReader("n.jsonl", in, note.Options{})
	if err != nil {
		t.Fatal(err)
	}
	for range 1000 {
		if _, err := reader.Next(); err != nil {
			t.Fatal(err)
		}
	}
	if _, err := reader.Next(); !errors.Is(err, broken) || err.Error() != "n.jsonl: reading notes: disk is gone" {
		t.Errorf("error %v", err)
	}
}

// What a reader holds does not grow with the file: a huge record in each form is passed over.
func TestMemory(t *testing.T) {
	const size = 50 << 20
	for name, start := range map[string]string{
		"n.jsonl": jsonl + `{"text":"`,
		"n.csv":   table + `N8,R-1,,2026-11-24 21:40,,,,,"`,
		"n.txt":   plain + "---\nResident: R-1\nTime: 2026-11-24 21:40\n\n",
	} {
		t.Run(name, func(t *testing.T) {
			in := io.MultiReader(strings.NewReader(start), io.LimitReader(decodetest.Endless("transferred x2\n"[:14]), size))
			var before, after runtime.MemStats
			runtime.ReadMemStats(&before)
			notes, faults := read(name, in, note.Options{})
			runtime.ReadMemStats(&after)
			if len(notes) != 1 || len(faults) != 1 {
				t.Errorf("%d notes, bad records %q; want one of each", len(notes), faults)
			}
			if used := after.TotalAlloc - before.TotalAlloc; used > 8*note.MaxRecord {
				t.Errorf("%d bytes allocated over a record of %d", used, size)
			}
		})
	}
}

func TestContentID(t *testing.T) {
	id := func(resident, time, text string) string {
		in := fmt.Sprintf(`{"resident":%q,"time":%q,"text":%q}`, resident, time, text)
		notes, faults := read("n.jsonl", strings.NewReader(in), note.Options{})
		if len(notes) != 1 {
			t.Fatalf("%s: %q", in, faults)
		}
		return notes[0].ID
	}
	first := id("R-1", "2026-11-24T21:40:00-05:00", "Up in chair")
	if want := "c-"; !strings.HasPrefix(first, want) || len(first) != 18 {
		t.Errorf("id %q, want c- and 16 digits", first)
	}
	if again := id(" R-1", "2026-11-25T02:40:00Z", "Up in chair"); again != first {
		t.Errorf("id %q of the same note, want %q", again, first)
	}
	for _, other := range []string{
		id("R-2", "2026-11-24T21:40:00-05:00", "Up in chair"),
		id("R-1", "2026-11-24T21:41:00-05:00", "Up in chair"),
		id("R-1", "2026-11-24T21:40:00-05:00", "Up in chair."),
	} {
		if other == first {
			t.Errorf("another note has the id %q too", other)
		}
	}
	in := `{"note":7,"resident":412,"time":"2026-11-24 21:40","text":"a","author":17}`
	notes, _ := read("n.jsonl", strings.NewReader(in), note.Options{})
	if len(notes) != 1 || notes[0].ID != "7" || notes[0].Resident != "412" || notes[0].Author != "17" {
		t.Errorf("numbers as ids: %+v", notes)
	}
}

func TestRole(t *testing.T) {
	own := map[string]lexicon.Role{"Resident Assistant": lexicon.CareWorker, "MO": lexicon.OtherRole}
	tests := []struct {
		title string
		want  lexicon.Role
	}{
		{"care worker", lexicon.CareWorker}, {"HCA", lexicon.CareWorker}, {"psw", lexicon.CareWorker}, {"C.N.A.", lexicon.CareWorker},
		{"Health Care Aide", lexicon.CareWorker}, {"Care-Giver", lexicon.CareWorker}, {"Senior carer (nights)", lexicon.CareWorker},
		{"nurse", lexicon.Nurse}, {"RN", lexicon.Nurse}, {"RPN", lexicon.Nurse}, {"LPN", lexicon.Nurse}, {"EN", lexicon.Nurse},
		{"Registered  Nurse", lexicon.Nurse}, {"RN - charge", lexicon.Nurse}, {"Smith/RN", lexicon.Nurse},
		{"therapist", lexicon.Therapist}, {"Physio", lexicon.Therapist}, {"OT", lexicon.Therapist}, {"PTA", lexicon.Therapist},
		{"Physical Therapist", lexicon.Therapist}, {"doctor", lexicon.Doctor}, {"GP", lexicon.Doctor}, {"NP", lexicon.Doctor},
		{"Physician", lexicon.Doctor}, {"other", lexicon.OtherRole}, {"Chaplain", lexicon.OtherRole},
		{"", lexicon.OtherRole}, {"night watch", lexicon.OtherRole},
		{"resident assistant", lexicon.CareWorker}, {"M.O.", lexicon.OtherRole}, // the home's own win
	}
	for _, tt := range tests {
		in := fmt.Sprintf(`{"resident":"R","time":"2026-11-24 21:40","text":"a","role":%q}`, tt.title)
		notes, faults := read("n.jsonl", strings.NewReader(in), note.Options{Roles: own})
		if len(notes) != 1 || notes[0].Role != tt.want {
			t.Errorf("%q: got %+v, %q, want %s", tt.title, notes, faults, tt.want)
		}
	}
}

// What only looks like a field given twice is none, and a text may be as long as is said.
func TestNotesThatComeNearRefusal(t *testing.T) {
	for _, tt := range []struct{ name, in, text string }{
		{"the name of a field in the text", `{"resident":"R","time":"2026-11-24T21:40:00Z","text":"\"resident\" \"text\""}`, `"resident" "text"`},
		{"fields of something within", `{"resident":"R","time":"2026-11-24T21:40:00Z","text":"a","more":{"resident":"Q","text":"b"}}`, "a"},
		{"names as values", `{"resident":"R","time":"2026-11-24T21:40:00Z","unit":"resident","author":"text","text":"a"}`, "a"},
		{"a name with an escape, once", `{"\u0072esident":"R","time":"2026-11-24T21:40:00Z","text":"a"}`, "a"},
		{"the name of a field with an escape in the text", `{"resident":"R","time":"2026-11-24T21:40:00Z","text":"\u0072esident"}`, "resident"},
		{"another key twice", `{"resident":"R","time":"2026-11-24T21:40:00Z","text":"a","x":1,"x":2}`, "a"},
		{"the longest text", `{"resident":"R","time":"2026-11-24T21:40:00Z","text":"` + strings.Repeat("x", note.MaxText) + `"}`, strings.Repeat("x", note.MaxText)},
	} {
		t.Run(tt.name, func(t *testing.T) {
			r, err := note.NewReader("n.jsonl", strings.NewReader(tt.in), note.Options{})
			if err != nil {
				t.Fatal(err)
			}
			n, err := r.Next()
			if err != nil || n.Text != tt.text || n.Resident != "R" {
				t.Errorf("resident %q, %d bytes of text, %v; want R, %d bytes and no error", n.Resident, len(n.Text), err, len(tt.text))
			}
		})
	}
}
