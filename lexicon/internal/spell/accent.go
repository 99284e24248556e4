package spell

import "strings"

// An Accent tells which words a word may be that is written as somebody says it: "doon" is "down", "settin" "setting".
type Accent struct{ changes []change }

// change is letters that are said in place of others, at the beginning, within or at the end of a word.
type change struct {
	said, meant string
	at          place
}

type place int

const (
	within place = iota
	begins
	ends
)

// shortest is the letters from which a word is read as said in an accent: in two letters too much may be meant.
const shortest = 3

// Add makes what is said, with a hyphen on each side on which the word goes on ("-oo-", "-in", "d-"), stand for other
// letters.
func (a *Accent) Add(said, meant string) {
	c := change{said: strings.Trim(said, "-"), meant: meant}
	switch {
	case !strings.HasPrefix(said, "-"):
		c.at = begins
	case !strings.HasSuffix(said, "-"):
		c.at = ends
	}
	a.changes = append(a.changes, c)
}

// Meant is the first word that w may be, in the order of Add, of those that is says are words; "" for none.
func (a *Accent) Meant(w string, is func(string) bool) string {
	if len(w) < shortest {
		return ""
	}
	for _, c := range a.changes {
		if m := c.apply(w); m != "" && is(m) {
			return m
		}
	}
	return ""
}

func (c change) apply(w string) string {
	switch c.at {
	case begins:
		if rest, ok := strings.CutPrefix(w, c.said); ok {
			return c.meant + rest
		}
	case ends:
		if stem, ok := strings.CutSuffix(w, c.said); ok {
			return stem + c.meant
		}
	default:
		if strings.Contains(w, c.said) {
			return strings.Replace(w, c.said, c.meant, 1)
		}
	}
	return ""
}
