package lexicon

import (
	"slices"

	"example.com/stance/lexicon/internal/english"
)

// doubledSubjects takes out the pronoun that only says a subject once more, as speakers of many languages do: "the lift it
// was busy", "the resident she was wet". What goes on with another noun's pronoun is a clause about that noun and stays:
// "the frame she uses".
func (r *reader) doubledSubjects() {
	for i := 1; i < len(r.toks); i++ {
		if !r.is(i, thirdPerson) && r.word(i) != "it" || !r.finite(i+1) {
			continue
		}
		p, ok := r.phraseEnding(i - 1)
		if !ok || p.head != i-1 || !r.opensClause(p.from-1) || r.is(p.from-1, joinsNames) || !r.opensNoun(p.from) && !r.is(p.head, residentNoun) {
			continue
		}
		person := p.names != doerThing && (p.sense == english.Person || r.is(p.head, residentNoun) || r.kin(p.head))
		thing := r.word(i) == "it" && p.names != doerResident && p.names != doerOther && p.sense != english.Time && p.sense != english.Person
		if thing || person && r.word(i) != "it" {
			r.cutToken(i)
		}
	}
}

// finite reports whether the word at token i is a verb that a subject has: "was", "came", "uses".
func (r *reader) finite(i int) bool {
	w := r.english(i)
	return r.is(i, beWord) || r.is(i, hasWord) || r.is(i, modal) || w.verb || w.form == english.Past || w.does != 0
}

// cutToken takes token i out of the note. The places of the others stay what they are.
func (r *reader) cutToken(i int) {
	r.toks, r.in, r.themeIn = slices.Delete(r.toks, i, i+1), slices.Delete(r.in, i, i+1), slices.Delete(r.themeIn, i, i+1)
	r.classes, r.sorts = slices.Delete(r.classes, i, i+1), slices.Delete(r.sorts, i, i+1)
}
