package lexicon

import (
	"strings"

	"example.com/stance/lexicon/internal/token"
)

// joinLines takes out the line ends that only wrap a sentence, so that a wording may run over them.
func (r *reader) joinLines() {
	first := 0
	for first < len(r.toks) && r.toks[first].Kind != token.Newline {
		first++
	}
	if first == len(r.toks) {
		return // most notes are one line
	}
	out := r.toks[:first]
	for i := first; i < len(r.toks); i++ {
		if r.toks[i].Kind == token.Newline && !r.endsSentence(i) {
			continue
		}
		out = append(out, r.toks[i])
	}
	r.toks = out
}

// joinSplit puts together the spellings that are cut into a letter and a digit: "b4".
func (r *reader) joinSplit() {
	out := r.toks[:0]
	for i := 0; i < len(r.toks); i++ {
		t := r.toks[i]
		if n := i + 1; t.Kind == token.Word && len(t.Word) == 1 && n < len(r.toks) && r.toks[n].Kind == token.Number && r.toks[n].Glued {
			if w, ok := r.lex.reglued[[2]string{t.Word, r.toks[n].Word}]; ok {
				t.Word, t.End = w, r.toks[n].End
				i++
			}
		}
		if len(out) > 0 && i+1 < len(r.toks) && r.opensAid(out[len(out)-1].Word) {
			if w, ok := r.lex.resplit[[2]string{t.Word, r.toks[i+1].Word}]; ok {
				t.Word, t.End = w, r.toks[i+1].End
				i++
			}
		}
		if i+1 < len(r.toks) && r.numbersSomebody(i) {
			t.Word, t.End, t.Upper = "resident", r.toks[i+1].End, false
			i++
		}
		out = append(out, t)
	}
	r.toks = out
}

// numbersSomebody reports whether the tokens from i are the number by which a resident goes: "R-0412".
func (r *reader) numbersSomebody(i int) bool {
	letters, digits := &r.toks[i], &r.toks[i+1]
	if i > 0 {
		if before := r.lex.classes[r.toks[i-1].Word]; before.has(otherRoom) {
			return false // "in room B-104"
		}
	}
	return letters.Kind == token.Word && letters.Upper && len(letters.Word) <= 3 && digits.Kind == token.Number &&
		digits.Start == letters.End+1 && r.text[letters.End] == '-' && digits.End-digits.Start >= 3
}

// opensAid reports whether the name of an aid may follow the word: "with her walk her" is one dictated walker.
func (r *reader) opensAid(word string) bool {
	in := r.lex.classes[word]
	return in.has(article) || in.has(owner) || in.has(byMeans) || in.has(wheels)
}

// joinAbbreviations takes out the full stops of words that are commonly shortened, so that a wording may run
// over them: "mod. assist", "40 ft. with a frame".
func (r *reader) joinAbbreviations() {
	if !strings.Contains(r.text, ". ") {
		return
	}
	out := r.toks[:0]
	for i := range r.toks {
		if t := &r.toks[i]; t.Kind == token.Sign && t.Word == "." && t.Glued && i > 0 && i+1 < len(r.toks) {
			in := r.lex.classes[r.toks[i-1].Word] // the tokens are not classed yet
			if n := &r.toks[i+1]; in.has(shortened) && n.Kind != token.Newline && (!n.Capital || r.endsAmount(i-1, i+1)) {
				continue
			}
		}
		out = append(out, r.toks[i])
	}
	r.toks = out
}

// endsAmount reports whether the tokens are an amount of help: "Mod." and "A".
func (r *reader) endsAmount(i, k int) bool {
	amount := r.lex.classes[r.toks[i].Word]
	return amount.has(amountWord) && (r.toks[k].Word == "a" || strings.HasPrefix(r.toks[k].Word, "ass"))
}

// endsSentence reports whether the line end at token i closes a sentence: what follows is a list mark,
// a heading, a time, a blank line or a capital letter where the line before could end.
func (r *reader) endsSentence(i int) bool {
	switch next := i + 1; {
	case next >= len(r.toks):
		return true
	case strings.Count(strings.ReplaceAll(r.text[r.toks[i].Start:r.toks[i].End], "\r\n", "\n"), "\n") > 1:
		return true
	case r.word(next) == "-" || r.lineOpens(next):
		return true
	default:
		return r.toks[next].Capital && !r.toks[next].Upper && !r.wraps(i)
	}
}

// wraps reports whether the text before a line end cannot end a sentence.
func (r *reader) wraps(at int) bool {
	w := r.word(at - 1)
	in := r.lex.classes[w] // the tokens are not classed yet
	return w == "" || w == "," || in.has(wraps)
}

// lineOpens reports whether token i opens a headed or timed line: "Transfers:", "S:", "0730 …".
func (r *reader) lineOpens(i int) bool {
	if i >= len(r.toks) {
		return false
	}
	if r.toks[i].Kind == token.Number && (len(r.toks[i].Word) == 4 || r.word(i+1) == ":" && i+2 < len(r.toks) && r.toks[i+2].Kind == token.Number && r.toks[i+2].Glued) {
		return true
	}
	for k := i; k < len(r.toks) && k < i+4; k++ {
		if r.toks[k].Word == ":" {
			return k > i && !(r.toks[i].Kind == token.Number)
		}
		if r.toks[k].Kind != token.Word {
			break
		}
	}
	return false
}
