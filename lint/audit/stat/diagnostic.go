package stat

import (
	"fmt"
	"math"
)

// A Stratum is a set of notes that were drawn from together, and of all of which the program said the
// same. A stratum that was drawn without regard to what the program said is given as two.
type Stratum struct {
	Label      string
	Flagged    bool // what the program said of its notes
	Population int  // notes in it
	Marked     int  // of those, drawn at random and marked by a person
	Positive   int  // of those, notes that the person would have flagged
}

// An Estimate is a figure for the whole population with its interval.
type Estimate struct {
	Known    bool     `json:"known"` // false where the marked notes say nothing about it; the rest is then 0
	Value    float64  `json:"value"`
	Interval Interval `json:"interval"`
}

// Accuracy tells how far the program's flags hold, of all notes of the strata and not of the marked
// ones alone.
type Accuracy struct {
	Sensitivity Estimate `json:"sensitivity"`      // of the notes that the person would flag, the share that the program flags
	Specificity Estimate `json:"specificity"`      // of the notes that the person would not flag, the share that it doesn't
	PPV         Estimate `json:"ppv"`              // of the flagged notes, the share that the person would flag
	NPV         Estimate `json:"npv"`              // of the notes not flagged, the share that the person wouldn't flag either
	Kappa       Estimate `json:"kappa"`            // Cohen's
	Unseen      []string `json:"unseen,omitempty"` // labels of strata with notes of which none was marked, in order
}

// Diagnostic weights the marked notes of each stratum up to its population. The intervals are at
// level, 0.95 by custom. It panics where counts contradict one another.
//
// Estimates are those of Begg and Greenes, Assessment of diagnostic tests when disease verification is
// subject to selection bias, Biometrics 39 (1983) 207: the share of positive notes is taken from the
// marked notes of each stratum, the sizes of strata from the population. A stratum of which nothing
// was marked takes the share of the other strata with the same flag, and an interval from 0 to 1.
//
// Intervals: in a stratum Wilson's, with n raised for drawing without replacement from N to
// n(N−1)/(N−n). Their weighted sum, and the ratio behind sensitivity and specificity, by the method of
// variance estimates recovery, which needs no normal approximation and keeps its width where no
// missed note was found: Zou and Donner, Construction of confidence limits about effect measures: a
// general approach, Statistics in Medicine 27 (2008) 1693; Donner and Zou, Closed-form confidence
// intervals for functions of the normal mean and standard deviation, Statistical Methods in Medical
// Research 21 (2012) 347 (both references from memory). The interval of kappa recovers its variance in
// the same way from the flagged and the other notes.
func Diagnostic(strata []Stratum, level float64) Accuracy {
	z := normalQuantile(level)
	flagged, clear := total(strata, true, z), total(strata, false, z)
	var acc Accuracy
	for _, s := range strata {
		if s.Population > 0 && s.Marked == 0 {
			acc.Unseen = append(acc.Unseen, s.Label)
		}
	}
	acc.PPV = flagged.share()
	acc.NPV = clear.rest().share()
	if flagged.blind() || clear.blind() {
		return acc // a whole side of the table is not known, so neither is what needs both
	}
	acc.Sensitivity = part(flagged, clear)
	acc.Specificity = part(clear.rest(), flagged.rest())
	acc.Kappa = kappaOf(flagged, clear)
	return acc
}

// An amount is how many notes of a population are positive, estimated.
type amount struct {
	population float64
	marked     int
	value      float64
	Interval
}

// blind reports whether there are notes of which not one was marked.
func (a amount) blind() bool { return a.population > 0 && a.marked == 0 }

// rest is the notes of the population that are not positive.
func (a amount) rest() amount {
	a.value, a.Interval = a.population-a.value, Interval{a.population - a.High, a.population - a.Low}
	return a
}

// share is the positive share of the population.
func (a amount) share() Estimate {
	if a.population == 0 || a.marked == 0 {
		return Estimate{}
	}
	return Estimate{true, a.value / a.population, Interval{a.Low / a.population, a.High / a.population}}
}

// total adds up the positive notes of the strata with the given flag.
func total(strata []Stratum, flagged bool, z float64) amount {
	var sum amount
	positive := 0
	for _, s := range strata {
		if s.Population < s.Marked || s.Marked < s.Positive || s.Positive < 0 {
			panic(fmt.Sprintf("stat: stratum with %d positive of %d marked of %d", s.Positive, s.Marked, s.Population))
		}
		if s.Flagged == flagged {
			sum.population += float64(s.Population)
			sum.marked += s.Marked
			positive += s.Positive
		}
	}
	pooled := share(positive, sum.marked)
	var below, above float64 // sums of squared distances to the ends
	for _, s := range strata {
		if s.Flagged != flagged || s.Population == 0 {
			continue
		}
		p, weight := pooled, float64(s.Population)
		iv := Interval{0, 1}
		if s.Marked > 0 {
			p = share(s.Positive, s.Marked)
			iv = wilson(p, withoutReplacement(s.Marked, s.Population), z)
		}
		sum.value += weight * p
		below += sq(weight * (p - iv.Low))
		above += sq(weight * (iv.High - p))
	}
	sum.Low = max(0, sum.value-math.Sqrt(below))
	sum.High = min(sum.population, sum.value+math.Sqrt(above))
	return sum
}

// withoutReplacement is the number of draws with replacement that tell as much as n draws without it
// from population.
func withoutReplacement(n, population int) float64 {
	if n == population {
		return math.Inf(1)
	}
	return float64(n) * float64(population-1) / float64(population-n)
}

// part is a / (a + b) for independent amounts, by way of the ratio b/a.
func part(a, b amount) Estimate {
	if a.value+b.value == 0 {
		return Estimate{}
	}
	// b/a and a/b lead to the same ends; the one whose divisor is not zero is taken.
	if a.value > 0 {
		r := ratio(b, a)
		return Estimate{true, a.value / (a.value + b.value), Interval{1 / (1 + r.High), 1 / (1 + r.Low)}}
	}
	r := ratio(a, b)
	return Estimate{true, 0, Interval{r.Low / (1 + r.Low), r.High / (1 + r.High)}}
}

// ratio is the interval of a/b, where b is above 0: the ends are where the interval of a − r·b reaches 0.
// High is +Inf where b may be 0.
func ratio(a, b amount) Interval {
	ab := a.value * b.value
	low := a.Low * (2*a.value - a.Low) / (ab + math.Sqrt(sq(ab)-a.Low*(2*a.value-a.Low)*b.High*(2*b.value-b.High)))
	if a.Low == 0 {
		low = 0
	}
	divisor := b.Low * (2*b.value - b.Low)
	if divisor <= 0 {
		return Interval{low, math.Inf(1)}
	}
	return Interval{low, (ab + math.Sqrt(max(0, sq(ab)-a.High*(2*a.value-a.High)*divisor))) / divisor}
}

// kappaOf is Cohen's kappa, which rises with the positive notes among the flagged and falls with those
// among the others.
func kappaOf(flagged, clear amount) Estimate {
	at := func(hit, missed float64) float64 {
		return kappa(hit, flagged.population-hit, missed, clear.population-missed)
	}
	k := at(flagged.value, clear.value)
	if math.IsNaN(k) {
		return Estimate{}
	}
	end := func(hit, missed float64) float64 {
		// At a corner of the table kappa may have no value; its distance is then the whole way to 0.
		distance := func(to float64) float64 {
			if math.IsNaN(to) {
				to = 0
			}
			return sq(k - to)
		}
		return math.Sqrt(distance(at(hit, clear.value)) + distance(at(flagged.value, missed)))
	}
	return Estimate{true, k, Interval{
		max(-1, k-end(flagged.Low, clear.High)), min(1, k+end(flagged.High, clear.Low)),
	}}
}
