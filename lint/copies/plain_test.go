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

// What follows is the slow and plain self of this package, by which it is held: words are strings, each text is cut up
// three times, what is shared is counted in maps, and what is compared is compared by a diff.

// plainWords splits a text into its words for comparison: runs of letters and digits, in small letters.
func plainWords(text string) []string {
	return strings.FieldsFunc(strings.ToLower(text), func(r rune) bool {
		return !unicode.IsLetter(r) && !unicode.IsDigit(r)
	})
}

func plainShare(a, b []string) float64 {
	longer := max(len(a), len(b))
	if longer == 0 {
		return 0
	}
	ids := make(map[string]rune)
	d := diffmatchpatch.New()
	d.DiffTimeout = 0 // exact, and the same on a slow machine
	equal := 0
	for _, diff := range d.DiffMainRunes(plainRunes(a, ids), plainRunes(b, ids), false) {
		if diff.Type == diffmatchpatch.DiffEqual {
			equal += len([]rune(diff.Text))
		}
	}
	return float64(equal) / float64(longer)
}

func plainRunes(words []string, ids map[string]rune) []rune {
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

type plainGroup struct {
	share float64
	least int
	texts []plainText
	seen  map[uint64][]int // fingerprint → the latest texts that have it
}

type plainText struct {
	words  []string
	sorted []string // the words, for a quick bound on the share
	tag    int
}

func newPlainGroup(share float64, least int) *plainGroup {
	return &plainGroup{share: share, least: least, seen: make(map[uint64][]int)}
}

func (g *plainGroup) Add(body string, tag int, ok func(tag int) bool) (Match, bool) {
	words := plainWords(body)
	if len(words) < g.least {
		return Match{}, false
	}
	sorted := slices.Sorted(slices.Values(words))
	prints := plainFingerprints(words)
	shared := make(map[int]int)
	for _, p := range prints {
		for _, i := range g.seen[p] {
			if ok == nil || ok(g.texts[i].tag) {
				shared[i]++
			}
		}
	}
	var best Match
	for _, i := range plainCandidates(shared, len(prints)/4) {
		if plainAtMost(sorted, g.texts[i].sorted) < g.share {
			continue
		}
		if s := plainShare(words, g.texts[i].words); s >= g.share && s > best.Share {
			best = Match{g.texts[i].tag, s}
		}
	}
	at := len(g.texts)
	g.texts = append(g.texts, plainText{words, sorted, tag})
	for _, p := range prints {
		list := append(g.seen[p], at)
		if len(list) > postings {
			list = slices.Delete(list, 0, len(list)-postings)
		}
		g.seen[p] = list
	}
	return best, best.Share > 0
}

func plainCandidates(shared map[int]int, least int) []int {
	var ids []int
	for i, n := range shared {
		if n >= least {
			ids = append(ids, i)
		}
	}
	slices.SortFunc(ids, func(a, b int) int { return cmp.Or(cmp.Compare(shared[b], shared[a]), cmp.Compare(b, a)) })
	return ids[:min(len(ids), compared)]
}

func plainAtMost(a, b []string) float64 {
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

func plainFingerprints(words []string) []uint64 {
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
