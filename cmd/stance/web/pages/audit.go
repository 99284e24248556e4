package pages

import (
	"bytes"
	"cmp"
	"fmt"
	"html/template"
	"io"
	"net/http"
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
	"example.com/stance/lint/finding"
	"example.com/stance/lint/plural"
	"example.com/stance/lint/report"
)

// An auditPage is the place where figures over many notes are looked at.
type auditPage struct {
	Tables      []choice // what the rows are about
	Scopes      []choice // which rules
	Periods     []choice
	Units       []choice // which notes count
	From, Until string   // days, "2026-11-24"
	Narrowed    link     // away from a unit or days; zero where all notes count
	Sort        string
	StandsOut   []string // of all rules together, the most first
	Part        bool     // only some rules are looked at
	Opening     string
	Figure      string // of the rules chosen, over all notes
	Answers     answersView
	LeftOut     []string
	Charted     bool
	Title       string // of the table
	Heads       []auditHead
	Harm        link // to the order of harm; zero where rows are in it, or have none
	Rows        []auditRow
	Zero        []auditRow // with nothing found, folded
	ZeroWords   string
	Scale       string // of the bars in the rows; empty for none
	Picture     picture
	Told        toldView
	Change      *drawing // over time, where there is a chart of these rules
	Funnel      *drawing // units side by side
	Method      []audit.Paragraph
	Per         string // what an opportunity is, for one rule
	Report      string // path of the whole report
	Empty       bool
}

// An auditHead is the heading of a column, by which rows can be put in order.
type auditHead struct {
	Name, Path string
	Sort       string // ascending or descending, where rows are in this order
	Number     bool
}

// An auditRow is a line of the table.
type auditRow struct {
	Label                   string
	Grade                   finding.Severity // of a rule
	Shape                   string
	Group                   bool // of several rules
	Opportunities, Findings int
	Rate, Range             string // per 100; empty for none, and for too few
	Path                    string // of the findings behind it, or empty
	rate                    *audit.Rate
	scope                   string
	Bar                     *bar
}

// An answersView is what was made of the findings of a figure.
type answersView struct {
	Words     string
	Precision string // empty where none was answered
	Rules     []answeredRule
}

// An answeredRule is a rule of which findings were answered.
type answeredRule struct {
	Title                string
	Open, Held, Mistaken int
	Precision            string
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
	wideDrawing   = 690
	narrowDrawing = 288
)

// mostDrawn is how many rates are drawn above their table. More have no room for their names there, so
// each is drawn in its row.
const mostDrawn = 12

// An inquiry is what is asked of an audit.
type inquiry struct {
	table string       // audit.ByAll, audit.ByUnit …, or the period
	scope string       // audit.ScopeAll, a group of rules or a rule
	by    audit.Period // of charts
	sort  string       // of the rows
	span  sight.Span   // what counts
}

// Orders of rows. The first is that of rules, the second that of all else, by themselves.
const (
	sortHarm     = "harm" // what was found first, errors before hints, the more before the fewer
	sortName     = "name" // of rules, in the order in which they are published, each under its group
	sortFindings = "findings"
	sortRate     = "rate"
)

// inquire reads what is asked, and looks at what it asks for.
func (s *site) inquire(r *http.Request, v *sight.Visit) (inquiry, *sight.Sight, *sight.Audit, error) {
	q := r.URL.Query()
	in := inquiry{table: cmp.Or(q.Get("table"), audit.ByAll), scope: cmp.Or(q.Get("scope"), audit.ScopeAll), by: audit.Period(cmp.Or(q.Get("by"), string(audit.Week)))}
	in.span = sight.Span{Unit: cmp.Or(q.Get("unit"), sight.AllUnits), From: q.Get("from_day"), Until: q.Get("until_day")}
	if in.by != audit.Week && in.by != audit.Month {
		return in, nil, nil, errFigure
	}
	for _, day := range []string{in.span.From, in.span.Until} {
		if _, err := time.Parse(time.DateOnly, day); day != "" && err != nil {
			return in, nil, nil, &refusal{status: http.StatusBadRequest, title: "That is no day", words: "Go back and choose days of the calendar, as 2026-11-24."}
		}
	}
	if in.span.From != "" && in.span.Until != "" && in.span.Until < in.span.From {
		in.span.From, in.span.Until = in.span.Until, in.span.From
	}
	look, err := v.Look(r.Context())
	if err != nil {
		return in, nil, nil, err
	}
	if !slices.ContainsFunc(unitsSeen(look, in.span.Unit), func(c choice) bool { return c.Chosen }) {
		return in, nil, nil, errUnit
	}
	a, err := look.Audit(r.Context(), in.span)
	if err != nil {
		return in, nil, nil, err
	}
	report := a.Figures(in.by)
	if in.table == string(audit.Week) || in.table == string(audit.Month) {
		in.table = string(in.by) // periods of the other kind are in the other report
	}
	known := slices.ContainsFunc(report.Tables, func(t audit.Table) bool { return t.By == in.table }) &&
		(in.scope == audit.ScopeAll || slices.ContainsFunc(report.Rules, func(r audit.Rule) bool { return r.ID == in.scope || r.Group == in.scope }))
	usual := sortName
	if in.table == audit.ByAll {
		usual = sortHarm
	}
	in.sort = cmp.Or(q.Get("sort"), usual)
	if !known || !slices.Contains([]string{usual, sortName, sortFindings, sortRate}, in.sort) {
		return in, nil, nil, errFigure
	}
	return in, look, a, nil
}

// path leads to the same inquiry elsewhere, with some of it changed: pairs of name and value.
func (in inquiry) path(path string, change ...string) string {
	pairs := []string{"table", in.table, "scope", in.scope, "by", string(in.by), "from_day", in.span.From, "until_day", in.span.Until}
	if in.span.Unit != sight.AllUnits {
		pairs = append(pairs, "unit", in.span.Unit)
	}
	return to(path, append(pairs, change...)...)
}

var errFigure = &refusal{status: http.StatusNotFound, title: "No such figure", words: "Go to the audit and choose from the lists there."}

// audit shows one table with its drawings.
func (s *site) audit(r *http.Request, v *sight.Visit) (*reply, error) {
	in, look, a, err := s.inquire(r, v)
	if err != nil {
		return nil, err
	}
	book, err := s.window.Answers()
	if err != nil {
		return nil, err
	}
	report := a.Figures(in.by)
	if in.table == audit.ByResident {
		report = a.Whole(in.by)
	}
	p := auditPage{Charted: report.Charted, Method: report.Method, Empty: report.Notes == 0, Sort: in.sort, StandsOut: report.StandsOut,
		Units: unitsSeen(look, in.span.Unit), From: in.span.From, Until: in.span.Until, Report: in.path("/audit/report")}
	if in.span != (sight.Span{Unit: sight.AllUnits}) {
		p.Narrowed = link{to("/audit", "table", in.table, "scope", in.scope, "by", string(in.by)), "Count all notes"}
	}
	p.Opening = fmt.Sprintf("%s on %s.", plural.Of(report.Notes, "note"), plural.Of(report.Residents, "resident"))
	if report.From != "" {
		p.Opening += " Shifts of " + dayWords(report.From) + " to " + dayWords(report.To) + "."
	}
	for _, l := range report.LeftOut {
		p.LeftOut = append(p.LeftOut, fmt.Sprintf("%d %s that %s.", l.N, l.What, l.Why))
	}
	s.auditChoices(&p, report, in)
	p.Figure, p.Part = figureOf(report, in.scope), in.scope != audit.ScopeAll
	if p.Part && p.Figure == "" {
		p.Figure = "There was nothing that these rules could have flagged."
	}
	p.Told = toldOf(report, in.table)
	p.Answers = answersOf(report, a.Answers(book, func(c sight.Counted) bool { return within(report, c.Rule, in.scope) }))
	if !p.Empty {
		if err := s.auditFigures(&p, report, in); err != nil {
			return nil, err
		}
	}
	return s.page(r, http.StatusOK, "audit", frame{Title: "Audit", Path: "/audit", Body: p})
}

// answersOf says what was made of findings, by rule, in the order of the rules.
func answersOf(r *audit.Report, by map[string]sight.Answered) answersView {
	var out answersView
	var all sight.Answered
	for _, rule := range r.Rules {
		n := by[rule.ID]
		all.Open += n.Open
		all.Held += n.Held
		all.Mistaken += n.Mistaken
		if n.Held+n.Mistaken > 0 {
			rate, _ := audit.Precision(n.Held, n.Mistaken)
			out.Rules = append(out.Rules, answeredRule{report.Capital(rule.Title), n.Open, n.Held, n.Mistaken, rate.Said()})
		}
	}
	found := all.Open + all.Held + all.Mistaken
	switch {
	case found == 0:
		return answersView{}
	case all.Open == found:
		out.Words = fmt.Sprintf("None of %s is answered yet. Open a number of findings to read and to answer them.", plural.Of(found, "finding"))
		return out
	}
	out.Words = fmt.Sprintf("Of %s %d %s open, %d confirmed or put right and %d mistaken.", plural.Of(found, "finding"), all.Open, areOrIs(all.Open), all.Held, all.Mistaken)
	rate, _ := audit.Precision(all.Held, all.Mistaken)
	if rate.N < stat.FewestRate {
		out.Precision = fmt.Sprintf("Of those answered, %s held: too few for a rate.", rate.Said())
	} else {
		out.Precision = fmt.Sprintf("Of 100 answered, %s held (95 %% interval %s to %s, by Wilson's score method).", per100(rate.Value), per100(rate.Interval.Low), per100(rate.Interval.High))
	}
	return out
}

func areOrIs(n int) string {
	if n == 1 {
		return "is"
	}
	return "are"
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
		if row.Scope != scope || row.Rate == nil {
			continue
		}
		said := fmt.Sprintf("%s in %d opportunities", plural.Of(row.Findings, "finding"), row.Opportunities)
		if row.Opportunities < stat.FewestRate {
			return said + ": too few for a rate."
		}
		return fmt.Sprintf("%s: %s per 100, 95 %% interval %s to %s.", said, per100(row.Rate.Value), per100(row.Rate.Low), per100(row.Rate.High))
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
	points := auditRows(p, r, in)
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

// auditRows fills the table in the order asked for, and gives what may be drawn of it.
func auditRows(p *auditPage, r *audit.Report, in inquiry) []stat.Point {
	table := tableOf(r, in.table)
	rows := table.Of(in.scope)
	first, one := report.Capital(in.table), in.table
	if in.table == audit.ByAll {
		first, one = "Rule", "rule"
		rows = slices.DeleteFunc(slices.Clone(table.Rows), func(row audit.Row) bool { return !within(r, row.Scope, in.scope) })
		rows = grouped(r, rows)
	}
	p.Title = scopeWords(r, in.scope) + ", by " + one
	var all []auditRow
	for _, row := range rows {
		line := auditRow{Label: audit.Shown(row.Value), Opportunities: row.Opportunities, Findings: row.Findings, rate: row.Rate, scope: row.Scope}
		if in.table == audit.ByAll {
			line.Label = scopeWords(r, row.Scope)
			if rule := ruleOf(r, row.Scope); rule == nil {
				line.Group = true
			} else {
				line.Grade = finding.Severity(rule.Severity)
				line.Shape = shape(line.Grade)
			}
		}
		if row.Rate != nil && row.Opportunities >= stat.FewestRate {
			line.Rate, line.Range = per100(row.Rate.Value), per100(row.Rate.Low)+" to "+per100(row.Rate.High)
		}
		if row.Findings > 0 {
			line.Path = in.path("/audit/notes", "scope", row.Scope, "value", row.Value, "of", in.scope)
		}
		all = append(all, line)
	}
	if in.sort != sortName {
		// Groups tell the same again; of several rules only the whole stays, above them.
		all = slices.DeleteFunc(all, func(l auditRow) bool { return l.Group && l.scope != in.scope })
		slices.SortStableFunc(all, func(a, b auditRow) int { return cmp.Or(wide(b)-wide(a), compareRows(in.sort, a, b)) })
	}
	folds := in.table == audit.ByAll || in.table == audit.ByResident
	var points []stat.Point
	for _, l := range all {
		if !l.Group && l.Rate != "" { // too few would stretch the scale for all others
			points = append(points, stat.Point{Label: l.Label, Events: l.Findings, N: l.Opportunities})
		}
		if folds && l.Findings == 0 && !l.Group {
			p.Zero = append(p.Zero, l)
		} else {
			p.Rows = append(p.Rows, l)
		}
	}
	if n := len(p.Zero); n > 0 {
		p.ZeroWords = plural.Of(n, one) + " with no finding"
	}
	head := func(name, order, sort string, number bool) {
		h := auditHead{Name: name, Number: number, Path: in.path("/audit", "sort", order) + "#rates-name"}
		if in.sort == order {
			h.Sort = sort
		}
		p.Heads = append(p.Heads, h)
	}
	head(first, sortName, "ascending", false)
	head("Findings", sortFindings, "descending", true)
	head("Per 100", sortRate, "descending", true)
	if in.table == audit.ByAll && in.sort != sortHarm {
		p.Harm = link{in.path("/audit") + "#rates-name", "Put the worst first"}
	}
	return points
}

// wide is 1 for a row of several rules, which stands above them.
func wide(l auditRow) int {
	if l.Group {
		return 1
	}
	return 0
}

// compareRows puts two rows in an order, those with nothing found last.
func compareRows(order string, a, b auditRow) int {
	switch order {
	case sortFindings:
		return b.Findings - a.Findings
	case sortRate:
		value := func(l auditRow) float64 {
			if l.Rate == "" {
				return -1 // too few for a rate
			}
			return l.rate.Value
		}
		return cmp.Compare(value(b), value(a))
	}
	found := func(l auditRow) int { return min(1, l.Findings) }
	return cmp.Or(found(b)-found(a), b.Grade.Rank()-a.Grade.Rank(), b.Findings-a.Findings)
}

// drawBars gives the rows their bars, and says the scale of them all.
func drawBars(rows []auditRow) string {
	var top float64
	for _, r := range rows {
		if r.Rate != "" {
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
		if r.Rate != "" {
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

// ruleOf is the rule of that id, nil for a scope that is none.
func ruleOf(r *audit.Report, scope string) *audit.Rule {
	if i := slices.IndexFunc(r.Rules, func(rule audit.Rule) bool { return rule.ID == scope }); i >= 0 {
		return &r.Rules[i]
	}
	return nil
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
	Title  string
	Back   string
	Total  string // "4 findings"
	Places string
	Said   string // what the last answer did
	First  int    // number of the first one shown, from 1
	Last   int
	Found  []open
	More   string
}

// pageOfFound is how many findings behind a figure are shown at once.
const pageOfFound = 25

// auditNotes shows the findings behind one figure in the order of harm, with the words that they are about, and takes
// answers to them.
func (s *site) auditNotes(r *http.Request, v *sight.Visit) (*reply, error) {
	ctx := r.Context()
	in, look, a, err := s.inquire(r, v)
	if err != nil {
		return nil, err
	}
	book, err := s.window.Answers()
	if err != nil {
		return nil, err
	}
	q := r.URL.Query()
	report := a.Figures(in.by)
	value := q.Get("value")
	behind := a.Behind(func(c sight.Counted) bool { return s.counts(in, value, c) })
	p := auditNotesPage{
		Title: scopeWords(report, in.scope), Back: in.path("/audit", "scope", cmp.Or(q.Get("of"), in.scope)), Total: plural.Of(behind.Len(), "finding"), Places: plural.Of(behind.Places, "place"),
	}
	if in.table != audit.ByAll {
		p.Title += ", " + valueWords(in.table, value)
	}
	if did := finding.Verdict(q.Get("did")); slices.Contains(finding.Verdicts(), did) {
		p.Said = "Answered as " + did.Said() + "."
	}
	from, err := strconv.Atoi(q.Get("from"))
	if err != nil || from < 1 || from > behind.Len() {
		from = 1
	}
	until := min(behind.Len(), from-1+pageOfFound)
	p.First, p.Last = from, until
	here := func(from int) string {
		return in.path("/audit/notes", "value", value, "of", q.Get("of"), "from", strconv.Itoa(from))
	}
	if until < behind.Len() {
		p.More = here(until + 1)
	}
	mayFollow := s.session(ctx).May(guard.Review)
	form := answerForm{CSRF: s.session(ctx).CSRF, Unit: sight.AllUnits, NeedsBy: s.session(ctx).User == "", By: q.Get("did_by"), Back: here(from)}
	if mayFollow && s.window.CanAnswer() {
		form.Verdicts = verdictChoices()
	}
	noted := make(map[string]bool) // shifts that an answer can be about
	for _, k := range look.Shifts(sight.AllUnits) {
		noted[k.String()] = true
	}
	for i, f := range behind.Open(from-1, until) {
		o := s.open(f, book)
		o.Number = from + i
		if !mayFollow {
			o.Path = ""
		}
		if form.Verdicts != nil && noted[f.Shift] {
			one := form
			one.Name, one.Label, one.IDs, one.Shift = f.ID, "Answer this", []string{f.ID}, f.Shift
			if o.Answer != nil {
				one.Label = "Change the answer"
			}
			o.Reply = &one
		}
		p.Found = append(p.Found, o)
	}
	return s.page(r, http.StatusOK, "behind", frame{Title: "Behind the figure", Path: "/audit", Body: p})
}

// valueWords names a value of a table: "evening shift", "care worker", "week of 9 November 2026".
func valueWords(table, value string) string {
	shown := audit.Shown(value)
	switch {
	case table == audit.ByShift && value != "":
		return shown + " shift"
	case value == "":
		return table + " " + shown
	}
	return shown
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
	in, _, a, err := s.inquire(r, v)
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
