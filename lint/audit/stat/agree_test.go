package stat_test

import (
	"math"
	"reflect"
	"testing"

	"gonum.org/v1/gonum/stat/distuv"

	"example.com/stance/lint/audit/stat"
)

func TestKappa(t *testing.T) {
	for _, c := range []struct {
		source              string
		a, b, c, d          int
		kappa, low, high    float64
		decimals, intervals int
	}{
		// Bonett, statpsych, reference page of ci.kappa, after Fleiss, Levin and Paik, Statistical Methods for
		// Rates and Proportions, third edition (2003): 31, 12, 4, 58.
		{"statpsych", 31, 12, 4, 58, 0.6756757, 0.5317210, 0.8196303, 7, 6},
		// Seen in many introductions: two readers of 50 proposals, 20, 5, 10, 15 (from memory).
		{"fifty proposals", 20, 5, 10, 15, 0.4, 0, 0, 12, -1},
		{"full agreement", 5, 0, 0, 7, 1, 1, 1, 12, 12},
	} {
		k, iv := stat.Kappa(c.a, c.b, c.c, c.d)
		if !near(k, c.kappa, c.decimals) || c.intervals >= 0 && (!near(iv.Low, c.low, c.intervals) || !near(iv.High, c.high, c.intervals)) {
			t.Errorf("%s: kappa %.7f, %.7f to %.7f, want %v, %v to %v", c.source, k, iv.Low, iv.High, c.kappa, c.low, c.high)
		}
	}
	for _, cells := range [][4]int{{0, 0, 0, 0}, {9, 0, 0, 0}, {0, 0, 0, 9}} {
		if k, iv := stat.Kappa(cells[0], cells[1], cells[2], cells[3]); !math.IsNaN(k) || !math.IsNaN(iv.Low) {
			t.Errorf("kappa of %v is %v, want none", cells, k)
		}
	}
}

// Begg and Greenes (1983) correct the scans of 650 livers, of which 344 were examined by a pathologist: 231
// of 263 positive scans and 27 of 81 negative ones showed disease, while 429 scans were positive in all.
// Corrected sensitivity is 0.836 and specificity 0.738 (counts from memory; 650 and 344 stand in Arifin and
// Yusof, Diagnostics 12 (2022) 2839, section 2.1.2).
func TestDiagnosticBeggGreenes(t *testing.T) {
	acc := stat.Diagnostic([]stat.Stratum{
		{Label: "positive scan", Flagged: true, Population: 429, Marked: 263, Positive: 231},
		{Label: "negative scan", Population: 221, Marked: 81, Positive: 27},
	}, 0.95)
	for _, c := range []struct {
		name string
		got  stat.Estimate
		want float64
	}{
		{"sensitivity", acc.Sensitivity, 0.836},
		{"specificity", acc.Specificity, 0.738},
		{"positive predictive value", acc.PPV, 0.878},
		{"negative predictive value", acc.NPV, 0.667},
	} {
		if !c.got.Known || !near(c.got.Value, c.want, 3) || c.got.Interval.Low >= c.want || c.got.Interval.High <= c.want {
			t.Errorf("%s %+v, want %.3f within its interval", c.name, c.got, c.want)
		}
	}
	if acc.Unseen != nil {
		t.Errorf("unseen %v, want none", acc.Unseen)
	}
}

// Where every note is marked nothing is left to estimate: the figures are those of the table.
func TestDiagnosticCensus(t *testing.T) {
	acc := stat.Diagnostic([]stat.Stratum{
		{Flagged: true, Population: 35, Marked: 35, Positive: 31},
		{Population: 70, Marked: 70, Positive: 12},
	}, 0.95)
	k, _ := stat.Kappa(31, 4, 12, 58)
	for name, c := range map[string]struct {
		got  stat.Estimate
		want float64
	}{
		"sensitivity": {acc.Sensitivity, 31. / 43}, "specificity": {acc.Specificity, 58. / 62},
		"ppv": {acc.PPV, 31. / 35}, "npv": {acc.NPV, 58. / 70}, "kappa": {acc.Kappa, k},
	} {
		for what, x := range map[string]float64{"value": c.got.Value, "low": c.got.Interval.Low, "high": c.got.Interval.High} {
			if math.Abs(x-c.want) > 1e-9 {
				t.Errorf("%s: %s %v, want %v", name, what, x, c.want)
			}
		}
	}
}

// The intervals must hold the truth about as often as they say. Of a large population 3 in 100 notes are
// flagged, and 60 of the flagged and 60 or 200 of the others are marked; every outcome is weighed by its
// chance, so that the share is exact.
func TestDiagnosticCoverage(t *testing.T) {
	const flagged, clear = 3_000_000, 97_000_000
	for _, c := range []struct {
		name        string
		ppv, missed float64 // share of notes that the person would flag
		drawn       int     // of the notes that are not flagged
	}{
		{"good", 0.9, 0.02, 200},
		{"rare misses", 0.8, 0.005, 200},
		{"many misses", 0.7, 0.1, 60},
		{"poor", 0.3, 0.3, 60},
	} {
		t.Run(c.name, func(t *testing.T) {
			truth := func(hit, missed float64) [5]float64 {
				a, b := flagged*hit, flagged*(1-hit)
				x, d := clear*missed, clear*(1-missed)
				po, pe := (a+d)/(a+b+x+d), ((a+b)*(a+x)+(x+d)*(b+d))/math.Pow(a+b+x+d, 2)
				return [5]float64{a / (a + x), d / (d + b), hit, 1 - missed, (po - pe) / (1 - pe)}
			}(c.ppv, c.missed)
			first, second := distuv.Binomial{N: 60, P: c.ppv}, distuv.Binomial{N: float64(c.drawn), P: c.missed}
			var held [5]float64
			for i := range 61 {
				for j := range c.drawn + 1 {
					chance := first.Prob(float64(i)) * second.Prob(float64(j))
					if chance < 1e-12 {
						continue
					}
					acc := stat.Diagnostic([]stat.Stratum{
						{Flagged: true, Population: flagged, Marked: 60, Positive: i},
						{Population: clear, Marked: c.drawn, Positive: j},
					}, 0.95)
					for k, e := range []stat.Estimate{acc.Sensitivity, acc.Specificity, acc.PPV, acc.NPV, acc.Kappa} {
						if e.Interval.Low <= truth[k]+1e-12 && truth[k]-1e-12 <= e.Interval.High {
							held[k] += chance
						}
					}
				}
			}
			for k, name := range []string{"sensitivity", "specificity", "ppv", "npv", "kappa"} {
				if held[k] < 0.92 {
					t.Errorf("%s: the interval holds the truth in %.3f of samples, want about 0.95", name, held[k])
				}
			}
			t.Logf("held: %.3f", held)
		})
	}
}

// A sample that found no missed note doesn't prove that there are none.
func TestDiagnosticNoMisses(t *testing.T) {
	acc := stat.Diagnostic([]stat.Stratum{
		{Flagged: true, Population: 1000, Marked: 30, Positive: 30},
		{Population: 99_000, Marked: 30},
	}, 0.95)
	if s := acc.Sensitivity; s.Value != 1 || s.Interval.High != 1 || s.Interval.Low > 0.15 {
		t.Errorf("sensitivity %+v, want 1 with an interval down to almost nothing", s)
	}
}

func TestDiagnosticGaps(t *testing.T) {
	est := func(v, low, high float64) stat.Estimate {
		return stat.Estimate{Known: true, Value: v, Interval: stat.Interval{Low: low, High: high}}
	}
	for _, c := range []struct {
		name   string
		strata []stat.Stratum
		check  func(stat.Accuracy) (got, want any)
	}{
		{"nothing", nil, func(a stat.Accuracy) (any, any) { return a, stat.Accuracy{} }},
		{"no flagged note was marked", []stat.Stratum{
			{Label: "falls", Flagged: true, Population: 9}, {Population: 10, Marked: 10, Positive: 0},
		}, func(a stat.Accuracy) (any, any) {
			return a, stat.Accuracy{NPV: est(1, 1, 1), Unseen: []string{"falls"}}
		}},
		{"a stratum unseen takes the share of the others, and all of the doubt", []stat.Stratum{
			{Label: "falls", Flagged: true, Population: 10, Marked: 10, Positive: 5},
			{Label: "lifts", Flagged: true, Population: 10},
			{Population: 10, Marked: 10},
		}, func(a stat.Accuracy) (any, any) {
			return []any{a.PPV, a.Unseen}, []any{est(0.5, 0.25, 0.75), []string{"lifts"}}
		}},
		{"nothing to find", []stat.Stratum{{Population: 10, Marked: 10}}, func(a stat.Accuracy) (any, any) {
			return a, stat.Accuracy{Specificity: est(1, 1, 1), NPV: est(1, 1, 1)}
		}},
		{"every flag wrong", []stat.Stratum{
			{Flagged: true, Population: 10, Marked: 10}, {Population: 10, Marked: 10, Positive: 10},
		}, func(a stat.Accuracy) (any, any) {
			return []any{a.Sensitivity, a.Specificity, a.Kappa}, []any{est(0, 0, 0), est(0, 0, 0), est(-1, -1, -1)}
		}},
	} {
		t.Run(c.name, func(t *testing.T) {
			if got, want := c.check(stat.Diagnostic(c.strata, 0.95)); !reflect.DeepEqual(got, want) {
				t.Errorf("got %+v\nwant %+v", got, want)
			}
		})
	}
}
