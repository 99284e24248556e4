package index_test

import (
	"context"
	"errors"
	"io"
	"io/fs"
	"path/filepath"
	"slices"
	"testing"
	"time"

	"github.com/blevesearch/bleve/v2"

	"example.com/stance/index"
)

const many = 100_000

// BenchmarkKeep100k keeps 100,000 notes in one run, reading them with the lexicon included.
func BenchmarkKeep100k(b *testing.B) {
	lex, demo := newLexicon(b), demoNotes(b)
	for b.Loop() {
		dir := filepath.Join(b.TempDir(), "index")
		start := time.Now()
		w := openWriter(b, dir, lex)
		kept, err := w.Keep(context.Background(), vary(demo, many, 1), index.KeepOptions{})
		if err := errors.Join(err, w.Close()); err != nil {
			b.Fatal(err)
		}
		report(b, kept.Added, kept.Bytes, time.Since(start), dir)
	}
}

// BenchmarkKeepDefaultMapping is what BenchmarkKeep100k is to be no slower than: bleve as it comes, over the same
// fields and texts.
func BenchmarkKeepDefaultMapping(b *testing.B) {
	demo := demoNotes(b)
	for b.Loop() {
		dir := filepath.Join(b.TempDir(), "index")
		start := time.Now()
		x, err := bleve.New(dir, bleve.NewIndexMapping())
		if err != nil {
			b.Fatal(err)
		}
		var bytes int64
		next, batch := vary(demo, many, 1), x.NewBatch()
		for done := false; !done; {
			n, err := next()
			if done = err == io.EOF; !done {
				bytes += int64(len(n.Text))
				if err := batch.Index(n.ID, n); err != nil {
					b.Fatal(err)
				}
			}
			if batch.Size() == 1000 || done {
				if err := x.Batch(batch); err != nil {
					b.Fatal(err)
				}
				batch.Reset()
			}
		}
		if err := x.Close(); err != nil {
			b.Fatal(err)
		}
		report(b, many, bytes, time.Since(start), dir)
	}
}

func report(b *testing.B, notes int, text int64, took time.Duration, dir string) {
	b.ReportMetric(float64(notes)/took.Seconds(), "notes/s")
	b.ReportMetric(float64(folderSize(b, dir))/float64(text), "index-B/text-B")
}

func folderSize(t testing.TB, dir string) int64 {
	t.Helper()
	var total int64
	err := filepath.WalkDir(dir, func(_ string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() {
			return err
		}
		info, err := d.Info()
		if err == nil {
			total += info.Size()
		}
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	return total
}

// BenchmarkFind asks an index of 100,000 notes, opening it each time as a command does.
func BenchmarkFind(b *testing.B) {
	lex := newLexicon(b)
	dir := filepath.Join(b.TempDir(), "index")
	w := openWriter(b, dir, lex)
	_, err := w.Keep(context.Background(), vary(demoNotes(b), many, 1), index.KeepOptions{})
	if err := errors.Join(err, w.Close()); err != nil {
		b.Fatal(err)
	}
	benchQueries(b, open(b, dir, lex))
}

// benchQueries asks questions that select by what notes say, of the kinds that people combine.
func benchQueries(b *testing.B, x *index.Index) {
	spring, summer := time.Date(2024, 3, 1, 0, 0, 0, 0, time.UTC), time.Date(2024, 6, 1, 0, 0, 0, 0, time.UTC)
	for _, c := range []struct {
		name string
		q    index.Query
	}{
		{"fact, unit, role", index.Query{Concepts: []string{"move.transfer"}, Aid: "belt", Unit: "Mill", Role: "care worker"}},
		{"fact, unit, time", index.Query{Concepts: []string{"move.walk"}, Aid: "walker", Unit: "Mill", Since: spring, Until: summer}},
		{"fact of a group", index.Query{Concepts: []string{"move"}, Unit: "Mill", Shift: "day"}},
		{"words", index.Query{Words: "walker to dining", Unit: "Mill"}},
		{"all", index.Query{}},
	} {
		b.Run(c.name, func(b *testing.B) {
			var took []time.Duration
			found := 0
			for b.Loop() {
				start := time.Now()
				page := find(b, x, c.q)
				took = append(took, time.Since(start))
				found = page.Total
			}
			slices.Sort(took)
			b.ReportMetric(float64(took[len(took)*99/100].Microseconds())/1000, "p99-ms")
			b.ReportMetric(float64(found), "found")
		})
	}
}
