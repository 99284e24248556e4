package note_test

import (
	"errors"
	"io"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"example.com/stance/lint/note"
)

func TestHomes(t *testing.T) {
	head := []any{"resident", "time", "text", "Home"}
	book := string(workbook(t, "Notes", head, []any{"R-1", "2026-11-24T21:40:00Z", "Slept.", " Ash"}, []any{"R-2", "2026-11-24T21:40:00Z", "Slept.", nil}))
	for _, c := range []struct {
		name, home, file string
		want             []string // home and resident of each note, or what is told
	}{
		{"a.jsonl", "home", `{"home":"Ash","resident":"R-1","time":"2026-11-24T21:40:00Z","text":"Slept."}
{"resident":"R-2","time":"2026-11-24T21:40:00Z","text":"Slept."}
{"home":" Elm ","resident":"R-1","time":"2026-11-24T21:40:00Z","text":"Slept."}
{"home":"Elm","home":"Ash","resident":"R-1","time":"2026-11-24T21:40:00Z","text":"Slept."}
{"home":["Elm"],"resident":"R-1","time":"2026-11-24T21:40:00Z","text":"Slept."}`,
			[]string{"Ash R-1", `a.jsonl:2: want "home", the home, which is missing or empty`, "Elm R-1",
				`a.jsonl:4: want "home" once in a note`, `a.jsonl:5: want "home" as a string`}},
		{"a.jsonl", "", `{"home":"Ash","resident":"R-1","time":"2026-11-24T21:40:00Z","text":"Slept."}`, []string{" R-1"}},
		{"a.jsonl", "unit", `{"unit":"Fir","resident":"R-1","time":"2026-11-24T21:40:00Z","text":"Slept."}`, []string{"Fir R-1"}},
		{"a.csv", "House", "resident,time,text,HOUSE\nR-1,2026-11-24T21:40:00Z,Slept.,Ash\nR-2,2026-11-24T21:40:00Z,Slept.,\n",
			[]string{"Ash R-1", `a.csv:3: want "House", the home, which is missing or empty`}},
		{"a.csv", "house", "resident,time,text\nR-1,2026-11-24T21:40:00Z,Slept.\n", []string{`a.csv:1: want a header with the column "house" for the home`}},
		{"a.xlsx", "home", book, []string{"Ash R-1", `a.xlsx, sheet 'Notes', row 3: want "home", the home, which is missing or empty`}},
		{"a.xlsx", "house", book, []string{`a.xlsx: want in sheet 'Notes' a header with the column "house" for the home`}},
		{"a.txt", "home", "Resident: R-1\nTime: 2026-11-24T21:40:00Z\n\nSlept.\n", []string{`a.txt:1: want "home", the home, which is missing or empty`}},
	} {
		var got []string
		r, err := note.NewReader(c.name, strings.NewReader(c.file), note.Options{Home: c.home, Sheet: "Notes"})
		if err != nil {
			got = append(got, err.Error())
		}
		for err == nil {
			var n note.Note
			var bad *note.BadRecord
			switch n, err = r.Next(); {
			case err == nil:
				got = append(got, n.Home+" "+n.Resident)
			case errors.As(err, &bad):
				got, err = append(got, bad.Error()), nil
			case !errors.Is(err, io.EOF):
				t.Fatal(err)
			}
		}
		if diff := cmp.Diff(c.want, got); diff != "" {
			t.Errorf("%s by %q (-want +got)\n%s", c.name, c.home, diff)
		}
	}
}
