package ready_test

import (
	"fmt"
	"slices"
	"strings"
	"testing"
	"time"

	"example.com/stance/lint/chart"
	"example.com/stance/lint/note"
	"example.com/stance/lint/policy"
	"example.com/stance/lint/ready"
)

func noon(day int) time.Time { return time.Date(2026, 11, day, 12, 0, 0, 0, time.UTC) }

// setup is a home in UTC with a note of each of the days on R-1, who is charted.
func setup(t *testing.T, days ...int) *ready.Setup {
	t.Helper()
	p := policy.Default()
	p.Zone = time.UTC
	c, err := chart.New([]chart.Row{{Resident: "R-1", Unit: "Fir", From: noon(1).AddDate(0, -1, 0), Transfer: chart.Independent, Walk: chart.WalkIndependent}})
	if err != nil {
		t.Fatal(err)
	}
	s, err := ready.New(noon(30), p, c)
	if err != nil {
		t.Fatal(err)
	}
	for _, d := range days {
		s.Note(note.Note{ID: fmt.Sprint("N", d), Resident: "R-1", Unit: "Fir", Time: noon(d), Shift: "day", Text: "Slept."})
	}
	return s
}

func what(s *ready.Setup) []string {
	var out []string
	for _, p := range s.Problems() {
		out = append(out, p.ID+": "+p.What)
	}
	return out
}

func TestSound(t *testing.T) {
	if got := what(setup(t, 1, 2, 3, 4, 5, 6)); len(got) > 0 {
		t.Errorf("found %q", got)
	}
}

func TestWords(t *testing.T) {
	gap := setup(t, 1, 2, 3, 4, 5, 9)
	ahead := setup(t, 1, 2)
	ahead.Note(note.Note{ID: "X", Resident: "R-1", Time: noon(30).AddDate(1, 0, 0)})
	within := setup(t, 30)
	within.Note(note.Note{ID: "X", Resident: "R-1", Time: noon(30).Add(23 * time.Hour)})
	many := setup(t, 1)
	for i := range 12 {
		many.Note(note.Note{ID: "N", Resident: fmt.Sprintf("Q-%02d", i), Time: noon(1), Shift: strings.Repeat("long ", 20)})
	}
	late := setup(t, 1)
	for i := range 12 { // written up to two hours after the shift, which is no sign of other hours
		late.Note(note.Note{ID: fmt.Sprint("L", i), Resident: "R-1", Time: noon(1).Add(4*time.Hour + 59*time.Minute), Shift: "Day"})
	}
	for _, tt := range []struct {
		name string
		of   *ready.Setup
		want []string
	}{
		{"gap", gap, []string{"gaps: There is no note at all of: 6 November 2026, 7 November 2026, 8 November 2026."}},
		{"ahead", ahead, []string{"notes-in-future: 1 note is still to come; the last is of 30 November 2027, 12:00, and this machine's clock says 30 November 2026, 12:00."}},
		{"within a day", within, nil},
		{"many", many, []string{`shift-unknown: 12 notes state a shift that the policy does not have: "long long long long long…". The hour of the note counts in its place.`,
			"resident-uncharted: 12 residents have notes and no row of the chart, so nothing of theirs is held against one: Q-00, Q-01, Q-02, Q-03, Q-04, Q-05, Q-06, Q-07 and 4 more."}},
		{"late", late, nil},
	} {
		if got := what(tt.of); !slices.Equal(got, tt.want) {
			t.Errorf("%s: %q, want %q", tt.name, got, tt.want)
		}
	}
}
