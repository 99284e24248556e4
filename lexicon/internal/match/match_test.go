package match_test

import (
	"fmt"
	"math/rand/v2"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"example.com/stance/lexicon/internal/match"
	"example.com/stance/lexicon/internal/vocab"
)

// piece is a token of a made-up note: a letter, a number or a stop.
type piece struct {
	word  string
	num   bool
	glued bool
	stop  bool
}

// naiveAt tries every plain sequence at token i: the longest holds, and the lower payload of two as long.
func naiveAt(vocabulary []vocab.Seq, note []piece, i int) (match.Hit, bool) {
	best := match.Hit{From: i, To: i}
	for payload, seq := range vocabulary {
		for _, s := range seq.Expand() {
			if end := longest(s, note, i, true); end > best.To {
				best.To, best.Payload = end, payload
			}
		}
	}
	return best, best.To > i
}

// naive finds hits from left to right, none overlapping.
func naive(vocabulary []vocab.Seq, note []piece) []match.Hit {
	var out []match.Hit
	for i := 0; i < len(note); {
		hit, ok := naiveAt(vocabulary, note, i)
		if !ok {
			i++
			continue
		}
		out = append(out, hit)
		i = hit.To
	}
	return out
}

// longest is the furthest end of s from token i on, or -1.
func longest(s vocab.Seq, note []piece, i int, opens bool) int {
	if len(s) == 0 {
		return i
	}
	if s[0].Slot == vocab.Gap {
		best := -1
		for skip := 0; skip <= 3 && i+skip <= len(note); skip++ {
			if skip > 0 && note[i+skip-1].stop {
				break
			}
			best = max(best, longest(s[1:], note, i+skip, false))
		}
		return best
	}
	if i >= len(note) || s[0].Glued && !opens && !note[i].glued {
		return -1
	}
	if p := note[i]; s[0].Slot == vocab.Number && !p.num || s[0].Slot == vocab.Literal && p.word != s[0].Word {
		return -1
	}
	return longest(s[1:], note, i+1, false)
}

func inputs(m *match.Matcher, note []piece) []match.Input {
	var in []match.Input
	for _, p := range note {
		in = append(in, match.Input{Word: m.Word(p.word), IsNum: p.num, Glued: p.glued, Stop: p.stop})
	}
	return in
}

// wording makes a random wording over few words, so that wordings share beginnings and meet each other.
func wording(r *rand.Rand) string {
	words := []string{"a", "b", "c", "d", "{n}"}
	word := func() string { return words[r.IntN(len(words))] }
	parts := []string{word()}
	for range r.IntN(4) {
		switch r.IntN(8) {
		case 0:
			parts = append(parts, "("+word()+"|"+word()+" "+word()+")")
		case 1:
			parts = append(parts, "["+word()+"]")
		case 2:
			parts = append(parts, "...", word())
		case 3:
			parts = append(parts, "["+word()+"|"+word()+" ["+word()+"]]")
		case 4:
			parts = append(parts, word()+"~"+word())
		default:
			parts = append(parts, word())
		}
	}
	if r.IntN(4) == 0 {
		parts = append([]string{"[" + word() + "]"}, parts...)
	}
	return strings.Join(parts, " ")
}

func note(r *rand.Rand) []piece {
	out := make([]piece, r.IntN(14))
	for i := range out {
		p := &out[i]
		p.glued = i > 0 && r.IntN(3) == 0
		switch k := r.IntN(8); {
		case k < 5:
			p.word = string(rune('a' + k)) // "e" is in no wording
		case k < 7:
			p.num = true
		default:
			p.word, p.stop = ",", true
		}
	}
	return out
}

func TestMatcherAgreesWithNaiveSearch(t *testing.T) {
	r := rand.New(rand.NewPCG(1, 2))
	for range 600 {
		m := match.New()
		var said []string
		var seqs []vocab.Seq
		for payload := range 1 + r.IntN(6) {
			w := wording(r)
			seq, err := vocab.Parse(w)
			if err != nil {
				t.Fatalf("Parse(%q): %v", w, err)
			}
			m.Add(seq, payload)
			said, seqs = append(said, w), append(seqs, seq)
		}
		m.Seal()
		for range 8 {
			n := note(r)
			in := inputs(m, n)
			for i := range n {
				want, some := naiveAt(seqs, n, i)
				if got, ok := m.At(in, i); ok != some || ok && got != want {
					t.Fatalf("wordings %q, tokens %+v: At(%d) = %+v, %v; naive %+v, %v", said, n, i, got, ok, want, some)
				}
			}
			got := find(m, nil, in)
			if diff := cmp.Diff(naive(seqs, n), got); diff != "" {
				t.Fatalf("wordings %q, tokens %+v: Find (-naive +got):\n%s", said, n, diff)
			}
		}
	}
}

func TestFind(t *testing.T) {
	tests := []struct {
		name     string
		wordings []string
		note     string // one-letter words; a comma is a stop; digits are numbers
		want     []match.Hit
	}{
		{"nothing known", []string{"a"}, "b c", nil},
		{"longest wins", []string{"a", "a b", "a b c"}, "a b d", []match.Hit{{From: 0, To: 2, Payload: 1}}},
		{"leftmost wins over longer", []string{"a b", "b c d"}, "a b c d", []match.Hit{{From: 0, To: 2, Payload: 0}}},
		{"lower payload on a tie", []string{"a [b]", "a b"}, "a b", []match.Hit{{From: 0, To: 2, Payload: 0}}},
		{"lower payload on a tie, added the other way", []string{"a b", "(a|c) b"}, "a b c b",
			[]match.Hit{{From: 0, To: 2, Payload: 0}, {From: 2, To: 4, Payload: 1}}},
		{"gap of none", []string{"a ... b"}, "a b", []match.Hit{{From: 0, To: 2, Payload: 0}}},
		{"gap of three", []string{"a ... b"}, "a c c c b", []match.Hit{{From: 0, To: 5, Payload: 0}}},
		{"gap of four", []string{"a ... b"}, "a c c c c b", nil},
		{"no gap over a stop", []string{"a ... b"}, "a , b", nil},
		{"number", []string{"{n} a"}, "7 a", []match.Hit{{From: 0, To: 2, Payload: 0}}},
		{"the same wording again and again", []string{"a"}, "a a a",
			[]match.Hit{{From: 0, To: 1}, {From: 1, To: 2}, {From: 2, To: 3}}},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			m := match.New()
			for payload, w := range tt.wordings {
				seq, err := vocab.Parse(w)
				if err != nil {
					t.Fatalf("Parse(%q): %v", w, err)
				}
				m.Add(seq, payload)
			}
			m.Seal()
			var n []piece
			for _, w := range strings.Fields(tt.note) {
				n = append(n, piece{word: w, num: w >= "0" && w <= "9", stop: w == ","})
			}
			got := find(m, nil, inputs(m, n))
			if diff := cmp.Diff(tt.want, got); diff != "" {
				t.Errorf("wordings %q in %q: Find (-want +got):\n%s", tt.wordings, tt.note, diff)
			}
		})
	}
}

func TestWord(t *testing.T) {
	m := match.New()
	seq, err := vocab.Parse("(a|b) ... c {n}")
	if err != nil {
		t.Fatal(err)
	}
	m.Add(seq, 0)
	m.Seal()
	for _, w := range []string{"a", "b", "c"} {
		if m.Word(w) == 0 {
			t.Errorf("Word(%q) = 0, want a number", w)
		}
	}
	if id := m.Word("z"); id != 0 {
		t.Errorf("Word(%q) = %d, want 0", "z", id)
	}
}

func BenchmarkFind(b *testing.B) {
	r := rand.New(rand.NewPCG(3, 4))
	m := match.New()
	for payload := range 200 {
		seq, err := vocab.Parse(wording(r))
		if err != nil {
			b.Fatal(err)
		}
		m.Add(seq, payload)
	}
	m.Seal()
	var in []match.Input
	for range 100 {
		in = append(in, inputs(m, note(r))...)
	}
	var hits []match.Hit
	b.ReportAllocs()
	for b.Loop() {
		hits = find(m, hits[:0], in)
	}
	b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N*len(in)), "ns/token")
	if len(hits) == 0 {
		b.Fatal(fmt.Errorf("no hits in %d tokens", len(in)))
	}
}

// find appends the hits in in to dst, leftmost and longest, none overlapping.
func find(m *match.Matcher, dst []match.Hit, in []match.Input) []match.Hit {
	for i := 0; i < len(in); {
		if h, ok := m.At(in, i); ok {
			dst = append(dst, h)
			i = h.To
			continue
		}
		i++
	}
	return dst
}
