package lexicon

import "strings"

// posted takes out of the moves what a card, a sheet or a board is said to say: it is no move that was done.
func (r *reader) posted() {
	for i := range r.toks {
		if !r.is(i, statesWay) || r.word(i) == "has" && !r.is(i+1, object) || !r.cardBefore(i) {
			continue
		}
		end := r.postedTo(i + 1)
		if r.word(end) == "so" && strings.HasPrefix(r.word(end+1), "that") {
			continue // "… so that's how we took him"
		}
		for k := range r.units {
			switch u := &r.units[k]; u.kind {
			case kindVerb, kindAid, kindStaff, kindLevel, kindPlace, kindTo, kindFrom, kindVague:
				if u.from > i && u.from < end {
					u.used = true
				}
			}
		}
	}
}

// cardBefore reports whether a card or sheet is the subject of the verb at token i.
func (r *reader) cardBefore(i int) bool {
	for k := i - 1; k >= 0 && k >= i-9 && !r.pauses(k); k-- {
		switch {
		case r.is(k, postedOn):
			return true
		case r.is(k, thirdPerson), r.is(k, firstPerson), r.is(k, residentNoun):
			return false
		}
	}
	return false
}

// postedTo is the token at which the words that stand on a card end, from token i on: the end of the sentence, or
// where it goes on with what somebody did.
func (r *reader) postedTo(i int) int {
	for k := i; k < len(r.toks); k++ {
		switch w := r.word(k); {
		case w == "." || w == ";" || w == "\n" || w == "but" || w == "so" || w == "however":
			return k
		case w == "," || w == "and" || w == "-":
			if h, ok := r.hitAt(k + 1); r.is(k+1, firstPerson) || r.is(k+1, thirdPerson) || ok && r.lex.said[h.Payload].form == Past {
				return k
			}
		}
	}
	return len(r.toks)
}
