package terms

import (
	"github.com/blevesearch/bleve/v2/analysis"
	"github.com/blevesearch/bleve/v2/analysis/lang/en"
	"github.com/blevesearch/bleve/v2/analysis/token/lowercase"
	"github.com/blevesearch/bleve/v2/analysis/tokenizer/unicode"
)

// A Word is a word of a text.
type Word struct {
	Term       string // its stem in lower case, under which it is found
	Plain      string // in lower case, as written
	Start, End int    // bytes of the text
}

// A Cutter cuts texts into words. It is safe for concurrent use.
type Cutter struct {
	tokenizer analysis.Tokenizer
	lower     analysis.TokenFilter
	stem      []analysis.TokenFilter
	small     analysis.TokenMap
}

// NewCutter makes a Cutter for English.
func NewCutter() (*Cutter, error) {
	small := analysis.NewTokenMap()
	if err := small.LoadBytes(en.EnglishStopWords); err != nil {
		return nil, err
	}
	for _, meant := range []string{"no", "not", "nor", "without", "cannot"} {
		delete(small, meant) // they turn what a note says
	}
	return &Cutter{
		tokenizer: unicode.NewUnicodeTokenizer(),
		lower:     lowercase.NewLowerCaseFilter(),
		stem:      []analysis.TokenFilter{en.NewPossessiveFilter(), en.NewEnglishStemmerFilter()},
		small:     small,
	}, nil
}

// Words are the words of a text in order, by the boundaries of Unicode Standard Annex 29, with the
// endings of English taken off.
func (c *Cutter) Words(text string) []Word {
	tokens := c.Tokens(text)
	words := make([]Word, len(tokens))
	for i, t := range tokens {
		words[i] = Word{Term: string(t.Term), Start: t.Start, End: t.End}
	}
	for i, t := range c.lower.Filter(c.tokenizer.Tokenize([]byte(text))) {
		words[i].Plain = string(t.Term)
	}
	return words
}

// Tokens are the words of a text as bleve takes them.
func (c *Cutter) Tokens(text string) analysis.TokenStream {
	tokens := c.lower.Filter(c.tokenizer.Tokenize([]byte(text)))
	for _, f := range c.stem {
		tokens = f.Filter(tokens)
	}
	return tokens
}

// Small reports whether a word in lower case is one of those that say little by themselves, such as "the".
func (c *Cutter) Small(word string) bool { return c.small[word] }
