package course

import (
	"bytes"
	"cmp"
	"fmt"
	"io"
)

// The widths of the forms of a figure. The style sheet shows the one for which there is room; none is made smaller than
// it was drawn, so that its letters are of twelve pixels at least.
const (
	wideForm   = 1100
	mediumForm = 680
	narrowName = 96  // of the names, which stay where they are
	narrowKey  = 300 // of the legend below
	dayWidth   = 34  // of a day in what scrolls: three notes side by side
	widestPlot = 6000
)

// Figure writes the drawing of a course for a page that is read on any screen, with [Style] in it: in a form for a desk,
// one for a tablet or paper, and one for a phone, of which the style sheet shows one. On a phone the days scroll, from
// the newest backwards, beside the names of their rows.
func Figure(w io.Writer, c *Course, opt DrawOptions) error {
	id := cmp.Or(opt.ID, "course")
	var out bytes.Buffer
	form := func(class string, width int, titles bool) {
		opt.ID = id + "-" + class
		d := newDrawing(c, opt)
		d.titles = titles
		d.whole(float64(width))
		fmt.Fprintf(&out, "<div class=\"course-%s\">\n%s</div>\n", class, d.out.String())
	}
	out.WriteString("<div class=\"course-figure\">\n")
	form("wide", wideForm, true)
	form("medium", mediumForm, false)
	opt.ID = id + "-narrow"
	scrolling(&out, c, opt)
	out.WriteString("</div>\n")
	_, err := w.Write(out.Bytes())
	return err
}

// scrolling writes the form of which the days scroll.
func scrolling(out *bytes.Buffer, c *Course, opt DrawOptions) {
	plot := newDrawing(c, opt)
	days := int(plot.until.Sub(plot.from).Hours()/24 + 0.5)
	plot.left = eventWidth / 2 // a mark of the first minute is whole
	plot.right = plot.left + float64(min(widestPlot, max(5, days)*dayWidth))
	plot.width, plot.again = plot.right+rightEdge, 7*dayWidth
	plot.plot()
	_, _, bottom := plot.heights()
	names := *plot // whose rows are as high
	names.out = bytes.Buffer{}
	names.room = narrowName
	for _, y := range names.tops() {
		names.rule(y)
	}
	names.names()
	names.width = narrowName
	names.close(float64(bottom)+1, "names")
	plot.close(float64(bottom)+1, "plot")

	key := newDrawing(c, opt)
	key.width = narrowKey
	key.close(key.legend(12)+8, "legend")

	// From right to left, so that the newest day is in view at first; what is in it runs as ever.
	fmt.Fprintf(out, "<div class=\"course-narrow\"><div class=\"course-scroll\" dir=\"rtl\" tabindex=\"0\" role=\"group\" aria-label=\"%s\"><div class=\"course-sheet\" dir=\"ltr\">\n%s%s</div></div>\n%s</div>\n",
		"The course; the days before are on the left", names.out.String(), plot.out.String(), key.out.String())
}

// tops are where the rows begin.
func (d *drawing) tops() []int {
	_, events, bottom := d.heights()
	var all []int
	y := axisHeight
	for _, h := range events {
		all = append(all, y)
		y += h
	}
	for ; y < bottom; y += laneHeight {
		all = append(all, y)
	}
	return append(all, bottom)
}
