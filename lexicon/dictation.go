package lexicon

import "example.com/stance/lexicon/internal/token"

// leastSpoken is how many dictated signs a note has before they are read as signs: "period" and "comma" are words too.
const leastSpoken = 2

// spokenSigns puts signs in place of the words that a dictated note has for them: "skin intact full stop".
func (r *reader) spokenSigns() {
	n := 0
	r.punctuated = false
	for i := range r.toks {
		if t := &r.toks[i]; t.Kind == token.Sign && (t.Word == "." || t.Word == ",") {
			r.punctuated = true
		}
		if sign, _ := r.spokenAt(i); sign != "" {
			n++
		}
	}
	if n < leastSpoken {
		return
	}
	r.punctuated = true
	out := r.toks[:0]
	for i := 0; i < len(r.toks); i++ {
		t := r.toks[i]
		if sign, words := r.spokenAt(i); sign != "" {
			t.End = r.toks[i+words-1].End
			t.Kind, t.Word, t.Glued, t.Capital, t.Upper = token.Sign, sign, true, false, false
			i += words - 1
		}
		out = append(out, t)
	}
	r.toks = out
}

// spokenAt is the sign that the words at token i dictate and how many they are; "" for none.
func (r *reader) spokenAt(i int) (string, int) {
	t := &r.toks[i]
	if t.Kind != token.Word {
		return "", 0
	}
	next, ok := r.lex.spoken[t.Word]
	if !ok {
		return "", 0
	}
	if i+1 < len(r.toks) && r.toks[i+1].Kind == token.Word {
		if sign, ok := next[r.toks[i+1].Word]; ok {
			return sign, 2
		}
	}
	if sign, ok := next[""]; ok {
		return sign, 1
	}
	return "", 0
}
