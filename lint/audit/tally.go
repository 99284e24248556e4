// Package audit counts what a check finds in months of notes, over what it could have found, by rule,
// group of rules, unit, shift, role, resident and day, and makes a report of rates, charts and funnel
// plots from that. Beside the findings it counts events: falls by their cause, hazards, injured staff and
// posted signs, as notes tell them.
//
// A [Tally] takes one resident's judged notes after another and holds counts alone, so its size grows
// with the groups and not with the notes. Tallies of parts of the notes, written as partials
// ([Tally.Partial], [ReadPartial]), merge into the very one that a single run gives, in any order.
// [Tally.Report] makes the [Report] that the writers [Text], [JSON] and [CSV] take.
//
// It judges no note and knows no file; what rules look for and when they apply comes from lint/rules,
// and the mathematics from lint/audit/stat.
package audit

import (
	"fmt"
	"slices"
	"time"

	"example.com/stance/lint/rules"
	"example.com/stance/lint/shift"
	"example.com/stance/lint/timeline"
)

// byDay holds the days that periods are added up from.
const byDay = "day"

// dimensions are what a tally counts by.
func dimensions() []string { return []string{ByAll, ByUnit, ByShift, ByRole, ByResident, byDay} }

// A Cell is the counts of one scope of rules in one value of a dimension.
type cell struct {
	Notes         int // notes with an opportunity
	Flagged       int // notes with a finding
	Opportunities int
	Findings      int
}

func (c *cell) add(o cell) {
	c.Notes += o.Notes
	c.Flagged += o.Flagged
	c.Opportunities += o.Opportunities
	c.Findings += o.Findings
}

// A value is the counts of one unit, shift, role, resident or day.
type value struct {
	notes int
	cells []cell // one for each scope
	told  []tell // one for each event
}

func (v *value) add(o *value) {
	v.notes += o.notes
	for i := range v.cells {
		v.cells[i].add(o.cells[i])
	}
	for i := range v.told {
		v.told[i].add(o.told[i])
	}
}

// Options say what a tally is of.
type Options struct {
	Version string // of the program
	Charted bool   // a chart was given
	Policy  Policy
	Names   Names

	// Resident is the name under which a resident is counted; nil keeps it.
	Resident func(string) string
	// Keep chooses what is counted; nil counts all.
	Keep func(resident string, p rules.Place) bool
}

// A Tally is counts. Make one with [New] or [ReadPartial]. It is not safe for concurrent use.
type Tally struct {
	head   head
	unread Unread

	resident func(string) string
	keep     func(string, rules.Place) bool

	scopes  []string       // all rules, groups, rules
	ruleAt  map[string]int // index in scopes of a rule
	groupOf []int          // index in scopes of the group of the rule at that index
	wide    int            // how many scopes, the first, are of several rules
	events  []Event        // those that can be counted under the rules
	values  map[string]map[string]*value

	skipped    int // notes that Keep left out
	overlooked int // sentences about moving, in the notes counted, of which nothing was understood
}

// Unread counts input that could not be read.
type Unread struct {
	Notes int `json:"notes"`      // records of notes
	Rows  int `json:"chart_rows"` // rows of the chart
}

// New is an empty tally of the rules in force.
func New(inForce []rules.Rule, opt Options) *Tally {
	h := head{Format: formatName, FormatVersion: formatVersion, Version: opt.Version, Charted: opt.Charted,
		Policy: opt.Policy, Names: opt.Names, Rules: []Rule{}}
	for _, r := range inForce {
		h.Rules = append(h.Rules, Rule{r.ID, r.Group, string(r.Severity), r.Doc.Title, r.Per})
	}
	t := newTally(h)
	t.resident, t.keep = opt.Resident, opt.Keep
	return t
}

func newTally(h head) *Tally {
	t := &Tally{
		head: h, scopes: []string{ScopeAll}, ruleAt: make(map[string]int), values: make(map[string]map[string]*value),
	}
	for _, r := range h.Rules {
		if !slices.Contains(t.scopes, r.Group) {
			t.scopes = append(t.scopes, r.Group)
		}
	}
	t.wide = len(t.scopes)
	t.events = eventsUnder(h.Rules)
	t.groupOf = make([]int, len(t.scopes)+len(h.Rules))
	for _, r := range h.Rules {
		i := len(t.scopes)
		t.ruleAt[r.ID], t.groupOf[i] = i, slices.Index(t.scopes, r.Group)
		t.scopes = append(t.scopes, r.ID)
	}
	for _, dim := range dimensions() {
		t.values[dim] = make(map[string]*value)
	}
	t.value(ByAll, "")
	return t
}

func (t *Tally) newValue() *value {
	return &value{cells: make([]cell, len(t.scopes)), told: make([]tell, len(t.events))}
}

func (t *Tally) value(dim, name string) *value {
	v := t.values[dim][name]
	if v == nil {
		v = t.newValue()
		t.values[dim][name] = v
	}
	return v
}

// AddUnread counts input that could not be read.
func (t *Tally) AddUnread(u Unread) {
	t.unread.Notes += u.Notes
	t.unread.Rows += u.Rows
}

// Add counts one resident's notes. The counts are those of the timeline, from rules.Bench.Count.
func (t *Tally) Add(line *timeline.Timeline, counts []rules.Count) {
	resident := line.Resident
	if t.resident != nil {
		resident = t.resident(resident)
	}
	in := make(map[*timeline.Entry]*placed, len(line.Entries))
	for _, e := range line.Entries {
		p := rules.PlaceOf(e)
		if t.keep != nil && !t.keep(line.Resident, p) {
			t.skipped++
			continue
		}
		in[e] = &placed{values: t.valuesOf(resident, p), met: make([]cell, t.wide)}
		t.overlooked += len(e.Reading.Overlooked)
		told := toldIn(e)
		for _, v := range in[e].values {
			v.notes++
			t.addTold(v, told)
		}
	}
	for _, c := range counts {
		rule, ok := t.ruleAt[c.Rule]
		if !ok {
			panic(fmt.Sprintf("audit: a count of rule %s, which is not in force", c.Rule))
		}
		if c.Entry == nil {
			if t.keep == nil || t.keep(line.Resident, c.Place) {
				t.addGap(resident, rule, c)
			}
			continue
		}
		p := in[c.Entry]
		if p == nil {
			continue
		}
		one := cell{Notes: 1, Opportunities: c.Opportunities, Findings: c.Findings}
		if c.Findings > 0 {
			one.Flagged = 1
		}
		told := toldBy(c)
		for _, v := range p.values {
			v.cells[rule].add(one)
			t.addTold(v, told)
		}
		for _, i := range []int{0, t.groupOf[rule]} {
			m := &p.met[i]
			m.Notes, m.Flagged = 1, max(m.Flagged, one.Flagged)
			m.Opportunities += one.Opportunities
			m.Findings += one.Findings
		}
	}
	for _, p := range in {
		for i, m := range p.met {
			for _, v := range p.values {
				v.cells[i].add(m)
			}
		}
	}
}

// A placed is a note with the values that it counts in and what it adds to the scopes of several rules.
type placed struct {
	values []*value
	met    []cell
}

// addGap counts a shift that should have had a note. It has no role, and is no note.
func (t *Tally) addGap(resident string, rule int, c rules.Count) {
	for _, v := range t.valuesOf(resident, c.Place) {
		for _, i := range []int{0, t.groupOf[rule], rule} {
			v.cells[i].add(cell{Opportunities: c.Opportunities, Findings: c.Findings})
		}
	}
}

// valuesOf are the values that a place counts in, one of each dimension; of role only for a note.
func (t *Tally) valuesOf(resident string, p rules.Place) []*value {
	vs := []*value{
		t.value(ByAll, ""), t.value(ByUnit, p.Unit), t.value(ByShift, p.Shift.Name), t.value(ByResident, resident),
		t.value(byDay, date(p.Shift)),
	}
	if p.Entry != nil {
		vs = append(vs, t.value(ByRole, string(p.Entry.Note.Role)))
	}
	return vs
}

// date is the date on which a shift began, "2026-11-24".
func date(k shift.Key) string {
	return time.Unix(0, 0).UTC().AddDate(0, 0, k.Day).Format(time.DateOnly)
}

// Merge adds the counts of o, which must be of the same program, policy and rules; the error says
// what differs. A tally must be merged once only: there is no telling one part from another.
func (t *Tally) Merge(o *Tally) error {
	if err := t.head.same(o.head); err != nil {
		return err
	}
	t.AddUnread(o.unread)
	t.skipped += o.skipped
	t.overlooked += o.overlooked
	for dim, values := range o.values {
		for name, v := range values {
			t.value(dim, name).add(v)
		}
	}
	return nil
}

// Under is the tally with each resident and unit under another name, which label gives: those of a home among those of
// others, whose units and residents may have the same names. A unit without a name is labelled too.
func (t *Tally) Under(label func(name string) string) *Tally {
	out := newTally(t.head)
	out.unread, out.skipped = t.unread, t.skipped
	for dim, values := range t.values {
		for name, v := range values {
			if dim == ByResident || dim == ByUnit {
				name = label(name)
			}
			out.value(dim, name).add(v)
		}
	}
	return out
}

// leftOut is what is not in the figures.
func (t *Tally) leftOut() []LeftOut {
	out := []LeftOut{}
	add := func(n int, one, more, why string) {
		switch {
		case n == 1:
			out = append(out, LeftOut{n, one, why})
		case n > 1:
			out = append(out, LeftOut{n, more, why})
		}
	}
	add(t.unread.Notes, "record of a note", "records of notes", "could not be read")
	add(t.unread.Rows, "row of the chart", "rows of the chart", "could not be read, so that notes are judged without it")
	notUnderstood := "were not understood, so that no rule speaks of them"
	if t.overlooked == 1 {
		notUnderstood = "was not understood, so that no rule speaks of it"
	}
	add(t.overlooked, "sentence about moving", "sentences about moving", notUnderstood)
	add(t.skipped, "note", "notes", "the selection leaves out")
	if !t.head.Charted {
		idle := 0
		all := t.value(ByAll, "")
		for i := t.wide; i < len(t.scopes); i++ {
			if all.cells[i].Opportunities == 0 {
				idle++
			}
		}
		add(idle, "rule", "rules", "met nothing to judge; no chart was given, and the rules against it stay silent")
	}
	off := 0
	for _, s := range t.head.Policy.Settings {
		if s.Value == "off" {
			off++
		}
	}
	add(off, "rule", "rules", "the policy switches off")
	for _, rule := range []string{ruleDiffer, ruleGone} {
		if _, ok := t.ruleAt[rule]; !ok {
			add(1, "count of posted signs", "", "is not made, because the policy switches "+rule+" off")
		}
	}
	return out
}
