package page

import (
	"cmp"
	"fmt"
	"html/template"
	"io"
	"slices"
	"strconv"
	"strings"
	"time"

	"example.com/stance/lint/audit"
	"example.com/stance/lint/audit/draw"
	"example.com/stance/lint/audit/stat"
	"example.com/stance/lint/finding"
	"example.com/stance/lint/plural"
	"example.com/stance/lint/report"
	"example.com/stance/lint/report/look"
)

// view is what the template needs, in the order in which it needs it.
type view struct {
	Report  *audit.Report
	Sheet   template.CSS
	Opening string // what was audited, as a sentence
	Made    string
	Rules   ruleTable
	Tables  []rateTable
	Told    toldTable
	Charts  []figure
	Funnels []figure
	Meaning []meaning
}

// ruleTable holds the rates of rules: of several together, and then of each with a finding, in the order of harm.
type ruleTable struct {
	Groups  []rateRow // all rules first
	Found   []rateRow
	Zero    []rateRow // with no finding
	Picture picture
}

// rateTable holds the rates of all rules together by one property of notes.
type rateTable struct {
	By      string // "unit"
	Rows    []rateRow
	Folded  bool // to be opened
	Long    bool // not even printed; residents may be thousands
	Picture picture
	Parts   []part // by rule as well, where that is of use
}

// A part is one value of a table with the rules that found something there.
type part struct {
	Value string
	Rows  []rateRow
}

// A meaning is what a rule looks for, and what it could have flagged.
type meaning struct{ Title, ID, Severity, Per string }

// toldTable holds what notes tell of: all notes together, and by unit where there are several.
type toldTable struct {
	Lines []audit.EventLine
	None  []string // what was told nowhere
	Units []toldPart
}

// A toldPart is one unit in which something was told.
type toldPart struct {
	Value string
	Lines []audit.EventLine
}

// rateRow is a line of a table of rates, as written.
type rateRow struct {
	Label         string
	Severity      string // of a rule
	Shape         string // stands for it
	Notes         int
	Findings      string // "3 of 65"
	Rate, Range   string
	None          bool // no opportunities, so no rate
	found, number int
}

// picture is a drawing in the two widths of which the style sheet shows one; empty for none.
type picture struct{ Wide, Narrow template.HTML }

// figure is a drawing with its words and the table of its figures.
type figure struct {
	ID      string
	Title   string
	Open    bool   // stands on the page; else it is to be opened
	Few     bool   // nothing in it can be judged; all such stand together
	Brief   string // what to know of it unopened
	Words   []string
	Picture picture
	Head    []heading // of the table, after the label
	First   string    // of the label
	Rows    []figureRow
}

// A heading is that of a column, which a phone leaves out where it is roomy.
type heading struct {
	Name  string
	Roomy bool
}

type figureRow struct {
	Label string
	Cells []figureCell
	Mark  bool // calls for a look
}

type figureCell struct {
	Words string
	Roomy bool
}

// cells puts words under the headings.
func (f *figure) cells(words ...string) []figureCell {
	out := make([]figureCell, len(words))
	for i, w := range words {
		out[i] = figureCell{w, f.Head[i].Roomy}
	}
	return out
}

// few are the figures in which nothing can be judged.
func few(all []figure) []figure {
	return slices.DeleteFunc(slices.Clone(all), func(f figure) bool { return !f.Few })
}

// Widths of drawings: the narrow one fits a screen of 320 pixels.
const (
	wide   = 680
	narrow = 288
)

func viewOf(r *audit.Report) (*view, error) {
	v := &view{Report: r, Sheet: template.CSS(look.Sheet() + sheet), Made: r.Made.Format("2 January 2006, 15:04 MST")}
	when := "No shift was counted."
	if r.From != "" {
		when = "Shifts of " + day(r.From) + " to " + day(r.To) + "."
	}
	v.Opening = fmt.Sprintf("%s on %s. %s", plural.Of(r.Notes, "note"), plural.Of(r.Residents, "resident"), when)
	v.Told = toldOf(r)
	for _, t := range r.Tables {
		var err error
		if t.By == audit.ByAll {
			v.Rules, err = rulesOf(r, t)
		} else {
			var rt rateTable
			rt, err = tableOf(r, t)
			v.Tables = append(v.Tables, rt)
		}
		if err != nil {
			return nil, err
		}
	}
	for i, c := range r.Charts {
		f, err := chartOf(r, i, c)
		if err != nil {
			return nil, err
		}
		v.Charts = append(v.Charts, f)
	}
	for i, f := range r.Funnels {
		fig, err := funnelOf(r, i, f)
		if err != nil {
			return nil, err
		}
		v.Funnels = append(v.Funnels, fig)
	}
	for _, rule := range r.Rules {
		v.Meaning = append(v.Meaning, meaning{report.Capital(rule.Title), rule.ID, rule.Severity, rule.Per})
	}
	return v, nil
}

// titleOf names a scope for people: a rule by its title.
func titleOf(r *audit.Report, scope string) string {
	for _, rule := range r.Rules {
		if rule.ID == scope {
			return report.Capital(rule.Title)
		}
	}
	return report.Capital(scope)
}

// rulesOf makes the table of rules.
func rulesOf(r *audit.Report, t audit.Table) (ruleTable, error) {
	var out ruleTable
	for _, row := range t.Rows {
		if severityOf(r, row.Scope) == "" {
			out.Groups = append(out.Groups, rowOf(r, titleOf(r, row.Scope), row))
		}
	}
	rows := make(map[string]audit.Row)
	for _, row := range t.Rows {
		rows[row.Scope] = row
	}
	for _, rule := range r.Rules {
		line := rowOf(r, report.Capital(rule.Title), rows[rule.ID])
		if line.found == 0 {
			out.Zero = append(out.Zero, line)
		} else {
			out.Found = append(out.Found, line)
		}
	}
	slices.SortStableFunc(out.Found, func(a, b rateRow) int {
		return cmp.Or(finding.Severity(b.Severity).Rank()-finding.Severity(a.Severity).Rank(), b.found-a.found)
	})
	var points []stat.Point
	for _, line := range out.Found {
		points = append(points, stat.Point{Label: line.Label, Events: line.found, N: line.number})
	}
	var err error
	out.Picture, err = rates(points, "rates-rule", "Rates by rule")
	return out, err
}

// severityOf is that of a rule, empty for a scope of several.
func severityOf(r *audit.Report, scope string) string {
	for _, rule := range r.Rules {
		if rule.ID == scope {
			return rule.Severity
		}
	}
	return ""
}

// tableOf makes the table of another property. Periods are drawn as charts, and residents not at all.
func tableOf(r *audit.Report, t audit.Table) (rateTable, error) {
	rows := t.Of(audit.ScopeAll)
	out := rateTable{By: t.By, Long: t.By == audit.ByResident, Folded: t.By == audit.ByResident || t.By == string(r.By)}
	var points []stat.Point
	for _, row := range rows {
		out.Rows = append(out.Rows, rowOf(r, audit.Shown(row.Value), row))
		points = append(points, stat.Point{Label: audit.Shown(row.Value), Events: row.Findings, N: row.Opportunities})
	}
	if t.By == audit.ByResident || t.By == string(r.By) {
		return out, nil
	}
	for _, row := range t.Rows {
		if row.Findings == 0 || severityOf(r, row.Scope) == "" {
			continue
		}
		value := audit.Shown(row.Value)
		if n := len(out.Parts); n == 0 || out.Parts[n-1].Value != value {
			out.Parts = append(out.Parts, part{Value: value})
		}
		p := &out.Parts[len(out.Parts)-1]
		p.Rows = append(p.Rows, rowOf(r, titleOf(r, row.Scope), row))
	}
	var err error
	out.Picture, err = rates(points, "rates-"+t.By, "Rates by "+t.By)
	return out, err
}

// toldOf makes the table of what notes tell of.
func toldOf(r *audit.Report) toldTable {
	var out toldTable
	var units []toldPart
	for _, t := range r.Tables {
		switch t.By {
		case audit.ByAll:
			out.Lines, out.None = r.Told(t, "")
		case audit.ByUnit:
			for _, unit := range t.Of(audit.ScopeAll) {
				if lines, _ := r.Told(t, unit.Value); len(lines) > 0 {
					units = append(units, toldPart{audit.Shown(unit.Value), lines})
				}
			}
			if len(t.Of(audit.ScopeAll)) > 1 {
				out.Units = units
			}
		}
	}
	return out
}

func rowOf(r *audit.Report, label string, row audit.Row) rateRow {
	out := rateRow{Label: label, Severity: severityOf(r, row.Scope), Notes: row.Notes, None: row.Rate == nil, found: row.Findings, number: row.Opportunities,
		Findings: fmt.Sprintf("%d of %d", row.Findings, row.Opportunities)}
	switch finding.Severity(out.Severity) {
	case finding.Error:
		out.Shape = "■"
	case finding.Warning:
		out.Shape = "▲"
	case finding.Hint:
		out.Shape = "●"
	}
	if row.Rate != nil && row.Opportunities >= stat.FewestRate {
		out.Rate, out.Range = per100(row.Rate.Value), per100(row.Rate.Low)+" to "+per100(row.Rate.High)
	}
	return out
}

// rates draws the points that have a rate; those of too few, which would stretch the scale, are in the table alone.
func rates(points []stat.Point, id, title string) (picture, error) {
	rates := slices.DeleteFunc(stat.Rates(points, audit.Level), func(r stat.Rate) bool { return r.N < stat.FewestRate })
	if len(rates) == 0 {
		return picture{}, nil
	}
	return pictureOf(id, title, "Each rate is a dot on its interval; the table gives the figures.", audit.PerOpportunity,
		func(w io.Writer, opt draw.Options) error { return draw.Rates(w, rates, opt) })
}

// pictureOf draws in both widths.
func pictureOf(id, title, words, unit string, drawing func(io.Writer, draw.Options) error) (picture, error) {
	var b [2]strings.Builder
	for i, width := range []int{wide, narrow} {
		opt := draw.Options{ID: id + "-" + strconv.Itoa(width), Title: title, Words: words, Unit: unit, Width: width}
		if err := drawing(&b[i], opt); err != nil {
			return picture{}, err
		}
	}
	return picture{template.HTML(b[0].String()), template.HTML(b[1].String())}, nil
}

// How many charts and funnels stand on the page whatever they show: those of all rules together.
const (
	chartsOpen  = 2
	funnelsOpen = 1
)

func chartOf(r *audit.Report, i int, c audit.Chart) (figure, error) {
	f := figure{
		ID: "chart-" + strconv.Itoa(i+1), Title: titleOf(r, c.Scope) + ", " + c.Measure, Open: i < chartsOpen || c.Signals(),
		Brief: "no point signals",
		Words: []string{audit.InWords(c.Words), fmt.Sprintf("%s-chart around %s per 100. %s", c.Chart.Kind, per100(c.Chart.Centre), c.Chart.Why)},
		First: report.Capital(string(r.By)), Head: []heading{{"Findings", false}, {"Per 100", false}, {"Limits", true}, {"Reading", false}},
	}
	judged := 0
	chart := audit.ForPeople(c.Chart)
	for _, p := range chart.Points {
		counted := fmt.Sprintf("%d of %d", p.Events, p.N)
		if c.Measure == audit.PerNote {
			counted = fmt.Sprintf("%d in %s", p.Events, plural.Of(p.N, "note"))
		}
		rate, limits, reading := "none", "", string(p.State)
		switch {
		case p.State == stat.Empty:
			reading = "nothing to count"
		case p.State == stat.Judged:
			judged++
			reading = "no signal"
		}
		if p.State != stat.Empty {
			rate, limits = per100(p.Value), per100(p.Low)+" to "+per100(p.High)
			if p.LowClipped || p.HighClipped {
				limits += " (cut off)"
			}
		}
		if len(p.Signals) > 0 {
			reading = p.Said()
		}
		f.Rows = append(f.Rows, figureRow{p.Label, f.cells(counted, rate, limits, reading), len(p.Signals) > 0})
	}
	if judged == 0 {
		f.Brief = "too few to tell"
		f.Few = !f.Open
	}
	if slices.ContainsFunc(c.Chart.Points, func(p stat.Limit) bool { return p.LowClipped || p.HighClipped }) {
		f.Words = append(f.Words, "Limits that would lie beyond what a rate can be are cut off there.")
	}
	var err error
	f.Picture, err = pictureOf(f.ID, f.Title, audit.InWords(c.Words), c.Measure, func(w io.Writer, opt draw.Options) error {
		return draw.Control(w, chart, opt)
	})
	return f, err
}

func funnelOf(r *audit.Report, i int, fn audit.Funnel) (figure, error) {
	f := figure{
		ID: "funnel-" + strconv.Itoa(i+1), Title: titleOf(r, fn.Scope) + ", units side by side", Open: i < funnelsOpen,
		Brief: "no unit beyond the 99.8 % limits", Words: []string{fn.Words},
		First: "Unit", Head: []heading{{"Findings", false}, {"Per 100", false}, {"95 % limits", true}, {"99.8 % limits", true}, {"Reading", false}},
	}
	for _, u := range fn.Plot.Units {
		counted := fmt.Sprintf("%d of %d", u.Events, u.N)
		cells := f.cells(counted, "none", "", "", "nothing to count")
		if u.Verdict != stat.NoChances {
			cells = f.cells(counted, per100(u.Value), per100(u.Inner.Low)+" to "+per100(u.Inner.High),
				per100(u.Outer.Low)+" to "+per100(u.Outer.High), string(u.Verdict))
		}
		outside := u.Verdict == stat.Above || u.Verdict == stat.Below
		f.Open = f.Open || outside
		f.Rows = append(f.Rows, figureRow{u.Label, cells, outside})
	}
	var err error
	f.Picture, err = pictureOf(f.ID, f.Title, fn.Words, audit.PerOpportunity, func(w io.Writer, opt draw.Options) error {
		return draw.Funnel(w, fn.Plot, opt)
	})
	return f, err
}

// per100 writes a share per 100 with one decimal.
func per100(share float64) string { return strconv.FormatFloat(100*share, 'f', 1, 64) }

// day writes a date "2006-01-02" for people.
func day(s string) string {
	t, err := time.Parse(time.DateOnly, s)
	if err != nil {
		return s
	}
	return t.Format("2 January 2006")
}
