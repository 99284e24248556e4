package lexicon_test

import (
	"testing"

	"github.com/google/go-cmp/cmp"

	"example.com/stance/lexicon"
)

// TestExplain holds what is told of words that gave no statement, or that were read as others.
func TestExplain(t *testing.T) {
	lex := newLexicon(t)
	for _, c := range []struct {
		text   string
		passed []string // "words: term: why"
		mended []string // "words: as"
	}{
		{text: "Walked 10 m with her frame."},
		{text: "Fell asleep in the lounge.", passed: []string{"Fell asleep: ignore.words: looks-like"}},
		{text: "Needed x1 assist for breakfast.", passed: []string{"x1 assist: staff.n: unclaimed"}},
		{text: "Her temp has fallen.", passed: []string{"temp: vital.temperature: settled", "fallen: fall.fell: unclaimed"}},
		{text: "Transferred to the comodde x2.", mended: []string{"comodde: comode"}},
		{text: "Denies dizzyness.", mended: nil},
		{text: "Walked to wheelchiar.", mended: []string{"wheelchiar: wheelchair"}},
		{text: ""},
	} {
		e := lex.Explain(c.text, lexicon.CareWorker)
		var passed, mended []string
		for _, p := range e.Passed {
			if p.Label == "" || p.Span.Line == 0 {
				t.Errorf("%q: %s has no label or no place", c.text, p.Term)
			}
			passed = append(passed, c.text[p.Span.Start:p.Span.End]+": "+p.Term+": "+string(p.Why))
		}
		for _, m := range e.Mended {
			mended = append(mended, c.text[m.Span.Start:m.Span.End]+": "+m.As)
		}
		if diff := cmp.Diff(c.passed, passed); diff != "" {
			t.Errorf("%q passed over (-want +got):\n%s", c.text, diff)
		}
		if diff := cmp.Diff(c.mended, mended); diff != "" {
			t.Errorf("%q mended (-want +got):\n%s", c.text, diff)
		}
		if diff := cmp.Diff(lex.Read(c.text, lexicon.CareWorker), e.Reading, cmp.AllowUnexported(lexicon.Optional[int]{}, lexicon.Optional[float64]{})); diff != "" {
			t.Errorf("%q is read otherwise when it is explained (-read +explained):\n%s", c.text, diff)
		}
	}
}
