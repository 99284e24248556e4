// Package copies finds notes that repeat an earlier one, near enough word for word.
//
// A [Group] takes texts in the order of events and tells, for each, which earlier text of the group
// it repeats. It never compares all pairs: each text is cut down to a few fingerprints by winnowing
// (Schleimer, Wilkerson and Aiken, Winnowing: local algorithms for document fingerprinting, SIGMOD
// 2003), only texts that share fingerprints are compared, and only so many of them, so the work grows
// with the number of texts. What is compared is compared exactly: [Share] is a diff over words.
package copies

import (
	"cmp"
	"hash/fnv"
	"io"
	"slices"
	"strings"
	"unicode"

	"github.com/sergi/go-diff/diffmatchpatch"
)

// Winnowing with k words to a shingle and one fingerprint of every window of w shingles is sure to
// find any run of k+w-1 = 5 equal words. A text of 12 words that is at least 0.9 the same as another
// has such a run, and longer ones do the more so: between n·0.1 changed words lie runs of n·0.9 equal
// ones.
const (
	shingle = 3
	window  = 3
)

const (
	compared = 4  // earlier texts that one text is compared with, those that share most first
	postings = 32 // latest texts kept for one fingerprint: stock phrases stand in every note
)

// Words splits a text into its words for comparison: runs of letters and digits, in small letters.
func Words(text string) []string {
	return strings.FieldsFunc(strings.ToLower(text), func(r rune) bool {
		return !unicode.IsLetter(r) && !unicode.IsDigit(r)
	})
}

// Share is how much of two texts is the same: the words that a diff over words leaves equal, as a
// share of the longer text, 0 to 1.
func Share(a, b []string) float64 {
	longer := max(len(a), len(b))
	if longer == 0 {
		return 0
	}
	ids := make(map[string]rune)
	d := diffmatchpatch.New()
	d.DiffTimeout = 0 // exact, and the same on a slow machine
	equal := 0
	for _, diff := range d.DiffMainRunes(runes(a, ids), runes(b, ids), false) {
		if diff.Type == diffmatchpatch.DiffEqual {
			equal += len([]rune(diff.Text))
		}
	}
	return float64(equal) / float64(longer)
}

// runes writes each word as one rune, so that a diff over runes is one over words.
func runes(words []string, ids map[string]rune) []rune {
	const (
		first      = 1
		surrogates = 0xD800 // to 0xDFFF: no characters, and lost in a string
		after      = 0xE000
	)
	out := make([]rune, len(words))
	for i, w := range words {
		r, ok := ids[w]
		if !ok {
			if r = rune(first + len(ids)); r >= surrogates {
				r += after - surrogates
			}
			ids[w] = r
		}
		out[i] = r
	}
	return out
}

// A Group is texts among which copies are looked for. The zero value is not ready: see [NewGroup].
type Group struct {
	share float64
	least int
	texts []text
	seen  map[uint64][]int // fingerprint → the latest texts that have it
}

type text struct {
	words  []string
	sorted []string // the words, for a quick bound on the share
	tag    int
}

// NewGroup is an empty group in which texts of at least that many words count as copies from that
// share of equal words, 0 to 1.
func NewGroup(share float64, least int) *Group {
	return &Group{share: share, least: least, seen: make(map[uint64][]int)}
}

// A Match is an earlier text.
type Match struct {
	Tag   int     // as given to Add
	Share float64 // of the words that are equal
}

// Add adds a text under a tag of the caller's. It tells which earlier text that ok accepts it is a
// copy of: the one with the greatest share, the latest of equals. ok may be asked about any tag
// added before; nil accepts all.
func (g *Group) Add(body string, tag int, ok func(tag int) bool) (Match, bool) {
	words := Words(body)
	if len(words) < g.least {
		return Match{}, false
	}
	sorted := slices.Sorted(slices.Values(words))
	prints := fingerprints(words)
	shared := make(map[int]int)
	for _, p := range prints {
		for _, i := range g.seen[p] {
			if ok == nil || ok(g.texts[i].tag) {
				shared[i]++
			}
		}
	}
	var best Match
	for _, i := range candidates(shared, len(prints)/4) {
		if atMost(sorted, g.texts[i].sorted) < g.share {
			continue
		}
		if s := Share(words, g.texts[i].words); s >= g.share && s > best.Share {
			best = Match{g.texts[i].tag, s}
		}
	}
	at := len(g.texts)
	g.texts = append(g.texts, text{words, sorted, tag})
	for _, p := range prints {
		list := append(g.seen[p], at)
		if len(list) > postings {
			list = slices.Delete(list, 0, len(list)-postings)
		}
		g.seen[p] = list
	}
	return best, best.Share > 0
}

// candidates are the texts that share most fingerprints, the latest of equals first. Texts that share
// less than least are left out: one changed word of ten spoils at most half of the fingerprints,
// and a stock phrase or two make no copy.
func candidates(shared map[int]int, least int) []int {
	var ids []int
	for i, n := range shared {
		if n >= least {
			ids = append(ids, i)
		}
	}
	slices.SortFunc(ids, func(a, b int) int { return cmp.Or(cmp.Compare(shared[b], shared[a]), cmp.Compare(b, a)) })
	return ids[:min(len(ids), compared)]
}

// atMost is what the share of two texts cannot exceed: the words that they have in common in any
// order, as a share of the longer. It spares most of the diffs.
func atMost(a, b []string) float64 {
	common := 0
	for i, j := 0, 0; i < len(a) && j < len(b); {
		switch c := cmp.Compare(a[i], b[j]); {
		case c < 0:
			i++
		case c > 0:
			j++
		default:
			common++
			i++
			j++
		}
	}
	return float64(common) / float64(max(len(a), len(b)))
}

// fingerprints are the winnowed hashes of the words, each once, sorted. They are the same in every
// run, so that the texts picked for comparison are too.
func fingerprints(words []string) []uint64 {
	var hashes []uint64
	h := fnv.New64a()
	for i := 0; i+shingle <= len(words); i++ {
		h.Reset()
		for _, w := range words[i : i+shingle] {
			io.WriteString(h, w) // a hash never fails
			h.Write([]byte{' '})
		}
		hashes = append(hashes, h.Sum64())
	}
	var out []uint64
	taken := -1
	for i := 0; i+window <= len(hashes); i++ {
		least := i
		for j := i + 1; j < i+window; j++ {
			if hashes[j] <= hashes[least] { // the rightmost of equals
				least = j
			}
		}
		if least != taken {
			taken = least
			out = append(out, hashes[least])
		}
	}
	slices.Sort(out)
	return slices.Compact(out)
}
