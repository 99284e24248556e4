// Package inbox watches a folder that files are dropped into: it says which of them are whole and have not been taken in
// yet, and remembers those that were, in a file of its own that only grows.
//
// A file is whole once two looks in a row find it with the same size and time. It is known by its name, size and time; one
// that changes is given again. That a file is gone says nothing. The package reads no file but its own.
package inbox

import (
	"bufio"
	"bytes"
	"cmp"
	"encoding/json"
	"errors"
	"io/fs"
	"maps"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"time"
)

// A File is one state of a file in the folder.
type File struct {
	Name string    `json:"file"` // without the folder
	Size int64     `json:"size"`
	Time time.Time `json:"time"` // when it was last written to
}

func (f File) same(g File) bool { return f.Name == g.Name && f.Size == g.Size && f.Time.Equal(g.Time) }

// An entry is a file that was taken in.
type entry struct {
	Folder string `json:"folder"`
	File
	Bad string `json:"bad,omitempty"` // by what it could not be read; empty where it could
}

// A Box is a watched folder. Make one with [Open]. It is for one goroutine.
type Box struct {
	folder string // absolute
	by     string
	skip   []os.FileInfo
	book   *os.File
	taken  map[string]entry
	seen   map[string]sight // at the last look
	lines  int              // of the book
}

// A sight is what a look found of a file.
type sight struct {
	File
	changed int // looks in a row that found it changed
}

// Open opens the book, and makes it where there is none. By is a word for all that files are read by: what could not be
// read by another is given once more. Files in skip are passed over, as the chart may lie beside the notes.
func Open(folder, book, by string, skip ...string) (*Box, error) {
	abs, err := filepath.Abs(folder)
	if err != nil {
		return nil, err
	}
	b := &Box{folder: abs, by: by, taken: map[string]entry{}, seen: map[string]sight{}}
	for _, name := range skip {
		if info, err := os.Stat(name); err == nil {
			b.skip = append(b.skip, info)
		}
	}
	others, err := b.read(book)
	if err != nil {
		return nil, err
	}
	if b.lines > mostLines {
		if err := b.rewrite(book, others); err != nil {
			return nil, err
		}
	}
	if b.book, err = os.OpenFile(book, os.O_RDWR|os.O_CREATE|os.O_APPEND, 0o600); err != nil {
		return nil, err
	}
	if err := b.endLine(); err != nil {
		return nil, errors.Join(err, b.book.Close())
	}
	return b, nil
}

// longestLine is far more than a name and a folder can have.
const longestLine = 64 << 10

// read reads the book. A line that cannot be read, as a crash leaves it, counts for nothing: its file is given again. Others
// are the entries of other folders.
func (b *Box) read(book string) (others map[string]entry, err error) {
	others = map[string]entry{}
	f, err := os.Open(book)
	if errors.Is(err, fs.ErrNotExist) {
		return others, nil
	} else if err != nil {
		return nil, err
	}
	defer f.Close()
	in := bufio.NewScanner(f)
	in.Buffer(nil, longestLine)
	for in.Scan() {
		b.lines++
		var e entry
		switch err := json.Unmarshal(in.Bytes(), &e); {
		case err != nil || e.Name == "":
		case e.Folder == b.folder:
			b.taken[e.Name] = e
		default:
			others[filepath.Join(e.Folder, e.Name)] = e
		}
	}
	if errors.Is(in.Err(), bufio.ErrTooLong) {
		b.lines = mostLines + 1 // it is written anew without what lies there
		return others, nil
	}
	return others, in.Err()
}

// mostLines is how long a book gets before it is written anew: a year of files that are dropped every hour.
const mostLines = 10_000

// rewrite writes the book anew, with one line for each file that is still there.
func (b *Box) rewrite(book string, others map[string]entry) error {
	entries, err := os.ReadDir(b.folder)
	if err != nil {
		return err
	}
	there := make(map[string]bool, len(entries))
	for _, e := range entries {
		there[e.Name()] = true
	}
	maps.DeleteFunc(b.taken, func(name string, _ entry) bool { return !there[name] })
	var buf bytes.Buffer
	for _, entries := range []map[string]entry{others, b.taken} {
		for _, name := range slices.Sorted(maps.Keys(entries)) {
			line, err := json.Marshal(entries[name])
			if err != nil {
				return err
			}
			buf.Write(append(line, '\n'))
		}
	}
	b.lines = len(others) + len(b.taken)
	// What a crash leaves of it is no loss, so it need not be on the disk before it takes the other's place.
	if err := os.WriteFile(book+Anew, buf.Bytes(), 0o600); err != nil {
		return err
	}
	return os.Rename(book+Anew, book)
}

// Anew stands behind the name of a book that is about to take its place.
const Anew = ".new"

// endLine ends a last line that was cut off, so that the next is not lost with it.
func (b *Box) endLine() error {
	info, err := b.book.Stat()
	if err != nil || info.Size() == 0 {
		return err
	}
	last := make([]byte, 1)
	if _, err := b.book.ReadAt(last, info.Size()-1); err != nil || last[0] == '\n' {
		return err
	}
	_, err = b.book.Write([]byte("\n"))
	return err
}

// Restless is how many looks in a row find a file changed until Look says so.
const Restless = 60

// Look looks at the folder once. Whole are the files to be taken in, the oldest first. Restless are those that have never
// been at rest for as many looks as the constant of that name; each is named once.
func (b *Box) Look() (whole []File, restless []string, err error) {
	entries, err := os.ReadDir(b.folder)
	if err != nil {
		return nil, nil, err
	}
	now := make(map[string]sight, len(entries))
	for _, e := range entries {
		if temporary(e.Name()) {
			continue
		}
		info, err := os.Stat(filepath.Join(b.folder, e.Name()))
		if err != nil || !info.Mode().IsRegular() || info.Size() == 0 || b.skipped(info) {
			continue // gone again, none, or still empty
		}
		s := sight{File: File{e.Name(), info.Size(), info.ModTime().UTC()}}
		before, met := b.seen[s.Name]
		known := b.known(s.File)
		if met && !s.same(before.File) {
			if s.changed = before.changed + 1; s.changed == Restless {
				restless = append(restless, s.Name)
			}
		}
		now[s.Name] = s
		if met && s.same(before.File) && !known {
			whole = append(whole, s.File)
		}
	}
	b.seen = now
	slices.SortFunc(whole, func(a, b File) int { return cmp.Or(a.Time.Compare(b.Time), strings.Compare(a.Name, b.Name)) })
	return whole, restless, nil
}

// known reports whether a state of a file was taken in.
func (b *Box) known(f File) bool {
	e, ok := b.taken[f.Name]
	return ok && e.same(f) && (e.Bad == "" || e.Bad == b.by)
}

func (b *Box) skipped(info os.FileInfo) bool {
	return slices.ContainsFunc(b.skip, func(s os.FileInfo) bool { return os.SameFile(s, info) })
}

// temporary reports whether a name is one that programs give to a file while they write it, or to keep it out of sight.
func temporary(name string) bool {
	if strings.HasPrefix(name, ".") || strings.HasPrefix(name, "~") || strings.HasSuffix(name, "~") {
		return true
	}
	switch strings.ToLower(filepath.Ext(name)) {
	case ".tmp", ".temp", ".part", ".partial", ".filepart", ".crdownload", ".download", ".swp", ".lock":
		return true
	}
	return false
}

// Taken puts down that a file was taken in. A bad one could not be read, or not all of it; it is given again once it
// has changed.
func (b *Box) Taken(f File, bad bool) error {
	e := entry{Folder: b.folder, File: f}
	if bad {
		e.Bad = b.by
	}
	line, err := json.Marshal(e)
	if err != nil {
		return err
	}
	if _, err := b.book.Write(append(line, '\n')); err != nil {
		return err
	}
	if err := b.book.Sync(); err != nil {
		return err
	}
	b.taken[f.Name] = e
	b.lines++
	return nil
}

// Close closes the book.
func (b *Box) Close() error { return b.book.Close() }
