// Package shift divides time into the shifts of a home.
//
// A [Calendar] holds the hours at which shifts start; it turns the time of a note, and the shift
// that the writer stated, into a [Key], and walks from one shift to the next. Times of day are
// those on the wall clock, so a shift keeps its hours when daylight saving starts or ends.
package shift

import (
	"cmp"
	"fmt"
	"slices"
	"strings"
	"time"
)

// A Key names one shift of one day. A night shift that crosses midnight belongs to the date on which it began.
type Key struct {
	Day  int    // days since 1970-01-01 of the date that the shift belongs to
	Slot int    // position in the day, 0 for the first shift that starts after midnight's shift has ended
	Name string // "day", "evening", "night"
}

// String is the published form, "2026-11-24/evening".
func (k Key) String() string {
	return fmt.Sprintf("%s/%s", time.Unix(int64(k.Day)*secondsPerDay, 0).UTC().Format(time.DateOnly), k.Name)
}

// Before reports whether k is an earlier shift than o of the same calendar.
func (k Key) Before(o Key) bool { return k.Compare(o) < 0 }

// Compare orders the shifts of one calendar in time.
func (k Key) Compare(o Key) int {
	return cmp.Or(cmp.Compare(k.Day, o.Day), cmp.Compare(k.Slot, o.Slot))
}

const (
	secondsPerDay = 24 * 60 * 60
	day           = 24 * time.Hour

	// earliest is how long before its shift a note may be timed and still belong to it. Four hours
	// is how far a twelve-hour night (19:00) starts ahead of the default one (23:00); common practice.
	earliest = 4 * time.Hour
)

// A Calendar is the round of shifts of a home. It does not change and is safe for concurrent use.
type Calendar struct {
	slots []slot // by start
	zone  *time.Location
}

type slot struct {
	name  string
	start time.Duration // since midnight on the wall clock
}

// NewCalendar is the calendar of shifts that start at the given times of day ("HH:MM") and run
// until the next one starts. There must be at least one, each with a name and a start of its own.
//
// zone is the home's. With time.Local (or nil), the zone of a policy that states none, a time
// written with an offset from UTC of its own keeps that wall clock: it is the home's, whatever
// zone the machine is in.
func NewCalendar(starts map[string]string, zone *time.Location) (*Calendar, error) {
	if len(starts) == 0 {
		return nil, fmt.Errorf("shifts: want at least one name and start")
	}
	c := &Calendar{zone: zone}
	if zone == nil {
		c.zone = time.Local
	}
	for name, s := range starts {
		start, err := ParseStart(s)
		if err != nil {
			return nil, fmt.Errorf("shift %q: %w", name, err)
		}
		if fold(name) == "" {
			return nil, fmt.Errorf("shift at %s: want a name", s)
		}
		c.slots = append(c.slots, slot{name, start})
	}
	slices.SortFunc(c.slots, func(a, b slot) int {
		return cmp.Or(cmp.Compare(a.start, b.start), cmp.Compare(a.name, b.name))
	})
	for i, s := range c.slots[1:] {
		if prev := c.slots[i]; prev.start == s.start {
			return nil, fmt.Errorf("shifts %q and %q start at one time: want a start of its own for each", prev.name, s.name)
		}
	}
	for i, s := range c.slots {
		if j := c.slot(s.name); j != i {
			return nil, fmt.Errorf("shifts %q and %q differ only in case: want one name for each", c.slots[j].name, s.name)
		}
	}
	return c, nil
}

// ParseStart reads the time of day at which a shift starts, "07:00", as the time since midnight.
func ParseStart(s string) (time.Duration, error) {
	t, err := time.Parse("15:04", s)
	if err != nil || len(s) != len("15:04") {
		return 0, fmt.Errorf("start %q: want HH:MM from 00:00 to 23:59", s)
	}
	return time.Duration(t.Hour())*time.Hour + time.Duration(t.Minute())*time.Minute, nil
}

// Names lists the shifts in the order of their starts.
func (c *Calendar) Names() []string {
	names := make([]string, len(c.slots))
	for i, s := range c.slots {
		names[i] = s.name
	}
	return names
}

// Key is the shift that a note with event time t belongs to. A stated shift that the calendar knows
// (in any case) wins over the time: it is the latest one of that name that had begun by t or begins
// within four hours of it, so that a night stated at 06:55, 07:10 or 22:40 is the right night. Any
// other stated name is passed over.
func (c *Calendar) Key(t time.Time, stated string) Key {
	t = c.local(t)
	date := epochDay(t)
	clock := time.Duration(t.Hour())*time.Hour + time.Duration(t.Minute())*time.Minute +
		time.Duration(t.Second())*time.Second + time.Duration(t.Nanosecond())
	if i := c.slot(stated); i >= 0 {
		// How far into the shift of that date t lies; a day more into the one before.
		switch since := clock - c.slots[i].start; {
		case since < -earliest:
			date--
		case since >= day-earliest:
			date++
		}
		return c.key(date, i)
	}
	for i, s := range slices.Backward(c.slots) {
		if s.start <= clock {
			return c.key(date, i)
		}
	}
	return c.key(date-1, len(c.slots)-1)
}

// Next is the shift that follows k.
func (c *Calendar) Next(k Key) Key {
	if k.Slot+1 < len(c.slots) {
		return c.key(k.Day, k.Slot+1)
	}
	return c.key(k.Day+1, 0)
}

// Prev is the shift that comes before k.
func (c *Calendar) Prev(k Key) Key {
	if k.Slot > 0 {
		return c.key(k.Day, k.Slot-1)
	}
	return c.key(k.Day-1, len(c.slots)-1)
}

// Start is the moment at which the shift k of this calendar starts, in the calendar's zone.
func (c *Calendar) Start(k Key) time.Time {
	date := time.Unix(int64(k.Day)*secondsPerDay, 0).UTC()
	start := c.slots[k.Slot].start
	return time.Date(date.Year(), date.Month(), date.Day(),
		int(start/time.Hour), int(start%time.Hour/time.Minute), 0, 0, c.zone)
}

func (c *Calendar) key(date, i int) Key { return Key{Day: date, Slot: i, Name: c.slots[i].name} }

// slot is the position of the shift with that name, or -1.
func (c *Calendar) slot(name string) int {
	return slices.IndexFunc(c.slots, func(s slot) bool { return fold(s.name) == fold(name) })
}

// local puts t on the home's wall clock.
func (c *Calendar) local(t time.Time) time.Time {
	if _, offset := t.Zone(); c.zone == time.Local && offset != 0 {
		return t // UTC is how an export writes an instant; any other offset is somebody's clock
	}
	return t.In(c.zone)
}

// epochDay is the number of the date of t, on its own wall clock, counted from 1970-01-01.
func epochDay(t time.Time) int {
	y, m, d := t.Date()
	return int(time.Date(y, m, d, 0, 0, 0, 0, time.UTC).Unix() / secondsPerDay)
}

func fold(name string) string { return strings.ToLower(strings.TrimSpace(name)) }
