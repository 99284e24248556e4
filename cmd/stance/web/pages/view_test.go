package pages

import (
	"fmt"
	"slices"
	"strings"
	"testing"
	"unicode/utf8"

	"github.com/google/go-cmp/cmp"

	"example.com/stance/lexicon"
	"example.com/stance/lint/audit"
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
	for _, p := range pieces(text, 0, len(text), found, 1) {
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

func TestExcerpt(t *testing.T) {
	long := strings.Repeat("slept well ", 20) // 220 bytes
	text := long + "walked with a cane " + long + "fell at 5 " + long
	at := func(words string) finding.Finding {
		i := strings.Index(text, words)
		return finding.Finding{Severity: finding.Error, Span: lexicon.Span{Start: i, End: i + len(words)}}
	}
	show := func(found ...finding.Finding) string {
		var b strings.Builder
		for _, p := range excerpt(text, found, 1) {
			s := strings.ReplaceAll(p.Text, "slept well ", "~")
			if p.Grade != "" {
				s = "[" + s + "]"
			}
			fmt.Fprint(&b, s)
			for _, n := range p.Numbers {
				fmt.Fprint(&b, "#", n)
			}
		}
		return b.String()
	}
	for _, tt := range []struct{ got, want string }{
		{show(at("cane")), "… well ~~~~~~walked with a [cane]#1 ~~~~~~~slept well …"},
		{show(at("cane"), at("walked with a cane")), "… ~~~~~~~~[walked with a ][cane]#1#2 ~~~~~~~slept well …"},
		{show(at("fell"), at("cane")), "… well ~~~~~~walked with a [cane]#2 ~~~~~~~slept well … ~~~~~~~~[fell]#1 at 5 ~~~~~~~slept …"},
		{show(finding.Finding{Span: lexicon.Span{Start: 3, End: 3}}), ""},
		{show(finding.Finding{Span: lexicon.Span{Start: 3, End: len(text) + 1}}), ""},
	} {
		if tt.got != tt.want {
			t.Errorf("got  %q\nwant %q", tt.got, tt.want)
		}
	}
}

// FuzzExcerpt holds that a part of a note is shown that is valid, and has the words in question.
func FuzzExcerpt(f *testing.F) {
	f.Add(strings.Repeat("ä", 200), 180, 190)
	f.Add("a b", 0, 1)
	f.Fuzz(func(t *testing.T, text string, start, end int) {
		if !utf8.ValidString(text) || start < 0 || end <= start || end > len(text) || !utf8.ValidString(text[start:end]) {
			t.Skip("no part of a valid note")
		}
		var all, marked strings.Builder
		for _, p := range excerpt(text, []finding.Finding{{Severity: finding.Hint, Span: lexicon.Span{Start: start, End: end}}}, 0) {
			all.WriteString(p.Text)
			if p.Grade != "" {
				marked.WriteString(p.Text)
			}
		}
		if marked.String() != text[start:end] || !utf8.ValidString(all.String()) {
			t.Errorf("marked %q in %q", marked.String(), all.String())
		}
	})
}

func TestDrawBars(t *testing.T) {
	rate := func(value, low, high float64) *audit.Rate {
		return &audit.Rate{Value: value, Low: low, High: high}
	}
	for _, tt := range []struct {
		rates []*audit.Rate
		scale string
		want  []*bar
	}{
		{[]*audit.Rate{rate(0.5, 0, 1), nil, rate(0.1, 0.05, 0.25)}, "From 0 to 100", []*bar{{4, 64, 124}, nil, {10, 16, 34}}},
		{[]*audit.Rate{rate(0.01, 0, 0.02)}, "From 0 to 2", []*bar{{4, 64, 124}}},
		{[]*audit.Rate{rate(0.01, 0.005, 0.021)}, "From 0 to 5", []*bar{{16, 28, 54}}},
		{nil, "From 0 to 1", nil},
	} {
		var rows []auditRow
		for _, r := range tt.rates {
			row := auditRow{rate: r}
			if r != nil {
				row.Rate = "1.0"
			}
			rows = append(rows, row)
		}
		if scale := drawBars(rows); scale != tt.scale {
			t.Errorf("scale %q, want %q", scale, tt.scale)
		}
		for i, r := range rows {
			if diff := cmp.Diff(tt.want[i], r.Bar); diff != "" {
				t.Errorf("%s, row %d: -want +got:\n%s", tt.scale, i, diff)
			}
		}
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
			for _, p := range pieces(text, s.start, s.end, found, 1) {
				b.WriteString(p.Text)
			}
		}
		if b.String() != text {
			t.Errorf("shown as %q", b.String())
		}
	})
}
