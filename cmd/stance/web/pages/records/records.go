// Package records is what the local page shows: the notes, the chart, what the rules find in them and
// what was answered. It reads them anew when they change and remembers what it has worked out.
//
// Make one with [New]. A request takes one [Snapshot] and works on that, so that all it shows fits
// together. The package knows nothing of pages or of who may see what.
package records

import (
	"cmp"
	"context"
	"errors"
	"io/fs"
	"maps"
	"os"
	"slices"
	"strings"
	"sync"
	"time"

	"example.com/stance/lexicon"
	"example.com/stance/lint"
	"example.com/stance/lint/answers"
	"example.com/stance/lint/chart"
	"example.com/stance/lint/copies"
	"example.com/stance/lint/finding"
	"example.com/stance/lint/note"
	"example.com/stance/lint/policy"
	"example.com/stance/lint/shift"
	"example.com/stance/lint/timeline"
)

// A Source is where the notes are kept. It must be safe for concurrent use.
type Source interface {
	// Stamp is one string for one state of the notes. It is asked for on each request, so it must be quick.
	Stamp(ctx context.Context) (string, error)
	// Notes hands all notes to yield, in any order, and stops at the first error of yield.
	Notes(ctx context.Context, yield func(note.Note) error) error
}

// Config is what records are made of.
type Config struct {
	Lexicon *lexicon.Lexicon
	Policy  *policy.Policy
	Source  Source
	// Chart is the chart now in force, the same pointer for as long as it does not change; nil for
	// none. It is asked for on each request. A nil func is no chart.
	Chart   func() (*chart.Chart, error)
	Answers string // file of the answers to findings; empty: findings cannot be answered
	Version string // of the program, for audits; empty: "devel"
	// Wait waits for done, or until ctx ends, on behalf of a request that needs something that is being worked
	// out. Whoever serves the requests may use it to have them keep nobody else out meanwhile; nil: it only waits.
	Wait func(ctx context.Context, done <-chan struct{}) error
}

// Records gives snapshots of the notes and the chart. It is safe for concurrent use.
type Records struct {
	config   Config
	calendar *shift.Calendar

	snapshots *shelf[state, *Snapshot]
	judging   turn // of what is found on a shift
	auditing  turn // of audits, which take longest

	mu    sync.Mutex
	last  *Snapshot
	stamp string
}

// A state is that of the notes and of the chart.
type state struct {
	stamp string
	chart *chart.Chart
}

// New makes records. It reads nothing yet; the error is for a policy whose shifts make no calendar.
func New(c Config) (*Records, error) {
	cal, err := shift.NewCalendar(c.Policy.Shifts, c.Policy.Zone)
	if err != nil {
		return nil, err
	}
	if c.Wait == nil {
		c.Wait = waitFor
	}
	return &Records{
		config: c, calendar: cal, snapshots: newShelf[state, *Snapshot](1, c.Wait),
		judging: make(turn, 1), auditing: make(turn, 1),
	}, nil
}

// Calendar is the home's round of shifts.
func (r *Records) Calendar() *shift.Calendar { return r.calendar }

// Snapshot is the notes and the chart as they stand now.
func (r *Records) Snapshot(ctx context.Context) (*Snapshot, error) {
	stamp, err := r.config.Source.Stamp(ctx)
	if err != nil {
		return nil, err
	}
	var ch *chart.Chart
	if r.config.Chart != nil {
		if ch, err = r.config.Chart(); err != nil {
			return nil, err
		}
	}
	return r.snapshots.get(ctx, state{stamp, ch}, func(ctx context.Context) (*Snapshot, error) { return r.read(ctx, stamp, ch) })
}

// read takes the notes in, unless only the chart is another. It reads to the end even where nobody waits for it
// any more, so that notes that take longer to read than a request may last are read at all.
func (r *Records) read(ctx context.Context, stamp string, ch *chart.Chart) (*Snapshot, error) {
	r.mu.Lock()
	defer r.mu.Unlock()
	s := &Snapshot{
		config: &r.config, calendar: r.calendar, chart: ch, notes: make(map[string][]note.Note),
		onShift: make(map[shift.Key][]note.Note), words: make(map[shift.Key][]int),
		judging: r.judging, found: newShelf[shift.Key, []finding.Finding](mostShifts, r.config.Wait),
		recent:   newShelf[shift.Key, map[string][]finding.Finding](mostRecent, r.config.Wait),
		auditing: r.auditing, audits: newShelf[string, *Audit](mostAudits, r.config.Wait),
	}
	s.reader.lex, s.reader.known = r.config.Lexicon, make(map[written]lexicon.Reading)
	if r.last != nil && r.stamp == stamp {
		s.notes, s.onShift = r.last.notes, r.last.onShift
	} else if err := s.load(context.WithoutCancel(ctx), r.config.Source); err != nil {
		return nil, err
	}
	r.last, r.stamp = s, stamp
	return s, nil
}

// load takes all notes in.
func (s *Snapshot) load(ctx context.Context, from Source) error {
	err := from.Notes(ctx, func(n note.Note) error {
		s.notes[n.Resident] = append(s.notes[n.Resident], n)
		k := s.calendar.Key(n.Time, n.Shift)
		s.onShift[k] = append(s.onShift[k], n)
		return nil
	})
	for _, ns := range s.notes {
		slices.SortStableFunc(ns, func(a, b note.Note) int { return a.Time.Compare(b.Time) })
	}
	return err
}

// CanAnswer reports whether there is a file for answers.
func (r *Records) CanAnswer() bool { return r.config.Answers != "" }

// Book is the answers given so far.
func (r *Records) Book() (*answers.Book, error) {
	name := r.config.Answers
	if name == "" {
		return answers.Read(name, strings.NewReader(""))
	}
	f, err := os.Open(name)
	if errors.Is(err, fs.ErrNotExist) {
		return answers.Read(name, strings.NewReader(""))
	}
	if err != nil {
		return nil, err
	}
	defer f.Close()
	return answers.Read(name, f)
}

// Answer keeps an answer to the finding of that id.
func (r *Records) Answer(id string, a finding.Answer) error {
	return answers.Append(r.config.Answers, id, a)
}

// A Snapshot is one state of the notes and the chart. It is safe for concurrent use; what it gives
// must not be changed.
type Snapshot struct {
	config   *Config
	calendar *shift.Calendar
	chart    *chart.Chart
	notes    map[string][]note.Note    // by resident, in time order
	onShift  map[shift.Key][]note.Note // in the order of the source
	reader   memory

	judging  turn
	found    *shelf[shift.Key, []finding.Finding]
	recent   *shelf[shift.Key, map[string][]finding.Finding] // from a shift on
	auditing turn
	audits   *shelf[string, *Audit] // by the view

	counting sync.Mutex
	words    map[shift.Key][]int // of the notes of a shift, how many words each has
}

// A Resident is one whom notes, or rows of the chart, are about.
type Resident struct {
	ID   string
	Unit string // see [Snapshot.Unit]
	Name string // as the chart has it; empty for none
	Room string // the same
}

// Residents are all that have notes or are charted, by unit and id.
func (s *Snapshot) Residents(now time.Time) []Resident {
	out := make([]Resident, 0, len(s.notes))
	for id := range s.notes {
		out = append(out, s.Resident(id, now))
	}
	for _, id := range s.chart.Residents() {
		if _, ok := s.notes[id]; !ok {
			out = append(out, s.Resident(id, now))
		}
	}
	slices.SortFunc(out, func(a, b Resident) int {
		return cmp.Or(strings.Compare(a.Unit, b.Unit), strings.Compare(a.ID, b.ID))
	})
	return out
}

// Resident is what tells a resident from others: the name and the room are those of the chart row in force now or, where
// that has none, of the newest row that has one.
func (s *Snapshot) Resident(id string, now time.Time) Resident {
	r := Resident{ID: id, Unit: s.Unit(id, now)}
	rows := s.chart.Rows(id)
	if row, ok := s.chart.At(id, now); ok {
		r.Name, r.Room = row.Name, row.Room
	}
	for _, row := range slices.Backward(rows) {
		r.Name, r.Room = cmp.Or(r.Name, row.Name), cmp.Or(r.Room, row.Room)
	}
	return r
}

// Known reports whether there are notes on the resident or rows in the chart.
func (s *Snapshot) Known(resident string) bool {
	return len(s.notes[resident]) > 0 || len(s.chart.Rows(resident)) > 0
}

// Unit is where the resident lives: the unit of the chart row in force now or, where that says none,
// of the newest note that says one, or of the newest chart row.
func (s *Snapshot) Unit(resident string, now time.Time) string {
	if row, ok := s.chart.At(resident, now); ok && row.Unit != "" {
		return row.Unit
	}
	for _, n := range slices.Backward(s.notes[resident]) {
		if n.Unit != "" {
			return n.Unit
		}
	}
	for _, row := range slices.Backward(s.chart.Rows(resident)) {
		if row.Unit != "" {
			return row.Unit
		}
	}
	return ""
}

// Row is the chart row in force for the resident at that time, or nil.
func (s *Snapshot) Row(resident string, at time.Time) *chart.Row {
	row, _ := s.chart.At(resident, at)
	return row
}

// Chart is the chart, or nil.
func (s *Snapshot) Chart() *chart.Chart { return s.chart }

// Charted reports whether a chart was given.
func (s *Snapshot) Charted() bool { return s.chart != nil }

// Notes are the resident's notes, by time.
func (s *Snapshot) Notes(resident string) []note.Note { return s.notes[resident] }

// NoteOf is the note that a finding is on.
func (s *Snapshot) NoteOf(f finding.Finding) (note.Note, bool) {
	return s.note(f.Resident, f.Note, func(n note.Note) bool { return n.Time.Equal(f.Time) && holds(n, f.Span, f.Text) })
}

// NoteWith is the resident's note in which a piece of evidence stands.
func (s *Snapshot) NoteWith(resident string, e finding.Evidence) (note.Note, bool) {
	if e.Span == nil {
		return note.Note{}, false
	}
	return s.note(resident, e.Note, func(n note.Note) bool { return holds(n, *e.Span, e.Text) })
}

// note is the first of the resident's notes of that id that fits: an id may stand more than once.
func (s *Snapshot) note(resident, id string, fits func(note.Note) bool) (note.Note, bool) {
	i := slices.IndexFunc(s.notes[resident], func(n note.Note) bool { return n.ID == id && fits(n) })
	if i < 0 {
		return note.Note{}, false
	}
	return s.notes[resident][i], true
}

// holds reports whether the words stand at that place of the note.
func holds(n note.Note, at lexicon.Span, words string) bool {
	return 0 <= at.Start && at.Start <= at.End && at.End <= len(n.Text) && n.Text[at.Start:at.End] == words
}

// Shifts are the shifts that have notes, by time.
func (s *Snapshot) Shifts() []shift.Key {
	return slices.SortedFunc(maps.Keys(s.onShift), shift.Key.Compare)
}

// OnShift are the notes of a shift, in the order of their source.
func (s *Snapshot) OnShift(k shift.Key) []note.Note { return s.onShift[k] }

// Timeline is the resident's notes as read, in order.
func (s *Snapshot) Timeline(resident string) *timeline.Timeline {
	return timeline.New(resident, s.notes[resident], &s.reader, s.chart, s.calendar)
}

// Read is what a text says, remembered for notes that come again.
func (s *Snapshot) Read(text string, role lexicon.Role) lexicon.Reading {
	return s.reader.Read(text, role)
}

// mostShifts is of how many shifts findings and counts are remembered.
const mostShifts = 64

// mostRecent is how many times, from a shift on, are remembered whole: one for each unit whose notes begin at another.
const mostRecent = 8

// Found are the findings of a shift on all residents, by resident, note time, span and rule. They are
// those that a check of all notes gives: the notes around the shift are judged with it, as far back
// and forth as rules look.
func (s *Snapshot) Found(ctx context.Context, k shift.Key) ([]finding.Finding, error) {
	return s.found.get(ctx, k, func(ctx context.Context) ([]finding.Finding, error) { return s.find(ctx, k) })
}

func (s *Snapshot) find(ctx context.Context, k shift.Key) ([]finding.Finding, error) {
	from, until := s.window(s.calendar.Start(k))
	fs, name := []finding.Finding{}, k.String()
	err := s.run(ctx, from, until, func(f finding.Finding) {
		if f.Shift == name {
			fs = append(fs, f)
		}
	})
	return fs, err
}

// FoundSince are the findings of all shifts from one on, by shift, each as Found gives it. One look through the notes
// finds them all.
func (s *Snapshot) FoundSince(ctx context.Context, first shift.Key) (map[string][]finding.Finding, error) {
	return s.recent.get(ctx, first, func(ctx context.Context) (map[string][]finding.Finding, error) {
		out := make(map[string][]finding.Finding)
		start := s.calendar.Start(first)
		from, _ := s.window(start)
		wanted := make(map[string]bool)
		last := start
		for k, notes := range s.onShift {
			if !k.Before(first) {
				wanted[k.String()] = true
			}
			for _, n := range notes {
				if n.Time.After(last) {
					last = n.Time
				}
			}
		}
		err := s.run(ctx, from, last, func(f finding.Finding) {
			if wanted[f.Shift] {
				out[f.Shift] = append(out[f.Shift], f)
			}
		})
		return out, err
	})
}

// run has all notes of a time judged.
func (s *Snapshot) run(ctx context.Context, from, until time.Time, emit func(finding.Finding)) error {
	giveBack, err := s.judging.take(ctx)
	if err != nil {
		return err
	}
	defer giveBack()
	checker, err := lint.NewChecker(&s.reader, s.chart, s.config.Policy)
	if err != nil {
		return err
	}
	for _, resident := range slices.Sorted(maps.Keys(s.notes)) {
		for _, n := range between(s.notes[resident], from, until) {
			checker.Add(n)
		}
	}
	_, err = checker.Run(ctx, func(f finding.Finding) error {
		emit(f)
		return nil
	})
	return err
}

// FoundOn are the findings on one resident's notes of a time, by note time, span and rule: those that a check of all
// notes gives.
func (s *Snapshot) FoundOn(ctx context.Context, resident string, since, until time.Time) ([]finding.Finding, error) {
	giveBack, err := s.judging.take(ctx)
	if err != nil {
		return nil, err
	}
	defer giveBack()
	checker, err := lint.NewChecker(&s.reader, s.chart, s.config.Policy)
	if err != nil {
		return nil, err
	}
	from, _ := s.window(since)
	_, to := s.window(until)
	shifts := make(map[shift.Key]bool)
	for _, n := range between(s.notes[resident], from, to) {
		checker.Add(n)
		if k := s.calendar.Key(n.Time, n.Shift); !shifts[k] && !n.Time.Before(since) && !n.Time.After(until) {
			shifts[k] = true
			for _, o := range s.onShift[k] {
				if o.Resident != resident {
					checker.Add(o) // of which it may be a copy
				}
			}
		}
	}
	var fs []finding.Finding
	_, err = checker.Run(ctx, func(f finding.Finding) error {
		if f.Resident == resident && !f.Time.Before(since) && !f.Time.After(until) {
			fs = append(fs, f)
		}
		return nil
	})
	return fs, err
}

// wordsOn counts the words of each note of a shift.
func (s *Snapshot) wordsOn(k shift.Key) []int {
	s.counting.Lock()
	defer s.counting.Unlock()
	if counts, ok := s.words[k]; ok {
		return counts
	}
	counts := make([]int, len(s.onShift[k]))
	for i, n := range s.onShift[k] {
		counts[i] = copies.Count(n.Text)
	}
	if len(s.words) >= mostShifts {
		clear(s.words)
	}
	s.words[k] = counts
	return counts
}

// window is the time in which notes bear on the judgement of one at that moment: as far back as copies
// are looked for, and forth to the end of the shift after the next one.
func (s *Snapshot) window(at time.Time) (from, until time.Time) {
	back := max(s.config.Policy.CopiedWindow, s.config.Policy.ChangeWindow)
	return at.Add(-back - 48*time.Hour), at.Add(72 * time.Hour)
}

// between are the notes from one time up to and with another.
func between(ns []note.Note, from, until time.Time) []note.Note {
	lo, _ := slices.BinarySearchFunc(ns, from, func(n note.Note, t time.Time) int { return n.Time.Compare(t) })
	hi := lo
	for hi < len(ns) && !ns[hi].Time.After(until) {
		hi++
	}
	return ns[lo:hi]
}

// TypedID is the id of a note that is being written, in the findings of [Snapshot.Judge].
const TypedID = "this note"

// Judge reads a note that is not kept and says what the rules find in it, among the resident's kept
// notes around it and, for copies, those of the same shift that show accepts. A kept note of its id, where it has one, is
// an earlier version of it. The note's id is TypedID in what is found.
func (s *Snapshot) Judge(ctx context.Context, typed note.Note, show func(resident string) bool) (lexicon.Reading, []finding.Finding, error) {
	reader := guest{&s.reader, typed.Text, typed.Role, s.config.Lexicon.Read(typed.Text, typed.Role)}
	checker, err := lint.NewChecker(reader, s.chart, s.config.Policy)
	if err != nil {
		return lexicon.Reading{}, nil, err
	}
	own := typed.ID
	typed.ID = TypedID
	k := s.calendar.Key(typed.Time, typed.Shift)
	from, until := s.window(typed.Time)
	for _, n := range between(s.notes[typed.Resident], from, until) {
		if n.ID == own || n.Text == typed.Text && s.calendar.Key(n.Time, n.Shift) == k {
			continue // the note itself, kept before, or since it was written
		}
		checker.Add(n)
	}
	// Of two copies the shorter has that share of the longer one's words, so others need no judging.
	words := copies.Count(typed.Text)
	counts := s.wordsOn(k)
	for i, n := range s.onShift[k] {
		has := counts[i]
		alike := float64(min(words, has)) >= s.config.Policy.CopiedShare*float64(max(words, has))
		if alike && n.Resident != typed.Resident && show(n.Resident) {
			checker.AddBeside(n)
		}
	}
	checker.Add(typed)
	var fs []finding.Finding
	if _, err := checker.Run(ctx, func(f finding.Finding) error {
		if f.Note == TypedID && f.Resident == typed.Resident {
			fs = append(fs, f)
		}
		return nil
	}); err != nil {
		return lexicon.Reading{}, nil, err
	}
	return reader.reading, fs, nil
}
