package index

import (
	"errors"
	"fmt"
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

// A FormatError says that an index has a format that this program does not read.
type FormatError struct {
	Dir        string
	Have, Want int  // formats
	Notes      bool // the format is that of the notes, which no Rebuild changes
}

func (e *FormatError) Error() string {
	switch {
	case e.Have > e.Want:
		return fmt.Sprintf("%s: the index has format %d, this stance reads up to %d: use the newer stance that made it", e.Dir, e.Have, e.Want)
	case e.Notes:
		return fmt.Sprintf("%s: the index has format %d, this stance reads from %d on: keep the notes anew, with --index of another folder", e.Dir, e.Have, e.Want)
	}
	return fmt.Sprintf("%s: the index has format %d, want %d: bring it up to date with: stance keep --rebuild --index DIR", e.Dir, e.Have, e.Want)
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
