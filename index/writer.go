package index

import (
	"context"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"maps"
	"os"
	"path/filepath"
	"slices"
	"time"

	"github.com/blevesearch/bleve/v2/document"
	"golang.org/x/sync/errgroup"

	"example.com/stance/index/internal/filelock"
	"example.com/stance/index/internal/journal"
	"example.com/stance/index/internal/terms"
	"example.com/stance/lint/note"
)

const (
	journalName = "notes.log"
	newName     = "notes.log.new" // the journal that is about to take its place
	lockName    = "lock"
)

// journalFormat is the number of the form of the journal's records.
const journalFormat = 1

const (
	batchNotes = 1000    // notes that are put on the disk together
	batchBytes = 8 << 20 // or as many bytes, if that comes first
)

// readersWait is how long a writer waits for searches that are under way.
const readersWait = 10 * time.Second

// A Writer is a folder of kept notes, open for writing. It is for one goroutine at a time.
type Writer struct {
	dir     string
	lock    *os.File
	ledger  *ledger
	state   *state
	search  *searchPart
	builder builder

	// Versions whose rules were set and are not yet in the search part, which is otherwise up to the
	// journal's end unless behind.
	pending map[address]bool
	behind  bool
	failed  error // the state no longer says what the journal does
}

// OpenWriter opens the index in a folder for writing, and makes it if there is none. While another
// writer has it, the error is a *LockedError.
//
// What a writer left unfinished when it was killed is completed by the next call of Keep, SetRules,
// Judged or Rebuild, and by Index.Find.
func OpenWriter(dir string, lex Reader) (*Writer, error) {
	cutter, err := terms.NewCutter()
	if err != nil {
		return nil, err
	}
	if err := makeFolder(dir); err != nil {
		return nil, err
	}
	lock, err := filelock.Take(filepath.Join(dir, lockName))
	switch {
	case errors.Is(err, filelock.ErrHeld):
		return nil, &LockedError{dir, "written"}
	case err != nil:
		return nil, err
	}
	w := &Writer{dir: dir, lock: lock, builder: builder{lex, cutter}, pending: map[address]bool{}}
	if err := w.open(); err != nil {
		return nil, errors.Join(err, w.Close())
	}
	return w, nil
}

// makeFolder makes the folder. One that holds something else is refused, so that a slip of the hand
// does not mix an index into it.
func makeFolder(dir string) error {
	if err := os.MkdirAll(dir, 0o700); err != nil {
		return err
	}
	if _, err := os.Stat(filepath.Join(dir, journalName)); err == nil {
		return nil
	}
	files, err := os.ReadDir(dir)
	if err != nil {
		return err
	}
	for _, f := range files {
		if !slices.Contains([]string{lockName, newName, searchName}, f.Name()) {
			return fmt.Errorf("%s: the folder has other files and no index of notes, want an empty or a new one", dir)
		}
	}
	return nil
}

func (w *Writer) open() error {
	if err := w.openLedger(); err != nil {
		return err
	}
	return w.openSearch()
}

func (w *Writer) openLedger() error {
	name := filepath.Join(w.dir, journalName)
	if _, err := os.Stat(name); errors.Is(err, fs.ErrNotExist) {
		if err := w.replaceLedger(func(*ledger) error { return nil }); err != nil {
			return err
		}
	}
	l, err := openLedger(w.dir, journal.OpenAppend)
	if err != nil {
		return err
	}
	w.ledger, w.state = l, newState()
	end, err := l.scan(journal.Start, w.state.apply)
	if err != nil {
		return err
	}
	return l.Recover(end)
}

// openLedger opens the ledger of a folder. The error is a *NoIndexError or a *FormatError where the
// folder is not one of ours.
func openLedger(dir string, open func(string) (*journal.Journal, error)) (*ledger, error) {
	j, err := open(filepath.Join(dir, journalName))
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return nil, &NoIndexError{dir}
	case err != nil:
		return nil, err
	}
	if j.Format() != journalFormat {
		return nil, errors.Join(&FormatError{Dir: dir, Have: j.Format(), Want: journalFormat}, j.Close())
	}
	return newLedger(j), nil
}

// replaceLedger puts a new ledger in the place of any that is there, all at once.
func (w *Writer) replaceLedger(fill func(*ledger) error) error {
	name := filepath.Join(w.dir, newName)
	j, err := journal.Create(name, journalFormat)
	if err != nil {
		return err
	}
	err = fill(newLedger(j))
	if err == nil {
		err = j.Sync()
	}
	if err = errors.Join(err, j.Close()); err != nil {
		return errors.Join(err, os.Remove(name))
	}
	if w.ledger != nil {
		if err := w.ledger.Close(); err != nil { // an open file cannot be replaced on Windows
			return err
		}
		w.ledger = nil
	}
	if err := os.Rename(name, filepath.Join(w.dir, journalName)); err != nil {
		return err
	}
	return filelock.SyncFolder(w.dir)
}

// openSearch opens the search part. One that is missing, of an older format or of an earlier journal is
// made anew: it is no more than a cache.
func (w *Writer) openSearch() error {
	s, err := openSearch(w.dir, w.ledger.Generation(), false, readersWait)
	var format *FormatError
	switch {
	case errors.As(err, &format) && format.Have > format.Want:
		return err
	case errors.As(err, &format), errors.Is(err, errNoSearch):
		s, err = createSearch(w.dir, w.ledger.Generation(), w.builder.lex)
	}
	if err != nil {
		return err
	}
	w.search = s
	w.behind = s.mark.Applied < w.ledger.End()
	if s.mark.Applied > w.ledger.End() { // the machine lost what it said was on the disk
		return w.restartSearch()
	}
	return nil
}

// restartSearch makes the search part empty.
func (w *Writer) restartSearch() error {
	if err := w.dropSearch(); err != nil {
		return err
	}
	return w.openSearch()
}

func (w *Writer) dropSearch() error {
	if w.search != nil {
		if err := w.search.close(); err != nil {
			return err
		}
		w.search = nil
	}
	clear(w.pending) // all versions will be put in
	return os.RemoveAll(filepath.Join(w.dir, searchName))
}

// Close lets go of the folder.
func (w *Writer) Close() error {
	var err error
	if w.search != nil {
		if !w.behind && w.failed == nil {
			err = w.flush(context.Background())
		}
		err = errors.Join(err, w.search.close())
	}
	if w.ledger != nil {
		err = errors.Join(err, w.ledger.Close())
	}
	return errors.Join(err, w.lock.Close())
}

// Stale reports whether notes were read with other words than those of the writer's lexicon, so that
// the index should be made anew.
func (w *Writer) Stale() bool {
	return w.search != nil && w.search.stale(w.builder.lex)
}

// Keep keeps the notes that next gives until io.EOF. A note is known by its resident and id: one that
// is in the index with the same content is skipped, and one with another content takes its place; the
// earlier version stays, marked. On an error the count tells what was kept before it.
func (w *Writer) Keep(ctx context.Context, next func() (note.Note, error), opt KeepOptions) (Kept, error) {
	if err := w.flush(ctx); err != nil {
		return Kept{}, err
	}
	in := intake{Writer: w, opt: opt, batch: newBatch(), of: map[address]int{}}
	err := w.feed(ctx, func(ctx context.Context, emit func(load) error) error {
		return in.run(ctx, next, emit)
	})
	return in.durable, err
}

// An intake is one run of Keep.
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
		if err != nil {
			// What was read before the end or the fault is kept.
			if flushed := in.commit(emit); flushed != nil {
				return flushed
			}
			if errors.Is(err, io.EOF) {
				return nil
			}
			return err
		}
		if err := in.take(&n); err != nil {
			return err
		}
		if len(in.entries) >= batchNotes || in.batch.size() >= batchBytes {
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
	v.note.Source = note.Source{}
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
	before := in.state.note(n.Resident, n.ID)
	if before != nil && before.content == digest {
		in.count.Skipped++
		return nil
	}
	at, err := in.batch.add(item, in.ledger.End())
	if err != nil {
		in.failed = err
		return err
	}
	replaced, ok := in.state.add(n.Resident, n.ID, at, digest)
	in.put(entry{at: at, version: v})
	if !ok {
		in.count.Added++
		return nil
	}
	in.count.Replaced++
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

func (in *intake) put(e entry) {
	in.of[e.at] = len(in.entries)
	in.entries = append(in.entries, e)
}

// commit makes the batch durable and sends it on to the search part.
func (in *intake) commit(emit func(load) error) error {
	err := in.ledger.append(in.batch)
	if err == nil {
		err = in.ledger.Sync()
	}
	if err != nil {
		in.failed = err
		return err
	}
	in.durable = in.count
	l := load{entries: in.entries, applied: in.ledger.End()}
	if in.opt.Progress != nil {
		count := in.durable
		l.done = func() { in.opt.Progress(count) }
	}
	in.entries = nil
	clear(in.of)
	return emit(l)
}

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
			if len(b.docs) > 0 {
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
	k := w.state.note(v.note.Resident, v.note.ID)
	e := entry{at: at, version: v, replaced: at != k.latest()}
	if !e.replaced {
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
	case len(w.pending) == 0:
		return nil
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
		for from := 0; from < len(versions); {
			if err := ctx.Err(); err != nil {
				return err
			}
			var l load
			bytes := 0
			for ; from < len(versions) && len(l.entries) < batchNotes && bytes < batchBytes; from++ {
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

// Remove erases all notes of a resident and gives their number, earlier versions included: the notes of
// all others are written to a new file that takes the place of the old, and the search part is made anew.
func (w *Writer) Remove(ctx context.Context, resident string) (int, error) {
	if w.failed != nil {
		return 0, w.failed
	}
	removed := 0
	for _, k := range w.state.notes[resident] {
		removed += len(k.versions)
	}
	if removed == 0 {
		return 0, nil
	}
	// The terms go first: a crash in between then leaves the notes, and nothing of them in half.
	if err := w.dropSearch(); err != nil {
		return 0, err
	}
	err := w.replaceLedger(func(to *ledger) error { return w.copyWithout(ctx, to, resident) })
	if err != nil {
		w.failed = err
		return 0, err
	}
	if err := w.open(); err != nil {
		w.failed = err
		return removed, err
	}
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
	return w.state.versions, nil
}

// SetRules sets the rules that fired on notes, by note id; where residents share an id, on each of them.
// Notes that are not in the map keep their rules. Like Judged, it is found from the next Keep or Close on.
func (w *Writer) SetRules(ctx context.Context, rules map[string][]string) error {
	var items [][]byte
	for _, resident := range w.residents() {
		for _, id := range slices.Sorted(maps.Keys(rules)) {
			if w.state.note(resident, id) != nil {
				items = w.setRules(items, resident, id, rules[id])
			}
		}
	}
	return w.record(ctx, items)
}

// Unjudged lists the residents with notes that were kept or changed since Judged was last called for
// them, sorted. It survives a crash.
func (w *Writer) Unjudged(context.Context) ([]string, error) {
	return w.state.unjudgedSorted(), w.failed
}

// Judged sets the rules that fired on each of a resident's notes, by note id; a note that is not in the
// map has none. The resident is no longer unjudged.
func (w *Writer) Judged(ctx context.Context, resident string, rules map[string][]string) error {
	var items [][]byte
	for _, id := range slices.Sorted(maps.Keys(w.state.notes[resident])) {
		items = w.setRules(items, resident, id, rules[id])
	}
	if w.state.unjudged[resident] {
		items = append(items, appendJudged(nil, resident))
		delete(w.state.unjudged, resident)
	}
	return w.record(ctx, items)
}

// setRules sets the rules of a note, if they are others than it has, and adds the item that says so.
func (w *Writer) setRules(items [][]byte, resident, id string, rules []string) [][]byte {
	rules = slices.Compact(slices.Sorted(slices.Values(rules)))
	k := w.state.note(resident, id)
	if slices.Equal(k.rules, rules) {
		return items
	}
	k.rules = rules
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
		if _, err := batch.add(item, w.ledger.End()); err != nil {
			w.failed = err
			return err
		}
	}
	if err := w.ledger.append(batch); err != nil {
		w.failed = err
		return err
	}
	if len(w.pending) < batchNotes {
		return nil
	}
	return w.flush(ctx)
}

func (w *Writer) residents() []string { return slices.Sorted(maps.Keys(w.state.notes)) }

// Notes hands the notes of a range to yield, as Index.Notes does.
func (w *Writer) Notes(ctx context.Context, r Range, yield func(note.Note) error) error {
	if w.failed != nil {
		return w.failed
	}
	return notes(ctx, w.ledger, r, yield)
}
