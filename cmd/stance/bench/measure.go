package main

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"os/exec"
	"path/filepath"
	"time"
)

// A cost is what one process took.
type cost struct {
	cpu, wall time.Duration
	peak      int64 // bytes of memory; 0 where the system does not say
}

// A line is one piece of work of one program on so many cores.
type line struct {
	work  string
	prog  string
	cores int
	notes int
	costs []cost // of the rounds
	size  int64  // bytes of the index, where it made one
}

// measure does all work in turn, as many times as there are rounds.
func (b *bench) measure(ctx context.Context) (*table, error) {
	t := &table{}
	for round := range b.rounds {
		for _, w := range b.works() {
			if !b.only.MatchString(w.name) {
				continue
			}
			for _, cores := range b.cores {
				if w.once && cores > 1 {
					continue
				}
				for i, p := range b.programs {
					if w.other != nil && i > 0 {
						continue
					}
					if err := b.one(ctx, t, &w, p, cores); err != nil {
						return nil, err
					}
				}
			}
		}
		fmt.Fprintf(b.log, "round %d of %d done\n", round+1, b.rounds)
	}
	return t, nil
}

// one does a piece of work once.
func (b *bench) one(ctx context.Context, t *table, w *work, p program, cores int) error {
	index := b.file("work-index")
	if err := b.clear(); err != nil {
		return err
	}
	if w.index {
		kept, err := b.kept(ctx, p)
		if err != nil {
			return err
		}
		if err := os.CopyFS(index, os.DirFS(kept)); err != nil {
			return err
		}
	}
	c := b.command(ctx, w, p, index, cores)
	if c == nil {
		return nil
	}
	cost, err := measured(c)
	if err != nil {
		return fmt.Errorf("%s, %s: %w", p.name, w.name, err)
	}
	l := t.line(w, p, cores)
	l.costs = append(l.costs, cost)
	l.size = 0
	for _, made := range []string{index, b.file("raw.bleve"), b.file("fts5.db")} {
		n, err := sizeOf(made)
		if err != nil {
			return err
		}
		l.size += n
	}
	return b.clear()
}

// clear removes what work has made.
func (b *bench) clear() error {
	return errors.Join(os.RemoveAll(b.file("work-index")), os.RemoveAll(b.file("raw.bleve")), os.RemoveAll(b.file("fts5.db")))
}

// kept is the folder of the index of all notes that a program keeps once, before its rounds.
func (b *bench) kept(ctx context.Context, p program) (string, error) {
	dir := b.file("kept-" + p.name)
	if _, err := os.Stat(dir); err == nil {
		return dir, nil
	}
	fmt.Fprintf(b.log, "keeping the notes with %s\n", p.name)
	_, err := measured(exec.CommandContext(ctx, p.path, "keep", "--quiet", "--index", dir, "--chart", b.file(chartFile), b.file(notesFile)))
	return dir, err
}

// measured runs a command and gives what it took. What it prints is thrown away.
func measured(c *exec.Cmd) (cost, error) {
	var stderr bytes.Buffer
	c.Stderr = &stderr
	start := time.Now()
	err := c.Run()
	took := cost{wall: time.Since(start)}
	if err != nil {
		return took, fmt.Errorf("%w: %s", err, stderr.String())
	}
	took.cpu = c.ProcessState.UserTime() + c.ProcessState.SystemTime()
	took.peak = peak(c.ProcessState)
	return took, nil
}

// sizeOf is the bytes of a file or of all files of a folder; 0 where there is none.
func sizeOf(path string) (int64, error) {
	var total int64
	err := filepath.WalkDir(path, func(_ string, d fs.DirEntry, err error) error {
		if errors.Is(err, fs.ErrNotExist) {
			return nil
		}
		if err != nil || d.IsDir() {
			return err
		}
		info, err := d.Info()
		if err == nil {
			total += info.Size()
		}
		return err
	})
	return total, err
}
