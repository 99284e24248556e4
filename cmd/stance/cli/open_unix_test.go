//go:build unix

package cli

import (
	"context"
	"path/filepath"
	"strings"
	"testing"

	"golang.org/x/sys/unix"
)

// A pipe with a name to which nobody writes keeps nobody waiting who wants to stop.
func TestStoppedAtASilentPipe(t *testing.T) {
	pipe := filepath.Join(t.TempDir(), "pipe")
	if err := unix.Mkfifo(pipe, 0o600); err != nil {
		t.Fatal(err)
	}
	ctx, stop := context.WithCancel(t.Context())
	stop()
	for _, args := range [][]string{
		{"check", pipe},
		{"check", "--chart", pipe, "../../../testdata/demo/notes.jsonl"},
		{"check", "--policy", pipe, "../../../testdata/demo/notes.jsonl"},
		{"find", "--policy", pipe, "walker"},
		{"audit", "merge", pipe},
		{"audit", "agree", pipe},
		{"audit", "--names", "hide", "--key", pipe, "../../../testdata/demo/notes.jsonl"},
		{"answer", "db763896967c2a14", "--answers", pipe, "--as", "mistaken", "--why", "no", "--by", "nurse"},
	} {
		t.Run(strings.Join(args[:2], " "), func(t *testing.T) {
			a, _, stderr := testApp("")
			if status := a.main(ctx, args); status != statusInternal {
				t.Errorf("status %d, want %d", status, statusInternal)
			}
			if got := stderr.String(); got != "stance: stopped before the end\n" {
				t.Errorf("on stderr: %q", got)
			}
		})
	}
}

// A device that never ends is no key, and is not read to find that out.
func TestEndlessKey(t *testing.T) {
	a, _, stderr := testApp("")
	if status := a.main(t.Context(), []string{"audit", "--names", "hide", "--key", "/dev/zero", "../../../testdata/demo/notes.jsonl"}); status != statusUsage {
		t.Errorf("status %d, want %d", status, statusUsage)
	}
	if got := stderr.String(); !strings.Contains(got, "--key: /dev/zero: is too long, want at most 4 KiB") {
		t.Errorf("on stderr: %q", got)
	}
}
