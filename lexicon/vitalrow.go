package lexicon

import (
	"math"

	"example.com/stance/lexicon/internal/token"
)

// A figure is the number of a vital sign.
type figure struct {
	name  string // of the vital sign: "pulse"
	value float64

	from, head, to int // tokens: where it and its name begin, and one past its name, and past all of it
}

// row is the figures about the pair at unit i in a row of vital signs without names, such as
// "132/70, 76, 18, 36.4, 97%", in text order: none where they are fewer than two or some cannot be told.
func (r *reader) row(i int) []figure {
	u := &r.units[i]
	var out []figure
	from := u.from
	for from > 0 && r.inRow(from-1) {
		from--
	}
	for k := from; k < len(r.toks); k++ {
		switch {
		case k >= u.from && k < u.to:
		case !r.inRow(k):
			return named(out)
		case r.toks[k].Kind != token.Number:
		case r.counts(k + 1):
			if k > u.from {
				return named(out)
			}
			out = nil // "at 3 minutes 122/68"
		default:
			f := figure{value: r.toks[k].Num, from: k, head: k + 1, to: k + 1}
			if r.word(k+1) == "%" {
				f.name = "saturation"
			}
			out = append(out, f)
		}
	}
	return named(out)
}

// inRow reports whether token k may stand in a row of figures.
func (r *reader) inRow(k int) bool {
	t := &r.toks[k]
	if t.Kind == token.Number {
		return true
	}
	return t.Kind == token.Sign && (t.Word == "," || t.Word == ";" || t.Word == "%" || t.Word == "-")
}

// counts reports whether token k makes the number before it a count or a time ("20 mins", "2 staff", "9:30").
func (r *reader) counts(k int) bool {
	if k >= len(r.toks) {
		return false
	}
	t := &r.toks[k]
	return t.Kind == token.Word || t.Word == ":" || t.Word == "/" || t.Word == ")"
}

// named says which vital sign each figure is: what is a percentage or has a decimal shows it by itself, and
// of whole numbers the breaths are the low one, before or behind the pulse, and a saturation comes last.
func named(row []figure) []figure {
	if len(row) < 2 {
		return nil
	}
	got := map[string]bool{}
	name := func(f *figure, as string, low, high float64) bool {
		if got[as] || f.value < low || f.value > high {
			return false
		}
		f.name, got[as] = as, true
		return true
	}
	var whole []*figure
	for i := range row {
		f := &row[i]
		switch {
		case f.name != "":
			if !name(f, f.name, 50, 100) {
				return nil
			}
		case f.value != math.Trunc(f.value):
			if f.value = celsius(f.value); !name(f, "temperature", 34, 42) {
				return nil
			}
		default:
			whole = append(whole, f)
		}
	}
	for _, f := range whole {
		// common practice: a grown person at rest breathes 8 to 38 times a minute, and no pulse is as slow
		if !name(f, "breaths", 8, 38) && !name(f, "pulse", 39, 180) && !name(f, "saturation", 80, 100) {
			return nil
		}
	}
	if len(whole) > 0 && !got["pulse"] || len(whole) > 2 && whole[len(whole)-1].name != "saturation" {
		return nil
	}
	return row
}
