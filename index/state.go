package index

import (
	"slices"

	"example.com/stance/lint/note"
)

// A kept is what the writer has to know of one note.
type kept struct {
	versions []address // the earliest first
	contents []content // of the versions
	rules    []string  // of the latest
	gone     bool      // it was withdrawn since the latest
	numbers  []string  // that it goes by besides its id, the newest last
}

func (k *kept) latest() address { return k.versions[len(k.versions)-1] }

// is reports whether a content is the note's now.
func (k *kept) is(c content) bool { return k != nil && !k.gone && k.contents[len(k.contents)-1] == c }

// has reports whether a content is, or was, the note's.
func (k *kept) has(c content) bool { return k != nil && slices.Contains(k.contents, c) }

// number is what the newest version of the note goes by.
func (k *kept) number(id string) string {
	if n := len(k.numbers); n > 0 {
		return k.numbers[n-1]
	}
	return id
}

// The notes of a resident.
type keptNotes struct {
	by   map[string]*kept  // their id
	also map[string]string // id, by the other numbers that notes go by
}

// A state is what the ledger says so far, without texts. A resident's notes are read from the roster when they
// are first asked for.
type state struct {
	roster *roster
	notes  map[string]*keptNotes // by resident
}

func newState(r *roster) *state {
	return &state{roster: r, notes: map[string]*keptNotes{}}
}

// of are a resident's notes.
func (s *state) of(resident string) (*keptNotes, error) {
	if notes, ok := s.notes[resident]; ok {
		return notes, nil
	}
	notes := &keptNotes{by: map[string]*kept{}, also: map[string]string{}}
	if err := s.roster.each(resident, func(sl slip) error {
		notes.apply(&sl)
		return nil
	}); err != nil {
		return nil, err
	}
	s.notes[resident] = notes
	return notes, nil
}

// note is one note; nil for none.
func (s *state) note(resident, id string) (*kept, error) {
	notes, err := s.of(resident)
	if err != nil {
		return nil, err
	}
	return notes.by[id], nil
}

// id is the id of the note that goes by a number; the number itself where none does.
func (n *keptNotes) id(number string) string {
	if id, ok := n.also[number]; ok {
		return id
	}
	return number
}

// first is the id under which a note is kept: its own or, where it is a document that is known by a number, or that
// replaced one which is, that one's.
func (n *keptNotes) first(of *note.Note) string {
	for _, number := range of.Numbers {
		if id, ok := n.also[number]; ok {
			return id
		}
	}
	return n.id(of.ID)
}

// unknown are those of some numbers that the note of that id does not go by yet.
func (n *keptNotes) unknown(id string, numbers []string) []string {
	var fresh []string
	for _, number := range numbers {
		if number != id && n.also[number] != id && !slices.Contains(fresh, number) {
			fresh = append(fresh, number)
		}
	}
	return fresh
}

// outdated reports whether a note is a document whose place another has taken in what is kept.
func (k *kept) outdated(id string, n *note.Note) bool {
	number := n.ID
	if last := len(n.Numbers); last > 0 {
		number = n.Numbers[last-1]
	}
	return k != nil && number != k.number(id)
}

// apply takes a slip in, and gives the version that it replaces, if any.
func (n *keptNotes) apply(s *slip) (replaced address, ok bool) {
	k := n.by[string(s.id)]
	switch s.kind {
	case noteKind:
		if k == nil {
			k = &kept{}
			n.by[string(s.id)] = k
		} else {
			replaced, ok = k.latest(), true
		}
		k.versions = append(k.versions, s.at)
		k.contents = append(k.contents, s.content)
		k.rules, k.gone = nil, false // rules were found on another text
	case rulesKind:
		if k != nil {
			k.rules = s.rules
		}
	case goneKind:
		if k != nil {
			k.rules, k.gone = nil, true
		}
	case alsoKind:
		if k != nil { // it may have been lost to damage
			k.numbers = append(k.numbers, string(s.number))
			n.also[string(s.number)] = string(s.id)
		}
	}
	return replaced, ok
}

// take takes in an item that was added to the ledger, and gives the version that it replaces, if any.
func (s *state) take(at address, item []byte) (replaced address, ok bool, err error) {
	b, resident, err := appendSlip(nil, at, item)
	if err != nil {
		return 0, false, err
	}
	notes, err := s.of(resident)
	if err != nil {
		return 0, false, err
	}
	if err := s.roster.take(at, item); err != nil {
		return 0, false, err
	}
	first, _ := nextSlip(b)
	sl := parseSlip(first)
	replaced, ok = notes.apply(&sl)
	return replaced, ok, nil
}

// touched are the versions whose search terms an item changes: a version itself and the one that it
// replaces, or the latest version of a note that gets rules or is withdrawn.
func (s *state) touched(at address, item []byte) ([]address, error) {
	var resident, id string
	var err error
	switch kindOf(item) {
	case noteKind:
		h, err := parseHeading(item)
		if err != nil {
			return nil, err
		}
		k, err := s.note(string(h.resident), string(h.id))
		if err != nil {
			return nil, err
		}
		if i := slices.Index(k.versions, at); i > 0 {
			return k.versions[i-1 : i+1], nil
		}
		return []address{at}, nil
	case rulesKind:
		resident, id, _, err = parseRules(item)
	case goneKind:
		resident, id, _, err = parseGone(item)
	default:
		return nil, nil
	}
	if err != nil {
		return nil, err
	}
	k, err := s.note(resident, id)
	if k == nil || err != nil {
		return nil, err
	}
	return []address{k.latest()}, nil
}
