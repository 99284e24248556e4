package index_test

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"example.com/stance/index"
	"example.com/stance/lint/note"
)

// A view is all that an index tells of its notes apart from searches.
type view struct {
	Notes, Part, Of, Unit, Then []note.Note
	Residents, Unjudged         []string
}

func viewOf(t *testing.T, dir string, lex index.Reader) view {
	t.Helper()
	x := open(t, dir, lex)
	v := view{
		Notes: notesOf(t, x, index.Range{}),
		Part:  notesOf(t, x, index.Range{Since: moment(2), Until: moment(9)}),
		Of:    notesOf(t, x, index.Range{Residents: []string{"S-2", "S-9", "S-0"}}),
		Unit:  notesOf(t, x, index.Range{Unit: "Birch"}),
		Then:  notesOf(t, x, index.Range{KeptBy: moment(1)}),
	}
	var err error
	if v.Residents, err = x.Residents(context.Background()); err != nil {
		t.Fatal(err)
	}
	w := openWriter(t, dir, lex)
	if v.Unjudged, err = w.Unjudged(context.Background()); err != nil {
		t.Fatal(err)
	}
	if err := w.Close(); err != nil {
		t.Fatal(err)
	}
	return v
}

// TestPlaces holds that it makes no difference how much of the ledger is in the file of places: after each of some
// runs that keep, amend and judge, all of it, a part or nothing.
func TestPlaces(t *testing.T) {
	t.Parallel()
	lex, ctx := newLexicon(t), context.Background()
	dir := filepath.Join(t.TempDir(), "index")
	bare := filepath.Join(t.TempDir(), "bare")
	for run := range 6 {
		w := openWriter(t, dir, lex)
		if run%2 == 0 {
			w.SetFewNew(0)
		}
		var some []note.Note
		for i := range 4 {
			n := testNote(fmt.Sprintf("N%d", (run*3+i)%11), fmt.Sprintf("S-%d", i), run+i, fmt.Sprintf("Walked %d m.", run))
			n.Unit = []string{"Birch", "Aspen"}[(run+i)%2]
			some = append(some, n)
		}
		_, err := w.Keep(ctx, each(some), index.KeepOptions{At: moment(run)})
		if run > 1 {
			err = errors.Join(err, w.Judged(ctx, fmt.Sprintf("S-%d", run%3), map[string][]string{some[0].ID: {"vague-help"}}))
		}
		if err := errors.Join(err, w.Close()); err != nil {
			t.Fatal(err)
		}
		if err := errors.Join(os.RemoveAll(bare), os.CopyFS(bare, os.DirFS(dir))); err != nil {
			t.Fatal(err)
		}
		if err := os.Remove(filepath.Join(bare, index.PlacesName)); err != nil {
			t.Fatalf("run %d left no places: %v", run, err)
		}
		if diff := cmp.Diff(viewOf(t, bare, lex), viewOf(t, dir, lex)); diff != "" {
			t.Fatalf("run %d: without places and with them\n%s", run, diff)
		}
	}
}

// TestPlacesOfOther holds that places of other notes count for nothing: those of another folder, and those of
// this one from before a resident was removed.
func TestPlacesOfOther(t *testing.T) {
	t.Parallel()
	s := newSpecimen(t)
	other := filepath.Join(t.TempDir(), "other")
	w := openWriter(t, other, s.lex)
	w.SetFewNew(0)
	_, err := w.Keep(context.Background(), each([]note.Note{testNote("N", "S-7", 1, "Walked.")}), index.KeepOptions{})
	if err := errors.Join(err, w.Close()); err != nil {
		t.Fatal(err)
	}
	for what, spoil := range map[string]func(dir string) error{
		"of another folder": func(dir string) error {
			b, err := os.ReadFile(filepath.Join(other, index.PlacesName))
			return errors.Join(err, os.WriteFile(filepath.Join(dir, index.PlacesName), b, 0o600))
		},
		"as they are": func(string) error { return nil },
	} {
		dir := filepath.Join(t.TempDir(), "index")
		s.put(t, dir)
		if err := spoil(dir); err != nil {
			t.Fatal(err)
		}
		s.wantNotes(t, what, open(t, dir, s.lex), s.notes)
		left := filepath.Join(dir, index.PlacesName+".new") // as a crash leaves it
		if err := os.WriteFile(left, []byte("S-1"), 0o600); err != nil {
			t.Fatal(err)
		}
		w := openWriter(t, dir, s.lex)
		n, err := w.Remove(context.Background(), "S-1")
		if err := errors.Join(err, w.Close()); err != nil || n != 3 {
			t.Fatalf("%s: %d notes removed, %v", what, n, err)
		}
		rest := slices.DeleteFunc(slices.Clone(s.notes), func(n note.Note) bool { return n.Resident == "S-1" })
		s.wantNotes(t, what+", one removed", open(t, dir, s.lex), rest)
		for _, name := range []string{filepath.Join(dir, index.PlacesName), left, filepath.Join(dir, "judged")} {
			if b, err := os.ReadFile(name); err == nil && bytes.Contains(b, []byte("S-1")) {
				t.Errorf("%s: %s still names who was removed", what, filepath.Base(name))
			}
		}
	}
}

// TestChoose holds that only those notes are handed on that Range.Choose takes of those that all else takes in.
func TestChoose(t *testing.T) {
	t.Parallel()
	s := newSpecimen(t)
	x := open(t, s.dir, s.lex)
	asked := map[string]int{}
	got := notesOf(t, x, index.Range{Since: moment(3), Choose: func(resident string, notes []index.Moment) []bool {
		asked[resident] = len(notes)
		take := make([]bool, len(notes))
		for i, m := range notes {
			take[i] = m.ID == "N11" || m.Time.Equal(moment(8))
			if i > 0 && m.Time.Before(notes[i-1].Time) {
				t.Errorf("%s: %v after %v", resident, m, notes[i-1])
			}
		}
		return take
	}})
	if ids := noteIDs(got); !slices.Equal(ids, []string{"N11", "N22"}) {
		t.Errorf("chosen: %v, want N11 and N22", ids)
	}
	if diff := cmp.Diff(map[string]int{"S-0": 2, "S-1": 2, "S-2": 2}, asked); diff != "" {
		t.Errorf("asked about (-want +got)\n%s", diff)
	}
}

func noteIDs(notes []note.Note) []string {
	var ids []string
	for _, n := range notes {
		ids = append(ids, n.ID)
	}
	return ids
}

// TestReadBesidePlaces holds that an open index shows what is kept by then, whether or not the places were written anew.
func TestReadBesidePlaces(t *testing.T) {
	t.Parallel()
	s := newSpecimen(t)
	x := open(t, s.dir, s.lex)
	for run := range 4 {
		w := openWriter(t, s.dir, s.lex)
		if run%2 == 1 {
			w.SetFewNew(0)
		}
		_, err := w.Keep(context.Background(), each([]note.Note{testNote(fmt.Sprintf("Y%d", run), "S-8", 20+run, "Walked.")}), index.KeepOptions{At: time.Now()})
		if err := errors.Join(err, w.Close()); err != nil {
			t.Fatal(err)
		}
		if got := notesOf(t, x, index.Range{}); len(got) != len(s.notes)+run+1 {
			t.Errorf("run %d: %d notes, want %d", run, len(got), len(s.notes)+run+1)
		}
	}
}
