// Package nearest finds the known word that a mistyped one was meant to be. An edit is a letter put in,
// left out or changed, or two neighbours swapped; capitals do not matter.
package nearest

import "strings"

// Of is the known word with the fewest edits to word, the first of several, and whether there is one
// within a third of the word's letters.
func Of(word string, known []string) (string, bool) {
	w := []rune(strings.ToLower(word))
	best, least := "", max(1, len(w)/3)+1
	for _, k := range known {
		if d := distance(w, []rune(strings.ToLower(k)), least); d < least {
			best, least = k, d
		}
	}
	return best, best != ""
}

// Hint is the end of an error message about an unknown word: ` (nearest is "x")`, or nothing.
func Hint(word string, known []string) string {
	if k, ok := Of(word, known); ok {
		return ` (nearest is "` + k + `")`
	}
	return ""
}

// Distance is the number of edits between two words.
func Distance(a, b string) int {
	x, y := []rune(strings.ToLower(a)), []rune(strings.ToLower(b))
	return distance(x, y, len(x)+len(y)+1)
}

// distance is the edit distance of a and b, or any number of at least limit where it is that large.
func distance(a, b []rune, limit int) int {
	if len(a)-len(b) >= limit || len(b)-len(a) >= limit {
		return limit
	}
	// Three rows of the table: two back, one back, and the present one.
	back, last, row := make([]int, len(b)+1), make([]int, len(b)+1), make([]int, len(b)+1)
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
