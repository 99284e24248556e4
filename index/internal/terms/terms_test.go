package terms_test

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"example.com/stance/index/internal/terms"
	"example.com/stance/lexicon"
	"example.com/stance/testdata"
)

func TestBelow(t *testing.T) {
	known := []string{"aid.lift", "aid.total-lift", "aid.walker", "aid.walker-2w", "bearing.none", "move.lift", "lift", "total-lift", "liftgate"}
	for _, c := range []struct{ id, want string }{
		{"aid.walker", "aid.walker aid.walker-2w"},
		{"aid.walker-2w", "aid.walker-2w"},
		{"aid.lift", "aid.lift aid.total-lift"},
		{"aid", "aid.lift aid.total-lift aid.walker aid.walker-2w"},
		{"lift", "lift total-lift"},
		{"bearing.n", ""},
		{"", ""},
	} {
		if got := strings.Join(terms.Below(c.id, known), " "); got != c.want {
			t.Errorf("Below(%q) = %q, want %q", c.id, got, c.want)
		}
	}
}

// TestFactsAndAsks holds the terms under which notes are found against what asks accept, for what the
// demo home's notes say: a note has a term of an ask if and only if one of its statements meets it.
func TestFactsAndAsks(t *testing.T) {
	lex, err := lexicon.New()
	if err != nil {
		t.Fatal(err)
	}
	jsonl, err := testdata.Demo.ReadFile("demo/notes.jsonl")
	if err != nil {
		t.Fatal(err)
	}
	var notes [][]lexicon.Statement
	for line := range strings.Lines(string(jsonl)) {
		notes = append(notes, lex.Read(line, lexicon.CareWorker).Statements)
	}
	met := 0
	for _, a := range asks() {
		t.Run(fmt.Sprintf("%+v", a), func(t *testing.T) {
			now, rest := a.Terms()
			asked := append(now, rest...)
			for i, statements := range notes {
				facts := terms.Facts(statements)
				found := slices.ContainsFunc(asked, func(term string) bool {
					_, has := slices.BinarySearch(facts, term)
					return has
				})
				meets := slices.ContainsFunc(statements, func(s lexicon.Statement) bool { return a.Meets(&s) })
				if found != meets {
					t.Errorf("line %d: found %t, met %t", i+1, found, meets)
				}
				if meets {
					met++
				}
			}
		})
	}
	if met < 500 {
		t.Errorf("asks are met %d times: too few to tell", met)
	}
}

func asks() []terms.Ask {
	affirmed := func(a terms.Ask) terms.Ask { a.Affirmed = true; return a }
	any := func(a terms.Ask) terms.Ask {
		a.Affirmed, a.Negated, a.Before, a.Ahead, a.Others = true, true, true, true, true
		return a
	}
	var all []terms.Ask
	for _, a := range []terms.Ask{
		{Concepts: []string{"move.walk"}},
		{Concepts: []string{"move.transfer", "move.walk"}, Aids: []string{"belt", "walker-2w"}},
		{Aids: []string{"belt"}},
		{Aids: []string{"total-lift", "lift"}},
		{Concepts: []string{"move.transfer"}, Fields: map[string][]string{"staff": {"2"}}},
		{Concepts: []string{"move.transfer"}, Fields: map[string][]string{"staff": {"1", "2"}, "method": {"pivot"}}, Aids: []string{"belt"}},
		{Fields: map[string][]string{"side": {"left", "both"}, "limb": {"leg"}}},
		{Concepts: []string{"fall.fell", "sign.dizzy"}},
	} {
		negated := a
		negated.Negated = true
		all = append(all, affirmed(a), any(a), negated)
	}
	return all
}

// TestManyAids is a move with more aids than anyone uses: the terms must not grow by their choices.
func TestManyAids(t *testing.T) {
	s := lexicon.Statement{Concept: "move.transfer", Method: "pivot", Assist: "minimum", Staff: lexicon.Some(2), Side: "left", Limb: "leg"}
	for i := range 100 {
		s.Aids = append(s.Aids, fmt.Sprintf("aid%d", i))
	}
	if n := len(terms.Facts([]lexicon.Statement{s})); n > 2*101*32 {
		t.Errorf("%d terms", n)
	}
}

func TestSaid(t *testing.T) {
	got := terms.Said([]lexicon.Statement{
		{Concept: "move.walk", Aids: []string{"cane"}},
		{Concept: "fall.fell", Polarity: lexicon.Negated},
		{Concept: "move.stairs", Time: lexicon.Planned},
		{Concept: "aid.walker", Who: lexicon.Other},
		{Concept: "bearing.none", Time: lexicon.Before},
		{Concept: "aid.cane"},
		{Concept: "move.transfer", Method: "total-lift"},
	})
	if want := []string{"aid.cane", "aid.total-lift", "move.transfer", "move.walk"}; !slices.Equal(got, want) {
		t.Errorf("Said = %q, want %q", got, want)
	}
}

func TestWords(t *testing.T) {
	cutter, err := terms.NewCutter()
	if err != nil {
		t.Fatal(err)
	}
	const text = "Mrs B's walking: 2WW, w/c.\nÉtait fatiguée"
	var got []string
	for _, w := range cutter.Words(text) {
		got = append(got, w.Term)
		if strings.ToLower(text[w.Start:w.End]) != w.Plain {
			t.Errorf("word %+v is %q in the text", w, text[w.Start:w.End])
		}
	}
	if want := []string{"mrs", "b", "walk", "2ww", "w", "c", "était", "fatigué"}; !slices.Equal(got, want) {
		t.Errorf("Words = %q, want %q", got, want)
	}
	for word, want := range map[string]bool{"the": true, "no": false, "not": false, "walk": false} {
		if got := cutter.Small(word); got != want {
			t.Errorf("Small(%q) = %t, want %t", word, got, want)
		}
	}
}
