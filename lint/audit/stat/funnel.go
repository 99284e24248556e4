package stat

import (
	"fmt"
	"sort"
	"strings"

	"gonum.org/v1/gonum/stat/distuv"

	"example.com/stance/lint/plural"
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
	Value   float64  // Events / N; 0 where NoChances
	Inner   Interval // a unit of this size lies outside by chance at most 5 times in 100; 0 to 1 where NoChances
	Outer   Interval // likewise, 0.2 times in 100
	Verdict Verdict
}

// Funnel holds the proportions of units against the limits of chance around the proportion of all of
// them, in the order given: a unit is inside or outside, and nothing is ranked. The limits of a unit
// are whole counts of the binomial distribution, so that it lies outside by chance no more often than
// the limits say, however small it is. It panics where a unit has more events than chances.
//
// Spiegelhalter, Funnel plots for comparing institutional performance, Statistics in Medicine 24
// (2005) 1185, who takes 95 % and 99.8 % limits, about two and three standard deviations.
func Funnel(units []Point) FunnelPlot {
	f := FunnelPlot{Centre: P.centre(units), Units: make([]FunnelPoint, 0, len(units))}
	for _, u := range units {
		p := FunnelPoint{Point: u, Value: share(u.Events, u.N)}
		p.Inner, p.Outer = limits(u.N, func(q float64) float64 {
			return share(quantile(f.Centre, u.N, q), u.N)
		})
		p.Verdict = verdict(p)
		f.Units = append(f.Units, p)
	}
	return f
}

// FunnelCurve is where the curves of the funnel run at n chances around the proportion centre, to be
// drawn; 0 to 1 both where n is 0. Between whole counts it is interpolated, which makes it smooth and
// puts it within one event of the limits of a unit: Spiegelhalter (2005), appendix A.1.1, with r the
// smallest count whose cumulative probability F(r) is at least q, (r − (F(r)−q)/(F(r)−F(r−1))) / n.
func FunnelCurve(centre float64, n int) (inner, outer Interval) {
	return limits(n, func(q float64) float64 {
		if centre <= 0 || centre >= 1 {
			return centre
		}
		r := quantile(centre, n, q)
		b := distuv.Binomial{N: float64(n), P: centre}
		at, before := b.CDF(float64(r)), b.CDF(float64(r-1))
		return min(1, max(0, (float64(r)-(at-q)/(at-before))/float64(n)))
	})
}

// limits is at the ends of the inner and the outer level, with n chances.
func limits(n int, at func(q float64) float64) (inner, outer Interval) {
	if n == 0 {
		return Interval{0, 1}, Interval{0, 1}
	}
	const in, out = (1 - innerLevel) / 2, (1 - outerLevel) / 2
	return Interval{at(in), at(1 - in)}, Interval{at(out), at(1 - out)}
}

// quantile is the smallest of 0 … n whose cumulative binomial probability is at least q, which lies
// between 0 and 1.
func quantile(p float64, n int, q float64) int {
	switch {
	case p <= 0:
		return 0
	case p >= 1:
		return n
	}
	b := distuv.Binomial{N: float64(n), P: p}
	return sort.Search(n, func(r int) bool { return b.CDF(float64(r)) >= q })
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
			plural.Of(n, "unit")))
	} else if n > 0 {
		out = append(out, fmt.Sprintf("Inside the limits, and not to be told apart: %s.", strings.Join(by[Inside], ", ")))
	}
	add(NotJudged, "Too few to tell, since no count could lie outside: %s.")
	add(NoChances, "No rate, since nothing was there to count: %s.")
	switch outside := len(by[Above]) + len(by[Below]); {
	case 2*outside > judged:
		// Over-dispersion: Spiegelhalter (2005), section 5 (number from memory).
		out = append(out, "With most units outside, none of them is an exception: units differ from one another in something that "+
			"the plot doesn't know, such as their residents or their way of writing.")
	case outside > 0:
		out = append(out, "A unit may lie outside because its residents or its notes differ; the plot doesn't say why.")
	}
	return strings.Join(out, " ")
}
