package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"os/exec"
	"time"

	"github.com/blevesearch/bleve/v2"

	"example.com/stance/lint/note"
)

// rawBleve is the argument by which this program indexes notes as the search library does by itself.
const rawBleve = "raw-bleve"

func bleveCommand(ctx context.Context, b *bench, cores int) *exec.Cmd {
	self, err := os.Executable()
	if err != nil {
		return nil
	}
	c := exec.CommandContext(ctx, self, rawBleve, b.file(notesFile), b.file("raw.bleve"))
	c.Env = append(os.Environ(), fmt.Sprintf("GOMAXPROCS=%d", cores))
	return c
}

// indexRaw indexes a file of notes with bleve's default mapping.
func indexRaw(file, dir string) error {
	f, err := os.Open(file)
	if err != nil {
		return err
	}
	defer f.Close()
	r, err := note.NewReader(file, f, note.Options{Zone: time.UTC})
	if err != nil {
		return err
	}
	x, err := bleve.New(dir, bleve.NewIndexMapping())
	if err != nil {
		return err
	}
	const many = 1000
	batch := x.NewBatch()
	for {
		n, err := r.Next()
		if err != nil && !errors.Is(err, io.EOF) {
			return errors.Join(err, x.Close())
		}
		if err == nil {
			err = batch.Index(n.ID, n)
		}
		if batch.Size() == many || errors.Is(err, io.EOF) {
			if err := x.Batch(batch); err != nil {
				return errors.Join(err, x.Close())
			}
			batch.Reset()
		}
		switch {
		case errors.Is(err, io.EOF):
			return x.Close()
		case err != nil:
			return errors.Join(err, x.Close())
		}
	}
}
