// Package sight stands between the pages and the records: it lets a request see what its session may see, and
// has the access log tell whom it was shown.
//
// A [Window] is what pages have of the records. Each request makes one [Visit] to it and looks at one state of
// the notes, through a [Sight]. There is no other way to a resident's words, so that whoever is on a page has been
// noted by then; [Visit.Log] hands that to the access log before the page is sent. A resident whom the
// session may not see is left out as if not there. That somebody lives in a unit, by name alone, is told to those
// who may see the unit and not logged.
package sight

import (
	"cmp"
	"context"
	"maps"
	"slices"
	"strings"
	"time"

	"example.com/stance/cmd/stance/web/guard"
	"example.com/stance/cmd/stance/web/pages/records"
	"example.com/stance/lexicon"
	"example.com/stance/lint/answers"
	"example.com/stance/lint/chart"
	"example.com/stance/lint/finding"
	"example.com/stance/lint/note"
	"example.com/stance/lint/shift"
	"example.com/stance/lint/timeline"
)

// AllUnits is the choice of every unit that may be seen.
const AllUnits = "all"

// Config is what a window is made of. Saw may be nil; all else must be set.
type Config struct {
	Records *records.Records
	// Session tells on whose behalf a request is answered.
	Session func(context.Context) guard.Session
	// Saw is told the residents whom a page is about to show.
	Saw func(ctx context.Context, residents ...string) error
	Now func() time.Time
}

// A Window is the records as pages have them. It is safe for concurrent use.
type Window struct{ config Config }

// New is a window on the records.
func New(c Config) *Window { return &Window{c} }

// Calendar is the home's round of shifts.
func (w *Window) Calendar() *shift.Calendar { return w.config.Records.Calendar() }

// CanAnswer reports whether there is a file for answers.
func (w *Window) CanAnswer() bool { return w.config.Records.CanAnswer() }

// Answers are those given so far, by the ids of findings.
func (w *Window) Answers() (*answers.Book, error) { return w.config.Records.Book() }

// Answer keeps an answer to the finding of that id.
func (w *Window) Answer(id string, a finding.Answer) error { return w.config.Records.Answer(id, a) }

// Visit begins a request's visit.
func (w *Window) Visit() *Visit { return &Visit{window: w} }

// A Visit is one request at the window. It is for one goroutine.
type Visit struct {
	window *Window
	sight  *Sight
}

// Look is what the session of the request sees. All looks of a visit are at one state of the notes.
func (v *Visit) Look(ctx context.Context) (*Sight, error) {
	if v.sight != nil {
		return v.sight, nil
	}
	c := v.window.config
	snap, err := c.Records.Snapshot(ctx)
	if err != nil {
		return nil, err
	}
	v.sight = &Sight{snap: snap, calendar: c.Records.Calendar(), session: c.Session(ctx), now: c.Now(), shown: make(map[string]bool)}
	return v.sight, nil
}

// Log has the access log tell whom the visit was shown. What it was shown must not be sent where that fails.
func (v *Visit) Log(ctx context.Context) error {
	if v.sight == nil || len(v.sight.shown) == 0 || v.window.config.Saw == nil {
		return nil
	}
	return v.window.config.Saw(ctx, slices.Sorted(maps.Keys(v.sight.shown))...)
}

// A Sight is the records as one session sees them at one moment. It is for one goroutine.
type Sight struct {
	snap     *records.Snapshot
	calendar *shift.Calendar
	session  guard.Session
	now      time.Time
	shown    map[string]bool
}

// Sees reports whether there is such a resident whom the session may see.
func (s *Sight) Sees(resident string) bool {
	return s.snap.Known(resident) && s.session.Sees(s.snap.Unit(resident, s.now))
}

// Residents are those whom the session may see, by unit and id.
func (s *Sight) Residents() []records.Resident {
	return slices.DeleteFunc(s.snap.Residents(s.now), func(r records.Resident) bool { return !s.session.Sees(r.Unit) })
}

// Unit is where a resident whom the session may see lives; empty where that is not known.
func (s *Sight) Unit(resident string) string {
	if !s.Sees(resident) {
		return ""
	}
	return s.snap.Unit(resident, s.now)
}

// Resident is what tells a resident whom the session may see from others; only the id where it may not.
func (s *Sight) Resident(id string) records.Resident {
	if !s.Sees(id) {
		return records.Resident{ID: id}
	}
	return s.snap.Resident(id, s.now)
}

// Charted reports whether a chart was given.
func (s *Sight) Charted() bool { return s.snap.Charted() }

// Read is what words of the user's own say.
func (s *Sight) Read(words string, role lexicon.Role) lexicon.Reading {
	return s.snap.Read(words, role)
}

// belongs reports whether a note, or a finding, of that resident and unit is among those of the unit chosen: the
// session may see both where the resident lives now and where the note was written.
func (s *Sight) belongs(chosen, resident, unit string) bool {
	if !s.Sees(resident) || unit != "" && !s.session.Sees(unit) {
		return false
	}
	return chosen == AllUnits || strings.EqualFold(cmp.Or(unit, s.snap.Unit(resident, s.now)), chosen)
}

// Shifts are those with notes of the unit, by time.
func (s *Sight) Shifts(unit string) []shift.Key {
	return slices.DeleteFunc(s.snap.Shifts(), func(k shift.Key) bool {
		return !slices.ContainsFunc(s.snap.OnShift(k), func(n note.Note) bool { return s.belongs(unit, n.Resident, n.Unit) })
	})
}

// Noted counts the notes of the unit on a shift, and the residents whom they are about.
func (s *Sight) Noted(unit string, k shift.Key) (notes, residents int) {
	whose := make(map[string]bool)
	for _, n := range s.snap.OnShift(k) {
		if s.belongs(unit, n.Resident, n.Unit) {
			notes++
			whose[n.Resident] = true
		}
	}
	return notes, len(whose)
}

// Row is the chart row in force for a resident at that time, nil for none. The second result is false where the
// session may not see the resident.
func (s *Sight) Row(resident string, at time.Time) (*chart.Row, bool) {
	if !s.Sees(resident) {
		return nil, false
	}
	s.shown[resident] = true
	return s.snap.Row(resident, at), true
}

// Timeline is a resident's notes as read, in order. The second result is false where the session may not see the
// resident.
func (s *Sight) Timeline(resident string) (*timeline.Timeline, bool) {
	if !s.Sees(resident) {
		return nil, false
	}
	s.shown[resident] = true
	return s.snap.Timeline(resident), true
}

// A Finding is one that the session may see, as much of it as it may.
type Finding struct {
	finding.Finding
	On note.Note // only its resident is set where a shift has none

	// Hidden says that the finding rests on a note on a resident whom the session may not see. Its message and
	// what it is compared with are left out.
	Hidden   bool
	Compared []Compared
}

// A Compared is a place that bears on a finding.
type Compared struct {
	finding.Evidence
	Own   bool // in the note that the finding is on
	Other bool // on another resident
	Time  time.Time
}

// Found are the findings of the unit on a shift.
func (s *Sight) Found(ctx context.Context, unit string, k shift.Key) ([]Finding, error) {
	all, err := s.found(ctx, unit, k)
	return s.open(all), err
}

// Unsettled counts, by shift, the findings of the unit from a shift on that an answer does not settle. It shows nothing of
// them.
func (s *Sight) Unsettled(ctx context.Context, unit string, first shift.Key, book *answers.Book) (map[string]int, error) {
	all, err := s.snap.FoundSince(ctx, first)
	if err != nil {
		return nil, err
	}
	out := make(map[string]int)
	for k, fs := range all {
		for _, f := range fs {
			a, _ := book.Of(f.ID)
			if s.belongs(unit, f.Resident, f.Unit) && (a.As == "" || !a.Settles()) {
				out[k]++
			}
		}
	}
	return out, nil
}

// NotesOn are the notes of the unit on a shift, by resident.
func (s *Sight) NotesOn(unit string, k shift.Key) map[string][]note.Note {
	out := make(map[string][]note.Note)
	for _, n := range s.snap.OnShift(k) {
		if s.belongs(unit, n.Resident, n.Unit) {
			s.shown[n.Resident] = true
			out[n.Resident] = append(out[n.Resident], n)
		}
	}
	return out
}

// FoundOn are the findings on the resident's notes of a time, none where the session may not see the resident. Those
// of another unit's notes are left out where it may not see that unit.
func (s *Sight) FoundOn(ctx context.Context, resident string, since, until time.Time) ([]Finding, error) {
	if !s.Sees(resident) {
		return nil, nil
	}
	all, err := s.snap.FoundOn(ctx, resident, since, until)
	if err != nil {
		return nil, err
	}
	return s.open(slices.DeleteFunc(all, func(f finding.Finding) bool { return !s.belongs(AllUnits, f.Resident, f.Unit) })), nil
}

// Overlooked are the sentences about moving of which nothing was understood, in the unit's notes on a shift.
func (s *Sight) Overlooked(unit string, k shift.Key) []finding.Overlooked {
	var out []finding.Overlooked
	for _, n := range s.snap.OnShift(k) {
		if !s.belongs(unit, n.Resident, n.Unit) {
			continue
		}
		for _, at := range s.snap.Read(n.Text, n.Role).Overlooked {
			s.shown[n.Resident] = true
			out = append(out, finding.Overlooked{
				Resident: n.Resident, Note: n.ID, Shift: k.String(), Span: at, Text: n.Text[at.Start:at.End], Unit: n.Unit, Time: n.Time,
			})
		}
	}
	slices.SortStableFunc(out, func(a, b finding.Overlooked) int {
		return cmp.Or(strings.Compare(a.Resident, b.Resident), a.Time.Compare(b.Time))
	})
	return out
}

func (s *Sight) open(all []finding.Finding) []Finding {
	out := make([]Finding, len(all))
	for i, f := range all {
		on, ok := s.snap.NoteOf(f)
		if !ok {
			on = note.Note{Resident: f.Resident}
		}
		out[i] = s.show(f, on)
	}
	return out
}

// Has reports whether a finding of that id is among those of the unit on a shift, and shows nothing of it.
func (s *Sight) Has(ctx context.Context, unit string, k shift.Key, id string) (bool, error) {
	all, err := s.found(ctx, unit, k)
	return slices.ContainsFunc(all, func(f finding.Finding) bool { return f.ID == id }), err
}

func (s *Sight) found(ctx context.Context, unit string, k shift.Key) ([]finding.Finding, error) {
	all, err := s.snap.Found(ctx, k)
	if err != nil {
		return nil, err
	}
	var out []finding.Finding
	for _, f := range all {
		if s.belongs(unit, f.Resident, f.Unit) {
			out = append(out, f)
		}
	}
	return out, nil
}

// show is the finding on a note as the session may see it. Whoever it tells of is noted as shown.
func (s *Sight) show(f finding.Finding, on note.Note) Finding {
	s.shown[f.Resident] = true
	out := Finding{Finding: f, On: on}
	out.Hidden = slices.ContainsFunc(f.Evidence, func(e finding.Evidence) bool { return e.Resident != "" && !s.Sees(e.Resident) })
	out.Evidence = nil
	for _, e := range f.Evidence {
		switch {
		case e.Chart != nil:
			out.Evidence = append(out.Evidence, e)
		case !out.Hidden && e.Text != "":
			c := Compared{Evidence: e, Own: f.Within(e), Other: e.Resident != ""}
			if n, ok := s.snap.NoteWith(f.About(e), e); ok {
				c.Time = n.Time
			}
			s.shown[f.About(e)] = true
			out.Compared = append(out.Compared, c)
		}
	}
	if out.Hidden {
		out.Message = ""
	}
	return out
}

// Judge reads a note that is being written and says what the rules find in it, held against the notes that the
// session may see. A note on a resident whom it may not see is held against nothing.
func (s *Sight) Judge(ctx context.Context, typed note.Note) (lexicon.Reading, []Finding, error) {
	if !s.Sees(typed.Resident) {
		typed.Resident = ""
	}
	reading, found, err := s.snap.Judge(ctx, typed, s.Sees)
	if err != nil {
		return lexicon.Reading{}, nil, err
	}
	out := make([]Finding, 0, len(found))
	for _, f := range found {
		out = append(out, s.show(f, typed))
	}
	if typed.Resident == "" {
		delete(s.shown, "") // nobody
	}
	return reading, out, nil
}
