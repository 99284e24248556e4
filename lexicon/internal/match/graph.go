package match

import "example.com/stance/lexicon/internal/vocab"

// graph is the wordings while they are gathered. Node 0 stands before the first token.
type graph struct {
	nodes []node
	tree  map[branch]int32 // the shared beginnings
}

type node struct {
	out   int32 // payload+1, 0 for none
	steps []step
	free  []int32 // nodes that go on from here at no cost
	gap   []int32 // nodes that go on from here after a gap
}

// step leads by a symbol, a word or numberBit with or without gluedBit, to a node.
type step struct {
	symbol WordID
	to     int32
}

type branch struct {
	node   int32
	symbol WordID
}

func newGraph() *graph {
	const usual = 1 << 13 // nodes of a vocabulary: making room bit by bit costs more than the wordings
	return &graph{nodes: make([]node, 1, usual), tree: make(map[branch]int32, usual)}
}

// add puts a wording in. Words are numbered by number.
func (g *graph) add(seq vocab.Seq, out int32, number func(string) WordID) {
	at, i := int32(0), 0
	for ; i < len(seq) && seq[i].Slot != vocab.Choice && seq[i].Slot != vocab.Gap; i++ {
		k := branch{at, symbol(&seq[i], i == 0, number)}
		next, ok := g.tree[k]
		if !ok {
			next = g.grow()
			g.tree[k] = next
			g.connect(at, k.symbol, next)
		}
		at = next
	}
	if i < len(seq) {
		end := g.grow()
		g.lead(seq[i:], at, end, i == 0, number)
		at = end
	}
	if n := &g.nodes[at]; n.out == 0 || n.out > out {
		n.out = out
	}
}

func (g *graph) grow() int32 {
	g.nodes = append(g.nodes, node{})
	return int32(len(g.nodes) - 1)
}

func (g *graph) connect(from int32, by WordID, to int32) {
	g.nodes[from].steps = append(g.nodes[from].steps, step{by, to})
}

// symbol is what a word or number slot takes; opens says that nothing stands before it.
func symbol(p *vocab.Part, opens bool, number func(string) WordID) WordID {
	s := numberBit
	if p.Slot == vocab.Literal {
		s = number(p.Word)
	}
	if p.Glued && !opens {
		s |= gluedBit
	}
	return s
}

// lead takes the sequence from one node to another; opens says that nothing stands before it.
func (g *graph) lead(seq vocab.Seq, from, to int32, opens bool, number func(string) WordID) {
	if len(seq) == 0 {
		g.nodes[from].free = append(g.nodes[from].free, to)
		return
	}
	for i := range seq {
		next := to
		if i < len(seq)-1 {
			next = g.grow()
		}
		switch p := &seq[i]; p.Slot {
		case vocab.Choice:
			for _, o := range p.Options {
				if p.Glued && len(o) > 0 {
					o = append(vocab.Seq(nil), o...)
					o[0].Glued = true
				}
				g.lead(o, from, next, opens && i == 0, number)
			}
		case vocab.Gap:
			g.nodes[from].gap = append(g.nodes[from].gap, next)
		default:
			g.connect(from, symbol(p, opens && i == 0, number), next)
		}
		from = next
	}
}
