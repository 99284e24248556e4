package lexicon

import (
	"math"
)

// metres converts a length in feet, yards, miles, metres or kilometres.
func (r *reader) metres(u *unit) (float64, bool) {
	n := -1.0
	for k := u.from; k < u.to; k++ {
		if r.toks[k].IsNum {
			n = r.toks[k].Num
		}
	}
	if n < 0 {
		return 0, false
	}
	const foot = 0.3048 // metres, exact since the international yard and pound agreement of 1959
	switch u.e.name {
	case "m":
		return n, true
	case "ft":
		return math.Round(n*foot*1e4) / 1e4, true // exact to the four decimals of the foot
	case "yd":
		return math.Round(n*3*foot*1e4) / 1e4, true
	case "mile":
		return math.Round(n*5280*foot*1e4) / 1e4, true
	case "km":
		return n * 1000, true
	}
	return 0, false
}

func (r *reader) number(u *unit) float64 {
	n := -1.0
	for k := u.from; k < u.to; k++ {
		if r.toks[k].IsNum {
			n = r.toks[k].Num
		}
	}
	return n
}

func (r *reader) wordPercent(u *unit) float64 {
	if r.word(u.from) == "half" {
		return 50
	}
	return -1
}

// kgPerLb is exact since the international yard and pound agreement of 1959.
const kgPerLb = 0.45359237

// bodyWeight is the body weight in kg that the note states, other than in unit but; 0 for none.
func (r *reader) bodyWeight(but int) float64 {
	for k := range r.units {
		if r.units[k].kind != kindLoad || r.units[k].e.name != "weight" {
			continue
		}
		for j := k + 1; j < len(r.units) && j <= k+2; j++ {
			l := &r.units[j]
			if j != but && l.kind == kindLoad && l.from-r.units[k].to <= 4 {
				switch l.e.name {
				case "kg":
					return r.number(l)
				case "lb":
					return r.number(l) * kgPerLb
				}
			}
		}
	}
	return 0
}
