package lexicon

import (
	"example.com/stance/lexicon/internal/sound"
	"example.com/stance/lexicon/internal/token"
	"example.com/stance/lexicon/internal/vocab"
)

// Dictation writes words as others that sound like them: "slide bored", "the write leg". A word is read as the one that it
// sounds like where the word beside it only goes with that one in the names of aids, limbs and statuses.

// heard finds words by a neighbour and their sound.
type heard struct {
	speller *sound.Speller
	behind  map[string]map[string]string // by the word before, then the sound
	before  map[string]map[string]string // by the word behind, then the sound
}

func newHeard() heard {
	return heard{speller: sound.New(), behind: map[string]map[string]string{}, before: map[string]map[string]string{}}
}

// leastHeard is how many letters a word has at least to call for its neighbour: "no" and "of" go with anything.
const leastHeard = 3

// learn takes in which words of a wording stand side by side.
func (h *heard) learn(seq vocab.Seq) {
	seq.Neighbours(func(before, behind string) {
		h.pair(h.behind, before, behind)
		h.pair(h.before, behind, before)
	})
}

func (h *heard) pair(in map[string]map[string]string, beside, word string) {
	if len(beside) < leastHeard {
		return
	}
	if in[beside] == nil {
		in[beside] = map[string]string{}
	}
	in[beside][h.speller.Key(word)] = word
}

// as is the word that sounds like the one given and goes with the one beside it, "" for none other.
func (h *heard) as(in map[string]map[string]string, beside, word string) string {
	sounds, ok := in[beside]
	if !ok {
		return ""
	}
	if w := sounds[h.speller.Key(word)]; w != word {
		return w
	}
	return ""
}

// misheard reads words as those that they sound like beside what belongs to them.
func (r *reader) misheard() {
	for i := 0; i+1 < len(r.toks); i++ {
		a, b := &r.toks[i], &r.toks[i+1]
		if a.Kind != token.Word || b.Kind != token.Word || a.IsNum || b.IsNum {
			continue
		}
		if h, ok := r.hitAt(i); ok && h.To > i+1 {
			continue // both belong to a wording as they are
		}
		if w := r.lex.heard.as(r.lex.heard.behind, a.Word, b.Word); w != "" {
			r.hearAs(i+1, w)
		} else if w := r.lex.heard.as(r.lex.heard.before, b.Word, a.Word); w != "" && r.in[i].Word == 0 {
			r.hearAs(i, w)
		}
	}
}

// hearAs reads token i as another word.
func (r *reader) hearAs(i int, word string) {
	r.toks[i].Word = word
	r.in[i].Word = r.lex.matcher.Word(word)
	r.themeIn[i].Word = r.lex.themes.Word(word)
	r.classes[i] = r.lex.classes[word]
	r.sorts[i] = lookInDictionary(word, true)
}
