package course

import (
	"cmp"
	"slices"
	"strings"

	"example.com/stance/lexicon"
	"example.com/stance/lint/amend"
	"example.com/stance/lint/timeline"
)

// A Segment is a run of words that two texts share, or a place where they differ: what the earlier
// text has there and what the later one has.
type Segment struct {
	Same   string `json:"same,omitempty"`
	Before string `json:"before,omitempty"`
	After  string `json:"after,omitempty"`
}

// nearCopy is the share of the words of the longer text that two texts must have in common, in order, to be set against
// one another word by word. Below it a diff reads as chaff, and the texts are shown one after the other. Common practice;
// chosen by eye on the notes of the demo home, where only notes that were copied and mended lie above.
const nearCopy = 0.6

// Diff sets two texts against one another word by word.
func Diff(before, after string) []Segment {
	hunks := amend.Diff(before, after)
	if !near(hunks, before, after) {
		return []Segment{{Before: before, After: after}}
	}
	segments := make([]Segment, len(hunks))
	for i, h := range hunks {
		segments[i] = Segment{h.Equal, h.Original, h.Proposed}
	}
	return segments
}

// NearCopies reports whether two texts have so much in common that their difference is best read word by word.
func NearCopies(before, after string) bool { return near(amend.Diff(before, after), before, after) }

func near(hunks []amend.Hunk, before, after string) bool {
	shared := 0
	for _, h := range hunks {
		shared += len(strings.Fields(h.Equal))
	}
	longer := max(len(strings.Fields(before)), len(strings.Fields(after)))
	return float64(shared) >= nearCopy*float64(longer)
}

// mobility is the sentences of a note that hold a statement on the resident's mobility, joined; an
// ellipsis stands where some were left out. Space is evened out, because a line break is no difference.
func mobility(e *timeline.Entry) string {
	text := e.Note.Text
	spans := sentences(text)
	var b strings.Builder
	last := -1
	for i, s := range spans {
		if !e.Any(func(st *lexicon.Statement) bool {
			return st.Who == lexicon.Resident && onMobility(st) && st.Span.Start < s.end && s.start < st.Span.End
		}) {
			continue
		}
		switch {
		case last >= 0 && last == i-1:
			b.WriteString(" ")
		case last >= 0:
			b.WriteString(" … ")
		}
		b.WriteString(strings.Join(strings.Fields(text[s.start:s.end]), " "))
		last = i
	}
	return b.String()
}

// onMobility leaves out vitals and who was told: they say nothing of how somebody is moved.
func onMobility(s *lexicon.Statement) bool {
	switch s.Group() {
	case "vital", "told":
		return false
	}
	return true
}

type stretch struct{ start, end int } // bytes

// sentences parts a text at line ends and at a full stop, question or exclamation mark that a space
// follows. Notes are short of punctuation: what has none is one sentence. That a stop after an
// abbreviation parts one sentence in two does no harm here, since a statement keeps all it touches.
func sentences(text string) []stretch {
	var all []stretch
	start := 0
	cut := func(end int) {
		if strings.TrimSpace(text[start:end]) != "" {
			all = append(all, stretch{start, end})
		}
		start = end
	}
	for i := range len(text) {
		switch c := text[i]; {
		case c == '\n':
			cut(i + 1)
		case (c == ' ' || c == '\t') && i > 0 && strings.IndexByte(".?!", text[i-1]) >= 0:
			cut(i + 1)
		}
	}
	cut(len(text))
	return all
}

// A changeList gathers the changes of all lanes by the two notes between which they lie.
type changeList map[[2]*timeline.Entry][]LaneChange

func (l changeList) add(c changed) {
	pair := [2]*timeline.Entry{c.before, c.after}
	l[pair] = append(l[pair], c.lane)
}

// list is the changes in time order, those to one note by the note before.
func (l changeList) list(b *builder) []Change {
	place := make(map[*timeline.Entry]int, len(b.entries))
	for i, e := range b.entries {
		place[e] = i
	}
	pairs := make([][2]*timeline.Entry, 0, len(l))
	for pair := range l {
		pairs = append(pairs, pair)
	}
	slices.SortFunc(pairs, func(a, b [2]*timeline.Entry) int {
		return cmp.Or(cmp.Compare(place[a[1]], place[b[1]]), cmp.Compare(place[a[0]], place[b[0]]))
	})
	changes := make([]Change, len(pairs))
	for i, pair := range pairs {
		before, after := pair[0], pair[1]
		changes[i] = Change{ref(before), ref(after), l[pair], Diff(mobility(before), mobility(after))}
	}
	return changes
}
