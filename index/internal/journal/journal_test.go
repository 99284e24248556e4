package journal_test

import (
	"errors"
	"os"
	"path/filepath"
	"slices"
	"testing"

	"example.com/stance/index/internal/journal"
)

// made is a file with the records, one Append each.
func made(t *testing.T, records ...string) string {
	t.Helper()
	name := filepath.Join(t.TempDir(), "log")
	j, err := journal.Create(name, 3)
	if err != nil {
		t.Fatal(err)
	}
	for _, r := range records {
		var b journal.Batch
		b.Add([]byte(r))
		if err := j.Append(&b); err != nil {
			t.Fatal(err)
		}
	}
	if err := errors.Join(j.Sync(), j.Close()); err != nil {
		t.Fatal(err)
	}
	return name
}

func scan(t *testing.T, j *journal.Journal, from int64) (records []string, at []int64, end int64, err error) {
	t.Helper()
	end, err = j.Scan(from, func(offset int64, record []byte) error {
		records, at = append(records, string(record)), append(at, offset)
		return nil
	})
	return records, at, end, err
}

func open(t *testing.T, name string) *journal.Journal {
	t.Helper()
	j, err := journal.OpenAppend(name)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { j.Close() })
	return j
}

func TestRead(t *testing.T) {
	want := []string{"one", "", "three"}
	j := open(t, made(t, want...))
	got, at, end, err := scan(t, j, journal.Start)
	if err != nil || !slices.Equal(got, want) {
		t.Fatalf("Scan = %q, %v; want %q", got, err, want)
	}
	for i, offset := range at {
		if b, err := j.Read(offset); err != nil || string(b) != want[i] {
			t.Errorf("Read(%d) = %q, %v; want %q", offset, b, err, want[i])
		}
	}
	if got, _, _, err := scan(t, j, at[1]); err != nil || !slices.Equal(got, want[1:]) {
		t.Errorf("Scan from the second = %q, %v", got, err)
	}
	if got, _, _, err := scan(t, j, end); err != nil || len(got) > 0 {
		t.Errorf("Scan from the end = %q, %v", got, err)
	}
	if j.Format() != 3 {
		t.Errorf("Format() = %d, want 3", j.Format())
	}
	var damaged *journal.DamagedError
	for _, offset := range []int64{end, at[0] + 1} {
		if _, err := j.Read(offset); !errors.As(err, &damaged) {
			t.Errorf("Read(%d): %v, want a DamagedError", offset, err)
		}
	}
}

func TestGenerations(t *testing.T) {
	first, second := open(t, made(t)), open(t, made(t))
	if first.Generation() == second.Generation() {
		t.Error("two files have one generation")
	}
}

// TestCut cuts the file at every byte: what is left are the whole records before, and appending goes on
// from there.
func TestCut(t *testing.T) {
	records := []string{"first", "second", "third"}
	whole, err := os.ReadFile(made(t, records...))
	if err != nil {
		t.Fatal(err)
	}
	for size := int(journal.Start); size <= len(whole); size++ {
		name := filepath.Join(t.TempDir(), "log")
		if err := os.WriteFile(name, whole[:size], 0o600); err != nil {
			t.Fatal(err)
		}
		j := open(t, name)
		got, _, end, err := scan(t, j, journal.Start)
		if err != nil || !slices.Equal(got, records[:len(got)]) || len(got) == 3 != (size == len(whole)) {
			t.Fatalf("cut at %d: Scan = %q, %v", size, got, err)
		}
		var b journal.Batch
		b.Add([]byte("next"))
		if err := errors.Join(j.Recover(end), j.Append(&b)); err != nil {
			t.Fatal(err)
		}
		again, _, _, err := scan(t, j, journal.Start)
		if want := append(slices.Clip(got), "next"); err != nil || !slices.Equal(again, want) {
			t.Errorf("cut at %d: after appending %q, %v; want %q", size, again, err, want)
		}
	}
}

// TestDamage changes one byte: of the last record, that may be a crash; before it, it is damage.
func TestDamage(t *testing.T) {
	records := []string{"first", "second", "third"}
	name := made(t, records...)
	whole, err := os.ReadFile(name)
	if err != nil {
		t.Fatal(err)
	}
	_, at, _, _ := scan(t, open(t, name), journal.Start)
	const frame = 8
	for _, c := range []struct {
		what   string
		offset int64
		damage bool
	}{
		{"magic", 0, true},
		{"generation", 14, true},
		{"text of the first", at[0] + frame, true},
		{"checksum of the second", at[1] + 4, true},
		{"text of the last", at[2] + frame, false},
	} {
		spoilt := slices.Clone(whole)
		spoilt[c.offset] ^= 1
		name := filepath.Join(t.TempDir(), "log")
		if err := os.WriteFile(name, spoilt, 0o600); err != nil {
			t.Fatal(err)
		}
		j, err := journal.Open(name)
		if err == nil {
			_, _, _, err = scan(t, j, journal.Start)
			j.Close()
		}
		var damaged *journal.DamagedError
		if errors.As(err, &damaged) != c.damage || err != nil && !c.damage {
			t.Errorf("%s: %v, want damage: %t", c.what, err, c.damage)
		}
	}
}

func TestAppendTooMuch(t *testing.T) {
	j := open(t, made(t, "one"))
	_, _, end, err := scan(t, j, journal.Start)
	if err = errors.Join(err, j.Recover(end)); err != nil {
		t.Fatal(err)
	}
	var b journal.Batch
	b.Add(make([]byte, journal.MaxAppend))
	if err := j.Append(&b); err == nil || j.End() != end {
		t.Errorf("Append: %v, end %d; want an error and end %d", err, j.End(), end)
	}
}

func FuzzOpen(f *testing.F) {
	f.Add([]byte("stancelg"))
	f.Fuzz(func(t *testing.T, file []byte) {
		name := filepath.Join(t.TempDir(), "log")
		if err := os.WriteFile(name, file, 0o600); err != nil {
			t.Fatal(err)
		}
		j, err := journal.Open(name)
		if err != nil {
			return
		}
		defer j.Close()
		end, err := j.Scan(journal.Start, func(int64, []byte) error { return nil })
		if err == nil && end > int64(len(file)) {
			t.Errorf("Scan ended at %d of %d", end, len(file))
		}
	})
}
