package draw

import (
	"fmt"
	"io"
	"slices"

	"example.com/stance/lint/audit/stat"
)

// narrow is the width below which the label of a rate stands above its line. It does so too where one is too long to stand
// beside it.
const narrow = 480

// Rates draws each rate as a dot on the range of its interval, in the order given.
func Rates(w io.Writer, rates []stat.Rate, opt Options) error {
	const top, foot = 22.0, 24.0
	row, labels := 22.0, 190.0
	if opt.width() < narrow || slices.ContainsFunc(rates, func(r stat.Rate) bool { return textWidth(r.Label) > labels-4 }) {
		row, labels = 36.0, 4.0
	}
	s := newSheet(opt, top+row*float64(len(rates))+foot)
	values, figures := []float64{0}, 30.0 // at least what the last number of the axis takes
	said := make([]string, len(rates))    // the figures, on the right
	for i, r := range rates {
		said[i] = "no opportunities"
		if r.Known {
			values = append(values, r.Value, r.Interval.High)
			said[i] = r.Said()
		}
		figures = max(figures, textWidth(said[i])+12)
	}
	x := shares(labels+6, s.width-labels-6-figures, values...)
	bottom := top + row*float64(len(rates))

	s.text(0, 11, left, opt.Unit)
	for _, v := range x.ticks(4) {
		s.path(fmt.Sprintf("M%s %sV%s", num(x.place(v)), num(top), num(bottom+4)), 0.4, "")
		s.text(x.place(v), bottom+17, middle, tick(v))
	}
	for i, r := range rates {
		y := top + row*float64(i) + row - 11
		if row > 30 {
			s.over(2, y-13, left, fit(r.Label, s.width-4))
		} else {
			s.text(labels, y+4, right, fit(r.Label, labels-4))
		}
		s.text(s.width, y+4, right, said[i])
		if !r.Known {
			continue
		}
		low, high := x.place(r.Interval.Low), x.place(r.Interval.High)
		s.path(fmt.Sprintf("M%[1]s %[2]sH%[3]sM%[1]s %[4]sV%[5]sM%[3]s %[4]sV%[5]s", num(low), num(y), num(high), num(y-4), num(y+4)), 1.4, "")
		s.mark(dot, x.place(r.Value), y, fmt.Sprintf("%s: %s (%d of %d)", r.Label, per100(r.Value), r.Events, r.N))
	}
	_, err := w.Write(s.end())
	return err
}
