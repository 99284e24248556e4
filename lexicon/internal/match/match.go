// Package match finds the wordings of a vocabulary in a sequence of tokens, longest first from the left.
//
// Wordings are gathered in a graph in which their plain beginnings are shared and the options of a choice
// meet again; Seal makes of it an automaton that goes from state to state by one look-up a token, so that
// the cost of a token hardly grows with the number of wordings. Only a gap, a number and a token that must
// stand without a blank are tried beside the word. A sealed Matcher is immutable and safe for concurrent use.
package match

import "example.com/stance/lexicon/internal/vocab"

// WordID numbers the words that occur in wordings; 0 is any other word.
type WordID int32

// numberBit marks a step that takes a number; gluedBit one that allows no blank before it.
const (
	numberBit WordID = 1 << 28
	gluedBit  WordID = 1 << 29
	signs            = numberBit | gluedBit
)

// maxGap is how many tokens a gap may pass over.
const maxGap = 3

// A Matcher is the compiled vocabulary.
type Matcher struct {
	words  map[string]WordID
	graph  *graph // until it is sealed
	states []state
	next   table   // of the states
	first  []int32 // by WordID: the state after the word at the beginning, 0 for none
	number int32   // the state after a number at the beginning, 0 for none
}

// state is where a row of tokens has led. State 0 is none: nothing goes on from there.
type state struct {
	out int32 // payload+1 of what ends here, 0 for nothing
	gap int32 // state in which a gap ends, 0 for no gap
	// sees holds numberBit where a step from here takes a number, and gluedBit where one wants a token
	// without a blank before it.
	sees WordID
	word bool // a step from here takes a word
}

// start is the state before the first token.
const start = 1

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
	return &Matcher{words: map[string]WordID{}, graph: newGraph()}
}

// Add compiles one wording. Where two wordings meet in one sequence of words the lower payload holds.
func (m *Matcher) Add(seq vocab.Seq, payload int) {
	m.graph.add(seq, int32(payload)+1, m.give)
}

// give numbers a word of a wording.
func (m *Matcher) give(w string) WordID {
	id, ok := m.words[w]
	if !ok {
		id = WordID(len(m.words) + 1)
		m.words[w] = id
	}
	return id
}

// Word is the number of a folded word, 0 if no wording has it.
func (m *Matcher) Word(w string) WordID { return m.words[w] }

// Opens reports whether some wording begins with the token.
func (m *Matcher) Opens(t *Input) bool {
	return m.first[t.Word] != 0 || t.IsNum && m.number != 0
}

// At is the longest hit that begins at token i.
func (m *Matcher) At(in []Input, i int) (Hit, bool) {
	t := &in[i]
	var b best
	m.walk(in, m.first[t.Word], i+1, &b)
	if t.IsNum && m.number != 0 {
		m.walk(in, m.number, i+1, &b)
	}
	return Hit{From: i, To: b.end, Payload: int(b.out - 1)}, b.out > 0
}

// best is the longest wording so far; of equal length the lower payload.
type best struct {
	end int
	out int32
}

// walk goes on from state s with token i.
func (m *Matcher) walk(in []Input, s int32, i int, b *best) {
	for s != 0 {
		st := &m.states[s]
		if st.out > 0 && (i > b.end || i == b.end && st.out < b.out) {
			b.end, b.out = i, st.out
		}
		if st.gap != 0 {
			for skip := 0; skip <= maxGap && i+skip < len(in) && (skip == 0 || !in[i+skip-1].Stop); skip++ {
				m.walk(in, st.gap, i+skip, b)
			}
		}
		if i >= len(in) {
			return
		}
		t := &in[i]
		i++
		if st.sees != 0 {
			m.look(in, s, st.sees, t, i, b)
		}
		if !st.word || t.Word == 0 {
			return
		}
		s = m.next.get(s, t.Word)
	}
}

// look goes on from state s with a token as a number, and as one without a blank before it.
func (m *Matcher) look(in []Input, s int32, sees WordID, t *Input, i int, b *best) {
	if sees&numberBit != 0 && t.IsNum {
		m.walk(in, m.next.get(s, numberBit), i, b)
		if sees&gluedBit != 0 && t.Glued {
			m.walk(in, m.next.get(s, numberBit|gluedBit), i, b)
		}
	}
	if sees&gluedBit != 0 && t.Glued && t.Word != 0 {
		m.walk(in, m.next.get(s, t.Word|gluedBit), i, b)
	}
}
