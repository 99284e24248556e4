package stat

import (
	"fmt"
	"math"
)

// A Kind is the kind of a control chart.
type Kind string

// The kinds of chart.
const (
	P      Kind = "p"  // proportions, binomial limits
	U      Kind = "u"  // counts a chance, Poisson limits
	PPrime Kind = "p′" // proportions, Laney's limits
	UPrime Kind = "u′" // counts a chance, Laney's limits
)

// A State says whether a point is held against its limits.
type State string

// The states of a point.
const (
	Judged State = "judged"
	TooFew State = "too few to tell" // see FewestExpected
	Empty  State = "none"            // no chances, so no rate
)

// FewestExpected is the least number of events, and for proportions of chances without one, that
// the centre line must lead to expect before a point is judged. Below it the normal approximation
// that three-sigma limits rest on gives false alarms by the dozen. Five is common practice.
const FewestExpected = 5

// FewestPoints is the number of judged points below which limits are called provisional: common
// practice asks 20 to 25 before limits are taken as settled.
const FewestPoints = 20

// sigmas is how far limits lie from the centre line: Shewhart, Economic Control of Quality of
// Manufactured Product (1931).
const sigmas = 3

// A Chart is a control chart: points in order of time, each with limits of its own, since the number
// of chances differs from point to point.
type Chart struct {
	Kind   Kind
	Centre float64 // all events over all chances
	SigmaZ float64 // the factor by which Laney's limits are wider than the plain ones; 1 for P and U
	Why    string  // why the chart is of this kind, as a sentence
	Points []Limit
}

// A Limit is one point of a chart.
type Limit struct {
	Point
	State       State
	Value       float64 // Events / N; 0 where Empty
	Low         float64 // the lower limit; 0 where Empty
	High        float64 // the upper limit; 0 where Empty
	Sigma       float64 // a third of the way from the centre line to an unclipped limit
	LowClipped  bool    // the lower limit would have lain below 0 and was set there
	HighClipped bool    // the upper one would have lain above 1 and was set there
	Signals     []Signal
}

// PChart is the chart of proportions with binomial limits, p̄ ± 3√(p̄(1−p̄)/n): NIST/SEMATECH,
// e-Handbook of Statistical Methods, section 6.3.3.2. It panics where a point has more events than
// chances.
func PChart(points []Point) Chart {
	return chart(P, points, 1, "Limits are those of chance alone (binomial, three sigma).")
}

// UChart is the chart of counts a chance with Poisson limits, ū ± 3√(ū/n): NIST/SEMATECH, e-Handbook
// of Statistical Methods, section 6.3.3.1, for chances that vary in number. It panics where a count
// is negative.
func UChart(points []Point) Chart {
	return chart(U, points, 1, "Limits are those of chance alone (Poisson, three sigma).")
}

// LaneyP is the chart of proportions whose limits also hold what varies between points, p̄ ± 3σ_z√(p̄(1−p̄)/n):
// Laney, Improved control charts for attributes, Quality Engineering 14 (2002) 531.
func LaneyP(points []Point) Chart {
	return chart(PPrime, points, sigmaZ(P, points), "Limits also hold what varies from point to point (Laney).")
}

// LaneyU is to UChart what LaneyP is to PChart.
func LaneyU(points []Point) Chart {
	return chart(UPrime, points, sigmaZ(U, points), "Limits also hold what varies from point to point (Laney).")
}

// Proportions is the chart of proportions that fits the points: LaneyP where Spread.Wide, else PChart.
func Proportions(points []Point) Chart { return fitting(P, PPrime, points) }

// Counts is the chart of counts that fits the points: LaneyU where Spread.Wide, else UChart.
func Counts(points []Point) Chart { return fitting(U, UPrime, points) }

func fitting(plain, prime Kind, points []Point) Chart {
	d := dispersion(plain, points)
	if d.Wide {
		return chart(prime, points, d.SigmaZ, d.Why)
	}
	return chart(plain, points, 1, d.Why)
}

// binomial reports whether the chart is one of proportions, which end at 1.
func (k Kind) binomial() bool { return k == P || k == PPrime }

// sigma is the standard deviation of chance alone of a rate c over n.
func (k Kind) sigma(c float64, n int) float64 {
	if k.binomial() {
		return math.Sqrt(c * (1 - c) / float64(n))
	}
	return math.Sqrt(c / float64(n))
}

// state says whether a point with n chances is judged against the centre c.
func (k Kind) state(c float64, n int) State {
	switch few := c * float64(n); {
	case n == 0:
		return Empty
	case few < FewestExpected || k.binomial() && float64(n)-few < FewestExpected:
		return TooFew
	}
	return Judged
}

// centre is all events over all chances; it checks the points.
func (k Kind) centre(points []Point) float64 {
	var events, n int
	for _, p := range points {
		if k.binomial() {
			mustCount(p.Events, p.N)
		} else if p.Events < 0 || p.N < 0 || p.N == 0 && p.Events > 0 {
			panic(fmt.Sprintf("stat: %d events among %d chances", p.Events, p.N))
		}
		events += p.Events
		n += p.N
	}
	return share(events, n)
}

func chart(kind Kind, points []Point, factor float64, why string) Chart {
	c := Chart{Kind: kind, Centre: kind.centre(points), SigmaZ: factor, Why: why, Points: make([]Limit, 0, len(points))}
	for _, p := range points {
		l := Limit{Point: p, State: kind.state(c.Centre, p.N)}
		if l.State != Empty {
			l.Value = share(p.Events, p.N)
			l.Sigma = factor * kind.sigma(c.Centre, p.N)
			l.Low, l.High = c.Centre-sigmas*l.Sigma, c.Centre+sigmas*l.Sigma
			if l.LowClipped = l.Low < 0; l.LowClipped {
				l.Low = 0
			}
			if l.HighClipped = kind.binomial() && l.High > 1; l.HighClipped {
				l.High = 1
			}
		}
		c.Points = append(c.Points, l)
	}
	judge(&c)
	return c
}
