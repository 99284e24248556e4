package note_test

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"maps"
	"slices"
	"strings"
	"testing"
	"unicode/utf8"

	"example.com/stance/lint/note"
)

// mdm is a document of a trigger event; about is its number and, behind a bar, the one that it replaces.
func mdm(event, about, text string) string {
	return fmt.Sprintf("MSH|^~\\&|NOTES|HOME|REG|HOME|20261124214500||MDM^%s|%s|P|2.5\rPID|1||R-0412\rTXA|1|PN|TX|202611242140|||||A17^^^^^^RN|||%s\rOBX|1|TX|N||%s\r",
		event, about, about, text)
}

func TestHL7(t *testing.T) {
	tests := []struct {
		name, in string
		want     []string
		passed   map[string]int
		back     string
	}{
		{"documents and an addendum", mdm("T02", "N1", "one") + mdm("T06", "N2|N1", "two"), []string{"N1 one", "N2 two"}, nil, ""},
		{"replaced, and again", mdm("T02", "N1", "one") + mdm("T02", "N9", "nine") + mdm("T10", "N2|N1", "two") + mdm("T10", "N3|N2", "three"), []string{"N9 nine", "N1 three N2 N3"}, nil, ""},
		{"replaces one of another file", mdm("T10", "N2|N1", "two"), []string{"N1 two N2"}, nil, ""},
		{"cancelled", mdm("T02", "N1", "one") + mdm("T02", "N2", "two") + mdm("T11", "N1", ""), []string{"N2 two"}, nil, "R-0412 [N1] here"},
		{"cancelled after it was replaced", mdm("T02", "N1", "one") + mdm("T10", "N2|N1", "two") + mdm("T11", "N2", ""), nil, nil, "R-0412 [N1 N2] here"},
		{"cancelled, and replaced all the same", mdm("T02", "N1", "one") + mdm("T11", "N1", "") + mdm("T10", "N2|N1", "two"), []string{"N1 two N2"}, nil, "R-0412 [N1] here"},
		{"cancelled, and sent anew", mdm("T11", "N1", "") + mdm("T02", "N1", "one"), []string{"N1 one"}, nil, ""},
		{"replaced under somebody else", mdm("T02", "N1", "one") + strings.Replace(mdm("T10", "N2|N1", "two"), "R-0412", "R-0500", 1), []string{"R-0500 N1 two N2"}, nil, "R-0412 [N1] here"},
		{"cancels one of another file", mdm("T11", "N1", "") + mdm("A01", "N2", ""), nil, map[string]int{"MDM^A01": 1}, "R-0412 [N1]"},
		{"cancels one of nobody", strings.Replace(mdm("T11", "N1", ""), "PID|1||R-0412\r", "", 1), nil, nil, " [N1]"},
		{"cancels one of no number", strings.Replace(mdm("T11", "N1", ""), "R-0412", "", 1), []string{"n.hl7:2: want the resident's number in PID-3 (message N1)"}, nil, ""},
		{"a bad one between", mdm("T02", "N1", "one") + "MSH|||\r" + mdm("T02", "N2", "two"), []string{"N1 one",
			`n.hl7:5: want MSH with a field separator and four other delimiters, as in "MSH|^~\&|"`, "N2 two"}, nil, ""},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			r, err := note.NewReader("n.hl7", strings.NewReader(tt.in), note.Options{Zone: home()})
			if err != nil {
				t.Fatal(err)
			}
			var got []string
			for {
				n, err := r.Next()
				if err == io.EOF {
					break
				}
				if err != nil {
					got = append(got, err.Error())
					continue
				}
				if n.Role != "nurse" || n.Time.In(home()).Format("2006-01-02T15:04") != "2026-11-24T21:40" {
					t.Errorf("note %+v", n)
				}
				said := strings.Join(append([]string{n.ID, n.Text}, n.Numbers...), " ")
				if n.Resident != "R-0412" {
					said = n.Resident + " " + said
				}
				got = append(got, said)
			}
			if !slices.Equal(got, tt.want) || !maps.Equal(r.Passed(), tt.passed) && len(r.Passed())+len(tt.passed) > 0 {
				t.Errorf("got %q and %v, want %q and %v", got, r.Passed(), tt.want, tt.passed)
			}
			var back []string
			for _, w := range r.Withdrawn() {
				back = append(back, fmt.Sprint(w.Resident, " ", w.Numbers, map[bool]string{true: " here"}[w.Here]))
			}
			if got := strings.Join(back, ", "); got != tt.back {
				t.Errorf("taken back: %q, want %q", got, tt.back)
			}
		})
	}
}

func FuzzReadHL7(f *testing.F) {
	f.Add([]byte(mdm("T02", "N1", "one") + mdm("T10", "N2|N1", `two\.br\three`) + mdm("T11", "N2", "")))
	f.Add([]byte("MSH|^~\\&|A|B|C|D|20261124214500||ORU^R01|9|P|2.4||||||8859/1\rPID|1||R-1\rOBR|1||F1|W|||202611240800\rOBX|1|ST|T||caf\xe9\r"))
	f.Fuzz(func(t *testing.T, in []byte) {
		r, err := note.NewReader("n.hl7", bytes.NewReader(in), note.Options{Zone: home()})
		if err != nil {
			return
		}
		for range len(in) + 2 {
			n, err := r.Next()
			var bad *note.BadRecord
			switch {
			case err == io.EOF:
				return
			case errors.As(err, &bad):
				if bad.File != "n.hl7" || bad.Line < 1 || bad.Want == "" {
					t.Fatalf("error %+v", bad)
				}
			case err != nil:
				t.Fatal(err)
			case n.ID == "" || n.Resident == "" || n.Role == "" || !utf8.ValidString(n.Text):
				t.Fatalf("note %+v", n)
			}
		}
		t.Fatal("no end")
	})
}
