package index

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"example.com/stance/index/internal/journal"
	"example.com/stance/index/internal/terms"
	"example.com/stance/lint/filelock"
	"example.com/stance/lint/inbox"
	"example.com/stance/lint/note"
)

const (
	journalName = "notes.log"
	newName     = "notes.log.new" // the journal that is about to take its place
	lockName    = "lock"

	// WatchedName is the file of an index's folder for what was taken in of watched folders (package inbox). The index
	// does not read it.
	WatchedName = "watched"
)

// journalFormat is the number of the form of the journal's records. It was 1 before they were packed, 2
// (journal.Unmarked) before they could be found again behind damage, and 3 (lastingFormat) before notes could be
// withdrawn and go by further numbers. A journal of lastingFormat is read and added to as it is; its format is raised
// before it holds such an item, which a program that knows none would take for damage.
const (
	journalFormat = 4
	lastingFormat = 3
)

const (
	defaultBatch = 1000    // notes that are put on the disk together
	batchBytes   = 8 << 20 // or as many bytes, if that comes first
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
	failed  error  // the state no longer says what the ledger does
	remade  string // why the search part had to be made anew

	grounds    grounds
	batchNotes int // notes that are put on the disk together
	fewNew     int // items of the ledger that the places may lack, apart from a share of all
}

// OpenWriter opens the index in a folder for writing, and makes it if there is none. While another
// writer has it, the error is a *LockedError; a *FolderError where the folder holds something else; a
// *DamagedError or a *MissingError where notes.log is not as it was kept. An index of the format before
// this one is brought up to date.
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
	lock, err := takeLock(dir)
	if err != nil {
		return nil, err
	}
	w := &Writer{dir: dir, lock: lock, builder: builder{lex, cutter}, pending: map[address]bool{}, batchNotes: defaultBatch, fewNew: fewNew}
	if err := w.open(); err != nil {
		return nil, errors.Join(err, w.Close())
	}
	return w, nil
}

// takeLock keeps other writers out until the file is closed.
func takeLock(dir string) (*os.File, error) {
	lock, err := filelock.Take(filepath.Join(dir, lockName))
	if errors.Is(err, filelock.ErrHeld) {
		return nil, &LockedError{dir, "written"}
	}
	return lock, err
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
		ours := []string{lockName, newName, searchName, settingsName, newSettingsName, placesName, newPlacesName, judgedName, newJudgedName, WatchedName, WatchedName + inbox.Anew}
		if !slices.Contains(ours, f.Name()) && !strings.HasPrefix(f.Name(), damagedPrefix) {
			return &FolderError{dir}
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
	l, err := openLedger(w.dir, journal.OpenAppend)
	var none *NoIndexError
	var format *FormatError
	switch {
	case errors.As(err, &none):
		err = w.replaceLedger(func(*ledger) error { return nil })
	case errors.As(err, &format) && format.Have == journal.Unmarked:
		err = w.convert()
	case err == nil:
		return w.useLedger(l)
	}
	if err != nil {
		return err
	}
	if l, err = openLedger(w.dir, journal.OpenAppend); err != nil {
		return err
	}
	return w.useLedger(l)
}

// useLedger reads a ledger and makes it ready to be appended to. What a crash left half written is cut off;
// nothing else ever is.
func (w *Writer) useLedger(l *ledger) error {
	w.ledger = l
	r, err := openRoster(l)
	if err != nil {
		return err
	}
	if m, ok := readMark(w.dir, l.Generation()); ok && m.Applied > r.end {
		return cutShort(w.dir, r.end, m.Applied)
	}
	if err := l.Recover(r.end); err != nil {
		return damaged(w.dir, err)
	}
	w.state = newState(r)
	w.grounds = readGrounds(w.dir, l.Generation())
	return nil
}

// cutShort is the error for a journal that ends before what had been taken from it.
func cutShort(dir string, end, applied int64) error {
	e := &journal.DamagedError{File: filepath.Join(dir, journalName), At: end, Written: applied, Lost: []journal.Span{{From: end, To: applied}}}
	if end > journal.Start {
		e.Records = 1 // or more
	}
	return damaged(dir, e)
}

// openLedger opens the ledger of a folder. The error is a *NoIndexError or a *FormatError where the
// folder is not one of ours.
func openLedger(dir string, open func(string) (*journal.Journal, error)) (*ledger, error) {
	j, err := open(filepath.Join(dir, journalName))
	switch {
	case errors.Is(err, fs.ErrNotExist):
		// The search part is made after the journal, which is never without a name from then on.
		if _, err := os.Stat(filepath.Join(dir, searchName)); err == nil {
			return nil, &MissingError{dir}
		}
		return nil, &NoIndexError{dir}
	case err != nil:
		return nil, damaged(dir, err)
	}
	if j.Format() != journalFormat && j.Format() != lastingFormat {
		return nil, errors.Join(&FormatError{Dir: dir, Have: j.Format(), Want: journalFormat, Notes: true}, j.Close())
	}
	return newLedger(dir, j), nil
}

// replaceLedger puts a new ledger in the place of any that is there, all at once.
func (w *Writer) replaceLedger(fill func(*ledger) error) error {
	name := filepath.Join(w.dir, newName)
	j, err := journal.Create(name, journalFormat)
	if err != nil {
		return err
	}
	err = fill(newLedger(w.dir, j))
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

// openSearch opens the search part. One that is missing, not as it was written, of an older format or of an
// earlier journal is made anew: it is no more than a cache.
func (w *Writer) openSearch() error {
	s, err := openSearch(w.dir, w.ledger.Generation(), false, readersWait, &sound{})
	var format *FormatError
	var none *noSearchError
	switch {
	case errors.As(err, &format) && format.Have > format.Want:
		return err
	case errors.As(err, &format):
		w.note("is of an older format")
		return w.restartSearch()
	case errors.As(err, &none):
		w.note(none.why)
		return w.restartSearch()
	case err != nil:
		return err
	}
	w.search = s
	w.behind = s.mark.Applied < w.ledger.End()
	return nil
}

// note takes down why the search part is made anew, unless there is nothing to make it from.
func (w *Writer) note(why string) {
	if w.ledger.End() > journal.Start {
		w.remade = fmt.Sprintf("%s %s: made anew from %s", filepath.Join(w.dir, searchName), why, journalName)
	}
}

// Remade says why the search part has to be made anew from notes.log, in a line; empty if it has not.
func (w *Writer) Remade() string { return w.remade }

// restartSearch makes the search part empty.
func (w *Writer) restartSearch() error {
	if err := w.dropSearch(); err != nil {
		return err
	}
	s, err := createSearch(w.dir, w.ledger.Generation(), w.builder.lex)
	if err != nil {
		return err
	}
	w.search = s
	w.behind = s.mark.Applied < w.ledger.End()
	return nil
}

func (w *Writer) dropSearch() error {
	if w.search != nil {
		if err := w.search.index.Close(); err != nil {
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
		err = errors.Join(err, w.putPlaces(), w.putGrounds(), w.ledger.Close())
	}
	return errors.Join(err, w.lock.Close())
}

// Stale reports whether notes were read with other words than those of the writer's lexicon, so that
// the index should be made anew.
func (w *Writer) Stale() bool {
	return w.search != nil && w.search.stale(w.builder.lex)
}

// Notes hands the notes of a range to yield, as Index.Notes does.
func (w *Writer) Notes(ctx context.Context, r Range, yield func(note.Note) error) error {
	if w.failed != nil {
		return w.failed
	}
	return notes(ctx, w.ledger, w.state.roster, r, yield)
}

// Residents lists the residents that have notes, sorted.
func (w *Writer) Residents() []string { return w.state.roster.residents() }

// fewNew is how many items a writer leaves for the next to unpack, apart from a share of all, before it writes the
// places anew: that costs as much as reading some thousand.
const (
	fewNew   = 4096
	newShare = 32
)

// putPlaces writes the places of notes anew, once enough of the ledger is not in them.
func (w *Writer) putPlaces() error {
	if w.state == nil || w.failed != nil {
		return nil
	}
	r := w.state.roster
	if r.newItems <= int64(w.fewNew)+(r.items-r.newItems)/newShare {
		return nil
	}
	end, err := w.ledger.blocksFrom(r.end, func(_ int64, block []byte) error {
		r.chain = chained(r.chain, block)
		return nil
	})
	if err != nil {
		return err
	}
	r.end = end
	if err := w.ledger.Sync(); err != nil { // what is in the places has to be in the ledger
		return err
	}
	return writePlaces(w.dir, w.ledger.Generation(), r)
}
