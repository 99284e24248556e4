package index_test

import (
	"bytes"
	"context"
	"io"
	"math/rand/v2"
	"strconv"
	"strings"
	"testing"
	"time"

	"example.com/stance/index"
	"example.com/stance/lexicon"
	"example.com/stance/lint/note"
	"example.com/stance/testdata"
)

func newLexicon(t testing.TB) *lexicon.Lexicon {
	t.Helper()
	lex, err := lexicon.New()
	if err != nil {
		t.Fatal(err)
	}
	return lex
}

// readNotes reads notes in JSON Lines.
func readNotes(t testing.TB, name string, jsonl []byte) []note.Note {
	t.Helper()
	r, err := note.NewReader(name, bytes.NewReader(jsonl), note.Options{Zone: time.UTC})
	if err != nil {
		t.Fatal(err)
	}
	var all []note.Note
	for {
		n, err := r.Next()
		if err == io.EOF {
			return all
		}
		if err != nil {
			t.Fatal(err)
		}
		all = append(all, n)
	}
}

func demoNotes(t testing.TB) []note.Note {
	t.Helper()
	jsonl, err := testdata.Demo.ReadFile("demo/notes.jsonl")
	if err != nil {
		t.Fatal(err)
	}
	return readNotes(t, "demo/notes.jsonl", jsonl)
}

// each gives notes one by one, as Writer.Keep takes them.
func each(notes []note.Note) func() (note.Note, error) {
	return func() (note.Note, error) {
		if len(notes) == 0 {
			return note.Note{}, io.EOF
		}
		n := notes[0]
		notes = notes[1:]
		return n, nil
	}
}

// keep keeps notes in a folder with one writer.
func keep(t testing.TB, dir string, lex index.Reader, notes []note.Note, opt index.KeepOptions) index.Kept {
	t.Helper()
	w := openWriter(t, dir, lex)
	kept, err := w.Keep(context.Background(), each(notes), opt)
	if err != nil {
		t.Fatal(err)
	}
	if err := w.Close(); err != nil {
		t.Fatal(err)
	}
	return kept
}

func openWriter(t testing.TB, dir string, lex index.Reader) *index.Writer {
	t.Helper()
	w, err := index.OpenWriter(dir, lex)
	if err != nil {
		t.Fatal(err)
	}
	return w
}

func open(t testing.TB, dir string, lex index.Reader) *index.Index {
	t.Helper()
	x, err := index.Open(dir, lex)
	if err != nil {
		t.Fatal(err)
	}
	return x
}

func find(t testing.TB, x *index.Index, q index.Query) index.Page {
	t.Helper()
	page, err := x.Find(context.Background(), q)
	if err != nil {
		t.Fatalf("Find(%+v): %v", q, err)
	}
	return page
}

// vary makes n notes out of some: each has the sentences of one in another order or with some left out, and other
// numbers, residents, times and authors. The same seed gives the same notes.
func vary(from []note.Note, n int, seed uint64) func() (note.Note, error) {
	rnd := rand.New(rand.NewPCG(seed, seed))
	units := []string{"Harbour", "Orchard", "Mill", "Birch", "Quarry"}
	start := time.Date(2024, 1, 1, 6, 0, 0, 0, time.UTC)
	made := 0
	return func() (note.Note, error) {
		if made == n {
			return note.Note{}, io.EOF
		}
		made++
		v := from[rnd.IntN(len(from))]
		v.ID = "V" + strconv.Itoa(made)
		resident := rnd.IntN(500)
		v.Resident = "R-" + strconv.Itoa(1000+resident)
		v.Unit = units[resident%len(units)]
		v.Time = start.Add(time.Duration(rnd.IntN(365*24*60)) * time.Minute)
		v.Author = "A" + strconv.Itoa(rnd.IntN(80))
		v.Text = varyText(rnd, v.Text)
		return v, nil
	}
}

func varyText(rnd *rand.Rand, text string) string {
	sentences := strings.SplitAfter(text, ". ")
	rnd.Shuffle(len(sentences), func(i, j int) { sentences[i], sentences[j] = sentences[j], sentences[i] })
	if len(sentences) > 2 {
		sentences = sentences[:len(sentences)-rnd.IntN(2)]
	}
	joined := strings.TrimSpace(strings.Join(sentences, " "))
	digits := []byte(joined)
	for i, b := range digits {
		if b >= '3' && b <= '9' && rnd.IntN(2) == 0 {
			digits[i] = byte('3' + rnd.IntN(7))
		}
	}
	return string(digits)
}
