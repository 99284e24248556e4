package stat

import (
	"fmt"
	"math"

	"example.com/stance/lint/plural"
)

// fewestDispersion is the number of judged points from which their spread is estimated. A dozen is a
// choice of this package: with fewer, the critical value below lies so high that little could pass it.
const fewestDispersion = 12

// d2 turns a mean moving range of two into a standard deviation: 2/√π, 1.128 in
// handbooks.
const d2 = 2 / math.SqrtPi

// A Spread says how far points lie apart compared with what chance alone would do.
type Spread struct {
	SigmaZ   float64 // standard deviation of the standardised points, from their moving range; 1 is chance alone
	Critical float64 // what SigmaZ exceeds by chance once in twenty times; 0 where there are too few points
	Wide     bool    // SigmaZ is above Critical: use Laney's chart
	Why      string  // the decision as a sentence
}

// Dispersion says whether proportions lie further apart than binomial chance explains, so that a
// p-chart would cry wolf and Laney's should be used.
//
// Only judged points count, which is what "n is large" means here: where few events are expected,
// chance drowns everything else. The spread is that of Laney (2002), mean moving range over 1.128 of the
// points in standard deviations of chance, since a lasting shift, which the chart is there to find,
// hardly moves it. It is too wide where it exceeds 1 + 1.645 s, s being its standard error for
// independent normal points, √(0.8264k − 1.082)/(k − 1) for k of them: Cryer and Ryan, The estimation
// of sigma for an X chart, Journal of Quality Technology 22 (1990) 187 (reference from memory; a test
// here checks the rate of false positives). Spread below that of chance never narrows limits.
func Dispersion(points []Point) Spread { return dispersion(P, points) }

func dispersion(kind Kind, points []Point) Spread {
	z := standardised(kind, points)
	k := float64(len(z))
	if len(z) < fewestDispersion {
		return Spread{SigmaZ: 1, Why: fmt.Sprintf("Limits are those of chance alone: with %s that can be judged, "+
			"fewer than %d, the spread between points cannot be estimated.", plural.Of(len(z), "point"), fewestDispersion)}
	}
	s := Spread{SigmaZ: movingSigma(z), Critical: 1 + 1.645*math.Sqrt(0.8264*k-1.082)/(k-1)}
	s.Wide = s.SigmaZ > s.Critical
	if s.Wide {
		s.Why = fmt.Sprintf("Points lie %.2f times as far apart as chance alone explains (above %.2f, which chance reaches "+
			"once in twenty), so limits also hold what varies from point to point (Laney).", s.SigmaZ, s.Critical)
	} else {
		s.Why = fmt.Sprintf("Points lie %.2f times as far apart as chance alone explains (not above %.2f, which chance reaches "+
			"once in twenty), so limits are those of chance alone.", s.SigmaZ, s.Critical)
	}
	return s
}

// sigmaZ is Laney's factor, and 1 where there are not two points to take it from. Unlike dispersion
// it takes every point that has a rate, as the method was published.
func sigmaZ(kind Kind, points []Point) float64 {
	c := kind.centre(points)
	var z []float64
	for _, p := range points {
		if s := kind.sigma(c, p.N); p.N > 0 && s > 0 {
			z = append(z, (share(p.Events, p.N)-c)/s)
		}
	}
	if len(z) < 2 {
		return 1
	}
	return movingSigma(z)
}

// standardised gives the judged points in standard deviations of chance from the centre line.
func standardised(kind Kind, points []Point) []float64 {
	c := kind.centre(points)
	var z []float64
	for _, p := range points {
		if kind.state(c, p.N) == Judged {
			z = append(z, (share(p.Events, p.N)-c)/kind.sigma(c, p.N))
		}
	}
	return z
}

// movingSigma is the standard deviation that the mean moving range of z leads to; len(z) ≥ 2.
func movingSigma(z []float64) float64 {
	var sum float64
	for i := 1; i < len(z); i++ {
		sum += math.Abs(z[i] - z[i-1])
	}
	return sum / float64(len(z)-1) / d2
}
