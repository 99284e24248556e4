package note_test

import (
	"bytes"
	"errors"
	"io"
	"strings"
	"testing"
	"unicode/utf8"

	"example.com/stance/lint/note"
)

// whole holds that any input is read to its end, that each note is whole, and that each error names
// the file and a line further down.
func whole(t *testing.T, name string, in []byte) {
	reader, err := note.NewReader(name, bytes.NewReader(in), note.Options{Zone: home()})
	if err != nil {
		if !strings.HasPrefix(err.Error(), name+":") {
			t.Fatalf("error %q", err)
		}
		return
	}
	last := 0
	for range len(in) + 1 {
		n, err := reader.Next()
		line := n.Source.Line
		var bad *note.BadRecord
		switch {
		case err == io.EOF:
			return
		case errors.As(err, &bad):
			line = bad.Line
			if bad.File != name || bad.Want == "" {
				t.Fatalf("error %+v", bad)
			}
		case err != nil:
			t.Fatal(err)
		case n.ID == "" || n.Resident == "" || strings.TrimSpace(n.Text) == "" || n.Role == "" || n.Time.Year() < 1900:
			t.Fatalf("note %+v", n)
		case !utf8.ValidString(n.Text) || !utf8.ValidString(n.Resident) || !utf8.ValidString(n.ID):
			t.Fatalf("not UTF-8: %+v", n)
		}
		if line <= last {
			t.Fatalf("line %d after line %d", line, last)
		}
		last = line
	}
	t.Fatal("no end")
}

func FuzzReadJSONL(f *testing.F) {
	f.Add([]byte(jsonl))
	f.Add([]byte(`{"resident":1,"time":"Nov 24, 2026 9:40 PM","text":"\ud800"}` + "\r\n[]\nnull\n{"))
	f.Add([]byte(`{"resident":"R","time":"2026-11-24T21:40:00Z","text":"a","\u0072esident":"Q"}`))
	f.Fuzz(func(t *testing.T, in []byte) { whole(t, "n.jsonl", in) })
}

func FuzzReadCSV(f *testing.F) {
	f.Add([]byte(table))
	f.Add([]byte("sep=;\r\nresident;time;text\r\nR;2026-11-24 21:40;caf\xe9\r\nR;2026-11-24 21:40;\"a\"\"\r\nb\"\r\n"))
	f.Add([]byte("\xff\xfer\x00"))
	f.Fuzz(func(t *testing.T, in []byte) { whole(t, "n.csv", in) })
}

func FuzzReadPlain(f *testing.F) {
	f.Add([]byte(plain + "---\n" + plain))
	f.Add([]byte("Resident: R\rTime: 2026-11-24T21:40Z\r\rcaf\xe9\r---\r\n---\nbad\n"))
	f.Fuzz(func(t *testing.T, in []byte) { whole(t, "n.txt", in) })
}
