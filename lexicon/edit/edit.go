// Package edit counts the edits between two words: a letter put in, left out or changed, or two
// neighbours swapped.
package edit

// short is the length up to which the table of a word needs no memory of its own.
const short = 32

// Distance is the number of edits between a and b, or any number of at least limit where it is that
// large. Capitals matter.
func Distance[T byte | rune](a, b []T, limit int) int {
	if len(a)-len(b) >= limit || len(b)-len(a) >= limit {
		return limit
	}
	// Three rows of the table: two back, one back, and the present one.
	var table [3 * (short + 1)]int
	rows, n := table[:], len(b)+1
	if len(b) > short {
		rows = make([]int, 3*n)
	}
	back, last, row := rows[:n], rows[n:2*n], rows[2*n:3*n]
	for j := range last {
		last[j] = j
	}
	for i := range a {
		row[0] = i + 1
		for j := range b {
			cost := 1
			if a[i] == b[j] {
				cost = 0
			}
			row[j+1] = min(last[j+1]+1, row[j]+1, last[j]+cost)
			if i > 0 && j > 0 && a[i] == b[j-1] && a[i-1] == b[j] {
				row[j+1] = min(row[j+1], back[j-1]+1)
			}
		}
		back, last, row = last, row, back
	}
	return last[len(b)]
}
