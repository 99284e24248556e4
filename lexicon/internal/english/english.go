// Package english knows what sort of word an English word is: the parts of speech that it can be, what its noun
// mostly means, and whether it is a given name.
//
// The senses are those of WordNet 3.1, the most used sense of each noun; licences lie beside the tables.
package english

//go:generate go run ./gen -wordnet ${WORDNET} -names ${NAMES} -words ../spell/words.txt

import (
	_ "embed"
	"strings"
)

// senses is a sorted list of "word parts", one a line; parts is "n" with the two digits of a Sense, then "v", "a" and
// "r" for a word that can be a verb, an adjective and an adverb.
//
//go:embed senses.txt
var senses string

//go:embed names.txt
var names string

// Sense is what a noun mostly names: the number of its lexicographer file in WordNet (lexnames(5WN)).
type Sense uint8

// The senses that readers ask about.
const (
	NoSense       Sense = 0
	Act           Sense = 4
	Animal        Sense = 5
	Artefact      Sense = 6
	BodyPart      Sense = 8
	Communication Sense = 10
	Food          Sense = 13
	Group         Sense = 14
	Place         Sense = 15
	Object        Sense = 17
	Person        Sense = 18
	Phenomenon    Sense = 19
	Plant         Sense = 20
	Substance     Sense = 27
	Time          Sense = 28
)

// A Word says what a word can be.
type Word struct {
	Noun                    Sense // NoSense for no noun
	Verb, Adjective, Adverb bool
	IsNoun                  bool
}

// Look says what the folded word can be in English; the zero Word for one that no dictionary knows. Plurals, and the
// usual forms of verbs, are read as their stems.
func Look(word string) Word {
	if w, ok := look(word); ok {
		return w
	}
	for _, e := range [...]struct {
		end, put string
		verb     bool
	}{{"ies", "y", false}, {"es", "", false}, {"s", "", false}, {"ied", "y", true}, {"ed", "", true}, {"ed", "e", true}, {"ing", "", true}, {"ing", "e", true}} {
		stem, ok := strings.CutSuffix(word, e.end)
		if !ok || len(stem) < 3 {
			continue
		}
		w, ok := look(stem + e.put)
		if !ok && e.verb && len(stem) > 3 && stem[len(stem)-1] == stem[len(stem)-2] {
			w, ok = look(stem[:len(stem)-1])
		}
		switch {
		case !ok:
		case !e.verb:
			return Word{Noun: w.Noun, IsNoun: w.IsNoun, Verb: w.Verb}
		case w.Verb:
			return Word{Verb: true}
		}
	}
	return Word{}
}

func look(word string) (Word, bool) {
	parts, ok := find(senses, word)
	if !ok {
		return Word{}, false
	}
	var w Word
	for i := 0; i < len(parts); i++ {
		switch parts[i] {
		case 'n':
			w.IsNoun, w.Noun = true, Sense(parts[i+1]-'0')*10+Sense(parts[i+2]-'0')
			i += 2
		case 'v':
			w.Verb = true
		case 'a':
			w.Adjective = true
		case 'r':
			w.Adverb = true
		}
	}
	return w, true
}

// GivenName reports whether the folded word is somebody's given name; many are ordinary words too.
func GivenName(word string) bool {
	_, ok := find(names, word)
	return ok
}

// find is what stands behind the word in a sorted list of lines, and whether the word is there.
func find(list, word string) (string, bool) {
	lo, hi := 0, len(list)
	for lo < hi {
		at := lo + (hi-lo)/2
		start := strings.LastIndexByte(list[lo:at], '\n') + 1 + lo
		end := start + strings.IndexByte(list[start:], '\n')
		w, rest, _ := strings.Cut(list[start:end], " ")
		switch {
		case w == word:
			return rest, true
		case w < word:
			lo = end + 1
		default:
			hi = start
		}
	}
	return "", false
}
