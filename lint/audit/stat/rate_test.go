package stat_test

import (
	"math"
	"testing"

	"example.com/stance/lint/audit/stat"
)

// near reports whether got is want to so many decimals, as published tables round.
func near(got, want float64, decimals int) bool {
	return math.Abs(got-want) <= 0.5*math.Pow10(-decimals)+1e-12
}

// Newcombe, Two-sided confidence intervals for the single proportion, Statistics in Medicine 17 (1998)
// 857, table I, method 3 (score, no continuity correction).
func TestWilsonNewcombe(t *testing.T) {
	for _, c := range []struct {
		events, n int
		low, high float64
	}{
		{81, 263, 0.2553, 0.3662},
		{15, 148, 0.0624, 0.1605},
		{0, 20, 0.0000, 0.1611},
		{1, 29, 0.0061, 0.1718},
	} {
		got := stat.Wilson(c.events, c.n, 0.95)
		if !near(got.Low, c.low, 4) || !near(got.High, c.high, 4) {
			t.Errorf("Wilson(%d, %d, 0.95) = %.4f to %.4f, want %.4f to %.4f", c.events, c.n, got.Low, got.High, c.low, c.high)
		}
	}
}

func TestWilsonEnds(t *testing.T) {
	for _, c := range []struct {
		events, n int
		want      stat.Interval // −1: not checked
	}{
		{0, 0, stat.Interval{Low: 0, High: 1}},
		{0, 7, stat.Interval{Low: 0, High: -1}},
		{7, 7, stat.Interval{Low: -1, High: 1}},
		{1_000_000_000, 1_000_000_000, stat.Interval{Low: -1, High: 1}},
	} {
		got := stat.Wilson(c.events, c.n, 0.95)
		if c.want.Low >= 0 && got.Low != c.want.Low || c.want.High >= 0 && got.High != c.want.High {
			t.Errorf("Wilson(%d, %d, 0.95) = %v, want %v", c.events, c.n, got, c.want)
		}
	}
}

// A proportion of an interval must turn over with it: what holds of events holds of the rest.
func TestWilsonMirrors(t *testing.T) {
	for n := 1; n < 60; n++ {
		for e := 0; e <= n; e++ {
			a, b := stat.Wilson(e, n, 0.99), stat.Wilson(n-e, n, 0.99)
			if math.Abs(a.Low-(1-b.High)) > 1e-12 || math.Abs(a.High-(1-b.Low)) > 1e-12 {
				t.Fatalf("Wilson(%d, %d) = %v, but Wilson(%d, %d) = %v", e, n, a, n-e, n, b)
			}
			if p := float64(e) / float64(n); a.Low > p || a.High < p {
				t.Fatalf("Wilson(%d, %d) = %v doesn't hold %v", e, n, a, p)
			}
		}
	}
}

func TestRates(t *testing.T) {
	got := stat.Rates([]stat.Point{{Label: "falls", Events: 1, N: 4}, {Label: "lifts", Events: 0, N: 0}}, 0.95)
	if !got[0].Known || got[0].Value != 0.25 || got[0].Label != "falls" {
		t.Errorf("Rates: first is %+v, want a known rate of 0.25", got[0])
	}
	if got[1].Known || got[1].Interval != (stat.Interval{Low: 0, High: 1}) {
		t.Errorf("Rates: no chances gives %+v, want no rate", got[1])
	}
}

func TestImpossibleCounts(t *testing.T) {
	for name, call := range map[string]func(){
		"events above n":   func() { stat.Wilson(3, 2, 0.95) },
		"events below 0":   func() { stat.Wilson(-1, 2, 0.95) },
		"level 95":         func() { stat.Wilson(1, 2, 95) },
		"chart":            func() { stat.PChart([]stat.Point{{Events: 3, N: 2}}) },
		"counts of naught": func() { stat.UChart([]stat.Point{{Events: 3, N: 0}}) },
		"kappa":            func() { stat.Kappa(1, -1, 0, 0) },
		"stratum":          func() { stat.Diagnostic([]stat.Stratum{{Population: 1, Marked: 2}}, 0.95) },
		"half width 0":     func() { stat.SampleSize(0.5, 0, 0.95, 0) },
	} {
		t.Run(name, func(t *testing.T) {
			defer func() {
				if recover() == nil {
					t.Error("no panic for counts that cannot be")
				}
			}()
			call()
		})
	}
}

func TestSampleSize(t *testing.T) {
	// Cochran, Sampling Techniques, third edition (1977), section 4.4, takes a deviate of exactly 2 in
	// its example of blood groups: 400, and 356 of 3200 people (figures from memory).
	two := math.Erf(math.Sqrt2)
	for _, c := range []struct {
		source     string
		p, h       float64
		level      float64
		population int
		want       int
	}{
		{"Cochran", 0.5, 0.05, two, 0, 400},
		{"Cochran", 0.5, 0.05, two, 3200, 356},
		// Krejcie and Morgan, Determining sample size for research activities, Educational and
		// Psychological Measurement 30 (1970) 607, table 1, entries that rounding up leaves alone
		// (figures from memory; the table rounds to the nearest).
		{"Krejcie and Morgan", 0.5, 0.05, 0.95, 100, 80},
		{"Krejcie and Morgan", 0.5, 0.05, 0.95, 200, 132},
		{"Krejcie and Morgan", 0.5, 0.05, 0.95, 300, 169},
		{"Krejcie and Morgan", 0.5, 0.05, 0.95, 1000, 278},
		{"Krejcie and Morgan", 0.5, 0.05, 0.95, 10000, 370},
		{"ends", 0.5, 0.05, 0.95, 0, 385},
		{"ends", 0.5, 0.05, 0.95, 1, 1},
		{"ends", 0, 0.05, 0.95, 40, 1},
		{"ends", 0.5, 1e-9, 0.95, 40, 40},
		{"ends", 0.5, 1e-9, 0.95, 0, math.MaxInt32},
	} {
		if got := stat.SampleSize(c.p, c.h, c.level, c.population); got != c.want {
			t.Errorf("%s: SampleSize(%v, %v, %.4f, %d) = %d, want %d", c.source, c.p, c.h, c.level, c.population, got, c.want)
		}
	}
}
