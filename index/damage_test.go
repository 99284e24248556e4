package index_test

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"example.com/stance/index"
	"example.com/stance/index/internal/journal"
	"example.com/stance/lint/note"
)

// stride is how many bytes apart the damages to a file are: as many as STANCE_DAMAGE says, or such that a sample
// takes so many.
func stride(t *testing.T, size, sample int) int {
	t.Helper()
	asked := os.Getenv("STANCE_DAMAGE")
	if asked == "" {
		return max(1, size/sample)
	}
	n, err := strconv.Atoi(asked)
	if err != nil || n < 1 {
		t.Fatalf("STANCE_DAMAGE=%s: want how many bytes apart, from 1 on", asked)
	}
	return n
}

// A small index, and what it holds.
type specimen struct {
	lex   index.Reader
	dir   string
	notes []note.Note
	found []string // ids of the notes that say walked
	log   []byte
	at    []int64 // of its frames, and its end
}

func newSpecimen(t *testing.T) *specimen {
	t.Helper()
	s := &specimen{lex: newLexicon(t), dir: filepath.Join(t.TempDir(), "index")}
	for run := range 3 {
		var some []note.Note
		for i := range 3 {
			n := testNote(fmt.Sprintf("N%d%d", run, i), fmt.Sprintf("S-%d", i), 3*run+i, fmt.Sprintf("Walked %d m with 2WW x1, no dizziness.", 10*run+i))
			some = append(some, n)
		}
		s.notes = append(s.notes, some...)
		w := openWriter(t, s.dir, s.lex)
		if run < 2 {
			w.SetFewNew(0) // so that places of some of the notes are there too
		}
		_, err := w.Keep(context.Background(), each(some), index.KeepOptions{At: moment(run)})
		if err := errors.Join(err, w.Close()); err != nil {
			t.Fatal(err)
		}
	}
	w := openWriter(t, s.dir, s.lex)
	err := w.Judged(context.Background(), "S-1", map[string][]string{"N01": {"vague-help"}})
	if err := errors.Join(err, w.Close()); err != nil {
		t.Fatal(err)
	}
	slices.SortFunc(s.notes, func(a, b note.Note) int { return strings.Compare(a.Resident+a.ID, b.Resident+b.ID) })
	x := open(t, s.dir, s.lex)
	s.found = ids(find(t, x, index.Query{Words: "walked", Order: index.ByTime}))
	if s.log, err = os.ReadFile(filepath.Join(s.dir, index.JournalName)); err != nil {
		t.Fatal(err)
	}
	j := openJournal(t, filepath.Join(s.dir, index.JournalName))
	end, err := j.Scan(journal.Start, func(at int64, _ []byte) error {
		s.at = append(s.at, at)
		return nil
	})
	if s.at = append(s.at, end); err != nil || len(s.at) < 4 || len(s.found) != len(s.notes) {
		t.Fatalf("frames at %d, %v; %d notes found", s.at, err, len(s.found))
	}
	return s
}

func openJournal(t *testing.T, name string) *journal.Journal {
	t.Helper()
	j, err := journal.Open(name)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { j.Close() })
	return j
}

// put makes a folder a copy of the specimen's.
func (s *specimen) put(t *testing.T, dir string) {
	t.Helper()
	if err := errors.Join(os.RemoveAll(dir), os.CopyFS(dir, os.DirFS(s.dir))); err != nil {
		t.Fatal(err)
	}
}

// damageTold reports whether an error tells of damage and how to mend it; any other fails the test.
func damageTold(t *testing.T, what, how string, err error) bool {
	t.Helper()
	var damaged *index.DamagedError
	var missing *index.MissingError
	if err != nil && !errors.As(err, &damaged) && !errors.As(err, &missing) {
		t.Errorf("%s: %s: %v, want a DamagedError", what, how, err)
	}
	return err != nil
}

// ask asks a folder all that a user does, the questions first, and wants each answer whole or the damage told,
// and no byte gone of what was kept. It reports whether damage was told each time.
func (s *specimen) ask(t *testing.T, what, dir string) (told bool) {
	t.Helper()
	name := filepath.Join(dir, index.JournalName)
	before, err := os.ReadFile(name)
	if err != nil {
		t.Fatal(err)
	}
	told = s.read(t, what, dir)
	if s.rebuild(t, what, dir) != told || s.keep(t, what, dir) != told {
		t.Errorf("%s: a reader tells damage: %t; a writer does not agree", what, told)
	}
	after, err := os.ReadFile(name)
	if err != nil || len(after) < min(len(before), len(s.log)) || told && string(after) != string(before) {
		t.Errorf("%s: notes.log had %d bytes and now has %d, %v", what, len(before), len(after), err)
	}
	return told
}

// read asks what find, history, check and audit do, and reports whether damage was told.
func (s *specimen) read(t *testing.T, what, dir string) bool {
	t.Helper()
	x, err := index.Open(dir, s.lex)
	if damageTold(t, what, "Open", err) {
		return true
	}
	page, err := x.Find(context.Background(), index.Query{Words: "walked", Order: index.ByTime})
	if err != nil || !slices.Equal(ids(page), s.found) {
		t.Errorf("%s: found %v, %v; want %v", what, ids(page), err, s.found)
	}
	s.wantNotes(t, what, x, s.notes)
	return false
}

// rebuild makes the search part anew, and reports whether damage was told.
func (s *specimen) rebuild(t *testing.T, what, dir string) bool {
	t.Helper()
	w, err := index.OpenWriter(dir, s.lex)
	if damageTold(t, what, "OpenWriter", err) {
		return true
	}
	n, err := w.Rebuild(context.Background(), nil)
	if err = errors.Join(err, w.Close()); err != nil || n != len(s.notes) {
		t.Errorf("%s: Rebuild read %d notes, %v; want %d", what, n, err, len(s.notes))
	}
	return false
}

// keep keeps one more note, and reports whether damage was told.
func (s *specimen) keep(t *testing.T, what, dir string) bool {
	t.Helper()
	w, err := index.OpenWriter(dir, s.lex)
	if damageTold(t, what, "OpenWriter", err) {
		return true
	}
	all := append(slices.Clip(s.notes), testNote("X", "S-9", 12, "Walked to tea."))
	kept, err := w.Keep(context.Background(), each(all), index.KeepOptions{})
	if err = errors.Join(err, w.Close()); err != nil || kept.Added != 1 || kept.Skipped != len(s.notes) {
		t.Errorf("%s: Keep: %+v, %v; want one added and all others there", what, kept, err)
	}
	x, err := index.Open(dir, s.lex)
	if err != nil {
		t.Errorf("%s: Open after Keep: %v", what, err)
		return false
	}
	s.wantNotes(t, what+": after Keep", x, all)
	if page, err := x.Find(context.Background(), index.Query{}); err != nil || page.Total != len(all) {
		t.Errorf("%s: after Keep: %d notes found, %v; want %d", what, page.Total, err, len(all))
	}
	return false
}

func (s *specimen) wantNotes(t *testing.T, what string, x *index.Index, want []note.Note) {
	t.Helper()
	var got []note.Note
	err := x.Notes(context.Background(), index.Range{}, func(n note.Note) error {
		got = append(got, n)
		return nil
	})
	if damageTold(t, what, "Notes", err) {
		return
	}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Errorf("%s: notes (-want +got)\n%s", what, diff)
	}
}

// TestDamagedNotes spoils notes.log in every way that keeps its records, or most of them, apart.
func TestDamagedNotes(t *testing.T) {
	t.Parallel()
	s := newSpecimen(t)
	dir := filepath.Join(t.TempDir(), "index")
	s.put(t, dir)
	changed := false // by what was tried before
	try := func(what string, log []byte, want bool) {
		t.Helper()
		if changed {
			s.put(t, dir)
		}
		if err := os.WriteFile(filepath.Join(dir, index.JournalName), log, 0o600); err != nil {
			t.Fatal(err)
		}
		told := s.ask(t, what, dir)
		if want && !told {
			t.Errorf("%s: no damage was told", what)
		}
		changed = !told
	}
	flip := func(i int) {
		log := slices.Clone(s.log)
		log[i] ^= 1 << (i % 8)
		try(fmt.Sprintf("byte %d flipped", i), log, int64(i) >= journal.Start)
	}
	// What stands before the records is nearly all of it empty, and what is changed there changes nothing.
	for i := 0; i < int(journal.Start); i += stride(t, int(journal.Start), 12) {
		flip(i)
	}
	for i := int(journal.Start); i < len(s.log); i++ {
		flip(i)
	}
	for i := 0; i < len(s.log); i += stride(t, len(s.log), 1000) {
		try(fmt.Sprintf("cut at %d", i), s.log[:i], true)
	}
	end := int64(len(s.log))
	for i, at := range s.at[:len(s.at)-1] {
		next := s.at[i+1]
		zero := slices.Clone(s.log)
		clear(zero[at:next])
		try(fmt.Sprintf("frame %d dropped", i), slices.Concat(s.log[:at], s.log[next:]), true)
		try(fmt.Sprintf("frame %d doubled", i), slices.Concat(s.log[:next], s.log[at:]), true)
		try(fmt.Sprintf("frame %d again at the end", i), slices.Concat(s.log, s.log[at:next]), true)
		try(fmt.Sprintf("frame %d zero", i), zero, true)
		try(fmt.Sprintf("all but frame %d dropped", i), slices.Concat(s.log[:journal.Start], s.log[at:next]), true)
		if next < end {
			after := s.at[i+2]
			try(fmt.Sprintf("frames %d and %d exchanged", i, i+1), slices.Concat(s.log[:at], s.log[next:after], s.log[at:next], s.log[after:]), true)
		}
	}
	for _, n := range []int{1, 8, 24, 4096} {
		try(fmt.Sprintf("%d zero bytes behind the end", n), slices.Concat(s.log, make([]byte, n)), false)
	}
	try("a torn frame behind the end", slices.Concat(s.log, s.log[s.at[0]:s.at[1]-1]), false)
}

// TestDamagedCaches spoils the files of the search part and that of the places. They are but caches, so that every
// answer is whole.
func TestDamagedCaches(t *testing.T) {
	t.Parallel()
	for _, cache := range []string{"search", index.PlacesName} {
		t.Run(cache, func(t *testing.T) { spoilCache(t, cache) })
	}
}

func spoilCache(t *testing.T, cache string) {
	s := newSpecimen(t)
	dir := filepath.Join(t.TempDir(), "index")
	ways := []func(t *testing.T, what, dir string) bool{s.read, s.rebuild, s.keep}
	try := func(what, name string, way int, spoil func(name string) error) {
		t.Helper()
		s.put(t, dir)
		if err := spoil(filepath.Join(dir, name)); err != nil {
			t.Fatal(err)
		}
		if ways[way%len(ways)](t, name+": "+what, dir) {
			t.Errorf("%s: %s: told as damage of the notes", name, what)
		}
	}
	err := filepath.WalkDir(filepath.Join(s.dir, cache), func(path string, d fs.DirEntry, err error) error {
		if err != nil {
			return err
		}
		name, err := filepath.Rel(s.dir, path)
		if err != nil {
			return err
		}
		for way := range ways {
			try("gone", name, way, os.RemoveAll)
			if d.IsDir() {
				try("a file in its place", name, way, func(name string) error {
					return errors.Join(os.RemoveAll(name), os.WriteFile(name, []byte("?"), 0o600))
				})
			}
		}
		if d.IsDir() {
			return nil
		}
		b, err := os.ReadFile(path)
		if err != nil {
			return err
		}
		write := func(b []byte) func(string) error {
			return func(name string) error { return os.WriteFile(name, b, 0o600) }
		}
		try("doubled", name, 0, write(slices.Concat(b, b)))
		apart := stride(t, len(b), 5)
		for i, way := 0, 0; i < len(b); i, way = i+apart, way+1 {
			spoilt := slices.Clone(b)
			spoilt[i] ^= 1 << (i % 8)
			try(fmt.Sprintf("byte %d flipped", i), name, way, write(spoilt))
			try(fmt.Sprintf("cut at %d", i), name, way+1, write(b[:i]))
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
}
