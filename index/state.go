package index

import "slices"

// A kept is what the writer has to know of one note.
type kept struct {
	versions []address // the earliest first
	contents []content // of the versions
	rules    []string  // of the latest
}

func (k *kept) latest() address { return k.versions[len(k.versions)-1] }

// is reports whether a content is the note's now.
func (k *kept) is(c content) bool { return k != nil && k.contents[len(k.contents)-1] == c }

// has reports whether a content is, or was, the note's.
func (k *kept) has(c content) bool { return k != nil && slices.Contains(k.contents, c) }

// A state is what the ledger says so far, without texts. A resident's notes are read from the roster when they
// are first asked for.
type state struct {
	roster *roster
	notes  map[string]map[string]*kept // by resident and id
}

func newState(r *roster) *state {
	return &state{roster: r, notes: map[string]map[string]*kept{}}
}

// of are a resident's notes by id.
func (s *state) of(resident string) (map[string]*kept, error) {
	if notes, ok := s.notes[resident]; ok {
		return notes, nil
	}
	notes := map[string]*kept{}
	if err := s.roster.each(resident, func(sl slip) error {
		apply(notes, &sl)
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
	return notes[id], err
}

// apply takes a slip into a resident's notes, and gives the version that it replaces, if any.
func apply(notes map[string]*kept, s *slip) (replaced address, ok bool) {
	k := notes[string(s.id)]
	switch s.kind {
	case noteKind:
		if k == nil {
			k = &kept{}
			notes[string(s.id)] = k
		} else {
			replaced, ok = k.latest(), true
		}
		k.versions = append(k.versions, s.at)
		k.contents = append(k.contents, s.content)
		k.rules = nil // they were found on another text
	case rulesKind:
		if k != nil {
			k.rules = s.rules
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
	replaced, ok = apply(notes, &sl)
	return replaced, ok, nil
}

// touched are the versions whose search terms an item changes: a version itself and the one that it
// replaces, or the latest version of a note that gets rules.
func (s *state) touched(at address, item []byte) ([]address, error) {
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
		resident, id, _, err := parseRules(item)
		if err != nil {
			return nil, err
		}
		k, err := s.note(resident, id)
		if k == nil || err != nil {
			return nil, err
		}
		return []address{k.latest()}, nil
	}
	return nil, nil
}
