package stat

import (
	"fmt"
	"math"
)

// SampleSize is how many of a population to review so that a proportion that is about p is known to
// within halfWidth either way at level; population 0 stands for one without end. Where p is not
// known, 0.5 gives the most that can be needed. The answer is rounded up, and is never more than the
// population. It panics where p is not in 0 … 1, halfWidth not above 0, population below 0, or level
// not between 0 and 1.
//
// n₀ = z²p(1−p)/h², and n = n₀ / (1 + (n₀−1)/N): Cochran, Sampling Techniques, third edition (1977),
// section 4.4. It holds for a simple random sample: each stratum, and each of sensitivity and
// predictive values, needs its own.
func SampleSize(p, halfWidth, level float64, population int) int {
	if !(p >= 0 && p <= 1) || !(halfWidth > 0) || population < 0 {
		panic(fmt.Sprintf("stat: sample size for share %v, half width %v, population %d", p, halfWidth, population))
	}
	z := normalQuantile(level)
	n := z * z * p * (1 - p) / (halfWidth * halfWidth)
	if population > 0 {
		n /= 1 + (n-1)/float64(population)
	}
	// A hair above a whole number is the rounding of the deviate, not one note more.
	const hair = 1e-9
	n = max(1, math.Ceil(n-hair))
	if population > 0 {
		n = min(n, float64(population))
	}
	return int(min(n, math.MaxInt32))
}
