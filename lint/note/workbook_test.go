package note_test

import (
	"bytes"
	"fmt"
	"slices"
	"testing"
	"time"

	"github.com/xuri/excelize/v2"

	"example.com/stance/lint/note"
)

// workbook writes rows to a sheet of that name; the first sheet is another.
func workbook(t testing.TB, name string, rows ...[]any) []byte {
	t.Helper()
	f := excelize.NewFile()
	if _, err := f.NewSheet(name); err != nil {
		t.Fatal(err)
	}
	for i, row := range rows {
		if err := f.SetSheetRow(name, fmt.Sprintf("A%d", i+1), &row); err != nil {
			t.Fatal(err)
		}
	}
	var b bytes.Buffer
	if err := f.Write(&b); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

func TestWorkbook(t *testing.T) {
	at := time.Date(2026, 11, 24, 21, 40, 0, 0, time.UTC) // a workbook has the clock's time, without a zone
	head := []any{"Resident", "written", "Text", "role"}
	tests := []struct {
		name, sheet, column string
		rows                [][]any
		want                []string
	}{
		{"dates, and dates as text", "Notes", "written", [][]any{head, {412, at, "Walked.", "RN"}, {"R-2", "24 Nov 2026 9:40 pm", "Slept.\nAte.", ""}},
			[]string{"2 412 2026-11-24T21:40:00-05:00 nurse Walked.", "3 R-2 2026-11-24T21:40:00-05:00 other Slept.\nAte."}},
		{"what cannot be read", "Notes", "written", [][]any{head, {"R-1", "24/11/2026", "Walked."}, {"R-1", at, nil}, nil, {"R-1", at, "Slept."}},
			[]string{"n.xlsx, sheet 'Notes', row 2: want \"time\" as 2026-11-24T21:40:00-05:00, 2026-11-24 21:40 or 24 Nov 2026 21:40; day and month in figures can be read two ways",
				"n.xlsx, sheet 'Notes', row 3: want \"text\", which is missing or empty", "5 R-1 2026-11-24T21:40:00-05:00 other Slept."}},
		{"no such column", "Notes", "", [][]any{head, {"R-1", at, "Walked."}},
			[]string{"n.xlsx: want in sheet 'Notes' a header with a column \"time\" (of resident, time, text, note, unit, shift, role, author); where it has another name, give that with --column time=NAME"}},
		{"an empty sheet", "", "", [][]any{head}, nil},
		{"no such sheet", "Nights", "", [][]any{head}, []string{`n.xlsx: want a sheet "Nights"; the workbook has "Sheet1", "Notes"`}},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			opt := note.Options{Sheet: tt.sheet}
			if tt.column != "" {
				opt.Columns = map[string]string{"time": tt.column}
			}
			notes, got := read("n.xlsx", bytes.NewReader(workbook(t, "Notes", tt.rows...)), opt)
			var all []string
			for _, n := range notes {
				all = append(all, fmt.Sprintf("%d %s %s %s %s", n.Source.Line, n.Resident, n.Time.Format(time.RFC3339), n.Role, n.Text))
				if want := (note.Source{File: "n.xlsx", Sheet: "Notes", Line: n.Source.Line}); n.Source != want {
					t.Errorf("read from %+v, want %+v", n.Source, want)
				}
			}
			all = append(all, got...)
			want := slices.Clone(tt.want)
			slices.Sort(all)
			slices.Sort(want)
			if !slices.Equal(all, want) {
				t.Errorf("got %q, want %q", all, want)
			}
		})
	}
}
