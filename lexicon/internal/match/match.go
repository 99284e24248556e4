// Package match finds the wordings of a vocabulary in a sequence of tokens, longest first from the left.
//
// All wordings are compiled once into one trie over word numbers. A Matcher is immutable and safe for
// concurrent use. The cost of a token does not grow with the number of wordings.
package match

import "example.com/stance/lexicon/internal/vocab"

// WordID numbers the words that occur in wordings; 0 is any other word.
type WordID int32

// A Matcher is the compiled vocabulary.
type Matcher struct {
	words map[string]WordID
	nodes []node
	edges map[edge]int32
	first []int32 // by WordID: node reached from the root, 0 for none
	num   int32   // node reached from the root by a number, 0 for none
}

type edge struct {
	node int32
	word WordID
}

type node struct {
	number, numberGlued int32 // child by a number slot
	gap                 int32 // child by a gap of up to maxGap words
	out                 int32 // payload+1, 0 for none
	glued               bool  // has children that must stand without a blank
}

const maxGap = 3

// Input is one token as the matcher sees it.
type Input struct {
	Word  WordID
	IsNum bool
	Glued bool
	Stop  bool // a sign or line end, which no gap may cross
}

// A Hit is a wording found: tokens From to To (exclusive) say Payload.
type Hit struct {
	From, To int
	Payload  int
}

// New returns an empty matcher; Add wordings, then use it.
func New() *Matcher {
	return &Matcher{words: map[string]WordID{}, nodes: make([]node, 1), edges: map[edge]int32{}}
}

// gluedBit sets words that must follow without a blank apart from the same words elsewhere.
const gluedBit WordID = 1 << 30

// Add compiles one sequence. Where two sequences are equal the first payload stays; Add reports
// whether the sequence was new, and the payload that has it.
func (m *Matcher) Add(seq []vocab.Part, payload int) (has int, added bool) {
	at := int32(0)
	for _, p := range seq {
		at = m.child(at, p)
	}
	if m.nodes[at].out != 0 {
		return int(m.nodes[at].out - 1), false
	}
	m.nodes[at].out = int32(payload) + 1
	return payload, true
}

func (m *Matcher) child(at int32, p vocab.Part) int32 {
	grow := func(slot *int32) int32 {
		if *slot == 0 {
			*slot = int32(len(m.nodes))
			next := *slot
			m.nodes = append(m.nodes, node{})
			return next
		}
		return *slot
	}
	switch p.Slot {
	case vocab.Number:
		if p.Glued {
			return grow(&m.nodes[at].numberGlued)
		}
		return grow(&m.nodes[at].number)
	case vocab.Gap:
		return grow(&m.nodes[at].gap)
	}
	id, ok := m.words[p.Word]
	if !ok {
		id = WordID(len(m.words) + 1)
		m.words[p.Word] = id
	}
	if p.Glued {
		m.nodes[at].glued = true
		id |= gluedBit
	}
	k := edge{at, id}
	next, ok := m.edges[k]
	if !ok {
		next = int32(len(m.nodes))
		m.nodes = append(m.nodes, node{})
		m.edges[k] = next
	}
	return next
}

// Seal prepares the matcher for use after the last Add.
func (m *Matcher) Seal() {
	m.first = make([]int32, len(m.words)+1)
	for e, n := range m.edges {
		if e.node == 0 {
			m.first[e.word] = n
		}
	}
	m.num = m.nodes[0].number
}

// Word is the number of a folded word, 0 if no wording has it.
func (m *Matcher) Word(w string) WordID { return m.words[w] }

// Words calls yield for every word of the vocabulary, in no order.
func (m *Matcher) Words(yield func(string)) {
	for w := range m.words {
		yield(w)
	}
}

// Find appends the hits in in to dst, leftmost and longest, none overlapping.
func (m *Matcher) Find(dst []Hit, in []Input) []Hit {
	for i := 0; i < len(in); {
		if end, out := m.longest(in, i); out > 0 {
			dst = append(dst, Hit{From: i, To: end, Payload: int(out - 1)})
			i = end
			continue
		}
		i++
	}
	return dst
}

// longest is the end and payload of the longest wording that starts at token i.
func (m *Matcher) longest(in []Input, i int) (end int, out int32) {
	if n := m.first[in[i].Word]; n != 0 && in[i].Word != 0 {
		end, out = m.walk(in, n, i+1, 0, 0)
	}
	if in[i].IsNum && m.num != 0 {
		if e, o := m.walk(in, m.num, i+1, 0, 0); o > 0 && e > end {
			end, out = e, o
		}
	}
	return end, out
}

// walk goes on from node n with token i; end and out are the best so far.
func (m *Matcher) walk(in []Input, n int32, i int, end int, out int32) (int, int32) {
	nd := &m.nodes[n]
	if nd.out > 0 && i > end {
		end, out = i, nd.out
	}
	if i >= len(in) {
		return end, out
	}
	t := &in[i]
	if t.Word != 0 {
		if next, ok := m.edges[edge{n, t.Word}]; ok {
			end, out = m.walk(in, next, i+1, end, out)
		}
		if nd.glued && t.Glued {
			if next, ok := m.edges[edge{n, t.Word | gluedBit}]; ok {
				end, out = m.walk(in, next, i+1, end, out)
			}
		}
	}
	if t.IsNum {
		if nd.number > 0 {
			end, out = m.walk(in, nd.number, i+1, end, out)
		}
		if nd.numberGlued > 0 && t.Glued {
			end, out = m.walk(in, nd.numberGlued, i+1, end, out)
		}
	}
	if nd.gap > 0 {
		for skip := 0; skip <= maxGap && i+skip < len(in); skip++ {
			if skip > 0 && in[i+skip-1].Stop {
				break
			}
			end, out = m.walk(in, nd.gap, i+skip, end, out)
		}
	}
	return end, out
}
