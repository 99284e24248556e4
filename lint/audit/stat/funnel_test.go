package stat_test

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"gonum.org/v1/gonum/stat/distuv"

	"example.com/stance/lint/audit/stat"
)

// Spiegelhalter (2005), appendix A.1.1, defines the limit at q by the smallest r with F(r) ≥ q and α =
// (F(r)−q)/(F(r)−F(r−1)) as (r−α)/n. F is summed here from the probabilities themselves.
func TestFunnelCurve(t *testing.T) {
	for _, n := range []int{1, 2, 7, 40, 200} {
		for _, p := range []float64{0.01, 0.2, 0.5, 0.93} {
			inner, outer := stat.FunnelCurve(p, n)
			for q, got := range map[float64]float64{0.025: inner.Low, 0.975: inner.High, 0.001: outer.Low, 0.999: outer.High} {
				r, before, at := 0, 0.0, math.Pow(1-p, float64(n))
				for mass := at; at < q; r++ {
					mass *= float64(n-r) / float64(r+1) * p / (1 - p)
					before, at = at, at+mass
				}
				want := max(0, (float64(r)-(at-q)/(at-before))/float64(n))
				if math.Abs(got-want) > 1e-9 {
					t.Errorf("n %d, centre %v, at %v: limit %v, want %v", n, p, q, got, want)
				}
			}
		}
	}
}

// In large units the limits are those of the normal approximation, 1.96 and 3.09 standard deviations.
func TestFunnelCurveLarge(t *testing.T) {
	const n, p = 4_000_000, 0.1
	inner, outer := stat.FunnelCurve(p, n)
	s := math.Sqrt(p * (1 - p) / n)
	for z, got := range map[float64]float64{-1.95996: inner.Low, 1.95996: inner.High, -3.09023: outer.Low, 3.09023: outer.High} {
		if want := p + z*s; math.Abs(got-want) > 0.005*s {
			t.Errorf("limit %v, want about %v", got, want)
		}
	}
}

// Of units that differ by chance alone, no more than 1 in 20 may lie outside the inner limits and 1 in 500
// outside the outer ones, whatever their size; where counts are fine enough, about as many must.
func TestFunnelChance(t *testing.T) {
	for _, n := range []int{1, 2, 5, 30, 100, 1000} {
		const p = 0.3
		b := distuv.Binomial{N: float64(n), P: p}
		in := []stat.Point{{Events: 3e11, N: 1e12}} // holds the centre
		for e := range n + 1 {
			in = append(in, stat.Point{Events: e, N: n})
		}
		var inner, outer float64
		for _, u := range stat.Funnel(in).Units[1:] {
			switch u.Verdict {
			case stat.Above, stat.Below:
				outer += b.Prob(float64(u.Events))
				fallthrough
			case stat.EdgeAbove, stat.EdgeBelow:
				inner += b.Prob(float64(u.Events))
			}
		}
		if inner > 0.05 || outer > 0.002 || n >= 1000 && (inner < 0.04 || outer < 0.0015) {
			t.Errorf("n %d: %.4f outside the inner and %.5f outside the outer limits, want at most 0.05 and 0.002", n, inner, outer)
		}
	}
}

func TestFunnel(t *testing.T) {
	f := stat.Funnel([]stat.Point{
		{Label: "Ash", Events: 200, N: 1000},
		{Label: "Birch", Events: 300, N: 1000},
		{Label: "Cedar", Events: 100, N: 1000},
		{Label: "Fir", Events: 230, N: 1000},
		{Label: "Hazel", Events: 170, N: 1000},
		{Label: "Oak", Events: 1, N: 2},
		{Label: "Yew"},
	})
	want := "inside|above|below|between, above|between, below|too few to tell|none"
	var got []string
	for _, u := range f.Units {
		got = append(got, string(u.Verdict))
	}
	if s := strings.Join(got, "|"); s != want {
		t.Errorf("verdicts %s, want %s", s, want)
	}
	words := f.Words()
	for _, want := range []string{
		"more than chance explains: Birch.", "less than chance explains: Cedar.", "upper side: Fir.", "lower side: Hazel.",
		"not to be told apart: Ash.", "no count could lie outside: Oak.", "nothing was there to count: Yew.", "doesn't say why.",
	} {
		if !strings.Contains(words, want) {
			t.Errorf("words lack %q: %s", want, words)
		}
	}
}

func TestFunnelWords(t *testing.T) {
	for name, c := range map[string]struct {
		in   []stat.Point
		want string
	}{
		"alike": {[]stat.Point{{Label: "Ash", Events: 20, N: 100}, {Label: "Oak", Events: 22, N: 100}},
			"All of 2 units that can be judged lie inside the 95 % limits: they do not differ by more than chance."},
		"all apart": {[]stat.Point{{Label: "Ash", Events: 200, N: 1000}, {Label: "Oak", Events: 400, N: 1000}},
			"Above the 99.8 % limits, more than chance explains: Oak. Below the 99.8 % limits, less than chance explains: Ash. " +
				"With most units outside, none of them is an exception: units differ from one another in something that the plot " +
				"doesn't know, such as their residents or their way of writing."},
		"nobody":    {nil, "No unit can be judged."},
		"no events": {[]stat.Point{{Label: "Ash", N: 100}, {Label: "Oak", N: 5}}, "All of 2 units that can be judged lie inside the 95 % limits: they do not differ by more than chance."},
	} {
		if got := stat.Funnel(c.in).Words(); got != c.want {
			t.Errorf("%s: %q, want %q", name, got, c.want)
		}
	}
}

func BenchmarkFunnel(b *testing.B) {
	var in []stat.Point
	for i := range 200 {
		in = append(in, stat.Point{Label: fmt.Sprint(i), Events: 1000 + i, N: 9000 + 40*i})
	}
	for b.Loop() {
		stat.Funnel(in)
	}
}
