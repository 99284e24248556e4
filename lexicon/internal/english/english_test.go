package english_test

import (
	"testing"

	"example.com/stance/lexicon/internal/english"
)

func TestLook(t *testing.T) {
	for _, tt := range []struct {
		word string
		want english.Word
	}{
		{"daughter", english.Word{IsNoun: true, Noun: english.Person}},
		{"daughters", english.Word{IsNoun: true, Noun: english.Person}},
		{"cupboard", english.Word{IsNoun: true, Noun: english.Artefact}},
		{"elbow", english.Word{IsNoun: true, Noun: english.BodyPart, Verb: true, Does: english.Motion}},
		{"grabbed", english.Word{Verb: true, Does: english.Contact}},
		{"tidied", english.Word{Verb: true, Does: english.Change}},
		{"zqx", english.Word{}},
		{"", english.Word{}},
	} {
		if got := english.Look(tt.word); got != tt.want {
			t.Errorf("Look(%q) = %+v, want %+v", tt.word, got, tt.want)
		}
	}
}

func TestStem(t *testing.T) {
	for word, want := range map[string]string{
		"went": "go", "putting": "put", "reaching": "reach", "tried": "try", "wanted": "want", "slippers": "slipper",
		"evening": "evening", "need": "need", "dropped": "drop", "bed": "bed", "zqxing": "zqxing", "agreed": "agree",
		"checked": "check", "dresses": "dress", "": "",
		"was": "was", "his": "his",
	} {
		if got, _ := english.Stem(word); got != want {
			t.Errorf("Stem(%q) = %q, want %q", word, got, want)
		}
	}
	if _, form := english.Stem("turning"); form != english.Gerund {
		t.Errorf("the form of turning is %d", form)
	}
}

func TestGivenName(t *testing.T) {
	for word, want := range map[string]bool{"walter": true, "siobhan": true, "table": false, "": false, "zzz": false} {
		if got := english.GivenName(word); got != want {
			t.Errorf("GivenName(%q) = %v, want %v", word, got, want)
		}
	}
}
