package pages

import (
	"bytes"
	"context"
	"fmt"
	"html/template"
	"io"
	"net/http"
	"net/url"
	"slices"
	"strconv"
	"strings"
	"time"

	"example.com/stance/cmd/stance/web/guard"
	"example.com/stance/cmd/stance/web/pages/sight"
	"example.com/stance/lint/audit"
	"example.com/stance/lint/audit/draw"
	"example.com/stance/lint/audit/page"
	"example.com/stance/lint/audit/stat"
	"example.com/stance/lint/plural"
	"example.com/stance/lint/report"
)

// An auditPage is the place where figures over many notes are looked at.
type auditPage struct {
	Tables  []choice // what the rows are about
	Scopes  []choice // which rules
	Periods []choice
	Opening string
	Figure  string // of the rules chosen, over all notes
	LeftOut []string
	Charted bool
	Title   string // of the table
	First   string // heading of its first column
	Rows    []auditRow
	Scale   string // of the bars in the rows; empty for none
	Picture picture
	Told    toldView
	Change  *drawing // over time, where there is a chart of these rules
	Funnel  *drawing // units side by side
	Method  []audit.Paragraph
	Per     string // what an opportunity is, for one rule
	Report  string // path of the whole report
	Empty   bool
}

// An auditRow is a line of the table.
type auditRow struct {
	Label                          string
	Group                          bool // a group of rules, above its rules
	Opportunities, Findings, Notes int
	Rate, Range                    string // per 100; empty for none
	Path                           string // of the findings behind it, or empty
	rate                           *audit.Rate
	Bar                            *bar
}

// A toldView is what notes tell of: falls and their causes, hazards, injured staff, posted signs.
type toldView struct {
	Lines []audit.EventLine
	None  string     // what was told nowhere
	By    string     // what the parts are about: "unit"
	Parts []toldPart // those in which something was told
}

// A toldPart is what notes of one unit, shift, role or period tell of.
type toldPart struct {
	Value string
	Lines []audit.EventLine
}

// A bar is a rate and its interval, drawn in a row of a long table, in pixels from the left.
type bar struct{ Low, At, High int }

// barWidth is that of a whole bar, which its drawing in the template has too, with 4 pixels at each end.
const barWidth = 120

// A picture is a drawing in a wide and a narrow form, of which the style sheet shows one.
type picture struct{ Wide, Narrow template.HTML }

// A drawing is a picture with its words.
type drawing struct {
	Picture picture
	Words   string
	Why     string // that kind of chart
}

// The widths of drawings: the narrow one fits a screen of 320 pixels.
const (
	wideDrawing   = 720
	narrowDrawing = 288
)

// mostDrawn is how many rates are drawn above their table. More have no room for their names there, so
// each is drawn in its row.
const mostDrawn = 12

func auditOf(ctx context.Context, v *sight.Visit) (*sight.Audit, error) {
	look, err := v.Look(ctx)
	if err != nil {
		return nil, err
	}
	return look.Audit(ctx)
}

// An inquiry is what is asked of an audit.
type inquiry struct {
	table string       // audit.ByAll, audit.ByUnit …, or the period
	scope string       // audit.ScopeAll, a group of rules or a rule
	by    audit.Period // of charts
}

func inquire(q url.Values, r func(audit.Period) *audit.Report) (inquiry, error) {
	in := inquiry{table: audit.ByAll, scope: audit.ScopeAll, by: audit.Week}
	if v := q.Get("by"); v != "" {
		in.by = audit.Period(v)
	}
	if in.by != audit.Week && in.by != audit.Month {
		return in, errFigure
	}
	if v := q.Get("table"); v != "" {
		in.table = v
	}
	if v := q.Get("scope"); v != "" {
		in.scope = v
	}
	report := r(in.by)
	if in.table == string(audit.Week) || in.table == string(audit.Month) {
		in.table = string(in.by) // periods of the other kind are in the other report
	}
	known := slices.ContainsFunc(report.Tables, func(t audit.Table) bool { return t.By == in.table }) &&
		(in.scope == audit.ScopeAll || slices.ContainsFunc(report.Rules, func(r audit.Rule) bool { return r.ID == in.scope || r.Group == in.scope }))
	if !known {
		return in, errFigure
	}
	return in, nil
}

var errFigure = &refusal{status: http.StatusNotFound, title: "No such figure", words: "Go to the audit and choose from the lists there."}

// audit shows one table with its drawings.
func (s *site) audit(r *http.Request, v *sight.Visit) (*reply, error) {
	a, err := auditOf(r.Context(), v)
	if err != nil {
		return nil, err
	}
	in, err := inquire(r.URL.Query(), a.Figures)
	if err != nil {
		return nil, err
	}
	report := a.Figures(in.by)
	if in.table == audit.ByResident {
		report = a.Whole(in.by)
	}
	p := auditPage{Charted: report.Charted, Method: report.Method, Empty: report.Notes == 0, Report: to("/audit/report", "by", string(in.by))}
	p.Opening = fmt.Sprintf("%s on %s.", plural.Of(report.Notes, "note"), plural.Of(report.Residents, "resident"))
	if report.From != "" {
		p.Opening += " Shifts of " + dayWords(report.From) + " to " + dayWords(report.To) + "."
	}
	for _, l := range report.LeftOut {
		p.LeftOut = append(p.LeftOut, fmt.Sprintf("%d %s that %s.", l.N, l.What, l.Why))
	}
	s.auditChoices(&p, report, in)
	p.Figure = figureOf(report, in.scope)
	p.Told = toldOf(report, in.table)
	if !p.Empty {
		if err := s.auditFigures(&p, report, in); err != nil {
			return nil, err
		}
	}
	return s.page(r, http.StatusOK, "audit", frame{Title: "Audit", Path: "/audit", Body: p})
}

// auditChoices lists what can be looked at.
func (s *site) auditChoices(p *auditPage, r *audit.Report, in inquiry) {
	for _, t := range r.Tables {
		name := report.Capital(t.By)
		if t.By == audit.ByAll {
			name = "Rule"
		}
		p.Tables = append(p.Tables, choice{t.By, name, t.By == in.table})
	}
	p.Scopes = append(p.Scopes, choice{audit.ScopeAll, "All rules", in.scope == audit.ScopeAll})
	group := ""
	for _, rule := range r.Rules {
		if rule.Group != group {
			group = rule.Group
			p.Scopes = append(p.Scopes, choice{group, "All of: " + group, in.scope == group})
		}
		p.Scopes = append(p.Scopes, choice{rule.ID, report.Capital(rule.Title), in.scope == rule.ID})
		if rule.ID == in.scope {
			p.Per = rule.Per
		}
	}
	p.Periods = []choice{{string(audit.Week), "Week", in.by == audit.Week}, {string(audit.Month), "Month", in.by == audit.Month}}
}

// figureOf says the figure of the rules over all notes, or is empty where there is none.
func figureOf(r *audit.Report, scope string) string {
	for _, row := range tableOf(r, audit.ByAll).Rows {
		if row.Scope == scope && row.Rate != nil {
			return fmt.Sprintf("%s in %d opportunities: %s per 100, 95%% interval %s to %s.", plural.Of(row.Findings, "finding"), row.Opportunities,
				per100(row.Rate.Value), per100(row.Rate.Low), per100(row.Rate.High))
		}
	}
	return ""
}

// toldOf is what notes tell of, of all notes and by what the rows of the table are about. By resident it is
// in the whole report: there are too many for a page.
func toldOf(r *audit.Report, by string) toldView {
	lines, none := r.Told(tableOf(r, audit.ByAll), "")
	out := toldView{Lines: lines, None: strings.Join(none, "; "), By: by}
	if by == audit.ByAll || by == audit.ByResident {
		return out
	}
	table := tableOf(r, by)
	for _, row := range table.Of(audit.ScopeAll) {
		if lines, _ := r.Told(table, row.Value); len(lines) > 0 {
			out.Parts = append(out.Parts, toldPart{audit.Shown(row.Value), lines})
		}
	}
	return out
}

func tableOf(r *audit.Report, by string) audit.Table {
	i := slices.IndexFunc(r.Tables, func(t audit.Table) bool { return t.By == by })
	return r.Tables[i]
}

// auditFigures fills the table and draws.
func (s *site) auditFigures(p *auditPage, r *audit.Report, in inquiry) error {
	var points []stat.Point
	table := tableOf(r, in.table)
	rows := table.Of(in.scope)
	p.First, p.Title = report.Capital(in.table), scopeWords(r, in.scope)+", by "+in.table
	if in.table == audit.ByAll {
		p.First, p.Title = "Rule", scopeWords(r, in.scope)+", by rule"
		rows = slices.DeleteFunc(slices.Clone(table.Rows), func(row audit.Row) bool { return !within(r, row.Scope, in.scope) })
		rows = grouped(r, rows)
	}
	for _, row := range rows {
		line := auditRow{Label: audit.Shown(row.Value), Opportunities: row.Opportunities, Findings: row.Findings, Notes: row.Notes}
		if in.table == audit.ByAll {
			line.Label, line.Group = scopeWords(r, row.Scope), !isRule(r, row.Scope)
		}
		if row.Rate != nil {
			line.rate = row.Rate
			line.Rate, line.Range = per100(row.Rate.Value), per100(row.Rate.Low)+" to "+per100(row.Rate.High)
		}
		if row.Findings > 0 {
			line.Path = to("/audit/notes", "table", in.table, "scope", row.Scope, "by", string(in.by), "value", row.Value)
		}
		p.Rows = append(p.Rows, line)
		if !line.Group {
			points = append(points, stat.Point{Label: line.Label, Events: row.Findings, N: row.Opportunities})
		}
	}
	var err error
	if len(points) > mostDrawn {
		p.Scale = drawBars(p.Rows)
	} else if len(points) > 0 && in.table != audit.ByResident && in.table != string(in.by) {
		rates := stat.Rates(points, audit.Level)
		if p.Picture, err = pictureOf("rates", p.Title, "Each rate is a dot on its interval; the table gives the figures.", audit.PerOpportunity,
			func(w io.Writer, opt draw.Options) error { return draw.Rates(w, rates, opt) }); err != nil {
			return err
		}
	}
	for _, c := range r.Charts {
		if c.Scope != in.scope || c.Measure != audit.PerOpportunity {
			continue
		}
		d := drawing{Words: audit.InWords(c.Words), Why: audit.InWords(c.Chart.Why)}
		if d.Picture, err = pictureOf("change", scopeWords(r, in.scope)+" by "+string(in.by), d.Words, c.Measure,
			func(w io.Writer, opt draw.Options) error { return draw.Control(w, audit.ForPeople(c.Chart), opt) }); err != nil {
			return err
		}
		p.Change = &d
	}
	for _, f := range r.Funnels {
		if f.Scope != in.scope {
			continue
		}
		d := drawing{Words: f.Words}
		if d.Picture, err = pictureOf("units", scopeWords(r, in.scope)+", units side by side", f.Words, audit.PerOpportunity,
			func(w io.Writer, opt draw.Options) error { return draw.Funnel(w, f.Plot, opt) }); err != nil {
			return err
		}
		p.Funnel = &d
	}
	return nil
}

// drawBars gives the rows their bars, and says the scale of them all.
func drawBars(rows []auditRow) string {
	var top float64
	for _, r := range rows {
		if r.rate != nil {
			top = max(top, r.rate.High)
		}
	}
	scale := 1.0
	for _, s := range []float64{0.01, 0.02, 0.05, 0.1, 0.2, 0.5} {
		if top <= s {
			scale = s
			break
		}
	}
	at := func(share float64) int { return 4 + int(share/scale*barWidth+0.5) }
	for i, r := range rows {
		if r.rate != nil {
			rows[i].Bar = &bar{at(r.rate.Low), at(r.rate.Value), at(r.rate.High)}
		}
	}
	return fmt.Sprintf("From 0 to %g", 100*scale)
}

// grouped puts each group of rules above its rules, in the order of the rules.
func grouped(r *audit.Report, rows []audit.Row) []audit.Row {
	place := func(scope string) int {
		if scope == audit.ScopeAll {
			return -1
		}
		for i, rule := range r.Rules {
			if rule.Group == scope {
				return 2 * i
			}
			if rule.ID == scope {
				return 2*i + 1
			}
		}
		return 2 * len(r.Rules)
	}
	slices.SortStableFunc(rows, func(a, b audit.Row) int { return place(a.Scope) - place(b.Scope) })
	return rows
}

// within reports whether a scope is the wanted one or a part of it.
func within(r *audit.Report, scope, wanted string) bool {
	return wanted == audit.ScopeAll || scope == wanted ||
		slices.ContainsFunc(r.Rules, func(rule audit.Rule) bool { return rule.ID == scope && rule.Group == wanted })
}

func isRule(r *audit.Report, scope string) bool {
	return slices.ContainsFunc(r.Rules, func(rule audit.Rule) bool { return rule.ID == scope })
}

// scopeWords names a scope: a rule by its title.
func scopeWords(r *audit.Report, scope string) string {
	for _, rule := range r.Rules {
		if rule.ID == scope {
			return report.Capital(rule.Title)
		}
	}
	return report.Capital(scope)
}

// pictureOf draws in both widths.
func pictureOf(id, title, words, unit string, paint func(io.Writer, draw.Options) error) (picture, error) {
	var b [2]bytes.Buffer
	for i, width := range []int{wideDrawing, narrowDrawing} {
		if err := paint(&b[i], draw.Options{ID: id + "-" + strconv.Itoa(width), Title: title, Words: words, Unit: unit, Width: width}); err != nil {
			return picture{}, err
		}
	}
	return picture{template.HTML(b[0].String()), template.HTML(b[1].String())}, nil // made of escaped parts by the package that draws
}

// per100 writes a share per 100 with one decimal.
func per100(share float64) string { return strconv.FormatFloat(100*share, 'f', 1, 64) }

// dayWords writes a date "2006-01-02" for people.
func dayWords(s string) string {
	t, err := time.Parse(time.DateOnly, s)
	if err != nil {
		return s
	}
	return t.Format("2 January 2006")
}

// An auditNotesPage is the findings behind a figure.
type auditNotesPage struct {
	Title string
	Back  string
	Total int
	Notes int
	First int // number of the first one shown, from 1
	Last  int
	Found []open
	More  string
}

// pageOfFound is how many findings behind a figure are shown at once.
const pageOfFound = 25

// auditNotes shows the findings behind one figure, with the words that they are about.
func (s *site) auditNotes(r *http.Request, v *sight.Visit) (*reply, error) {
	ctx := r.Context()
	a, err := auditOf(ctx, v)
	if err != nil {
		return nil, err
	}
	book, err := s.window.Answers()
	if err != nil {
		return nil, err
	}
	q := r.URL.Query()
	in, err := inquire(q, a.Figures)
	if err != nil {
		return nil, err
	}
	report := a.Figures(in.by)
	value := q.Get("value")
	behind := a.Behind(func(c sight.Counted) bool { return s.counts(in, value, c) })
	p := auditNotesPage{
		Title: scopeWords(report, in.scope), Back: to("/audit", "table", in.table, "by", string(in.by)),
		Total: behind.Len(), Notes: behind.Places,
	}
	if in.table != audit.ByAll {
		p.Title += ", " + in.table + " " + audit.Shown(value)
	}
	from, err := strconv.Atoi(q.Get("from"))
	if err != nil || from < 1 || from > behind.Len() {
		from = 1
	}
	until := min(behind.Len(), from-1+pageOfFound)
	p.First, p.Last = from, until
	if until < behind.Len() {
		p.More = to("/audit/notes", "table", in.table, "scope", in.scope, "by", string(in.by), "value", value, "from", strconv.Itoa(until+1))
	}
	mayFollow := s.session(ctx).May(guard.Review)
	for _, f := range behind.Open(from-1, until) {
		o := s.open(f, book)
		if !mayFollow {
			o.Path = ""
		}
		p.Found = append(p.Found, o)
	}
	return s.page(r, http.StatusOK, "behind", frame{Title: "Behind the figure", Path: "/audit", Body: p})
}

// counts reports whether the finding is among those of a figure.
func (s *site) counts(in inquiry, value string, c sight.Counted) bool {
	if in.scope != audit.ScopeAll && in.scope != c.Rule && in.scope != c.Group {
		return false
	}
	switch in.table {
	case audit.ByUnit:
		return c.Unit == value
	case audit.ByShift:
		return c.Shift.Name == value
	case audit.ByRole:
		return c.Noted && c.Role == value
	case audit.ByResident:
		return c.Resident == value
	case string(audit.Week), string(audit.Month):
		return periodOf(in.by, s.window.Calendar().Start(c.Shift)) == value
	}
	return true
}

// periodOf is the label of the period that a shift belongs to by its start, as audits have it.
func periodOf(by audit.Period, start time.Time) string {
	if by == audit.Month {
		return start.Format("2006-01")
	}
	year, week := start.ISOWeek()
	return fmt.Sprintf("%04d-W%02d", year, week)
}

// auditReport gives the whole report as one page to keep.
func (s *site) auditReport(r *http.Request, v *sight.Visit) (*reply, error) {
	a, err := auditOf(r.Context(), v)
	if err != nil {
		return nil, err
	}
	in, err := inquire(r.URL.Query(), a.Figures)
	if err != nil {
		return nil, err
	}
	report := a.Whole(in.by)
	var buf bytes.Buffer
	if err := page.HTML(&buf, report); err != nil {
		return nil, err
	}
	return &reply{
		status: http.StatusOK,
		header: []string{"Content-Type", "text/html; charset=utf-8", "Content-Disposition", `attachment; filename="audit-` + report.To + `.html"`},
		body:   buf.Bytes(),
	}, nil
}
