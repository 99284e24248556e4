package fleet

import (
	"slices"

	"example.com/stance/lint"
	"example.com/stance/lint/note"
)

// acrossFn looks for copies among the notes of one shift of a home.
type acrossFn struct {
	Job Job

	read *reading
	work *lint.Piecework
}

func (f *acrossFn) Setup() error {
	var err error
	if f.read, err = f.Job.reading(); err != nil {
		return err
	}
	f.work, err = f.read.shifts()
	return err
}

// ProcessElement sends each resident of the shift its marks.
func (f *acrossFn) ProcessElement(shift string, in func(*[]byte) bool, marks func(string, []byte)) error {
	home, _, err := unkey(shift)
	if err != nil {
		return err
	}
	all, err := unpackNotes(in, f.read)
	if err != nil {
		return err
	}
	on := notesOf(all)
	found, several := f.work.Across(on)
	if !several {
		return nil
	}
	k := f.work.ShiftOf(&on[0])
	told := map[string]bool{}
	for i, n := range on {
		if !told[n.Resident] {
			told[n.Resident] = true
			marks(key(home, n.Resident), packShared(k.Day, k.Slot))
		}
		if c, ok := found[i]; ok {
			marks(key(home, n.Resident), packCopy(&copied{all[i].origin, c.Of, c.Share}, f.read.zone))
		}
	}
	return nil
}

// unpackNotes gives notes in the order of their files.
func unpackNotes(in func(*[]byte) bool, r *reading) ([]sent, error) {
	var all []sent
	for b := []byte(nil); in(&b); {
		s, err := unpackNote(b, r.zone)
		if err != nil {
			return nil, err
		}
		all = append(all, s)
	}
	slices.SortFunc(all, func(a, b sent) int { return a.compare(b.origin) })
	return all, nil
}

func notesOf(all []sent) []note.Note {
	notes := make([]note.Note, len(all))
	for i := range all {
		notes[i] = all[i].note
	}
	return notes
}
