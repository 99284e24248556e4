package edit_test

import (
	"strings"
	"testing"

	"example.com/stance/lexicon/edit"
)

func TestDistance(t *testing.T) {
	long := strings.Repeat("walk", 20)
	for _, tt := range []struct {
		a, b        string
		limit, want int
	}{
		{"walker", "wlaker", 9, 1},
		{"walker", "walkers", 9, 1},
		{"walker", "Walker", 9, 1},
		{"kitten", "sitting", 9, 3},
		{"", "abc", 9, 3},
		{long, long + "er", 9, 2}, // beyond the table that needs no memory
		{"walk", "walkers", 2, 2}, // no more than the limit is asked
	} {
		if got := edit.Distance([]byte(tt.a), []byte(tt.b), tt.limit); got != tt.want {
			t.Errorf("Distance(%q, %q) = %d, want %d", tt.a, tt.b, got, tt.want)
		}
	}
	if got := edit.Distance([]rune("é"), []rune("e"), 9); got != 1 {
		t.Errorf("Distance of two letters = %d, want 1", got)
	}
}
