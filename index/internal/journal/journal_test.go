package journal_test

import (
	"encoding/binary"
	"errors"
	"hash/crc32"
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
	want := []string{"one", "2", "three"}
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

// whole is the bytes of a file with three records, and where they are.
func whole(t *testing.T) (file []byte, records []string, at []int64) {
	t.Helper()
	records = []string{"first", "second", "third"}
	name := made(t, records...)
	file, err := os.ReadFile(name)
	if err != nil {
		t.Fatal(err)
	}
	_, at, _, _ = scan(t, open(t, name), journal.Start)
	return file, records, at
}

// written is a file of those bytes in a folder.
func written(t *testing.T, dir string, file []byte) string {
	t.Helper()
	f, err := os.CreateTemp(dir, "log")
	if err == nil {
		_, err = f.Write(file)
	}
	if err = errors.Join(err, f.Close()); err != nil {
		t.Fatal(err)
	}
	return f.Name()
}

// empty reports whether nothing stands about there, in the sectors of the head.
func empty(at int) bool {
	const sector, used = 4096, 64
	return at < int(journal.Start) && at%sector >= used && at%sector < sector-used
}

// asked writes such a file, opens it and scans it, and gives the records and the damage that was told.
func asked(t *testing.T, dir string, file []byte) ([]string, *journal.DamagedError) {
	t.Helper()
	name := written(t, dir, file)
	defer os.Remove(name)
	j, err := journal.Open(name)
	var records []string
	if err == nil {
		records, _, _, err = scan(t, j, journal.Start)
		j.Close()
	}
	var damaged *journal.DamagedError
	if err != nil && !errors.As(err, &damaged) {
		t.Fatalf("%v, want a DamagedError", err)
	}
	return records, damaged
}

// TestCut cuts a file that was synced at every byte, which no crash does.
func TestCut(t *testing.T) {
	dir := t.TempDir()
	file, _, _ := whole(t)
	for size := range file {
		if empty(size) {
			continue
		}
		if records, damaged := asked(t, dir, file[:size]); damaged == nil {
			t.Fatalf("cut at %d: read %q, want damage", size, records)
		}
	}
}

// TestTorn leaves behind the end what a crash in the midst of Append may leave: it is as if it had never been
// written, and appending goes on from there.
func TestTorn(t *testing.T) {
	dir := t.TempDir()
	file, records, _ := whole(t)
	longer, err := os.ReadFile(made(t, append(slices.Clone(records), "fourth")...))
	if err != nil {
		t.Fatal(err)
	}
	tails := [][]byte{make([]byte, 8), make([]byte, 4096), make([]byte, journal.MaxAppend+1), []byte("leftover")}
	for size := range len(longer) - len(file) {
		tails = append(tails, longer[len(file):len(file)+size])
	}
	for _, tail := range tails {
		j := open(t, written(t, dir, slices.Concat(file, tail)))
		got, _, end, err := scan(t, j, journal.Start)
		if err != nil || !slices.Equal(got, records) || end != int64(len(file)) {
			t.Fatalf("with %d bytes behind: Scan = %q to %d, %v", len(tail), got, end, err)
		}
		var b journal.Batch
		b.Add([]byte("next"))
		if err := errors.Join(j.Recover(end), j.Append(&b)); err != nil {
			t.Fatal(err)
		}
		again, _, _, err := scan(t, j, journal.Start)
		if want := append(slices.Clip(records), "next"); err != nil || !slices.Equal(again, want) {
			t.Errorf("with %d bytes behind: after appending %q, %v; want %q", len(tail), again, err, want)
		}
	}
}

// TestUnsynced appends without a sync: what was appended is read, and may be torn.
func TestUnsynced(t *testing.T) {
	dir := t.TempDir()
	file, records, _ := whole(t)
	name := written(t, dir, file)
	j := open(t, name)
	var b journal.Batch
	b.Add([]byte("fourth"))
	if err := errors.Join(j.Recover(int64(len(file))), j.Append(&b)); err != nil {
		t.Fatal(err)
	}
	longer, err := os.ReadFile(name)
	if err != nil {
		t.Fatal(err)
	}
	if got, damaged := asked(t, dir, longer); damaged != nil || len(got) != 4 {
		t.Errorf("appended: %q, %v", got, damaged)
	}
	if got, damaged := asked(t, dir, longer[:len(longer)-1]); damaged != nil || !slices.Equal(got, records) {
		t.Errorf("torn: %q, %v; want %q", got, damaged, records)
	}
	if err := j.Sync(); err != nil {
		t.Fatal(err)
	}
	if longer, err = os.ReadFile(name); err != nil {
		t.Fatal(err)
	}
	if got, damaged := asked(t, dir, longer[:len(longer)-1]); damaged == nil {
		t.Errorf("torn after Sync: %q, want damage", got)
	}
}

// TestFlip flips every bit: what is read is whole, or the damage is told.
func TestFlip(t *testing.T) {
	dir := t.TempDir()
	file, records, _ := whole(t)
	for i := range file {
		if empty(i) {
			continue
		}
		for bit := range 8 {
			spoilt := slices.Clone(file)
			spoilt[i] ^= 1 << bit
			got, damaged := asked(t, dir, spoilt)
			if damaged == nil && !slices.Equal(got, records) {
				t.Errorf("bit %d of byte %d: read %q, want all or damage", bit, i, got)
			}
			if frames := int64(i) >= journal.Start; frames && damaged == nil {
				t.Errorf("bit %d of byte %d: no damage", bit, i)
			}
		}
	}
}

// TestDamage tells what is lost and what Salvage can still read.
func TestDamage(t *testing.T) {
	dir := t.TempDir()
	file, records, at := whole(t)
	end := int64(len(file))
	flip := func(offsets ...int64) []byte {
		b := slices.Clone(file)
		for _, o := range offsets {
			b[o] ^= 1
		}
		return b
	}
	for _, c := range []struct {
		what string
		file []byte
		at   int64
		lost []journal.Span
		left []string
	}{
		{"magic", flip(0), 0, nil, records},
		{"both slots", flip(4096, 8192), 4096, nil, records},
		{"text of the first", flip(at[1] - 1), at[0], []journal.Span{{From: at[0], To: at[1]}}, records[1:]},
		{"length of the second", flip(at[1] + 5), at[1], []journal.Span{{From: at[1], To: at[2]}}, []string{"first", "third"}},
		{"text of the last", flip(end - 1), at[2], []journal.Span{{From: at[2], To: end}}, records[:2]},
		{"two neighbours", flip(at[0]+9, at[1]+9), at[0], []journal.Span{{From: at[0], To: at[2]}}, records[2:]},
		{"first and last", flip(at[0]+9, at[2]+9), at[0], []journal.Span{{From: at[0], To: at[1]}, {From: at[2], To: end}}, records[1:2]},
		{"cut", file[:at[2]+3], at[2], []journal.Span{{From: at[2], To: end}}, records[:2]},
		{"the head alone", file[:journal.Start], journal.Start, []journal.Span{{From: at[0], To: end}}, nil},
		{"a part of the head", file[:20], 0, nil, nil},
		{"the head cut out", file[journal.Start:], 0, nil, records},
		{"the second cut out", slices.Concat(file[:at[1]], file[at[2]:]), at[1], []journal.Span{{From: at[1], To: at[2]}}, []string{"first", "third"}},
		{"the second doubled", slices.Concat(file[:at[2]], file[at[1]:]), at[2], nil, records},
		{"the last doubled", slices.Concat(file, file[at[2]:]), end, nil, records},
		{"two exchanged", slices.Concat(file[:at[0]], file[at[1]:at[2]], file[at[0]:at[1]], file[at[2]:]), at[0], nil, records},
		{"zero bytes in the middle", slices.Concat(file[:at[1]], make([]byte, 100), file[at[1]:]), at[1], nil, records},
		{"a record behind others' leftovers", slices.Concat(file, []byte("leftover"), file[at[0]:]), end, nil, records},
	} {
		_, damaged := asked(t, dir, c.file)
		switch {
		case damaged == nil:
			t.Errorf("%s: no damage", c.what)
			continue
		case damaged.At != c.at || !slices.Equal(damaged.Lost, c.lost):
			t.Errorf("%s: damage at %d, lost %v; want %d, %v", c.what, damaged.At, damaged.Lost, c.at, c.lost)
		}
		salvages(t, c.what, written(t, dir, c.file), c.left, c.lost)
	}
}

func TestDamageSays(t *testing.T) {
	spans := []journal.Span{{From: 1, To: 2}, {From: 3, To: 4}, {From: 5, To: 6}, {From: 7, To: 8}, {From: 9, To: 10}}
	for want, e := range map[string]*journal.DamagedError{
		"log: damaged at byte 0: nothing in it can be read":                                                        {File: "log"},
		"log: damaged at byte 7: all records can still be read":                                                    {File: "log", At: 7, Records: 1},
		"log: damaged at byte 1: of 9 bytes written, 1 to 2 cannot be read":                                        {File: "log", At: 1, Records: 1, Written: 9, Lost: spans[:1]},
		"log: damaged at byte 1: of 10 bytes written, 1 to 2, 3 to 4, 5 to 6, and 2 more stretches cannot be read": {File: "log", At: 1, Records: 1, Written: 10, Lost: spans},
	} {
		if got := e.Error(); got != want {
			t.Errorf("%q, want %q", got, want)
		}
	}
}

// TestRecoverRefuses gives an end that would cut off what was synced.
func TestRecoverRefuses(t *testing.T) {
	dir := t.TempDir()
	file, _, at := whole(t)
	name := written(t, dir, file)
	var damaged *journal.DamagedError
	if err := open(t, name).Recover(at[2]); !errors.As(err, &damaged) {
		t.Errorf("Recover: %v, want a DamagedError", err)
	}
	if now, err := os.ReadFile(name); err != nil || !slices.Equal(now, file) {
		t.Errorf("the file has %d bytes, %v; want it as it was", len(now), err)
	}
}

// unmarked is a file in the format before records had markers.
func unmarked(records ...string) []byte {
	sum := func(b []byte) uint32 { return crc32.Checksum(b, crc32.MakeTable(crc32.Castagnoli)) }
	b := binary.LittleEndian.AppendUint32([]byte("stancelg"), journal.Unmarked)
	b = append(b, "0123456789abcdef"...)
	b = binary.LittleEndian.AppendUint32(b, sum(b))
	for _, r := range records {
		b = binary.LittleEndian.AppendUint32(b, uint32(len(r)))
		b = binary.LittleEndian.AppendUint32(b, sum([]byte(r)))
		b = append(b, r...)
	}
	return b
}

func TestUnmarked(t *testing.T) {
	dir := t.TempDir()
	records := []string{"first", "second", "third"}
	file := unmarked(records...)
	second := int64(32 + 8 + 5)
	spoilt := slices.Clone(file)
	spoilt[second+1] ^= 64
	for _, c := range []struct {
		what string
		file []byte
		left []string
		lost []journal.Span
	}{
		{"whole", file, records, nil},
		{"empty", file[:32], nil, nil},
		{"zero bytes behind", slices.Concat(file, make([]byte, 20)), records, nil},
		{"length of the second", spoilt, []string{"first", "third"}, []journal.Span{{From: second, To: second + 14}}},
		{"cut", file[:len(file)-1], records[:2], []journal.Span{{From: second + 14, To: second + 26}}},
		{"head", slices.Concat([]byte("?"), file[1:]), records, nil},
	} {
		name := written(t, dir, c.file)
		salvages(t, c.what, name, c.left, c.lost)
	}
	j, err := journal.Open(written(t, dir, file))
	if err != nil || j.Format() != journal.Unmarked {
		t.Fatalf("Open: %v, want the format told", err)
	}
	j.Close()
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
	f.Add(unmarked("first", "second"))
	name := filepath.Join(f.TempDir(), "log")
	j, err := journal.Create(name, 3)
	if err != nil {
		f.Fatal(err)
	}
	var b journal.Batch
	b.Add([]byte("first"))
	b.Add([]byte("second"))
	if err := errors.Join(j.Append(&b), j.Sync(), j.Close()); err != nil {
		f.Fatal(err)
	}
	whole, err := os.ReadFile(name)
	if err != nil {
		f.Fatal(err)
	}
	f.Add(whole)
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
		read := 0
		end, err := j.Scan(journal.Start, func(int64, []byte) error { read++; return nil })
		if err == nil && end > int64(len(file)) {
			t.Errorf("Scan ended at %d of %d", end, len(file))
		}
		if s, salvaged := journal.Salvage(name, 0); salvaged != nil || j.Format() > journal.Unmarked && len(s.Records) < read {
			t.Errorf("Salvage has less than the %d records that Scan read: %v", read, salvaged)
		}
	})
}

// salvages holds what is saved of a file, and what of it is told to be lost.
func salvages(t *testing.T, what, name string, left []string, lost []journal.Span) {
	t.Helper()
	s, err := journal.Salvage(name, 0)
	if err != nil {
		t.Fatal(err)
	}
	var got []string
	for _, r := range s.Records {
		got = append(got, string(r.Data))
	}
	if !slices.Equal(got, left) || !slices.Equal(s.Lost, lost) {
		t.Errorf("%s: saved %q, lost %v; want %q, %v", what, got, s.Lost, left, lost)
	}
}

// A later format changes nothing but itself: the file is of the same generation, and its records are read as before.
func TestRaise(t *testing.T) {
	name := made(t, "one", "two")
	before := open(t, name)
	if _, _, end, err := scan(t, before, journal.Start); err != nil || before.Recover(end) != nil {
		t.Fatal(err)
	}
	for _, format := range []int{4, 2, 4} {
		if err := before.Raise(format); err != nil || before.Format() != 4 {
			t.Fatalf("Raise(%d): format %d, %v", format, before.Format(), err)
		}
	}
	var b journal.Batch
	b.Add([]byte("three"))
	if err := errors.Join(before.Append(&b), before.Sync()); err != nil {
		t.Fatal(err)
	}
	after := open(t, name)
	got, _, _, err := scan(t, after, journal.Start)
	if err != nil || after.Format() != 4 || after.Generation() != before.Generation() || !slices.Equal(got, []string{"one", "two", "three"}) {
		t.Errorf("format %d, %q, %v", after.Format(), got, err)
	}
}
