package main

import (
	"bytes"
	"context"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"
)

func TestSpread(t *testing.T) {
	if got, want := spreadOf([]float64{5, 1, 9}), (spread{5, 1, 9}); got != want {
		t.Errorf("got %v, want %v", got, want)
	}
	if got, want := spreadOf([]float64{4, 2}), (spread{3, 2, 4}); got != want {
		t.Errorf("got %v, want %v", got, want)
	}
}

// TestRatio holds that ratios are taken round by round, so that what slows down a round counts for neither.
func TestRatio(t *testing.T) {
	of := func(ms ...int) *line {
		l := &line{}
		for _, n := range ms {
			l.costs = append(l.costs, cost{cpu: time.Duration(n) * time.Millisecond})
		}
		return l
	}
	if got, want := of(10, 100, 20).ratio(of(20, 200, 60)), (spread{2, 2, 3}); got != want {
		t.Errorf("got %v, want %v", got, want)
	}
}

// TestMain lets the test's program be what the benchmark starts itself as.
func TestMain(m *testing.M) {
	if len(os.Args) == 3 && os.Args[1] == listTerms {
		if err := run(context.Background(), os.Args[1:], os.Stdout, os.Stderr); err != nil {
			os.Exit(2)
		}
		return
	}
	os.Exit(m.Run())
}

// TestRun measures a small home with a stand-in for stance, which makes the index that it is told to.
func TestRun(t *testing.T) {
	fake := filepath.Join(t.TempDir(), "fake")
	script := "#!/bin/sh\nwhile [ $# -gt 0 ]; do [ \"$1\" = --index ] && mkdir -p \"$2\" && echo kept >\"$2/notes\"; shift; done\n"
	if err := os.WriteFile(fake, []byte(script), 0o700); err != nil {
		t.Fatal(err)
	}
	if _, err := os.Stat("/bin/sh"); err != nil {
		t.Skip("no shell: ", err)
	}
	var stdout, stderr bytes.Buffer
	err := run(context.Background(), []string{"-notes", "100", "-residents", "10", "-rounds", "2", "-run", "^(start|keep.*|find.*)$",
		"-program", "a=" + fake, "-program", "b=" + fake}, &stdout, &stderr)
	if err != nil {
		t.Fatal(err)
	}
	for _, want := range []string{"100 notes on 10 residents", "keep a shift", "find words", "to "} {
		if !strings.Contains(stdout.String(), want) {
			t.Errorf("want %q in:\n%s", want, &stdout)
		}
	}
	if strings.Contains(stdout.String(), "check") {
		t.Errorf("want nothing that -run leaves out:\n%s", &stdout)
	}
}

func TestIndexRaw(t *testing.T) {
	dir := t.TempDir()
	b := &bench{options: &options{}, dir: dir, log: &bytes.Buffer{}}
	b.home.Notes, b.home.Residents, b.shift = 1100, 10, 3
	if err := b.prepare(); err != nil {
		t.Fatal(err)
	}
	if err := indexRaw(b.file(notesFile), b.file("raw.bleve")); err != nil {
		t.Fatal(err)
	}
	if n, err := sizeOf(b.file("raw.bleve")); err != nil || n < 1000 {
		t.Errorf("an index of %d bytes, %v", n, err)
	}
	if err := indexRaw(b.file("missing.jsonl"), b.file("other.bleve")); err == nil {
		t.Error("want an error where there are no notes")
	}
}
