package draw

import (
	"fmt"
	"io"
	"strings"

	"example.com/stance/lint/audit/stat"
)

// Control draws a chart over time: each point with its limits as steps around it, the centre line, and
// what signals as diamonds with their labels.
func Control(w io.Writer, c stat.Chart, opt Options) error {
	const top, plot, foot, margin = 24.0, 190.0, 34.0, 38.0
	keys := controlKeys(c)
	rows := keyRows(keys, opt.width())
	s := newSheet(opt, top+plot+foot+keyRow*float64(len(rows)))
	bottom := top + plot

	y := shares(bottom, -plot, controlValues(c)...)
	left0, right0 := margin, s.width-8
	slot := (right0 - left0) / float64(max(1, len(c.Points)))
	x := func(i int) float64 { return left0 + slot*(float64(i)+0.5) }

	s.text(0, 11, left, opt.Unit)
	for _, v := range y.ticks(4) {
		s.line(left0-4, y.place(v), left0, y.place(v), 1, "")
		s.text(left0-7, y.place(v)+4, right, tick(v))
	}
	s.line(left0, top, left0, bottom, 1, "")
	s.line(left0, bottom, right0, bottom, 1, "")
	s.band(c, y, left0, slot)
	if len(c.Points) > 0 {
		s.line(left0, y.place(c.Centre), right0, y.place(c.Centre), 1, "")
	}
	s.course(c, x, y)
	s.labelsAlong(c, x, bottom)
	for i, p := range c.Points {
		if p.State == stat.Empty {
			continue
		}
		words := fmt.Sprintf("%s: %s (%d of %d)", p.Label, per100(p.Value), p.Events, p.N)
		switch {
		case len(p.Signals) > 0:
			s.mark(diamond, x(i), y.place(p.Value), words+". "+p.Said())
		case p.State == stat.TooFew:
			s.mark(ring, x(i), y.place(p.Value), words+", "+string(p.State))
		default:
			s.mark(dot, x(i), y.place(p.Value), words)
		}
	}
	s.legend(rows, bottom+foot+keyRow/2)
	_, err := w.Write(s.end())
	return err
}

// controlValues are the values that the axis must hold. One finding of two opportunities would flatten
// all other points, so those that can't be judged count only where there are no others.
func controlValues(c stat.Chart) []float64 {
	var judged, few []float64
	for _, p := range c.Points {
		switch p.State {
		case stat.Judged:
			judged = append(judged, p.Value, p.Low, p.High, c.Centre)
		case stat.TooFew:
			few = append(few, p.Value, c.Centre)
		}
	}
	if len(judged) > 0 {
		return judged
	}
	return few
}

// controlKeys are the legend's entries for what the chart shows.
func controlKeys(c stat.Chart) []key {
	var judged, signals, few bool
	for _, p := range c.Points {
		few = few || p.State == stat.TooFew
		signals = signals || len(p.Signals) > 0
		judged = judged || p.State == stat.Judged && len(p.Signals) == 0
	}
	var keys []key
	if judged {
		keys = append(keys, key{mark: dot, words: "no signal"})
	}
	if signals {
		keys = append(keys, key{mark: diamond, words: "signal"})
	}
	if few {
		keys = append(keys, key{mark: ring, words: fewWords})
	}
	if len(c.Points) > 0 {
		keys = append(keys, key{line: true, width: 1, words: "centre " + per100(c.Centre)})
	}
	if judged || signals {
		keys = append(keys, key{line: true, width: 1.2, dash: limitDash, words: "limits"})
	}
	return keys
}

const (
	limitDash = "5 3"
	fewWords  = string(stat.TooFew) + " (at edge: beyond)"
)

// band draws the limits of judged points as steps, and a light ground between them.
func (s *sheet) band(c stat.Chart, y scale, left0, slot float64) {
	for i := 0; i < len(c.Points); {
		if c.Points[i].State != stat.Judged {
			i++
			continue
		}
		var high, low, back strings.Builder
		from := i
		for ; i < len(c.Points) && c.Points[i].State == stat.Judged; i++ {
			p := c.Points[i]
			x1, x2 := num(left0+slot*float64(i)), num(left0+slot*float64(i+1))
			verb := "L"
			if i == from {
				verb = "M"
			}
			fmt.Fprintf(&high, "%s%s %sH%s", verb, x1, num(y.place(p.High)), x2)
			fmt.Fprintf(&low, "%s%s %sH%s", verb, x1, num(y.place(p.Low)), x2)
		}
		for j := i - 1; j >= from; j-- {
			fmt.Fprintf(&back, "L%s %sH%s", num(left0+slot*float64(j+1)), num(y.place(c.Points[j].Low)), num(left0+slot*float64(j)))
		}
		fmt.Fprintf(s, `<path d="%s%sZ" fill-opacity="0.07"/>`+"\n", high.String(), back.String())
		s.path(high.String(), 1.2, limitDash)
		s.path(low.String(), 1.2, limitDash)
	}
}

// course joins the points that follow one another; where there is no rate it breaks off.
func (s *sheet) course(c stat.Chart, x func(int) float64, y scale) {
	var d strings.Builder
	verb := "M"
	for i, p := range c.Points {
		if p.State == stat.Empty {
			verb = "M"
			continue
		}
		fmt.Fprintf(&d, "%s%s %s", verb, num(x(i)), num(y.place(p.Value)))
		verb = "L"
	}
	if d.Len() > 0 {
		s.path(d.String(), 1.2, "")
	}
}

// labelsAlong writes as many labels below the axis as have room, those of signals first, then evenly
// from the first point on.
func (s *sheet) labelsAlong(c stat.Chart, x func(int) float64, bottom float64) {
	var taken spans
	write := func(i int) {
		label := strings.TrimPrefix(c.Points[i].Label, "week of ") // the axis is of weeks
		half := textWidth(label) / 2
		at := min(max(x(i), half), s.width-half-2)
		if !taken.take(at-half-5, at+half+5) {
			return
		}
		s.line(x(i), bottom, x(i), bottom+4, 1, "")
		s.text(at, bottom+17, middle, label)
	}
	for i, p := range c.Points {
		if len(p.Signals) > 0 {
			write(i)
		}
	}
	for i := range c.Points {
		write(i)
	}
}

// spans are stretches of a line that are in use.
type spans [][2]float64

// take marks a stretch as in use and reports whether it was free.
func (s *spans) take(from, to float64) bool {
	for _, o := range *s {
		if from < o[1] && o[0] < to {
			return false
		}
	}
	*s = append(*s, [2]float64{from, to})
	return true
}
