package cli

import "strings"

// nearest is the known word with the fewest letters to add, drop or change from word, and whether one
// is near enough to be what was meant: within a third of the word's letters.
func nearest(word string, known []string) (string, bool) {
	best, least := "", max(1, len(word)/3)+1
	for _, k := range known {
		if d := edits(strings.ToLower(word), strings.ToLower(k)); d < least {
			best, least = k, d
		}
	}
	return best, best != ""
}

// edits is the Levenshtein distance of a and b in bytes.
func edits(a, b string) int {
	row := make([]int, len(b)+1)
	for j := range row {
		row[j] = j
	}
	for i := range len(a) {
		diagonal := row[0]
		row[0] = i + 1
		for j := range len(b) {
			cost := diagonal
			if a[i] != b[j] {
				cost = 1 + min(diagonal, row[j], row[j+1])
			}
			diagonal, row[j+1] = row[j+1], cost
		}
	}
	return row[len(b)]
}
