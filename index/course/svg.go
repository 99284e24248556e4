package course

import (
	"bytes"
	"cmp"
	_ "embed"
	"fmt"
	"html"
	"math"
	"slices"
	"strconv"
	"strings"
	"time"
	"unicode/utf8"

	"example.com/stance/lint/report"
	"example.com/stance/lint/shift"
)

//go:embed drawing.css
var style string

// Style is the style sheet of the drawing, for a page that holds one. Every rule in it is bound to
// the class "course-drawing".
func Style() string { return style }

// DrawOptions say how a course is drawn.
type DrawOptions struct {
	Zone     *time.Location  // of the time axis; nil for that of the first note or chart row
	Calendar *shift.Calendar // whose last shift of the day is shaded, as the night; nil for no shading
	ID       string          // starts the ids in the drawing; "" for "course". One page may hold several

	// Link is where the mark of a note leads, or empty for nowhere; nil makes no links.
	Link func(Mark) string
}

// The drawing's measures, in pixels.
const (
	axisHeight = 34
	laneHeight = 46
	eventLane  = 30 // of one row of marks
	eventStep  = 24 // and of each row that is stacked under it
	eventWidth = 24 // of a mark with its room, which is what a finger needs (WCAG 2.2, 2.5.8)
	bandTop    = 4
	bandHeight = 18
	pointLine  = 34  // from the top of a lane
	character  = 6.9 // mean width of one in a wide font, at twelve pixels
	rightEdge  = 22  // for the number beside the last mark
)

// A drawing shows the time from left to right, a lane for each aspect with the charted band above and what the notes say
// under it, and lanes for falls, signs, orders and reviews. What differs from the chart has another shape, not only another
// colour, and the number of its note among [Course.Marks]. A reader who cannot see it finds all of it in [HTML]'s lists or
// in [Text].
type drawing struct {
	out     bytes.Buffer
	c       *Course
	opt     DrawOptions
	zone    *time.Location
	from    time.Time // at the left edge: the start of a day
	until   time.Time // at the right edge
	numbers map[NoteRef]int
	dates   dates

	width       float64
	left, right float64 // of the plot
	room        float64 // for the name of a row
	again       float64 // words of bands and months are repeated so far apart, for what scrolls; 0 for once
	titles      bool    // every point says its note when it is pointed at, not only those to look at
}

func newDrawing(c *Course, opt DrawOptions) *drawing {
	d := &drawing{c: c, opt: opt, zone: opt.Zone, numbers: map[NoteRef]int{}}
	if d.zone == nil {
		d.zone = c.From.Location()
	}
	d.dates = c.dates(d.zone)
	y, m, day := c.From.In(d.zone).Date()
	d.from = time.Date(y, m, day, 0, 0, 0, 0, d.zone)
	y, m, day = c.last().In(d.zone).Date()
	d.until = time.Date(y, m, day+1, 0, 0, 0, 0, d.zone)
	for _, m := range c.Marks {
		d.numbers[m.Note] = m.Number
	}
	return d
}

// eventRows are the lanes of events: those that have one.
func (d *drawing) eventRows() []eventRow {
	var rows []eventRow
	for _, r := range []eventRow{
		{"Falls", []Kind{Fall, NearFall, AfterFall}}, {"Hazards", []Kind{Hazard}}, {"Signs", []Kind{Sign}}, {"Orders, reviews", []Kind{Order, Review}},
	} {
		for _, k := range r.kinds {
			if d.c.has(k) {
				rows = append(rows, r)
				break
			}
		}
	}
	return rows
}

type eventRow struct {
	name  string
	kinds []Kind
}

// A placed is one event of a row and the level, from the top, on which it stands clear of the others.
type placed struct {
	mark  *Mark
	event *Event
	x     float64
	level int
}

// place sets the events of a row so that none hides another: a mark that would lie on one before it goes a level
// lower. It also says how many levels there are.
func (d *drawing) place(r eventRow) ([]placed, int) {
	var all []placed
	var ends []float64 // of each level, how far to the right it is taken
	for i := range d.c.Marks {
		m := &d.c.Marks[i]
		for _, k := range r.kinds {
			for j := range m.Events {
				if m.Events[j].Kind != k {
					continue
				}
				x := d.x(m.Note.Time)
				level := slices.IndexFunc(ends, func(end float64) bool { return x-eventWidth/2 >= end })
				if level < 0 {
					level = len(ends)
					ends = append(ends, 0)
				}
				ends[level] = x + eventWidth/2 + 7*float64(len(strconv.Itoa(m.Number)))
				all = append(all, placed{m, &m.Events[j], x, level})
			}
		}
	}
	return all, len(ends)
}

func (c *Course) has(k Kind) bool {
	for _, m := range c.Marks {
		for _, e := range m.Events {
			if e.Kind == k {
				return true
			}
		}
	}
	return false
}

// heights are those of the rows of events, and of all rows with the axis together.
func (d *drawing) heights() (rows []eventRow, each []int, bottom int) {
	rows = d.eventRows()
	bottom = axisHeight + len(d.c.Lanes)*laneHeight
	for _, r := range rows {
		_, levels := d.place(r)
		each = append(each, eventLane+(levels-1)*eventStep)
		bottom += each[len(each)-1]
	}
	return rows, each, bottom
}

// sides is what "charted" and "written" take on the left of a plot.
const sides = 56

// whole draws all in one: names, plot and legend.
func (d *drawing) whole(width float64) {
	d.width = width
	d.left, d.right = width/8+sides, width-rightEdge
	d.room = d.left - sides
	_, _, bottom := d.heights()
	d.plot()
	d.names()
	d.tag(`<line class="edge" x1="0" y1="%d" x2="%.0f" y2="%d"/>`, bottom, d.right, bottom)
	d.close(d.legend(float64(bottom)+22), "")
}

// plot draws the days, the marks and the lanes, without their names.
func (d *drawing) plot() {
	rows, heights, bottom := d.heights()
	d.axis(bottom)
	y := axisHeight
	for i, r := range rows {
		d.eventLane(r, y)
		y += heights[i]
	}
	for i := range d.c.Lanes {
		d.lane(&d.c.Lanes[i], y)
		y += laneHeight
	}
}

// names writes the name of each row on its left.
func (d *drawing) names() {
	rows, heights, _ := d.heights()
	y := axisHeight
	for i, r := range rows {
		d.name(r.name, y+heights[i]/2)
		y += heights[i]
	}
	for _, l := range d.c.Lanes {
		d.name(l.Name, y+laneHeight/2)
		if d.room+sides <= d.left { // else the page says which is which
			if len(l.Bands) > 0 {
				d.tag(`<text class="side" x="%.1f" y="%d">charted</text>`, d.left-6, y+bandTop+13)
			}
			if len(l.Points) > 0 {
				d.tag(`<text class="side" x="%.1f" y="%d">written</text>`, d.left-6, y+pointLine+4)
			}
		}
		y += laneHeight
	}
}

// close puts the head before what has been drawn, because only now is the height known, and ends the drawing. A part of
// the figure has a class of its own, and only the plot is named.
func (d *drawing) close(height float64, part string) {
	body := d.out
	d.out = bytes.Buffer{}
	id := escape(cmp.Or(d.opt.ID, "course"))
	size := ""
	if part != "" {
		size = fmt.Sprintf(` width="%.0f" height="%.0f"`, d.width, height)
		part = " course-" + part
	}
	role := "img"
	if d.opt.Link != nil {
		role = "group" // what is in an image cannot be followed
	}
	if part == " course-names" || part == " course-legend" {
		d.tag(`<svg xmlns="http://www.w3.org/2000/svg" class="course-drawing%s" viewBox="0 0 %.0f %.0f"%s aria-hidden="true">`, part, d.width, height, size)
	} else {
		d.tag(`<svg xmlns="http://www.w3.org/2000/svg" class="course-drawing%s" viewBox="0 0 %.0f %.0f"%s role="%s" aria-labelledby="%s-title" aria-describedby="%s-desc">`,
			part, d.width, height, size, role, id, id)
		d.tag(`<title id="%s-title">%s</title>`, id, escape("The course of resident "+d.c.Resident+", "+d.dates.span(d.c.From, d.c.last())))
		d.tag(`<desc id="%s-desc">%s</desc>`, id, escape(d.description()))
	}
	body.WriteTo(&d.out) // a bytes.Buffer takes all
	d.tag(`</svg>`)
}

// link opens a link of the mark of a note, where there is one, with the room that a finger needs. What closes it is
// given back.
func (d *drawing) link(m *Mark, words string, x, y float64) (end string) {
	to := ""
	if d.opt.Link != nil && m != nil {
		to = d.opt.Link(*m)
	}
	if to == "" {
		d.tag(`<g><title>%s</title>`, escape(words))
		return "</g>"
	}
	d.tag(`<a href="%s"><title>%s</title><rect class="hit" x="%.1f" y="%.1f" width="24" height="24"/>`, escape(to), escape("Note "+words), x-12, y-12)
	return "</a>"
}

func (d *drawing) tag(format string, args ...any) { fmt.Fprintf(&d.out, format+"\n", args...) }

// escape makes a text fit for the drawing: a control character has no place in XML.
func escape(s string) string { return html.EscapeString(report.Printable(s)) }

// description is what the drawing shows, for those who cannot see it.
func (d *drawing) description() string {
	var lanes []string
	for _, l := range d.c.Lanes {
		lanes = append(lanes, strings.ToLower(l.Name[:1])+l.Name[1:])
	}
	s := "Charted bands and written points over time"
	if len(lanes) > 0 {
		s += " for " + strings.Join(lanes, ", ")
	}
	return s + ". " + strings.Join(d.c.tally(d.dates), " ")
}

// x is where a moment lies, kept inside the plot.
func (d *drawing) x(t time.Time) float64 {
	share := float64(t.Sub(d.from)) / float64(d.until.Sub(d.from))
	return d.left + (d.right-d.left)*min(max(share, 0), 1)
}

// axis draws the days and the nights between them.
func (d *drawing) axis(bottom int) {
	days := int(math.Round(d.until.Sub(d.from).Hours() / 24))
	const mostNights = 45
	day := (d.right - d.left) / float64(days)
	step := max(1, int(math.Ceil(24/day)))
	if d.opt.Calendar != nil && (days <= mostNights || day >= 20) {
		d.nights(bottom)
	}
	month, said, end := "", math.Inf(-1), d.right
	if d.again > 0 {
		d.tag(`<text class="side" x="%.1f" y="11">%s</text>`, d.right, d.until.AddDate(0, 0, -1).Format("Jan 2006"))
		end -= 18 * character
	}
	for i := 0; i <= days; i += step {
		t := time.Date(d.from.Year(), d.from.Month(), d.from.Day()+i, 0, 0, 0, 0, d.zone)
		x := d.x(t)
		d.tag(`<line class="day" x1="%.1f" y1="%d" x2="%.1f" y2="%d"/>`, x, axisHeight-8, x, bottom)
		if i == days {
			break
		}
		if m := t.Format("Jan 2006"); x <= end && (m != month && x-said >= 9*character || d.again > 0 && x-said >= d.again) {
			d.tag(`<text class="axis" x="%.1f" y="11">%s</text>`, x+3, m)
			month, said = m, x
		}
		d.tag(`<text class="axis" x="%.1f" y="%d">%s</text>`, x+3, axisHeight-8, t.Format("2"))
	}
}

// nights shades the last shift of each day. The calendar's hours are those on the wall clock, which
// is that of the axis.
func (d *drawing) nights(bottom int) {
	cal := d.opt.Calendar
	names := cal.Names()
	last := names[len(names)-1]
	wall := func(k shift.Key) time.Time {
		t := cal.Start(k)
		return time.Date(t.Year(), t.Month(), t.Day(), t.Hour(), t.Minute(), 0, 0, d.zone)
	}
	k := cal.Prev(cal.Key(d.from, ""))
	for ; wall(k).Before(d.until); k = cal.Next(k) {
		if len(names) == 1 || k.Name != last {
			continue
		}
		a, b := d.x(wall(k)), d.x(wall(cal.Next(k)))
		if b > a {
			d.tag(`<rect class="night" x="%.1f" y="%d" width="%.1f" height="%d"/>`, a, axisHeight, b-a, bottom-axisHeight)
		}
	}
}

// name writes the name of a lane beside it, about a height: on two lines where it is long, and cut
// where it is longer still. The whole stands in its title.
func (d *drawing) name(s string, y int) {
	const lineHeight = 15
	most := int(d.room / 8) // they are bold
	lines := []string{s}
	if utf8.RuneCountInString(s) > most {
		if at := strings.LastIndexByte(string([]rune(s)[:most]), ' '); at > 0 {
			lines = []string{s[:at], s[at+1:]}
		}
	}
	y += 4 - (len(lines)-1)*lineHeight/2
	d.tag(`<g><title>%s</title>`, escape(s))
	for i, l := range lines {
		if utf8.RuneCountInString(l) > most {
			l = string([]rune(l)[:most-1]) + "…"
		}
		d.tag(`<text class="name" x="0" y="%d">%s</text>`, y+i*lineHeight, escape(l))
	}
	d.tag(`</g>`)
}

func (d *drawing) eventLane(r eventRow, y int) {
	d.rule(y)
	events, _ := d.place(r)
	for _, p := range events {
		at := float64(y + eventLane/2 + p.level*eventStep)
		end := d.link(p.mark, fmt.Sprintf("%d: %s, %s. %s", p.mark.Number, p.event.Kind, d.dates.note(p.mark.Note), p.event.Words), p.x, at)
		d.event(p.event.Kind, p.x, at)
		d.tag(`<text class="number" x="%.1f" y="%.1f">%d</text>%s`, p.x+8, at-3, p.mark.Number, end)
	}
}

// rule parts a row from the one above.
func (d *drawing) rule(y int) {
	d.tag(`<line class="rule" x1="0" y1="%d" x2="%.0f" y2="%d"/>`, y, d.right, y)
}

// event draws the mark of a kind about a point.
func (d *drawing) event(k Kind, x, y float64) {
	switch k {
	case Fall, NearFall:
		class := "fall"
		if k == NearFall {
			class = "near"
		}
		d.tag(`<path class="%s" d="M%.1f %.1fh14l-7 12z"/>`, class, x-7, y-6)
	case AfterFall:
		d.tag(`<path class="after" d="M%.1f %.1fh12M%.1f %.1fv12"/>`, x-6, y, x, y-6)
	case Hazard:
		d.tag(`<path class="told" d="M%.1f %.1fl8 8l-8 8l-8 -8z"/><text class="letter" x="%.1f" y="%.1f">H</text>`, x, y-8, x, y+4)
	case Sign:
		d.tag(`<circle class="sign" cx="%.1f" cy="%.1f" r="7"/><text class="letter" x="%.1f" y="%.1f">!</text>`, x, y, x, y+4)
	case Order, Review:
		letter := "O"
		if k == Review {
			letter = "R"
		}
		d.tag(`<rect class="told" x="%.1f" y="%.1f" width="14" height="14"/><text class="letter" x="%.1f" y="%.1f">%s</text>`, x-7, y-7, x, y+4, letter)
	}
}

// numbering writes the numbers of the marks of one lane above them, else below. Where there is no room
// for either the number is left out; the mark's title has its note.
type numbering struct {
	d            *drawing
	above, below float64 // how far to the right numbers have been written
	last         int
}

func (n *numbering) write(number int, x, y float64) {
	if number == n.last {
		return // two marks of one note
	}
	n.last = number
	x += 8
	right := x + 7*float64(len(strconv.Itoa(number))) + 1
	switch {
	case x >= n.above:
		n.above, y = right, y-3
	case x >= n.below:
		n.below, y = right, y+11
	default:
		return
	}
	n.d.tag(`<text class="number" x="%.1f" y="%.1f">%d</text>`, x, y, number)
}

func (d *drawing) lane(l *Lane, y int) {
	d.rule(y)
	for _, b := range l.Bands {
		d.band(b, y+bandTop)
	}
	d.runLines(l, float64(y+pointLine))
	n, beside := numbering{d: d}, 0.0
	for i, p := range l.Points {
		if beside += 9; i == 0 || l.Points[i-1].Note != p.Note {
			beside = 0 // else another value of the same note, set beside the first
		}
		x := d.x(p.Note.Time) + beside
		d.point(p, x, float64(y+pointLine), &n)
	}
	d.runLabels(l, y)
}

func (d *drawing) band(b Band, y int) {
	until := b.Until
	if until.IsZero() || until.After(d.until) {
		until = d.until
	}
	a, z := d.x(b.From), d.x(until)
	if z <= a {
		return
	}
	full := b.Value.Words
	if b.From.Before(d.from) {
		full += ", since " + d.dates.day(b.From)
	}
	d.tag(`<g><title>%s</title><rect class="band" x="%.1f" y="%d" width="%.1f" height="%d"/>`,
		escape("Charted from "+d.dates.minute(b.From)+": "+b.Value.Words), a, y, z-a, bandHeight)
	short := b.Value.Key
	if _, code, ok := strings.Cut(b.Value.Words, " ("); ok { // as charts have it: "TTWB"
		short = strings.TrimSuffix(code, ")")
	}
	for _, words := range []string{full, b.Value.Words, short} {
		wide := float64(utf8.RuneCountInString(words))*character + 10
		if wide > z-a {
			continue
		}
		d.tag(`<text class="in" x="%.1f" y="%d">%s</text>`, a+5, y+13, escape(words))
		// What scrolls says it again, and at the end of all, which is what is in view first.
		wide = float64(utf8.RuneCountInString(b.Value.Words))*character + 10
		for at := z - wide; d.again > 0 && at > a+2*wide; at -= max(d.again, 2*wide) {
			d.tag(`<text class="in" x="%.1f" y="%d" aria-hidden="true">%s</text>`, at+5, y+13, escape(b.Value.Words))
		}
		break
	}
	d.tag(`</g>`)
}

// runLines join the first and the last note of each run.
func (d *drawing) runLines(l *Lane, y float64) {
	for _, r := range l.Runs {
		if a, z := d.x(r.First.Time), d.x(r.Last.Time); z > a {
			d.tag(`<line class="run" x1="%.1f" y1="%.1f" x2="%.1f" y2="%.1f"/>`, a, y, z, y)
		}
	}
}

func (d *drawing) point(p Point, x, y float64, n *numbering) {
	words := d.dates.note(p.Note) + ": " + p.Value.Words + ", " + string(p.Fit)
	switch {
	case p.Fit == Differs:
		number := d.numbers[p.Note]
		end := d.link(d.mark(number), fmt.Sprintf("%d: %s", number, words), x, y)
		d.dot(p.Fit, x, y)
		n.write(number, x, y)
		d.tag("%s", end)
	case d.titles:
		d.tag(`<g><title>%s</title>`, escape(words))
		d.dot(p.Fit, x, y)
		d.tag(`</g>`)
	default:
		d.dot(p.Fit, x, y)
	}
}

// mark is that of a number, or nil.
func (d *drawing) mark(number int) *Mark {
	if number < 1 {
		return nil
	}
	return &d.c.Marks[number-1] // they are numbered in their order
}

// dot draws the mark of a fit about a point.
func (d *drawing) dot(f Fit, x, y float64) {
	switch f {
	case AsCharted:
		d.tag(`<circle class="as" cx="%.1f" cy="%.1f" r="3.6"/>`, x, y)
	case Differs:
		d.tag(`<path class="differs" d="M%.1f %.1fl6.5 6.5l-6.5 6.5l-6.5 -6.5z"/><path class="cross" d="M%.1f %.1fl5 5m0 -5l-5 5"/>`, x, y-6.5, x-2.5, y-2.5)
	case Unclear:
		d.tag(`<circle class="open" cx="%.1f" cy="%.1f" r="3.8"/>`, x, y)
	case NotCharted:
		d.tag(`<rect class="open" x="%.1f" y="%.1f" width="7" height="7"/>`, x-3.5, y-3.5)
	}
}

// runLabels write what is written where no band says it already, as far as there is room: in a lane
// with nothing charted in place of the band, else beside a note that stands alone.
func (d *drawing) runLabels(l *Lane, y int) {
	fits := map[NoteRef]Fit{}
	for _, p := range l.Points {
		fits[p.Note] = p.Fit
	}
	for i, r := range l.Runs {
		next := d.right + 8.0
		if i+1 < len(l.Runs) {
			next = d.x(l.Runs[i+1].First.Time)
		}
		x, at := d.x(r.First.Time), y+bandTop+13
		switch {
		case len(l.Bands) == 0:
			x -= 4
		case r.Notes == 1 && fits[r.First] != AsCharted:
			x, at = x+22, y+pointLine+4
		default:
			continue
		}
		if float64(utf8.RuneCountInString(r.Value.Words))*character <= next-8-x {
			d.tag(`<text class="words" x="%.1f" y="%d">%s</text>`, x, at, escape(r.Value.Words))
		}
	}
}

// legend says in words what each mark of this drawing means, from a height on. It returns the height
// at which it ends.
func (d *drawing) legend(row float64) float64 {
	const rowHeight, gap = 22, 36
	x := 0.0
	item := func(words string, mark func(x, y float64)) {
		w := float64(utf8.RuneCountInString(words))*character + gap
		if x > 0 && x+w > d.width {
			x, row = 0, row+rowHeight
		}
		mark(x+8, row)
		d.tag(`<text class="key" x="%.1f" y="%.1f">%s</text>`, x+20, row+4, escape(words))
		x += w
	}
	fits := map[Fit]bool{}
	for _, l := range d.c.Lanes {
		for _, p := range l.Points {
			fits[p.Fit] = true
		}
	}
	for _, f := range []struct {
		fit   Fit
		words string
	}{{AsCharted, "written, as charted"}, {Differs, "written, differs from the chart"}, {Unclear, "written, the words leave it open"}, {NotCharted, "written, not charted"}} {
		if fits[f.fit] {
			item(f.words, func(x, y float64) { d.dot(f.fit, x, y) })
		}
	}
	for _, k := range kinds() {
		if d.c.has(k) {
			item(string(k), func(x, y float64) { d.event(k, x, y) })
		}
	}
	if d.opt.Calendar != nil {
		item("night", func(x, y float64) { d.tag(`<rect class="night" x="%.1f" y="%.1f" width="14" height="14"/>`, x-7, y-7) })
	}
	if len(d.c.Marks) > 0 {
		item("numbers are those of the notes to look at", func(x, y float64) { d.tag(`<text class="number" x="%.1f" y="%.1f">1</text>`, x-3, y+4) })
	}
	return row + rowHeight/2
}
