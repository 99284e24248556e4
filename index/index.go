package index

import (
	"context"
	"errors"

	"example.com/stance/lint/note"
)

// An Index is a folder of kept notes, open for reading. It is safe for concurrent use.
type Index struct {
	dir string
	lex Reader
}

// Open opens the index in a folder for reading; any number of programs may do so at once. lex reads
// what is searched for, and shows where a note says it. It should know the words that the index was
// made with: see Index.Stale.
//
// The error is a *NoIndexError or a *FormatError where the folder is not such an index.
func Open(dir string, lex Reader) (*Index, error) {
	return &Index{dir: dir, lex: lex}, errors.New("index: being made")
}

// Close lets go of the folder.
func (x *Index) Close() error { return nil }

// Stale reports whether notes were read with other words than those that lex knows now, so that the
// index should be made anew (Writer.Rebuild).
func (x *Index) Stale() (bool, error) { return false, nil }

// Find finds notes. It waits a few seconds for a writer to end, and then gives a *LockedError. A value of the query
// that does not exist is an *UnknownError.
func (x *Index) Find(ctx context.Context, q Query) (Page, error) { return Page{}, nil }

// Notes hands the notes of a range to yield, in order of resident, time and id, and stops at its first
// error. It holds one note at a time and works while a writer runs.
func (x *Index) Notes(ctx context.Context, r Range, yield func(note.Note) error) error { return nil }

// Residents lists the residents that have notes, sorted. It works while a writer runs.
func (x *Index) Residents(ctx context.Context) ([]string, error) { return nil, nil }
