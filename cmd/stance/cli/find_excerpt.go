package cli

import (
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
	var all []stretch
	for _, m := range spans {
		s := stretch{sentenceAt(text, m.Start).start, sentenceAt(text, max(m.Start, m.End-1)).end}
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

// sentenceAt is the sentence around a byte of the text. A sentence ends with its line, or with a full
// stop, question or exclamation mark before a blank, as far as that can be told in notes.
func sentenceAt(text string, at int) stretch {
	at = min(max(at, 0), len(text))
	s := stretch{0, len(text)}
	for i, r := range text {
		if !endsSentence(text, i, r) {
			continue
		}
		end := i + utf8.RuneLen(r)
		if end > at {
			s.end = end
			break
		}
		s.start = end
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

// wordStart is the start of the word after the blank at or before i.
func wordStart(text string, i int) int {
	if i <= 0 {
		return 0
	}
	j := strings.LastIndexAny(text[:i], " \t\n\r")
	return j + 1
}

// wordEnd is the end of the word that i is in, or the end of the text.
func wordEnd(text string, i int) int {
	if i >= len(text) {
		return len(text)
	}
	if j := strings.IndexAny(text[i:], " \t\n\r"); j >= 0 {
		return i + j
	}
	return len(text)
}
