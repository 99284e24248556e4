package records_test

import (
	"context"
	"errors"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"example.com/stance/cmd/stance/web/pages/records"
	"example.com/stance/lint/shift"
)

// An audit is made once for all who ask for it at the same time. Whoever gives up waiting is let go at once, and
// the others get theirs.
func TestAuditIsMadeOnce(t *testing.T) {
	c := demo(t)
	asking := make(chan struct{}, 100)
	c.Wait = func(ctx context.Context, done <-chan struct{}) error {
		asking <- struct{}{}
		select {
		case <-done:
			return nil
		case <-ctx.Done():
			return ctx.Err()
		}
	}
	s := snapshot(t, c)
	<-asking
	begun, release := make(chan struct{}), make(chan struct{})
	var made atomic.Int32
	begin := sync.OnceFunc(func() {
		made.Add(1)
		close(begun)
		<-release
	})
	keep := func(string, string, shift.Key) bool { begin(); return true }

	patient, impatient := t.Context(), make(chan error, 20)
	giveUp, cancel := context.WithCancel(t.Context())
	got := make(chan *records.Audit, 20)
	for range 20 {
		go func() {
			_, err := s.Audit(giveUp, "view", time.Now(), keep)
			impatient <- err
		}()
		go func() {
			a, err := s.Audit(patient, "view", time.Now(), keep)
			if err != nil {
				t.Error(err)
			}
			got <- a
		}()
	}
	for range 40 {
		<-asking
	}
	<-begun
	cancel()
	for range 20 {
		if err := <-impatient; !errors.Is(err, context.Canceled) {
			t.Errorf("who gave up got %v, want %v", err, context.Canceled)
		}
	}
	close(release)
	first := <-got
	for range 19 {
		if a := <-got; a != first || a == nil {
			t.Error("two who asked at once got two audits")
		}
	}
	if a, err := s.Audit(t.Context(), "view", time.Now(), keep); err != nil || a != first || made.Load() != 1 {
		t.Errorf("asked again: another audit, or %v", err)
	}
}

// An audit that has begun is finished for the next who asks, even where all have given up; one that waits for
// another to be made is not begun for nobody.
func TestAuditOfNobody(t *testing.T) {
	c := demo(t)
	s := snapshot(t, c)
	begun, release := make(chan struct{}), make(chan struct{})
	begin := sync.OnceFunc(func() { close(begun); <-release })
	ctx, cancel := context.WithCancel(t.Context())
	ended := make(chan error)
	go func() {
		_, err := s.Audit(ctx, "begun", time.Now(), func(string, string, shift.Key) bool { begin(); return true })
		ended <- err
	}()
	<-begun
	go func() {
		_, err := s.Audit(ctx, "waits", time.Now(), func(string, string, shift.Key) bool { t.Error("an audit that nobody wants is made"); return true })
		ended <- err
	}()
	cancel()
	for range 2 {
		if err := <-ended; !errors.Is(err, context.Canceled) {
			t.Errorf("who gave up got %v, want %v", err, context.Canceled)
		}
	}
	close(release)
	again := false
	if _, err := s.Audit(t.Context(), "begun", time.Now(), func(string, string, shift.Key) bool { again = true; return true }); err != nil || again {
		t.Errorf("made again: %t, %v", again, err)
	}
	if _, err := s.Audit(t.Context(), "waits", time.Now(), func(string, string, shift.Key) bool { return true }); err != nil {
		t.Error(err)
	}
}
