package stat

import (
	"fmt"
	"math"
)

// agreeLevel is the level of the interval of kappa.
const agreeLevel = 0.95

// Kappa is Cohen's kappa, agreement beyond chance, of two raters who each said yes or no of the same
// notes: a both yes, b the first alone, c the second alone, d both no. It comes with its 95 % interval
// and is 1 for full agreement and 0 for as much as chance gives. It is not a number (NaN) where there
// are no notes or where both raters said the same of all of them, since nothing is then left to
// agree on. It panics where a count is negative.
//
// Cohen, A coefficient of agreement for nominal scales, Educational and Psychological Measurement 20
// (1960) 37; large-sample standard error of Fleiss, Cohen and Everitt, Large sample standard errors of
// kappa and weighted kappa, Psychological Bulletin 72 (1969) 323, formula 13 (number from memory).
func Kappa(a, b, c, d int) (float64, Interval) {
	if min(a, b, c, d) < 0 {
		panic(fmt.Sprintf("stat: kappa of %d, %d, %d, %d", a, b, c, d))
	}
	n := float64(a + b + c + d)
	k := kappa(float64(a), float64(b), float64(c), float64(d))
	if math.IsNaN(k) {
		return k, Interval{math.NaN(), math.NaN()}
	}
	yy, yn, ny, nn := float64(a)/n, float64(b)/n, float64(c)/n, float64(d)/n
	first, second := yy+yn, yy+ny // how often each said yes
	chance := first*second + (1-first)*(1-second)
	same := yy*sq(1-(first+second)*(1-k)) + nn*sq(1-(2-first-second)*(1-k))
	other := sq(1-k) * (yn*sq(second+1-first) + ny*sq(first+1-second))
	se := math.Sqrt(max(0, same+other-sq(k-chance*(1-k)))/n) / (1 - chance)
	z := normalQuantile(agreeLevel)
	return k, Interval{max(-1, k-z*se), min(1, k+z*se)}
}

func sq(x float64) float64 { return x * x }

// kappa is Cohen's kappa of four cells, which may be weighted.
func kappa(a, b, c, d float64) float64 {
	return 2 * (a*d - b*c) / ((a+b)*(b+d) + (a+c)*(c+d))
}
