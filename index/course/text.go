package course

import (
	"bufio"
	"encoding/json"
	"fmt"
	"io"
	"strings"

	"example.com/stance/lint/report"
)

// JSON writes the course as one object; the fields are those of [Course].
func JSON(w io.Writer, c *Course) error {
	enc := json.NewEncoder(w)
	enc.SetEscapeHTML(false)
	return enc.Encode(c)
}

// Escape sequences of ECMA-48, section 8.3.117 (SGR).
const (
	bold   = "1"
	red    = "1;31"
	struck = "9;31"
	green  = "1;32"
)

// Text writes the course for a person: how it stands, what to look at, what changed when, and all of
// it lane by lane.
func Text(w io.Writer, c *Course, opt report.TextOptions) error {
	if opt.Width == 0 {
		opt.Width = 80
	}
	opt.Width = max(opt.Width, 40)
	t := &textWriter{bufio.NewWriter(w), opt, c.dates(opt.Zone)}
	t.dates.ids = true // a terminal has no links
	t.fill("", "", t.paint(bold, c.heading(t.dates)))
	t.fill("", "", report.Printable(strings.Join(c.tally(t.dates), " ")))
	t.line()
	t.standings(c)
	t.marks(c)
	t.turns(c)
	t.lanes(c)
	t.asides(c)
	t.fill("", "", report.Caution)
	return t.w.Flush() // a bufio.Writer keeps its first error
}

type textWriter struct {
	w     *bufio.Writer
	opt   report.TextOptions
	dates dates
}

func (t *textWriter) line() { fmt.Fprintln(t.w) }

func (t *textWriter) head(s string) { fmt.Fprintln(t.w, t.paint(bold, s)) }

// fill writes s in lines of the report's width.
func (t *textWriter) fill(first, rest, s string) { report.Fill(t.w, t.opt.Width, first, rest, s) }

// paint paints word by word, because lines are filled word by word.
func (t *textWriter) paint(code, s string) string {
	s = report.Printable(s)
	if !t.opt.Color {
		return s
	}
	words := strings.Fields(s)
	for i := range words {
		words[i] = "\x1b[" + code + "m" + words[i] + "\x1b[0m"
	}
	return strings.Join(words, " ")
}

func (t *textWriter) standings(c *Course) {
	t.head("How it stands")
	if len(c.Lanes) == 0 {
		t.fill("  ", "  ", "Nothing is charted, and the notes say nothing of how the resident is moved.")
	}
	const indent = "             "
	for _, s := range c.standings(t.dates) {
		name := report.Printable(s.Name)
		if s.Compare != "" {
			name += ": " + report.Printable(s.Compare)
		}
		if s.Differs {
			name = t.paint(red, name)
		}
		t.fill("  ", "  ", name)
		t.fill("    Charted  ", indent, report.Printable(s.Charted))
		t.fill("    Written  ", indent, report.Printable(s.Written))
	}
	t.line()
}

func (t *textWriter) marks(c *Course) {
	if len(c.Marks) == 0 {
		return
	}
	t.head("Notes to look at")
	for i := range c.Marks {
		m := &c.Marks[i]
		head := t.dates.note(m.Note)
		if by := m.Note.author(); by != "" {
			head += ", by " + by
		}
		first := fmt.Sprintf("%4d  ", m.Number)
		t.fill(first, "      ", t.paint(bold, head))
		for _, l := range m.lines() {
			s := report.Printable(l.Name) + ": " + report.Printable(l.Said)
			if l.Charted != "" {
				s += "; charted: " + report.Printable(l.Charted)
			}
			t.fill("      ", "        ", s+". «"+report.Printable(l.Text)+"»")
		}
	}
	t.line()
}

func (t *textWriter) turns(c *Course) {
	t.head("What changed")
	turns := c.turns(t.dates)
	if len(turns) == 0 {
		t.fill("  ", "  ", "Nothing, neither in the chart nor in what is written.")
	}
	for _, u := range turns {
		t.fill("  ", "  ", t.paint(bold, u.When+":")+" "+report.Printable(u.What))
		for _, l := range u.Lanes {
			t.fill("      ", "        ", report.Printable(l.Name+": "+l.From.said()+" → "+l.To.said()))
		}
		switch {
		case u.Apart():
			t.fill("      Before: ", "        ", report.Printable(u.Diff[0].Before))
			t.fill("      After:  ", "        ", report.Printable(u.Diff[0].After))
		case len(u.Diff) > 0:
			t.fill("      Wording: ", "        ", t.wording(u.Diff))
		}
	}
	t.line()
}

// wording is a word diff on lines: what the earlier note has and what the later one has in its place.
func (t *textWriter) wording(diff []Segment) string {
	var b strings.Builder
	for _, s := range diff {
		if s.Same != "" {
			b.WriteString(report.Printable(s.Same))
			continue
		}
		b.WriteString("«" + t.paint(struck, strings.TrimSpace(s.Before)) + "» → «" + t.paint(green, strings.TrimSpace(s.After)) + "»")
		if strings.TrimRight(s.Before, " ") != s.Before || strings.TrimRight(s.After, " ") != s.After {
			b.WriteByte(' ')
		}
	}
	return b.String()
}

func (t *textWriter) lanes(c *Course) {
	if len(c.Lanes) == 0 {
		return
	}
	t.head("The course")
	for i := range c.Lanes {
		l := &c.Lanes[i]
		t.fill("  ", "  ", report.Printable(l.Name))
		for _, r := range l.table(t.dates) {
			s := r.Value + ": " + r.From
			if r.To != r.From {
				s += " to " + r.To
			}
			if r.To == "still in force" {
				s = r.Value + ": since " + r.From
			}
			if r.Notes != "" {
				s += " (" + r.Notes + ")"
			}
			s = report.Printable(s)
			if r.Differs {
				s = t.paint(red, s)
			}
			t.fill("    "+r.Kind+"  ", "             ", s)
		}
	}
	t.line()
}

func (t *textWriter) asides(c *Course) {
	if len(c.Asides) == 0 {
		return
	}
	t.head("Said not, or unsure")
	for i := range c.Asides {
		a := &c.Asides[i]
		t.fill("  ", "    ", report.Printable(a.sentence(t.dates)))
	}
	t.line()
}
