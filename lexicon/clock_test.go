package lexicon_test

import (
	"testing"
	"time"

	"example.com/stance/lexicon"
)

// An hour told as on a clock face is the last such hour before the note was written, unless words or the other hours
// of the note say which half of the day it is in.
func TestClock(t *testing.T) {
	lex, err := lexicon.New()
	if err != nil {
		t.Fatal(err)
	}
	for _, tt := range []struct{ written, text, want string }{
		{"22:45", "Hoisted to bed at half eight.", "20:30"},
		{"22:45", "Hoisted to bed at 7.30.", "19:30"},
		{"14:10", "Hoisted to bed at 7.30.", "07:30"},
		{"06:40", "Hoisted to bed at ten with two staff.", "22:00"},
		{"06:40", "Hoisted to bed at two fifteen.", "02:15"},
		{"21:00", "Hoisted to bed at quarter to seven, two staff.", "18:45"},
		{"21:00", "Hoisted to bed at twenty past six, two staff.", "18:20"},
		{"21:00", "Hoisted to bed at 8 this morning.", "08:00"},
		{"13:55", "Hoisted to bed at 2.", "14:00"},
		{"21:00", "Come nine o'clock two of us hoisted her to bed.", "21:00"},
		{"15:00", "two forty am hoisted him to bed", "02:40"},
		{"22:00", "Slept until 1530. Hoisted to bed at 7.30.", "07:30"},
		{"22:00", "Slept until 1530. Hoisted to bed at half seven.", "19:30"},
		{"14:00", "To be hoisted to bed at 4.", "16:00"},
		{"14:00", "Hoisted to bed at two tables.", ""},
		{"14:00", "Hoisted to bed at one point.", ""},
		{"14:00", "Hoisted to bed by two, pain at 8/10.", ""},
		{"14:00", "Hoisted to bed, around 2 hours up.", ""},
	} {
		at, err := time.Parse("15:04", tt.written)
		if err != nil {
			t.Fatal(err)
		}
		got := lex.Read(tt.text, lexicon.CareWorker).WrittenAt(at).Statements
		if len(got) != 1 || got[0].Clock != tt.want || got[0].ClockFace {
			t.Errorf("%s %q: got %+v, want one statement at %q", tt.written, tt.text, got, tt.want)
		}
	}
}
