package index

import (
	"context"
	"errors"
	"fmt"
	"io"
	"time"

	"example.com/stance/lint/note"
)

// Keep keeps the notes that next gives until io.EOF. A note is known by its resident and id, or by the number of a
// document that took its place earlier (note.Numbers). One that is
// in the index with the same content is skipped; with another content it takes the place of the one
// there, which stays as an earlier version. A content that the note had before it was amended is skipped
// too, so that an old file does not undo what was amended since, unless KeepOptions.PutBack says that
// what is given holds now; so is a document that a kept one has replaced. A withdrawn note is like one that was
// amended to nothing. On an error the count tells what was kept before it.
func (w *Writer) Keep(ctx context.Context, next func() (note.Note, error), opt KeepOptions) (Kept, error) {
	if err := w.flush(ctx); err != nil {
		return Kept{}, err
	}
	in := intake{Writer: w, opt: opt, batch: newBatch(), of: map[address]int{}}
	err := w.feed(ctx, func(ctx context.Context, emit func(load) error) error {
		err := in.run(ctx, next, emit)
		if in.failed == nil {
			err = errors.Join(err, in.store()) // what was taken before the end or a fault is kept
		}
		return err
	})
	return in.durable, err
}

// An intake is one run of Keep. The state has a note as soon as it is in the batch, so that whatever
// ends the run, the batch has to be stored.
type intake struct {
	*Writer
	opt     KeepOptions
	count   Kept
	durable Kept // count as of the last batch in the journal

	batch   *batch
	entries []entry
	of      map[address]int // entry of a version
	item    []byte
}

func (in *intake) run(ctx context.Context, next func() (note.Note, error), emit func(load) error) error {
	for {
		if err := ctx.Err(); err != nil {
			return err
		}
		n, err := next()
		if errors.Is(err, io.EOF) {
			return in.commit(emit)
		}
		if err != nil {
			return err
		}
		if err := in.take(&n); err != nil {
			return err
		}
		if len(in.entries) >= in.batchNotes || in.batch.size() >= batchBytes {
			if err := in.commit(emit); err != nil {
				return err
			}
		}
	}
}

// take puts a note in the batch, unless it is kept already.
func (in *intake) take(n *note.Note) error {
	in.count.Read++
	in.count.Bytes += int64(len(n.Text))
	v := version{note: *n, shift: n.Shift, kept: in.opt.At.UTC()}
	v.note.Source, v.note.Numbers = note.Source{}, nil
	notes, err := in.state.of(n.Resident)
	if err != nil {
		return err
	}
	v.note.ID = notes.first(n)
	fresh := notes.unknown(v.note.ID, n.Numbers)
	if v.shift == "" && in.opt.Shift != nil {
		v.shift = in.opt.Shift(n)
	}
	if in.opt.At.IsZero() {
		v.kept = time.Now().UTC()
	}
	item, digest, err := appendVersion(in.item[:0], &v)
	if err != nil {
		return fmt.Errorf("note %s: the time: %w", n.ID, err)
	}
	in.item = item
	k := notes.by[v.note.ID]
	// Who sends a document in another's place says that it holds now, whatever it says.
	putBack := in.opt.PutBack || len(fresh) > 0
	now := k.is(digest)
	if now || !putBack && (k.has(digest) || k.outdated(v.note.ID, n)) {
		in.count.Skipped++
		if !now {
			in.count.Earlier++
		}
		return in.number(v.note.Resident, v.note.ID, fresh)
	}
	gone := k != nil && k.gone
	at, err := in.batch.add(item, in.ledger.End())
	if err != nil {
		in.failed = err
		return err
	}
	replaced, ok, err := in.state.take(at, item)
	if err != nil {
		in.failed = err
		return err
	}
	in.put(entry{at: at, version: v})
	if err := in.number(v.note.Resident, v.note.ID, fresh); err != nil {
		return err
	}
	if !ok {
		in.count.Added++
		return nil
	}
	if gone {
		in.count.Added++
	} else {
		in.count.Replaced++
	}
	if i, inBatch := in.of[replaced]; inBatch {
		in.entries[i].replaced = true
		return nil
	}
	earlier, err := in.read(replaced)
	if err == nil {
		in.put(earlier)
	}
	return err
}

// number puts further numbers of a note in the batch.
func (in *intake) number(resident, id string, numbers []string) error {
	for _, n := range numbers {
		err := in.ledger.Raise(journalFormat)
		if err == nil {
			item := appendAlso(nil, resident, id, n)
			var at address
			if at, err = in.batch.add(item, in.ledger.End()); err == nil {
				_, _, err = in.state.take(at, item)
			}
		}
		if err != nil {
			in.failed = err
			return err
		}
	}
	return nil
}

func (in *intake) put(e entry) {
	in.of[e.at] = len(in.entries)
	in.entries = append(in.entries, e)
}

// store makes the batch durable.
func (in *intake) store() error {
	err := in.ledger.append(in.batch)
	if err == nil {
		err = in.ledger.Sync()
	}
	if err != nil {
		in.failed = err
		return err
	}
	in.durable = in.count
	return nil
}

// commit makes the batch durable and sends it on to the search part.
func (in *intake) commit(emit func(load) error) error {
	if err := in.store(); err != nil {
		return err
	}
	l := load{entries: in.entries, applied: in.ledger.End()}
	if in.opt.Progress != nil {
		count := in.durable
		l.done = func() { in.opt.Progress(count) }
	}
	in.entries = nil
	clear(in.of)
	return emit(l)
}
