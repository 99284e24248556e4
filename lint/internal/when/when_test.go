package when_test

import (
	"testing"
	"time"

	"example.com/stance/lint/internal/when"
)

func TestParse(t *testing.T) {
	zone := time.FixedZone("home", -5*3600)
	const want = "2026-11-24T21:40:00-05:00"
	for _, s := range []string{
		"2026-11-24T21:40:00-05:00", "2026-11-24t21:40:00-05:00", "2026-11-25T02:40:00Z", "2026-11-24 21:40:00-0500",
		"2026-11-24T21:40-05:00", "2026-11-24T21:40-05", "2026-11-24 21:40 -05:00", "2026-11-24 21:40 -0500",
		"2026-11-24 21:40", "2026-11-24T21:40", "2026-11-24 21:40:00", "2026-11-24T21:40:00.000", " 2026-11-24  21:40 ",
		"2026/11/24 21:40", "2026-11-24 2140", "2026-11-24 9:40 PM", "2026-11-24 9:40pm", "2026-11-24 9:40 p.m.",
		"24 Nov 2026 21:40", "24 November 2026 21:40", "24-Nov-2026 21:40", "24-NOV-2026 21:40:00",
		"Nov 24, 2026 9:40 PM", "November 24 2026, 21:40", "Nov. 24 2026 21:40", "Tue 24 Nov 2026 21:40",
		"Tuesday, November 24, 2026 9:40:00 PM",
	} {
		got, err := when.Parse(s, zone)
		if err != nil {
			t.Errorf("Parse(%q): %v", s, err)
			continue
		}
		if got.In(zone).Format(time.RFC3339) != want {
			t.Errorf("Parse(%q) = %s, want %s", s, got, want)
		}
	}
}

func TestParseKeepsOffset(t *testing.T) {
	got, err := when.Parse("2026-11-24T21:40:00+11:00", time.UTC)
	if err != nil {
		t.Fatal(err)
	}
	if s := got.Format(time.RFC3339); s != "2026-11-24T21:40:00+11:00" {
		t.Errorf("the written clock is lost: %s", s)
	}
}

func TestParseNilZoneIsLocal(t *testing.T) {
	got, err := when.Parse("2026-11-24 21:40", nil)
	if want := time.Date(2026, 11, 24, 21, 40, 0, 0, time.Local); err != nil || !got.Equal(want) {
		t.Errorf("Parse = %s, %v, want %s", got, err, want)
	}
}

func TestParseErrors(t *testing.T) {
	tests := []struct{ in, want string }{
		{"", when.Forms + "; it is empty"},
		{"24/11/2026 21:40", when.Forms + "; day and month in figures can be read two ways"},
		{"11/24/2026 9:40 PM", when.Forms + "; day and month in figures can be read two ways"},
		{"03-04-2026 21:40", when.Forms + "; day and month in figures can be read two ways"},
		{"3.4.26 21:40", when.Forms + "; day and month in figures can be read two ways"},
		{"2026-11-24", when.Forms + "; the time of day is missing"},
		{"24 Nov 2026", when.Forms + "; the time of day is missing"},
		{"0026-11-24T21:40:00Z", when.Forms + "; the year is not in 1900 to 2999"},
		{"24-Nov-26 21:40", when.Forms},
		{"2026-11-31 21:40", when.Forms},
		{"2026-11-24 24:10", when.Forms},
		{"2026-11-24 21:40 EST", when.Forms},
		{"yesterday evening", when.Forms},
	}
	for _, tt := range tests {
		if got, err := when.Parse(tt.in, time.UTC); err == nil || err.Error() != tt.want {
			t.Errorf("Parse(%q) = %s, %v, want error %s", tt.in, got, err, tt.want)
		}
	}
}
