package lexicon

import "fmt"

// class is a set of single words that the engine asks about by name; the words are data ("words.…").
// They are no wordings: the matcher does not know them.
type class uint8

const (
	hedge  class = iota // may stand between a vital sign and its figure
	ofCare              // joins help or independence to what it is for
	hadTo               // before "to": what was done, not what is to be
)

// classes is a set of classes.
type classes uint64

func classByName(name string) (class, bool) {
	switch name {
	case "hedge":
		return hedge, true
	case "of-care":
		return ofCare, true
	case "had-to":
		return hadTo, true
	}
	return 0, false
}

// classify files the words of an entry under its class.
func (l *Lexicon) classify(e *entry) error {
	c, ok := classByName(e.name)
	if !ok {
		return fmt.Errorf("%s:%d: unknown class of words %q", e.File, e.Line, e.name)
	}
	for _, w := range e.Says {
		l.classes[w.Text] |= 1 << c
	}
	return nil
}

// is reports whether token i is of a class of words.
func (r *reader) is(i int, c class) bool {
	return r.lex.classes[r.word(i)]&(1<<c) != 0
}
