package index

import (
	"context"
	"errors"

	"example.com/stance/lint/note"
)

// A Writer is a folder of kept notes, open for writing. It is for one goroutine at a time.
type Writer struct {
	dir string
	lex Reader
}

// OpenWriter opens the index in a folder for writing, and makes it if there is none. What an earlier
// writer was killed over is completed first. While another writer has it, the error is a *LockedError.
func OpenWriter(dir string, lex Reader) (*Writer, error) {
	return &Writer{dir: dir, lex: lex}, errors.New("index: being made")
}

// Close lets go of the folder.
func (w *Writer) Close() error { return nil }

// Stale reports whether notes were read with other words than those of the writer's lexicon.
func (w *Writer) Stale() bool { return false }

// Keep keeps the notes that next gives until io.EOF. A note is known by its resident and id: one that
// is in the index with the same content is skipped, and one with another content takes its place; the
// earlier version stays, marked. On an error the count tells what was kept before it.
func (w *Writer) Keep(ctx context.Context, next func() (note.Note, error), opt KeepOptions) (Kept, error) {
	return Kept{}, nil
}

// Remove erases all notes of a resident from the disk and gives their number, earlier versions included.
func (w *Writer) Remove(ctx context.Context, resident string) (int, error) { return 0, nil }

// Rebuild makes the search part of the index anew from the stored notes, as after a change of the
// lexicon, and gives their number, earlier versions included. progress, which may be nil, is told how many are done.
func (w *Writer) Rebuild(ctx context.Context, progress func(done int)) (int, error) { return 0, nil }

// SetRules sets the rules that fired on notes, by note id; where residents share an id, on each of them.
// Notes that are not in the map keep their rules.
func (w *Writer) SetRules(ctx context.Context, rules map[string][]string) error { return nil }

// Unjudged lists the residents with notes that were kept or changed since Judged was last called for
// them, sorted. It survives a crash.
func (w *Writer) Unjudged(ctx context.Context) ([]string, error) { return nil, nil }

// Judged sets the rules that fired on each of a resident's notes, by note id; a note that is not in the map
// has none. The resident is no longer unjudged.
func (w *Writer) Judged(ctx context.Context, resident string, rules map[string][]string) error {
	return nil
}

// Notes hands the notes of a range to yield, as Index.Notes does.
func (w *Writer) Notes(ctx context.Context, r Range, yield func(note.Note) error) error { return nil }
