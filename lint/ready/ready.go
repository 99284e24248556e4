// Package ready says in plain words what is wrong with a home's set-up, and what to do about it: whether its policy, its
// chart and its notes fit together, so that what stance finds later rests on what the home meant.
//
// Start with [New], hand over the notes, then ask for [Setup.Problems]. It reads no files, and judges no note.
package ready

import (
	"fmt"
	"slices"
	"strconv"
	"strings"
	"time"

	"example.com/stance/lint/chart"
	"example.com/stance/lint/note"
	"example.com/stance/lint/plural"
	"example.com/stance/lint/policy"
	"example.com/stance/lint/shift"
)

// A Problem is one thing about a set-up.
type Problem struct {
	ID    string `json:"id"`
	Wrong bool   `json:"wrong"` // to be put right; else it is only worth a look
	What  string `json:"what"`  // sentences
	Do    string `json:"do"`    // a sentence
}

// A Setup is what is known of a home. It is not safe for concurrent use.
type Setup struct {
	now      time.Time
	policy   *policy.Policy
	chart    *chart.Chart // nil: none was given
	calendar *shift.Calendar

	notes       int
	first, last time.Time
	ids         map[key]int
	residents   map[string]*resident
	units       map[string]int
	days        map[int]bool            // with any note, in days since 1970, on which its shift began
	onShift     map[string]map[int]bool // by name of the shift
	future      int
	midnight    int
	staged      int            // notes that state a shift of the policy's
	misfit      int            // of them, those whose time lies outside of it
	unknown     map[string]int // stated shifts that the policy does not have
	offsets     map[string]int // written, that the zone does not have then
	survey      note.Survey
}

type key struct{ resident, id string }

type resident struct {
	notes   int
	outside int // notes for which no row of the chart is in force, though the resident has rows
	first   time.Time
}

// New is a home of which no note has been seen. now is the clock's time; a nil chart is none.
func New(now time.Time, p *policy.Policy, ch *chart.Chart) (*Setup, error) {
	cal, err := shift.NewCalendar(p.Shifts, p.Zone)
	if err != nil {
		return nil, err
	}
	return &Setup{
		now: now, policy: p, chart: ch, calendar: cal, ids: map[key]int{}, residents: map[string]*resident{}, units: map[string]int{},
		days: map[int]bool{}, onShift: map[string]map[int]bool{}, unknown: map[string]int{}, offsets: map[string]int{},
	}, nil
}

// Survey is where readers of notes put down what they see beside them.
func (s *Setup) Survey() *note.Survey { return &s.survey }

// Span is the times of the first note and of the last, and how many notes there are on how many residents.
func (s *Setup) Span() (first, last time.Time, notes, residents int) {
	return s.first, s.last, s.notes, len(s.residents)
}

const (
	ahead    = 24 * time.Hour // by which clocks may differ, or a note be signed off early
	lateNote = 2 * time.Hour  // after the end of a shift within which its notes are still written
)

// Note takes in a note.
func (s *Setup) Note(n note.Note) {
	s.notes++
	if s.first.IsZero() || n.Time.Before(s.first) {
		s.first = n.Time
	}
	if n.Time.After(s.last) {
		s.last = n.Time
	}
	s.ids[key{n.Resident, n.ID}]++
	r := s.residents[n.Resident]
	if r == nil {
		r = &resident{first: n.Time}
		s.residents[n.Resident] = r
	}
	r.notes++
	if n.Unit != "" {
		s.units[n.Unit]++
	}
	if n.Time.After(s.now.Add(ahead)) {
		s.future++
		return // days and shifts between here and there are no gaps
	}
	if _, ok := s.chart.At(n.Resident, n.Time); !ok {
		r.outside++
	}
	s.clock(n)
}

// clock looks at when a note was written, on the home's clock.
func (s *Setup) clock(n note.Note) {
	local := n.Time
	if s.policy.Zone != time.Local {
		local = n.Time.In(s.policy.Zone)
		_, written := n.Time.Zone()
		if _, here := local.Zone(); written != 0 && written != here { // 0 is UTC, in which programs write
			s.offsets[n.Time.Format("-07:00")]++
		}
	}
	if local.Hour() == 0 && local.Minute() == 0 && local.Second() == 0 {
		s.midnight++
	}
	k := s.calendar.Key(n.Time, n.Shift)
	s.days[k.Day] = true
	if s.onShift[k.Name] == nil {
		s.onShift[k.Name] = map[int]bool{}
	}
	s.onShift[k.Name][k.Day] = true
	if n.Shift == "" {
		return
	}
	if !slices.ContainsFunc(s.calendar.Names(), func(name string) bool { return strings.EqualFold(strings.TrimSpace(name), strings.TrimSpace(n.Shift)) }) {
		s.unknown[n.Shift]++
		return
	}
	s.staged++
	if now, before := s.calendar.Key(n.Time, "").Name, s.calendar.Key(n.Time.Add(-lateNote), "").Name; !strings.EqualFold(now, strings.TrimSpace(n.Shift)) && !strings.EqualFold(before, strings.TrimSpace(n.Shift)) {
		s.misfit++
	}
}

// mostNamed is how many names a problem lists.
const mostNamed = 8

// names lists the first of some names: "R-1, R-2 and 3 more".
func names(all []string) string {
	if len(all) <= mostNamed {
		return strings.Join(all, ", ")
	}
	return fmt.Sprintf("%s and %d more", strings.Join(all[:mostNamed], ", "), len(all)-mostNamed)
}

// quoted are names as they are written, each cut short where a slipped column put long text there.
func quoted(all []string) []string {
	const most = 24
	out := make([]string, len(all))
	for i, s := range all {
		if r := []rune(s); len(r) > most {
			s = string(r[:most]) + "…"
		}
		out[i] = strconv.Quote(s)
	}
	return out
}

// counted is "1 note", "2 notes".
func counted(n int) string { return plural.Of(n, "note") }
