package match

// table holds the moves of all states, those of a state together and in order of what they take.
type table struct {
	by    []WordID
	to    []int32
	begin []int32 // by state, and one past the last: where its moves begin
	some  filter  // most look-ups end here, in the nearest cache
}

// get is the state that a move leads to, 0 for none.
func (t *table) get(from int32, by WordID) int32 {
	if !t.some.maybe(from, by) {
		return 0
	}
	lo, hi := t.begin[from], t.begin[from+1]
	for lo < hi {
		if mid := int32(uint32(lo+hi) / 2); t.by[mid] < by {
			lo = mid + 1
		} else {
			hi = mid
		}
	}
	if lo < t.begin[from+1] && t.by[lo] == by {
		return t.to[lo]
	}
	return 0
}

// filter holds a bit for each move: one that it does not hold was never added. It takes 64 KiB.
type filter []uint64

const filterLog = 19 // of its size in bits

func newFilter() filter { return make(filter, 1<<filterLog/64) }

func (f filter) add(from int32, by WordID) {
	b := place(from, by)
	f[b/64] |= 1 << (b % 64)
}

func (f filter) maybe(from int32, by WordID) bool {
	b := place(from, by)
	return f[b/64]&(1<<(b%64)) != 0
}

func place(from int32, by WordID) uint64 {
	const golden = 0x9E3779B97F4A7C15 // 2^64 over the golden ratio, which spreads neighbouring keys
	return (uint64(uint32(from))<<32 | uint64(uint32(by))) * golden >> (64 - filterLog)
}
