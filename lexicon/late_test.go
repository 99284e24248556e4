package lexicon_test

import (
	"testing"

	"example.com/stance/lexicon"
)

func TestLate(t *testing.T) {
	lex := newLexicon(t)
	for text, want := range map[string]string{
		"Late entry for 1500: found on the floor of the closet.":   "15:00",
		"LATE ENTRY 09:30 - walked 10 m with FWW.":                 "09:30",
		"L/E 2115 transferred x2 with the ceiling lift.":           "21:15",
		"Late entry: walked to the toilet at 1500.":                "", // the time is the walk's
		"Late entry. Slept well.":                                  "",
		"Up late. Entry made at 1500.":                             "",
		"Slept well until 0500, then to the toilet x1. Late entry": "",
	} {
		if got := lex.Read(text, lexicon.CareWorker).Late; got != want {
			t.Errorf("%q is late for %q, want %q", text, got, want)
		}
	}
}
