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

// senses is a sorted list of "word parts", one a line; parts is "n" and "v" with the two digits of a Sense each, then "a"
// and "r" for a word that can be an adjective and an adverb.
//
//go:embed senses.txt
var senses string

//go:embed names.txt
var names string

// irregular is a sorted list of "form stem", one a line: the past forms of verbs, and participles, that no ending tells.
// It was written for this package.
//
//go:embed irregular.txt
var irregular string

// Sense is what a noun or verb mostly names: the number of its lexicographer file in WordNet (lexnames(5WN)).
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
	State         Sense = 26
	Substance     Sense = 27
	Time          Sense = 28
	Change        Sense = 30
	Contact       Sense = 35
	Motion        Sense = 38
)

// A Word says what a word can be.
type Word struct {
	Noun                    Sense // NoSense for no noun
	Does                    Sense // of the verb, NoSense for no verb
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
			return Word{Noun: w.Noun, IsNoun: w.IsNoun, Verb: w.Verb, Does: w.Does}
		case w.Verb:
			return Word{Verb: true, Does: w.Does}
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
			w.Verb, w.Does = true, Sense(parts[i+1]-'0')*10+Sense(parts[i+2]-'0')
			i += 2
		case 'a':
			w.Adjective = true
		case 'r':
			w.Adverb = true
		}
	}
	return w, true
}

// A Form is what the ending of a verb says.
type Form uint8

// The forms of a verb that Stem tells apart.
const (
	Bare   Form = iota // also any word that is no verb
	Past               // and participles of the past
	Gerund             // "-ing"
	Third              // "-s", or the plural of a noun
)

// Stem is the folded word without the ending of a verb or the plural, and which ending that was: "went" is Past of "go",
// "putting" Gerund of "put". A word that no dictionary knows is its own stem.
func Stem(word string) (string, Form) {
	if stem, ok := find(irregular, word); ok {
		return stem, Past
	}
	own, known := look(word)
	for _, e := range endings() {
		stem, ok := strings.CutSuffix(word, e.end)
		if !ok || len(stem) < 2 || e.form == Third && (known || len(stem) < 3) || known && own.Noun == Time {
			continue
		}
		for _, s := range [...]string{undouble(stem), stem + e.put} {
			if w, ok := look(s); ok && (w.Verb || e.form == Third && w.IsNoun) {
				return s, e.form
			}
		}
	}
	return word, Bare
}

type ending struct {
	end, put string
	form     Form
}

func endings() [9]ending {
	return [...]ending{{"ied", "y", Past}, {"eed", "eed", Past}, {"ed", "", Past}, {"ed", "e", Past}, {"ing", "", Gerund}, {"ing", "e", Gerund},
		{"ies", "y", Third}, {"es", "", Third}, {"s", "", Third}}
}

// undouble takes back the consonant that an ending doubled: "putt" of "putting" is "put".
func undouble(stem string) string {
	if n := len(stem); n > 2 && stem[n-1] == stem[n-2] {
		return stem[:n-1]
	}
	return ""
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
