package course

import (
	"bytes"
	"embed"
	"fmt"
	"html/template"
	"io"
	"strings"

	"example.com/stance/lint/report"
	"example.com/stance/lint/report/look"
)

//go:embed page.tmpl page.css
var page embed.FS

// What is printed of the lists, so that a month's course fits on one sheet; all of it is on the screen.
const (
	printedMarks = 6
	printedTurns = 6
)

// HTML writes the course as one page that needs nothing else: no script, no font, no network. It holds
// the drawing, the same in tables, and the caution, and prints on one sheet in landscape.
func HTML(w io.Writer, c *Course, opt DrawOptions) error {
	t, err := template.New("page.tmpl").Funcs(template.FuncMap{"words": words}).ParseFS(page, "page.tmpl")
	if err != nil {
		return err
	}
	css, err := page.ReadFile("page.css")
	if err != nil {
		return err
	}
	var drawn bytes.Buffer
	opt.Link = func(m Mark) string { return fmt.Sprintf("#mark-%d", m.Number) }
	if err := Figure(&drawn, c, opt); err != nil {
		return err
	}
	d := c.dates(opt.Zone)
	v := view{
		Course: c, Caution: report.Caution,
		Style:   template.CSS(look.Sheet() + style + string(css)),
		Drawing: template.HTML(drawn.String()), // every text in it is escaped by Figure
		Extent:  c.extent(d), Tally: c.tally(d), Standings: c.standings(d),
	}
	v.Headline, v.Calm = c.headline(d)
	for i := range c.Marks {
		m := &c.Marks[i]
		v.Marked = append(v.Marked, marked{m.Number, d.note(m.Note), m.Note.author(), m.Note.ID, m.lines(), len(c.Marks)-i > printedMarks})
	}
	turns := c.turns(d)
	for i, u := range turns {
		v.Turns = append(v.Turns, turned{u, len(turns)-i > printedTurns})
	}
	v.MarksLeft, v.TurnsLeft = max(0, len(v.Marked)-printedMarks), max(0, len(v.Turns)-printedTurns)
	for i := range c.Lanes {
		v.Tables = append(v.Tables, table{c.Lanes[i].Name, c.Lanes[i].table(d)})
	}
	for i := range c.Asides {
		v.Asides = append(v.Asides, c.Asides[i].sentence(d))
	}
	return t.Execute(w, v)
}

// A view is what the page shows.
type view struct {
	*Course
	Caution, Extent string
	Headline        string
	Calm            bool // nothing differs
	Style           template.CSS
	Drawing         template.HTML
	Tally           []string
	Standings       []standing
	Marked          []marked
	Turns           []turned
	MarksLeft       int // not printed
	TurnsLeft       int
	Tables          []table
	Asides          []string
}

type marked struct {
	Number     int
	When, By   string
	Note       string // its id
	Lines      []markLine
	ScreenOnly bool
}

type turned struct {
	Turn
	ScreenOnly bool
}

type table struct {
	Name  string
	Lines []line
}

// words is a text of the notes or the chart without what has no place on a page.
func words(s string) string { return strings.TrimSpace(report.Printable(s)) }

// Said names a value for the page.
func (v Value) Said() string { return v.said() }
