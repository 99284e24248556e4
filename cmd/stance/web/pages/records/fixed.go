package records

import (
	"context"

	"example.com/stance/lint/note"
)

// Fixed is a Source of notes that do not change.
type Fixed []note.Note

// Stamp is always the same.
func (Fixed) Stamp(context.Context) (string, error) { return "fixed", nil }

// Notes hands over the notes in their order.
func (f Fixed) Notes(ctx context.Context, yield func(note.Note) error) error {
	for _, n := range f {
		if err := ctx.Err(); err != nil {
			return err
		}
		if err := yield(n); err != nil {
			return err
		}
	}
	return nil
}
