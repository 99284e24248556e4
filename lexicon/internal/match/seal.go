package match

import (
	"encoding/binary"
	"slices"
)

// Seal prepares the matcher for use after the last Add.
//
// The states are sets of nodes of the graph, as in the subset construction of Rabin and Scott (Finite
// automata and their decision problems, IBM Journal of Research and Development 3, 1959), a source named
// from memory.
func (m *Matcher) Seal() {
	size := len(m.graph.nodes) // about as many states come out
	a := automaton{
		graph: m.graph, ids: map[string]int32{}, alone: make([]int32, size),
		sets: make([][]int32, 1, size), states: make([]state, 1, size),
		moves: table{by: make([]WordID, 0, 2*size), to: make([]int32, 0, 2*size), begin: make([]int32, 1, size), some: newFilter()},
	}
	m.graph = nil
	a.of([]int32{0}) // the start
	for s := start; s < len(a.sets); s++ {
		a.spread(int32(s))
	}
	a.moves.begin = append(a.moves.begin, int32(len(a.moves.by)))
	m.states, m.next = a.states, a.moves
	m.number = m.next.get(start, numberBit)
	m.first = make([]int32, len(m.words)+1)
	for w := range m.first[1:] {
		m.first[w+1] = m.next.get(start, WordID(w+1))
	}
}

// automaton is the states while they are made.
type automaton struct {
	graph  *graph
	ids    map[string]int32 // by the set, in bytes
	alone  []int32          // by node: the state of the set of it alone, 0 while there is none
	sets   [][]int32        // by state: nodes, sorted
	states []state
	moves  table

	nodes []int32  // of the sets, which share this room
	steps []uint64 // room for the steps of a set, each its symbol before its node, so that numbers sort them
	to    []int32  // and for where one symbol leads
	last  []int32  // and for where the symbol before led
	gap   []int32  // and for where a gap does
	set   []int32  // and for a set not known yet
	seen  []byte   // and for a set's bytes
}

// of is the state of a set of nodes and of those that they reach at no cost, 0 for the empty set.
func (a *automaton) of(nodes []int32) int32 {
	switch {
	case len(nodes) == 0:
		return 0
	case len(nodes) > 1 || len(a.graph.nodes[nodes[0]].free) > 0:
		return a.ofMany(nodes)
	}
	// most are of one node, which needs no search
	id := &a.alone[nodes[0]]
	if *id == 0 {
		*id = a.grow(nodes)
	}
	return *id
}

func (a *automaton) ofMany(nodes []int32) int32 {
	set := append(a.set[:0], nodes...)
	for i := 0; i < len(set); i++ {
		set = append(set, a.graph.nodes[set[i]].free...)
	}
	slices.Sort(set)
	set = slices.Compact(set)
	a.set = set
	a.seen = a.seen[:0]
	for _, n := range set {
		a.seen = binary.LittleEndian.AppendUint32(a.seen, uint32(n))
	}
	id, ok := a.ids[string(a.seen)]
	if !ok {
		id = a.grow(set)
		a.ids[string(a.seen)] = id
	}
	return id
}

// grow makes a state of a copy of the set.
func (a *automaton) grow(set []int32) int32 {
	at := len(a.nodes)
	a.nodes = append(a.nodes, set...)
	a.sets, a.states = append(a.sets, a.nodes[at:len(a.nodes):len(a.nodes)]), append(a.states, state{})
	return int32(len(a.sets) - 1)
}

// spread finds what a state says and where it leads.
func (a *automaton) spread(s int32) {
	a.moves.begin = append(a.moves.begin, int32(len(a.moves.by)))
	var st state
	a.steps, a.gap = a.steps[:0], a.gap[:0]
	for _, n := range a.sets[s] {
		nd := &a.graph.nodes[n]
		if nd.out > 0 && (st.out == 0 || nd.out < st.out) {
			st.out = nd.out
		}
		a.gap = append(a.gap, nd.gap...)
		for _, s := range nd.steps {
			a.steps = append(a.steps, uint64(s.symbol)<<32|uint64(s.to))
		}
	}
	st.gap = a.of(a.gap)
	slices.Sort(a.steps)
	a.steps = slices.Compact(a.steps)
	next := int32(0)
	a.last = a.last[:0]
	for i := 0; i < len(a.steps); {
		by := WordID(a.steps[i] >> 32)
		a.to = a.to[:0]
		for ; i < len(a.steps) && WordID(a.steps[i]>>32) == by; i++ {
			a.to = append(a.to, int32(uint32(a.steps[i])))
		}
		// the options of a choice stand together and lead to one place
		if !slices.Equal(a.to, a.last) {
			next, a.last = a.of(a.to), append(a.last[:0], a.to...)
		}
		a.moves.by, a.moves.to = append(a.moves.by, by), append(a.moves.to, next)
		a.moves.some.add(s, by)
		st.sees |= by & signs
		st.word = st.word || by&numberBit == 0
	}
	a.states[s] = st
}
