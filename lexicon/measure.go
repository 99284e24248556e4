package lexicon

import (
	"math"
	"strconv"
	"strings"

	"example.com/stance/lexicon/internal/token"
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

// clockOf reads a time of day as HH:MM; "" for a number that is none.
func (r *reader) clockOf(u unit) string {
	var nums []int
	bare, suffix := u.to-u.from == 1, ""
	digits := 0
	for k := u.from; k < u.to; k++ {
		t := &r.toks[k]
		if u.e != nil && u.e.name == "spoken" && t.IsNum {
			nums, digits = append(nums, int(t.Num)), 2
			continue
		}
		if t.Kind == token.Number {
			if strings.Contains(t.Word, ".") || strings.Contains(t.Word, ",") {
				h, mm, ok := strings.Cut(t.Word, ".")
				if !ok || len(mm) != 2 {
					return ""
				}
				a, _ := strconv.Atoi(h)
				b, _ := strconv.Atoi(mm)
				nums = append(nums, a, b)
				continue
			}
			n, err := strconv.Atoi(t.Word)
			if err != nil {
				return ""
			}
			nums, digits = append(nums, n), len(t.Word)
			continue
		}
		switch t.Word {
		case "am", "pm", "a", "p":
			suffix = t.Word[:1]
		}
	}
	var h, min int
	switch {
	case len(nums) == 1 && digits == 4:
		h, min = nums[0]/100, nums[0]%100
		if bare && !r.bareClock(u) {
			return ""
		}
	case len(nums) == 1 && suffix != "":
		h = nums[0]
	case len(nums) == 2:
		h, min = nums[0], nums[1]
	default:
		return ""
	}
	if len(nums) == 2 && digits == 1 {
		return "" // "2:1" counts helpers
	}
	if suffix == "p" && h < 12 {
		h += 12
	}
	if suffix == "a" && h == 12 {
		h = 0
	}
	if h > 23 || min > 59 {
		return ""
	}
	return pad(h) + ":" + pad(min)
}

func pad(n int) string {
	if n < 10 {
		return "0" + strconv.Itoa(n)
	}
	return strconv.Itoa(n)
}

// bareClock reports whether four digits on their own may be a time: no unit after, no "in" before.
func (r *reader) bareClock(u unit) bool {
	if r.is(u.to, measure) {
		return false
	}
	if r.is(u.from-1, beforeYear) {
		return false
	}
	if t := &r.toks[u.from]; t.Num >= 1990 && t.Num <= 2059 && (r.is(u.from-1, month) || r.is(u.from-2, month)) {
		return false // "Nov 19 2026"
	}
	return true
}

func (r *reader) number(u *unit) float64 {
	n := -1.0
	for k := u.from; k < u.to; k++ {
		if r.toks[k].IsNum {
			if n >= 20 && r.toks[k].Num < 10 && r.toks[k].Kind == token.Word {
				n += r.toks[k].Num // "twenty five"
				continue
			}
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
