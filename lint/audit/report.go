package audit

import (
	"cmp"
	"fmt"
	"maps"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"time"

	"example.com/stance/lint/audit/stat"
	"example.com/stance/lint/report"
)

// Level is the level of every interval of a report.
const Level = 0.95

// A Report is the figures of an audit with what one must know to read them. Its JSON form is the
// published one. Shares are from 0 to 1; the writers show them per 100.
type Report struct {
	Made          time.Time   `json:"made"`
	Version       string      `json:"version"` // of the program that read the notes
	From          string      `json:"from"`    // date of the first shift counted, "2026-11-01"; empty for none
	To            string      `json:"to"`      // date of the last one
	By            Period      `json:"by"`
	Notes         int         `json:"notes"`
	Residents     int         `json:"residents"`
	LeftOut       []LeftOut   `json:"left_out"`       // what was not counted; empty where everything was
	Charted       bool        `json:"charted"`        // a chart was given
	NotUnderstood int         `json:"not_understood"` // sentences about moving of which nothing was read; among LeftOut
	StandsOut     []string    `json:"stands_out"`     // what differs by more than chance, in sentences, the most first
	Policy        Policy      `json:"policy"`
	Names         Names       `json:"names"`
	Rules         []Rule      `json:"rules"` // in force, in the order of the published tables
	Events        []Event     `json:"events"`
	Tables        []Table     `json:"tables"`
	Charts        []Chart     `json:"charts"`
	Funnels       []Funnel    `json:"funnels"`
	Method        []Paragraph `json:"method"`
	Caution       string      `json:"caution"`
}

// LeftOut is a number of things that are not in the figures, and why.
type LeftOut struct {
	N    int    `json:"n"`
	What string `json:"what"` // "records of notes"; "record of a note" where N is 1
	Why  string `json:"why"`
}

// A Rule is a rule that was in force.
type Rule struct {
	ID       string `json:"id"`
	Group    string `json:"group"`
	Severity string `json:"severity"`
	Title    string `json:"title"`
	Per      string `json:"per"` // what an opportunity is
}

// What the rows of a table are about, beside periods.
const (
	ByAll      = "all" // one value, ""
	ByUnit     = "unit"
	ByShift    = "shift"
	ByRole     = "role"
	ByResident = "resident"
)

// ScopeAll is the scope of all rules together. Other scopes are a group of rules by its name and a
// rule by its ID.
const ScopeAll = "all rules"

// A Table holds rates by one property of notes.
type Table struct {
	By     string     `json:"by"`     // ByAll, ByUnit … or a Period
	Rows   []Row      `json:"rows"`   // by value, then by scope: all rules, groups, rules
	Events []EventRow `json:"events"` // by value, then in the order of the report's events
}

// Of are the rows of one scope.
func (t Table) Of(scope string) []Row {
	return slices.DeleteFunc(slices.Clone(t.Rows), func(r Row) bool { return r.Scope != scope })
}

// A Row is the counts and the rate of one scope of rules in one value of a table.
type Row struct {
	Value         string `json:"value"` // "Birch", "night", "2026-W48"; empty where notes do not say
	Scope         string `json:"scope"`
	All           int    `json:"all_notes"`     // notes of that value
	Notes         int    `json:"notes"`         // of them, notes with at least one opportunity
	Flagged       int    `json:"flagged"`       // of them, notes with at least one finding
	Opportunities int    `json:"opportunities"` // in notes, and in shifts that should have had one
	Findings      int    `json:"findings"`      // at most one an opportunity
	Rate          *Rate  `json:"rate"`          // null: no opportunities, so no rate
}

// A Rate is findings over opportunities with its Wilson interval, each 0 to 1.
type Rate struct {
	Value float64 `json:"value"`
	Low   float64 `json:"low"`
	High  float64 `json:"high"`
}

// Measures of a chart.
const (
	PerOpportunity = "findings per 100 opportunities"
	PerNote        = "findings per 100 notes"
)

// A Chart is the course of one figure over time. Its points are the periods from the first to the
// last, each once, whether or not it has notes.
type Chart struct {
	Scope   string     `json:"scope"`
	Measure string     `json:"measure"` // PerOpportunity or PerNote
	Chart   stat.Chart `json:"chart"`
	Words   string     `json:"words"` // which points signal and which don't
}

// Signals reports whether any point of the chart signals.
func (c *Chart) Signals() bool {
	return slices.ContainsFunc(c.Chart.Points, func(p stat.Limit) bool { return len(p.Signals) > 0 })
}

// A Funnel holds the units against one another in one scope, by findings per 100 opportunities.
type Funnel struct {
	Scope string          `json:"scope"`
	Plot  stat.FunnelPlot `json:"plot"`
	Words string          `json:"words"`
}

// A Paragraph says one thing about how the figures came about.
type Paragraph struct {
	Title  string `json:"title"`
	Words  string `json:"words"`
	Source string `json:"source,omitempty"` // title, year and section, where it was published
}

// Report makes the report of what has been counted.
func (t *Tally) Report(by Period, made time.Time) *Report {
	r := &Report{
		Made: made, Version: t.head.Version, By: by, Charted: t.head.Charted, Policy: t.head.Policy,
		Names: t.head.Names, Rules: t.head.Rules, Events: t.events, LeftOut: t.leftOut(), NotUnderstood: t.overlooked,
		Notes: t.Notes(), Residents: len(t.values[ByResident]), Method: method(), Caution: report.Caution,
	}
	days := slices.Sorted(maps.Keys(t.values[byDay]))
	if len(days) > 0 {
		r.From, r.To = days[0], days[len(days)-1]
	}
	periods := t.periods(by, days)
	for _, dim := range []string{ByAll, ByUnit, ByShift, ByRole, ByResident} {
		r.Tables = append(r.Tables, t.table(dim, slices.Sorted(maps.Keys(t.values[dim])), t.values[dim]))
	}
	labels := by.labels(days)
	r.Tables = append(r.Tables, t.table(string(by), labels, periods))
	r.Charts = t.charts(labels, periods)
	r.Funnels = t.funnels()
	r.StandsOut = standsOut(r)
	return r
}

// Notes is the number of notes counted.
func (t *Tally) Notes() int {
	if all := t.values[ByAll][""]; all != nil {
		return all.notes
	}
	return 0
}

// periods adds the days up.
func (t *Tally) periods(by Period, days []string) map[string]*value {
	sums := make(map[string]*value)
	for _, day := range days {
		label := by.of(day)
		if sums[label] == nil {
			sums[label] = t.newValue()
		}
		sums[label].add(t.values[byDay][day])
	}
	return sums
}

// table has a row for every scope of every value. Of residents, who may be many, it leaves out the
// rows with no opportunities.
func (t *Tally) table(by string, labels []string, values map[string]*value) Table {
	out := Table{By: by, Rows: []Row{}, Events: []EventRow{}}
	for _, label := range labels {
		v := values[label]
		if v == nil {
			v = t.newValue()
		}
		out.Events = append(out.Events, t.eventRows(by, label, v)...)
		for i, scope := range t.scopes {
			c := v.cells[i]
			if by == ByResident && c.Opportunities == 0 && scope != ScopeAll {
				continue
			}
			row := Row{Value: label, Scope: scope, All: v.notes, Notes: c.Notes, Flagged: c.Flagged,
				Opportunities: c.Opportunities, Findings: c.Findings}
			if c.Opportunities > 0 {
				iv := stat.Wilson(c.Findings, c.Opportunities, Level)
				row.Rate = &Rate{float64(c.Findings) / float64(c.Opportunities), iv.Low, iv.High}
			}
			out.Rows = append(out.Rows, row)
		}
	}
	return out
}

// charts draws all rules per note, and each scope with a finding per opportunity.
func (t *Tally) charts(labels []string, periods map[string]*value) []Chart {
	points := func(of func(*value) (events, n int)) []stat.Point {
		out := make([]stat.Point, len(labels))
		for i, label := range labels {
			out[i].Label = label
			if v := periods[label]; v != nil {
				out[i].Events, out[i].N = of(v)
			}
		}
		return out
	}
	out := []Chart{}
	if len(labels) == 0 {
		return out
	}
	all := slices.Index(t.scopes, ScopeAll)
	c := stat.Counts(points(func(v *value) (int, int) { return v.cells[all].Findings, v.notes }))
	out = append(out, Chart{ScopeAll, PerNote, c, c.Words()})
	for i, scope := range t.scopes {
		if t.values[ByAll][""].cells[i].Findings == 0 {
			continue
		}
		c := stat.Proportions(points(func(v *value) (int, int) { return v.cells[i].Findings, v.cells[i].Opportunities }))
		out = append(out, Chart{scope, PerOpportunity, c, c.Words()})
	}
	return out
}

// funnels sets the units side by side, where there are at least two, in all rules and in each scope
// with enough findings: where there are but a few, one unit must have most of them.
func (t *Tally) funnels() []Funnel {
	out := []Funnel{}
	units := slices.Sorted(maps.Keys(t.values[ByUnit]))
	if len(units) < 2 {
		return out
	}
	for i, scope := range t.scopes {
		if t.values[ByAll][""].cells[i].Findings < stat.FewestExpected {
			continue
		}
		points := make([]stat.Point, len(units))
		for j, u := range units {
			c := t.values[ByUnit][u].cells[i]
			points[j] = stat.Point{Label: Shown(u), Events: c.Findings, N: c.Opportunities}
		}
		f := stat.Funnel(points)
		out = append(out, Funnel{scope, f, f.Words()})
	}
	return out
}

// Shown is a value as people read it: "(not stated)" where notes do not say.
func Shown(value string) string { return cmp.Or(InWords(value), "(not stated)") }

// InWords names the weeks of a text by their Monday, "week of 9 November 2026", and a value that is a month by its name.
// Programs get the labels as they are.
func InWords(s string) string {
	if t, err := time.Parse("2006-01", s); err == nil {
		return t.Format("January 2006")
	}
	return regexp.MustCompile(`\b(\d{4})-W(\d{2})\b`).ReplaceAllStringFunc(s, func(label string) string {
		year, _ := strconv.Atoi(label[:4])
		week, _ := strconv.Atoi(label[6:])
		first := time.Date(year, 1, 4, 0, 0, 0, 0, time.UTC) // is always in week 1
		monday := first.AddDate(0, 0, -(int(first.Weekday())+6)%7+7*(week-1))
		return "week of " + monday.Format("2 January 2006")
	})
}

// ForPeople is the chart with its periods named.
func ForPeople(c stat.Chart) stat.Chart {
	c.Points = slices.Clone(c.Points)
	for i := range c.Points {
		c.Points[i].Label = InWords(c.Points[i].Label)
	}
	return c
}

// A Period is what the points of a chart cover.
type Period string

// The periods. Weeks are those of ISO 8601, from Monday, labelled "2026-W48"; months "2026-11". A shift
// belongs to the period of the date on which it began.
const (
	Week  Period = "week"
	Month Period = "month"
)

// of is the period's label of a day "2026-11-24".
func (p Period) of(day string) string {
	if p == Month {
		return day[:len("2006-01")]
	}
	t, err := time.Parse(time.DateOnly, day)
	if err != nil {
		panic("audit: a day that is no date") // days come from shifts, or from a partial that was checked
	}
	year, week := t.ISOWeek()
	return fmt.Sprintf("%04d-W%02d", year, week)
}

// labels are the periods from the first of the sorted days to the last, each once.
func (p Period) labels(days []string) []string {
	if len(days) == 0 {
		return nil
	}
	first, err := time.Parse(time.DateOnly, days[0])
	if err != nil {
		panic("audit: a day that is no date")
	}
	var out []string
	for t := first; ; t = t.AddDate(0, 0, 1) {
		day := t.Format(time.DateOnly)
		if label := p.of(day); len(out) == 0 || out[len(out)-1] != label {
			out = append(out, label)
		}
		if strings.Compare(day, days[len(days)-1]) >= 0 {
			return out
		}
	}
}
