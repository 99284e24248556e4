package cli

import (
	"context"
	"io"
	"os"
	"time"
)

// MainAt is Main with the clock standing still.
func MainAt(ctx context.Context, now time.Time, args []string, stdin io.Reader, stdout, stderr io.Writer) int {
	a := &app{in: stdin, out: stdout, err: stderr, getenv: os.Getenv, now: func() time.Time { return now }}
	return a.main(ctx, args)
}
