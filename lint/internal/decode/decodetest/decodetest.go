// Package decodetest has what tests of readers over package decode share.
package decodetest

import (
	"errors"
	"io"
	"testing"

	"example.com/stance/lint/internal/decode"
)

// Endless is a file that repeats itself and has no end.
type Endless string

// Read fills p.
func (e Endless) Read(p []byte) (int, error) {
	n := 0
	for n < len(p) {
		n += copy(p[n:], e)
	}
	return n, nil
}

// All is what next gives until io.EOF: each record as tell tells it, a faulty one as its fault. The test fails where
// there is no end within most calls or where the file itself cannot be read.
func All[R any](t testing.TB, most int, next func() (R, error), tell func(R) []string) []string {
	t.Helper()
	var out []string
	for range most {
		r, err := next()
		var f *decode.Fault
		switch {
		case err == io.EOF:
			return out
		case errors.As(err, &f):
			out = append(out, f.Error())
		case err != nil:
			t.Fatal(err)
		default:
			out = append(out, tell(r)...)
		}
	}
	t.Fatal("no end")
	return nil
}
