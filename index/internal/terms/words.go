package terms

import (
	"bytes"
	"sync"

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

	mu    sync.RWMutex
	stems map[string][]byte // of words met before, in lower case
}

// The words of which stems are remembered: a home uses some thousand, and what is long or rare is a number or a slip.
const (
	mostStems   = 1 << 15
	longestWord = 32
)

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
		stems:     map[string][]byte{},
	}, nil
}

// Words are the words of a text in order, by the boundaries of Unicode Standard Annex 29, with the
// endings of English taken off.
func (c *Cutter) Words(text string) []Word {
	tokens := c.plain(text)
	words := make([]Word, len(tokens))
	for i, t := range tokens {
		words[i] = Word{Plain: string(t.Term), Start: t.Start, End: t.End}
	}
	for i, t := range c.stemmed(tokens) {
		words[i].Term = string(t.Term)
	}
	return words
}

// Tokens are the words of a text as bleve takes them. The terms must not be changed.
func (c *Cutter) Tokens(text string) analysis.TokenStream { return c.stemmed(c.plain(text)) }

// plain are the words of a text in lower case.
func (c *Cutter) plain(text string) analysis.TokenStream {
	return c.lower.Filter(c.tokenizer.Tokenize([]byte(text)))
}

// stemmed takes the endings off tokens. Each is stemmed by itself, so that those of words met before are remembered.
func (c *Cutter) stemmed(tokens analysis.TokenStream) analysis.TokenStream {
	var unknown analysis.TokenStream
	c.mu.RLock()
	for _, t := range tokens {
		if stem, ok := c.stems[string(t.Term)]; ok {
			t.Term = stem
		} else {
			unknown = append(unknown, t)
		}
	}
	c.mu.RUnlock()
	if len(unknown) == 0 {
		return tokens
	}
	words := make([]string, len(unknown))
	for i, t := range unknown {
		words[i] = string(t.Term)
	}
	for _, f := range c.stem {
		f.Filter(unknown) // in their place
	}
	c.mu.Lock()
	defer c.mu.Unlock()
	for i, t := range unknown {
		if len(c.stems) < mostStems && len(words[i]) <= longestWord {
			c.stems[words[i]] = bytes.Clone(t.Term)
		}
	}
	return tokens
}

// Small reports whether a word in lower case is one of those that say little by themselves, such as "the".
func (c *Cutter) Small(word string) bool { return c.small[word] }
