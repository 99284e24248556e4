package token_test

import (
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"example.com/stance/lexicon/internal/token"
)

// shown is what a note reader sees of a token: its folded form and the bytes it stands on.
type shown struct{ Word, Raw string }

func cut(text string) []shown {
	var out []shown
	for _, t := range token.Cut(nil, text) {
		out = append(out, shown{t.Word, text[t.Start:t.End]})
	}
	return out
}

func TestCut(t *testing.T) {
	tests := []struct {
		name, text string
		want       []shown
	}{
		{"nothing", "", nil},
		{"blanks only", " \t\u00a0 ", nil},
		{"words fold, bytes stay", "Up With Walker", []shown{{"up", "Up"}, {"with", "With"}, {"walker", "Walker"}}},
		{"letters set apart by full stops", "n.w.b.", []shown{{"nwb", "n.w.b"}, {".", "."}}},
		{"the last full stop belongs to the letters when the sentence goes on", "n.w.b. left",
			[]shown{{"nwb", "n.w.b."}, {"left", "left"}}},
		{"the last full stop ends the sentence before a capital", "Is N.W.B. Left leg",
			[]shown{{"is", "Is"}, {"nwb", "N.W.B"}, {".", "."}, {"left", "Left"}, {"leg", "leg"}}},
		{"letters set apart by slashes", "N/W/B", []shown{{"nwb", "N/W/B"}}},
		{"two letters about a slash keep it", "to W/C", []shown{{"to", "to"}, {"w/c", "W/C"}}},
		{"with", "w/ belt", []shown{{"w/", "w/"}, {"belt", "belt"}}},
		{"without", "w/o belt", []shown{{"w/o", "w/o"}, {"belt", "belt"}}},
		{"letters and digits part", "Ax2", []shown{{"ax", "Ax"}, {"2", "2"}}},
		{"digits and letters part", "4WW", []shown{{"4", "4"}, {"ww", "WW"}}},
		{"times sign", "A×2", []shown{{"a", "A"}, {"x", "×"}, {"2", "2"}}},
		{"curly apostrophe", "didn’t", []shown{{"didn't", "didn’t"}}},
		{"straight apostrophe", "didn't", []shown{{"didn't", "didn't"}}},
		{"clitic", "wife's", []shown{{"wife", "wife"}, {"'s", "'s"}}},
		{"curly clitic", "wife’s", []shown{{"wife", "wife"}, {"'s", "’s"}}},
		{"possessive after s", "nurses' desk", []shown{{"nurses", "nurses"}, {"desk", "desk"}}},
		{"quotation marks mean nothing", "“dizzy” \"weak\"", []shown{{"dizzy", "dizzy"}, {"weak", "weak"}}},
		{"long arrow", "TTWB-->PWB", []shown{{"ttwb", "TTWB"}, {"→", "-->"}, {"pwb", "PWB"}}},
		{"short arrow", "TTWB -> PWB", []shown{{"ttwb", "TTWB"}, {"→", "->"}, {"pwb", "PWB"}}},
		{"double arrow", "TTWB => PWB", []shown{{"ttwb", "TTWB"}, {"→", "=>"}, {"pwb", "PWB"}}},
		{"real arrow", "TTWB → PWB", []shown{{"ttwb", "TTWB"}, {"→", "→"}, {"pwb", "PWB"}}},
		{"side in brackets", "NWB (L)", []shown{{"nwb", "NWB"}, {"l", "(L)"}}},
		{"small side in brackets", "(r) leg", []shown{{"r", "(r)"}, {"leg", "leg"}}},
		{"other brackets", "(old)", []shown{{"(", "("}, {"old", "old"}, {")", ")"}}},
		{"hyphens join nothing", "side-by-side", []shown{{"side", "side"}, {"by", "by"}, {"side", "side"}}},
		{"list mark", "- up", []shown{{"-", "-"}, {"up", "up"}}},
		{"bullet", "• up", []shown{{"-", "•"}, {"up", "up"}}},
		{"decimal", "3.5 m.", []shown{{"3.5", "3.5"}, {"m", "m"}, {".", "."}}},
		{"full stop after a number", "x2.", []shown{{"x", "x"}, {"2", "2"}, {".", "."}}},
		{"line end of the web", "a b\r\nc", []shown{{"a", "a"}, {"b", "b"}, {"\n", "\r\n"}, {"c", "c"}}},
		{"blank lines are one", "up\n \n\nc", []shown{{"up", "up"}, {"\n", "\n \n\n"}, {"c", "c"}}},
		{"no-break space parts", "2\u00a0staff", []shown{{"2", "2"}, {"staff", "staff"}}},
		{"letters beyond ASCII", "Café", []shown{{"café", "Café"}}},
		{"broken UTF-8", "up\xff\xfe2", []shown{{"up", "up"}, {"\xff", "\xff"}, {"\xfe", "\xfe"}, {"2", "2"}}},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			if diff := cmp.Diff(tt.want, cut(tt.text)); diff != "" {
				t.Errorf("Cut(%q) (-want +got):\n%s", tt.text, diff)
			}
		})
	}
}

func TestCutNumbers(t *testing.T) {
	tests := []struct {
		text string
		want float64
		num  bool
	}{
		{"0", 0, true},
		{"2", 2, true},
		{"2.5", 2.5, true},
		{"1,200", 1200, true},
		{"½", 0.5, true},
		{"walker", 0, false},
		{strings.Repeat("9", 400), 0, false}, // more than a float64 can hold
	}
	for _, tt := range tests {
		toks := token.Cut(nil, tt.text)
		if len(toks) != 1 {
			t.Errorf("Cut(%q) gives %d tokens, want 1", tt.text, len(toks))
			continue
		}
		if got := toks[0]; got.IsNum != tt.num || got.IsNum && got.Num != tt.want {
			t.Errorf("Cut(%q): number %v (is one: %v), want %v (%v)", tt.text, got.Num, got.IsNum, tt.want, tt.num)
		}
	}
}

func TestNumberWord(t *testing.T) {
	tests := []struct {
		word string
		want float64
		ok   bool
	}{{"zero", 0, true}, {"two", 2, true}, {"twelve", 12, true}, {"forty", 40, true}, {"walker", 0, false}, {"", 0, false}}
	for _, tt := range tests {
		if got, ok := token.NumberWord(tt.word); got != tt.want || ok != tt.ok {
			t.Errorf("NumberWord(%q) = %v, %v, want %v, %v", tt.word, got, ok, tt.want, tt.ok)
		}
	}
}

func TestCutMarks(t *testing.T) {
	type marks struct{ Glued, Capital, Upper bool }
	tests := []struct {
		text string
		want []marks
	}{
		{"NWB left", []marks{{false, true, true}, {false, false, false}}},
		{"Left x2", []marks{{false, true, false}, {false, false, false}, {true, false, false}}},
		{"50%", []marks{{false, false, false}, {true, false, false}}},
		{"50 %", []marks{{false, false, false}, {false, false, false}}},
		{"sit-stand", []marks{{false, false, false}, {true, false, false}}},
		{"sit - stand", []marks{{false, false, false}, {false, false, false}, {false, false, false}}},
		{"W/C", []marks{{false, true, true}}},
	}
	for _, tt := range tests {
		var got []marks
		for _, tok := range token.Cut(nil, tt.text) {
			got = append(got, marks{tok.Glued, tok.Capital, tok.Upper})
		}
		if diff := cmp.Diff(tt.want, got); diff != "" {
			t.Errorf("Cut(%q) (-want +got):\n%s", tt.text, diff)
		}
	}
}

func TestCutAppends(t *testing.T) {
	dst := token.Cut(nil, "up")
	dst = token.Cut(dst, "with belt")
	var got []string
	for _, tok := range dst {
		got = append(got, tok.Word)
	}
	if want := []string{"up", "with", "belt"}; !cmp.Equal(got, want) {
		t.Errorf("Cut after Cut: %q, want %q", got, want)
	}
}

func FuzzCut(f *testing.F) {
	for _, s := range []string{
		"", "n.w.b.", "N/W/B w/c w/ w/o", "Ax2 4WW 3.5 m 1,200", "“dizzy” didn’t nurses'", "TTWB --> PWB (L)", "a\r\n\r\n- b",
		"\xff\xfe", "e\u0301 ½ × ‘s", "a.b/c.d", "'", "s’", "w/’", "-", "–x–", "1,2345.", "İ K",
	} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, text string) {
		last := 0
		for i, tok := range token.Cut(nil, text) {
			if tok.Start < last || tok.End <= tok.Start || tok.End > len(text) {
				t.Fatalf("Cut(%q): token %d spans %d to %d after one that ends at %d", text, i, tok.Start, tok.End, last)
			}
			if tok.Word == "" {
				t.Fatalf("Cut(%q): token %d at %d is empty", text, i, tok.Start)
			}
			last = tok.End
		}
	})
}
