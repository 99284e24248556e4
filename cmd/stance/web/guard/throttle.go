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
// the tablets of a ward may share one. An address, or a device, is put off for as long as five minutes; at a name,
// which anybody may fail at on purpose, an attempt is only held up, for less than a request may take.
const (
	freePerUser    = 3
	freePerAddress = 10
	freePerDevice  = 5

	firstDelay   = time.Second
	longestDelay = 5 * time.Minute
	firstHold    = 250 * time.Millisecond
	longestHold  = 4 * time.Second
	forgetAfter  = time.Hour // since the last failure
)

func newThrottle(free int) *throttle { return &throttle{free: free, seed: maphash.MakeSeed()} }

// try takes an attempt by key, or says how long to wait before the next. The attempt counts as failed
// until succeeded is called, so that many at once are no way around the delay.
func (t *throttle) try(key string, now time.Time) (wait time.Duration, ok bool) {
	t.mu.Lock()
	defer t.mu.Unlock()
	b := t.bucket(key)
	b.age(now)
	if wait := b.until.Sub(now); wait > 0 {
		return wait, false
	}
	b.fail(now)
	if over := b.failures - t.free; over >= 0 {
		b.until = now.Add(doubled(firstDelay, over, longestDelay))
	}
	return 0, true
}

// hold takes an attempt by key, and says how long it is to be held up. It counts as failed until succeeded is
// called.
func (t *throttle) hold(key string, now time.Time) time.Duration {
	t.mu.Lock()
	defer t.mu.Unlock()
	b := t.bucket(key)
	b.age(now)
	b.fail(now)
	if over := b.failures - t.free - 1; over >= 0 {
		return doubled(firstHold, over, longestHold)
	}
	return 0
}

func (b *bucket) age(now time.Time) {
	if now.Sub(b.last) >= forgetAfter {
		*b = bucket{}
	}
}

func (b *bucket) fail(now time.Time) {
	b.failures++
	b.last = now
}

// doubled is the first delay, doubled so often, up to the longest.
func doubled(first time.Duration, times int, longest time.Duration) time.Duration {
	if times >= 16 { // from there the shift alone is past the longest
		return longest
	}
	return min(first<<times, longest)
}

// undo takes an attempt back that was not looked at.
func (t *throttle) undo(key string) {
	t.mu.Lock()
	defer t.mu.Unlock()
	b := t.bucket(key)
	b.failures = max(0, b.failures-1)
	b.until = time.Time{}
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
