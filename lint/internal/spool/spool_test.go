package spool_test

import (
	"errors"
	"fmt"
	"os"
	"runtime"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"example.com/stance/lexicon"
	"example.com/stance/lint/internal/spool"
	"example.com/stance/lint/note"
)

// What comes out is what went in: every field, and the time on its own clock.
func TestSpool(t *testing.T) {
	toronto, err := time.LoadLocation("America/Toronto")
	if err != nil {
		t.Fatal(err)
	}
	var want []note.Note
	for i, zone := range []*time.Location{time.UTC, toronto, time.Local, time.FixedZone("", -5*3600), time.FixedZone("", 3600), toronto} {
		want = append(want, note.Note{
			ID: fmt.Sprint("N", i), Resident: "R-1", Unit: "Birch", Time: time.Date(2026, time.Month(1+6*(i%2)), 2, 3, 4, 5, 600, zone),
			Shift: "night", Role: lexicon.Nurse, Author: "A1", Text: "2 person\npivot, é\x00", Source: note.Source{File: "n.csv", Line: i},
		})
	}
	want = append(want, note.Note{Time: time.Date(1960, 1, 1, 0, 0, 0, 0, time.UTC)})
	s, err := spool.New(t.TempDir())
	if err != nil {
		t.Fatal(err)
	}
	defer s.Close()
	for round := range 2 { // notes may be added after some were read
		for _, n := range want {
			if err := s.Add(n); err != nil {
				t.Fatal(err)
			}
		}
		if err := s.Flush(); err != nil {
			t.Fatal(err)
		}
		for i, n := range want {
			got, err := s.Get(round*len(want) + i)
			if err != nil {
				t.Fatal(err)
			}
			if diff := cmp.Diff(n, got); diff != "" || got.Time.Format(time.RFC3339Nano) != n.Time.Format(time.RFC3339Nano) {
				t.Errorf("note %d (-want +got):\n%s", i, diff)
			}
		}
	}
}

// Nothing is left behind, and where a file can lose its name while it is open, none is to be seen.
func TestGone(t *testing.T) {
	dir := t.TempDir()
	s, err := spool.New(dir)
	if err != nil {
		t.Fatal(err)
	}
	names := func() int {
		files, err := os.ReadDir(dir)
		if err != nil {
			t.Fatal(err)
		}
		return len(files)
	}
	if runtime.GOOS != "windows" && names() != 0 {
		t.Error("the file has a name while it is in use")
	}
	if err := errors.Join(s.Add(note.Note{ID: "N1"}), s.Flush()); err != nil {
		t.Fatal(err)
	}
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
	if names() != 0 {
		t.Error("a file is left behind")
	}
	if _, err := s.Get(0); err == nil {
		t.Error("a closed spool gives notes")
	}
}
