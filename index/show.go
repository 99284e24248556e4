package index

import (
	"cmp"
	"slices"
	"strings"
	"unicode/utf8"

	"github.com/blevesearch/bleve/v2/search"

	"example.com/stance/index/internal/terms"
	"example.com/stance/lexicon"
)

// spans are the places of a text that were looked for, in text order, none overlapping.
func (w *wanted) spans(text string, statements []lexicon.Statement, words []terms.Word) []lexicon.Span {
	var found []lexicon.Span
	for i := range statements {
		for _, a := range w.asks {
			if a.Meets(&statements[i]) {
				found = append(found, carriers(&statements[i], a)...)
			}
		}
	}
	for i, word := range words {
		if w.hasWord(word) {
			found = append(found, lexicon.Span{Start: word.Start, End: word.End})
		}
		for _, p := range w.phrases {
			if begins(words[i:], p) {
				found = append(found, lexicon.Span{Start: word.Start, End: words[i+len(p)-1].End})
			}
		}
	}
	return placed(text, found)
}

func (w *wanted) hasWord(word terms.Word) bool {
	if w.stems[word.Term] {
		return true
	}
	for _, p := range w.prefixes {
		if strings.HasPrefix(word.Plain, p) {
			return true
		}
	}
	for _, n := range w.near {
		if _, more := search.LevenshteinDistanceMax(n, word.Term, 1); !more {
			return true
		}
	}
	return false
}

func begins(words []terms.Word, phrase []string) bool {
	if len(words) < len(phrase) {
		return false
	}
	for i, stem := range phrase {
		if words[i].Term != stem {
			return false
		}
	}
	return true
}

// carriers are the words of a statement that answer an ask: for an aid, those that name it, and not the
// whole move.
func carriers(s *lexicon.Statement, a *terms.Ask) []lexicon.Span {
	var found []lexicon.Span
	if len(a.Concepts) > 0 {
		found = append(found, s.Detail.Head)
	}
	for _, m := range s.Detail.Terms {
		asked := len(a.Fields[m.Field]) > 0
		if name, isAid := strings.CutPrefix(m.Term, "aid."); isAid {
			asked = asked || slices.Contains(a.Aids, name)
		}
		if asked {
			found = append(found, m.Span)
		}
	}
	if len(found) == 0 {
		found = append(found, s.Span)
	}
	return found
}

// placed sorts spans, joins those that overlap, and finds their lines and columns.
func placed(text string, found []lexicon.Span) []lexicon.Span {
	slices.SortFunc(found, func(a, b lexicon.Span) int { return cmp.Or(a.Start-b.Start, b.End-a.End) })
	var joined []lexicon.Span
	line, column, seen := 1, 1, 0
	for _, s := range found {
		if s.End <= s.Start {
			continue
		}
		if last := len(joined) - 1; last >= 0 && s.Start < joined[last].End {
			joined[last].End = max(joined[last].End, s.End)
			continue
		}
		before := text[seen:s.Start]
		if n := strings.Count(before, "\n"); n > 0 {
			line, column = line+n, 1
			before = before[strings.LastIndexByte(before, '\n')+1:]
		}
		column += utf8.RuneCountInString(before)
		seen = s.Start
		joined = append(joined, lexicon.Span{Start: s.Start, End: s.End, Line: line, Column: column})
	}
	return joined
}
