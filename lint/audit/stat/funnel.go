package stat

import (
	"fmt"
	"strings"

	"gonum.org/v1/gonum/stat/distuv"
)

// A Verdict says where a unit lies in a funnel plot.
type Verdict string

// The verdicts. The outer limits are those of 99.8 %, the inner those of 95 %.
const (
	Inside     Verdict = "inside"
	Above      Verdict = "above"           // above the outer limits
	Below      Verdict = "below"           // below the outer limits
	EdgeAbove  Verdict = "between, above"  // above the inner limits, within the outer
	EdgeBelow  Verdict = "between, below"  // below the inner limits, within the outer
	NotJudged  Verdict = "too few to tell" // no count that the unit could have had lies outside
	NoChances  Verdict = "none"            // no chances, so no rate
	innerLevel         = 0.95
	outerLevel         = 0.998
)

// A FunnelPlot holds units against the rate of all of them together.
type FunnelPlot struct {
	Centre float64       // all events over all chances
	Units  []FunnelPoint // in the order given
}

// A FunnelPoint is one unit.
type FunnelPoint struct {
	Point
	Value        float64  // Events / N; 0 where NoChances
	Inner, Outer Interval // where 95 and 99.8 of 100 units of this size lie by chance; 0 to 1 where NoChances
	Verdict      Verdict
}

// Funnel holds the proportions of units against the limits of chance around the proportion of all of
// them, in the order given: a unit is inside or outside, and nothing is ranked. It panics where a
// unit has more events than chances.
//
// Spiegelhalter, Funnel plots for comparing institutional performance, Statistics in Medicine 24
// (2005) 1185, who takes 95 % and 99.8 % limits, about two and three standard deviations.
func Funnel(units []Point) FunnelPlot {
	f := FunnelPlot{Centre: P.centre(units), Units: make([]FunnelPoint, 0, len(units))}
	for _, u := range units {
		p := FunnelPoint{Point: u, Value: share(u.Events, u.N)}
		p.Inner, p.Outer = FunnelLimits(f.Centre, u.N)
		p.Verdict = verdict(p)
		f.Units = append(f.Units, p)
	}
	return f
}

// FunnelLimits are the 95 % and 99.8 % limits for a unit with n chances around the proportion centre,
// 0 to 1 both where n is 0. They are exact binomial limits, interpolated between whole counts so that
// they make a smooth curve: Spiegelhalter (2005), appendix A.1.1.
func FunnelLimits(centre float64, n int) (inner, outer Interval) {
	limits := func(level float64) Interval {
		tail := (1 - level) / 2
		return Interval{binomialLimit(centre, n, tail), binomialLimit(centre, n, 1-tail)}
	}
	if n == 0 {
		return Interval{0, 1}, Interval{0, 1}
	}
	return limits(innerLevel), limits(outerLevel)
}

// binomialLimit is the interpolated quantile at q of a binomial proportion p among n, in 0 … 1: with r the
// smallest count whose cumulative probability F(r) is at least q, (r − (F(r)−q)/(F(r)−F(r−1))) / n.
func binomialLimit(p float64, n int, q float64) float64 {
	if p <= 0 || p >= 1 {
		return p
	}
	b := distuv.Binomial{N: float64(n), P: p}
	low, high := -1, n // F(low) < q ≤ F(high)
	for high-low > 1 {
		if mid := low + (high-low)/2; b.CDF(float64(mid)) >= q {
			high = mid
		} else {
			low = mid
		}
	}
	at, before := b.CDF(float64(high)), 0.0
	if high > 0 {
		before = b.CDF(float64(high - 1))
	}
	return min(1, max(0, (float64(high)-(at-q)/(at-before))/float64(n)))
}

func verdict(p FunnelPoint) Verdict {
	switch {
	case p.N == 0:
		return NoChances
	case p.Outer.Low <= 0 && p.Outer.High >= 1:
		return NotJudged
	case p.Value > p.Outer.High:
		return Above
	case p.Value < p.Outer.Low:
		return Below
	case p.Value > p.Inner.High:
		return EdgeAbove
	case p.Value < p.Inner.Low:
		return EdgeBelow
	}
	return Inside
}

// Words tells in sentences which units lie outside the limits and what that does and does not mean.
func (f FunnelPlot) Words() string {
	by := make(map[Verdict][]string)
	for _, u := range f.Units {
		by[u.Verdict] = append(by[u.Verdict], u.Label)
	}
	judged := len(f.Units) - len(by[NotJudged]) - len(by[NoChances])
	if judged == 0 {
		return "No unit can be judged."
	}
	var out []string
	add := func(v Verdict, format string) {
		if names := by[v]; len(names) > 0 {
			out = append(out, fmt.Sprintf(format, strings.Join(names, ", ")))
		}
	}
	add(Above, "Above the 99.8 %% limits, more than chance explains: %s.")
	add(Below, "Below the 99.8 %% limits, less than chance explains: %s.")
	add(EdgeAbove, "Between the 95 %% and the 99.8 %% limits, on the upper side: %s.")
	add(EdgeBelow, "Between the 95 %% and the 99.8 %% limits, on the lower side: %s.")
	if len(by[EdgeAbove])+len(by[EdgeBelow]) > 0 {
		out = append(out, "One unit in twenty lies beyond the 95 % limits by chance alone.")
	}
	if n := len(by[Inside]); n == judged {
		out = append(out, fmt.Sprintf("All of %s that can be judged lie inside the 95 %% limits: they do not differ by more than chance.",
			plural(n, "unit")))
	} else if n > 0 {
		out = append(out, fmt.Sprintf("Inside the limits, and not to be told apart: %s.", strings.Join(by[Inside], ", ")))
	}
	add(NotJudged, "Too few to tell, since no count could lie outside: %s.")
	add(NoChances, "No rate, since nothing was there to count: %s.")
	if len(by[Above])+len(by[Below]) > 0 {
		out = append(out, "A unit may lie outside because its residents or its notes differ; the plot doesn't say why.")
	}
	return strings.Join(out, " ")
}
