// Package spell finds the vocabulary word one edit away from a misspelt one, unless the word as
// written is an English word of its own.
package spell

import (
	_ "embed"
	"slices"
	"strings"

	"example.com/stance/lexicon/edit"
)

// english is a sorted list of lower-case English words of five letters and more, one a line, from
// the SCOWL lists; its licence is in words-LICENCE.txt beside it.
//
//go:embed words.txt
var english string

// MinLetters is the length from which a word may be read as a misspelling.
const MinLetters = 5

// A Speller knows the words of a vocabulary. It is immutable and safe for concurrent use.
type Speller struct {
	words      []string
	deletes    map[uint64]int32 // hash of a vocabulary word, or of one with a letter left out → chain
	chain      []link
	head, tail [1 << 15]bool // first and last three letters that occur, to pass most words quickly
}

// link is one word of a chain; next is 0 at its end.
type link struct{ word, next int32 }

// New returns a speller for the words of a vocabulary.
func New(words []string) *Speller {
	s := &Speller{deletes: make(map[uint64]int32, 8*len(words)), chain: make([]link, 1, 8*len(words)+1)}
	for _, w := range slices.Sorted(slices.Values(words)) {
		if len(w) < MinLetters || !plain(w) {
			continue
		}
		s.head[key(w[:3])], s.tail[key(w[len(w)-3:])] = true, true
		s.words = append(s.words, w)
		n := int32(len(s.words) - 1)
		s.put(hash(w, -1), n)
		for i := range w {
			if i > 0 && w[i] == w[i-1] {
				continue // leaving out either of two equal letters gives one string
			}
			s.put(hash(w, i), n)
		}
	}
	return s
}

func (s *Speller) put(h uint64, word int32) {
	s.chain = append(s.chain, link{word: word, next: s.deletes[h]})
	s.deletes[h] = int32(len(s.chain) - 1)
}

// hash is FNV-1a over the letters of w but the one at skip.
func hash(w string, skip int) uint64 {
	h := uint64(14695981039346656037)
	for i := range len(w) {
		if i != skip {
			h = (h ^ uint64(w[i])) * 1099511628211
		}
	}
	return h
}

// Correct returns the vocabulary word that w, unknown to the vocabulary, misspells by one edit
// (a letter dropped, added, changed or two swapped), or "". Of several the first in the alphabet is taken.
func (s *Speller) Correct(w string) string {
	if len(w) < MinLetters || !plain(w) {
		return ""
	}
	// One edit leaves the first three or the last three letters alone in a word of seven or more.
	if len(w) > MinLetters+1 && !s.head[key(w[:3])] && !s.tail[key(w[len(w)-3:])] {
		return ""
	}
	best := ""
	for skip := -1; skip < len(w); skip++ {
		for l := s.deletes[hash(w, skip)]; l != 0; l = s.chain[l].next {
			if c := s.words[s.chain[l].word]; (best == "" || c < best) && edit.Distance([]byte(w), []byte(c), 2) == 1 {
				best = c
			}
		}
	}
	if best == "" || IsEnglish(w) {
		return ""
	}
	return best
}

// IsEnglish reports whether w, lower case and of five letters or more, is an English word.
func IsEnglish(w string) bool {
	lo, hi := 0, len(english)
	for lo < hi {
		mid := (lo + hi) / 2
		start := strings.LastIndexByte(english[:mid], '\n') + 1
		end := start + strings.IndexByte(english[start:], '\n')
		switch c := strings.Compare(english[start:end], w); {
		case c == 0:
			return true
		case c < 0:
			lo = end + 1
		default:
			hi = start
		}
	}
	return false
}

func plain(w string) bool {
	for i := range len(w) {
		if w[i] < 'a' || w[i] > 'z' {
			return false
		}
	}
	return true
}

func key(s string) int { return int(s[0]&31)<<10 | int(s[1]&31)<<5 | int(s[2]&31) }
