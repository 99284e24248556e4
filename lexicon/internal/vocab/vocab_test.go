package vocab_test

import (
	"fmt"
	"maps"
	"strings"
	"testing"
	"testing/fstest"

	"github.com/google/go-cmp/cmp"

	"example.com/stance/lexicon/internal/vocab"
)

func TestRead(t *testing.T) {
	const file = `# What a leg may bear.

= bearing.none | non-weight-bearing
code ICF b7603
set limb leg
nwb; non weight bearing; {n}~#

= verb.lift | lifts
ed> lifted; picked (her|
    him) up
base> lift
`
	want := []vocab.Entry{
		{
			ID: "bearing.none", Label: "non-weight-bearing", Codes: []string{"ICF b7603"}, Set: map[string]string{"limb": "leg"},
			Says: []vocab.Wording{{Text: "nwb", Line: 6}, {Text: "non weight bearing", Line: 6}, {Text: "{n}~#", Line: 6}},
			File: "a.txt", Line: 3,
		},
		{
			ID: "verb.lift", Label: "lifts", Set: map[string]string{},
			Says: []vocab.Wording{{Text: "lifted", Form: "ed", Line: 9}, {Text: "picked (her|him) up", Form: "ed", Line: 9}, {Text: "lift", Form: "base", Line: 11}},
			File: "a.txt", Line: 8,
		},
	}
	got, err := vocab.Read("a.txt", strings.NewReader(file))
	if err != nil {
		t.Fatalf("Read: %v", err)
	}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Errorf("Read (-want +got):\n%s", diff)
	}
}

func TestReadRefuses(t *testing.T) {
	tests := []struct{ name, file, want string }{
		{"wording before any entry", "# c\nnwb\n", "a.txt:2: "},
		{"entry without label", "= bearing.none\n", "a.txt:1: "},
		{"entry with empty label", "\n= bearing.none |\n", "a.txt:2: "},
		{"entry without id", "= | label\n", "a.txt:1: "},
		{"set without value", "= a.b | label\nset limb\n", "a.txt:2: "},
		{"wording that does not go on", "= a.b | label\nnwb\nnon (weight|\n", "a.txt:3: "},
		{"wording that goes on in an entry", "= a.b | label\nnon (weight|\n= a.c | label\n", "a.txt:2: "},
		{"unknown form", "= a.b | label\nnwb\npast> lifted\n", "a.txt:3: "},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			got, err := vocab.Read("a.txt", strings.NewReader(tt.file))
			if err == nil {
				t.Fatalf("Read(%q) = %v, want an error", tt.file, got)
			}
			if !strings.HasPrefix(err.Error(), tt.want) {
				t.Errorf("Read(%q): error %q, want it to begin with %q", tt.file, err, tt.want)
			}
		})
	}
}

func TestLoad(t *testing.T) {
	fsys := fstest.MapFS{
		"d/20-b.txt":  {Data: []byte("= b.b | second\nb\n")},
		"d/10-a.txt":  {Data: []byte("= a.a | first\na\n")},
		"d/notes.md":  {Data: []byte("not a vocabulary")},
		"d2/10-a.txt": {Data: []byte("= a.a | first\na\n")},
		"d2/20-b.txt": {Data: []byte("# b\n= a.a | again\na\n")},
	}
	all, err := vocab.Load(fsys, "d")
	if err != nil {
		t.Fatalf("Load: %v", err)
	}
	var got []string
	for _, e := range all {
		got = append(got, fmt.Sprintf("%s:%d %s", e.File, e.Line, e.ID))
	}
	if want := []string{"10-a.txt:1 a.a", "20-b.txt:1 b.b"}; !cmp.Equal(got, want) {
		t.Errorf("Load gives %q, want %q", got, want)
	}

	_, err = vocab.Load(fsys, "d2")
	if err == nil || !strings.HasPrefix(err.Error(), "20-b.txt:2: ") || !strings.Contains(err.Error(), "10-a.txt:1") {
		t.Errorf("Load of one id in two files: error %v, want both places named", err)
	}
}

// plain writes a sequence without choices.
func plain(s vocab.Seq) string {
	var b strings.Builder
	for i, p := range s {
		switch {
		case i > 0 && p.Glued:
			b.WriteByte('~')
		case i > 0:
			b.WriteByte(' ')
		}
		switch p.Slot {
		case vocab.Literal:
			b.WriteString(p.Word)
		case vocab.Number:
			b.WriteString("{n}")
		case vocab.Gap:
			b.WriteString("...")
		case vocab.Choice:
			b.WriteString("<choice>")
		}
	}
	return b.String()
}

func TestParse(t *testing.T) {
	tests := []struct {
		wording string
		want    []string // the plain sequences it stands for
	}{
		{"nwb", []string{"nwb"}},
		{"Side-By-Side", []string{"side by side"}},
		{"(a|b c) d", []string{"a d", "b c d"}},
		{"[no] weight", []string{"no weight", "weight"}},
		{"{n}~% wb", []string{"{n}~% wb"}},
		{"pad ... armpit", []string{"pad ... armpit"}},
		{"((a|b)|c) d", []string{"a d", "b d", "c d"}},
		{"w/ belt", []string{"w/ belt"}},
		{"w/c", []string{"w/c"}},
		{"s/p/q", []string{"s / p / q"}},
		{"4ww", []string{"4 ww"}},
		{"walk's", []string{"walk 's"}},
		{"didn't", []string{"didn't"}},
		{"a [b|c] d", []string{"a b d", "a c d", "a d"}},
		{"a~(b|c)", []string{"a~b", "a~c"}},
	}
	for _, tt := range tests {
		t.Run(tt.wording, func(t *testing.T) {
			seq, err := vocab.Parse(tt.wording)
			if err != nil {
				t.Fatalf("Parse(%q): %v", tt.wording, err)
			}
			var got []string
			for _, s := range seq.Expand() {
				got = append(got, plain(s))
			}
			if diff := cmp.Diff(tt.want, got); diff != "" {
				t.Errorf("Parse(%q).Expand() (-want +got):\n%s", tt.wording, diff)
			}
		})
	}
}

func TestParseRefuses(t *testing.T) {
	for _, w := range []string{
		"", "  ", "[a]", "[a] [b]", "(a|)", "... a", "a ...", "(a", "[a", "(a]", "[a)", "a)", "a|b", "a]", "{x}", "a {", "(a|b",
	} {
		if seq, err := vocab.Parse(w); err == nil {
			t.Errorf("Parse(%q) = %v, want an error", w, seq)
		}
	}
}

func FuzzParse(f *testing.F) {
	for _, s := range []string{
		"nwb", "(a|b c) d", "[no] weight", "{n}~% wb", "pad ... armpit", "((a|b)|c) d", "w/ belt", "walk's", "(a", "a)|", "[a] ...", "~", "{n",
		"a~[b] c", "\xff", "İ",
	} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, wording string) {
		seq, err := vocab.Parse(wording)
		if err != nil {
			return
		}
		if len(seq) == 0 {
			t.Fatalf("Parse(%q) gives no parts and no error", wording)
		}
		if strings.Count(wording, "|")+strings.Count(wording, "[") > 8 {
			return // too many to spell out
		}
		for _, s := range seq.Expand() {
			if len(s) == 0 {
				t.Fatalf("Parse(%q): nothing at all says it", wording)
			}
			for _, p := range s {
				if p.Slot == vocab.Choice || p.Slot == vocab.Literal && p.Word == "" {
					t.Fatalf("Parse(%q).Expand() has the part %+v", wording, p)
				}
			}
		}
	})
}

// The neighbours are those of the forms spelt out.
func TestNeighbours(t *testing.T) {
	for _, w := range []string{
		"nwb", "(a|b c) d", "[no] weight bearing", "{n}~% wb", "pad ... armpit", "((a|b) [c]|c) d", "a [b] [c] d", "(a|b) [(c|d e)] f",
	} {
		seq, err := vocab.Parse(w)
		if err != nil {
			t.Fatal(err)
		}
		want, got := map[[2]string]bool{}, map[[2]string]bool{}
		for _, flat := range seq.Expand() {
			for i := 1; i < len(flat); i++ {
				if a, b := flat[i-1].Word, flat[i].Word; a != "" && b != "" {
					want[[2]string{a, b}] = true
				}
			}
		}
		seq.Neighbours(func(a, b string) { got[[2]string{a, b}] = true })
		if !maps.Equal(want, got) {
			t.Errorf("%s: got %v, want %v", w, got, want)
		}
	}
}
