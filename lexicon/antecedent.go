package lexicon

import "example.com/stance/lexicon/internal/people"

// antecedent is whom the pronoun at token k, the subject of a clause, is told of where another person than the resident is
// the subject of the clause that this one hangs on: "one little boy said he walked", "Bill is on tablets after he
// tripped". What relatives say of "she" is told of the resident.
func (r *reader) antecedent(k int) doer {
	at := k - 1
	if r.word(at) == "that" {
		at--
	}
	switch {
	case at < 1:
	case r.is(at, speaks):
		who := r.subjectOfVerb(at)
		if r.is(who.head, residentNoun) && r.word(who.from) == "a" || who.names == doerOther && !r.kin(who.head) && !r.is(who.head, parent) {
			return doerOther
		}
	case r.is(at, hangsOn):
		if p, ok := r.openingPhrase(at); ok && r.mayBe(p.head, k) {
			return doerOther
		}
	}
	return doerUnsaid
}

// subjectOfVerb is the noun phrase that is the subject of the verb at token i: before it, and before what belongs to the
// verb or to a preposition.
func (r *reader) subjectOfVerb(i int) phrase {
	k := i - 1
	for first := i - farthestSubject; k >= 0 && k > first; k-- {
		switch {
		case r.inVerbGroup(k) || r.is(k, speaks) || r.word(k) == "to":
			continue
		case r.opensClause(k):
			return phrase{}
		}
		p, ok := r.phraseEnding(k)
		if !ok {
			continue
		}
		if p.from > 0 && r.is(p.from-1, preposition) {
			k = p.from - 1
			continue
		}
		return p
	}
	return phrase{}
}

// openingPhrase is the noun phrase that opens the sentence of token i and is its subject, where it names somebody else
// than the resident, and whether there is one.
func (r *reader) openingPhrase(i int) (phrase, bool) {
	from := i
	for from > 0 && from > i-farthestSubject && r.signAt(from-1) != '.' {
		from--
	}
	for k := from; k < i && k < from+4; k++ {
		if r.inVerbGroup(k) || r.english(k).does != 0 && !r.english(k).isNoun {
			break
		}
		p, ok := r.phraseEnding(k)
		if ok && p.from == from && (r.inVerbGroup(k+1) || r.is(k+1, self) || r.english(k+1).does != 0) {
			named := r.isName(k) && (r.roles[k].Role == people.Family || r.roles[k].Role == people.Volunteer)
			return p, named || p.names == doerOther || r.kin(k)
		}
	}
	return phrase{}, false
}

// mayBe reports whether the pronoun at token k can stand for the person named at token i.
func (r *reader) mayBe(i, k int) bool {
	switch {
	case r.is(i, male):
		return !r.is(k, she)
	case r.is(i, female):
		return !r.is(k, he)
	}
	return true
}
