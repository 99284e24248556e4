package cli

import (
	"context"
	"slices"

	"example.com/stance/lint/note"
)

// takenBack are the documents that files take back, in the order of the files.
type takenBack struct{ all []withdrawal }

// A withdrawal is one of them, and the file that has it.
type withdrawal struct {
	file string
	note.Withdrawal
}

func (t *takenBack) take(file string, w note.Withdrawal) { t.all = append(t.all, withdrawal{file, w}) }

// sent says that a document came behind what took it back.
func (t *takenBack) sent(n *note.Note) {
	t.all = slices.DeleteFunc(t.all, func(w withdrawal) bool {
		return w.Resident == n.Resident && slices.ContainsFunc(w.Numbers, func(number string) bool {
			return number == n.ID || slices.Contains(n.Numbers, number)
		})
	})
}

// withdraw takes documents out of those that are kept, and counts the notes that it is the end of. Documents that nobody
// has sent are told.
func (k *keeper) withdraw(ctx context.Context, all []withdrawal) (gone int, err error) {
	for _, w := range all {
		known, now, err := k.w.Withdraw(ctx, w.Resident, w.Numbers, k.now())
		if err != nil {
			return gone, err
		}
		if now {
			gone++
		}
		if !known && !w.Here {
			k.say("%s:%d: a document is withdrawn (MDM^T11) of which no note is kept", w.file, w.Line)
		}
	}
	return gone, nil
}
