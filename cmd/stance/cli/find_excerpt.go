package cli

import (
	"slices"
	"strings"
	"unicode/utf8"

	"example.com/stance/lexicon"
)

// A stretch is a part of a text, in bytes.
type stretch struct{ start, end int }

const (
	longSentence = 300 // bytes, from which on a sentence is shown in part
	aroundPlace  = 100 // bytes about, on each side of a place in such a one
)

// sentencesOf is the sentences that the spans, which are in order, lie in: each once, in order, none
// overlapping, and no span cut. Without spans it is the beginning of the text.
func sentencesOf(text string, spans []lexicon.Span) []stretch {
	if len(spans) == 0 {
		return []stretch{{0, wordEnd(text, longSentence)}}
	}
	ends := sentenceEnds(text)
	var all []stretch
	for _, m := range spans {
		s := stretch{sentenceAt(text, ends, m.Start).start, sentenceAt(text, ends, max(m.Start, m.End-1)).end}
		s.start, s.end = min(s.start, m.Start), max(s.end, m.End) // a place may lie on the blank around
		if s.end-s.start > longSentence {
			s.start = max(s.start, wordStart(text, m.Start-aroundPlace))
			s.end = min(s.end, wordEnd(text, m.End+aroundPlace))
		}
		if n := len(all); n > 0 && s.start <= all[n-1].end {
			all[n-1].end = max(all[n-1].end, s.end)
			continue
		}
		all = append(all, s)
	}
	return all
}

// sentenceEnds is where the sentences of the text end, in order; the last at the end of the text.
func sentenceEnds(text string) []int {
	var ends []int
	for i, r := range text {
		if endsSentence(text, i, r) {
			ends = append(ends, i+utf8.RuneLen(r))
		}
	}
	return append(ends, len(text))
}

// sentenceAt is the sentence around a byte of the text. A sentence ends with its line, or with a full
// stop, question or exclamation mark before a blank, as far as that can be told in notes.
func sentenceAt(text string, ends []int, at int) stretch {
	at = min(max(at, 0), len(text))
	i, _ := slices.BinarySearch(ends, at+1)
	i = min(i, len(ends)-1)
	s := stretch{0, ends[i]}
	if i > 0 {
		s.start = ends[i-1]
	}
	for s.start < s.end && isBlank(text[s.start]) {
		s.start++
	}
	for s.end > s.start && isBlank(text[s.end-1]) {
		s.end--
	}
	return s
}

func endsSentence(text string, i int, r rune) bool {
	switch r {
	case '\n', '\r':
		return true
	case '.', '?', '!':
		return i+1 < len(text) && isBlank(text[i+1])
	}
	return false
}

func isBlank(b byte) bool { return b == ' ' || b == '\t' || b == '\n' || b == '\r' }

// wordStart is the start of the word after the blank at or before i, or i where none is near.
func wordStart(text string, i int) int {
	if i <= 0 {
		return 0
	}
	from := max(0, i-longSentence)
	if j := strings.LastIndexAny(text[from:i], " \t\n\r"); j >= 0 || from == 0 {
		return from + j + 1
	}
	for !utf8.RuneStart(text[i]) {
		i--
	}
	return i
}

// wordEnd is the end of the word that i is in, or the end of the text, or i where neither is near.
func wordEnd(text string, i int) int {
	if i >= len(text) {
		return len(text)
	}
	to := min(len(text), i+longSentence)
	if j := strings.IndexAny(text[i:to], " \t\n\r"); j >= 0 {
		return i + j
	}
	if to == len(text) {
		return to
	}
	for i < to && !utf8.RuneStart(text[i]) {
		i++
	}
	return i
}
