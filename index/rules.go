package index

import (
	"context"
	"maps"
	"slices"
)

// SetRules sets the rules that fired on notes, by note id; where residents share an id, on each of them.
// Notes that are not in the map keep their rules. Like Judged, it is found from the next Keep or Close on.
func (w *Writer) SetRules(ctx context.Context, rules map[string][]string) error {
	var items [][]byte
	for _, resident := range w.state.roster.residents() {
		for _, id := range slices.Sorted(maps.Keys(rules)) {
			k, err := w.state.note(resident, id)
			if err != nil {
				return err
			}
			if k != nil && !k.gone {
				items = w.setRules(items, k, resident, id, rules[id])
			}
		}
	}
	return w.record(ctx, items)
}

// setRules sets the rules of a note, if they are others than it has, and adds the item that says so.
func (w *Writer) setRules(items [][]byte, k *kept, resident, id string, rules []string) [][]byte {
	rules = slices.Compact(slices.Sorted(slices.Values(rules)))
	if slices.Equal(k.rules, rules) {
		return items
	}
	w.pending[k.latest()] = true
	return append(items, appendRules(nil, resident, id, rules))
}

// record puts items on rules in the ledger. The search part follows when there is enough for a batch.
func (w *Writer) record(ctx context.Context, items [][]byte) error {
	if w.failed != nil {
		return w.failed
	}
	batch := newBatch()
	for _, item := range items {
		at, err := batch.add(item, w.ledger.End())
		if err == nil {
			_, _, err = w.state.take(at, item)
		}
		if err != nil {
			w.failed = err
			return err
		}
	}
	if err := w.ledger.append(batch); err != nil {
		w.failed = err
		return err
	}
	if len(w.pending) < w.batchNotes {
		return nil
	}
	return w.flush(ctx)
}
