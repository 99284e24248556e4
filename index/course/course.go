// Package course is a resident's mobility over time: what was charted, what the notes say was done,
// where the two differ, when either changed, and the falls and signs between.
//
// [Build] makes a [Course] from a timeline. [JSON], [Text], [Figure] and [HTML] show one. The package
// compares words with the chart; it does not judge. What a difference means is for the rules, and for
// the people who know the resident.
package course

import (
	"cmp"
	"slices"
	"time"

	"example.com/stance/lexicon"
	"example.com/stance/lint/timeline"
	"example.com/stance/lint/trade"
)

// Options say how a course is made.
type Options struct {
	// LiftHelpers is the number of helpers that a charted lift asks where the chart gives none.
	LiftHelpers int

	// Labels names concepts in words for people, by id ("aid.cane"). A concept that is not in it goes
	// by its id.
	Labels map[string]string

	// Since and Until bound the course: notes at or after Since and before Until. Zero sets no bound.
	// Changes are still seen against the last note before Since.
	Since, Until time.Time

	// AsOf, where it is set, is the moment whose knowledge is asked for: chart rows from after it do
	// not count. Which notes were known by then is for the caller to say, by giving only those.
	AsOf time.Time
}

// A Course is one resident's mobility over time. But for Home it does not change once it is built.
type Course struct {
	Home     string    `json:"home,omitempty"` // of several, the one whose resident it is; set by who knows it
	Resident string    `json:"resident"`
	Unit     string    `json:"unit,omitempty"` // as the last note has it, else the chart
	AsOf     time.Time `json:"as_of,omitzero"`
	From     time.Time `json:"from,omitzero"`  // of the first note, or the bound asked for
	Until    time.Time `json:"until,omitzero"` // of the last note or chart row, or the bound asked for
	Notes    int       `json:"notes"`          // read, whether or not they say anything of mobility
	Charted  bool      `json:"charted"`        // a chart row was in force at some time of the course

	Lanes        []Lane        `json:"lanes"`         // in a fixed order; one that has nothing is left out
	Marks        []Mark        `json:"marks"`         // notes to look at, in time order
	ChartChanges []ChartChange `json:"chart_changes"` // in time order
	Changes      []Change      `json:"changes"`       // of what is written, in time order
	Asides       []Aside       `json:"asides"`        // by concept, then time
}

// A NoteRef names a note.
type NoteRef struct {
	ID    string       `json:"note"`
	Time  time.Time    `json:"time"`
	Shift string       `json:"shift"` // "2026-11-24/evening"
	Role  lexicon.Role `json:"role,omitempty"`
}

// A Value is what holds in a lane for a time: a key for programs and words for people.
type Value struct {
	Key   string `json:"key"`
	Words string `json:"words"`
}

// Fit says how what is written compares with what is charted.
type Fit string

const (
	AsCharted  Fit = "as charted"
	Differs    Fit = "differs"     // cannot both be so
	Unclear    Fit = "unclear"     // the words leave it open
	NotCharted Fit = "not charted" // the chart says nothing on it at that time
)

// A Lane is one aspect of mobility: a limb, the way of transfer, an aid.
type Lane struct {
	ID     string  `json:"id"` // "left-leg", "transfer", "aid.belt" …
	Name   string  `json:"name"`
	Bands  []Band  `json:"charted"` // in time order, never two at one time
	Points []Point `json:"written"` // in time order
	Runs   []Run   `json:"runs"`    // the points, compressed to the changes
}

// A Band is a charted value and how long it holds. Until is zero for one that is still in force.
type Band struct {
	From  time.Time `json:"from"`
	Until time.Time `json:"until,omitzero"`
	Value Value     `json:"value"`
}

// A Point is what one note says was done or was so.
type Point struct {
	Note    NoteRef `json:"in"`
	Value   Value   `json:"value"`
	Fit     Fit     `json:"fit"`
	Text    string  `json:"text"`             // the words of the note
	Charted Value   `json:"charted,omitzero"` // what it is held against
}

// A Run is consecutive notes that say the same, held against the same charted value: a forbidden walk and one that has
// been allowed since are no run. A note that says it less exactly ("walker" among notes of a two-wheeled walker) does
// not end a run.
type Run struct {
	Value   Value   `json:"value"`
	First   NoteRef `json:"first"`
	Last    NoteRef `json:"last"`
	Notes   int     `json:"notes"`
	Differs int     `json:"differs"` // notes of the run that differ from the chart
}

// A Mark is a note that differs from the chart, or tells of an event. Numbers start at 1 and stand
// beside the marks of the drawing.
type Mark struct {
	Number      int          `json:"number"`
	Note        NoteRef      `json:"in"`
	Differences []Difference `json:"differences"`
	Events      []Event      `json:"events"`
}

// A Difference is what a note says against what was charted at the time.
type Difference struct {
	Lane    string `json:"lane"` // its id
	Name    string `json:"name"` // of the lane
	Charted Value  `json:"charted"`
	Written Value  `json:"written"`
	Text    string `json:"text"`
}

// A ChartChange is a moment at which another row came into force, or none was any more.
type ChartChange struct {
	At    time.Time    `json:"at"`
	By    string       `json:"by,omitempty"`
	Lanes []LaneChange `json:"lanes"`
}

// A LaneChange is one lane before and after. A value with no key is one that was not charted.
type LaneChange struct {
	Lane string `json:"lane"`
	Name string `json:"name"`
	From Value  `json:"from"`
	To   Value  `json:"to"`
}

// A Change is two notes that differ in what they say was done: the last of one run and the first of
// the next, in one lane or more.
type Change struct {
	Before NoteRef      `json:"before"`
	After  NoteRef      `json:"after"`
	Lanes  []LaneChange `json:"lanes"`
	Diff   []Segment    `json:"diff"` // of the sentences on mobility
}

// Build makes the course of a resident. The order in which the notes were given to the timeline does
// not matter, and a note that was given twice counts once.
func Build(t *timeline.Timeline, opt Options) *Course {
	b := &builder{opt: opt, timeline: t, entries: inOrder(t.Entries)}
	c := &Course{
		Resident: t.Resident, AsOf: opt.AsOf,
		Lanes: []Lane{}, Marks: []Mark{}, ChartChanges: []ChartChange{}, Changes: []Change{}, Asides: []Aside{},
	}
	shown := slices.DeleteFunc(slices.Clone(b.entries), func(e *timeline.Entry) bool { return !opt.covers(e.Note.Time) })
	c.Notes = len(shown)
	c.From, c.Until = opt.Since, opt.Until
	if n := len(shown); n > 0 {
		c.Unit = shown[n-1].Note.Unit
		if c.From.IsZero() {
			c.From = shown[0].Note.Time
		}
		if c.Until.IsZero() {
			c.Until = shown[n-1].Note.Time
		}
	}
	b.rows = known(t.Rows, opt.AsOf)
	if n := len(b.rows); n > 0 {
		last := b.rows[n-1]
		c.Unit = cmp.Or(c.Unit, last.Unit)
		if opt.Until.IsZero() && last.From.After(c.Until) {
			c.Until = last.From // what is charted now matters, whether or not a note was written since
		}
		if c.From.IsZero() {
			c.From = b.rows[0].From
		}
	}
	switch { // bounds beyond all that there is
	case c.From.IsZero(), !opt.Until.IsZero() && c.Until.Before(c.From):
		c.From = c.Until
	case c.Until.Before(c.From):
		c.Until = c.From
	}
	b.aspects = b.allAspects()
	changes := changeList{}
	for i := range b.aspects {
		s := &b.aspects[i]
		lane, changed := b.lane(s)
		for _, ch := range changed {
			if opt.covers(ch.after.Note.Time) {
				changes.add(ch)
			}
		}
		lane.Points = slices.DeleteFunc(lane.Points, func(p Point) bool { return !opt.covers(p.Note.Time) })
		lane.Runs = runs(s, lane.Points)
		lane.Bands = slices.DeleteFunc(lane.Bands, func(band Band) bool { return !c.overlaps(band) })
		if len(lane.Points) == 0 && !slices.ContainsFunc(lane.Bands, func(band Band) bool { return band.Value.Key != s.usual }) {
			continue
		}
		c.Charted = c.Charted || len(lane.Bands) > 0
		c.Lanes = append(c.Lanes, lane)
	}
	c.Changes = changes.list(b)
	c.ChartChanges = slices.DeleteFunc(b.chartChanges(), func(ch ChartChange) bool { return ch.At.Before(c.From) || ch.At.After(c.Until) })
	c.Marks = b.marks(shown, c.Lanes)
	c.Asides = b.asides(shown)
	return c
}

type builder struct {
	opt      Options
	timeline *timeline.Timeline
	entries  []*timeline.Entry
	rows     []row
	aspects  []aspect
}

// covers reports whether a moment lies within the bounds.
func (o *Options) covers(at time.Time) bool {
	return (o.Since.IsZero() || !at.Before(o.Since)) && (o.Until.IsZero() || at.Before(o.Until))
}

// overlaps reports whether the band holds at some time of the course.
func (c *Course) overlaps(b Band) bool {
	return !b.From.After(c.Until) && (b.Until.IsZero() || b.Until.After(c.From))
}

// inOrder sorts entries by time and, where that is equal, by what they hold, so that the order of the
// input does not show. Of equal notes the first stays.
func inOrder(entries []*timeline.Entry) []*timeline.Entry {
	order := func(a, b *timeline.Entry) int {
		return cmp.Or(a.Note.Time.Compare(b.Note.Time), cmp.Compare(a.Note.ID, b.Note.ID), cmp.Compare(a.Note.Text, b.Note.Text),
			cmp.Compare(a.Note.Role, b.Note.Role), cmp.Compare(a.Note.Author, b.Note.Author), cmp.Compare(a.Note.Unit, b.Note.Unit),
			cmp.Compare(a.Note.Shift, b.Note.Shift))
	}
	sorted := slices.SortedStableFunc(slices.Values(entries), order)
	return slices.CompactFunc(sorted, func(a, b *timeline.Entry) bool { return order(a, b) == 0 })
}

// ref names the note of an entry.
func ref(e *timeline.Entry) NoteRef {
	return NoteRef{ID: e.Note.ID, Time: e.Note.Time, Shift: e.Shift.String(), Role: e.Note.Role}
}

// label names a concept for people.
func (b *builder) label(concept string) string {
	return cmp.Or(trade.Label(concept, b.opt.Labels[concept]), concept)
}
