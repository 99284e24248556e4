// Package bounded reads what has to be held in memory whole, and no more of it than such a thing can
// have: a device or a pipe that never ends is refused like a file that is too long.
package bounded

import (
	"fmt"
	"io"
	"os"
)

// Sizes, in bytes.
const (
	KiB = 1 << 10
	MiB = 1 << 20
)

// A TooLongError says that there is more to read than the bound.
type TooLongError struct {
	Most int64 // bytes
}

// Error is "is too long, want at most 4 MiB".
func (e *TooLongError) Error() string {
	switch {
	case e.Most%MiB == 0:
		return fmt.Sprintf("is too long, want at most %d MiB", e.Most/MiB)
	case e.Most%KiB == 0:
		return fmt.Sprintf("is too long, want at most %d KiB", e.Most/KiB)
	}
	return fmt.Sprintf("is too long, want at most %d bytes", e.Most)
}

// Reader passes r on, and after most bytes fails with a *TooLongError unless r ends there.
func Reader(r io.Reader, most int64) io.Reader { return &reader{r: r, most: most, left: most} }

type reader struct {
	r          io.Reader
	most, left int64
}

func (b *reader) Read(p []byte) (int, error) {
	if int64(len(p)) > b.left+1 {
		p = p[:b.left+1] // one more tells whether there is more
	}
	n, err := b.r.Read(p)
	if int64(n) > b.left {
		n = int(b.left)
		b.left = 0
		return n, &TooLongError{b.most}
	}
	b.left -= int64(n)
	return n, err
}

// All reads r to its end. The error is a *TooLongError where that is not within most bytes.
func All(r io.Reader, most int64) ([]byte, error) { return io.ReadAll(Reader(r, most)) }

// File reads a file as [All] does.
func File(name string, most int64) ([]byte, error) {
	f, err := os.Open(name)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	return All(f, most)
}
