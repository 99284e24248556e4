package lexicon

import "fmt"

// class is a set of single words that the engine asks about by name; the words are data ("words.…").
// They are no wordings: the matcher does not know them.
type class uint8

const (
	hedge       class = iota // may stand between a vital sign and its figure
	ofCare                   // joins help or independence to what it is for
	hadTo                    // before "to": what was done, not what is to be
	institution              // a house or ward to which somebody is transferred
	thingFalls               // falls without anybody falling: a figure, leaves, night
	notUp                    // what is up, or is brought up, without anybody getting up
	wakeUp                   // verbs with which "up" tells of no getting up
	trouble                  // with which something is done badly or hurts
	title                    // before a surname
	says                     // what a person does and an aid cannot
	perfect                  // makes the perfect tense
	minutes                  // counts time
	trailing                 // doubts what stands before it
	weekday                  // a day of the week
	parent                   // what a relative calls the resident
	usedWith                 // before a machine, not a move
	strikes                  // tells a blow, rather than names it
	fallNoun                 // names a fall, rather than tells it
	noAnswer                 // says no behind a label
	month                    // a month
	minor                    // opens something after a denied list that is so after all
	onFoot                   // staff who go and come
	managed                  // got over a distance
	changing                 // tells a change, before "from"
	tellBase                 // tells, in the form of an instruction
	placed                   // leads to the place or time of a fall
	ontoBody                 // where a thing that falls lands on somebody
	staffWord                // a member of staff as the subject
	sustained                // joins an injury to the fall told before it
)

// classByName is the class that the data files call by that name.
func classByName(name string) (class, bool) {
	for c, n := range [...]string{
		hedge: "hedge", ofCare: "of-care", hadTo: "had-to", institution: "institution", thingFalls: "thing-falls",
		notUp: "not-up", wakeUp: "wake-up", trouble: "trouble", title: "title", says: "says", perfect: "perfect",
		minutes: "minutes", sustained: "sustained", usedWith: "used-with", strikes: "strikes",
		fallNoun: "fall-noun", noAnswer: "no-answer", month: "month", placed: "placed", tellBase: "tell-base", changing: "changing", managed: "managed", onFoot: "on-foot", minor: "minor", ontoBody: "onto-body",
		staffWord: "staff-word", trailing: "trailing", weekday: "weekday", parent: "parent",
	} {
		if n == name {
			return class(c), true
		}
	}
	return 0, false
}

// classes is a set of classes.
type classes uint64

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
