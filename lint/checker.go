// Package lint checks notes against the charted status, the shifts around them and safe practice.
//
// A [Checker] takes notes in any order and, once all are in, runs the rules over each resident's
// timeline. The parts are packages of their own: note, chart and shift for what comes in, timeline
// for a resident's notes in order, rules for what is checked, finding and report for what comes out.
package lint

import (
	"cmp"
	"context"
	"fmt"
	"maps"
	"runtime"
	"slices"
	"time"

	"golang.org/x/sync/errgroup"

	"example.com/stance/lint/chart"
	"example.com/stance/lint/copies"
	"example.com/stance/lint/finding"
	"example.com/stance/lint/note"
	"example.com/stance/lint/policy"
	"example.com/stance/lint/rules"
	"example.com/stance/lint/shift"
	"example.com/stance/lint/timeline"
)

// From this many words on, a note that repeats an earlier one counts as copied: shorter ones are
// alike by nature. Two residents are more often alike than one is with the day before.
const (
	leastForward = 12
	leastAcross  = 20
)

// A Checker collects notes and checks them. Make one with [NewChecker]. It is not safe for
// concurrent use; Run itself works on several residents at a time.
type Checker struct {
	// Now, where it is set, is the moment after which a note has no business to be: Run lists such
	// notes among the problems. The zero time leaves that out.
	Now time.Time

	lex      timeline.Reader
	chart    *chart.Chart
	policy   *policy.Policy
	calendar *shift.Calendar
	bench    *rules.Bench

	notes map[string][]note.Note // by resident, in the order given
	count int
	first map[string]note.Source // of each note id
	twice []string
}

// A Summary tells what a run covered.
type Summary struct {
	Notes     int                      `json:"notes"`
	Residents int                      `json:"residents"`
	Counts    map[finding.Severity]int `json:"counts"` // of findings; hint, warning and error are always there

	// Problems are flaws of the input that do not stop a run, one line each with file:line and never
	// with note text: a note id that stands twice, a note of the future.
	Problems []string `json:"problems,omitempty"`
}

// NewChecker is a checker with no notes yet. The reader, which must be safe for concurrent use, is
// the lexicon; a nil chart switches the rules against the chart off. It returns an error for a policy
// whose shifts make no calendar.
func NewChecker(lex timeline.Reader, ch *chart.Chart, p *policy.Policy) (*Checker, error) {
	cal, err := shift.NewCalendar(p.Shifts, p.Zone)
	if err != nil {
		return nil, fmt.Errorf("policy shifts: %w", err)
	}
	all, err := rules.All()
	if err != nil {
		return nil, err
	}
	return &Checker{
		lex: lex, chart: ch, policy: p, calendar: cal, bench: rules.NewBench(all, p),
		notes: make(map[string][]note.Note), first: make(map[string]note.Source),
	}, nil
}

// Add takes a note in. A note whose id has been added before is kept and checked like any other, and
// named among the problems.
func (c *Checker) Add(n note.Note) {
	if src, ok := c.first[n.ID]; ok {
		c.twice = append(c.twice, fmt.Sprintf("note %s stands twice: %s and %s", n.ID, at(src), at(n.Source)))
	} else {
		c.first[n.ID] = n.Source
	}
	c.notes[n.Resident] = append(c.notes[n.Resident], n)
	c.count++
}

// Run checks the notes added so far and hands each finding to emit, in the order of resident, note
// time, span and rule; emit is called from one goroutine. It stops at the first error of emit, or
// when ctx ends, and returns that error. Apart from the notes, it holds only the residents in work.
func (c *Checker) Run(ctx context.Context, emit func(finding.Finding) error) (Summary, error) {
	sum := Summary{
		Notes: c.count, Residents: len(c.notes), Problems: c.problems(),
		Counts: map[finding.Severity]int{finding.Hint: 0, finding.Warning: 0, finding.Error: 0},
	}
	across, err := c.copiedAcross(ctx)
	if err != nil {
		return sum, err
	}
	residents := slices.Sorted(maps.Keys(c.notes))

	// Workers judge residents in any order; the queue holds their results in the order of residents.
	// Its length bounds how far they may run ahead of emit.
	workers := runtime.GOMAXPROCS(0)
	queue := make(chan chan []finding.Finding, 2*workers)
	group, ctx := errgroup.WithContext(ctx)
	group.Go(func() error {
		defer close(queue)
		pool, ctx := errgroup.WithContext(ctx)
		pool.SetLimit(workers)
		for _, r := range residents {
			result := make(chan []finding.Finding, 1)
			select {
			case queue <- result:
			case <-ctx.Done():
				return ctx.Err()
			}
			pool.Go(func() error {
				result <- c.judge(r, across)
				return nil
			})
		}
		return pool.Wait()
	})
	group.Go(func() error {
		for result := range queue {
			select {
			case fs := <-result:
				for _, f := range fs {
					sum.Counts[f.Severity]++
					if err := emit(f); err != nil {
						return err
					}
				}
			case <-ctx.Done():
				return ctx.Err()
			}
		}
		return nil
	})
	return sum, group.Wait()
}

// judge checks one resident.
func (c *Checker) judge(resident string, across map[source]copied) []finding.Finding {
	t := timeline.New(resident, c.notes[resident], c.lex, c.chart, c.calendar)
	found := rules.Copies{
		Forward: copiedForward(t, c.policy),
		Across:  make(map[*timeline.Entry]rules.Copy),
	}
	for _, e := range t.Entries {
		m, ok := across[source{resident, e.Index}]
		if !ok {
			continue
		}
		of := c.notes[m.of.resident][m.of.index]
		found.Across[e] = rules.Copy{
			Of:    &timeline.Entry{Note: of, Shift: c.calendar.Key(of.Time, of.Shift)},
			Share: m.share,
		}
	}
	fs := c.bench.Judge(t, found)
	finding.Identify(fs)
	return fs
}

// copiedForward finds the notes of a resident that repeat one of an earlier shift.
func copiedForward(t *timeline.Timeline, p *policy.Policy) map[*timeline.Entry]rules.Copy {
	out := make(map[*timeline.Entry]rules.Copy)
	group := copies.NewGroup(p.CopiedShare, leastForward)
	for i, e := range t.Entries {
		m, ok := group.Add(e.Note.Text, i, func(j int) bool {
			o := t.Entries[j]
			return o.Shift.Before(e.Shift) && e.Note.Time.Sub(o.Note.Time) <= p.CopiedWindow
		})
		if ok {
			out[e] = rules.Copy{Of: t.Entries[m.Tag], Share: m.Share}
		}
	}
	return out
}

// A source is a note in c.notes.
type source struct {
	resident string
	index    int
}

// A copied is the earlier note that a note repeats.
type copied struct {
	of    source
	share float64
}

// copiedAcross finds the notes that repeat one on another resident on the same shift. It goes shift
// by shift, and within a shift by the time of the notes, so that the later one is the copy.
func (c *Checker) copiedAcross(ctx context.Context) (map[source]copied, error) {
	byShift := make(map[shift.Key][]source)
	for r, ns := range c.notes {
		for i, n := range ns {
			k := c.calendar.Key(n.Time, n.Shift)
			byShift[k] = append(byShift[k], source{r, i})
		}
	}
	out := make(map[source]copied)
	for _, on := range byShift {
		if err := ctx.Err(); err != nil {
			return nil, err
		}
		slices.SortFunc(on, func(a, b source) int {
			return cmp.Or(c.notes[a.resident][a.index].Time.Compare(c.notes[b.resident][b.index].Time),
				cmp.Compare(a.resident, b.resident), cmp.Compare(a.index, b.index))
		})
		group := copies.NewGroup(c.policy.CopiedShare, leastAcross)
		for tag, s := range on {
			m, ok := group.Add(c.notes[s.resident][s.index].Text, tag, func(j int) bool { return on[j].resident != s.resident })
			if ok {
				out[s] = copied{on[m.Tag], m.Share}
			}
		}
	}
	return out, nil
}

// problems lists the flaws of the notes.
func (c *Checker) problems() []string {
	out := slices.Clone(c.twice)
	if c.Now.IsZero() {
		return out
	}
	for _, r := range slices.Sorted(maps.Keys(c.notes)) {
		for _, n := range c.notes[r] {
			if n.Time.After(c.Now) {
				out = append(out, fmt.Sprintf("%s: note %s is of %s, which is still to come",
					at(n.Source), n.ID, n.Time.Format(time.RFC3339)))
			}
		}
	}
	return out
}

// at writes a source as file:line.
func at(s note.Source) string { return fmt.Sprintf("%s:%d", s.File, s.Line) }
