package terms

import (
	"slices"
	"strings"
	"testing"

	"github.com/blevesearch/bleve/v2/analysis"

	"example.com/stance/testdata"
)

// TestStemsRemembered holds stems that are remembered against those of bleve's filters, one text after another.
func TestStemsRemembered(t *testing.T) {
	c, err := NewCutter()
	if err != nil {
		t.Fatal(err)
	}
	jsonl, err := testdata.Demo.ReadFile("demo/notes.jsonl")
	if err != nil {
		t.Fatal(err)
	}
	texts := append(slices.Collect(strings.Lines(string(jsonl))), "The resident's walker’s wheels; James' JAMES walking WALKED.", strings.Repeat("walkings", 9), "")
	for range 2 {
		for _, text := range texts {
			want := c.plain(text)
			for _, f := range c.stem {
				want = f.Filter(want)
			}
			got := c.Tokens(text)
			if !slices.EqualFunc(got, want, func(a, b *analysis.Token) bool {
				return string(a.Term) == string(b.Term) && a.Start == b.Start && a.End == b.End && a.Position == b.Position
			}) {
				t.Fatalf("Tokens(%q) = %v, want %v", text, got, want)
			}
		}
	}
	if len(c.stems) < 1000 {
		t.Errorf("only %d stems are remembered", len(c.stems))
	}
}
