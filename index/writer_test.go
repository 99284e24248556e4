package index_test

import (
	"bytes"
	"context"
	"errors"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"runtime"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"example.com/stance/index"
	"example.com/stance/index/internal/journal"
	"example.com/stance/lexicon"
	"example.com/stance/lint/note"
)

func moment(hour int) time.Time { return time.Date(2026, 10, 20, hour, 0, 0, 0, time.UTC) }

func testNote(id, resident string, hour int, text string) note.Note {
	return note.Note{ID: id, Resident: resident, Unit: "Willow", Time: moment(hour), Role: lexicon.CareWorker, Text: text}
}

func notesOf(t *testing.T, x *index.Index, r index.Range) []note.Note {
	t.Helper()
	var all []note.Note
	err := x.Notes(context.Background(), r, func(n note.Note) error {
		all = append(all, n)
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	return all
}

func TestKeepAgain(t *testing.T) {
	lex := newLexicon(t)
	dir := filepath.Join(t.TempDir(), "index")
	original := []note.Note{
		testNote("N1", "S-1", 8, "Walked with 2WW."),
		testNote("N2", "S-1", 9, "NWB left leg."),
		testNote("N1", "S-2", 8, "Slept well."), // the id of another resident's note
	}
	if got, want := keep(t, dir, lex, original, index.KeepOptions{At: moment(10)}), (index.Kept{Read: 3, Added: 3, Bytes: 40}); got != want {
		t.Errorf("first: %+v, want %+v", got, want)
	}
	amended := slices.Clone(original)
	amended[1].Text = "NWB right leg."
	if got, want := keep(t, dir, lex, amended, index.KeepOptions{At: moment(12)}), (index.Kept{Read: 3, Replaced: 1, Skipped: 2, Bytes: 41}); got != want {
		t.Errorf("amended: %+v, want %+v", got, want)
	}
	for earlier, again := range [][]note.Note{amended, original} {
		if got, want := keep(t, dir, lex, again, index.KeepOptions{}), (index.Kept{Read: 3, Skipped: 3, Earlier: earlier, Bytes: int64(41 - earlier)}); got != want {
			t.Errorf("again: %+v, want %+v", got, want)
		}
	}

	x := open(t, dir, lex)
	page := find(t, x, index.Query{Concepts: []string{"bearing.none"}})
	if page.Total != 1 || page.Hits[0].Note.Text != "NWB right leg." || page.Hits[0].Replaced || !page.Hits[0].Kept.Equal(moment(12)) {
		t.Errorf("amended note: %+v", page)
	}
	page = find(t, x, index.Query{Concepts: []string{"bearing.none"}, Earlier: true, Order: index.ByTime})
	if page.Total != 2 || !page.Hits[0].Replaced || page.Hits[0].Note.Text != "NWB left leg." || page.Hits[1].Replaced {
		t.Errorf("with earlier versions: %+v", page)
	}
	for _, c := range []struct {
		r    index.Range
		want []note.Note
	}{
		{index.Range{}, amended},
		{index.Range{KeptBy: moment(11)}, original},
		{index.Range{KeptBy: moment(9)}, nil},
		{index.Range{Residents: []string{"S-2", "S-3"}}, amended[2:]},
		{index.Range{Unit: "Aspen"}, nil},
		{index.Range{Since: moment(9)}, amended[1:2]},
		{index.Range{Until: moment(9), Residents: []string{"S-1"}}, amended[:1]},
	} {
		if diff := cmp.Diff(c.want, notesOf(t, x, c.r)); diff != "" {
			t.Errorf("Notes(%+v): (-want +got)\n%s", c.r, diff)
		}
	}
	residents, err := x.Residents(context.Background())
	if err != nil || !slices.Equal(residents, []string{"S-1", "S-2"}) {
		t.Errorf("Residents() = %v, %v", residents, err)
	}
}

// TestPutBack goes back to what a note said before it was amended, once.
func TestPutBack(t *testing.T) {
	lex := newLexicon(t)
	dir := filepath.Join(t.TempDir(), "index")
	first := []note.Note{testNote("N1", "S-1", 8, "NWB left leg.")}
	second := []note.Note{testNote("N1", "S-1", 8, "NWB right leg.")}
	for i, c := range []struct {
		notes             []note.Note
		putBack           bool
		replaced, earlier int
		now               string
	}{
		{first, false, 0, 0, "NWB left leg."},
		{second, false, 1, 0, "NWB right leg."},
		{first, false, 0, 1, "NWB right leg."},
		{first, true, 1, 0, "NWB left leg."},
		{first, true, 0, 0, "NWB left leg."},
		{second, false, 0, 1, "NWB left leg."},
	} {
		got := keep(t, dir, lex, c.notes, index.KeepOptions{PutBack: c.putBack})
		if got.Replaced != c.replaced || got.Earlier != c.earlier {
			t.Errorf("step %d: %+v, want %d replaced and %d as they once were", i, got, c.replaced, c.earlier)
		}
		x := open(t, dir, lex)
		if page := find(t, x, index.Query{Words: "NWB"}); page.Total != 1 || page.Hits[0].Note.Text != c.now {
			t.Errorf("step %d: found %+v, want %q", i, page.Hits, c.now)
		}
	}
	if page := find(t, open(t, dir, lex), index.Query{Earlier: true}); page.Total != 3 {
		t.Errorf("%d versions, want 3", page.Total)
	}
}

// TestSettings puts settings down, and finds them after the notes were erased and made anew.
func TestSettings(t *testing.T) {
	lex := newLexicon(t)
	dir := filepath.Join(t.TempDir(), "index")
	want := func(want []byte) {
		t.Helper()
		if got, err := index.Settings(dir); err != nil || !bytes.Equal(got, want) || (got == nil) != (want == nil) {
			t.Errorf("Settings() = %q, %v; want %q", got, err, want)
		}
	}
	want(nil)
	keep(t, dir, lex, []note.Note{testNote("N1", "S-1", 8, "Walked.")}, index.KeepOptions{})
	want(nil)
	w := openWriter(t, dir, lex)
	for _, s := range []string{"zone: UTC\n", "", "words: {}\n"} {
		if err := w.SetSettings([]byte(s)); err != nil {
			t.Fatal(err)
		}
		want([]byte(s))
	}
	_, err := w.Rebuild(context.Background(), nil)
	if err == nil {
		_, err = w.Remove(context.Background(), "S-1")
	}
	if err := errors.Join(err, w.Close()); err != nil {
		t.Fatal(err)
	}
	want([]byte("words: {}\n"))

	name := filepath.Join(dir, "settings")
	whole, err := os.ReadFile(name)
	if err != nil {
		t.Fatal(err)
	}
	head := bytes.IndexByte(whole, '\n') + 1
	for i := head; i < len(whole); i++ {
		spoilt := slices.Clone(whole)
		spoilt[i] ^= 1
		if err := os.WriteFile(name, spoilt, 0o600); err != nil {
			t.Fatal(err)
		}
		if got, err := index.Settings(dir); err == nil || !strings.Contains(err.Error(), "settings: damaged: delete the file") {
			t.Errorf("byte %d flipped: Settings() = %q, %v; want the damage told", i, got, err)
		}
	}
	// As an older stance wrote them.
	if err := os.WriteFile(name, whole[head:], 0o600); err != nil {
		t.Fatal(err)
	}
	want([]byte("words: {}\n"))
}

// TestReadBeside reads while a writer is at work: what it finds half written is no damage.
func TestReadBeside(t *testing.T) {
	ctx := context.Background()
	lex := newLexicon(t)
	dir := filepath.Join(t.TempDir(), "index")
	w := openWriter(t, dir, lex)
	done := make(chan error, 1)
	go func() {
		w.SetBatch(1)
		_, err := w.Keep(ctx, serial(20), index.KeepOptions{})
		done <- errors.Join(err, w.Close())
	}()
	for kept, ended := 0, false; !ended; {
		select {
		case err := <-done:
			if err != nil {
				t.Fatal(err)
			}
			ended = true
		default:
		}
		now := len(notesOf(t, open(t, dir, lex), index.Range{}))
		if now < kept {
			t.Errorf("%d notes, and before there were %d", now, kept)
		}
		kept = now
	}
}

// TestKeepWithinBatch amends a note in the batch that adds it.
func TestKeepWithinBatch(t *testing.T) {
	lex := newLexicon(t)
	dir := filepath.Join(t.TempDir(), "index")
	got := keep(t, dir, lex, []note.Note{
		testNote("N1", "S-1", 8, "Walked with a cane."),
		testNote("N1", "S-1", 8, "Walked with 2WW."),
		testNote("N1", "S-1", 8, "Walked with 2WW."),
	}, index.KeepOptions{})
	if want := (index.Kept{Read: 3, Added: 1, Replaced: 1, Skipped: 1, Bytes: 51}); got != want {
		t.Errorf("%+v, want %+v", got, want)
	}
	x := open(t, dir, lex)
	for aid, want := range map[string]int{"cane": 0, "walker": 1} {
		if page := find(t, x, index.Query{Aid: aid}); page.Total != want {
			t.Errorf("aid %s: found %d, want %d", aid, page.Total, want)
		}
	}
}

// TestKeepFault is a source that breaks off: what it gave before is kept and counted.
func TestKeepFault(t *testing.T) {
	lex := newLexicon(t)
	dir := filepath.Join(t.TempDir(), "index")
	w := openWriter(t, dir, lex)
	demo := demoNotes(t)
	broken := errors.New("broken")
	source := each(demo[:20])
	kept, err := w.Keep(context.Background(), func() (note.Note, error) {
		n, err := source()
		if err == io.EOF {
			err = broken
		}
		return n, err
	}, index.KeepOptions{})
	if !errors.Is(err, broken) || kept.Added != 20 {
		t.Errorf("Keep() = %+v, %v; want 20 added and the source's error", kept, err)
	}
	stopped, stop := context.WithCancel(context.Background())
	stop()
	if kept, err := w.Keep(stopped, each(demo), index.KeepOptions{}); !errors.Is(err, context.Canceled) || kept.Added != 0 {
		t.Errorf("stopped Keep() = %+v, %v", kept, err)
	}
	// One that is stopped in the middle of a batch keeps what it took.
	midway, stop := context.WithCancel(context.Background())
	source = each(demo[20:])
	left := 10
	kept, err = w.Keep(midway, func() (note.Note, error) {
		if left--; left == 0 {
			stop()
		}
		return source()
	}, index.KeepOptions{})
	if !errors.Is(err, context.Canceled) || kept.Added != 10 {
		t.Errorf("Keep() stopped midway = %+v, %v; want 10 added", kept, err)
	}
	if kept, err := w.Keep(context.Background(), each(demo), index.KeepOptions{}); err != nil || kept.Skipped != 30 || kept.Added != len(demo)-30 {
		t.Errorf("Keep() = %+v, %v", kept, err)
	}
	if err := w.Close(); err != nil {
		t.Fatal(err)
	}
	if page := find(t, open(t, dir, lex), index.Query{}); page.Total != len(demo) {
		t.Errorf("found %d, want %d", page.Total, len(demo))
	}
}

func TestShiftOfTime(t *testing.T) {
	lex := newLexicon(t)
	dir := filepath.Join(t.TempDir(), "index")
	stated := testNote("N2", "S-1", 9, "Slept.")
	stated.Shift = "night"
	keep(t, dir, lex, []note.Note{testNote("N1", "S-1", 8, "Walked."), stated}, index.KeepOptions{
		Shift: func(*note.Note) string { return "day" },
	})
	page := find(t, open(t, dir, lex), index.Query{Shift: "Day"})
	if got := ids(page); !slices.Equal(got, []string{"N1"}) || page.Hits[0].Note.Shift != "" {
		t.Errorf("found %v, want N1 with no shift stated", got)
	}
}

func TestRules(t *testing.T) {
	ctx := context.Background()
	lex := newLexicon(t)
	dir := filepath.Join(t.TempDir(), "index")
	notes := []note.Note{testNote("N1", "S-1", 8, "Walked."), testNote("N2", "S-1", 9, "Lifted."), testNote("N1", "S-2", 8, "Slept.")}
	keep(t, dir, lex, notes, index.KeepOptions{})

	unjudged := func(w *index.Writer, want ...string) {
		t.Helper()
		got, err := w.Unjudged(ctx)
		if err != nil || !slices.Equal(got, want) {
			t.Errorf("Unjudged() = %v, %v; want %v", got, err, want)
		}
	}
	byRule := func(rule string, want ...string) {
		t.Helper()
		var got []string
		for _, h := range find(t, open(t, dir, lex), index.Query{Rule: rule, Order: index.ByTime}).Hits {
			got = append(got, h.Note.Resident+" "+h.Note.ID+" "+strings.Join(h.Rules, ","))
		}
		if !slices.Equal(got, want) {
			t.Errorf("rule %s: %q, want %q", rule, got, want)
		}
	}
	do := func(f func(w *index.Writer) error) {
		t.Helper()
		w := openWriter(t, dir, lex)
		if err := errors.Join(f(w), w.Close()); err != nil {
			t.Fatal(err)
		}
	}
	do(func(w *index.Writer) error {
		unjudged(w, "S-1", "S-2")
		return w.Judged(ctx, "S-1", map[string][]string{"N2": {"manual-lift", "b", "manual-lift"}})
	})
	byRule("manual-lift", "S-1 N2 b,manual-lift")
	do(func(w *index.Writer) error {
		unjudged(w, "S-2")
		return w.SetRules(ctx, map[string][]string{"N1": {"b"}})
	})
	byRule("b", "S-1 N1 b", "S-2 N1 b", "S-1 N2 b,manual-lift")
	amended := notes[1]
	amended.Text = "Lifted by two."
	keep(t, dir, lex, []note.Note{amended}, index.KeepOptions{})
	byRule("manual-lift") // the rule was found on another text
	do(func(w *index.Writer) error {
		unjudged(w, "S-1", "S-2")
		return errors.Join(w.Judged(ctx, "S-1", nil), w.Judged(ctx, "S-2", nil))
	})
	byRule("b")
	do(func(w *index.Writer) error { unjudged(w); return nil })
}

// TestRemove looks for the erased text in every file.
func TestRemove(t *testing.T) {
	ctx := context.Background()
	lex := newLexicon(t)
	dir := filepath.Join(t.TempDir(), "index")
	notes := []note.Note{testNote("N1", "S-1", 8, "Xylophone practice, walked."), testNote("N2", "S-2", 9, "Walked.")}
	keep(t, dir, lex, notes, index.KeepOptions{})
	notes[0].Text = "Xylophone concert, walked with a cane."
	keep(t, dir, lex, notes, index.KeepOptions{})
	if n := filesWith(t, dir, "xylophon"); n == 0 {
		t.Fatal("the text cannot be found in the files while it is there")
	}
	w := openWriter(t, dir, lex)
	if n, err := w.Remove(ctx, "S-3"); n != 0 || err != nil {
		t.Errorf("Remove(S-3) = %d, %v; want 0", n, err)
	}
	if n, err := w.Remove(ctx, "S-1"); n != 2 || err != nil {
		t.Errorf("Remove(S-1) = %d, %v; want 2", n, err)
	}
	if got, err := w.Unjudged(ctx); err != nil || !slices.Equal(got, []string{"S-2"}) {
		t.Errorf("Unjudged() = %v, %v", got, err)
	}
	if err := w.Close(); err != nil {
		t.Fatal(err)
	}
	if n := filesWith(t, dir, "xylophon"); n != 0 {
		t.Errorf("the text is still in %d files", n)
	}
	x := open(t, dir, lex)
	if got := ids(find(t, x, index.Query{Earlier: true})); !slices.Equal(got, []string{"N2"}) {
		t.Errorf("found %v, want N2", got)
	}
	if got := notesOf(t, x, index.Range{}); len(got) != 1 {
		t.Errorf("%d notes, want 1", len(got))
	}
	if kept := keep(t, dir, lex, notes, index.KeepOptions{}); kept.Added != 1 || kept.Skipped != 1 {
		t.Errorf("kept again: %+v", kept)
	}
}

// filesWith counts the files of a folder that hold a stem.
func filesWith(t *testing.T, dir, stem string) int {
	t.Helper()
	n := 0
	err := filepath.WalkDir(dir, func(path string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() {
			return err
		}
		b, err := os.ReadFile(path)
		if bytes.Contains(bytes.ToLower(b), []byte(stem)) {
			n++
		}
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	return n
}

// TestRebuild reads notes with a word that the home defined later.
func TestRebuild(t *testing.T) {
	ctx := context.Background()
	plain := newLexicon(t)
	dir := filepath.Join(t.TempDir(), "index")
	keep(t, dir, plain, []note.Note{testNote("N1", "S-1", 8, "Up with the blue trolley."), testNote("N2", "S-1", 9, "Slept.")}, index.KeepOptions{})
	own, err := lexicon.New(lexicon.Word{Term: "blue trolley", Concept: "aid.walker-4w"})
	if err != nil {
		t.Fatal(err)
	}
	x := open(t, dir, own)
	if stale, err := x.Stale(); !stale || err != nil {
		t.Errorf("before: Stale() = %v, %v", stale, err)
	}
	if page := find(t, x, index.Query{Aid: "walker"}); page.Total != 0 {
		t.Errorf("before: found %d", page.Total)
	}
	w := openWriter(t, dir, own)
	if !w.Stale() {
		t.Error("before: the writer is not stale")
	}
	var progress []int
	if n, err := w.Rebuild(ctx, func(done int) { progress = append(progress, done) }); n != 2 || err != nil {
		t.Errorf("Rebuild() = %d, %v; want 2", n, err)
	}
	if !slices.Equal(progress, []int{2}) {
		t.Errorf("progress %v, want [2]", progress)
	}
	if w.Stale() {
		t.Error("after: the writer is stale")
	}
	if err := w.Close(); err != nil {
		t.Fatal(err)
	}
	if stale, err := x.Stale(); stale || err != nil {
		t.Errorf("after: Stale() = %v, %v", stale, err)
	}
	if page := find(t, x, index.Query{Aid: "walker"}); page.Total != 1 {
		t.Errorf("after: found %d, want 1", page.Total)
	}
}

func TestFormats(t *testing.T) {
	lex := newLexicon(t)
	t.Run("none", func(t *testing.T) {
		for _, dir := range []string{t.TempDir(), filepath.Join(t.TempDir(), "missing")} {
			var none *index.NoIndexError
			if _, err := index.Open(dir, lex); !errors.As(err, &none) {
				t.Errorf("Open: %v, want a NoIndexError", err)
			}
		}
	})
	t.Run("another folder", func(t *testing.T) {
		dir := t.TempDir()
		if err := os.WriteFile(filepath.Join(dir, "budget.csv"), nil, 0o600); err != nil {
			t.Fatal(err)
		}
		var other *index.FolderError
		if _, err := index.OpenWriter(dir, lex); !errors.As(err, &other) {
			t.Errorf("OpenWriter in a folder with other files: %v, want a FolderError", err)
		}
	})
	for _, c := range []struct {
		name   string
		format int
		want   string
	}{{"older notes", 1, "keep the notes anew, with --index of another folder"}, {"newer notes", 99, "use the newer stance"}} {
		t.Run(c.name, func(t *testing.T) {
			dir := t.TempDir()
			j, err := journal.Create(filepath.Join(dir, index.JournalName), c.format)
			if err == nil {
				err = j.Close()
			}
			if err != nil {
				t.Fatal(err)
			}
			_, err = index.Open(dir, lex)
			wantFormat(t, err, c.want)
			_, err = index.OpenWriter(dir, lex)
			wantFormat(t, err, c.want)
		})
	}
	for _, c := range []struct {
		name   string
		format int
		want   string
	}{{"older search", 1, "stance keep --rebuild"}, {"newer search", 99, "use the newer stance"}} {
		t.Run(c.name, func(t *testing.T) {
			dir := filepath.Join(t.TempDir(), "index")
			keep(t, dir, lex, []note.Note{testNote("N1", "S-1", 8, "Walked.")}, index.KeepOptions{})
			w := openWriter(t, dir, lex)
			if err := errors.Join(w.SetSearchFormat(c.format), w.Close()); err != nil {
				t.Fatal(err)
			}
			_, err := index.Open(dir, lex)
			wantFormat(t, err, c.want)
			w, err = index.OpenWriter(dir, lex)
			if c.format == 99 {
				wantFormat(t, err, c.want)
				return
			}
			if err != nil {
				t.Fatal(err)
			}
			n, err := w.Rebuild(context.Background(), nil)
			if err := errors.Join(err, w.Close()); n != 1 || err != nil {
				t.Errorf("Rebuild() = %d, %v", n, err)
			}
			if page := find(t, open(t, dir, lex), index.Query{Words: "walked"}); page.Total != 1 {
				t.Errorf("found %d, want 1", page.Total)
			}
		})
	}
}

func wantFormat(t *testing.T, err error, says string) {
	t.Helper()
	var format *index.FormatError
	if !errors.As(err, &format) || !strings.Contains(err.Error(), says) {
		t.Errorf("%v, want a FormatError that says %q", err, says)
	}
}

func TestLocked(t *testing.T) {
	lex := newLexicon(t)
	dir := filepath.Join(t.TempDir(), "index")
	notes := []note.Note{testNote("N1", "S-1", 8, "Walked.")}
	keep(t, dir, lex, notes, index.KeepOptions{})
	w := openWriter(t, dir, lex)
	var locked *index.LockedError
	if _, err := index.OpenWriter(dir, lex); !errors.As(err, &locked) || locked.Use != "written" {
		t.Errorf("a second writer: %v, want a LockedError", err)
	}
	x := open(t, dir, lex) // readers come in beside a writer
	if got := notesOf(t, x, index.Range{}); len(got) != 1 {
		t.Errorf("%d notes beside a writer, want 1", len(got))
	}
	soon, cancel := context.WithTimeout(context.Background(), 50*time.Millisecond)
	defer cancel()
	if _, err := x.Find(soon, index.Query{}); !errors.Is(err, context.DeadlineExceeded) {
		t.Errorf("Find beside a writer that stays: %v, want that it waits", err)
	}
	found := make(chan error, 1)
	go func() {
		_, err := x.Find(context.Background(), index.Query{})
		found <- err
	}()
	if err := w.Close(); err != nil {
		t.Fatal(err)
	}
	if err := <-found; err != nil {
		t.Errorf("Find beside a writer that ends: %v", err)
	}
}

// TestSearchIsCache spoils the search part in ways that it must come back from.
func TestSearchIsCache(t *testing.T) {
	lex := newLexicon(t)
	for name, spoil := range map[string]func(search string) error{
		"gone":      os.RemoveAll,
		"half made": func(search string) error { return os.RemoveAll(filepath.Join(search, "store")) },
		"not a store": func(search string) error {
			return os.WriteFile(filepath.Join(search, "index_meta.json"), []byte("?"), 0o600)
		},
	} {
		t.Run(name, func(t *testing.T) {
			dir := filepath.Join(t.TempDir(), "index")
			keep(t, dir, lex, []note.Note{testNote("N1", "S-1", 8, "Walked.")}, index.KeepOptions{})
			if err := spoil(filepath.Join(dir, "search")); err != nil {
				t.Fatal(err)
			}
			if page := find(t, open(t, dir, lex), index.Query{Words: "walk"}); page.Total != 1 {
				t.Errorf("found %d, want 1", page.Total)
			}
		})
	}
}

// TestRemadeSlowly has the search part made anew, for which Find takes the time that it needs: it waits for no
// other program then.
func TestRemadeSlowly(t *testing.T) {
	lex := newLexicon(t)
	dir := filepath.Join(t.TempDir(), "index")
	keep(t, dir, lex, []note.Note{testNote("N1", "S-1", 8, "Walked.")}, index.KeepOptions{})
	if err := os.RemoveAll(filepath.Join(dir, "search")); err != nil {
		t.Fatal(err)
	}
	x := open(t, dir, lex)
	x.Impatient()
	if page := find(t, x, index.Query{Words: "walk"}); page.Total != 1 {
		t.Errorf("found %d, want 1", page.Total)
	}
}

func TestOwnerOnly(t *testing.T) {
	if runtime.GOOS == "windows" {
		t.Skip("modes are those of Unix")
	}
	dir := filepath.Join(t.TempDir(), "index")
	keep(t, dir, newLexicon(t), demoNotes(t), index.KeepOptions{})
	err := filepath.WalkDir(dir, func(path string, d fs.DirEntry, err error) error {
		if err != nil {
			return err
		}
		info, err := d.Info()
		if err != nil {
			return err
		}
		if info.Mode().Perm()&0o077 != 0 {
			t.Errorf("%s: mode %v, want the owner's only", path, info.Mode())
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
}

// TestJudgedClean checks notes on which no rule fires: nothing has to be found otherwise, yet the search part
// has to come up to the ledger, or a search would wait for a writer that is not there.
func TestJudgedClean(t *testing.T) {
	ctx := context.Background()
	lex := newLexicon(t)
	dir := filepath.Join(t.TempDir(), "index")
	w := openWriter(t, dir, lex)
	if _, err := w.Keep(ctx, each([]note.Note{testNote("N1", "S-1", 8, "Walked.")}), index.KeepOptions{}); err != nil {
		t.Fatal(err)
	}
	if err := errors.Join(w.Judged(ctx, "S-1", nil), w.Close()); err != nil {
		t.Fatal(err)
	}
	// A second writer shuts out all that a search might do to complete the first one's work.
	second := openWriter(t, dir, lex)
	defer second.Close()
	if second.Behind() {
		t.Error("after Close the search part is behind the ledger")
	}
}
