package index

import "fmt"

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

// A FormatError says that an index has a format that this program does not read.
type FormatError struct {
	Dir        string
	Have, Want int // formats
}

func (e *FormatError) Error() string {
	if e.Have > e.Want {
		return fmt.Sprintf("%s: the index has format %d, this stance reads up to %d: use the newer stance that made it", e.Dir, e.Have, e.Want)
	}
	return fmt.Sprintf("%s: the index has format %d, want %d: bring it up to date with: stance keep --rebuild", e.Dir, e.Have, e.Want)
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
