package guard

import "sync"

// mostStrikes is how many wrong passwords in a row disable a password: NIST SP 800-63B-4 (2025),
// section 3.2.2, allows no more. With the delays of a throttle that takes a guesser a working day.
const mostStrikes = 100

// strikes counts wrong passwords in a row for each stored password, so that a new one starts at none.
// It knows only users there are and lasts as long as the program. Use newStrikes.
type strikes struct {
	mu    sync.Mutex
	count map[string]int
}

func newStrikes() *strikes { return &strikes{count: map[string]int{}} }

// out reports whether the password is disabled.
func (s *strikes) out(stored string) bool {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.count[stored] >= mostStrikes
}

// add counts a wrong password, and reports whether this one disabled it.
func (s *strikes) add(stored string) bool {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.count[stored]++
	return s.count[stored] == mostStrikes
}

// forget starts over after a right password.
func (s *strikes) forget(stored string) {
	s.mu.Lock()
	defer s.mu.Unlock()
	delete(s.count, stored)
}
