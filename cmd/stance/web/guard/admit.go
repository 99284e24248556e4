package guard

import (
	"context"
	"net/http"
	"time"
)

// How many passwords are hashed at a time: each takes 64 MiB and four threads. One place is kept for devices that
// somebody has logged in with, which strangers in any number do not take.
const (
	hashingStrangers = 2
	hashingKnown     = 1
)

// mostStrangers is how many logins from devices that are not known may wait at a time: half of the connections
// that are served.
const mostStrangers = 128

// An attempt is one login on its way to having its password hashed. It counts as a wrong one until right, or
// dropped, says otherwise, so that many at once are no way around the delays.
type attempt struct {
	counted []count
	done    func() // gives back what it holds
}

// A count is where an attempt is counted as wrong.
type count struct {
	*throttle
	key string
}

// right forgets what was wrong before.
func (a *attempt) right() {
	for _, c := range a.counted {
		c.succeeded(c.key)
	}
}

// dropped takes the attempt out of the counts: it was not looked at, for no fault of the one who tried.
func (a *attempt) dropped() {
	for _, c := range a.counted {
		c.undo(c.key)
	}
}

// A delayed is an attempt that is not taken yet.
type delayed struct{ wait time.Duration }

func (*delayed) Error() string { return "too many wrong tries" }

// admit lets a login in to be hashed, when its turn has come. From a device with which the user has logged in before,
// only wrong tries on that device count. From any other, an address that has failed often is put off, and a
// name that many have failed at costs a delay, which grows but ends: whoever knows the password gets in after it,
// though thousands of addresses guess. So they may guess, two at a time and each after the delay; the length of
// passwords (MinPassword) makes that hopeless, where a lock would let anybody keep the owner out.
// An error is *delayed, or that of the context where no place became free in time.
func (g *Guard) admit(ctx context.Context, r *http.Request, name, stored string, from device) (*attempt, error) {
	now := g.Now()
	if from.knows(stored) {
		own := count{g.devices, from.id + " " + name}
		if wait, ok := own.try(own.key, now); !ok {
			return nil, &delayed{wait}
		}
		return g.hash(ctx, []count{own}, g.hashingKnown, 0)
	}
	address := count{g.addresses, addressKey(r.RemoteAddr)}
	if wait, ok := address.try(address.key, now); !ok {
		return nil, &delayed{wait}
	}
	select {
	case g.strangers <- struct{}{}:
	default:
		address.undo(address.key)
		return nil, context.DeadlineExceeded
	}
	user := count{g.users, name}
	a, err := g.hash(ctx, []count{address, user}, g.hashing, user.hold(name, now))
	if err != nil {
		<-g.strangers
		return nil, err
	}
	done := a.done
	a.done = func() { done(); <-g.strangers }
	return a, nil
}

// hash waits for the delay and then for a place, without a turn.
func (g *Guard) hash(ctx context.Context, counted []count, places chan struct{}, delay time.Duration) (*attempt, error) {
	a := &attempt{counted: counted, done: func() { <-places }}
	err := g.away(ctx, func() error {
		if err := g.pause(ctx, delay); err != nil {
			return err
		}
		select {
		case places <- struct{}{}:
			return nil
		case <-ctx.Done():
			return ctx.Err()
		}
	})
	if err != nil {
		a.dropped()
		return nil, err
	}
	return a, nil
}

// pause waits for so long, or until ctx ends.
func pause(ctx context.Context, d time.Duration) error {
	if d <= 0 {
		return ctx.Err()
	}
	timer := time.NewTimer(d)
	defer timer.Stop()
	select {
	case <-timer.C:
		return nil
	case <-ctx.Done():
		return ctx.Err()
	}
}
