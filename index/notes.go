package index

import (
	"bytes"
	"cmp"
	"context"
	"slices"
	"strings"
	"time"

	"example.com/stance/index/internal/journal"
	"example.com/stance/lint/note"
)

// A place is where a version stands in the order of Index.Notes.
type place struct {
	resident, id string
	time         time.Time
	at           address
	out          bool // of the range
}

// notes hands the notes of a range to yield: it finds them in one pass over the ledger, in which it
// remembers no text, and reads them one by one in order.
func notes(ctx context.Context, l *ledger, r Range, yield func(note.Note) error) error {
	var wanted map[string]bool
	if r.Residents != nil {
		wanted = map[string]bool{}
		for _, resident := range r.Residents {
			wanted[resident] = true
		}
	}
	type key struct{ resident, id string }
	latest := map[key]place{}
	_, err := l.scan(journal.Start, func(at address, item []byte) error {
		if kindOf(item) != noteKind {
			return nil
		}
		h, err := parseHeading(item)
		if err != nil {
			return err
		}
		if wanted != nil && !wanted[string(h.resident)] || !r.KeptBy.IsZero() && h.kept.After(r.KeptBy) {
			return nil
		}
		p := place{
			resident: string(h.resident), id: string(h.id), time: h.time, at: at,
			// A version that is out hides an earlier one that is in.
			out: r.Unit != "" && !bytes.Equal(h.unit, []byte(r.Unit)) ||
				!r.Since.IsZero() && h.time.Before(r.Since) ||
				!r.Until.IsZero() && !h.time.Before(r.Until),
		}
		latest[key{p.resident, p.id}] = p
		return ctx.Err()
	})
	if err != nil {
		return err
	}
	ordered := make([]place, 0, len(latest))
	for _, p := range latest {
		if !p.out {
			ordered = append(ordered, p)
		}
	}
	slices.SortFunc(ordered, func(a, b place) int {
		return cmp.Or(strings.Compare(a.resident, b.resident), a.time.Compare(b.time), strings.Compare(a.id, b.id))
	})
	for _, p := range ordered {
		if err := ctx.Err(); err != nil {
			return err
		}
		item, err := l.read(p.at)
		if err != nil {
			return err
		}
		v, err := parseVersion(item)
		if err != nil {
			return err
		}
		if err := yield(v.note); err != nil {
			return err
		}
	}
	return nil
}

// residents are those that have notes, sorted.
func residents(ctx context.Context, l *ledger) ([]string, error) {
	seen := map[string]bool{}
	_, err := l.scan(journal.Start, func(_ address, item []byte) error {
		if kindOf(item) != noteKind {
			return nil
		}
		h, err := parseHeading(item)
		if err == nil && !seen[string(h.resident)] {
			seen[string(h.resident)] = true
		}
		if err != nil {
			return err
		}
		return ctx.Err()
	})
	if err != nil {
		return nil, err
	}
	all := make([]string, 0, len(seen))
	for r := range seen {
		all = append(all, r)
	}
	slices.Sort(all)
	return all, nil
}
