package cli

import (
	"bufio"
	"fmt"
	"strings"
	"time"

	"example.com/stance/index"
	"example.com/stance/index/homes"
	"example.com/stance/lexicon"
	"example.com/stance/lint/plural"
	"example.com/stance/lint/report"
)

// A findView prints what was found for a person.
type findView struct {
	w      *bufio.Writer // keeps its first error
	opt    report.TextOptions
	found  *found
	zone   func(home string) *time.Location // that a home's times are shown in; nil: as written
	quiet  bool
	facts  bool     // facts were asked for, so the statements that answer are shown
	why    string   // how to learn why notes are flagged; empty where that was not asked for
	number int      // of the page
	onward string   // the flag that leads to the next
	wider  []string // what would find something, where nothing was found
}

func (v *findView) page() {
	page := v.found
	for i := range page.Hits {
		v.hit(&page.Hits[i])
	}
	if v.quiet {
		return
	}
	switch {
	case page.Total == 0:
		v.fill("", "", v.nothing())
	case len(page.Hits) == 0 && v.number > 1:
		v.fill("", "", fmt.Sprintf("%s found, and none on page %d.", plural.Of(page.Total, "note"), v.number))
	case len(page.Hits) == 0:
		v.fill("", "", fmt.Sprintf("%s found, and none after this mark.", plural.Of(page.Total, "note")))
	case len(page.Hits) == page.Total:
		v.fill("", "", plural.Of(page.Total, "note")+" found.")
	default:
		v.fill("", "", fmt.Sprintf("%s found, %d shown here.", plural.Of(page.Total, "note"), len(page.Hits)))
	}
	if page.Total > 0 {
		v.counts(page.Facets)
		if v.why != "" {
			v.fill("", "", v.why)
		}
	}
	if page.Next != "" {
		v.fill("", "", "For the next page add "+v.onward)
	}
	if page.Total > 0 {
		v.fill("", "", report.Caution)
	}
}

// nothing says that nothing was found, and what would find something.
func (v *findView) nothing() string {
	if len(v.wider) == 0 {
		return "No note found."
	}
	return "No note found. There would be " + list(v.wider) + "."
}

func (v *findView) hit(h *homes.Hit) {
	n := &h.Note
	head := v.paint(bold, "Resident "+report.Printable(n.Resident))
	if n.Unit != "" {
		head += ", " + report.Printable(n.Unit)
	}
	if h.Home != "" {
		head += ", home " + report.Printable(h.Home)
	}
	v.opt.Zone = v.zone(h.Home)
	k := v.found.sel(h.Home).calendar.Key(n.Time, n.Shift)
	head += fmt.Sprintf(". %s, note %s", v.when(n.Time, k.String()), report.Printable(n.ID))
	if n.Role != "" && n.Role != lexicon.OtherRole {
		head += " by a " + string(n.Role)
	}
	if h.Replaced {
		head += ", amended since"
	}
	if h.Withdrawn {
		head += ", withdrawn since"
	}
	v.fill("", "  ", head+".")
	v.fill("  ", "  ", v.excerpt(n.Text, h.Spans))
	if v.facts {
		for i := range h.Statements {
			s := &h.Statements[i]
			says := s.Concept
			if more := saidOf(s); more != "" {
				says += ": " + more
			}
			v.fill("  Says:    ", "           ", report.Printable(says))
		}
	}
	if len(h.Rules) > 0 {
		v.fill("  Flagged: ", "           ", strings.Join(h.Rules, ", "))
	}
	fmt.Fprintln(v.w)
}

// when is "evening shift of 12 November 2026, 19:50".
func (v *findView) when(t time.Time, shift string) string {
	if v.opt.Zone != nil {
		t = t.In(v.opt.Zone)
	}
	day, name, _ := strings.Cut(shift, "/")
	date, err := time.Parse(time.DateOnly, day)
	if err != nil {
		return t.Format("2 January 2006, 15:04")
	}
	return fmt.Sprintf("%s shift of %s, %s", strings.ToUpper(name[:1])+name[1:], date.Format("2 January 2006"), t.Format("15:04"))
}

// countsShown is how many values of one kind are counted out.
const countsShown = 8

func (v *findView) counts(facets map[string][]index.Count) {
	for _, kind := range []string{"home", "resident", "unit", "role", "shift", "concept", "rule"} {
		counts := facets[kind]
		if len(counts) == 0 {
			continue
		}
		var parts []string
		for i, c := range counts {
			if i == countsShown {
				parts = append(parts, fmt.Sprintf("and %d more", len(counts)-i))
				break
			}
			// Filling parts lines at blanks, and a value stays with its count.
			parts = append(parts, strings.ReplaceAll(fmt.Sprintf("%s %d", report.Printable(c.Value), c.Notes), " ", held))
		}
		var lines strings.Builder
		report.Fill(&lines, max(v.opt.Width, 40), fmt.Sprintf("  By %-9s ", kind+":"), strings.Repeat(" ", 15), strings.Join(parts, ", "))
		v.w.WriteString(strings.ReplaceAll(lines.String(), held, " "))
	}
}

// held stands for a blank at which no line ends. No printable text has it.
const held = "\x00"

// fill writes s in lines that fit the terminal.
func (v *findView) fill(first, rest, s string) {
	report.Fill(v.w, max(v.opt.Width, 40), first, rest, s)
}

// Escape sequences of ECMA-48, section 8.3.117 (SGR).
const (
	bold      = "1"
	underline = "4"
)

// paint wraps a text, where there is colour.
func (v *findView) paint(code, s string) string {
	if !v.opt.Color {
		return s
	}
	return "\x1b[" + code + "m" + s + "\x1b[0m"
}

// excerpt is the sentences of a note in which something was found, the places marked; where nothing is
// to be marked, its beginning.
func (v *findView) excerpt(text string, spans []lexicon.Span) string {
	var out strings.Builder
	shown := 0 // up to here
	for _, s := range sentencesOf(text, spans) {
		switch {
		case strings.TrimSpace(text[shown:s.start]) != "":
			out.WriteString(" … ")
		case s.start > shown:
			out.WriteString(" ")
		}
		at := s.start
		for len(spans) > 0 && spans[0].End <= s.end {
			m := spans[0]
			spans = spans[1:]
			out.WriteString(report.Printable(text[at:m.Start]))
			out.WriteString("«" + v.paint(underline, report.Printable(text[m.Start:m.End])) + "»")
			at = m.End
		}
		out.WriteString(report.Printable(text[at:s.end]))
		shown = s.end
	}
	if strings.TrimSpace(text[shown:]) != "" {
		out.WriteString(" …")
	}
	return strings.TrimSpace(out.String())
}
