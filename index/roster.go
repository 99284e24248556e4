package index

import (
	"bytes"
	"errors"
	"maps"
	"os"
	"slices"
	"strings"
	"time"

	"example.com/stance/index/internal/journal"
)

// A roster is what the ledger says by resident, without words: up to some offset as the file of places has it,
// from there on in memory. Residents' slips are read when they are asked for, so that a day's work costs what
// the day's notes cost. Reading is safe for concurrent use.
type roster struct {
	places *places // nil: all is in memory
	known  map[string]known
	late   map[string][]byte // slips that are not in the places

	versions int
	items    int64 // all
	newItems int64 // not in the places
	end      int64 // of what was taken in of the ledger
	chain    uint32
}

// A known is what is at hand of a resident.
type known struct {
	versions int
	unjudged bool
}

func newRoster() *roster {
	return &roster{known: map[string]known{}, late: map[string][]byte{}, end: journal.Start}
}

// openRoster reads a ledger through. All of its blocks are looked at, so that damage is told whatever is asked
// for, but only those that the places lack are unpacked.
func openRoster(l *ledger) (*roster, error) {
	p, err := readPlaces(l.dir, l.Generation())
	if err == nil {
		r := newRoster()
		r.begin(p)
		err = r.scan(l)
		if !errors.Is(err, errPlaces) {
			return r, err
		}
	}
	r := newRoster()
	return r, r.scan(l)
}

// begin starts from places.
func (r *roster) begin(p *places) {
	r.places, r.items = p, p.items
	for resident, s := range p.of {
		r.known[resident] = known{s.versions, s.unjudged}
		r.versions += s.versions
	}
}

// scan takes in the blocks of a ledger. The error is errPlaces where the places were not made from it.
func (r *roster) scan(l *ledger) error {
	var u unpacker
	end, err := l.blocksFrom(journal.Start, func(offset int64, block []byte) error {
		if r.places != nil && offset <= r.places.applied {
			if offset == r.places.applied && r.chain != r.places.chain {
				return errPlaces
			}
			if offset < r.places.applied {
				r.chain = chained(r.chain, block)
				return nil
			}
		}
		r.chain = chained(r.chain, block)
		items, err := u.unpack(block)
		if err != nil {
			return l.odd(offset, err)
		}
		for i, item := range items {
			if err := r.take(addressOf(offset, i), item); err != nil {
				return l.odd(offset, err)
			}
		}
		return nil
	})
	if err == nil && r.places != nil && (end < r.places.applied || end == r.places.applied && r.chain != r.places.chain) {
		return errPlaces
	}
	r.end = end
	return err
}

// take takes in an item at an address.
func (r *roster) take(at address, item []byte) error {
	resident, err := residentOf(item)
	if err != nil {
		return err
	}
	slips, _, err := appendSlip(r.late[resident], at, item)
	if err != nil {
		return err
	}
	k := r.known[resident]
	switch kindOf(item) {
	case noteKind:
		k.versions++
		k.unjudged = true
		r.versions++
	case goneKind:
		k.unjudged = true
	case judgedKind:
		k.unjudged = false
	}
	r.late[resident], r.known[resident] = slips, k
	r.items++
	r.newItems++
	return nil
}

// A reader gives the slips of a resident; they are its own until it is called again.
type reader func(resident string) ([]byte, error)

// reading hands a reader to use. The error is errPlaces where the file of places was replaced meanwhile.
func (r *roster) reading(use func(reader) error) (err error) {
	var f *os.File
	if r.places != nil {
		if f, err = r.places.open(); err != nil {
			return err
		}
		defer f.Close()
	}
	var buf []byte
	return use(func(resident string) ([]byte, error) {
		buf = buf[:0]
		if r.places != nil {
			s := r.places.of[resident]
			buf = slices.Grow(buf, s.length+len(r.late[resident]))[:s.length]
			if _, err := f.ReadAt(buf, s.offset); err != nil && s.length > 0 {
				return nil, err
			}
		}
		buf = append(buf, r.late[resident]...)
		return buf, nil
	})
}

// each hands on the slips of a resident in the order of the ledger.
func (r *roster) each(resident string, use func(slip) error) error {
	if _, ok := r.known[resident]; !ok {
		return nil
	}
	return r.reading(func(read reader) error {
		slips, err := read(resident)
		for err == nil && len(slips) > 0 {
			var first []byte
			first, slips = nextSlip(slips)
			err = use(parseSlip(first))
		}
		return err
	})
}

// residents are those who have notes, withdrawn ones too, sorted.
func (r *roster) residents() []string {
	var all []string
	for resident, k := range r.known {
		if k.versions > 0 {
			all = append(all, resident)
		}
	}
	slices.Sort(all)
	return all
}

// unjudged are the residents to be judged, sorted.
func (r *roster) unjudged() []string {
	var all []string
	for resident, k := range r.known {
		if k.unjudged {
			all = append(all, resident)
		}
	}
	slices.Sort(all)
	return all
}

// A place is where a version lies.
type place struct {
	id   string
	unit string
	time time.Time
	at   address
	size int
	out  bool // of what is asked for
}

// placesOf are the latest versions of one resident's notes that a range takes in, by time and id.
func placesOf(slips []byte, r *Range) []place {
	// Most notes are out of most ranges, and only those with an id that is in have to be followed up.
	wanted := map[string]int{}
	var all []place
	for pass := range 2 {
		for rest := slips; len(rest) > 0; {
			var first []byte
			first, rest = nextSlip(rest)
			if first[0] != noteKind && first[0] != goneKind {
				continue
			}
			s := parseSlip(first)
			if !r.KeptBy.IsZero() && s.kept.After(r.KeptBy) {
				continue
			}
			in := s.kind == noteKind && r.in(&s)
			i, met := wanted[string(s.id)]
			switch {
			case s.kind == goneKind:
				if pass == 1 && met {
					all[i].out = true
				}
			case pass == 0 && in && !met:
				wanted[string(s.id)] = len(all)
				all = append(all, place{})
			case pass == 1 && met:
				all[i] = place{string(s.id), string(s.unit), s.time, s.at, s.size, !in} // a version that is out hides an earlier one that is in
			}
		}
		if len(wanted) == 0 {
			return nil
		}
	}
	all = slices.DeleteFunc(all, func(p place) bool { return p.out })
	slices.SortFunc(all, func(a, b place) int {
		if c := a.time.Compare(b.time); c != 0 {
			return c
		}
		return strings.Compare(a.id, b.id)
	})
	return all
}

// in reports whether a range takes a version in, whoever it is on.
func (r *Range) in(s *slip) bool {
	return (r.Unit == "" || bytes.Equal(s.unit, []byte(r.Unit))) &&
		(r.Since.IsZero() || !s.time.Before(r.Since)) && (r.Until.IsZero() || s.time.Before(r.Until))
}

// chosen are the residents of a range that have notes, sorted.
func (r *roster) chosen(in *Range) []string {
	if in.Residents == nil {
		return r.residents()
	}
	wanted := map[string]bool{}
	for _, resident := range in.Residents {
		if r.known[resident].versions > 0 {
			wanted[resident] = true
		}
	}
	return slices.Sorted(maps.Keys(wanted))
}
