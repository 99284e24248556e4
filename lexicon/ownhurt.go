package lexicon

import "example.com/stance/lexicon/internal/english"

// Staff tell of their own hurts by the part of the body and what it did, in any order: "my wrist twist", "I feel my shoulder
// pull", "a pull in my calf".

// staffHurtAt is where the words that tell of a hurt of the writer's own body begin and end, seen from the owner at token
// i; to is 0 for none.
func (r *reader) staffHurtAt(i int) (from, to int) {
	if !r.is(i, ownWord) {
		return 0, 0
	}
	part := i + 1
	for part < i+3 && (r.english(part).adjective || r.is(part, sideWord)) && r.english(part).noun != english.BodyPart {
		part++
	}
	if r.english(part).noun != english.BodyPart || r.is(part, growsWord) {
		return 0, 0
	}
	for k := part + 1; k <= part+3 && !r.endsPart(k); k++ {
		switch {
		case r.is(k, hurtsWord):
			return i, k + 1
		case r.denies(k), r.toks[k].Word == "to", r.is(k, preposition):
			return 0, 0
		}
	}
	for k := i - 1; k >= 0 && k >= i-3 && !r.endsPart(k); k-- {
		if r.is(k, hurtsWord) && r.is(k, strainsWord) {
			return k, part + 1
		}
	}
	return 0, 0
}
