package audit

import (
	"bufio"
	"cmp"
	"fmt"
	"io"
	"slices"
	"strconv"
	"strings"
	"time"
	"unicode/utf8"

	"example.com/stance/lint/audit/stat"
	"example.com/stance/lint/plural"
	"example.com/stance/lint/report"
)

// TextOptions fit a text report to where it goes.
type TextOptions struct {
	Width int  // of lines; 0 for 80
	Bold  bool // headings in bold, for a terminal
}

// Text writes the report for people. Of residents, who may be many, it gives only the number; the
// other forms have them all.
func Text(w io.Writer, r *Report, opt TextOptions) error {
	t := &textWriter{Writer: bufio.NewWriter(w), report: r, width: cmp.Or(opt.Width, 80), bold: opt.Bold}
	t.opening()
	if len(r.StandsOut) > 0 {
		t.heading("What stands out")
		for _, s := range r.StandsOut {
			t.item(report.Printable(s))
		}
	}
	t.rates()
	t.told()
	t.change()
	t.units()
	t.method()
	t.para(r.Caution)
	return t.Flush()
}

type textWriter struct {
	*bufio.Writer
	report *Report
	width  int
	bold   bool
}

func (t *textWriter) para(s string) { report.Fill(t, t.width, "", "", s) }

func (t *textWriter) item(s string) { report.Fill(t, t.width, "  ", "    ", s) }

func (t *textWriter) heading(s string) {
	if t.bold {
		s = "\x1b[1m" + s + "\x1b[0m" // ECMA-48, section 8.3.117 (SGR)
	}
	fmt.Fprintf(t, "\n%s\n", s)
}

func (t *textWriter) opening() {
	r := t.report
	when := "no shift"
	if r.From != "" {
		when = "shifts of " + span(r.From, r.To)
	}
	t.para(fmt.Sprintf("Audit of %s on %s, %s.", plural.Of(r.Notes, "note"), plural.Of(r.Residents, "resident"), when))
	t.item(fmt.Sprintf("Made: %s by stance %s.", r.Made.Format("2 January 2006, 15:04 MST"), r.Version))
	settings := "every setting is the one that stance comes with"
	if len(r.Policy.Settings) > 0 {
		var set []string
		for _, s := range r.Policy.Settings {
			set = append(set, report.Printable(s.Key+" "+s.Value))
		}
		settings = "set by the home: " + strings.Join(set, "; ")
	}
	t.item(fmt.Sprintf("Policy: %.12s, %s.", r.Policy.Digest, settings))
	if !r.Charted {
		t.item("Chart: none, so the rules against the chart are silent.")
	}
	if r.Names.Hidden {
		t.item("Names: of residents and authors are hidden; key " + r.Names.Key + ".")
	}
	if len(r.LeftOut) == 0 {
		t.item("Left out: nothing.")
	}
	for _, l := range r.LeftOut {
		t.item(fmt.Sprintf("Left out: %d %s that %s.", l.N, l.What, l.Why))
	}
}

func (t *textWriter) rates() {
	r := t.report
	all := r.Tables[0].Rows
	t.heading("Rates by rule")
	lines := [][]string{header("rule")}
	group := ""
	for _, rule := range r.Rules {
		if rule.Group != group {
			group = rule.Group
			lines = append(lines, line(group, find(all, group)))
		}
		lines = append(lines, line("  "+rule.ID, find(all, rule.ID)))
	}
	Columns(t, append(lines, line("All rules", find(all, ScopeAll))))
	for _, tab := range r.Tables[1:] {
		if tab.By == ByResident {
			continue
		}
		t.heading("Rates by " + tab.By)
		lines := [][]string{header(tab.By)}
		for _, row := range tab.Of(ScopeAll) {
			lines = append(lines, line(report.Printable(Shown(row.Value)), row))
		}
		Columns(t, lines)
	}
	t.heading("What an opportunity is")
	for _, rule := range r.Rules {
		t.item(rule.ID + ": " + rule.Per + ".")
	}
}

// told tells the events of all notes together.
func (t *textWriter) told() {
	t.heading("What notes tell of")
	lines, none := t.report.Told(t.report.Tables[0], "")
	if len(lines) > 0 {
		rows := [][]string{{"", "told", "put right"}}
		for _, l := range lines {
			fixed := ""
			if l.Fixed != nil {
				fixed = strconv.Itoa(*l.Fixed)
			}
			rows = append(rows, []string{strings.Repeat("  ", l.Depth) + l.Words, strconv.Itoa(l.Told), fixed})
		}
		Columns(t, rows)
	}
	if len(none) > 0 {
		t.item("None told: " + strings.Join(none, "; ") + ".")
	}
	t.item("The other forms have this by unit, shift, role, resident and " + string(t.report.By) + " as well.")
}

// change tells the charts that signal in words, and of the others which they are.
func (t *textWriter) change() {
	t.heading("Change by " + string(t.report.By))
	var still, untold []string
	for i := range t.report.Charts {
		c := &t.report.Charts[i]
		name := c.Scope
		if c.Measure == PerNote {
			name += " (" + c.Measure + ")"
		}
		judged := slices.ContainsFunc(c.Chart.Points, func(p stat.Limit) bool { return p.State == stat.Judged })
		switch {
		case c.Signals() || i < 2: // the first two are of all rules together
			t.item(fmt.Sprintf("%s, %s, %s-chart around %s: %s", c.Scope, c.Measure, c.Chart.Kind, per100(c.Chart.Centre),
				report.Printable(InWords(c.Words+" "+c.Chart.Why))))
		case judged:
			still = append(still, name)
		default:
			untold = append(untold, name)
		}
	}
	if len(still) > 0 {
		t.item("No point signals: " + strings.Join(still, ", ") + ".")
	}
	if len(untold) > 0 {
		t.item("Too few findings to tell: " + strings.Join(untold, ", ") + ".")
	}
	if len(t.report.Charts) == 0 {
		t.item("There is nothing to draw.")
	}
}

// units tells the funnel plots in which a unit lies outside, and of the others which they are.
func (t *textWriter) units() {
	t.heading("Units")
	var alike []string
	for i, f := range t.report.Funnels {
		outside := slices.ContainsFunc(f.Plot.Units, func(u stat.FunnelPoint) bool {
			return u.Verdict == stat.Above || u.Verdict == stat.Below
		})
		if outside || i == 0 {
			t.item(f.Scope + ": " + report.Printable(f.Words))
		} else {
			alike = append(alike, f.Scope)
		}
	}
	if len(alike) > 0 {
		t.item("No unit beyond the 99.8 % limits: " + strings.Join(alike, ", ") + ".")
	}
	if len(t.report.Funnels) == 0 {
		t.item("There are fewer than two units, or too few findings to hold them side by side.")
	}
}

func (t *textWriter) method() {
	t.heading("Method")
	for _, p := range t.report.Method {
		s := p.Title + ": " + p.Words
		if p.Source != "" {
			s += " Source: " + p.Source + "."
		}
		t.item(s)
	}
	fmt.Fprintln(t)
}

func header(first string) []string {
	return []string{first, "notes", "opportunities", "findings", "per 100", "95 % interval"}
}

func line(label string, r Row) []string {
	rate, interval := "none", ""
	switch {
	case r.Rate != nil && r.Opportunities < stat.FewestRate:
		rate = fmt.Sprintf("%d of %d", r.Findings, r.Opportunities)
	case r.Rate != nil:
		rate, interval = per100(r.Rate.Value), per100(r.Rate.Low)+" to "+per100(r.Rate.High)
	}
	out := []string{label}
	for _, n := range []int{r.Notes, r.Opportunities, r.Findings} {
		out = append(out, strconv.Itoa(n))
	}
	return append(out, rate, interval)
}

// Columns writes lines of a table, indented, with the first column set left and the others right. All
// lines have as many cells as the first.
func Columns(w io.Writer, lines [][]string) {
	widths := make([]int, len(lines[0]))
	for _, l := range lines {
		for i, c := range l {
			widths[i] = max(widths[i], utf8.RuneCountInString(c))
		}
	}
	for _, l := range lines {
		s := "  "
		for i, c := range l {
			pad := strings.Repeat(" ", widths[i]-utf8.RuneCountInString(c))
			if i == 0 {
				s += c + pad
			} else {
				s += "  " + pad + c
			}
		}
		fmt.Fprintln(w, strings.TrimRight(s, " "))
	}
}

func find(rows []Row, scope string) Row {
	return rows[slices.IndexFunc(rows, func(r Row) bool { return r.Scope == scope })]
}

// per100 writes a share per 100 with one decimal.
func per100(share float64) string { return strconv.FormatFloat(100*share, 'f', 1, 64) }

// span writes two dates "2006-01-02" for people.
func span(from, to string) string {
	words := func(day string) string {
		d, err := time.Parse(time.DateOnly, day)
		if err != nil {
			return day
		}
		return d.Format("2 January 2006")
	}
	if from == to {
		return words(from)
	}
	return words(from) + " to " + words(to)
}
