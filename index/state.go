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

// A state is what the ledger says so far, without texts.
type state struct {
	notes    map[string]map[string]*kept // by resident and id
	unjudged map[string]bool             // residents
	versions int
}

func newState() *state {
	return &state{notes: map[string]map[string]*kept{}, unjudged: map[string]bool{}}
}

func (s *state) note(resident, id string) *kept { return s.notes[resident][id] }

// add takes in the version at an address, and gives the one that it replaces, if any.
func (s *state) add(resident, id string, at address, c content) (replaced address, ok bool) {
	ofResident := s.notes[resident]
	if ofResident == nil {
		ofResident = map[string]*kept{}
		s.notes[resident] = ofResident
	}
	k := ofResident[id]
	if k == nil {
		k = &kept{}
		ofResident[id] = k
	} else {
		replaced, ok = k.latest(), true
	}
	k.versions = append(k.versions, at)
	k.contents = append(k.contents, c)
	k.rules = nil // they were found on another text
	s.unjudged[resident] = true
	s.versions++
	return replaced, ok
}

// apply takes in any item of the ledger.
func (s *state) apply(at address, item []byte) error {
	switch kindOf(item) {
	case noteKind:
		h, err := parseHeading(item)
		if err != nil {
			return err
		}
		s.add(string(h.resident), string(h.id), at, digest(h.content))
	case rulesKind:
		resident, id, rules, err := parseRules(item)
		if err != nil {
			return err
		}
		if k := s.note(resident, id); k != nil {
			k.rules = rules
		}
	case judgedKind:
		resident, err := parseJudged(item)
		if err != nil {
			return err
		}
		delete(s.unjudged, resident)
	default:
		return errRecord
	}
	return nil
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
		k := s.notes[string(h.resident)][string(h.id)]
		if i := slices.Index(k.versions, at); i > 0 {
			return k.versions[i-1 : i+1], nil
		}
		return []address{at}, nil
	case rulesKind:
		resident, id, _, err := parseRules(item)
		if err != nil {
			return nil, err
		}
		if k := s.note(resident, id); k != nil {
			return []address{k.latest()}, nil
		}
	}
	return nil, nil
}

// unjudgedSorted are the residents to be judged.
func (s *state) unjudgedSorted() []string {
	residents := make([]string, 0, len(s.unjudged))
	for r := range s.unjudged {
		residents = append(residents, r)
	}
	slices.Sort(residents)
	return residents
}
