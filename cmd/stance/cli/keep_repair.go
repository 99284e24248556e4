package cli

import (
	"path/filepath"
	"time"

	"example.com/stance/index"
	"example.com/stance/lint/plural"
)

// repair saves what can be read of a damaged index, and reports whether there was anything to repair.
func (a *app) repair(opt *keepOptions, zone *time.Location) (bool, error) {
	r, err := index.Repair(opt.index)
	if err != nil {
		return false, indexError(err)
	}
	k := &keeper{app: a, quiet: opt.quiet}
	if r.Damage == nil {
		return false, k.tell("%s: the notes are as they were kept; nothing was changed.", opt.index)
	}
	lines := []string{
		r.Damage.Error() + ".",
		plural.Of(r.Notes, "note") + " of " + plural.Of(r.Residents, "resident") + " saved, earlier versions included.",
	}
	for _, l := range r.Lost {
		lines = append(lines, "Lost: "+plural.Of(int(l.To-l.From), "byte")+between(&l, zone)+".")
	}
	if len(r.Lost) > 0 {
		lines = append(lines, "Keep the files of that time again: what was saved is skipped, and a note whose newest version was",
			"lost, and which now stands as it was before, is amended again.")
	}
	lines = append(lines, "The damaged file is kept as "+filepath.Base(r.Kept)+"; delete it once it is not needed any more.")
	for _, l := range lines {
		if err := k.tell("%s", l); err != nil {
			return true, err
		}
	}
	return true, nil
}

// between tells when the notes around a loss were kept.
func between(l *index.Loss, zone *time.Location) string {
	const form = "2 January 2006, 15:04"
	switch {
	case l.After.IsZero() && l.Before.IsZero():
		return ""
	case l.After.IsZero():
		return ", before notes kept on " + l.Before.In(zone).Format(form)
	case l.Before.IsZero():
		return ", after notes kept on " + l.After.In(zone).Format(form)
	}
	return ", between notes kept on " + l.After.In(zone).Format(form) + " and on " + l.Before.In(zone).Format(form)
}
