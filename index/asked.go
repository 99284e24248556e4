package index

import (
	"fmt"

	"example.com/stance/index/internal/terms"
)

// What may be looked for at once. A begin or a near word is looked up among all words that notes have,
// and the automaton for a word one letter off grows with the word; nobody types as much as this.
const (
	mostTyped   = 4 << 10 // bytes
	mostWords   = 64
	mostOpen    = 8  // begin* and nearly~
	mostLetters = 64 // of a word
)

// A TooMuchError says that a query asks for more words than are looked for at once.
type TooMuchError struct {
	Want string // "at most 64 words"
}

func (e *TooMuchError) Error() string { return "words to look for: want " + e.Want }

// checkWords refuses what would take minutes to look for.
func checkWords(cutter *terms.Cutter, typed string) error {
	if len(typed) > mostTyped {
		return &TooMuchError{fmt.Sprintf("at most %d bytes", mostTyped)}
	}
	words, open := 0, 0
	for _, p := range pieces(typed) {
		if p.kind == prefixPiece || p.kind == nearPiece {
			open++
		}
		for _, w := range cutter.Words(p.text) {
			if words++; len([]rune(w.Plain)) > mostLetters {
				return &TooMuchError{fmt.Sprintf("at most %d letters in a word", mostLetters)}
			}
		}
	}
	switch {
	case open > mostOpen:
		return &TooMuchError{fmt.Sprintf("at most %d words with * or ~", mostOpen)}
	case words > mostWords:
		return &TooMuchError{fmt.Sprintf("at most %d words", mostWords)}
	}
	return nil
}
