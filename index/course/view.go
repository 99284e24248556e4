package course

import (
	"fmt"
	"strings"
	"time"

	"example.com/stance/lint/plural"
	"example.com/stance/lint/report"
)

// What the text and the page share: how times are written, and how the course stands at its end.

// dates writes times in one zone, with the year where the course spans more than one.
type dates struct {
	zone *time.Location // nil: each time in its own
	year bool
	ids  bool // notes go by their ids as well
}

func (c *Course) dates(zone *time.Location) dates {
	d := dates{zone: zone}
	d.year = d.in(c.From).Year() != d.in(c.Until).Year()
	for _, l := range c.Lanes {
		for _, b := range l.Bands {
			d.year = d.year || d.in(b.From).Year() != d.in(c.Until).Year()
		}
	}
	return d
}

func (d dates) in(t time.Time) time.Time {
	if d.zone == nil {
		return t
	}
	return t.In(d.zone)
}

// day is "5 Nov".
func (d dates) day(t time.Time) string {
	if d.year {
		return d.in(t).Format("2 Jan 2006")
	}
	return d.in(t).Format("2 Jan")
}

// minute is "5 Nov, 10:00".
func (d dates) minute(t time.Time) string { return d.day(t) + ", " + d.in(t).Format("15:04") }

// shift is "12 Nov evening": the shift of a note, by the date on which it began.
func (d dates) shift(n NoteRef) string {
	date, name, _ := strings.Cut(n.Shift, "/")
	t, err := time.Parse(time.DateOnly, date)
	if err != nil {
		return n.Shift
	}
	return dates{year: d.year}.day(t) + " " + name
}

// note is "12 Nov evening 19:50" or, of a shift that began the day before, "17 Nov 05:30 (night of 16 Nov)", and the id
// where notes go by theirs.
func (d dates) note(n NoteRef) string {
	date, name, _ := strings.Cut(n.Shift, "/")
	if began, err := time.Parse(time.DateOnly, date); err == nil && d.in(n.Time).Format(time.DateOnly) != date {
		return fmt.Sprintf("%s (%s of %s)%s", d.day(n.Time)+" "+d.in(n.Time).Format("15:04"), name, dates{year: d.year}.day(began), d.id(n))
	}
	return d.shift(n) + " " + d.in(n.Time).Format("15:04") + d.id(n)
}

func (d dates) id(n NoteRef) string {
	if !d.ids {
		return ""
	}
	return ", " + n.ID
}

// span is "9 to 22 November 2026".
func (d dates) span(from, until time.Time) string {
	a, b := d.in(from), d.in(until)
	last := b.Format("2 January 2006")
	switch {
	case a.Format(time.DateOnly) == b.Format(time.DateOnly):
		return last
	case a.Format("2006-01") == b.Format("2006-01"):
		return a.Format("2") + " to " + last
	case a.Year() == b.Year():
		return a.Format("2 January") + " to " + last
	}
	return a.Format("2 January 2006") + " to " + last
}

// heading is "Resident R-101, Harbour: 19 notes, 9 to 22 November 2026".
func (c *Course) heading(d dates) string {
	s := "Resident " + c.Resident
	if c.Unit != "" {
		s += ", " + c.Unit
	}
	if c.Home != "" {
		s += ", home " + c.Home
	}
	return s + ": " + c.extent(d)
}

// extent is "19 notes, 9 to 22 November 2026".
func (c *Course) extent(d dates) string {
	s := plural.Of(c.Notes, "note")
	if !c.From.IsZero() {
		s += ", " + d.span(c.From, c.last())
	}
	if !c.AsOf.IsZero() {
		s += ", as known by " + d.in(c.AsOf).Format("2 January 2006, 15:04")
	}
	return s
}

// last is the last moment of the course; Until is the first that is out where a bound was asked for,
// and a bound at midnight must not add a day.
func (c *Course) last() time.Time {
	if c.Until.After(c.From) {
		return c.Until.Add(-time.Nanosecond)
	}
	return c.Until
}

// A standing is how a lane stands at the end of the course.
type standing struct {
	Name    string
	Charted string // words and since when
	Written string // words and by which note
	Compare string // how the two compare
	Differs bool
}

// standings are the lanes at the end of the course.
func (c *Course) standings(d dates) []standing {
	all := make([]standing, 0, len(c.Lanes))
	for _, l := range c.Lanes {
		s := standing{Name: l.Name, Charted: "nothing charted", Written: "nothing"}
		var now *Band
		for i := range l.Bands {
			if b := &l.Bands[i]; !b.From.After(c.Until) && (b.Until.IsZero() || b.Until.After(c.Until)) {
				now = b
				s.Charted = b.Value.Words + ", since " + d.day(b.From)
			}
		}
		if n := len(l.Points); n > 0 {
			p, run := l.Points[n-1], l.Runs[len(l.Runs)-1]
			s.Written = p.Value.Words + ", " + d.note(p.Note)
			if run.Notes > 1 {
				s.Written += fmt.Sprintf(", and in %s before it, from %s on", plural.Of(run.Notes-1, "note"), d.shift(run.First))
			}
			s.Compare = string(p.Fit)
			s.Differs = p.Fit == Differs
			if now != nil && p.Note.Time.Before(now.From) {
				s.Compare, s.Differs = "written before this was charted", false
			}
		} else if now != nil {
			s.Compare = "not written"
		}
		all = append(all, s)
	}
	return all
}

// count says how many notes tell of an event of that kind, with the first and the last of them.
func (c *Course) count(k Kind, none, one, more string, d dates) string {
	var notes []NoteRef
	for _, m := range c.Marks {
		for _, e := range m.Events {
			if e.Kind == k {
				notes = append(notes, m.Note)
			}
		}
	}
	switch len(notes) {
	case 0:
		return none
	case 1:
		return "1 " + one + ", " + d.note(notes[0])
	}
	return fmt.Sprintf("%d %s, the last %s", len(notes), more, d.note(notes[len(notes)-1]))
}

// tally is what is marked, in sentences.
func (c *Course) tally(d dates) []string {
	if c.Notes == 0 {
		return []string{"There is no note of this time, so nothing can be said of falls, signs or differences."}
	}
	differ := 0
	for _, m := range c.Marks {
		if len(m.Differences) > 0 {
			differ++
		}
	}
	said := []string{c.count(Fall, "No fall is written", "note tells of a fall", "notes tell of a fall", d) + "."}
	if s := c.count(NearFall, "", "note tells of a near fall", "notes tell of a near fall", d); s != "" {
		said = append(said, s+".")
	}
	if s := c.count(Hazard, "", "note tells of a hazard", "notes tell of hazards", d); s != "" {
		said = append(said, s+".")
	}
	said = append(said, c.count(Sign, "No sign on rising or moving is written", "note tells of a sign on rising or moving", "notes tell of signs on rising or moving", d)+".")
	switch {
	case !c.Charted:
		said = append(said, "No chart was given, or it has no row for this time.")
	default:
		said = append(said, differing(differ)+".")
	}
	return said
}

// differing is "2 notes differ from the chart".
func differing(n int) string {
	switch n {
	case 0:
		return "No note differs from the chart"
	case 1:
		return "1 note differs from the chart"
	}
	return fmt.Sprintf("%d notes differ from the chart", n)
}

// headline is what to know first: how many notes differ from the chart, and in what the last of them does. It is calm
// where none does.
func (c *Course) headline(d dates) (words string, calm bool) {
	if c.Notes == 0 || !c.Charted {
		return "", true
	}
	differ := 0
	var last *Mark
	for i := range c.Marks {
		if len(c.Marks[i].Differences) > 0 {
			differ++
			last = &c.Marks[i]
		}
	}
	words = differing(differ)
	if last == nil {
		return words + ".", true
	}
	var all []string
	for _, df := range last.Differences {
		all = append(all, fmt.Sprintf("%s: %s written, %s charted", df.Name, df.Written.Words, df.Charted.Words))
	}
	the := ", the last of "
	if differ == 1 {
		the = ", of "
	}
	return words + the + d.note(last.Note) + ". " + strings.Join(all, "; ") + ".", false
}

// lines are what a mark says, one for each difference and event.
func (m *Mark) lines() []markLine {
	var all []markLine
	for _, e := range m.Events {
		all = append(all, markLine{report.Capital(string(e.Kind)), e.Words, "", e.Text})
	}
	for _, df := range m.Differences {
		all = append(all, markLine{df.Name, df.Written.Words, df.Charted.Words, df.Text})
	}
	return all
}

// A markLine is one thing that a marked note says; Charted is empty for an event.
type markLine struct{ Name, Said, Charted, Text string }

// A Turn is a change of the chart or of what is written, for one list of both.
type Turn struct {
	When, What string
	Lanes      []LaneChange
	Diff       []Segment // nil for the chart's

	Before, After NoteRef // the notes between which what is written changed; zero for the chart's
}

// Apart reports whether the two notes have too little in common to be set against one another.
func (t Turn) Apart() bool { return len(t.Diff) == 1 && t.Diff[0].Same == "" }

// Turns are all changes in time order, those of the chart and those of what is written, with times in a zone; nil shows
// each in its own.
func (c *Course) Turns(zone *time.Location) []Turn { return c.turns(c.dates(zone)) }

func (c *Course) turns(d dates) []Turn {
	var all []Turn
	charted := c.ChartChanges
	chart := func(ch ChartChange) {
		all = append(all, Turn{When: d.minute(ch.At), What: "charted" + by(ch.By), Lanes: ch.Lanes})
	}
	for _, ch := range c.Changes {
		for len(charted) > 0 && !charted[0].At.After(ch.After.Time) {
			chart(charted[0])
			charted = charted[1:]
		}
		all = append(all, Turn{d.note(ch.After), "written, against " + d.note(ch.Before), ch.Lanes, ch.Diff, ch.Before, ch.After})
	}
	for _, ch := range charted {
		chart(ch)
	}
	return all
}

func by(who string) string {
	if who == "" {
		return ""
	}
	return " by " + who
}

// A line is one row of the table that says in words what the drawing shows.
type line struct {
	Kind, Value, From, To, Notes string
	Differs                      bool
}

// Span is from when to when: "since 5 Nov, 10:00" for what is still in force, and one note by itself.
func (l line) Span() string {
	switch l.To {
	case inForce:
		return "since " + l.From
	case l.From:
		return l.From
	}
	return l.From + " to " + l.To
}

const inForce = "still in force"

// table is the bands and runs of a lane.
func (l *Lane) table(d dates) []line {
	var all []line
	for _, b := range l.Bands {
		to := inForce
		if !b.Until.IsZero() {
			to = d.minute(b.Until)
		}
		all = append(all, line{"charted", b.Value.Words, d.minute(b.From), to, "", false})
	}
	for _, r := range l.Runs {
		notes := plural.Of(r.Notes, "note")
		switch {
		case r.Differs == r.Notes:
			notes += ", differing from the chart"
		case r.Differs > 0:
			notes += fmt.Sprintf(", %d differing from the chart", r.Differs)
		}
		all = append(all, line{"written", r.Value.Words, d.note(r.First), d.note(r.Last), notes, r.Differs > 0})
	}
	return all
}

// sentence is "Said not: dizziness, in 3 notes, 10 Nov day 14:20, N1 to 12 Nov day 14:20, N9".
func (a *Aside) sentence(d dates) string {
	s := report.Capital(a.Why) + ": " + a.Words
	if a.Notes == 1 {
		return s + ", in 1 note, " + d.note(a.First)
	}
	return fmt.Sprintf("%s, in %d notes, %s to %s", s, a.Notes, d.note(a.First), d.note(a.Last))
}
