package pages

import (
	"slices"
	"strings"
	"testing"

	"example.com/stance/lexicon"
	"example.com/stance/lint/finding"
)

func TestSentences(t *testing.T) {
	for _, tt := range []struct {
		text  string
		spans []lexicon.Span
		want  []string
	}{
		{"", nil, []string{""}},
		{"Up at 7. Walked!", nil, []string{"Up at 7. ", "Walked!"}},
		{"Up at 7.\n\n Walked; slept", nil, []string{"Up at 7.\n\n", " Walked; ", "slept"}},
		{"Pt. walked. Ok", []lexicon.Span{{Start: 0, End: 10}}, []string{"Pt. walked. ", "Ok"}}, // never through a place
		{"a\nb", []lexicon.Span{{Start: 0, End: 3}}, []string{"a\nb"}},
		{"\n\na", nil, []string{"\n\na"}},
	} {
		var got []string
		for _, b := range sentences(tt.text, tt.spans) {
			got = append(got, tt.text[b.start:b.end])
		}
		if !slices.Equal(got, tt.want) {
			t.Errorf("%q: got %q, want %q", tt.text, got, tt.want)
		}
		if strings.Join(got, "") != tt.text {
			t.Errorf("%q: cut to %q, which is not the whole", tt.text, got)
		}
	}
}

func TestPieces(t *testing.T) {
	const text = "walked with a cane alone"
	found := []finding.Finding{
		{Severity: finding.Hint, Span: lexicon.Span{Start: 0, End: 18}},
		{Severity: finding.Error, Span: lexicon.Span{Start: 14, End: 24}},
	}
	var got []string
	for _, p := range pieces(text, 0, len(text), found) {
		s := p.Text + "|" + string(p.Grade)
		for _, n := range p.Numbers {
			s += string(rune('0' + n))
		}
		got = append(got, s)
	}
	want := []string{"walked with a |hint", "cane|error1", " alone|error2"}
	if !slices.Equal(got, want) {
		t.Errorf("got %q, want %q", got, want)
	}
}

func TestUnits(t *testing.T) {
	for s, want := range map[string]int{"": 0, "abc": 3, "é": 1, "🐦": 2, "a🐦é": 4, "\xff": 1} {
		if got := units(s); got != want {
			t.Errorf("units(%q) = %d, want %d", s, got, want)
		}
	}
}

// FuzzSentences holds that a note is shown whole, each byte once, whatever it holds.
func FuzzSentences(f *testing.F) {
	f.Add("Up at 7. Walked.\n\nSlept", 3, 12)
	f.Add("\n \n", 0, 2)
	f.Fuzz(func(t *testing.T, text string, start, end int) {
		var found []finding.Finding
		if 0 <= start && start < end && end <= len(text) {
			found = append(found, finding.Finding{Severity: finding.Hint, Span: lexicon.Span{Start: start, End: end}})
		}
		var spans []lexicon.Span
		for _, f := range found {
			spans = append(spans, f.Span)
		}
		var b strings.Builder
		for _, s := range sentences(text, spans) {
			for _, p := range pieces(text, s.start, s.end, found) {
				b.WriteString(p.Text)
			}
		}
		if b.String() != text {
			t.Errorf("shown as %q", b.String())
		}
	})
}
