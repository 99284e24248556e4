package shift_test

import (
	"slices"
	"testing"
	"time"
	_ "time/tzdata" // for a machine with no zone files

	"example.com/stance/lint/shift"
)

func defaults() map[string]string {
	return map[string]string{"day": "07:00", "evening": "15:00", "night": "23:00"}
}

func calendar(t *testing.T, starts map[string]string, zone *time.Location) *shift.Calendar {
	t.Helper()
	c, err := shift.NewCalendar(starts, zone)
	if err != nil {
		t.Fatal(err)
	}
	return c
}

func TestKey(t *testing.T) {
	twelve := map[string]string{"day": "07:00", "night": "19:00"}
	late := map[string]string{"day": "07:30", "night": "00:30"}
	tests := []struct {
		name   string
		starts map[string]string
		time   string // in the calendar's zone, UTC
		stated string
		want   string
	}{
		{"first minute of the day", defaults(), "2026-11-24 07:00", "", "2026-11-24/day"},
		{"last minute of the day", defaults(), "2026-11-24 14:59", "", "2026-11-24/day"},
		{"evening", defaults(), "2026-11-24 21:40", "", "2026-11-24/evening"},
		{"night before midnight", defaults(), "2026-11-24 23:30", "", "2026-11-24/night"},
		{"night at midnight", defaults(), "2026-11-25 00:00", "", "2026-11-24/night"},
		{"night after midnight", defaults(), "2026-11-25 06:59", "", "2026-11-24/night"},
		{"night across the turn of the year", defaults(), "2027-01-01 03:00", "", "2026-12-31/night"},
		{"night across a leap day", defaults(), "2028-03-01 03:00", "", "2028-02-29/night"},
		{"before 1970", defaults(), "1969-12-31 08:00", "", "1969-12-31/day"},

		{"stated wins", defaults(), "2026-11-24 15:20", "day", "2026-11-24/day"},
		{"stated in another case", defaults(), "2026-11-24 15:20", " Day ", "2026-11-24/day"},
		{"unknown stated is passed over", defaults(), "2026-11-24 15:20", "twilight", "2026-11-24/evening"},
		{"evening written after midnight", defaults(), "2026-11-25 00:30", "evening", "2026-11-24/evening"},
		{"night written in the morning", defaults(), "2026-11-25 07:10", "night", "2026-11-24/night"},
		{"night written early", defaults(), "2026-11-24 22:40", "night", "2026-11-24/night"},
		{"night of a twelve-hour home on default hours", defaults(), "2026-11-24 19:00", "night", "2026-11-24/night"},
		{"day begun before it starts", defaults(), "2026-11-24 06:40", "day", "2026-11-24/day"},
		{"day written late in the evening", defaults(), "2026-11-24 22:50", "day", "2026-11-24/day"},
		{"day written after midnight", defaults(), "2026-11-25 00:10", "day", "2026-11-24/day"},

		{"twelve hours, day", twelve, "2026-11-24 18:59", "", "2026-11-24/day"},
		{"twelve hours, night", twelve, "2026-11-25 06:59", "", "2026-11-24/night"},
		{"night that starts after midnight, its own date", late, "2026-11-25 01:00", "", "2026-11-25/night"},
		{"before the first start, the date before", late, "2026-11-25 00:10", "", "2026-11-24/day"},
		{"stated just before a start after midnight", late, "2026-11-24 23:50", "night", "2026-11-25/night"},
		{"one shift", map[string]string{"all": "12:00"}, "2026-11-25 11:59", "", "2026-11-24/all"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			at, err := time.ParseInLocation("2006-01-02 15:04", tt.time, time.UTC)
			if err != nil {
				t.Fatal(err)
			}
			if got := calendar(t, tt.starts, time.UTC).Key(at, tt.stated).String(); got != tt.want {
				t.Errorf("Key(%s, %q) = %s, want %s", tt.time, tt.stated, got, tt.want)
			}
		})
	}
}

func TestKeyZone(t *testing.T) {
	toronto, sydney := time.FixedZone("", -5*3600), time.FixedZone("", 11*3600)
	at := time.Date(2026, 11, 25, 2, 40, 0, 0, time.UTC) // 21:40 the day before in Toronto, 13:40 in Sydney
	tests := []struct {
		name string
		zone *time.Location
		at   time.Time
		want string
	}{
		{"the home's zone wins over the note's", toronto, at.In(sydney), "2026-11-24/evening"},
		{"the home's zone for an instant in UTC", sydney, at, "2026-11-25/day"},
		{"no home zone: the clock of the note", time.Local, at.In(toronto), "2026-11-24/evening"},
		{"nil is no home zone", nil, at.In(sydney), "2026-11-25/day"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			if got := calendar(t, defaults(), tt.zone).Key(tt.at, "").String(); got != tt.want {
				t.Errorf("Key(%s) = %s, want %s", tt.at, got, tt.want)
			}
		})
	}
}

// A key's shift starts at or before the times that give it, and the next one after them, through the
// days on which the clocks change.
func TestStartAcrossClockChanges(t *testing.T) {
	zone, err := time.LoadLocation("America/Toronto")
	if err != nil {
		t.Fatal(err)
	}
	c := calendar(t, defaults(), zone)
	for _, first := range []time.Time{
		time.Date(2026, 3, 7, 0, 0, 0, 0, zone),   // clocks go forward on the 8th
		time.Date(2026, 10, 31, 0, 0, 0, 0, zone), // and back on 1 November
	} {
		last := c.Key(first, "")
		for at := first; at.Before(first.Add(72 * time.Hour)); at = at.Add(10 * time.Minute) {
			k := c.Key(at, "")
			if c.Start(k).After(at) || !c.Start(c.Next(k)).After(at) {
				t.Fatalf("at %s: shift %s is from %s to %s", at, k, c.Start(k), c.Start(c.Next(k)))
			}
			if k != last && k != c.Next(last) {
				t.Fatalf("at %s: shift %s follows %s", at, k, last)
			}
			last = k
		}
	}
}

func TestNextPrev(t *testing.T) {
	c := calendar(t, defaults(), time.UTC)
	k := c.Key(time.Date(2026, 12, 30, 8, 0, 0, 0, time.UTC), "")
	want := []string{"2026-12-30/day", "2026-12-30/evening", "2026-12-30/night", "2026-12-31/day",
		"2026-12-31/evening", "2026-12-31/night", "2027-01-01/day"}
	for i, w := range want {
		if k.String() != w {
			t.Fatalf("shift %d is %s, want %s", i, k, w)
		}
		next := c.Next(k)
		if c.Prev(next) != k {
			t.Errorf("Prev(%s) = %s, want %s", next, c.Prev(next), k)
		}
		if !k.Before(next) || next.Before(k) || k.Before(k) {
			t.Errorf("want %s before %s and not the other way round", k, next)
		}
		k = next
	}
	if got := c.Names(); !slices.Equal(got, []string{"day", "evening", "night"}) {
		t.Errorf("Names() = %q", got)
	}
}

func TestNewCalendarErrors(t *testing.T) {
	tests := []struct {
		starts map[string]string
		want   string
	}{
		{nil, "shifts: want at least one name and start"},
		{map[string]string{"day": "7:00"}, `shift "day": start "7:00": want HH:MM from 00:00 to 23:59`},
		{map[string]string{"day": "24:00"}, `shift "day": start "24:00": want HH:MM from 00:00 to 23:59`},
		{map[string]string{" ": "07:00"}, "shift at 07:00: want a name"},
		{map[string]string{"day": "07:00", "early": "07:00"}, `shifts "day" and "early" start at one time: want a start of its own for each`},
		{map[string]string{"day": "07:00", "Day": "15:00"}, `shifts "day" and "Day" differ only in case: want one name for each`},
	}
	for _, tt := range tests {
		if _, err := shift.NewCalendar(tt.starts, time.UTC); err == nil || err.Error() != tt.want {
			t.Errorf("NewCalendar(%v): error %v, want %s", tt.starts, err, tt.want)
		}
	}
}
