package records

import (
	"sync"

	"example.com/stance/lexicon"
)

// memory reads notes and remembers what it read. Make one with both fields set; it is safe for
// concurrent use.
type memory struct {
	lex *lexicon.Lexicon

	mu    sync.RWMutex
	known map[written]lexicon.Reading
}

// written is what a reading depends on.
type written struct {
	text string
	role lexicon.Role
}

// mostReadings bounds what is remembered: some 20 notes a day of each of 100 residents over ten days,
// about 60 MB. Beyond it all is forgotten at once, which costs less than it saves as rarely as it happens.
const mostReadings = 20_000

// Read is the lexicon's reading of the text.
func (m *memory) Read(text string, role lexicon.Role) lexicon.Reading {
	k := written{text, role}
	m.mu.RLock()
	r, ok := m.known[k]
	m.mu.RUnlock()
	if ok {
		return r
	}
	r = m.lex.Read(text, role)
	m.mu.Lock()
	defer m.mu.Unlock()
	if len(m.known) >= mostReadings {
		clear(m.known)
	}
	m.known[k] = r
	return r
}

// guest reads one text more, which is not to be remembered.
type guest struct {
	kept    *memory
	text    string
	role    lexicon.Role
	reading lexicon.Reading // of text
}

// Read is the lexicon's reading of the text.
func (g guest) Read(text string, role lexicon.Role) lexicon.Reading {
	if text == g.text && role == g.role {
		return g.reading
	}
	return g.kept.Read(text, role)
}
