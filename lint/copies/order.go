package copies

import "math/bits"

// An order tells how much of two texts is the same in the same order, by the length of their longest common
// subsequence, a bit for each word (Hyyrö, Bit-parallel LCS-length computation revisited, AWOCA 2004). It keeps its
// memory for the next two.
type order struct {
	at    map[uint64]int32 // word of the first text → place of its row
	rows  []uint64         // for each word, the places where the first text has it
	state []uint64
}

// share is the share of words that two texts have in common, in the same order, among those of the longer one.
func (o *order) share(a, b []uint64) float64 {
	longer := max(len(a), len(b))
	if longer == 0 {
		return 0
	}
	return float64(o.common(a, b)) / float64(longer)
}

// common is the length of the longest common subsequence.
func (o *order) common(a, b []uint64) int {
	wide := (len(a) + 63) / 64
	o.prepare(a, wide)
	for _, w := range b {
		at, ok := o.at[w]
		if !ok {
			continue
		}
		row := o.rows[int(at)*wide : (int(at)+1)*wide]
		var carry uint64
		for i, v := range o.state {
			u := v & row[i]
			var sum uint64
			sum, carry = bits.Add64(v, u, carry)
			o.state[i] = sum | (v &^ row[i])
		}
	}
	n := 0
	for i, v := range o.state {
		left := ^v
		if last := len(a) - 64*i; last < 64 {
			left &= 1<<last - 1
		}
		n += bits.OnesCount64(left)
	}
	return n
}

// prepare notes where the words of a text stand.
func (o *order) prepare(a []uint64, wide int) {
	if o.at == nil {
		o.at = make(map[uint64]int32)
	}
	clear(o.at)
	o.rows = o.rows[:0]
	for i, w := range a {
		at, ok := o.at[w]
		if !ok {
			at = int32(len(o.at))
			o.at[w] = at
			for range wide {
				o.rows = append(o.rows, 0)
			}
		}
		o.rows[int(at)*wide+i/64] |= 1 << (i % 64)
	}
	o.state = o.state[:0]
	for range wide {
		o.state = append(o.state, ^uint64(0))
	}
}
