package index

import (
	"context"
	"time"
)

// Withdraw takes a note out of those that are kept. The numbers are those of the document that is taken back, and of the
// ones that it had replaced, any order; a document that another has replaced since has no note of its own any more. The
// versions of the note stay, marked, and the resident has to be judged anew. It reports whether a note goes by one of the
// numbers, even one that was withdrawn before, and whether it was withdrawn now; then that is on the disk.
func (w *Writer) Withdraw(ctx context.Context, resident string, numbers []string, at time.Time) (known, now bool, err error) {
	if err := w.flush(ctx); err != nil {
		return false, false, err
	}
	notes, err := w.state.of(resident)
	if err != nil {
		return false, false, err
	}
	for _, number := range numbers {
		id := notes.id(number)
		k := notes.by[id]
		if k == nil {
			continue
		}
		known = true
		if k.gone || k.number(id) != number {
			continue
		}
		if err := w.withdraw(ctx, resident, id, k, at); err != nil {
			return known, now, err
		}
		now = true
	}
	return known, now, nil
}

func (w *Writer) withdraw(ctx context.Context, resident, id string, k *kept, at time.Time) error {
	item, err := appendGone(nil, resident, id, at.UTC())
	if err != nil {
		return err
	}
	if err := w.ledger.Raise(journalFormat); err != nil {
		return err
	}
	w.pending[k.latest()] = true
	if err := w.record(ctx, [][]byte{item}); err != nil {
		return err
	}
	if err := w.ledger.Sync(); err != nil {
		w.failed = err
		return err
	}
	return w.flush(ctx)
}
