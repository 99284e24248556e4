package nearest_test

import (
	"testing"

	"example.com/stance/lint/nearest"
)

func TestOf(t *testing.T) {
	known := []string{"two-person", "two-person-pivot", "one-person", "board", "walker-2w", "walker-4w", "off"}
	tests := []struct{ word, want string }{
		{"two-persn", "two-person"},
		{"tow-person", "two-person"}, // neighbours swapped
		{"Two-Person-Pivto", "two-person-pivot"},
		{"boards", "board"},
		{"walker-3w", "walker-2w"}, // the first of two as near
		{"of", "off"},
		{"on", ""}, // two edits in two letters
		{"hoist", ""},
		{"", ""},
		{"board", "board"},
	}
	for _, tt := range tests {
		got, ok := nearest.Of(tt.word, known)
		if got != tt.want || ok != (tt.want != "") {
			t.Errorf("Of(%q) = %q, %t, want %q", tt.word, got, ok, tt.want)
		}
	}
}

func TestHint(t *testing.T) {
	known := []string{"rules", "roles"}
	for word, want := range map[string]string{"rulse": ` (nearest is "rules")`, "windows": ""} {
		if got := nearest.Hint(word, known); got != want {
			t.Errorf("Hint(%q) = %q, want %q", word, got, want)
		}
	}
}

func TestDistance(t *testing.T) {
	for _, tt := range []struct {
		a, b string
		want int
	}{
		{"", "", 0}, {"", "abc", 3}, {"abc", "", 3}, {"kitten", "sitting", 3}, {"Walker", "walker", 0}, {"wlaker", "walker", 1}, {"é", "e", 1},
	} {
		if got := nearest.Distance(tt.a, tt.b); got != tt.want {
			t.Errorf("Distance(%q, %q) = %d, want %d", tt.a, tt.b, got, tt.want)
		}
	}
}
