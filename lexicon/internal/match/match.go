// Package match finds the wordings of a vocabulary in a sequence of tokens, longest first from the left.
//
// All wordings are compiled once into one graph over word numbers: the plain beginnings of wordings
// share a trie, and the options of a choice meet again in one node, so that a wording costs what it is
// long, not what it could be spelled out to. A Matcher is immutable once sealed and safe for concurrent
// use. The cost of a token hardly grows with the number of wordings.
package match

import "example.com/stance/lexicon/internal/vocab"

// WordID numbers the words that occur in wordings; 0 is any other word.
type WordID int32

// A Matcher is the compiled vocabulary.
type Matcher struct {
	words map[string]WordID
	nodes []node
	edges map[edge]int32 // while compiling: to the first link of a chain
	table *table         // the same, sealed
	links []link
	tree  map[edge]int32 // while compiling: the shared beginnings
	first []opening      // by WordID: how wordings go on that begin with the word
	pairs filter         // the first two words of all wordings
}

// opening is what follows a first word. Most words that open a wording open it in other company than what
// stands next in a note, and the pair of words tells so in one look.
type opening struct {
	links  int32 // chain from the root
	out    int32 // payload+1 of the word on its own, 0 for none
	number bool  // some wording goes on with a number
	gap    bool  // some wording goes on with a gap
}

type edge struct {
	node int32
	word WordID
}

// link is one of the nodes that a word leads to.
type link struct{ to, next int32 }

type node struct {
	out  int32 // payload+1, 0 for none
	eps  int32 // chain of nodes that go on from here at no cost
	gap  int32 // chain of nodes reached by up to maxGap words
	word bool  // some edge takes a word
	glue bool  // some edge wants a word without a blank before it
	num  bool  // some edge takes a number
}

const maxGap = 3

// numberWord stands for any number on an edge; gluedBit marks an edge that allows no blank before it.
const (
	numberWord WordID = 1 << 28
	gluedBit   WordID = 1 << 29
)

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

// New returns an empty matcher. Add wordings, then Seal it.
func New() *Matcher {
	return &Matcher{words: map[string]WordID{}, nodes: make([]node, 1), edges: map[edge]int32{}, links: make([]link, 1), tree: map[edge]int32{}}
}

// Add compiles one wording. Where two wordings meet in one sequence of words the lower payload holds.
func (m *Matcher) Add(seq vocab.Seq, payload int) {
	at, i := int32(0), 0
	for ; i < len(seq) && seq[i].Slot != vocab.Choice && seq[i].Slot != vocab.Gap; i++ {
		k := edge{at, m.symbol(&seq[i], i == 0)}
		next, ok := m.tree[k]
		if !ok {
			next = m.grow()
			m.tree[k] = next
			m.connect(k, next)
		}
		at = next
	}
	if i < len(seq) {
		end := m.grow()
		m.compile(seq[i:], at, end, i == 0)
		at = end
	}
	if n := &m.nodes[at]; n.out == 0 || n.out > int32(payload)+1 {
		n.out = int32(payload) + 1
	}
}

func (m *Matcher) grow() int32 {
	m.nodes = append(m.nodes, node{})
	return int32(len(m.nodes) - 1)
}

func (m *Matcher) symbol(p *vocab.Part, opens bool) WordID {
	id := numberWord
	if p.Slot == vocab.Literal {
		var ok bool
		if id, ok = m.words[p.Word]; !ok {
			id = WordID(len(m.words) + 1)
			m.words[p.Word] = id
		}
	}
	if p.Glued && !opens {
		id |= gluedBit
	}
	return id
}

func (m *Matcher) connect(k edge, to int32) {
	n := &m.nodes[k.node]
	n.glue = n.glue || k.word&gluedBit != 0
	n.num = n.num || k.word&numberWord != 0
	n.word = n.word || k.word&numberWord == 0
	m.edges[k] = m.chain(to, m.edges[k])
}

// chain puts a node before the rest of a chain.
func (m *Matcher) chain(to, rest int32) int32 {
	m.links = append(m.links, link{to: to, next: rest})
	return int32(len(m.links) - 1)
}

// compile leads the sequence from one node to another; opens says that nothing stands before it.
func (m *Matcher) compile(seq vocab.Seq, from, to int32, opens bool) {
	if len(seq) == 0 {
		m.nodes[from].eps = m.chain(to, m.nodes[from].eps)
		return
	}
	for i := range seq {
		next := to
		if i < len(seq)-1 {
			next = m.grow()
		}
		switch p := &seq[i]; p.Slot {
		case vocab.Choice:
			for _, o := range p.Options {
				if p.Glued && len(o) > 0 {
					o = append(vocab.Seq(nil), o...)
					o[0].Glued = true
				}
				m.compile(o, from, next, opens && i == 0)
			}
		case vocab.Gap:
			m.nodes[from].gap = m.chain(next, m.nodes[from].gap)
		default:
			m.connect(edge{from, m.symbol(p, opens && i == 0)}, next)
		}
		from = next
	}
}

// Seal prepares the matcher for use after the last Add.
func (m *Matcher) Seal() {
	m.tree = nil
	m.table = newTable(m.edges)
	m.first = make([]opening, len(m.words)+1)
	after := make([][]WordID, len(m.nodes)) // the symbols on the edges of each node
	for e, l := range m.edges {
		if e.node == 0 && e.word < numberWord {
			m.first[e.word].links = l
		}
		after[e.node] = append(after[e.node], e.word)
	}
	m.pairs = newFilter()
	for w := range m.first {
		m.open(WordID(w), m.first[w].links, after)
	}
	m.edges = nil
}

// open notes what may follow the first word w along a chain of links.
func (m *Matcher) open(w WordID, l int32, after [][]WordID) {
	o := &m.first[w]
	for ; l != 0; l = m.links[l].next {
		n := m.links[l].to
		nd := &m.nodes[n]
		if nd.out > 0 && (o.out == 0 || nd.out < o.out) {
			o.out = nd.out
		}
		o.gap = o.gap || nd.gap != 0
		o.number = o.number || nd.num
		for _, s := range after[n] {
			m.pairs.add(key(int32(w), s&^gluedBit))
		}
		m.open(w, nd.eps, after)
	}
}

// Word is the number of a folded word, 0 if no wording has it.
func (m *Matcher) Word(w string) WordID { return m.words[w] }

// Opens reports whether some wording begins with the token.
func (m *Matcher) Opens(t *Input) bool {
	return m.first[t.Word].links != 0 || t.IsNum || m.nodes[0].eps != 0
}

// At is the longest hit that begins at token i.
func (m *Matcher) At(in []Input, i int) (Hit, bool) {
	var b best
	if w := in[i].Word; w != 0 {
		switch o := &m.first[w]; {
		case o.gap || i+1 < len(in) && m.goesOn(o, w, &in[i+1]):
			m.follow(in, o.links, i+1, &b)
		case o.out > 0:
			b = best{end: i + 1, out: o.out}
		}
	}
	if in[i].IsNum {
		m.follow(in, m.table.get(0, numberWord), i+1, &b)
	}
	// wordings that begin with a choice of which one option is empty
	m.follow(in, m.nodes[0].eps, i, &b)
	return Hit{From: i, To: b.end, Payload: int(b.out - 1)}, b.out > 0
}

// goesOn reports whether some wording may begin with the word w and the token t.
func (m *Matcher) goesOn(o *opening, w WordID, t *Input) bool {
	return o.number && t.IsNum || t.Word != 0 && m.pairs.maybe(key(int32(w), t.Word))
}

// best is the longest wording so far; of equal length the lower payload.
type best struct {
	end int
	out int32
}

func (m *Matcher) follow(in []Input, l int32, i int, b *best) {
	for ; l != 0; l = m.links[l].next {
		m.walk(in, m.links[l].to, i, b)
	}
}

// walk goes on from node n with token i.
func (m *Matcher) walk(in []Input, n int32, i int, b *best) {
	nd := &m.nodes[n]
	if nd.out > 0 && (i > b.end || i == b.end && nd.out < b.out) {
		b.end, b.out = i, nd.out
	}
	if nd.eps != 0 {
		m.follow(in, nd.eps, i, b)
	}
	if i >= len(in) {
		return
	}
	t := &in[i]
	if t.Word != 0 && nd.word {
		m.follow(in, m.table.get(n, t.Word), i+1, b)
		if nd.glue && t.Glued {
			m.follow(in, m.table.get(n, t.Word|gluedBit), i+1, b)
		}
	}
	if t.IsNum && nd.num {
		m.follow(in, m.table.get(n, numberWord), i+1, b)
		if nd.glue && t.Glued {
			m.follow(in, m.table.get(n, numberWord|gluedBit), i+1, b)
		}
	}
	for g := nd.gap; g != 0; g = m.links[g].next {
		for skip := 0; skip <= maxGap && i+skip < len(in); skip++ {
			if skip > 0 && in[i+skip-1].Stop {
				break
			}
			m.walk(in, m.links[g].to, i+skip, b)
		}
	}
}

// table is a hash table of edges with open addressing: it is read a few times a token, and a map of
// the runtime's costs several times as much there.
type table struct {
	keys  []uint64 // node<<32 | word, plus 1; 0 for an empty place
	links []int32
	shift uint
	some  filter // most look-ups end here, in the nearest cache
}

// filter holds a bit for each key's hash: a key that it does not hold was never added. It takes 64 KiB.
type filter []uint64

const filterLog = 19 // of its size in bits

func newFilter() filter { return make(filter, 1<<filterLog/64) }

func (f filter) add(k uint64) {
	b := mix(k) >> (64 - filterLog)
	f[b/64] |= 1 << (b % 64)
}

func (f filter) maybe(k uint64) bool {
	b := mix(k) >> (64 - filterLog)
	return f[b/64]&(1<<(b%64)) != 0
}

func newTable(edges map[edge]int32) *table {
	bits := uint(4)
	for 1<<bits < 2*len(edges) {
		bits++
	}
	t := &table{keys: make([]uint64, 1<<bits), links: make([]int32, 1<<bits), shift: 64 - bits, some: newFilter()}
	for e, l := range edges {
		k := key(e.node, e.word)
		i := t.slot(k)
		for t.keys[i] != 0 {
			i = (i + 1) & (len(t.keys) - 1)
		}
		t.keys[i], t.links[i] = k, l
		t.some.add(k)
	}
	return t
}

func key(n int32, w WordID) uint64 { return uint64(uint32(n))<<32 | uint64(uint32(w)) + 1 }

func mix(k uint64) uint64 {
	const golden = 0x9E3779B97F4A7C15 // 2^64 over the golden ratio, which spreads neighbouring keys
	k *= golden
	return k ^ k>>29
}

func (t *table) slot(k uint64) int { return int(mix(k) >> t.shift) }

// get is the chain of links of an edge, 0 for none.
func (t *table) get(n int32, w WordID) int32 {
	k := key(n, w)
	if !t.some.maybe(k) {
		return 0
	}
	for i := t.slot(k); ; i = (i + 1) & (len(t.keys) - 1) {
		switch t.keys[i] {
		case k:
			return t.links[i]
		case 0:
			return 0
		}
	}
}
