package lexicon

import "strings"

// What is told of the brakes and rests of a wheelchair is told in any order: "locks weren't on her wheelchair", "the brakes
// of wheelchair were not put only", "nobody had thought of the brakes". The wordings of the vocabulary come first; where
// they know none, the clause of the part says in what state it was.

// A chairPart is a part of a wheelchair and what its states mean.
type chairPart struct {
	names, on, off class
	is, not        string // entries: in use, and not
}

func chairParts() []chairPart {
	return []chairPart{
		{brakeNoun, brakeOn, brakeOff, "wheel.brakes", "wheel.brakes#off"},
		{restNoun, restOn, restOff, "wheel.footrests", "wheel.footrests#off"},
	}
}

// chairPartAt is what the clause of the part at token i says of it, and the tokens that say so; nil for nothing.
func (r *reader) chairPartAt(i int) (e *entry, from, to int) {
	for _, p := range r.lex.parts {
		if !r.is(i, p.names) && !(p.names == restNoun && r.is(i, restWord) && r.is(i-1, footWord)) {
			continue
		}
		if id, from, to := r.partState(&p, i); id != "" {
			return r.lex.find(id), from, to
		}
	}
	return nil, 0, 0
}

// farthestState is how many words may stand between a part and its state.
const farthestState = 8

// partState is the entry that the clause of the part p at token i tells, "" for none.
func (r *reader) partState(p *chairPart, i int) (id string, from, to int) {
	denied, state := false, -1
	to = i + 1
	for k := i + 1; k < len(r.toks) && k <= i+farthestState && !r.endsPart(k); k++ {
		switch {
		case r.is(k, worksWord), r.is(k, otherBraked):
			return "", 0, 0 // whether it holds is another matter, and so is whose it is
		case r.denies(k):
			denied, to = true, k+1
		case state < 0 && (r.is(k, p.on) || r.is(k, p.off)) && !r.ofWhat(k):
			state, to = k, k+1
		}
	}
	from = i
	for k := i - 1; k >= 0 && k >= i-farthestState && !r.endsPart(k); k-- {
		switch {
		case r.is(k, otherBraked), r.is(k, worksWord), r.is(k, takesOff):
			return "", 0, 0
		case r.denies(k), r.is(k, forgets):
			denied, from = true, k
		case state < 0 && (r.is(k, p.on) && r.english(k).verb || r.is(k, p.off)):
			state, from = k, k
		}
	}
	switch {
	case state < 0 && p.names == restNoun && r.liesElsewhere(i+1):
		return p.not, from, to // "his footplates are in the boot of the car"
	case state < 0 && denied && from < i:
		return p.not, from, to // "without brakes"
	case state < 0:
		return "", 0, 0
	case r.is(state, p.off) != denied:
		return p.not, from, to
	case r.is(state, p.off):
		return "", 0, 0
	}
	return p.is, from, to
}

// liesElsewhere reports whether the words from token i say that a part is where no wheelchair is.
func (r *reader) liesElsewhere(i int) bool {
	w := r.whereabouts(i)
	return w.away() && w.place && !w.near
}

// ofWhat reports whether "on" at token k leads to what the part belongs to: "the brakes on her chair were off".
func (r *reader) ofWhat(k int) bool {
	return r.word(k) == "on" && (r.opensNoun(k+1) || r.is(k+1, wheelchairWord)) && !r.denies(k-1)
}

// denies reports whether token k denies: "not", "never", "wasn't", "no", "without", "nobody".
func (r *reader) denies(k int) bool {
	return r.deniesBeing(k) || r.is(k, noneWord) && !r.isStateOff(k) || r.is(k, nobodyWord)
}

// isStateOff reports whether token k says itself that something is off, so that it denies nothing else.
func (r *reader) isStateOff(k int) bool { return r.is(k, brakeOff) || r.is(k, restOff) }

// endsPart reports whether the clause of a part ends at token k.
func (r *reader) endsPart(k int) bool {
	switch w := r.word(k); w {
	case "so", "but", "then", "and", "when", "because", "as", "if", "unless":
		return true
	default:
		return r.pauses(k) || strings.ContainsAny(w, "?!:()")
	}
}
