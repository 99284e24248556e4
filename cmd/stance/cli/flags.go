package cli

import (
	"fmt"
	"slices"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"example.com/stance/lint/finding"
	"example.com/stance/lint/note"
	"example.com/stance/lint/policy"
	"example.com/stance/lint/shift"
)

// A choice is a flag that takes one of a few words.
type choice struct {
	value   string
	allowed []string
}

func (c *choice) String() string { return c.value }
func (c *choice) Type() string   { return strings.Join(c.allowed, "|") }
func (c *choice) Set(s string) error {
	if s == "markdown" && slices.Contains(c.allowed, "md") {
		s = "md"
	}
	if !slices.Contains(c.allowed, s) {
		return fmt.Errorf("want %s", list(c.allowed))
	}
	c.value = s
	return nil
}

// formats is the --format flag of one command; the first format is the default.
func formats(c *cobra.Command, allowed ...string) *choice {
	f := &choice{value: allowed[0], allowed: allowed}
	c.Flags().Var(f, "format", "how to print")
	return f
}

// list is "a, b or c".
func list(words []string) string {
	if len(words) < 2 {
		return strings.Join(words, "")
	}
	return strings.Join(words[:len(words)-1], ", ") + " or " + words[len(words)-1]
}

// selectFlags choose which notes are reported on. The other notes are still read, because a note is
// judged by the ones around it.
type selectFlags struct {
	since, until, shift, unit, resident string
}

func (s *selectFlags) register(c *cobra.Command) {
	f := c.Flags()
	f.StringVar(&s.since, "since", "", "only what happened at or after this `time` (2026-11-24 or 2026-11-24T07:00)")
	f.StringVar(&s.until, "until", "", "only what happened at or before this `time`; a date includes the whole day")
	f.StringVar(&s.shift, "shift", "", "only this `shift` (night, or 2026-11-24/night)")
	f.StringVar(&s.unit, "unit", "", "only residents of this `unit`")
	f.StringVar(&s.resident, "resident", "", "only this `resident`")
}

// A selection is selectFlags made ready. The zero value of a field selects all.
type selection struct {
	since, end               time.Time // end is the first moment that is out
	day, shiftName           string
	unit, resident           string
	calendar                 *shift.Calendar
	sinceGiven, untilGiven   bool
	unitGiven, residentGiven bool
}

func (s *selectFlags) ready(p *policy.Policy) (*selection, error) {
	cal, err := shift.NewCalendar(p.Shifts, p.Zone)
	if err != nil {
		return nil, usagef("%w", err)
	}
	sel := &selection{calendar: cal, unit: s.unit, resident: s.resident, unitGiven: s.unit != "", residentGiven: s.resident != ""}
	if s.since != "" {
		t, _, err := moment(s.since, p.Zone)
		if err != nil {
			return nil, usagef("--since: %w", err)
		}
		sel.since, sel.sinceGiven = t, true
	}
	if s.until != "" {
		t, unit, err := moment(s.until, p.Zone)
		if err != nil {
			return nil, usagef("--until: %w", err)
		}
		sel.untilGiven = true
		if sel.end = t.Add(unit); unit == wholeDay {
			sel.end = t.AddDate(0, 0, 1) // a day may have 23 or 25 hours
		}
	}
	if sel.sinceGiven && sel.untilGiven && !sel.since.Before(sel.end) {
		return nil, usagef("--since %s lies after --until %s", s.since, s.until)
	}
	if s.shift != "" {
		day, name, dated := strings.Cut(s.shift, "/")
		if !dated {
			day, name = "", s.shift
		} else if _, err := time.Parse(time.DateOnly, day); err != nil {
			return nil, usagef("--shift %q: want a shift's name, or a date and a name as in 2026-11-24/night", s.shift)
		}
		i := slices.IndexFunc(cal.Names(), func(n string) bool { return strings.EqualFold(n, name) })
		if i < 0 {
			return nil, usagef("--shift %q: unknown shift, want %s", s.shift, list(cal.Names()))
		}
		sel.day, sel.shiftName = day, cal.Names()[i]
	}
	return sel, nil
}

const wholeDay = 24 * time.Hour

// moment reads a time and the unit that it is given to: a day, a minute or a second.
func moment(s string, zone *time.Location) (time.Time, time.Duration, error) {
	if zone == nil {
		zone = time.Local
	}
	for _, form := range []struct {
		layout string
		unit   time.Duration
	}{
		{time.DateOnly, wholeDay},
		{"2006-01-02T15:04", time.Minute},
		{"2006-01-02 15:04", time.Minute},
		{"2006-01-02T15:04:05", time.Second},
		{"2006-01-02 15:04:05", time.Second},
		{"2006-01-02T15:04Z07:00", time.Minute},
		{time.RFC3339, time.Second},
	} {
		if t, err := time.ParseInLocation(form.layout, s, zone); err == nil {
			return t, form.unit, nil
		}
	}
	return time.Time{}, 0, fmt.Errorf("%q is no time, want 2026-11-24, 2026-11-24T07:00 or 2026-11-24T07:00:00-05:00", s)
}

// note reports whether n is selected.
func (s *selection) note(n *note.Note) bool {
	return s.has(n.Resident, n.Unit, n.Time, s.calendar.Key(n.Time, n.Shift).String())
}

// finding reports whether f is on something selected.
func (s *selection) finding(f *finding.Finding) bool {
	return s.has(f.Resident, f.Unit, f.Time, f.Shift)
}

func (s *selection) has(resident, unit string, t time.Time, shift string) bool {
	if s.residentGiven && !strings.EqualFold(resident, s.resident) || s.unitGiven && !strings.EqualFold(unit, s.unit) {
		return false
	}
	if s.sinceGiven && t.Before(s.since) || s.untilGiven && !t.Before(s.end) {
		return false
	}
	if s.shiftName == "" {
		return true
	}
	day, name, _ := strings.Cut(shift, "/")
	return name == s.shiftName && (s.day == "" || day == s.day)
}
