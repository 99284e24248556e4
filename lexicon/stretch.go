package lexicon

import (
	"slices"

	"example.com/stance/lexicon/internal/english"
	"example.com/stance/lexicon/internal/token"
)

// A stretch is a run of words about one doing, as far as signs, joining words and the endings of verbs part them. It is
// finer than the clauses of units, which know only the words of the vocabulary.
type stretch struct {
	from, to int  // tokens
	lead     int  // the word that joins it to what stands before, -1 for none
	goesOn   bool // nothing but the words of a fall parts it from what stands before
	sentence int
}

// stretches parts the words of the note, and what tells of a fall from what stands beside it.
func (r *reader) stretches() []stretch {
	out := r.runs[:0]
	edges := r.fallEdges()
	from, lead, sentence, goesOn := 0, -1, 0, false
	cut := func(at, next, joint int) {
		if from < at {
			out = append(out, stretch{from: from, to: at, lead: lead, sentence: sentence, goesOn: goesOn})
		}
		from, lead, goesOn = next, joint, false
	}
	for i := range r.toks {
		if len(edges) > 0 && edges[0] == i {
			edges = edges[1:]
			ran := from < i
			if cut(i, i, lead); ran {
				lead, goesOn = -1, true
			}
		}
		switch sign := r.signAt(i); {
		case sign == '.' || sign == '?':
			cut(i, i+1, -1)
			sentence++
		case sign != 0 && !(sign == '-' && r.toks[i].Glued):
			cut(i, i+1, -1)
		case r.is(i, joinsClause) && (!r.is(i, joinsAlike) || r.doesNext(i+1)):
			cut(i, i+1, i)
		case i > from && r.opensDoing(i):
			if r.is(i-1, besideDoing) {
				cut(i-1, i, i-1)
			} else {
				cut(i, i, -1)
			}
		case i > from && (r.is(i, thirdPerson) || r.is(i, firstPerson)):
			cut(i, i, -1)
		}
	}
	cut(len(r.toks), len(r.toks), -1)
	r.runs = out
	return out
}

// fallEdges are the tokens at which words that tell of a fall begin or end, in order.
func (r *reader) fallEdges() []int {
	var edges []int
	for k := range r.out.Statements {
		if s := &r.out.Statements[k]; s.IsFall() {
			head, end := r.tokensOf(s)
			edges = append(edges, head, end)
		}
	}
	slices.Sort(edges)
	return slices.Compact(edges)
}

// doesNext reports whether somebody's doing begins at token i, not another thing of a list.
func (r *reader) doesNext(i int) bool {
	for i < len(r.toks) && (r.is(i, thenWord) || r.is(i, justThere) || r.is(i, perfect)) {
		i++
	}
	if i >= len(r.toks) || r.toks[i].Kind != token.Word {
		return false
	}
	if r.is(i, thirdPerson) || r.is(i, firstPerson) || r.is(i, residentNoun) || r.isName(i) {
		return true
	}
	for k := i; k < i+4 && k < len(r.toks) && r.toks[k].Kind == token.Word; k++ {
		if w := r.english(k); w.form == english.Past || w.form == english.Gerund && k == i || r.is(k, beWord) {
			return true
		}
	}
	return false
}

// opensDoing reports whether the verb in -ing at token i opens a doing of its own: "fell reaching for the cup", not "was
// reaching", "her walking frame", "went walking".
func (r *reader) opensDoing(i int) bool {
	if r.english(i).form != english.Gerund || r.is(i-1, beWord) || r.is(i-1, verbGroup) || r.is(i-1, article) || r.is(i-1, owner) || r.is(i-1, determiner) {
		return false
	}
	if w := r.english(i - 1); w.adjective && !w.isNoun || r.is(i-1, keepsDoing) || r.is(i-1, joinsAlike) {
		return false
	}
	h, ok := r.hitAt(i)
	if ok && h.To > i+1 {
		switch r.kindOf(h) {
		case kindAid, kindPlace, kindIgnore:
			return false
		}
	}
	return true
}
