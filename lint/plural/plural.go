// Package plural counts things in words.
package plural

import "strconv"

// Of is "1 note" or "2 notes", for a noun that takes an s.
func Of(n int, noun string) string {
	s := strconv.Itoa(n) + " " + noun
	if n == 1 {
		return s
	}
	return s + "s"
}
