package lexicon

import (
	"strings"

	"slices"

	"example.com/stance/lexicon/internal/english"
	"example.com/stance/lexicon/internal/people"
	"example.com/stance/lexicon/internal/token"
)

// people gives each word its role in naming people.
func (r *reader) people() {
	r.roles = r.roles[:0]
	for i := range r.toks {
		r.roles = append(r.roles, r.personRole(i))
	}
	if r.student = r.studentWrites(); r.student {
		for i := range r.roles {
			if r.roles[i].Role == people.Writer {
				r.roles[i].Role = people.Student
			}
		}
	}
	for i := 1; i < len(r.roles); i++ {
		role := r.roles[i-1].Role
		theirs := role == people.Person && i > 1 && (r.is(i-2, owner) || r.word(i-2) == "a") // "her friend Rose"
		if r.roles[i].Role != people.Name || !theirs && role != people.Family && role != people.Student && role != people.Volunteer {
			continue
		}
		r.roles[i].Role = role
		for k := range r.roles { // "her husband Leo": Leo is family from then on
			if k != i && r.roles[k].Role == people.Name && r.toks[k].Word == r.toks[i].Word {
				r.roles[k].Role = role
			}
		}
	}
}

// studentWrites reports whether the writer says that they are a student: "the other student and I", "me (the student)".
func (r *reader) studentWrites() bool {
	for i := 1; i < len(r.roles); i++ {
		if r.roles[i].Role != people.Student {
			continue
		}
		if r.is(i-1, otherOf) && r.word(i-1) != "another" || r.word(i-1) == "this" || r.word(i-1) == "the" && r.word(i-2) == "(" && i > 2 && r.roles[i-3].Role == people.Writer {
			return true
		}
	}
	return false
}

// personRole is what token i can do in naming people.
func (r *reader) personRole(i int) people.Word {
	t := &r.toks[i]
	as := func(role people.Role) people.Word { return people.Word{Role: role} }
	switch {
	case r.is(i, writerNamed):
		return as(people.Writer)
	case r.is(i, joinsNames), r.is(i, joinsNamesToo) && i > 0 && (r.roles[i-1].Role == people.Writer || r.roles[i-1].Role == people.Name):
		return as(people.Joint)
	case t.Kind == token.Sign && t.Word == ",":
		return as(people.Comma)
	case i > 0 && (t.Word == "on" || t.Word == "at") && r.namesSomebody(i-1) && (r.is(i+1, article) || r.is(i+1, owner)) && !r.anyBetween(i, i+4, standsBy):
		return as(people.Post)
	case t.IsNum && t.Num >= 1 && t.Num <= 6:
		return people.Word{Role: people.Number, Count: int(t.Num)}
	case t.Kind != token.Word:
		return as(people.None)
	case r.is(i, self) && r.movesWithWriter(i):
		return as(people.Family) // "himself and meself hoisted her": the man of the house
	case (r.is(i, thirdPerson) || r.object(i)) && r.movesWithWriter(i):
		return as(people.Colleague) // "she and I did it together", "her and me hoisted him"
	case r.is(i, studentWord):
		return as(people.Student)
	case r.is(i, volunteerWord):
		return as(people.Volunteer)
	case r.is(i, colleagueNoun):
		return as(people.Colleague)
	case r.sisterByTitle(i):
		return as(people.Colleague) // "Sister Joy and I"
	case r.is(i, male), r.is(i, female), r.is(i, kin), r.theirChild(i):
		return as(people.Family)
	case r.is(i, residentNoun):
		return as(people.None)
	case r.is(i, article), r.is(i, owner), r.is(i, beforePerson), r.is(i, title), r.word(i) == "this":
		return as(people.Determiner)
	case r.isName(i):
		return as(people.Name)
	case r.endsTherapist(i):
		return as(people.Therapist)
	}
	w := r.english(i)
	switch {
	case w.unknown && t.Capital && !t.Upper && r.joinsWriter(i+1):
		return as(people.Name) // "Hemi and me", whatever else the word is short for
	case w.noun == english.Person && r.ourOwn(i):
		return as(people.Colleague) // "my mentor", "our weekend lady"
	case w.noun == english.Person:
		return as(people.Person)
	case w.given, w.unknown && len(t.Word) > 1 && r.in[i].Word == 0:
		return as(people.Nickname)
	case (w.adjective || w.isNoun && !w.verb) && len(t.Word) > 2:
		return as(people.Modifier)
	}
	return as(people.None)
}

// sisterByTitle reports whether token i is what a nurse is called before her name.
func (r *reader) sisterByTitle(i int) bool {
	return r.word(i) == "sister" && r.toks[i].Capital && !r.toks[i].Upper && r.isName(i+1) && !r.is(i-1, owner)
}

// theirChild reports whether the word for a young person at token i is one for a child of the resident's: "his twa lassies".
func (r *reader) theirChild(i int) bool {
	if !r.is(i, youngWord) {
		return false
	}
	k := i - 1
	for r.toks[max(k, 0)].IsNum && k > i-3 {
		k--
	}
	return r.word(k) == "his" || r.word(k) == "her"
}

// namesSomebody reports whether token i has been found to name a person.
func (r *reader) namesSomebody(i int) bool {
	switch r.roles[i].Role {
	case people.Writer, people.Name, people.Nickname, people.Colleague, people.Student:
		return true
	}
	return false
}

// movesWithWriter reports whether the pronoun at token i and the writer move somebody together, so that it is not the
// resident: "she and I did it together".
func (r *reader) movesWithWriter(i int) bool {
	if !r.is(i+1, joinsNames) || !r.is(i+2, writerNamed) {
		return false
	}
	return r.movesSomebody(i+3) || r.is(i+3, didWord) && (r.word(i+4) == "it" || r.object(i+4))
}

// joinsWriter reports whether the words at token i, which may not be classed yet, join the writer to somebody: "and I".
func (r *reader) joinsWriter(i int) bool {
	in := func(k int, c class) bool {
		if k >= len(r.toks) {
			return false
		}
		classes := r.lex.classes[r.toks[k].Word]
		return classes.has(c)
	}
	return in(i, joinsNames) && in(i+1, writerNamed)
}

// ourOwn reports whether "my" or "our" stands before the person at token i and what says of which sort they are.
func (r *reader) ourOwn(i int) bool {
	k := i - 1
	for k >= 0 && k > i-3 && r.roles[k].Role == people.Modifier {
		k--
	}
	return r.word(k) == "my" || r.word(k) == "our"
}

// endsTherapist reports whether token i is a trade of therapists: "physio", "OT".
func (r *reader) endsTherapist(i int) bool {
	h, ok := r.hitAt(i)
	return ok && r.kindOf(h) == kindPerson && r.lex.said[h.Payload].e.name == "therapy"
}

// bracketEnd is the token behind the bracket at token i that only says who somebody is, "(the student)", i for none.
func (r *reader) bracketEnd(i int) int {
	if r.word(i) != "(" {
		return i
	}
	for k := i + 1; k < len(r.roles) && k < i+5; k++ {
		switch {
		case r.word(k) == ")":
			return k + 1
		case r.roles[k].Role == people.None:
			return i
		}
	}
	return i
}

// isName reports whether token i is somebody's name: a capitalised word that is a given name and stands within a
// sentence or is no ordinary word, or one that nothing knows.
func (r *reader) isName(i int) bool {
	if i < 0 || i >= len(r.toks) {
		return false
	}
	t := &r.toks[i]
	if t.Kind != token.Word || t.End-t.Start < 2 {
		return false
	}
	w := r.english(i)
	if !t.Capital || t.Upper {
		return w.given && w.unknown
	}
	if w.given && (w.unknown || !r.opens(i) || r.given[t.Word]) {
		return true // as is one that opens a sentence and is a name elsewhere in the note: "son Bill came. Bill is …"
	}
	return w.unknown && r.in[i].Word == 0
}

// english is what the dictionaries say of the word at token i as it was written.
func (r *reader) english(i int) dictionary {
	if i < 0 || i >= len(r.sorts) {
		return dictionary{}
	}
	return r.sorts[i]
}

// dictionary is what dictionaries say of a word.
type dictionary struct {
	noun, does              english.Sense
	isNoun, verb, adjective bool
	stem                    string // without the ending of a verb or the plural
	form                    english.Form
	given                   bool // a given name
	unknown                 bool // no word that they know
}

func lookInDictionary(word string, ordinary bool) dictionary {
	w := english.Look(word)
	stem, form := english.Stem(word)
	does := w.Does
	if form != english.Bare {
		does = english.Look(stem).Does
	}
	return dictionary{
		stem: strings.Clone(stem), form: form, does: does,
		noun: w.Noun, isNoun: w.IsNoun, verb: w.Verb, adjective: w.Adjective,
		given: english.GivenName(word), unknown: w == (english.Word{}) && !ordinary,
	}
}

// helperGroup is the group of helpers whose words begin at token i, which may be the preposition before them, and
// whether there is one: "me and Kasia", "with Kel and the agency lad".
func (r *reader) helperGroup(i int) (people.Group, bool) {
	at := i
	led := r.is(i, besideHelpers)
	if led {
		at++
	}
	if !led && r.is(i, writerNamed) && r.is(i, self) && r.endsThere(i+1) && r.afterMeans(i) {
		return people.Group{From: i, To: i + 1, Staff: 1}, true // "with the ceiling lift myself"
	}
	if !led && (r.word(i-1) == "," || r.is(i-1, joinsNames)) {
		if g, ok := people.One(r.roles, at); ok && r.anyBetween(g.To, g.To+3, standsBy) && !r.pausesBefore(g.To, 3) {
			return g, true // ", Anna the physio assistant a step below him"
		}
	}
	if at >= len(r.roles) {
		return people.Group{}, false
	}
	switch r.roles[at].Role {
	case people.None, people.Joint, people.Comma, people.Post, people.Modifier, people.Person:
		return people.Group{}, false
	case people.Nickname:
		if at+1 == len(r.roles) || r.roles[at+1].Role != people.Post {
			return people.Group{}, false
		}
	}
	if at > 0 && !led && (r.roles[at-1].Role == people.Determiner || r.roles[at-1].Role == people.Modifier && r.roles[at].Role != people.Writer) {
		return people.Group{}, false // the group began earlier, or is no group
	}
	g, ok := people.At(r.roles, at)
	if !ok && led {
		if g, ok = people.One(r.roles, at); ok && g.Kinds.Has(people.Colleague) && !r.is(i, byMeans) {
			return people.Group{}, false // "called by nurse"
		}
	}
	if !ok || g.Staff == 0 || g.Kinds.Has(people.Fellow) {
		return people.Group{}, false
	}
	if !g.Kinds.Has(people.Writer) && !(r.student && g.Kinds.Has(people.Student)) && !led && !r.movesSomebody(g.To) {
		return people.Group{}, false // two names may be residents, and "told the nurse and therapist" names no helpers
	}
	for k := g.From + 1; k < g.To; k++ {
		if h, ok := r.hitAt(k); ok && (h.To > g.To && r.kindOf(h) != kindStaff || h.To == g.To && r.kindOf(h) == kindAid) {
			return people.Group{}, false // "one carer and her quad stick"
		}
	}
	g.From, g.To = i, r.bracketEnd(g.To)
	return g, true
}

// longestApposition is how many words may stand between commas to say once more who the helpers are.
const longestApposition = 5

// apposed is the unit of the helpers whom the words before the comma at unit k only describe ("Kiran and me, both
// students, used the lift"), -1 for none.
func (r *reader) apposed(lo, k int) int {
	j := k - 1
	for j > lo && r.units[j].kind == kindNone && r.units[j].sign == 0 || j > lo && r.units[j].kind == kindSubject {
		j--
	}
	if j <= lo || r.units[j].sign != ',' || r.units[k].from-r.units[j].to > longestApposition || r.units[k].from == r.units[j].to {
		return -1
	}
	if h := &r.units[j-1]; h.kind == kindStaff && h.to == r.units[j].from {
		return j - 1
	}
	return -1
}

// pausesBefore reports whether a pause stands before the next of the class of words that say where a helper was, within n
// tokens of token i.
func (r *reader) pausesBefore(i, n int) bool {
	for k := i; k < i+n; k++ {
		if r.is(k, standsBy) {
			return false
		}
		if r.pauses(k) {
			return true
		}
	}
	return true
}

// afterMeans reports whether an aid or a place stands right before token i.
func (r *reader) afterMeans(i int) bool {
	if n := len(r.units); n > 0 && r.units[n-1].to == i {
		k := r.units[n-1].kind
		return k == kindAid || k == kindPlace
	}
	return false
}

// helpersOf names who helped where not all of them are staff.
func helpersOf(kinds people.Kinds) []string {
	var out []string
	for _, k := range [...]struct {
		role people.Role
		name string
	}{{people.Family, "family"}, {people.Fellow, "other-resident"}, {people.Student, "student"}, {people.Volunteer, "volunteer"}} {
		if kinds.Has(k.role) {
			out = append(out, k.name)
		}
	}
	if len(out) > 0 && (kinds.Has(people.Writer) || kinds.Has(people.Colleague) || kinds.Has(people.Therapist) || kinds.Has(people.Name) || kinds.Has(people.Person)) {
		out = append(out, "staff")
	}
	slices.Sort(out)
	return out
}

// groupEntry is the entry that a group of helpers stands for: one alone helps whoever writes.
func (r *reader) groupEntry(g *people.Group) string {
	switch {
	case g.Staff == 1 && g.Kinds == 0:
		return "staff.one"
	case g.Staff == 1 && !g.Kinds.Has(people.Writer):
		return "staff.beside"
	}
	return "staff.group"
}

// movesSomebody reports whether the words at token i move somebody: "Kel and Sam hoisted her".
func (r *reader) movesSomebody(i int) bool {
	h, ok := r.hitAt(i)
	if !ok || r.kindOf(h) != kindVerb {
		return false
	}
	return r.object(h.To-1) && h.To-h.From > 1 || r.object(h.To) || r.is(h.To, residentNoun) || r.isName(h.To)
}
