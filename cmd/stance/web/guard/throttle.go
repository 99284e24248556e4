package guard

import (
	"hash/maphash"
	"sync"
	"time"
)

// A throttle makes whoever fails wait, longer with each failure: NIST SP 800-63B-4 (2025), section
// 3.2.2, names such delays among the ways to limit guessing. Its memory does not grow: what fails, a
// user's name or an address, falls by a keyed hash into one of a fixed number of buckets. Two that
// share one slow each other down, which nobody outside can bring about on purpose.
type throttle struct {
	free int // failures that cost nothing
	seed maphash.Seed

	mu      sync.Mutex
	buckets [4096]bucket
}

type bucket struct {
	failures int
	until    time.Time // no attempt is taken before
	last     time.Time // of the last failure
}

// Common practice: a few slips of the finger cost nothing, more from an address than for a name since
// the tablets of a ward may share one, and the longest delay is short enough that somebody locked out
// on purpose can still work.
const (
	freePerUser    = 3
	freePerAddress = 10

	firstDelay   = time.Second
	longestDelay = 5 * time.Minute
	forgetAfter  = time.Hour // since the last failure
)

func newThrottle(free int) *throttle { return &throttle{free: free, seed: maphash.MakeSeed()} }

// try takes an attempt by key, or says how long to wait before the next. The attempt counts as failed
// until succeeded is called, so that many at once are no way around the delay.
func (t *throttle) try(key string, now time.Time) (wait time.Duration, ok bool) {
	t.mu.Lock()
	defer t.mu.Unlock()
	b := t.bucket(key)
	if now.Sub(b.last) >= forgetAfter {
		*b = bucket{}
	}
	if wait := b.until.Sub(now); wait > 0 {
		return wait, false
	}
	b.failures++
	b.last = now
	if over := b.failures - t.free; over >= 0 {
		delay := longestDelay
		if over < 16 { // beyond it the shift alone is past the longest
			delay = min(firstDelay<<over, longestDelay)
		}
		b.until = now.Add(delay)
	}
	return 0, true
}

// succeeded forgets the failures of key.
func (t *throttle) succeeded(key string) {
	t.mu.Lock()
	defer t.mu.Unlock()
	*t.bucket(key) = bucket{}
}

func (t *throttle) bucket(key string) *bucket {
	return &t.buckets[maphash.String(t.seed, key)%uint64(len(t.buckets))]
}
