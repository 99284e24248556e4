package index

import (
	"errors"
	"fmt"
	"path/filepath"

	"example.com/stance/index/internal/journal"
)

// ErrAfter is the error for a Query.After that fits neither the query nor the index.
var ErrAfter = errors.New("the page mark is not of this search, or the index was made anew since")

// A LockedError says that the index is in use by another program in a way that shuts this one out.
type LockedError struct {
	Dir string
	Use string // "written" or "read"
}

func (e *LockedError) Error() string {
	return fmt.Sprintf("%s: the index is being %s by another run of stance, try again when that is done", e.Dir, e.Use)
}

// A NoIndexError says that a folder holds no index.
type NoIndexError struct{ Dir string }

func (e *NoIndexError) Error() string {
	return fmt.Sprintf("%s: no index of notes here, make one with: stance keep NOTES… --index DIR", e.Dir)
}

// A FolderError says that a folder holds something other than an index, so that none is made in it.
type FolderError struct{ Dir string }

func (e *FolderError) Error() string {
	return fmt.Sprintf("%s: the folder has other files and no index of notes, want an empty or a new one", e.Dir)
}

// A DamagedError says that the notes of an index are not as they were kept. Nothing is written to them then.
type DamagedError struct {
	Dir  string
	What error // file, place and what is lost
}

func (e *DamagedError) Error() string {
	return fmt.Sprintf("%v; nothing was changed: put back a copy of the file in an empty folder, or save what can be read with: stance keep --repair --index %s", e.What, e.Dir)
}

func (e *DamagedError) Unwrap() error { return e.What }

// A MissingError says that an index has lost its notes and that there is nothing to save them from.
type MissingError struct{ Dir string }

func (e *MissingError) Error() string {
	return fmt.Sprintf("%s: the file of the notes is gone, and what was made from it is there: put back a copy of it; to begin anew, take another folder", filepath.Join(e.Dir, journalName))
}

// damaged makes the error of a folder's journal one that says what to do.
func damaged(dir string, err error) error {
	var what *journal.DamagedError
	var already *DamagedError
	if errors.As(err, &what) && !errors.As(err, &already) {
		return &DamagedError{dir, err}
	}
	return err
}

// A FormatError says that an index has a format that this program does not read.
type FormatError struct {
	Dir        string
	Have, Want int  // formats
	Notes      bool // the format is that of the notes
}

func (e *FormatError) Error() string {
	switch {
	case e.Have > e.Want:
		return fmt.Sprintf("%s: the index has format %d, this stance reads up to %d: use the newer stance that made it", e.Dir, e.Have, e.Want)
	case e.Notes && e.Have < journal.Unmarked:
		return fmt.Sprintf("%s: the index has format %d, this stance reads from %d on: keep the notes anew, with --index of another folder", e.Dir, e.Have, journal.Unmarked)
	}
	return fmt.Sprintf("%s: the index has format %d, want %d: bring it up to date with: stance keep --rebuild --index %s", e.Dir, e.Have, e.Want, e.Dir)
}

// An UnknownError says that a query asks for something that does not exist.
type UnknownError struct {
	What    string // "concept", "unit", …
	Value   string
	Nearest string // known value that may have been meant; empty if none is near
}

func (e *UnknownError) Error() string {
	if e.Nearest == "" {
		return fmt.Sprintf("unknown %s %q", e.What, e.Value)
	}
	return fmt.Sprintf("unknown %s %q, did you mean %q?", e.What, e.Value, e.Nearest)
}
