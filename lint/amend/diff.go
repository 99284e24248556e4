package amend

import (
	"strings"
	"unicode"

	"github.com/sergi/go-diff/diffmatchpatch"
)

// A Hunk is a run of words that two texts share, or a place where they differ.
type Hunk struct {
	Equal    string // shared by both; else empty
	Original string // what only the first has
	Proposed string // what only the second has
}

// Diff sets two texts against one another word by word. Joined, the equal and original parts are a,
// the equal and proposed parts b. Words put in or left out come with the word beside them, so that
// each difference reads as words in place of words.
func Diff(a, b string) []Hunk {
	var v vocabulary
	d := diffmatchpatch.New()
	d.DiffTimeout = 0 // exact, and the same on a slow machine
	var hunks []Hunk
	for _, part := range d.DiffMainRunes(v.runes(a), v.runes(b), false) {
		text := v.text(part.Text)
		if part.Type == diffmatchpatch.DiffEqual {
			hunks = append(hunks, Hunk{Equal: text})
			continue
		}
		if n := len(hunks); n == 0 || hunks[n-1].Equal != "" {
			hunks = append(hunks, Hunk{})
		}
		h := &hunks[len(hunks)-1]
		if part.Type == diffmatchpatch.DiffDelete {
			h.Original += text
		} else {
			h.Proposed += text
		}
	}
	return widen(merge(hunks))
}

// merge makes one of differences with nothing but space between them.
func merge(hunks []Hunk) []Hunk {
	var out []Hunk
	for i, h := range hunks {
		n := len(out)
		switch {
		case h.Equal != "" && n > 0 && i+1 < len(hunks) && strings.TrimSpace(h.Equal) == "":
			out[n-1].Original += h.Equal
			out[n-1].Proposed += h.Equal
		case h.Equal == "" && n > 0 && out[n-1].Equal == "":
			out[n-1].Original += h.Original
			out[n-1].Proposed += h.Proposed
		default:
			out = append(out, h)
		}
	}
	return out
}

// widen gives a difference with one side empty the word after it, else the one before.
func widen(hunks []Hunk) []Hunk {
	for i := range hunks {
		h := &hunks[i]
		if h.Equal != "" || strings.TrimSpace(h.Original) != "" && strings.TrimSpace(h.Proposed) != "" {
			continue
		}
		var word string
		if i+1 < len(hunks) {
			all := tokens(hunks[i+1].Equal)
			n := 1
			for n < len(all) && strings.TrimSpace(strings.Join(all[:n], "")) == "" {
				n++
			}
			word = strings.Join(all[:min(n, len(all))], "")
			hunks[i+1].Equal = hunks[i+1].Equal[len(word):]
			h.Original, h.Proposed = h.Original+word, h.Proposed+word
		} else if i > 0 {
			all := tokens(hunks[i-1].Equal)
			n := len(all) - 1
			for n > 0 && strings.TrimSpace(strings.Join(all[n:], "")) == "" {
				n--
			}
			word = strings.Join(all[max(n, 0):], "")
			hunks[i-1].Equal = strings.TrimSuffix(hunks[i-1].Equal, word)
			h.Original, h.Proposed = word+h.Original, word+h.Proposed
		}
	}
	out := hunks[:0]
	for _, h := range hunks {
		if h != (Hunk{}) {
			out = append(out, h)
		}
	}
	return out
}

// tokens cuts a text into words, runs of space, and single other characters.
func tokens(s string) []string {
	var out []string
	kind, start := other, 0
	for i, r := range s {
		if k := kindOf(r); i > 0 && (k != kind || k == other) {
			out = append(out, s[start:i])
			start = i
		}
		kind = kindOf(r)
	}
	if start < len(s) {
		out = append(out, s[start:])
	}
	return out
}

type kind int

const (
	other kind = iota
	space
	word
)

func kindOf(r rune) kind {
	switch {
	case unicode.IsSpace(r):
		return space
	case unicode.IsLetter(r), unicode.IsDigit(r), unicode.IsMark(r), r == '-', r == '\'', r == '’':
		return word
	}
	return other
}

// A vocabulary writes each token as one rune, so that a diff over runes is one over words. The zero
// value is ready.
type vocabulary struct {
	ids   map[string]rune
	known map[rune]string
}

func (v *vocabulary) runes(s string) []rune {
	const (
		first      = 1
		surrogates = 0xD800 // to 0xDFFF: no characters, and lost in a string
		after      = 0xE000
	)
	if v.ids == nil {
		v.ids, v.known = make(map[string]rune), make(map[rune]string)
	}
	var out []rune
	for _, t := range tokens(s) {
		r, ok := v.ids[t]
		if !ok {
			if r = rune(first + len(v.ids)); r >= surrogates {
				r += after - surrogates
			}
			v.ids[t], v.known[r] = r, t
		}
		out = append(out, r)
	}
	return out
}

func (v *vocabulary) text(s string) string {
	var b strings.Builder
	for _, r := range s {
		b.WriteString(v.known[r])
	}
	return b.String()
}
