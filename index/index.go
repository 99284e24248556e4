package index

import (
	"context"
	"errors"
	"os"
	"path/filepath"
	"sync"
	"time"

	"example.com/stance/index/internal/journal"
	"example.com/stance/index/internal/terms"
	"example.com/stance/lint/note"
)

// An Index is a folder of kept notes, open for reading. It is safe for concurrent use. It holds no file
// open between calls, so it always shows what is kept by then and keeps no writer waiting.
type Index struct {
	dir    string
	lex    Reader
	cutter *terms.Cutter
	wait   time.Duration // for a writer
	sound  sound

	mu     sync.Mutex
	remade string
	looked os.FileInfo // the ledger when it was read through
	roster *roster
}

// Open opens the index in a folder for reading; any number of programs may do so at once. lex reads
// what is searched for, and shows where a note says it. It should know the words that the index was
// made with: see Stale.
//
// The error is a *NoIndexError or a *FormatError where the folder is not such an index, and a *DamagedError
// or a *MissingError where it no longer is what it was.
func Open(dir string, lex Reader) (*Index, error) {
	cutter, err := terms.NewCutter()
	if err != nil {
		return nil, err
	}
	l, err := openLedger(dir, journal.Open)
	if err != nil {
		return nil, err
	}
	defer l.Close()
	x := &Index{dir: dir, lex: lex, cutter: cutter, wait: writersWait}
	r, err := x.rosterOf(l)
	if err != nil {
		return nil, err
	}
	end := r.end
	m, ok := readMark(dir, l.Generation())
	if ok && m.Format != searchFormat {
		return nil, &FormatError{Dir: dir, Have: m.Format, Want: searchFormat}
	}
	if ok && m.Applied > end {
		return nil, cutShort(dir, end, m.Applied)
	}
	return x, nil
}

// Is reports whether a folder holds an index, be it a damaged one: whether Open would not give a *NoIndexError.
func Is(dir string) bool {
	for _, name := range []string{journalName, searchName} {
		if _, err := os.Stat(filepath.Join(dir, name)); err == nil {
			return true
		}
	}
	return false
}

const (
	glance      = 20 * time.Millisecond // what a look at the search part may wait for a writer
	writersWait = 5 * time.Second       // what Find may wait for one
)

// Remade says why Find had to have the search part made anew from notes.log, in a line; empty if it had not.
func (x *Index) Remade() string {
	x.mu.Lock()
	defer x.mu.Unlock()
	return x.remade
}

// Close lets go of the folder.
func (x *Index) Close() error { return nil }

// Stale reports whether notes were read with other words than those that lex knows now, so that the
// index should be made anew (Writer.Rebuild). While a writer runs, the error is a *LockedError.
func (x *Index) Stale() (bool, error) {
	l, s, err := x.open(context.Background())
	if err != nil {
		return false, err
	}
	return s.stale(x.lex), errors.Join(s.close(), l.Close())
}

// open opens both parts of the folder, once the search part says all that the ledger does: what a
// killed writer left undone is done first.
func (x *Index) open(ctx context.Context) (*ledger, *searchPart, error) {
	const enough = 3 // times that the search part is made, and yet is not as it should be
	made := 0
	for until := time.Now().Add(x.wait); ; {
		l, s, err := x.tryOpen()
		if err == nil {
			return l, s, nil
		}
		if undone := errors.Is(err, errBehind) || errors.Is(err, errNoSearch); undone && made < enough {
			if err = x.complete(ctx); err == nil {
				made++
				until = time.Now().Add(x.wait) // what it took was no waiting for others
				continue
			}
		}
		var locked *LockedError
		if !errors.As(err, &locked) || time.Now().After(until) {
			return nil, nil, err
		}
		select {
		case <-ctx.Done():
			return nil, nil, ctx.Err()
		case <-time.After(glance):
		}
	}
}

// errBehind says that the ledger has records that the search part has not.
var errBehind = errors.New("the search part is behind")

func (x *Index) tryOpen() (*ledger, *searchPart, error) {
	l, err := openLedger(x.dir, journal.Open)
	if err != nil {
		return nil, nil, err
	}
	s, err := openSearch(x.dir, l.Generation(), true, glance, &x.sound)
	if err != nil {
		return nil, nil, errors.Join(err, l.Close())
	}
	end, err := l.blocksFrom(s.mark.Applied, func(int64, []byte) error { return errBehind })
	if err == nil && end != s.mark.Applied {
		err = errBehind
	}
	if err != nil {
		return nil, nil, errors.Join(err, s.close(), l.Close())
	}
	return l, s, nil
}

// complete does what a writer left undone.
func (x *Index) complete(ctx context.Context) error {
	w, err := OpenWriter(x.dir, x.lex)
	if err != nil {
		return err
	}
	if why := w.Remade(); why != "" {
		x.mu.Lock()
		x.remade = why
		x.mu.Unlock()
	}
	return errors.Join(w.flush(ctx), w.Close())
}

// Notes hands the notes of a range to yield, in order of resident, time and id, and stops at its first
// error. It holds a few megabytes of texts at a time and works while a writer runs.
func (x *Index) Notes(ctx context.Context, r Range, yield func(note.Note) error) error {
	l, err := openLedger(x.dir, journal.Open)
	if err != nil {
		return err
	}
	defer l.Close()
	return x.listed(l, func(of *roster) error { return notes(ctx, l, of, r, yield) })
}

// Residents lists the residents that have notes, sorted. It works while a writer runs.
func (x *Index) Residents(ctx context.Context) ([]string, error) {
	l, err := openLedger(x.dir, journal.Open)
	if err != nil {
		return nil, err
	}
	defer l.Close()
	r, err := x.rosterOf(l)
	if err != nil {
		return nil, err
	}
	return r.residents(), ctx.Err()
}

// rosterOf reads a ledger through, unless it is as it was when that was last done.
func (x *Index) rosterOf(l *ledger) (*roster, error) {
	info, err := l.Stat()
	if err != nil {
		return nil, err
	}
	x.mu.Lock()
	defer x.mu.Unlock()
	if x.roster != nil && unchanged(info, x.looked) {
		return x.roster, nil
	}
	r, err := openRoster(l)
	if err != nil {
		return nil, err
	}
	x.roster, x.looked = r, info
	return r, nil
}

// listed hands the roster of a ledger to use, and once more where a writer has replaced its file meanwhile.
func (x *Index) listed(l *ledger, use func(*roster) error) error {
	const enough = 3
	for try := 1; ; try++ {
		r, err := x.rosterOf(l)
		if err != nil {
			return err
		}
		if err := use(r); !errors.Is(err, errPlaces) || try == enough {
			return err
		}
		x.mu.Lock()
		x.roster = nil
		x.mu.Unlock()
	}
}
