// Package sound tells words that sound alike, as dictation confuses them: "bored" and "board", "write" and "right".
//
// It spells a word by its sounds, after the commonest rules of English spelling: what is written for one long vowel in
// several ways becomes one letter, silent letters go. Unlike the usual keys for names it keeps the vowels, so that few
// words share a spelling. Words that break the rules ("one", "won") are not found to be alike.
package sound

import "strings"

// spellings are the letters of one sound and how it is spelt here, a capital for a long vowel; those tried first come
// first.
func spellings() []string {
	return []string{
		"eigh", "A", "aigh", "A", "igh", "I", "augh", "o", "ough", "o", "gh", "",
		"oar", "3", "oor", "3", "our", "3", "ore", "3", "aur", "3", "awr", "3", "or", "3",
		"air", "4", "eir", "4", "are", "4", "ear", "4",
		"ai", "A", "ay", "A", "ei", "A", "ey", "A", "ee", "E", "ea", "E", "ie", "E",
		"oa", "O", "oe", "O", "ow", "O", "oo", "U", "ue", "U", "ew", "U", "ou", "U", "au", "o", "aw", "o",
		"tch", "c", "ch", "c", "dge", "j", "ph", "f", "qu", "kw", "x", "ks",
	}
}

// A Speller spells words by their sounds.
type Speller struct{ replace *strings.Replacer }

// New is a speller.
func New() *Speller { return &Speller{strings.NewReplacer(spellings()...)} }

// Key is the word, of small letters, as it sounds.
func (s *Speller) Key(word string) string {
	for _, silent := range [...]string{"wr", "kn", "gn", "ps", "wh"} {
		if strings.HasPrefix(word, silent) {
			if silent == "wh" {
				word = "w" + word[2:]
			} else {
				word = word[1:]
			}
		}
	}
	return once(s.replace.Replace(long(hard(word))))
}

// hard writes "k" and "s" for "c", which has no sound of its own but before "h".
func hard(w string) string {
	out := []byte(w)
	for i, b := range out {
		switch {
		case b != 'c' || i+1 < len(out) && out[i+1] == 'h':
		case i+1 < len(out) && strings.IndexByte("eiy", out[i+1]) >= 0:
			out[i] = 's'
		default:
			out[i] = 'k'
		}
	}
	return string(out)
}

// long puts a capital for a vowel that a silent "e" at the end makes long, and takes the "e" away: "gate".
func long(w string) string {
	n := len(w)
	if n < 3 || w[n-1] != 'e' {
		return w
	}
	stem := w[:n-1]
	if vowel(w[n-3]) && !vowel(w[n-2]) && w[n-2] != 'r' && (n < 4 || !vowel(w[n-4])) {
		return w[:n-3] + strings.ToUpper(w[n-3:n-2]) + w[n-2:n-1]
	}
	if w[n-2] == 'r' || w[n-2] == 'e' || w[n-2] == 'o' || w[n-2] == 'u' {
		return w // "bore", "knee" and "toe" are spelt below
	}
	return stem
}

func vowel(b byte) bool { return strings.IndexByte("aeiouy", b) >= 0 }

// once writes doubled letters once.
func once(w string) string {
	var out strings.Builder
	for i := range len(w) {
		if i == 0 || w[i] != w[i-1] {
			out.WriteByte(w[i])
		}
	}
	return out.String()
}
