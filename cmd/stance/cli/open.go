package cli

import (
	"context"
	"errors"
	"io"
	"io/fs"
	"os"

	"example.com/stance/lint/bounded"
)

// stdinName is the file name that stands for standard input.
const stdinName = "-"

// Most bytes of what is held in memory whole. Each is far more than any has had.
const (
	mostPolicy  = bounded.MiB
	mostPEM     = bounded.MiB
	mostChart   = 64 * bounded.MiB
	mostPartial = 64 * bounded.MiB
	mostSheet   = 64 * bounded.MiB
	mostToCopy  = 1024 * bounded.MiB
)

// open opens a file, or standard input for "-", which can be read but once. Opening and reading end
// with context.Canceled when the program is to stop, because a keyboard or a pipe may stay silent.
func (a *app) open(name string) (io.ReadCloser, error) {
	if name == stdinName {
		if a.stdinUsed {
			return nil, usagef("standard input (-) is asked for twice")
		}
		a.stdinUsed = true
		return io.NopCloser(a.stoppable(a.in)), nil
	}
	info, err := os.Stat(name)
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return nil, usagef("%s: no such file", name)
	case err == nil && info.IsDir():
		return nil, usagef("%s: is a folder, want a file", name)
	}
	// A pipe with a name cannot even be opened before somebody writes to it.
	f, err := awaited(a.stop, func() (*os.File, error) { return os.Open(name) })
	switch {
	case errors.Is(err, context.Canceled):
		return nil, err
	case err != nil:
		return nil, usagef("%s: %w", name, cause(err))
	case info.Mode().IsRegular():
		return f, nil
	}
	return struct {
		io.Reader
		io.Closer
	}{a.stoppable(f), f}, nil
}

// readAll reads a file whole, which may have most bytes.
func (a *app) readAll(name string, most int64) ([]byte, error) {
	f, err := a.open(name)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	b, err := bounded.All(f, most)
	if err != nil {
		return nil, usagef("%s: %w", name, cause(err))
	}
	return b, nil
}

// chunk is how many bytes are read at once of what may stay silent.
const chunk = 64 << 10

// stoppable passes r on until the program is to stop, and then fails with context.Canceled.
func (a *app) stoppable(r io.Reader) io.Reader {
	if a.stop == nil {
		return r
	}
	return &stoppable{r: r, stop: a.stop, buf: make([]byte, chunk)}
}

type stoppable struct {
	r    io.Reader
	stop <-chan struct{}
	buf  []byte
	rest []byte // of buf, still to be passed on
	err  error  // that follows rest; once it is met, nothing is read any more
}

func (s *stoppable) Read(p []byte) (int, error) {
	if len(p) == 0 {
		return 0, nil
	}
	if len(s.rest) == 0 {
		if s.err != nil {
			return 0, s.err
		}
		// The caller's own buffer will not do: a read that was given up may still write to it.
		s.rest, s.err = awaited(s.stop, func() ([]byte, error) {
			n, err := s.r.Read(s.buf)
			return s.buf[:n], err
		})
	}
	n := copy(p, s.rest)
	if s.rest = s.rest[n:]; len(s.rest) == 0 {
		return n, s.err
	}
	return n, nil
}

// awaited is what f gives, or context.Canceled where stop is closed before. f then goes on until the
// program ends, because a system call that waits cannot be broken off.
func awaited[T any](stop <-chan struct{}, f func() (T, error)) (T, error) {
	type outcome struct {
		value T
		err   error
		fault any
	}
	done := make(chan outcome, 1)
	go func() {
		var o outcome
		defer func() {
			o.fault = recover() // to be told where faults are told
			done <- o
		}()
		o.value, o.err = f()
	}()
	select {
	case o := <-done:
		if o.fault != nil {
			panic(o.fault)
		}
		return o.value, o.err
	case <-stop:
		var none T
		return none, context.Canceled
	}
}
