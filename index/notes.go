package index

import (
	"cmp"
	"context"
	"slices"

	"example.com/stance/lint/note"
)

// atOnce is how many bytes of notes are read before they are handed on. They lie in the order in which they were
// kept, packed with those of other residents, so that reading them one by one would unpack each block for
// each note in it.
const atOnce = 32 << 20

// notes hands the notes of a range to yield. It finds them without their texts, and then reads as many at a
// time, in the order in which they lie, as atOnce allows.
func notes(ctx context.Context, l *ledger, r *roster, in Range, yield func(note.Note) error) error {
	g := gatherer{ledger: l}
	err := r.reading(func(read reader) error {
		for _, resident := range r.chosen(&in) {
			if err := ctx.Err(); err != nil {
				return err
			}
			slips, err := read(resident)
			if err != nil {
				return err
			}
			found := placesOf(slips, &in)
			if in.Choose != nil {
				found = choose(resident, found, in.Choose)
			}
			for _, p := range found {
				g.add(p)
			}
			if g.size >= atOnce {
				if err := g.hand(ctx, yield); err != nil {
					return err
				}
			}
		}
		return nil
	})
	if err != nil {
		return err
	}
	return g.hand(ctx, yield)
}

// choose leaves those of a resident's notes that Range.Choose does.
func choose(resident string, found []place, take func(string, []Moment) []bool) []place {
	moments := make([]Moment, len(found))
	for i, p := range found {
		moments[i] = Moment{p.id, p.unit, p.time}
	}
	taken := take(resident, moments)
	var some []place
	for i, p := range found {
		if taken[i] {
			some = append(some, p)
		}
	}
	return some
}

// A gatherer collects places in the order of notes and reads them in the order of the ledger.
type gatherer struct {
	ledger *ledger
	places []place
	size   int
}

func (g *gatherer) add(p place) {
	g.places = append(g.places, p)
	g.size += p.size
}

// hand hands on the notes of the places, and forgets them.
func (g *gatherer) hand(ctx context.Context, yield func(note.Note) error) error {
	order := make([]int, len(g.places))
	for i := range order {
		order[i] = i
	}
	slices.SortFunc(order, func(a, b int) int { return cmp.Compare(g.places[a].at, g.places[b].at) })
	notes := make([]note.Note, len(g.places))
	for n, i := range order {
		if n%1000 == 0 && ctx.Err() != nil {
			return ctx.Err()
		}
		item, err := g.ledger.read(g.places[i].at)
		if err != nil {
			return err
		}
		v, err := parseVersion(item)
		if err != nil {
			return err
		}
		notes[i] = v.note
	}
	g.places, g.size = g.places[:0], 0
	for _, n := range notes {
		if err := ctx.Err(); err != nil {
			return err
		}
		if err := yield(n); err != nil {
			return err
		}
	}
	return nil
}
