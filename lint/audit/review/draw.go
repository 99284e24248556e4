// Package review draws notes for a person to mark without seeing what the program said of them, and
// holds the marks against what it said.
//
// A [Draw] takes judged notes and keeps a stratified random sample of pairs of a note and a rule:
// apart those that the rule flagged and those where it could have spoken and did not. [Sample.CSV]
// writes the pairs for the person, with no verdict in it; [Sample.Seal] writes the verdicts and the
// sizes of the strata, packed so that nobody reads them by accident. [ReadMarked] and [ReadSealed] bring
// both back, and [Agree] makes the [Agreement] of them.
package review

import (
	"cmp"
	"crypto/hmac"
	"crypto/sha256"
	"encoding/base32"
	"encoding/binary"
	"fmt"
	"maps"
	"slices"
	"strconv"
	"strings"
	"time"

	"example.com/stance/lint/audit"
	"example.com/stance/lint/chart"
	"example.com/stance/lint/rules"
	"example.com/stance/lint/timeline"
)

// By says which pairs are drawn from together.
type By string

// The ways to stratify; each stratum is halved into flagged and not flagged.
const (
	ByRule  By = "rule"
	ByGroup By = "group" // of rules
	ByAll   By = "all"   // all rules together
)

// LeastInStratum is how many pairs are drawn of each half of a stratum that has them: one alone tells
// nothing of how far pairs differ.
const LeastInStratum = 2

// Options say what is drawn.
type Options struct {
	Rows int    // pairs to draw in all
	Seed string // the same seed draws the same pairs from the same notes, in whatever order they come
	By   By

	Resident func(string) string // the name a resident goes by; nil keeps it
	Text     func(string) string // a note's text as it is shown; nil keeps it
	Keep     func(resident string, p rules.Place) bool
}

// A Draw keeps no more than Rows pairs of each half of a stratum. It is not safe for concurrent use.
type Draw struct {
	opt   Options
	rules map[string]rules.Rule
	order map[string]int // of strata, as the published tables have their rules
	half  map[half]*pool
	gaps  int
}

// A half is the flagged pairs of a stratum, or the others.
type half struct {
	label   string
	flagged bool
}

// NewDraw is an empty draw among those rules.
func NewDraw(among []rules.Rule, opt Options) *Draw {
	d := &Draw{opt: opt, rules: make(map[string]rules.Rule), order: make(map[string]int), half: make(map[half]*pool)}
	for _, r := range among {
		d.rules[r.ID] = r
		if label := d.label(&r); !hasKey(d.order, label) {
			d.order[label] = len(d.order)
		}
	}
	return d
}

func hasKey(m map[string]int, k string) bool { _, ok := m[k]; return ok }

func (d *Draw) label(r *rules.Rule) string {
	switch d.opt.By {
	case ByGroup:
		return r.Group
	case ByAll:
		return audit.ScopeAll
	}
	return r.ID
}

// Add takes one resident's notes in, with the counts of rules.Bench.Count.
func (d *Draw) Add(line *timeline.Timeline, counts []rules.Count) {
	for _, c := range counts {
		r, ok := d.rules[c.Rule]
		if !ok || d.opt.Keep != nil && !d.opt.Keep(line.Resident, c.Place) {
			continue
		}
		if c.Entry == nil {
			d.gaps++ // there is no note to mark
			continue
		}
		h := half{d.label(&r), c.Findings > 0}
		if d.half[h] == nil {
			d.half[h] = &pool{most: d.opt.Rows}
		}
		key := c.Rule + "\x00" + line.Resident + "\x00" + c.Entry.Note.ID + "\x00" + strconv.FormatInt(c.Time.UnixNano(), 10)
		d.half[h].add(binary.BigEndian.Uint64(d.hash("draw", key)), func() Row { return d.row(line, &r, c, key) })
	}
}

func (d *Draw) hash(use, key string) []byte {
	mac := hmac.New(sha256.New, []byte(d.opt.Seed))
	mac.Write([]byte(use + "\x00" + key)) // never fails
	return mac.Sum(nil)
}

// A Row is one pair for a person to mark.
type Row struct {
	ID       string // tells nothing of the verdict
	Rule     string
	Title    string // of the rule
	LooksFor string
	Resident string
	Unit     string
	Time     time.Time
	Shift    string
	Role     string
	Note     string
	Text     string
	Chart    string // the row in force, and the one before it
	Around   string // the resident's other notes of this shift and those of the shift before

	half half
}

func (d *Draw) row(line *timeline.Timeline, r *rules.Rule, c rules.Count, key string) Row {
	e := c.Entry
	text := func(s string) string {
		if d.opt.Text == nil {
			return s
		}
		return d.opt.Text(s)
	}
	out := Row{
		ID:   strings.ToLower(base32.StdEncoding.EncodeToString(d.hash("row", key))[:10]),
		Rule: r.ID, Title: r.Doc.Title, LooksFor: r.Doc.LooksFor, Resident: line.Resident, Unit: c.Unit, Time: c.Time,
		Shift: c.Shift.String(), Role: string(e.Note.Role), Note: e.Note.ID, Text: text(e.Note.Text),
		Chart: charted(line, e.Row), Around: text(around(line, e)), half: half{d.label(r), c.Findings > 0},
	}
	if d.opt.Resident != nil {
		out.Resident = d.opt.Resident(line.Resident)
	}
	return out
}

// charted is the chart row in force in the words of the chart, after the one before it.
func charted(line *timeline.Timeline, r *chart.Row) string {
	var parts []string
	if before := line.RowBefore(r); before != nil {
		parts = append(parts, "before: "+cells(before))
	}
	if r != nil {
		parts = append(parts, cells(r))
	}
	return strings.Join(parts, "\n")
}

func cells(r *chart.Row) string {
	var parts []string
	for _, field := range []string{"from", "left_leg", "right_leg", "left_arm", "right_arm", "transfer", "staff", "aids", "walk"} {
		if v := r.Cell(field); v != "" {
			parts = append(parts, field+" "+v)
		}
	}
	return strings.Join(parts, ", ")
}

func around(line *timeline.Timeline, e *timeline.Entry) string {
	var parts []string
	for _, o := range slices.Concat(line.On(line.Calendar.Prev(e.Shift)), line.On(e.Shift)) {
		if o != e {
			parts = append(parts, fmt.Sprintf("%s, %s: %s", o.Note.Time.Format("2006-01-02 15:04"), o.Note.Role, o.Note.Text))
		}
	}
	return strings.Join(parts, "\n")
}

// A pool is the pairs of the lowest hashes, which is a simple random sample of all that were added.
type pool struct {
	most  int
	seen  int
	rows  []ranked // up to twice most
	limit uint64   // where rows have been cut, the lowest rank that is too high
}

type ranked struct {
	rank uint64
	row  Row
}

func (p *pool) add(rank uint64, row func() Row) {
	p.seen++
	if p.limit != 0 && rank >= p.limit {
		return
	}
	if p.rows = append(p.rows, ranked{rank, row()}); len(p.rows) == 2*p.most {
		p.limit = p.lowest(p.most)[p.most-1].rank
		p.rows = p.rows[:p.most]
	}
}

// lowest sorts the rows and gives the first n.
func (p *pool) lowest(n int) []ranked {
	slices.SortFunc(p.rows, func(a, b ranked) int {
		return cmp.Or(cmp.Compare(a.rank, b.rank), cmp.Compare(a.row.ID, b.row.ID))
	})
	return p.rows[:n]
}

// A Sample is what has been drawn.
type Sample struct {
	Rows []Row // in an order that tells nothing of the verdict

	Strata []Stratum // drawn from, in the order of the published tables, the flagged half first
	NotIn  []string  // strata that Rows does not suffice for, which the sample says nothing of
	Gaps   int       // opportunities in shifts with no note, which cannot be marked
}

// A Stratum is one half of a stratum.
type Stratum struct {
	Label      string `json:"label"`
	Flagged    bool   `json:"flagged"`
	Population int    `json:"population"` // pairs of a note and a rule
	Drawn      int    `json:"drawn"`
}

// Sample shares the rows out and draws them. Strata with the most flagged pairs come first, each with
// LeastInStratum of either half; what is left goes round, one flagged pair and one other at a time.
// The error says how many rows are wanted where there are too few for any.
func (d *Draw) Sample() (*Sample, error) {
	labels := slices.Collect(maps.Keys(d.order))
	seen := func(label string, flagged bool) int {
		if p := d.half[half{label, flagged}]; p != nil {
			return p.seen
		}
		return 0
	}
	slices.SortFunc(labels, func(a, b string) int {
		return cmp.Or(cmp.Compare(seen(b, true), seen(a, true)), cmp.Compare(d.order[a], d.order[b]))
	})
	out := &Sample{Gaps: d.gaps}
	share := make(map[half]int)
	var in []half
	left, least := d.opt.Rows, 2*LeastInStratum
	for _, label := range labels {
		halves := []half{{label, true}, {label, false}}
		need := 0
		for _, h := range halves {
			need += min(LeastInStratum, seen(h.label, h.flagged))
		}
		switch {
		case need == 0:
		case need > left:
			out.NotIn = append(out.NotIn, label)
			least = min(least, need)
		default:
			left -= need
			for _, h := range halves {
				if n := min(LeastInStratum, seen(h.label, h.flagged)); n > 0 {
					share[h] = n
					in = append(in, h)
				}
			}
		}
	}
	if len(in) == 0 && len(out.NotIn) > 0 {
		return nil, fmt.Errorf("%d is too few for any stratum, want at least %d", d.opt.Rows, least)
	}
	for given := true; given && left > 0; {
		given = false
		for _, h := range in {
			if left > 0 && share[h] < seen(h.label, h.flagged) {
				share[h]++
				left--
				given = true
			}
		}
	}
	slices.SortStableFunc(in, func(a, b half) int { return cmp.Compare(d.order[a.label], d.order[b.label]) })
	for _, h := range in {
		for _, r := range d.half[h].lowest(share[h]) {
			out.Rows = append(out.Rows, r.row)
		}
		out.Strata = append(out.Strata, Stratum{h.label, h.flagged, seen(h.label, h.flagged), share[h]})
	}
	slices.SortFunc(out.Rows, func(a, b Row) int { return cmp.Compare(a.ID, b.ID) })
	slices.SortFunc(out.NotIn, func(a, b string) int { return cmp.Compare(d.order[a], d.order[b]) })
	return out, nil
}
