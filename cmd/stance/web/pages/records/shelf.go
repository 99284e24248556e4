package records

import (
	"context"
	"errors"
	"sync"
)

// A shelf keeps what takes long to work out, by what it was worked out from. Each thing is worked out once for all
// who ask for it meanwhile, and by none of their requests: whoever gives up waiting leaves the others theirs. Use
// newShelf.
type shelf[K comparable, V any] struct {
	most int // things kept
	wait func(ctx context.Context, done <-chan struct{}) error

	mu   sync.Mutex
	jobs map[K]*job[V]
}

// A job is a thing that is being worked out or, once done is closed, has been.
type job[V any] struct {
	done    chan struct{}
	stop    context.CancelFunc
	waiting int // who wants it
	value   V
	err     error
	panic   any
}

func newShelf[K comparable, V any](most int, wait func(context.Context, <-chan struct{}) error) *shelf[K, V] {
	return &shelf[K, V]{most: most, wait: wait, jobs: make(map[K]*job[V])}
}

// get gives what work gives, or has given. The context of work ends when nobody waits for it any more; an
// error is not kept. A panic of work is one of each who waited.
func (s *shelf[K, V]) get(ctx context.Context, k K, work func(context.Context) (V, error)) (V, error) {
	for {
		j := s.join(ctx, k, work)
		err := s.wait(ctx, j.done)
		s.leave(j)
		switch {
		case err != nil:
			var none V
			return none, err
		case j.panic != nil:
			panic(j.panic)
		case errors.Is(j.err, context.Canceled) && ctx.Err() == nil:
			continue // given up by others just before this one asked
		}
		return j.value, j.err
	}
}

func (s *shelf[K, V]) join(ctx context.Context, k K, work func(context.Context) (V, error)) *job[V] {
	s.mu.Lock()
	defer s.mu.Unlock()
	j, ok := s.jobs[k]
	if !ok {
		s.clear()
		ctx, stop := context.WithCancel(context.WithoutCancel(ctx))
		j = &job[V]{done: make(chan struct{}), stop: stop}
		s.jobs[k] = j
		go s.do(ctx, k, j, work)
	}
	j.waiting++
	return j
}

// clear makes room for one more. What is still being worked out stays.
func (s *shelf[K, V]) clear() {
	if len(s.jobs) < s.most {
		return
	}
	for k, j := range s.jobs {
		select {
		case <-j.done:
			delete(s.jobs, k)
		default:
		}
	}
}

func (s *shelf[K, V]) do(ctx context.Context, k K, j *job[V], work func(context.Context) (V, error)) {
	defer j.stop()
	defer close(j.done)
	defer func() {
		j.panic = recover()
		s.mu.Lock()
		defer s.mu.Unlock()
		if j.err != nil || j.panic != nil {
			delete(s.jobs, k)
		}
	}()
	j.value, j.err = work(ctx)
}

func (s *shelf[K, V]) leave(j *job[V]) {
	s.mu.Lock()
	defer s.mu.Unlock()
	if j.waiting--; j.waiting == 0 {
		j.stop() // of no effect on what is done
	}
}

// waitFor waits for done, or until ctx ends.
func waitFor(ctx context.Context, done <-chan struct{}) error {
	select {
	case <-done:
		return nil
	case <-ctx.Done():
		return ctx.Err()
	}
}

// A turn is taken by one job at a time.
type turn chan struct{}

// take waits for the turn; the job gives it back.
func (t turn) take(ctx context.Context) (giveBack func(), err error) {
	select {
	case t <- struct{}{}:
		return func() { <-t }, nil
	case <-ctx.Done():
		return nil, ctx.Err()
	}
}
