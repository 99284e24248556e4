package note_test

import (
	"bytes"
	"io"
	"maps"
	"slices"
	"strings"
	"testing"

	"example.com/stance/lexicon"
	"example.com/stance/lint/note"
)

// A survey has the columns and keys that are no field, titles that are not known, and times without an offset.
func TestSurvey(t *testing.T) {
	csv := "resident,time,Words,role,ward\nR,2026-11-24 21:40,a,RN,Fir\nR,2026-11-24T21:40:00-05:00,b,quorvel lead,Fir\nR,2026-11-24 21:40 +0100,c,,Fir\n"
	jsonl := `{"resident":"R","time":"24 Nov 2026 9:40 pm","text":"a","role":"quorvel lead","ward":"Fir"}` + "\n" + `{"resident":"R","time":"2026-11-24T21:40Z","text":"a","x":{}}` + "\n"
	book := workbook(t, "N", []any{"resident", "time", "Words", "role", "ward"}, []any{"R", "2026-11-24 21:40", "a", "quorvel lead", "Fir"})
	for _, tt := range []struct {
		name   string
		in     io.Reader
		others []string
		noZone int
	}{
		{"n.csv", strings.NewReader(csv), []string{"ward"}, 1},
		{"n.jsonl", strings.NewReader(jsonl), []string{"ward", "x"}, 1},
		{"n.xlsx", bytes.NewReader(book), []string{"ward"}, 1},
	} {
		var s note.Survey
		opt := note.Options{Survey: &s, Sheet: "N", Roles: map[string]lexicon.Role{}}
		if tt.name != "n.jsonl" {
			opt.Columns = map[string]string{"text": "Words"}
		}
		if _, faults := read(tt.name, tt.in, opt); len(faults) > 0 {
			t.Fatal(faults)
		}
		if !slices.Equal(s.Others, tt.others) || s.NoZone != tt.noZone || !maps.Equal(s.Titles, map[string]int{"quorvel lead": 1}) || !s.Fields["text"] || s.Fields["unit"] {
			t.Errorf("%s: %+v", tt.name, s)
		}
	}
}
