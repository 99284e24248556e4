package lexicon

import (
	"sort"
	"unicode/utf8"
)

// places knows where the lines of a text begin.
type places struct {
	text  string
	lines []int // start of each line after the first
	ascii bool
}

func newPlaces(text string) places {
	p := places{text: text, ascii: true}
	for i := range len(text) {
		switch b := text[i]; {
		case b == '\n', b == '\r' && !(i+1 < len(text) && text[i+1] == '\n'):
			p.lines = append(p.lines, i+1)
		case b >= utf8.RuneSelf:
			p.ascii = false
		}
	}
	return p
}

// fill sets the line and column of a place that is one.
func (p *places) fill(s *Span) {
	if s.End == 0 {
		return
	}
	n := sort.SearchInts(p.lines, s.Start+1)
	from := 0
	if n > 0 {
		from = p.lines[n-1]
	}
	s.Line = n + 1
	if p.ascii {
		s.Column = s.Start - from + 1
		return
	}
	s.Column = utf8.RuneCountInString(p.text[from:s.Start]) + 1
}
