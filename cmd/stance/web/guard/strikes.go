package guard

import "sync"

// mostStrikes is how many wrong passwords in a row are told to whoever runs the program, and each so many more. NIST
// SP 800-63B-4 (2025), section 3.2.2, would have so many disable a password; here that would let whoever can reach
// the login keep its owner out, so they are told instead, and held up by a throttle.
const mostStrikes = 100

// strikes counts wrong passwords in a row for each stored password, so that a new one starts at none.
// It knows only users there are and lasts as long as the program. Use newStrikes.
type strikes struct {
	mu    sync.Mutex
	count map[string]int
}

func newStrikes() *strikes { return &strikes{count: map[string]int{}} }

// add counts a wrong password, and gives how many there have been in a row where that is to be told, else 0.
func (s *strikes) add(stored string) int {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.count[stored]++
	if n := s.count[stored]; n%mostStrikes == 0 {
		return n
	}
	return 0
}

// forget starts over after a right password.
func (s *strikes) forget(stored string) {
	s.mu.Lock()
	defer s.mu.Unlock()
	delete(s.count, stored)
}
