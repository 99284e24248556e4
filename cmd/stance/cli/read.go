package cli

import (
	"bufio"
	"context"
	"encoding/json"
	"fmt"
	"io"
	"runtime"

	"github.com/spf13/cobra"
	"golang.org/x/sync/errgroup"

	"example.com/stance/lexicon"
	"example.com/stance/lint/note"
	"example.com/stance/lint/plural"
	"example.com/stance/lint/report"
)

type readOptions struct {
	inputFlags
	selectFlags
	format *choice
}

func (a *app) readCommand() *cobra.Command {
	var opt readOptions
	c := &cobra.Command{
		Use:   "read NOTES…",
		Short: "Print what notes say about mobility, as statements",
		Long: `read prints the statements that stance reads out of each note, in the order of the notes.
With --format json each note is one object on one line.

` + doneStatuses,
		Example: `  stance read notes.jsonl
  echo "Resident: R1
  Time: 2026-11-24T21:40

  Transferred x2 with belt." | stance read -`,
		Args: arguments(1, -1, "at least one file of notes, or - for standard input"),
		RunE: func(c *cobra.Command, files []string) error { return a.read(c.Context(), &opt, files) },
	}
	opt.format = formats(c, "text", "json")
	opt.inputFlags.register(c, "show no progress")
	opt.selectFlags.register(c)
	return c
}

// batchSize is how many notes go to a reader at once: enough that handing over costs little.
const batchSize = 64

// A batch is notes on their way through the readers; done closes when all are read.
type batch struct {
	notes    []note.Note
	readings []lexicon.Reading
	done     chan struct{}
}

func (a *app) read(ctx context.Context, opt *readOptions, files []string) error {
	p, lex, err := a.policy(opt.policy, files)
	if err != nil {
		return err
	}
	sel, err := opt.ready(p)
	if err != nil {
		return err
	}
	out := bufio.NewWriter(a.out)
	print := printText
	if opt.format.value == "json" {
		print = printJSON
	}

	// Batches go to the readers through work and to the writer through order, so that they are read
	// in parallel and written in the order of the notes. The bound on both bounds the memory.
	readers := runtime.GOMAXPROCS(0)
	work, order := make(chan *batch, readers), make(chan *batch, 2*readers)
	g, ctx := errgroup.WithContext(ctx)
	for range readers {
		g.Go(func() (err error) {
			defer func() { // a panic here would pass Main by
				if p := recover(); p != nil {
					err = fmt.Errorf("internal fault: %s", fault(p))
				}
			}()
			for b := range work {
				for i, n := range b.notes {
					b.readings[i] = lex.Read(n.Text, n.Role).WrittenAt(n.Time)
				}
				close(b.done)
			}
			return nil
		})
	}
	g.Go(func() error {
		for b := range order {
			select {
			case <-b.done:
			case <-ctx.Done():
				return ctx.Err()
			}
			for i := range b.notes {
				if err := print(out, &b.notes[i], b.readings[i].Statements); err != nil {
					return err
				}
			}
		}
		return out.Flush()
	})
	var read outcome
	g.Go(func() error {
		defer close(order)
		defer close(work)
		var waiting []note.Note
		send := func() error {
			b := &batch{notes: waiting, readings: make([]lexicon.Reading, len(waiting)), done: make(chan struct{})}
			waiting = nil
			for _, to := range []chan *batch{order, work} {
				select {
				case to <- b:
				case <-ctx.Done():
					return ctx.Err()
				}
			}
			return nil
		}
		var err error
		read, err = a.eachNote(ctx, files, &opt.inputFlags, p, func(n note.Note) error {
			if !sel.note(&n) {
				return nil
			}
			if waiting = append(waiting, n); len(waiting) < batchSize {
				return nil
			}
			return send()
		})
		if err != nil || len(waiting) == 0 {
			return err
		}
		return send()
	})
	if err := g.Wait(); err != nil {
		return err
	}
	return read.err(opt.skipBad)
}

func printJSON(w io.Writer, n *note.Note, statements []lexicon.Statement) error {
	if statements == nil {
		statements = []lexicon.Statement{} // [] and never null
	}
	enc := json.NewEncoder(w)
	enc.SetEscapeHTML(false)
	return enc.Encode(struct {
		Note       string              `json:"note"`
		Resident   string              `json:"resident"`
		Statements []lexicon.Statement `json:"statements"`
	}{n.ID, n.Resident, statements})
}

func printText(w io.Writer, n *note.Note, statements []lexicon.Statement) error {
	if _, err := fmt.Fprintf(w, "Note %s, resident %s: %s\n", report.Printable(n.ID), report.Printable(n.Resident), plural.Of(len(statements), "statement")); err != nil {
		return err
	}
	for i := range statements {
		s := &statements[i]
		if _, err := fmt.Fprintf(w, "  %s  «%s»\n", s.Concept, report.Printable(s.Text)); err != nil {
			return err
		}
		if said := saidOf(s); said != "" {
			if _, err := fmt.Fprintf(w, "      %s\n", said); err != nil {
				return err
			}
		}
	}
	_, err := fmt.Fprintln(w)
	return err
}
