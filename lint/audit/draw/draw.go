// Package draw draws the figures of an audit as SVG: a control chart ([Control]), a funnel plot
// ([Funnel]) and rates with their intervals ([Rates]). It works nothing out; package stat did.
//
// The drawings are made to be put into an HTML page as they are. They say everything by shape and by
// words as well as by colour, so that they can be read in black and white; lines and letters take the
// colour of the text around them, and what signals takes the CSS variable --signal where the page
// sets it. Letters are real text of twelve pixels: a drawing isn't to be shrunk, but drawn at the
// [Options.Width] that there is room for. A drawing has a title and a description for those who don't
// see it; the page gives the figures in a table as well.
package draw

import (
	"bytes"
	"cmp"
	"fmt"
	"html"
	"math"
	"slices"
	"strconv"
	"strings"
	"unicode/utf8"
)

// Options are what a drawing is about and how large it is.
type Options struct {
	ID    string // unique in the page; the drawing's own ids begin with it
	Title string // a line, for those who don't see the drawing
	Words string // what there is to see, in sentences
	Unit  string // of the rates, such as "findings per 100 opportunities"
	Width int    // in pixels; 0 for 720, and never less than 280
}

func (o Options) width() float64 { return float64(max(280, cmp.Or(o.Width, 720))) }

// Letters are twelve pixels high; the mean width of a letter is that of digits in wide sans-serif
// fonts, so that words kept apart by it stay apart.
const (
	fontSize    = 12
	letterWidth = 7.6
)

// signal is the colour of what calls for a look; without the page's variable it is that of the text.
const signal = "var(--signal, currentColor)"

// ground is the colour behind the drawing, with which open shapes and the rims of words cover lines;
// without the page's variable they don't.
const ground = "var(--card, none)"

// A sheet is a drawing in the making.
type sheet struct {
	bytes.Buffer
	opt           Options
	width, height float64
}

// newSheet begins a drawing. Its height may be set until it ends.
func newSheet(opt Options, height float64) *sheet {
	return &sheet{opt: opt, width: opt.width(), height: height}
}

// end puts the head before what has been drawn, and closes the drawing.
func (s *sheet) end() []byte {
	var out bytes.Buffer
	id := html.EscapeString(s.opt.ID)
	fmt.Fprintf(&out, `<svg xmlns="http://www.w3.org/2000/svg" role="img" aria-labelledby="%s-title %s-words" viewBox="0 0 %s %s" width="%[3]s" height="%[4]s" `+
		`font-family="system-ui, sans-serif" font-size="%d" fill="currentColor" stroke="none">`+"\n", id, id, num(s.width), num(s.height), fontSize)
	fmt.Fprintf(&out, `<title id="%s-title">%s</title><desc id="%s-words">%s</desc>`+"\n", id, html.EscapeString(s.opt.Title), id, html.EscapeString(s.opt.Words))
	s.WriteTo(&out) // a bytes.Buffer takes all
	out.WriteString("</svg>\n")
	return out.Bytes()
}

// num writes a coordinate to a tenth of a pixel.
func num(x float64) string {
	return strconv.FormatFloat(math.Round(10*x)/10, 'f', -1, 64)
}

// per100 writes a share per 100 with one decimal.
func per100(share float64) string { return strconv.FormatFloat(100*share, 'f', 1, 64) }

// Anchors of text.
const (
	left   = "start"
	middle = "middle"
	right  = "end"
)

func (s *sheet) text(x, y float64, anchor, words string) {
	fmt.Fprintf(s, `<text x="%s" y="%s" text-anchor="%s">%s</text>`+"\n", num(x), num(y), anchor, html.EscapeString(words))
}

// over writes text that may lie on lines: a rim in the colour of the ground, where the page names it,
// keeps it apart from them.
func (s *sheet) over(x, y float64, anchor, words string) {
	fmt.Fprintf(s, `<text x="%s" y="%s" text-anchor="%s" paint-order="stroke" stroke="%s" stroke-width="4" stroke-linejoin="round">%s</text>`+"\n",
		num(x), num(y), anchor, ground, html.EscapeString(words))
}

// line draws a straight line; dash is an SVG dash pattern, "" for a solid one.
func (s *sheet) line(x1, y1, x2, y2, width float64, dash string) {
	s.path(fmt.Sprintf("M%s %sL%s %s", num(x1), num(y1), num(x2), num(y2)), width, dash)
}

func (s *sheet) path(d string, width float64, dash string) {
	fmt.Fprintf(s, `<path d="%s" fill="none" stroke="currentColor" stroke-width="%s"%s/>`+"\n", d, num(width), dashed(dash))
}

func dashed(dash string) string {
	if dash == "" {
		return ""
	}
	return ` stroke-dasharray="` + dash + `"`
}

// A mark is the shape of a point.
type mark int

const (
	dot     mark = iota // filled circle
	ring                // small open circle
	diamond             // filled, larger
	up                  // filled triangle, point up
	down                // filled triangle, point down
	openUp              // open triangle, point up
	openDown
)

// mark draws a point with words that show when it is pointed at.
func (s *sheet) mark(m mark, x, y float64, words string) {
	var shape string
	poly := func(points ...float64) string {
		var out []string
		for i := 0; i < len(points); i += 2 {
			out = append(out, num(x+points[i])+","+num(y+points[i+1]))
		}
		return strings.Join(out, " ")
	}
	switch m {
	case dot:
		shape = fmt.Sprintf(`<circle cx="%s" cy="%s" r="3.2"`, num(x), num(y))
	case ring:
		shape = fmt.Sprintf(`<circle cx="%s" cy="%s" r="2.6" fill="%s" stroke="currentColor"`, num(x), num(y), ground)
	case diamond:
		shape = fmt.Sprintf(`<polygon points="%s" fill="%s"`, poly(0, -6.5, 6.5, 0, 0, 6.5, -6.5, 0), signal)
	case up:
		shape = fmt.Sprintf(`<polygon points="%s" fill="%s"`, poly(0, -6.5, 6, 4.5, -6, 4.5), signal)
	case down:
		shape = fmt.Sprintf(`<polygon points="%s" fill="%s"`, poly(0, 6.5, 6, -4.5, -6, -4.5), signal)
	case openUp:
		shape = fmt.Sprintf(`<polygon points="%s" fill="%s" stroke="currentColor" stroke-width="1.4"`, poly(0, -5.5, 5, 3.8, -5, 3.8), ground)
	case openDown:
		shape = fmt.Sprintf(`<polygon points="%s" fill="%s" stroke="currentColor" stroke-width="1.4"`, poly(0, 5.5, 5, -3.8, -5, -3.8), ground)
	}
	if words == "" {
		s.WriteString(shape + "/>\n")
		return
	}
	element := shape[1:strings.IndexByte(shape, ' ')]
	s.WriteString(shape + "><title>" + html.EscapeString(words) + "</title></" + element + ">\n")
}

// A key is an entry of the legend: a mark or a line, and what it means.
type key struct {
	mark  mark
	line  bool // a line of the given width and dash rather than a mark
	width float64
	dash  string
	words string
}

const (
	keyRow    = 19 // height of a row of the legend
	keyIndent = 26 // from the left of an entry to its words
)

// keyRows sets the entries into rows that fit the width.
func keyRows(keys []key, width float64) [][]key {
	var rows [][]key
	room := 0.0
	for _, k := range keys {
		need := keyIndent + textWidth(k.words) + 14
		if len(rows) == 0 || room < need {
			rows = append(rows, nil)
			room = width
		}
		rows[len(rows)-1] = append(rows[len(rows)-1], k)
		room -= need
	}
	return rows
}

// legend draws the rows with the middle of the first at y.
func (s *sheet) legend(rows [][]key, y float64) {
	for _, row := range rows {
		x := 2.0
		for _, k := range row {
			if k.line {
				s.line(x, y, x+20, y, k.width, k.dash)
			} else {
				s.mark(k.mark, x+10, y, "")
			}
			s.text(x+keyIndent, y+4, left, k.words)
			x += keyIndent + textWidth(k.words) + 14
		}
		y += keyRow
	}
}

// textWidth is about how wide words are.
func textWidth(words string) float64 { return letterWidth * float64(utf8.RuneCountInString(words)) }

// fit shortens words to a width.
func fit(words string, width float64) string {
	if textWidth(words) <= width {
		return words
	}
	keep := max(1, int(width/letterWidth)-1)
	return string([]rune(words)[:min(keep, utf8.RuneCountInString(words))]) + "…"
}

// A scale turns values into places along an axis.
type scale struct {
	from, to float64 // values
	at, size float64 // place of from, and length to the place of to, which may be negative
}

// place is where v lies, at the nearer end where it is out of range.
func (c scale) place(v float64) float64 {
	v = min(max(v, c.from), c.to)
	return c.at + c.size*(v-c.from)/(c.to-c.from)
}

// ticks are round values from … to, about n of them.
func (c scale) ticks(n int) []float64 {
	step := roundStep((c.to - c.from) / float64(n))
	var out []float64
	for i := math.Ceil(c.from/step - 1e-9); i*step <= c.to*(1+1e-9); i++ {
		out = append(out, i*step+0) // + 0 turns minus nought, which Ceil makes, into nought
	}
	return out
}

// roundStep is the least of 1, 2 and 5 times a power of ten that is at least x.
func roundStep(x float64) float64 {
	power := math.Pow(10, math.Floor(math.Log10(x)))
	for _, f := range []float64{1, 2, 5} {
		if f*power >= x*(1-1e-9) {
			return f * power
		}
	}
	return 10 * power
}

// shares is the scale for rates up to the largest of values. It begins at 0, so that small differences
// look small, unless all values lie in the upper part.
func shares(at, size float64, values ...float64) scale {
	low, high := 0.0, 0.01
	if len(values) > 0 {
		low, high = slices.Min(values), max(high, slices.Max(values))
	}
	step := roundStep((high - low) / 4)
	if low < 0.7*high || step == 0 {
		low = 0
		step = roundStep(high / 4)
	}
	return scale{from: step * math.Floor(low/step+1e-9), to: step * math.Ceil(high/step-1e-9), at: at, size: size}
}

// tick writes a share of an axis per 100, with no more decimals than it needs.
func tick(share float64) string {
	return strconv.FormatFloat(math.Round(1e6*share)/1e4, 'f', -1, 64)
}
