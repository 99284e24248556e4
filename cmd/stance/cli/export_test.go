package cli

import (
	"context"
	"io"
	"os"
	"sync"
	"time"

	"example.com/stance/lexicon"
)

// usual is the vocabulary without a home's own words, compiled for all tests together: it cannot be changed,
// and some 1,500 command lines want it.
var usual = sync.OnceValues(func() (*lexicon.Lexicon, error) { return lexicon.New() })

// compileOnce is lexicon.New, which compiles the usual vocabulary once.
func compileOnce(words ...lexicon.Word) (*lexicon.Lexicon, error) {
	if len(words) == 0 {
		return usual()
	}
	return lexicon.New(words...)
}

// MainAt is Main with the clock standing still and the vocabulary compiled once.
func MainAt(ctx context.Context, now time.Time, args []string, stdin io.Reader, stdout, stderr io.Writer) int {
	a := &app{in: stdin, out: stdout, err: stderr, getenv: os.Getenv, now: func() time.Time { return now }, compile: compileOnce}
	return a.main(ctx, args)
}
