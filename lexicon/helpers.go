package lexicon

import (
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
	case t.IsNum && t.Num >= 1 && t.Num <= 6:
		return people.Word{Role: people.Number, Count: int(t.Num)}
	case t.Kind != token.Word:
		return as(people.None)
	case r.is(i, studentWord):
		return as(people.Student)
	case r.is(i, volunteerWord):
		return as(people.Volunteer)
	case r.is(i, colleagueNoun):
		return as(people.Colleague)
	case r.is(i, male), r.is(i, female), r.is(i, kin):
		return as(people.Family)
	case r.is(i, residentNoun):
		return as(people.None)
	case r.is(i, article), r.is(i, owner), r.is(i, beforePerson), r.is(i, title):
		return as(people.Determiner)
	case r.isName(i):
		return as(people.Name)
	}
	w := r.english(i)
	switch {
	case w.noun == english.Person:
		return as(people.Person)
	case w.given, w.unknown && len(t.Word) > 1 && r.in[i].Word == 0:
		return as(people.Nickname)
	case (w.adjective || w.isNoun && !w.verb) && len(t.Word) > 2:
		return as(people.Modifier)
	}
	return as(people.None)
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
	if w.given && (w.unknown || !r.opens(i)) {
		return true
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
	noun                    english.Sense
	isNoun, verb, adjective bool
	given                   bool // a given name
	unknown                 bool // no word that they know
}

func lookInDictionary(word string, ordinary bool) dictionary {
	w := english.Look(word)
	return dictionary{
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
	if g, ok := people.One(r.roles, at); ok && !led && i > 0 && r.word(i-1) == "," && r.is(g.To, standsBy) {
		return g, true // ", Anna the physio assistant a step below him"
	}
	if at >= len(r.roles) {
		return people.Group{}, false
	}
	switch r.roles[at].Role {
	case people.None, people.Joint, people.Comma, people.Modifier, people.Nickname, people.Person:
		return people.Group{}, false
	}
	if at > 0 && !led && (r.roles[at-1].Role == people.Determiner || r.roles[at-1].Role == people.Modifier) {
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
	if !g.Kinds.Has(people.Writer) && !g.Kinds.Has(people.Colleague) && !led && !r.movesSomebody(g.To) {
		return people.Group{}, false // two names may be residents
	}
	for k := g.From + 1; k < g.To; k++ {
		if h, ok := r.hitAt(k); ok && h.To > g.To {
			return people.Group{}, false // "one carer and her quad stick"
		}
	}
	g.From = i
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

// groupEntry is the entry that a group of helpers stands for: one alone helps whoever writes.
func (r *reader) groupEntry(g *people.Group) string {
	if g.Staff == 1 {
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
