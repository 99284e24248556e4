package lexicon_test

import (
	"testing"

	"example.com/stance/lexicon"
)

// TestChange holds that a way of moving told to have changed gives the old way as past and the new one.
func TestChange(t *testing.T) {
	lex := newLexicon(t)
	type move struct {
		concept, method string
		staff           int
		time            lexicon.Time
		mood            lexicon.Mood
	}
	for _, c := range []struct {
		text string
		role lexicon.Role
		want []move
	}{
		{"Downgraded from 1PA pivot to 2PA sit-stand lift.", lexicon.Nurse, []move{
			{"move.transfer", "pivot", 1, lexicon.Before, lexicon.Report},
			{"move.transfer", "sit-stand-lift", 2, lexicon.Now, lexicon.Order},
		}},
		{"Transfers changed from ceiling lift x2 to a pivot with one.", lexicon.CareWorker, []move{
			{"move.transfer", "total-lift", 2, lexicon.Before, lexicon.Report},
			{"move.transfer", "pivot", 1, lexicon.Now, lexicon.Report},
		}},
		{"Walking progressed from A2 to A1 with frame.", lexicon.CareWorker, []move{
			{"move.walk", "", 2, lexicon.Before, lexicon.Report},
			{"move.walk", "", 1, lexicon.Now, lexicon.Report},
		}},
		{"Moved from bed to chair with 2.", lexicon.CareWorker, []move{
			{"move.transfer", "", 2, lexicon.Now, lexicon.Report},
		}},
	} {
		var got []move
		for _, s := range lex.Read(c.text, c.role).Statements {
			if s.Group() == "move" {
				n, _ := s.Staff.Get()
				got = append(got, move{s.Concept, s.Method, n, s.Time, s.Mood})
			}
		}
		if len(got) != len(c.want) {
			t.Errorf("%q: %v, want %v", c.text, got, c.want)
			continue
		}
		for i := range got {
			if got[i] != c.want[i] {
				t.Errorf("%q: move %d is %v, want %v", c.text, i, got[i], c.want[i])
			}
		}
	}
}
