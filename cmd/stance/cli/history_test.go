package cli

import (
	"context"
	"io"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"example.com/stance/index"
	"example.com/stance/lexicon"
	"example.com/stance/lint/note"
)

// keepNotes keeps notes in the index at dir as at that time.
func keepNotes(t *testing.T, dir string, at time.Time, notes ...note.Note) {
	t.Helper()
	lex, err := compileOnce()
	if err != nil {
		t.Fatal(err)
	}
	w, err := index.OpenWriter(dir, lex)
	if err != nil {
		t.Fatal(err)
	}
	next := func() (note.Note, error) {
		if len(notes) == 0 {
			return note.Note{}, io.EOF
		}
		n := notes[0]
		notes = notes[1:]
		return n, nil
	}
	if _, err := w.Keep(context.Background(), next, index.KeepOptions{At: at}); err != nil {
		t.Fatal(err)
	}
	if err := w.Close(); err != nil {
		t.Fatal(err)
	}
}

// With no files of notes the course comes from the index: as its notes are now or, with --as-of, as
// they were kept by then.
func TestHistoryFromTheIndex(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "kept")
	at := func(day, hour int) time.Time { return time.Date(2026, 11, day, hour, 0, 0, 0, time.UTC) }
	first := note.Note{ID: "N1", Resident: "R-1", Time: at(9, 8), Role: lexicon.CareWorker, Text: "Pivot x2 to chair."}
	amended := first
	amended.Text = "Pivot x1 to chair."
	keepNotes(t, dir, at(9, 9), first, note.Note{ID: "N2", Resident: "R-2", Time: at(9, 8), Text: "Walked with cane."})
	keepNotes(t, dir, at(11, 9), amended, note.Note{ID: "N3", Resident: "R-1", Time: at(10, 8), Text: "Walked with rollator."})

	for _, tt := range []struct {
		args    []string
		status  int
		out, no []string
		err     string
	}{
		{[]string{"R-1"}, statusClean, []string{"Resident R-1: 2 notes", "1 helper", "four-wheeled walker"}, []string{"2 helpers", "cane"}, ""},
		{[]string{"r-1", "--as-of", "2026-11-10T08:00Z"}, statusClean, []string{"Resident R-1: 1 note", "2 helpers"}, []string{"1 helper,", "four-wheeled walker", "cane"}, ""},
		{[]string{"R-4"}, statusUsage, nil, nil, `resident "R-4": no notes; did you mean "R-1" or "R-2"?`},
	} {
		a, stdout, stderr := testApp("")
		args := append([]string{"history", "--index", dir}, tt.args...)
		if got := a.main(context.Background(), args); got != tt.status {
			t.Errorf("%v: status %d, want %d: %s", tt.args, got, tt.status, stderr)
		}
		for _, want := range tt.out {
			if !strings.Contains(stdout.String(), want) {
				t.Errorf("%v: %q is missing from\n%s", tt.args, want, stdout)
			}
		}
		for _, bad := range tt.no {
			if strings.Contains(stdout.String(), bad) {
				t.Errorf("%v: %q is in\n%s", tt.args, bad, stdout)
			}
		}
		if !strings.Contains(stderr.String(), tt.err) {
			t.Errorf("%v: on stderr %q, want %q", tt.args, stderr, tt.err)
		}
	}
}
