package spell_test

import (
	"testing"

	"example.com/stance/lexicon/internal/spell"
)

func TestMeant(t *testing.T) {
	var a spell.Accent
	for _, c := range [][2]string{{"-in", "ing"}, {"d-", "th"}, {"-oo-", "ou"}, {"-oo-", "ow"}, {"-n", "nd"}} {
		a.Add(c[0], c[1])
	}
	words := map[string]bool{"sitting": true, "them": true, "about": true, "down": true, "stand": true}
	for said, want := range map[string]string{
		"sittin": "sitting", "dem": "them", "aboot": "about", "doon": "down", "stan": "stand",
		"cabin": "", "moon": "", "in": "", "": "", "down": "",
	} {
		if got := a.Meant(said, func(w string) bool { return words[w] }); got != want {
			t.Errorf("Meant(%q) = %q, want %q", said, got, want)
		}
	}
}
