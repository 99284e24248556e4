package index

import (
	"context"
	"maps"
	"slices"

	"github.com/blevesearch/bleve/v2/document"
	"golang.org/x/sync/errgroup"
)

// A load is entries on their way into the search part.
type load struct {
	entries []entry
	applied int64  // offset of the ledger up to which all is in, then
	done    func() // called then; may be nil
}

// feed brings loads into the search part: while one is written, the next is read by the lexicon and the
// one after it is made. On an error the search part is behind.
func (w *Writer) feed(ctx context.Context, produce func(ctx context.Context, emit func(load) error) error) error {
	type analyzed struct {
		load
		docs []*document.Document
	}
	group, ctx := errgroup.WithContext(ctx)
	loads, batches := make(chan load), make(chan analyzed)
	group.Go(func() error {
		defer close(loads)
		return produce(ctx, func(l load) error {
			select {
			case loads <- l:
				return nil
			case <-ctx.Done():
				return ctx.Err()
			}
		})
	})
	group.Go(func() error {
		defer close(batches)
		for l := range loads {
			select {
			case batches <- analyzed{l, w.builder.documents(l.entries)}:
			case <-ctx.Done():
				return ctx.Err()
			}
		}
		return nil
	})
	group.Go(func() error {
		for b := range batches {
			if len(b.docs) > 0 || b.applied > w.search.mark.Applied {
				if err := w.search.write(b.docs, b.applied); err != nil {
					return err
				}
			}
			if b.done != nil {
				b.done()
			}
		}
		return nil
	})
	err := group.Wait()
	w.behind = w.search.mark.Applied < w.ledger.End()
	return err
}

// read is the entry of the version at an address.
func (w *Writer) read(at address) (entry, error) {
	item, err := w.ledger.read(at)
	if err != nil {
		return entry{}, err
	}
	v, err := parseVersion(item)
	if err != nil {
		return entry{}, err
	}
	k, err := w.state.note(v.note.Resident, v.note.ID)
	if err != nil {
		return entry{}, err
	}
	e := entry{at: at, version: v, replaced: at != k.latest()}
	if !e.replaced {
		e.gone = k.gone
		e.rules = k.rules // they were found on the latest version
	}
	return e, nil
}

// flush brings the search part up to the journal's end.
func (w *Writer) flush(ctx context.Context) error {
	switch {
	case w.failed != nil:
		return w.failed
	case w.behind:
		return w.catchUp(ctx, nil)
	}
	if err := w.ledger.Sync(); err != nil {
		return err
	}
	err := w.putIn(ctx, slices.Sorted(maps.Keys(w.pending)), nil)
	if err == nil {
		clear(w.pending)
	}
	return err
}

// catchUp puts in what the journal has and the search part has not. It may be stopped at any moment and
// goes on from there the next time.
func (w *Writer) catchUp(ctx context.Context, progress func(done int)) error {
	if err := w.ledger.Sync(); err != nil { // a killed writer may not have come to it
		return err
	}
	touched := map[address]bool{}
	_, err := w.ledger.scan(w.search.mark.Applied, func(at address, item []byte) error {
		versions, err := w.state.touched(at, item)
		for _, v := range versions {
			touched[v] = true
		}
		return err
	})
	if err != nil {
		return err
	}
	maps.Copy(touched, w.pending)
	err = w.putIn(ctx, slices.Sorted(maps.Keys(touched)), progress)
	if err == nil {
		clear(w.pending)
	}
	return err
}

// putIn puts versions in, as they are now. They come in the order of the ledger, and no item changes a
// version behind itself: so when one is in, all before its block is.
func (w *Writer) putIn(ctx context.Context, versions []address, progress func(done int)) error {
	return w.feed(ctx, func(ctx context.Context, emit func(load) error) error {
		if len(versions) == 0 { // as after a check that changed no note's rules
			return emit(load{applied: w.ledger.End()})
		}
		for from := 0; from < len(versions); {
			if err := ctx.Err(); err != nil {
				return err
			}
			var l load
			bytes := 0
			for ; from < len(versions) && len(l.entries) < w.batchNotes && bytes < batchBytes; from++ {
				e, err := w.read(versions[from])
				if err != nil {
					return err
				}
				bytes += len(e.version.note.Text)
				l.entries = append(l.entries, e)
				l.applied = e.at.block()
			}
			if from == len(versions) {
				l.applied = w.ledger.End()
			}
			if progress != nil {
				done := from
				l.done = func() { progress(done) }
			}
			if err := emit(l); err != nil {
				return err
			}
		}
		return nil
	})
}
