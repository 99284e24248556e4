package note_test

import (
	"bytes"
	"errors"
	"io"
	"maps"
	"strings"
	"testing"
	"unicode/utf8"

	"github.com/google/go-cmp/cmp"

	"example.com/stance/lint/note"
)

const documentReference = `{"resourceType":"DocumentReference","id":"d","status":"current","identifier":[{"value":"N7"}],` +
	`"contained":[{"resourceType":"Practitioner","id":"who","identifier":[{"value":"A17"}],"qualification":[{"code":{"text":"RN"}}]}],` +
	`"subject":{"reference":"Patient/R-0412"},"author":[{"reference":"#who"}],"date":"2026-11-24T21:40:00-05:00",` +
	`"content":[{"attachment":{"contentType":"text/plain","data":"V2Fsa2VkIHRvIHRoZSBsb3VuZ2Uu"}}],"context":{"related":[{"reference":"Location/b","display":"Birch"}]}}`

func TestFHIR(t *testing.T) {
	in := documentReference + "\n" + `{"resourceType":"Immunization","id":"i"}` + "\n" + `{"resourceType":"Immunization","id":"j"}` + "\n" +
		strings.Replace(documentReference, `"2026-11-24T21:40:00-05:00"`, `"2026-11-24"`, 1) + "\n" + `{"resourceType":"Patient","id":"p"}`
	for _, name := range []string{"n.ndjson", "n.json", "n", "n.txt"} {
		r, err := note.NewReader(name, strings.NewReader(in), note.Options{Zone: home()})
		if err != nil {
			t.Fatal(err)
		}
		n, err := r.Next()
		if err != nil {
			t.Fatal(err)
		}
		want := note.Note{ID: "N7", Resident: "R-0412", Unit: "Birch", Role: "nurse", Author: "A17", Text: "Walked to the lounge.",
			Source: note.Source{File: name, Line: 1, Ref: "DocumentReference/d"}, Time: n.Time}
		if diff := cmp.Diff(want, n); diff != "" || n.Time.UTC().Format("2006-01-02T15:04") != "2026-11-25T02:40" {
			t.Errorf("%s: at %v, -want +got:\n%s", name, n.Time, diff)
		}
		var bad *note.BadRecord
		if _, err := r.Next(); !errors.As(err, &bad) || bad.Line != 4 || !strings.Contains(bad.Want, "the time of day is missing") {
			t.Errorf("%s: got %v, want the line of the note without a time of day", name, err)
		}
		if _, err := r.Next(); err != io.EOF {
			t.Errorf("%s: got %v, want the end", name, err)
		}
		if want := map[string]int{"Immunization": 2}; !maps.Equal(r.Passed(), want) {
			t.Errorf("%s: passed over %v, want %v", name, r.Passed(), want)
		}
	}
}

func FuzzReadFHIR(f *testing.F) {
	f.Add([]byte(documentReference))
	f.Add([]byte(`{"resourceType":"Bundle","entry":[` + "\n" + `{"resource":` + documentReference + "},\n" + `{"resource":` + documentReference + "}]}"))
	f.Add([]byte(`{"resourceType":"QuestionnaireResponse","item":[{"answer":[{"valueString":"a","item":[{}]}]}]}`))
	f.Fuzz(func(t *testing.T, in []byte) {
		r, err := note.NewReader("n.json", bytes.NewReader(in), note.Options{Zone: home()})
		if err != nil {
			return
		}
		last := 0
		for range 2*len(in) + 1 {
			n, err := r.Next()
			var bad *note.BadRecord
			switch line := n.Source.Line; {
			case err == io.EOF:
				return
			case errors.As(err, &bad):
				if bad.File != "n.json" || bad.Line < 1 || bad.Want == "" {
					t.Fatalf("error %+v", bad)
				}
			case err != nil:
				t.Fatal(err)
			case n.ID == "" || n.Resident == "" || n.Role == "" || !utf8.ValidString(n.Text) || line < last:
				t.Fatalf("note %+v after line %d", n, last)
			default:
				last = line
			}
		}
		t.Fatal("no end")
	})
}
