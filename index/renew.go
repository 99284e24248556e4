package index

import (
	"context"
	"errors"

	"example.com/stance/index/internal/journal"
)

// Remove erases all notes of a resident and gives their number, earlier versions included: the notes of
// all others are written to a new file that takes the place of the old, and the search part is made anew.
func (w *Writer) Remove(ctx context.Context, resident string) (int, error) {
	if w.failed != nil {
		return 0, w.failed
	}
	removed := w.state.roster.known[resident].versions
	if removed == 0 {
		return 0, nil
	}
	// The terms go first: a crash in between then leaves the notes, and nothing of them in half.
	if err := errors.Join(w.dropSearch(), w.dropCaches()); err != nil {
		return 0, err
	}
	err := w.replaceLedger(func(to *ledger) error { return w.copyWithout(ctx, to, resident) })
	if err != nil {
		w.failed = err
		return 0, err
	}
	others := w.grounds.of
	if err := w.open(); err != nil {
		w.failed = err
		return removed, err
	}
	delete(others, resident)
	w.grounds = grounds{of: others, changed: true}
	return removed, w.flush(ctx)
}

func (w *Writer) copyWithout(ctx context.Context, to *ledger, resident string) error {
	batch := newBatch()
	_, err := w.ledger.scan(journal.Start, func(_ address, item []byte) error {
		of, err := residentOf(item)
		if err != nil || of == resident {
			return err
		}
		if _, err := batch.add(item, to.End()); err != nil {
			return err
		}
		if batch.size() < batchBytes {
			return nil
		}
		return errors.Join(ctx.Err(), to.append(batch))
	})
	if err != nil {
		return err
	}
	return errors.Join(ctx.Err(), to.append(batch))
}

// Rebuild makes the search part of the index anew from the stored notes, as after a change of the
// lexicon, and gives their number, earlier versions included. progress, which may be nil, is told how
// many are done. What a crash interrupts, the next writer completes.
func (w *Writer) Rebuild(ctx context.Context, progress func(done int)) (int, error) {
	if w.failed != nil {
		return 0, w.failed
	}
	if err := w.restartSearch(); err != nil {
		w.failed = err
		return 0, err
	}
	if err := w.catchUp(ctx, progress); err != nil {
		return 0, err
	}
	return w.state.roster.versions, nil
}
