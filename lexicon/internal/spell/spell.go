// Package spell finds the vocabulary word one edit away from a misspelt one, unless the word as
// written is an English word of its own.
package spell

import (
	_ "embed"
	"slices"
	"strings"
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
	deletes    map[string][]string // a vocabulary word with one letter left out → the words
	head, tail [1 << 15]bool       // first and last three letters that occur, to pass most words quickly
}

// New returns a speller for the words of a vocabulary.
func New(words []string) *Speller {
	s := &Speller{deletes: make(map[string][]string, 8*len(words))}
	words = slices.Sorted(slices.Values(words))
	for _, w := range words {
		if len(w) < MinLetters || !plain(w) {
			continue
		}
		s.head[key(w[:3])], s.tail[key(w[len(w)-3:])] = true, true
		for _, d := range without(w) {
			s.deletes[d] = append(s.deletes[d], w)
		}
		s.deletes[w] = append(s.deletes[w], w)
	}
	return s
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
	try := func(d string) {
		for _, c := range s.deletes[d] {
			if len(c) >= MinLetters && (best == "" || c < best) && oneEdit(w, c) {
				best = c
			}
		}
	}
	try(w)
	var buf [40]byte
	if len(w) < len(buf) {
		for i := range w {
			n := copy(buf[:], w[:i])
			n += copy(buf[n:], w[i+1:])
			try(string(buf[:n]))
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

func without(w string) []string {
	out := make([]string, 0, len(w))
	for i := range w {
		if i > 0 && w[i] == w[i-1] {
			continue // leaving out either of two equal letters gives one string
		}
		out = append(out, w[:i]+w[i+1:])
	}
	return out
}

// oneEdit reports whether a becomes b by one insertion, deletion, change or swap of neighbours.
func oneEdit(a, b string) bool {
	if len(a) > len(b) {
		a, b = b, a
	}
	if len(b)-len(a) > 1 {
		return false
	}
	i := 0
	for i < len(a) && a[i] == b[i] {
		i++
	}
	if len(a) < len(b) {
		return a[i:] == b[i+1:]
	}
	if i == len(a) {
		return false
	}
	return a[i+1:] == b[i+1:] || (i+1 < len(a) && a[i] == b[i+1] && a[i+1] == b[i] && a[i+2:] == b[i+2:])
}
