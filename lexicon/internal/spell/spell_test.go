package spell_test

import (
	"bufio"
	"os"
	"sort"
	"testing"

	"example.com/stance/lexicon/internal/spell"
)

// vocabulary holds words that care notes are about; some of them are near to common English words.
func vocabulary() []string {
	return []string{
		"bearing", "belt", "commode", "crutches", "dizziness", "dizzy", "fainted", "floor", "lifted", "nurse", "pivot", "platform",
		"reposition", "rollator", "sling", "stairs", "toilet", "transfer", "transferred", "unsteady", "walked", "walker", "walking",
		"weight", "wheelchair",
	}
}

func TestCorrect(t *testing.T) {
	s := spell.New(vocabulary())
	tests := []struct{ written, want string }{
		// Statements, reading rule 8.
		{"whellchair", "wheelchair"},
		{"tranferred", "transferred"},
		{"dizzyness", "dizziness"},
		{"waking", ""},
		{"listed", ""},
		// A letter dropped, added, changed, two swapped.
		{"wheelchar", "wheelchair"},
		{"wheelchairr", "wheelchair"},
		{"commoda", "commode"},
		{"tolietx", ""}, // two edits
		{"tiolet", "toilet"},
		{"crutchse", "crutches"},
		{"rolator", "rollator"},
		{"unsteadi", "unsteady"},
		{"dizzzy", "dizzy"},
		{"piovt", "pivot"},
		// English of its own, though near.
		{"talked", ""},
		{"slings", ""},
		{"flood", ""},
		{"purse", ""},
		{"nurses", ""},
		{"height", ""},
		{"stairs", ""}, // known words are not misspelt
		// Too short, or no plain word.
		{"bel", ""},
		{"belf", ""},
		{"wälker", ""},
		{"walker2x", ""},
		{"", ""},
	}
	for _, tt := range tests {
		if got := s.Correct(tt.written); got != tt.want {
			t.Errorf("Correct(%q) = %q, want %q", tt.written, got, tt.want)
		}
	}
}

// edits lists the words one edit away from w, but for a swap in the very middle of a word of six letters,
// which leaves neither its beginning nor its end alone.
func edits(w string) map[string]bool {
	out := map[string]bool{}
	for i := 0; i <= len(w); i++ {
		for c := byte('a'); c <= 'z'; c++ {
			out[w[:i]+string(c)+w[i:]] = true
			if i < len(w) {
				out[w[:i]+string(c)+w[i+1:]] = true
			}
		}
		if i < len(w) {
			out[w[:i]+w[i+1:]] = true
		}
		if i+1 < len(w) && !(len(w) == 6 && i == 2) {
			out[w[:i]+string(w[i+1])+string(w[i])+w[i+2:]] = true
		}
	}
	delete(out, w)
	return out
}

func TestCorrectFindsEveryEdit(t *testing.T) {
	known := map[string]bool{}
	for _, w := range vocabulary() {
		known[w] = true
	}
	s := spell.New(vocabulary())
	want := map[string]string{} // misspelling → first word in the alphabet
	words := vocabulary()
	sort.Strings(words)
	for _, w := range words {
		if len(w) < spell.MinLetters {
			continue
		}
		for e := range edits(w) {
			if len(e) >= spell.MinLetters && want[e] == "" && !known[e] && !spell.IsEnglish(e) {
				want[e] = w
			}
		}
	}
	for e, w := range want {
		if got := s.Correct(e); got != w {
			t.Errorf("Correct(%q) = %q, want %q", e, got, w)
		}
	}
}

func TestWordsListIsSorted(t *testing.T) {
	f, err := os.Open("words.txt")
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	last, n := "", 0
	for sc := bufio.NewScanner(f); sc.Scan(); n++ {
		w := sc.Text()
		if w <= last { // by bytes, as the search wants it
			t.Errorf("words.txt:%d: %q does not come after %q", n+1, w, last)
		}
		if len(w) < spell.MinLetters {
			t.Errorf("words.txt:%d: %q is shorter than %d letters", n+1, w, spell.MinLetters)
		}
		for i := range len(w) {
			if w[i] < 'a' || w[i] > 'z' {
				t.Errorf("words.txt:%d: %q is not all lower-case letters", n+1, w)
				break
			}
		}
		if !spell.IsEnglish(w) {
			t.Errorf("words.txt:%d: IsEnglish(%q) = false", n+1, w)
		}
		last = w
	}
	if n < 10_000 {
		t.Errorf("words.txt has %d words, too few to protect English from correction", n)
	}
}

func TestIsEnglish(t *testing.T) {
	for w, want := range map[string]bool{
		"waking": true, "listed": true, "walker": true,
		"": false, "aaaaa": false, "zzzzz": false, "whellchair": false, "walke": false, "walkers ": false,
	} {
		if got := spell.IsEnglish(w); got != want {
			t.Errorf("IsEnglish(%q) = %v, want %v", w, got, want)
		}
	}
}

func BenchmarkCorrect(b *testing.B) {
	s := spell.New(vocabulary())
	b.ReportAllocs()
	for b.Loop() {
		s.Correct("tranferred") // misspelt
		s.Correct("breakfast")  // English
	}
}
