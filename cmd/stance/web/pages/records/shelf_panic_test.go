package records

import (
	"context"
	"testing"
)

// A panic in what is worked out is one of whoever asked, so that it is told where requests are, and nothing is kept
// of it.
func TestShelfPanics(t *testing.T) {
	s := newShelf[string, int](1, waitFor)
	func() {
		defer func() {
			if p := recover(); p != "Zebra" {
				t.Errorf("recovered %v, want the panic of the work", p)
			}
		}()
		s.get(t.Context(), "k", func(context.Context) (int, error) { panic("Zebra") })
	}()
	if v, err := s.get(t.Context(), "k", func(context.Context) (int, error) { return 7, nil }); v != 7 || err != nil {
		t.Errorf("after it: %d, %v, want 7", v, err)
	}
}
