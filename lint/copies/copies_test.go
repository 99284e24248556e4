package copies

import (
	"fmt"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"
)

const round = "Walked to the lounge after breakfast, sat with the others, ate well, skin clear, call bell in reach"

func TestShare(t *testing.T) {
	for _, tt := range []struct {
		name, a, b string
		want       float64
	}{
		{"the same but for case and marks", "Sat up, ate WELL.", "sat up ate well", 1},
		{"one word of four", "ate all of lunch", "ate half of lunch", 0.75},
		{"a word more counts against the longer", "ate lunch", "ate all lunch well", 0.5},
		{"order matters", "one two three four", "four three two one", 0.25},
		{"nothing", "", "", 0},
		{"nothing in common", "one two", "three four", 0},
		{"other letters", "Übung für Füße", "übung für füße", 1},
	} {
		if got := share(tt.a, tt.b); got != tt.want {
			t.Errorf("%s: the share of %q and %q = %v, want %v", tt.name, tt.a, tt.b, got, tt.want)
		}
	}
}

func share(a, b string) float64 {
	var c cutter
	words, _ := c.cut(a)
	first := slices.Clone(words)
	second, _ := c.cut(b)
	var o order
	return o.share(first, second)
}

// Many different words are told apart.
func TestShareOfManyWords(t *testing.T) {
	var words []string
	for i := range 20000 {
		words = append(words, fmt.Sprint(i))
	}
	text := strings.Join(words, " ")
	if got := share(text, text); got != 1 {
		t.Errorf("the share of a text with itself = %v, want 1", got)
	}
}

func TestGroup(t *testing.T) {
	g := NewGroup(0.9, 12)
	var other strings.Builder
	for i := range 20 {
		fmt.Fprintf(&other, "word%d ", i)
	}
	steps := []struct {
		name, text string
		ok         func(int) bool
		want       int // tag, or -1
	}{
		{"first", round, nil, -1},
		{"unlike", other.String(), nil, -1},
		{"one word differs", strings.Replace(round, "well", "little", 1), nil, 0},
		{"the closest wins", round, nil, 0},
		{"of equals the latest", round, nil, 3},
		{"only what is accepted", round, func(tag int) bool { return tag == 2 }, 2},
		{"too much differs", strings.Replace(round, "sat with the others", "slept", 1), nil, -1},
		{"too short", "Slept well", nil, -1},
		{"too short again", "Slept well", nil, -1},
	}
	for i, s := range steps {
		m, found := g.Add(s.text, i, s.ok)
		if !found {
			m.Tag = -1
		}
		if m.Tag != s.want {
			t.Errorf("%s: copy of %d (%.2f), want %d", s.name, m.Tag, m.Share, s.want)
		}
	}
}

// A copy with every tenth word changed shares a run of five words wherever the changes fall, which
// is what the fingerprints are sure to find.
func TestGroupFindsSpreadChanges(t *testing.T) {
	for n := 12; n <= 120; n += 9 {
		for shift := range 10 {
			var a, b []string
			for i := range n {
				a = append(a, fmt.Sprintf("w%d", i))
				if i%10 == shift && changed(b) < n/10 {
					b = append(b, fmt.Sprintf("x%d", i))
					continue
				}
				b = append(b, a[i])
			}
			g := NewGroup(0.9, 12)
			g.Add(strings.Join(a, " "), 0, nil)
			if _, ok := g.Add(strings.Join(b, " "), 1, nil); !ok {
				t.Errorf("%d words, every tenth from %d changed: no copy found", n, shift)
			}
		}
	}
}

func changed(words []string) int {
	n := 0
	for _, w := range words {
		if strings.HasPrefix(w, "x") {
			n++
		}
	}
	return n
}

// The worst case for a search for copies: stock phrases that stand in every note. The time for one
// note must not grow with their number.
func BenchmarkGroup(b *testing.B) {
	for _, n := range []int{1_000, 4_000, 16_000} {
		texts := make([]string, n)
		for i := range texts {
			texts[i] = fmt.Sprintf("%s. Visit %d of cousin %d, told of year %d and of field %d.", round, i, i*7, i*13, i*17)
		}
		b.Run(fmt.Sprint(n), func(b *testing.B) {
			for b.Loop() {
				g := NewGroup(0.9, 12)
				for i, t := range texts {
					g.Add(t, i, nil)
				}
			}
			b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N)/float64(n), "ns/note")
		})
	}
}

// TestAsPlain holds the package against its slow and plain self, on texts that are copies of one another with some
// words changed, left out, put in and moved, in letters of several scripts and in bytes that are none.
func TestAsPlain(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 2))
	vocabulary := strings.Fields("Walked to the lounge Übung ÉTÉ İstanbul ſtand x1 2WW, BP:120/80 — naïve ﬁt Ǆ \xff\xfe well. Straße 日本語 she's w/c٣")
	for i := range 60 {
		vocabulary = append(vocabulary, fmt.Sprintf("w%d", i))
	}
	word := func() string { return vocabulary[rng.IntN(len(vocabulary))] }
	vary := func(words []string) []string {
		out := slices.Clone(words)
		for range rng.IntN(1 + len(words)/6) {
			at := rng.IntN(len(out))
			switch rng.IntN(4) {
			case 0:
				out[at] = word()
			case 1:
				out = slices.Delete(out, at, at+1)
			case 2:
				out = slices.Insert(out, at, word())
			default:
				to := rng.IntN(len(out))
				out[at], out[to] = out[to], out[at]
			}
			if len(out) == 0 {
				return []string{word()}
			}
		}
		return out
	}
	found := 0
	for round := range 60 {
		least, share := []int{3, 12, 20}[round%3], []float64{0.5, 0.8, 0.9, 1}[round%4]
		g, plain := NewGroup(share, least), newPlainGroup(share, least)
		var texts [][]string
		for i := range 120 {
			var words []string
			if len(texts) > 0 && rng.IntN(3) > 0 {
				words = vary(texts[rng.IntN(len(texts))])
			} else {
				for range 1 + rng.IntN([]int{15, 60, 200}[rng.IntN(3)]) {
					words = append(words, word())
				}
			}
			texts = append(texts, words)
			body := strings.Join(words, []string{" ", ", ", "\n"}[rng.IntN(3)])
			if got, want := Count(body), len(plainWords(body)); got != want {
				t.Fatalf("Count(%q) = %d, want %d", body, got, want)
			}
			odd := rng.IntN(3)
			ok := func(tag int) bool { return odd == 0 || (tag+i)%(odd+1) == 0 }
			got, has := g.Add(body, i, ok)
			want, wants := plain.Add(body, i, ok)
			if got != want || has != wants {
				t.Fatalf("round %d, text %d: copy of %+v, %t; want %+v, %t", round, i, got, has, want, wants)
			}
			if has {
				found++
			}
		}
	}
	if found < 500 {
		t.Errorf("only %d copies", found)
	}
}
