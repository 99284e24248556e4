package stat

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/stat/distuv"
)

// A Point is a count under a label: a week, a unit, a rule.
type Point struct {
	Label  string
	Events int // what was counted, 0 or more
	N      int // the chances that it had, 0 or more
}

// An Interval is a range that a figure may well lie in, both ends included.
type Interval struct {
	Low  float64 `json:"low"`
	High float64 `json:"high"`
}

// A Rate is a share with its interval.
type Rate struct {
	Point
	Known    bool     // false where there were no chances: then there is no rate, which is not a rate of zero
	Value    float64  // Events / N, 0 to 1; 0 where it is not known
	Interval Interval // Wilson's; 0 to 1 where it is not known
}

// Rates gives each point its rate and Wilson interval at level (0.95), in the order given.
// It panics where a point has more events than chances.
func Rates(points []Point, level float64) []Rate {
	rates := make([]Rate, 0, len(points))
	for _, p := range points {
		rates = append(rates, Rate{
			Point: p, Known: p.N > 0, Value: share(p.Events, p.N), Interval: Wilson(p.Events, p.N, level),
		})
	}
	return rates
}

// FewestRate is the number of chances from which a share is written as a rate. One of one is not 100 in 100: below it the
// counts are written as they are. Common practice.
const FewestRate = 5

// Said writes the rate per 100 with its interval, "4.6 (1.6 to 12.7)", and with fewer than [FewestRate] chances the
// counts, "1 of 1".
func (r Rate) Said() string {
	if r.N < FewestRate {
		return fmt.Sprintf("%d of %d", r.Events, r.N)
	}
	return fmt.Sprintf("%.1f (%.1f to %.1f)", 100*r.Value, 100*r.Interval.Low, 100*r.Interval.High)
}

// Wilson is the score interval, without continuity correction, of a proportion with events out of n
// at level, such as 0.95. With n 0 nothing is known, and it is 0 to 1. It panics where events is not
// in 0 … n, or level not between 0 and 1.
//
// Wilson, Probable inference, the law of succession, and statistical inference, Journal of the
// American Statistical Association 22 (1927) 209; it is method 3 of Newcombe, Two-sided confidence
// intervals for the single proportion, Statistics in Medicine 17 (1998) 857.
func Wilson(events, n int, level float64) Interval {
	mustCount(events, n)
	return wilson(share(events, n), float64(n), normalQuantile(level))
}

// wilson is the score interval of the share p seen in n, which need not be whole, at the normal
// deviate z.
func wilson(p, n, z float64) Interval {
	switch {
	case n <= 0:
		return Interval{0, 1}
	case math.IsInf(n, 1):
		return Interval{p, p}
	}
	z2 := z * z
	middle := (p + z2/(2*n)) / (1 + z2/n)
	half := z * math.Sqrt(p*(1-p)/n+z2/(4*n*n)) / (1 + z2/n)
	iv := Interval{max(0, middle-half), min(1, middle+half)}
	// At the ends of the range the score interval ends there too; rounding leaves a trace otherwise.
	if p == 0 {
		iv.Low = 0
	}
	if p == 1 {
		iv.High = 1
	}
	return iv
}

// normalQuantile is the two-sided deviate of a level: 1.96 for 0.95.
func normalQuantile(level float64) float64 {
	if !(level > 0 && level < 1) {
		panic(fmt.Sprintf("stat: level %v is not between 0 and 1", level))
	}
	return distuv.UnitNormal.Quantile(1 - (1-level)/2)
}

// share is events a chance, and 0 where there was none.
func share(events, n int) float64 {
	if n == 0 {
		return 0
	}
	return float64(events) / float64(n)
}

// mustCount refuses counts of a proportion that cannot be: they are a mistake of the caller.
func mustCount(events, n int) {
	if events < 0 || n < 0 || events > n {
		panic(fmt.Sprintf("stat: %d events among %d chances", events, n))
	}
}
