package index_test

import (
	"bytes"
	"context"
	"encoding/binary"
	"errors"
	"hash/crc32"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"example.com/stance/index"
	"example.com/stance/index/internal/journal"
)

// setLog replaces the notes.log of a folder.
func setLog(t *testing.T, dir string, log []byte) {
	t.Helper()
	if err := os.WriteFile(filepath.Join(dir, index.JournalName), log, 0o600); err != nil {
		t.Fatal(err)
	}
}

// TestRepair spoils each frame in turn: all others are saved, and what is lost is told.
func TestRepair(t *testing.T) {
	s := newSpecimen(t)
	name := filepath.Join(s.dir, index.JournalName)
	if r, err := index.Repair(s.dir); err != nil || r.Damage != nil {
		t.Fatalf("Repair of what is whole: %+v, %v", r, err)
	}
	for i, c := range []struct {
		saved     int
		lost      []string // ids
		around    [2]int   // hours; 0: no bound
		residents int
	}{
		{6, []string{"N00", "N01", "N02"}, [2]int{0, 1}, 3},
		{6, []string{"N10", "N11", "N12"}, [2]int{0, 2}, 3},
		{6, []string{"N20", "N21", "N22"}, [2]int{1, 0}, 3},
		{9, nil, [2]int{2, 0}, 3}, // rules
	} {
		spoilt := slices.Clone(s.log)
		spoilt[s.at[i+1]-1] ^= 1
		dir := filepath.Join(t.TempDir(), "index")
		s.put(t, dir)
		setLog(t, dir, spoilt)
		r, err := index.Repair(dir)
		if err != nil || r.Damage == nil || r.Notes != c.saved || r.Residents != c.residents || r.Written != int64(len(s.log)) || len(r.Lost) != 1 {
			t.Fatalf("frame %d: %+v, %v; want %d notes saved and one loss", i, r, err, c.saved)
		}
		loss := r.Lost[0]
		if loss.From != s.at[i] || loss.To != s.at[i+1] {
			t.Errorf("frame %d: lost %+v, want %d to %d", i, loss, s.at[i], s.at[i+1])
		}
		if i > 0 && !loss.After.Equal(moment(i-1)) || i == 0 && !loss.After.IsZero() || i < 2 && !loss.Before.Equal(moment(i+1)) || i >= 2 && !loss.Before.IsZero() {
			t.Errorf("frame %d: lost between %v and %v", i, loss.After, loss.Before)
		}
		if kept, err := os.ReadFile(r.Kept); err != nil || !bytes.Equal(kept, spoilt) {
			t.Errorf("frame %d: the damaged file is not kept: %v", i, err)
		}
		if names, err := index.Damaged(dir); err != nil || !slices.Equal(names, []string{r.Kept}) {
			t.Errorf("frame %d: Damaged() = %v, %v", i, names, err)
		}
		w := openWriter(t, dir, s.lex)
		unjudged, err := w.Unjudged(context.Background())
		if err = errors.Join(err, w.Close()); err != nil || len(unjudged) != 3 {
			t.Errorf("frame %d: Unjudged() = %v, %v; want all", i, unjudged, err)
		}
		want := slices.DeleteFunc(slices.Clone(s.found), func(id string) bool { return slices.Contains(c.lost, id) })
		if got := ids(find(t, open(t, dir, s.lex), index.Query{Order: index.ByTime})); !slices.Equal(got, want) {
			t.Errorf("frame %d: found %v, want %v", i, got, want)
		}
		if kept := keep(t, dir, s.lex, s.notes, index.KeepOptions{}); kept.Added != len(c.lost) || kept.Skipped != c.saved {
			t.Errorf("frame %d: kept again: %+v", i, kept)
		}
	}
	if now, err := os.ReadFile(name); err != nil || !bytes.Equal(now, s.log) {
		t.Errorf("what is whole was changed: %v", err)
	}
}

// TestRepairTwice keeps each damaged file, and saves what was out of place.
func TestRepairTwice(t *testing.T) {
	s := newSpecimen(t)
	for n, spoil := range []func(log []byte) []byte{
		func(log []byte) []byte { return slices.Concat([]byte("?"), log[1:]) },
		func(log []byte) []byte { return slices.Concat(log, log[s.at[0]:]) },
		func(log []byte) []byte { return log[journal.Start:] },
	} {
		log, err := os.ReadFile(filepath.Join(s.dir, index.JournalName))
		if err != nil {
			t.Fatal(err)
		}
		setLog(t, s.dir, spoil(log))
		r, err := index.Repair(s.dir)
		if err != nil || r.Notes == 0 || r.Damage == nil {
			t.Fatalf("%d: %+v, %v", n, r, err)
		}
		if names, err := index.Damaged(s.dir); err != nil || len(names) != n+1 {
			t.Errorf("%d: Damaged() = %v, %v", n, names, err)
		}
		open(t, s.dir, s.lex)
	}
}

// TestBackup puts a copy of notes.log alone into an empty folder.
func TestBackup(t *testing.T) {
	s := newSpecimen(t)
	dir := t.TempDir()
	setLog(t, dir, s.log)
	x := open(t, dir, s.lex)
	if got := ids(find(t, x, index.Query{Order: index.ByTime})); !slices.Equal(got, s.found) {
		t.Errorf("found %v, want %v", got, s.found)
	}
	if got := ids(find(t, x, index.Query{Rule: "vague-help"})); !slices.Equal(got, []string{"N01"}) {
		t.Errorf("by rule: found %v, want N01", got)
	}
	if why := x.Remade(); !strings.HasSuffix(why, "search is missing: made anew from notes.log") {
		t.Errorf("Remade() = %q", why)
	}
}

// TestOlderCopy puts a copy back over notes that have come on since: that is told, not taken for all there is.
func TestOlderCopy(t *testing.T) {
	s := newSpecimen(t)
	keep(t, s.dir, s.lex, append(slices.Clip(s.notes), testNote("X", "S-9", 12, "Walked.")), index.KeepOptions{})
	setLog(t, s.dir, s.log)
	if !s.ask(t, "an older copy", s.dir) {
		t.Error("no damage was told")
	}
	if r, err := index.Repair(s.dir); err != nil || r.Notes != len(s.notes) || len(r.Lost) != 1 || r.Lost[0].From != int64(len(s.log)) {
		t.Errorf("Repair: %+v, %v; want the end lost", r, err)
	}
	open(t, s.dir, s.lex)
}

// unmarked gives the records of a file in the format that had no markers.
func unmarked(t *testing.T, dir string) []byte {
	t.Helper()
	sum := func(b []byte) uint32 { return crc32.Checksum(b, crc32.MakeTable(crc32.Castagnoli)) }
	b := binary.LittleEndian.AppendUint32([]byte("stancelg"), journal.Unmarked)
	b = append(b, "0123456789abcdef"...)
	b = binary.LittleEndian.AppendUint32(b, sum(b))
	_, err := openJournal(t, filepath.Join(dir, index.JournalName)).Scan(journal.Start, func(_ int64, record []byte) error {
		b = binary.LittleEndian.AppendUint32(b, uint32(len(record)))
		b = binary.LittleEndian.AppendUint32(b, sum(record))
		b = append(b, record...)
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	return b
}

// TestConvert brings an index of the format before this one up to date. Where that is damaged, it is told, and
// can be repaired.
func TestConvert(t *testing.T) {
	s := newSpecimen(t)
	old := unmarked(t, s.dir)
	dir := t.TempDir()
	setLog(t, dir, slices.Concat(old, make([]byte, 40))) // as a power cut leaves it
	_, err := index.Open(dir, s.lex)
	wantFormat(t, err, "stance keep --rebuild --index "+dir)
	if r, err := index.Repair(dir); err != nil || r.Damage != nil {
		t.Errorf("Repair of what is whole: %+v, %v", r, err)
	}
	if kept := keep(t, dir, s.lex, s.notes, index.KeepOptions{}); kept.Skipped != len(s.notes) {
		t.Errorf("kept again: %+v", kept)
	}
	x := open(t, dir, s.lex)
	if diff := cmp.Diff(s.notes, notesOf(t, x, index.Range{})); diff != "" {
		t.Errorf("(-want +got)\n%s", diff)
	}
	if got := ids(find(t, x, index.Query{Rule: "vague-help"})); !slices.Equal(got, []string{"N01"}) {
		t.Errorf("by rule: found %v, want N01", got)
	}
	w := openWriter(t, dir, s.lex)
	unjudged, err := w.Unjudged(context.Background())
	if err = errors.Join(err, w.Close()); err != nil || slices.Contains(unjudged, "S-1") {
		t.Errorf("Unjudged() = %v, %v; want S-1 to stay judged", unjudged, err)
	}

	for _, spoilt := range [][]byte{
		old[:len(old)-1],
		slices.Concat(old[:60], []byte("?"), old[61:]),
		slices.Concat(old[:33], []byte{old[33] ^ 64}, old[34:]),
	} {
		dir := t.TempDir()
		setLog(t, dir, spoilt)
		_, err := index.OpenWriter(dir, s.lex)
		if !damageTold(t, "old", "OpenWriter", err) {
			t.Error("no damage was told")
		}
		if now, err := os.ReadFile(filepath.Join(dir, index.JournalName)); err != nil || !bytes.Equal(now, spoilt) {
			t.Errorf("the file was changed: %v", err)
		}
		r, err := index.Repair(dir)
		if err != nil || r.Damage == nil || r.Notes < 6 || len(r.Lost) == 0 {
			t.Errorf("Repair: %+v, %v", r, err)
		}
		open(t, dir, s.lex)
	}
}
