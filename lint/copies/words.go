package copies

import (
	"slices"
	"unicode"
	"unicode/utf8"
)

// FNV-1a, 64 bits (Fowler, Noll and Vo; RFC 9923, 2025).
const (
	fnvOffset = 14695981039346656037
	fnvPrime  = 1099511628211
)

// Count is the number of words of a text: runs of letters and digits.
func Count(text string) int {
	n, in := 0, false
	for i := 0; i < len(text); {
		r, size := rune(text[i]), 1
		if r >= utf8.RuneSelf {
			r, size = utf8.DecodeRuneInString(text[i:])
		}
		now := isWord(unicode.ToLower(r))
		if now && !in {
			n++
		}
		in, i = now, i+size
	}
	return n
}

func isWord(r rune) bool {
	if r < utf8.RuneSelf {
		return 'a' <= r && r <= 'z' || 'A' <= r && r <= 'Z' || '0' <= r && r <= '9'
	}
	return unicode.IsLetter(r) || unicode.IsDigit(r)
}

// A cutter cuts texts into words and fingerprints. What it gives is good until it is used again.
type cutter struct {
	words  []uint64 // hashes of the words, in small letters
	hashes []uint64 // of shingles: of the words in them, each with a blank behind it
	prints []uint64

	// The hashes of the shingles that begin with this word, the one before and the one before that.
	open [shingle]uint64
	in   bool // a word
}

// cut gives the words of a text and its fingerprints: of each window of shingles the least, each once, in order.
// It goes through the text once.
func (c *cutter) cut(text string) (words, prints []uint64) {
	c.words, c.hashes, c.in = c.words[:0], c.hashes[:0], false
	for i := 0; i < len(text); {
		if b := text[i]; b < utf8.RuneSelf {
			c.ascii(b)
			i++
			continue
		}
		r, size := utf8.DecodeRuneInString(text[i:])
		c.other(unicode.ToLower(r))
		i += size
	}
	c.end()
	c.winnow()
	return c.words, c.prints
}

func (c *cutter) ascii(b byte) {
	switch {
	case 'a' <= b && b <= 'z', '0' <= b && b <= '9':
		c.add(b)
	case 'A' <= b && b <= 'Z':
		c.add(b + 'a' - 'A')
	default:
		c.end()
	}
}

// other takes in a character, in small letters, that is more than one byte or was.
func (c *cutter) other(r rune) {
	if !isWord(r) {
		c.end()
		return
	}
	var b [utf8.UTFMax]byte
	for _, b := range b[:utf8.EncodeRune(b[:], r)] {
		c.add(b)
	}
}

// add takes in a byte of a word.
func (c *cutter) add(b byte) {
	if !c.in {
		c.in = true
		copy(c.open[1:], c.open[:])
		c.open[0] = fnvOffset
	}
	for i := range c.open {
		c.open[i] = (c.open[i] ^ uint64(b)) * fnvPrime
	}
}

// end ends a word, if there is one.
func (c *cutter) end() {
	if !c.in {
		return
	}
	c.in = false
	c.words = append(c.words, c.open[0])
	for i := range c.open {
		c.open[i] = (c.open[i] ^ ' ') * fnvPrime
	}
	if len(c.words) >= shingle {
		c.hashes = append(c.hashes, c.open[shingle-1])
	}
}

// winnow keeps the least hash of every window of shingles, each once and sorted. They are the same in every
// run, so that the texts picked for comparison are too.
func (c *cutter) winnow() {
	c.prints = c.prints[:0]
	taken := -1
	for i := 0; i+window <= len(c.hashes); i++ {
		least := i
		for j := i + 1; j < i+window; j++ {
			if c.hashes[j] <= c.hashes[least] { // the rightmost of equals
				least = j
			}
		}
		if least != taken {
			taken = least
			c.prints = append(c.prints, c.hashes[least])
		}
	}
	slices.Sort(c.prints)
	c.prints = slices.Compact(c.prints)
}
