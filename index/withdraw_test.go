package index_test

import (
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"example.com/stance/index"
	"example.com/stance/index/internal/journal"
	"example.com/stance/lint/note"
)

// A document is a note with the numbers of the documents that took its place.
func document(text, id string, numbers ...string) note.Note {
	n := testNote(id, "S-1", 8, text)
	n.Numbers = numbers
	return n
}

func withdraw(t *testing.T, dir string, lex index.Reader, numbers ...string) (known, now bool) {
	t.Helper()
	w := openWriter(t, dir, lex)
	known, now, err := w.Withdraw(context.Background(), "S-1", numbers, moment(12))
	if err := errors.Join(err, w.Close()); err != nil {
		t.Fatal(err)
	}
	return known, now
}

// state says what is kept: each note with its text, and of those found with earlier ones what became of them.
func stateOf(t *testing.T, dir string, lex index.Reader) string {
	t.Helper()
	x := open(t, dir, lex)
	var b strings.Builder
	for _, n := range notesOf(t, x, index.Range{}) {
		fmt.Fprintf(&b, "%s %s. ", n.ID, n.Text)
	}
	if found := find(t, x, index.Query{}); found.Total != len(notesOf(t, x, index.Range{})) {
		t.Errorf("%d notes are found, %d kept", found.Total, len(notesOf(t, x, index.Range{})))
	}
	for _, h := range find(t, x, index.Query{Earlier: true, Order: index.ByTime}).Hits {
		switch {
		case h.Replaced:
			fmt.Fprintf(&b, "-%s ", h.Note.Text)
		case h.Withdrawn:
			fmt.Fprintf(&b, "x%s ", h.Note.Text)
		}
	}
	return strings.TrimSpace(b.String())
}

// TestDocuments keeps documents as messages bring them, one by one, each in a run of its own.
func TestDocuments(t *testing.T) {
	lex := newLexicon(t)
	one, two, three := document("one", "N1"), document("two", "N1", "N2"), document("three", "N2", "N3")
	for _, c := range []struct {
		name string
		do   []any // a note to keep, or the number of one to withdraw
		want string
	}{
		{"a chain", []any{one, two, three}, "N1 three. -one -two"},
		{"sent again", []any{one, two, three, three, two, one}, "N1 three. -one -two"},
		{"another text under a number that was replaced", []any{one, two, document("late", "N1")}, "N1 two. -one"},
		{"the first comes last", []any{two, one}, "N1 two."},
		{"another text under the newest number", []any{one, two, document("amended", "N2")}, "N1 amended. -one -two"},
		{"back to what it said first", []any{one, two, document("one", "N2", "N3")}, "N1 one. -one -two"},
		{"withdrawn", []any{one, "N1"}, "xone"},
		{"withdrawn, and sent again", []any{one, "N1", one, "N1"}, "xone"},
		{"withdrawn, and sent with other words", []any{one, "N1", two}, "N1 two. -one"},
		{"the newest is withdrawn", []any{one, two, three, "N3"}, "-one -two xthree"},
		{"a replaced one is withdrawn", []any{one, two, "N1"}, "N1 two. -one"},
		{"nobody's", []any{one, "N7"}, "N1 one."},
	} {
		t.Run(c.name, func(t *testing.T) {
			dir := filepath.Join(t.TempDir(), "index")
			for _, d := range c.do {
				switch d := d.(type) {
				case note.Note:
					keep(t, dir, lex, []note.Note{d}, index.KeepOptions{At: moment(10)})
				case string:
					if known, _ := withdraw(t, dir, lex, d); known != (d != "N7") {
						t.Errorf("withdrawing %s: known is %t", d, known)
					}
				}
			}
			want := stateOf(t, dir, lex)
			if want != c.want {
				t.Errorf("got  %q\nwant %q", want, c.want)
			}
			// What is made of notes.log alone is the same.
			for _, cache := range []string{"search", "places"} {
				if err := os.RemoveAll(filepath.Join(dir, cache)); err != nil {
					t.Fatal(err)
				}
			}
			if got := stateOf(t, dir, lex); got != want {
				t.Errorf("made anew: %q, was %q", got, want)
			}
		})
	}
}

// TestWithdrawnAround asks what stands around a withdrawn note: other notes, earlier moments, and who is to be judged.
func TestWithdrawnAround(t *testing.T) {
	lex := newLexicon(t)
	dir := filepath.Join(t.TempDir(), "index")
	keep(t, dir, lex, []note.Note{document("one", "N1"), testNote("N1", "S-2", 9, "other")}, index.KeepOptions{At: moment(10)})
	w := openWriter(t, dir, lex)
	w.SetFewNew(0)
	ctx := context.Background()
	err := errors.Join(w.Judged(ctx, "S-1", map[string][]string{"N1": {"vague-help"}}), w.Judged(ctx, "S-2", nil))
	known, now, gone := w.Withdraw(ctx, "S-1", []string{"N1", "N2"}, moment(12))
	changed, times := w.Changed("S-1")
	unjudged, who := w.Unjudged(ctx)
	if err := errors.Join(err, gone, times, who, w.Close()); err != nil || !known || !now {
		t.Fatalf("known %t, now %t, %v", known, now, err)
	}
	if fmt.Sprint(unjudged) != "[S-1]" || len(changed) != 1 || !changed[0].Equal(moment(8)) {
		t.Errorf("to be judged: %v, for notes of %v", unjudged, changed)
	}
	x := open(t, dir, lex)
	if got := notesOf(t, x, index.Range{KeptBy: moment(11)}); len(got) != 2 {
		t.Errorf("before it was withdrawn: %v", got)
	}
	if got := find(t, x, index.Query{Rule: "vague-help", Earlier: true}); got.Total != 0 {
		t.Errorf("found by a rule that was set before: %+v", got)
	}
	w = openWriter(t, dir, lex)
	n, err := w.Remove(ctx, "S-1")
	if err := errors.Join(err, w.Close()); err != nil || n != 1 {
		t.Errorf("Remove() = %d, %v", n, err)
	}
}

// An index that was made before notes could be withdrawn is read and added to as it is, and holds a withdrawal once
// there is one.
func TestLastingFormat(t *testing.T) {
	lex := newLexicon(t)
	dir := t.TempDir()
	log := filepath.Join(dir, index.JournalName)
	j, err := journal.Create(log, 3)
	if err := errors.Join(err, j.Close()); err != nil {
		t.Fatal(err)
	}
	format := func() int {
		j, err := journal.Open(log)
		if err != nil {
			t.Fatal(err)
		}
		defer j.Close()
		return j.Format()
	}
	keep(t, dir, lex, []note.Note{document("one", "N1"), document("other", "N9")}, index.KeepOptions{})
	if got := format(); got != 3 {
		t.Errorf("format %d after keeping, want 3", got)
	}
	withdraw(t, dir, lex, "N9")
	if got := format(); got != 4 {
		t.Errorf("format %d after withdrawing, want 4", got)
	}
	if got := stateOf(t, dir, lex); got != "N1 one. xother" {
		t.Errorf("kept %q", got)
	}
}

// What a repair can read of withdrawals and of documents that took others' places is saved too.
func TestRepairWithdrawn(t *testing.T) {
	lex := newLexicon(t)
	dir := filepath.Join(t.TempDir(), "index")
	keep(t, dir, lex, []note.Note{document("lost", "N7")}, index.KeepOptions{})
	keep(t, dir, lex, []note.Note{document("one", "N1"), document("other", "N9")}, index.KeepOptions{})
	keep(t, dir, lex, []note.Note{document("two", "N1", "N2")}, index.KeepOptions{})
	withdraw(t, dir, lex, "N9")
	name := filepath.Join(dir, index.JournalName)
	log, err := os.ReadFile(name)
	if err != nil {
		t.Fatal(err)
	}
	log[journal.Start+40] ^= 1
	setLog(t, dir, log)
	if r, err := index.Repair(dir); err != nil || len(r.Lost) != 1 {
		t.Fatalf("Repair: %+v, %v", r, err)
	}
	keep(t, dir, lex, []note.Note{document("three", "N2", "N3"), document("other", "N9")}, index.KeepOptions{})
	if got, want := stateOf(t, dir, lex), "N1 three. -one xother -two"; got != want {
		t.Errorf("kept %q, want %q", got, want)
	}
}
