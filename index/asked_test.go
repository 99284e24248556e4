package index_test

import (
	"context"
	"errors"
	"path/filepath"
	"strings"
	"testing"

	"example.com/stance/index"
	"example.com/stance/lexicon"
)

// More than anybody asks for is refused with a reason, before it takes minutes or breaks the library.
func TestTooMuch(t *testing.T) {
	x := kept(t, demoNotes(t))
	for _, tt := range []struct{ words, want string }{
		{strings.Repeat("w* ", 250), "at most 8 words with * or ~"},
		{strings.Repeat("w~ ", 9), "at most 8 words with * or ~"},
		{strings.Repeat("walked ", 580), "at most 64 words"},
		{`"` + strings.Repeat("walked ", 65) + `"`, "at most 64 words"},
		{strings.Repeat("walked-", 65), "at most 64 words"},
		{strings.Repeat("walked ", 2000), "at most 4096 bytes"},
		{strings.Repeat("w", 100_000), "at most 4096 bytes"},
		{strings.Repeat("é", 65), "at most 64 letters in a word"},
		{`"` + strings.Repeat("w", 65) + `"`, "at most 64 letters in a word"},
	} {
		var long *index.TooMuchError
		if _, err := x.Find(t.Context(), index.Query{Words: tt.words}); !errors.As(err, &long) || long.Want != tt.want {
			t.Errorf("Find(%.20q…, %d bytes): %v, want %s", tt.words, len(tt.words), err, tt.want)
		}
	}
	// Up to there all is looked for.
	for _, words := range []string{
		strings.Repeat("w* ", 8), strings.Repeat("wa~ ", 8), strings.Repeat("walked ", 64),
		strings.Repeat("w", 64), strings.Repeat("w", 64) + "~", strings.Repeat("w", 64) + "*",
	} {
		if _, err := x.Find(t.Context(), index.Query{Words: words}); err != nil {
			t.Errorf("Find(%.20q…, %d bytes): %v", words, len(words), err)
		}
	}
}

// stopping asks for a stop when the first note is read to be shown.
type stopping struct {
	index.Reader
	stop context.CancelFunc
}

func (s stopping) Read(text string, role lexicon.Role) lexicon.Reading {
	s.stop()
	return s.Reader.Read(text, role)
}

// A search that is to show many notes stops among them.
func TestFindStops(t *testing.T) {
	dir, lex := filepath.Join(t.TempDir(), "index"), newLexicon(t)
	keep(t, dir, lex, demoNotes(t), index.KeepOptions{})
	ctx, stop := context.WithCancel(t.Context())
	x := open(t, dir, stopping{lex, stop})
	if page, err := x.Find(ctx, index.Query{Limit: 400}); !errors.Is(err, context.Canceled) {
		t.Errorf("Find gave %d notes and %v, want it stopped", len(page.Hits), err)
	}
}
