package plural_test

import (
	"testing"

	"example.com/stance/lint/plural"
)

func TestOf(t *testing.T) {
	for n, want := range map[int]string{0: "0 notes", 1: "1 note", 2: "2 notes", 1000: "1000 notes"} {
		if got := plural.Of(n, "note"); got != want {
			t.Errorf("Of(%d) = %q, want %q", n, got, want)
		}
	}
}
