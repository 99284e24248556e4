// Package copies finds notes that repeat an earlier one, near enough word for word.
//
// A [Group] takes texts in the order of events and tells, for each, which earlier text of the group
// it repeats. It never compares all pairs: each text is cut down to a few fingerprints by winnowing
// (Schleimer, Wilkerson and Aiken, Winnowing: local algorithms for document fingerprinting, SIGMOD
// 2003), only texts that share fingerprints are compared, and only so many of them, so the work grows
// with the number of texts. What is compared is compared exactly: its
// share is that of the longest common subsequence of words.
package copies

import (
	"cmp"
	"slices"
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

// A Group is texts among which copies are looked for. The zero value is not ready: see [NewGroup]. It is not safe
// for concurrent use.
type Group struct {
	share float64
	least int
	texts []text
	heads map[uint64]int32 // fingerprint → the latest of its postings, from 1
	posts []posting

	shared  []int32 // of each text, how many fingerprints it shares with the one being added; refused if not asked for
	touched []int32 // texts whose shared is not 0
	cut     cutter
	order   order
}

// refused marks a text that a new one is not to be compared with.
const refused = -1

// A posting is a text that has a fingerprint.
type posting struct {
	text   int32
	before int32 // the posting before it of the same fingerprint, from 1; 0 for none
}

type text struct {
	words  []uint64 // by hash: two words of one hash are as unlikely as anything in this world
	sorted []uint64 // the words, for a quick bound on the share, once it was asked for
	tag    int
}

// NewGroup is an empty group in which texts of at least that many words count as copies from that
// share of equal words, 0 to 1.
func NewGroup(share float64, least int) *Group {
	return &Group{share: share, least: least, heads: make(map[uint64]int32)}
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
	words, prints := g.cut.cut(body)
	if len(words) < g.least {
		return Match{}, false
	}
	g.count(prints, ok)
	t := text{words: slices.Clone(words), tag: tag}
	best := g.best(&t, len(prints)/4)
	at := int32(len(g.texts))
	g.texts, g.shared = append(g.texts, t), append(g.shared, 0)
	for _, p := range prints {
		g.posts = append(g.posts, posting{at, g.heads[p]})
		g.heads[p] = int32(len(g.posts))
	}
	return best, best.Share > 0
}

// count counts what earlier texts share with one that has those fingerprints.
func (g *Group) count(prints []uint64, ok func(tag int) bool) {
	for _, i := range g.touched {
		g.shared[i] = 0
	}
	g.touched = g.touched[:0]
	for _, p := range prints {
		at := g.heads[p]
		for range postings {
			if at == 0 {
				break
			}
			post := g.posts[at-1]
			at = post.before
			if g.shared[post.text] == 0 {
				g.touched = append(g.touched, post.text)
				if ok != nil && !ok(g.texts[post.text].tag) {
					g.shared[post.text] = refused
				}
			}
			if g.shared[post.text] != refused {
				g.shared[post.text]++
			}
		}
	}
}

// best is the closest of the texts that share at least so many fingerprints with one.
func (g *Group) best(t *text, least int) Match {
	var best Match
	for _, i := range g.candidates(int32(least)) {
		o := &g.texts[i]
		if n, m := len(t.words), len(o.words); float64(min(n, m))/float64(max(n, m)) < g.share {
			continue
		}
		if atMost(t.inOrder(), o.inOrder()) < g.share {
			continue
		}
		if s := g.order.share(t.words, o.words); s >= g.share && s > best.Share {
			best = Match{o.tag, s}
		}
	}
	return best
}

// candidates are the texts that share most fingerprints, the latest of equals first. Texts that share
// less than least are left out: one changed word of ten spoils at most half of the fingerprints,
// and a stock phrase or two make no copy.
func (g *Group) candidates(least int32) []int32 {
	var ids []int32
	for _, i := range g.touched {
		if n := g.shared[i]; n != refused && n >= least {
			ids = append(ids, i)
		}
	}
	slices.SortFunc(ids, func(a, b int32) int { return cmp.Or(cmp.Compare(g.shared[b], g.shared[a]), cmp.Compare(b, a)) })
	return ids[:min(len(ids), compared)]
}

// inOrder are the words by their hashes.
func (t *text) inOrder() []uint64 {
	if t.sorted == nil {
		t.sorted = slices.Sorted(slices.Values(t.words))
	}
	return t.sorted
}

// atMost is what the share of two texts cannot exceed: the words that they have in common in any
// order, as a share of the longer. It spares most of the comparing.
func atMost(a, b []uint64) float64 {
	common := 0
	for i, j := 0, 0; i < len(a) && j < len(b); {
		switch {
		case a[i] < b[j]:
			i++
		case a[i] > b[j]:
			j++
		default:
			common++
			i++
			j++
		}
	}
	return float64(common) / float64(max(len(a), len(b)))
}
