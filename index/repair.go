package index

import (
	"cmp"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"time"

	"example.com/stance/index/internal/journal"
	"example.com/stance/lint/filelock"
)

// damagedPrefix is what the name of a damaged journal begins with that Repair has kept.
const damagedPrefix = journalName + ".damaged-"

// A Repaired is the account of a Repair.
type Repaired struct {
	Damage    error  // file, place and what is lost; nil: there was none, and nothing was done
	Kept      string // the damaged file
	Notes     int    // saved, earlier versions included
	Residents int    // who have them
	Written   int64  // bytes that the file had, as far as can be told
	Lost      []Loss // of these
}

// A Loss is a stretch of the file that cannot be read.
type Loss struct {
	From, To int64
	// When the notes before it and behind it were kept; zero where there are none.
	After, Before time.Time
}

// Repair saves what can be read of a damaged index into a new file of notes, which takes the place of the
// damaged one. That is kept beside it, under another name. All residents are unjudged then. An index without
// damage is left as it is.
func Repair(dir string) (r Repaired, err error) {
	if _, err := os.Stat(dir); errors.Is(err, fs.ErrNotExist) {
		return r, &NoIndexError{dir}
	}
	lock, err := takeLock(dir)
	if err != nil {
		return r, err
	}
	w := &Writer{dir: dir, lock: lock}
	defer func() { err = errors.Join(err, w.Close()) }()
	damage, err := damageOf(dir)
	if damage == nil || err != nil {
		return r, err
	}
	found, err := salvage(dir)
	if err != nil {
		return r, err
	}
	if len(found.Records) == 0 {
		return r, fmt.Errorf("%w; nothing can be saved of it: put back a copy of the file in an empty folder, or keep the notes anew in another one", damage.What)
	}
	r.Damage = damage.What
	if r.Kept, err = keepDamaged(dir); err != nil {
		return r, err
	}
	s := saver{roster: newRoster(), found: found, spans: found.Lost}
	if err := w.replaceLedger(s.copyTo); err != nil {
		return r, err
	}
	s.account(&r)
	return r, nil
}

// damageOf looks for damage. The other error is why it cannot be looked for.
func damageOf(dir string) (*DamagedError, error) {
	err := look(dir)
	var damage *DamagedError
	var format *FormatError
	var path *fs.PathError
	switch {
	case errors.As(err, &damage):
		return damage, nil
	case errors.As(err, &path) && path.Op == "read": // a worn disk
		return &DamagedError{dir, err}, nil
	case errors.As(err, &format) && format.Have == journal.Unmarked:
		found, err := salvage(dir)
		if err == nil && len(found.Lost) > 0 {
			return unmarkedDamage(dir, found), nil
		}
		return nil, err
	}
	return nil, err
}

// look reads the journal as a writer does, and changes nothing.
func look(dir string) (err error) {
	l, err := openLedger(dir, journal.Open)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, l.Close()) }()
	r := newRoster()
	if err := r.scan(l); err != nil {
		return err
	}
	if m, ok := readMark(dir, l.Generation()); ok && m.Applied > r.end {
		return cutShort(dir, r.end, m.Applied)
	}
	return nil
}

// salvage reads what can be read of a folder's journal.
func salvage(dir string) (*journal.Salvaged, error) {
	name := filepath.Join(dir, journalName)
	s, err := journal.Salvage(name, 0)
	if err != nil {
		return nil, err
	}
	if s.Format > journalFormat {
		return nil, &FormatError{Dir: dir, Have: s.Format, Want: journalFormat, Notes: true}
	}
	if m, ok := readMark(dir, s.Generation); ok && m.Applied > s.Written {
		return journal.Salvage(name, m.Applied)
	}
	return s, nil
}

func unmarkedDamage(dir string, found *journal.Salvaged) *DamagedError {
	return &DamagedError{dir, &journal.DamagedError{
		File: filepath.Join(dir, journalName), At: found.Lost[0].From,
		Written: found.Written, Lost: found.Lost, Records: len(found.Records),
	}}
}

// convert brings a ledger of the format before this one up to date. It has no markers by which to tell what
// a crash left from damage, so that either is for Repair.
func (w *Writer) convert() error {
	found, err := salvage(w.dir)
	if err != nil {
		return err
	}
	if len(found.Lost) > 0 {
		return unmarkedDamage(w.dir, found)
	}
	s := saver{roster: newRoster(), found: found, judged: true}
	return w.replaceLedger(s.copyTo)
}

// keepDamaged gives the journal a second name, under which it stays when another takes its place, and gives
// that name.
func keepDamaged(dir string) (string, error) {
	old := filepath.Join(dir, journalName)
	for n := 1; ; n++ {
		name := filepath.Join(dir, damagedPrefix+strconv.Itoa(n))
		if _, err := os.Lstat(name); err == nil {
			continue
		}
		// A copy is for file systems without links: of a worn disk it may fail.
		if err := os.Link(old, name); err != nil {
			if err := copyNew(old, name); err != nil {
				return "", err
			}
		}
		return name, filelock.SyncFolder(dir)
	}
}

// copyNew copies a file to a name that must not be there yet.
func copyNew(from, to string) error {
	in, err := os.Open(from)
	if err != nil {
		return err
	}
	defer in.Close()
	out, err := os.OpenFile(to, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o600)
	if err != nil {
		return err
	}
	_, err = io.Copy(out, in)
	if err = errors.Join(err, out.Sync(), out.Close()); err != nil {
		return errors.Join(err, os.Remove(to))
	}
	return nil
}

// Damaged lists the damaged files of notes that Repair has kept in a folder.
func Damaged(dir string) ([]string, error) {
	entries, err := os.ReadDir(dir)
	var names []string
	for _, e := range entries {
		if strings.HasPrefix(e.Name(), damagedPrefix) {
			names = append(names, filepath.Join(dir, e.Name()))
		}
	}
	return names, err
}

// A saver writes what was found in a journal into a new one.
type saver struct {
	roster *roster
	found  *journal.Salvaged
	judged bool // residents stay judged

	unpacker unpacker

	spans []journal.Span // lost
	times []keptTimes    // of the records, in their order
}

// keptTimes are when the first and the last note of a record were kept; zero for one that has none.
type keptTimes struct {
	at          int64
	first, last time.Time
}

func (s *saver) copyTo(to *ledger) error {
	batch := newBatch()
	for _, r := range s.found.Records {
		items, err := s.take(r)
		if err != nil {
			if !errors.Is(err, errRecord) || s.judged {
				return err
			}
			s.spans = append(s.spans, journal.Span{From: r.At, To: r.End})
			continue
		}
		for _, item := range items {
			if _, err := batch.add(item, to.End()); err != nil {
				return err
			}
		}
		if batch.size() >= batchBytes {
			if err := to.append(batch); err != nil {
				return err
			}
		}
	}
	return to.append(batch)
}

// take gives the items of a record that are to be written, and takes down what they say.
func (s *saver) take(r journal.Record) ([][]byte, error) {
	all, err := s.unpacker.unpackWhole(r.Data)
	if err != nil {
		return nil, err
	}
	times := keptTimes{at: r.At}
	var items [][]byte
	for i, item := range all {
		if err := s.roster.take(addressOf(r.At, i), item); err != nil {
			return nil, err
		}
		switch kindOf(item) {
		case noteKind:
			h, err := parseHeading(item)
			if err != nil {
				return nil, err
			}
			if times.first.IsZero() {
				times.first = h.kept
			}
			times.last = h.kept
		case judgedKind:
			if !s.judged { // what was found may have been lost
				continue
			}
		}
		items = append(items, item)
	}
	s.times = append(s.times, times)
	return items, nil
}

// account tells what was saved and what was not.
func (s *saver) account(r *Repaired) {
	r.Notes, r.Residents, r.Written = s.roster.versions, len(s.roster.residents()), s.found.Written
	slices.SortFunc(s.spans, func(a, b journal.Span) int { return cmp.Compare(a.From, b.From) })
	for _, span := range s.spans {
		loss := Loss{From: span.From, To: span.To}
		for _, t := range s.times {
			switch {
			case t.first.IsZero():
			case t.at < span.From:
				loss.After = t.last
			case loss.Before.IsZero():
				loss.Before = t.first
			}
		}
		r.Lost = append(r.Lost, loss)
	}
}
