// Package nearest finds the known word that a mistyped one was meant to be. An edit is a letter put in,
// left out or changed, or two neighbours swapped; capitals do not matter.
package nearest

import (
	"strings"

	"example.com/stance/lexicon/edit"
)

// Of is the known word with the fewest edits to word, the first of several, and whether there is one
// within a third of the word's letters.
func Of(word string, known []string) (string, bool) {
	w := []rune(strings.ToLower(word))
	best, least := "", max(1, len(w)/3)+1
	for _, k := range known {
		if d := edit.Distance(w, []rune(strings.ToLower(k)), least); d < least {
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
	return edit.Distance(x, y, len(x)+len(y)+1)
}
