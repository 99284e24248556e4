package sound_test

import (
	"testing"

	"example.com/stance/lexicon/internal/sound"
)

func TestKey(t *testing.T) {
	s := sound.New()
	for _, c := range []struct {
		a, b string
		same bool
	}{
		{"bored", "board", true},
		{"aide", "aid", true},
		{"write", "right", true},
		{"rite", "right", true},
		{"gate", "gait", true},
		{"cain", "cane", true},
		{"heal", "heel", true},
		{"nee", "knee", true},
		{"wait", "weight", true},
		{"bare", "bear", true},
		{"tow", "toe", true},
		{"at", "aid", false},
		{"add", "aid", false},
		{"bed", "belt", false},
		{"bird", "board", false},
		{"lift", "left", false},
		{"leg", "lag", false},
		{"rate", "right", false},
	} {
		if got := s.Key(c.a) == s.Key(c.b); got != c.same {
			t.Errorf("%s and %s alike: %v, want %v (%q, %q)", c.a, c.b, got, c.same, s.Key(c.a), s.Key(c.b))
		}
	}
}

func TestKeyOfAnything(t *testing.T) {
	s := sound.New()
	for _, w := range []string{"", "e", "ee", "wr", "eee", "'s", "é"} {
		s.Key(w) // must not panic
	}
}
