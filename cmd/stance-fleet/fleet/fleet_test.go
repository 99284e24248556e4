package fleet

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	_ "github.com/apache/beam/sdks/v2/go/pkg/beam/io/filesystem/local"

	"example.com/stance/cmd/stance/bench/corpus"
	"example.com/stance/lint/note"
)

func TestWire(t *testing.T) {
	toronto, err := time.LoadLocation("America/Toronto")
	if err != nil {
		t.Fatal(err)
	}
	at := time.Date(2026, 3, 8, 1, 30, 0, 5, toronto) // half an hour before the clocks change
	o := origin{"homes/ash/notes.jsonl", 3, 7}
	for _, moment := range []time.Time{at, at.UTC(), at.In(time.FixedZone("", -3*3600)), time.Date(1900, 1, 1, 0, 0, 0, 0, time.UTC)} {
		n := note.Note{ID: "N1", Resident: "R-1", Unit: "Fir", Shift: "night", Role: "nurse", Author: "A", Text: "Slept.\x00é", Time: moment}
		got, err := unpackNote(packNote(o, &n, toronto), toronto)
		if err != nil {
			t.Fatal(err)
		}
		n.Source = note.Source{File: o.file, Line: o.line}
		if got.origin != o || got.note.Text != n.Text || !got.note.Time.Equal(n.Time) || got.note.Time.Format(time.RFC3339Nano) != n.Time.Format(time.RFC3339Nano) {
			t.Errorf("got %+v, want %+v", got, n)
		}
		// What is worked out from a moment must stay the same too.
		if a, b := got.note.Time.AddDate(0, 0, 1), n.Time.AddDate(0, 0, 1); !a.Equal(b) {
			t.Errorf("a day after %v is %v, want %v", n.Time, a, b)
		}
		c := copied{o, n, 0.9375}
		c.of.Source = note.Source{}
		m, err := unpackMark(packCopy(&c, toronto), toronto)
		if err != nil || m.copy == nil || m.copy.origin != o || m.copy.share != c.share || m.copy.of.ID != "N1" {
			t.Errorf("mark %+v, %v", m, err)
		}
	}
	m, err := unpackMark(packShared(20000, 2), toronto)
	if err != nil || m.copy != nil || m.day != 20000 || m.slot != 2 {
		t.Errorf("mark %+v, %v", m, err)
	}
	for _, pair := range [][2]string{{"Ash", "R-1"}, {"", ""}, {"A\x00", "\xff"}} {
		home, of, err := unkey(key(pair[0], pair[1]))
		if err != nil || home != pair[0] || of != pair[1] {
			t.Errorf("key of %q: %q, %q, %v", pair, home, of, err)
		}
	}
	for _, broken := range []string{"", "\x09a", "\x01a\x01b\x01c"} {
		if _, _, err := unkey(broken); !errors.Is(err, errWire) {
			t.Errorf("key %q: %v, want that it is broken", broken, err)
		}
		if _, err := unpackNote([]byte(broken), toronto); !errors.Is(err, errWire) {
			t.Errorf("note %q: %v, want that it is broken", broken, err)
		}
		if _, err := unpackMark([]byte(broken), toronto); !errors.Is(err, errWire) {
			t.Errorf("mark %q: %v, want that it is broken", broken, err)
		}
	}
}

// An output that another run has begun to write into is not finished by the one before.
func TestCommitOfAnOlderRun(t *testing.T) {
	ctx := context.Background()
	out := filepath.Join(t.TempDir(), "out")
	older := Job{Out: out, Run: "older", Shards: 1}
	if err := Begin(ctx, &older); err != nil {
		t.Fatal(err)
	}
	var written string
	if err := (&writeFn{older}).ProcessElement(ctx, "findings-00000.jsonl", each(packItem("b", []byte("2\n")), packItem("a", []byte("1\n"))), func(_, w string) { written = w }); err != nil {
		t.Fatal(err)
	}
	newer := Job{Out: out, Run: "newer", Shards: 1}
	if err := Begin(ctx, &newer); err != nil {
		t.Fatal(err)
	}
	once := func() func(*string) bool {
		left := []string{written}
		return func(s *string) bool {
			if len(left) == 0 {
				return false
			}
			*s, left = left[0], left[1:]
			return true
		}
	}
	if err := (&commitFn{older}).ProcessElement(ctx, "", once()); err == nil || !strings.Contains(err.Error(), "another run writes there") {
		t.Errorf("the older run: %v, want that another writes there", err)
	}
	if err := (&writeFn{newer}).ProcessElement(ctx, "findings-00000.jsonl", each(packItem("b", []byte("2\n")), packItem("a", []byte("1\n"))), func(_, w string) { written = w }); err != nil {
		t.Fatal(err)
	}
	for range 2 { // an attempt that is made again changes nothing
		if err := (&commitFn{newer}).ProcessElement(ctx, "", once()); err != nil {
			t.Fatal(err)
		}
	}
	// Killed between a file's place and the last one: the next attempt finds it there.
	if err := os.Remove(filepath.Join(out, doneName)); err != nil {
		t.Fatal(err)
	}
	if err := (&commitFn{newer}).ProcessElement(ctx, "", once()); err != nil {
		t.Fatal(err)
	}
	b, err := os.ReadFile(filepath.Join(out, "findings-00000.jsonl"))
	if err != nil || string(b) != "1\n2\n" {
		t.Errorf("the file has %q, %v; want its parts in order", b, err)
	}
}

func each(all ...[]byte) func(*[]byte) bool {
	return func(b *[]byte) bool {
		if len(all) == 0 {
			return false
		}
		*b, all = all[0], all[1:]
		return true
	}
}

// BenchmarkSent says how many bytes a note sends between workers: to its resident, to its shift and, of what that finds,
// to residents again; and what is written of it.
func BenchmarkSent(b *testing.B) {
	const notes = 3000
	dir := b.TempDir()
	var file bytes.Buffer
	if err := (corpus.Home{Seed: 1, Notes: notes, Residents: 40}).Write(corpus.JSONLines(&file)); err != nil {
		b.Fatal(err)
	}
	name := filepath.Join(dir, "notes.jsonl")
	if err := os.WriteFile(name, file.Bytes(), 0o600); err != nil {
		b.Fatal(err)
	}
	ref, err := json.Marshal(File{Name: name, Home: "Ash"})
	if err != nil {
		b.Fatal(err)
	}
	job := Job{Shards: 16}
	read, across, judge := &readFn{Job: job}, &acrossFn{Job: job}, &judgeFn{Job: job}
	for _, f := range []interface{ Setup() error }{read, across, judge} {
		if err := f.Setup(); err != nil {
			b.Fatal(err)
		}
	}
	size := map[string]int{}
	for b.Loop() {
		clear(size)
		groups := map[string]map[string][][]byte{}
		to := func(kind string) func(string, []byte) {
			groups[kind] = map[string][][]byte{}
			return func(k string, v []byte) {
				size[kind] += len(k) + len(v)
				groups[kind][k] = append(groups[kind][k], v)
			}
		}
		items, tallies, sums, marks := to("items"), to("tallies"), to("sums"), to("marks")
		if err := read.ProcessElement(context.Background(), string(ref), to("residents"), to("shifts"), to("rows"), items, tallies); err != nil {
			b.Fatal(err)
		}
		for k, on := range groups["shifts"] {
			if err := across.ProcessElement(k, each(on...), marks); err != nil {
				b.Fatal(err)
			}
		}
		judge.StartBundle(items, tallies, sums)
		for k, of := range groups["residents"] {
			if err := judge.ProcessElement(k, each(of...), each(groups["marks"][k]...), each(), items, tallies, sums); err != nil {
				b.Fatal(err)
			}
		}
		if err := judge.FinishBundle(items, tallies, sums); err != nil {
			b.Fatal(err)
		}
	}
	b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N)/notes, "ns/note")
	b.ReportMetric(float64(file.Len())/notes, "B/note-in-file")
	for _, kind := range []string{"residents", "shifts", "marks", "items", "tallies"} {
		b.ReportMetric(float64(size[kind])/notes, fmt.Sprintf("B/note-%s", kind))
	}
}
