package draw

import (
	"fmt"
	"io"
	"slices"
	"strconv"
	"strings"

	"example.com/stance/lint/audit/stat"
)

const (
	innerDash = "2 3"
	outerDash = limitDash
)

// Funnel draws units by how many chances they had, around the rate of all of them, with the curves
// of 95 % and 99.8 %. Units outside are triangles and named; the others are named where there is room.
func Funnel(w io.Writer, f stat.FunnelPlot, opt Options) error {
	const top, plot, foot, margin = 24.0, 240.0, 50.0, 38.0
	bottom := top + plot
	s := newSheet(opt, 0)

	largest, values := funnelRange(f)
	x := scale{from: 0, to: 1.06 * float64(max(1, largest)), at: margin, size: s.width - margin - 8}
	y := shares(bottom, -plot, values...)

	s.text(0, 11, left, opt.Unit)
	for _, v := range y.ticks(5) {
		s.line(margin-4, y.place(v), margin, y.place(v), 1, "")
		s.text(margin-7, y.place(v)+4, right, tick(v))
	}
	for _, v := range x.ticks(max(3, int(s.width/110))) {
		if v != float64(int(v)) {
			continue // chances are whole
		}
		s.line(x.place(v), bottom, x.place(v), bottom+4, 1, "")
		half := textWidth(strconv.Itoa(int(v))) / 2
		s.text(min(x.place(v), s.width-half-2), bottom+17, middle, strconv.Itoa(int(v)))
	}
	s.text(s.width-8, bottom+34, right, "opportunities in the unit")
	s.line(margin, top, margin, bottom, 1, "")
	s.line(margin, bottom, s.width-8, bottom, 1, "")
	if largest > 0 {
		s.line(margin, y.place(f.Centre), s.width-8, y.place(f.Centre), 1, "")
		s.curves(f, x, y)
	}
	keys := funnelKeys(f)
	for _, u := range s.units(f, x, y) {
		m, _ := markOf(u.Verdict)
		keys = append(keys, key{mark: m, words: fit(u.Label, s.width/2) + ": " + per100(u.Value)})
	}
	rows := keyRows(keys, opt.width())
	s.legend(rows, bottom+foot+keyRow/2)
	s.height = bottom + foot + keyRow*float64(len(rows)) // is known only now
	_, err := w.Write(s.end())
	return err
}

// funnelRange gives the largest unit drawn, 0 for none, and the rates that the axis must hold. As in
// Control, units that can't be judged count only where there are no others. The curves leave all bounds on
// the left; the axis holds them from the lower quarter of the units on.
func funnelRange(f stat.FunnelPlot) (largest int, values []float64) {
	var judged, few []stat.FunnelPoint
	for _, u := range f.Units {
		largest = max(largest, u.N)
		switch u.Verdict {
		case stat.NoChances:
		case stat.NotJudged:
			few = append(few, u)
		default:
			judged = append(judged, u)
		}
	}
	if len(judged) == 0 {
		judged = few
	}
	var sizes []int
	for _, u := range judged {
		values = append(values, u.Value)
		sizes = append(sizes, u.N)
	}
	if slices.Sort(sizes); len(sizes) > 0 {
		_, outer := stat.FunnelCurve(f.Centre, sizes[len(sizes)/4])
		values = append(values, outer.Low, outer.High)
	}
	return largest, values
}

// curves draws the limits from one chance to the right edge, each as far as it lies on the axis.
func (s *sheet) curves(f stat.FunnelPlot, x, y scale) {
	var paths [4]strings.Builder
	verbs := [4]string{"M", "M", "M", "M"}
	last := 0
	const steps = 80
	for i := 1; i <= steps; i++ {
		// Closer together on the left, where the curves bend.
		part := float64(i) / steps
		n := max(1, int(x.to*part*part))
		if n == last {
			continue
		}
		last = n
		inner, outer := stat.FunnelCurve(f.Centre, n)
		for j, v := range []float64{outer.Low, inner.Low, inner.High, outer.High} {
			if v < y.from || v > y.to {
				verbs[j] = "M"
				continue
			}
			fmt.Fprintf(&paths[j], "%s%s %s", verbs[j], num(x.place(float64(n))), num(y.place(v)))
			verbs[j] = "L"
		}
	}
	for j, dash := range []string{outerDash, innerDash, innerDash, outerDash} {
		s.path(paths[j].String(), 1.2, dash)
	}
}

// markOf is the shape of a verdict; ok is false where there is nothing to draw.
func markOf(v stat.Verdict) (m mark, ok bool) {
	switch v {
	case stat.Above:
		return up, true
	case stat.Below:
		return down, true
	case stat.EdgeAbove:
		return openUp, true
	case stat.EdgeBelow:
		return openDown, true
	case stat.Inside:
		return dot, true
	case stat.NotJudged:
		return ring, true
	}
	return 0, false
}

// units draws the units, each with its name: first of those outside. Where there is no room beside a point, a line leads to
// its name further off. It gives back those for whose names there was no room at all.
func (s *sheet) units(f stat.FunnelPlot, x, y scale) (unnamed []stat.FunnelPoint) {
	var taken []box
	for _, u := range f.Units {
		if m, ok := markOf(u.Verdict); ok {
			px, py := x.place(float64(u.N)), y.place(u.Value)
			s.mark(m, px, py, fmt.Sprintf("%s: %s (%d of %d), %s", u.Label, per100(u.Value), u.Events, u.N, u.Verdict))
			taken = append(taken, box{px - 5, py - 5, px + 5, py + 5})
		}
	}
	plot := box{x.at + 2, y.at + y.size, s.width, y.at - 2}
	for _, outside := range []bool{true, false} {
		for _, u := range f.Units {
			if _, ok := markOf(u.Verdict); !ok || outside != (u.Verdict == stat.Above || u.Verdict == stat.Below) {
				continue
			}
			if !s.nameUnit(fit(u.Label, 120), x.place(float64(u.N)), y.place(u.Value), plot, &taken) {
				unnamed = append(unnamed, u)
			}
		}
	}
	return unnamed
}

// nameUnit writes a name near a point and reports whether there was room for it.
func (s *sheet) nameUnit(name string, px, py float64, plot box, taken *[]box) bool {
	wide := textWidth(name)
	at := func(left, base float64) box { return box{left, base - 10, left + wide, base + 3} }
	free := func(b box) bool {
		return b.x1 >= plot.x1 && b.x2 <= plot.x2 && b.y1 >= plot.y1-10 && b.y2 <= plot.y2 && !slices.ContainsFunc(*taken, b.meets)
	}
	for _, b := range []box{at(px+9, py+4), at(px-9-wide, py+4), at(px-wide/2, py-10), at(px-wide/2, py+18)} {
		if free(b) {
			*taken = append(*taken, b)
			s.over(b.x1, b.y1+10, left, name)
			return true
		}
	}
	for far := 24.0; far <= 120; far += 12 {
		for _, to := range [][2]float64{{-1, -1}, {1, -1}, {-1, 1}, {1, 1}, {0, -1}, {0, 1}, {-1, 0}, {1, 0}} {
			cx, cy := px+to[0]*far, py+to[1]*far
			b := at(cx-wide/2, cy+4)
			switch to[0] {
			case -1:
				b = at(cx-wide, cy+4)
			case 1:
				b = at(cx, cy+4)
			}
			if !free(b) {
				continue
			}
			*taken = append(*taken, b)
			s.line(px, py, min(max(px, b.x1), b.x2), min(max(py, b.y1+2), b.y2-1), 0.7, "")
			s.over(b.x1, b.y1+10, left, name)
			return true
		}
	}
	return false
}

// A box is a part of the sheet that is in use.
type box struct{ x1, y1, x2, y2 float64 }

func (b box) meets(o box) bool { return b.x1 < o.x2 && o.x1 < b.x2 && b.y1 < o.y2 && o.y1 < b.y2 }

// funnelKeys are the legend's entries for what the plot shows.
func funnelKeys(f stat.FunnelPlot) []key {
	seen := make(map[stat.Verdict]bool)
	for _, u := range f.Units {
		seen[u.Verdict] = true
	}
	var keys []key
	for _, e := range []struct {
		verdict stat.Verdict
		words   string
	}{
		{stat.Inside, "inside"}, {stat.Above, "above 99.8 %"}, {stat.Below, "below 99.8 %"},
		{stat.EdgeAbove, "between, above"}, {stat.EdgeBelow, "between, below"}, {stat.NotJudged, fewWords},
	} {
		if m, _ := markOf(e.verdict); seen[e.verdict] {
			keys = append(keys, key{mark: m, words: e.words})
		}
	}
	if len(keys) > 0 {
		keys = append(keys, key{line: true, width: 1, words: "all units " + per100(f.Centre)},
			key{line: true, width: 1.2, dash: innerDash, words: "95 %"}, key{line: true, width: 1.2, dash: outerDash, words: "99.8 %"})
	}
	return keys
}
