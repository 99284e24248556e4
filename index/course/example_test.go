package course_test

import (
	"fmt"
	"log"
	"time"

	"example.com/stance/index/course"
	"example.com/stance/lexicon"
	"example.com/stance/lint/chart"
	"example.com/stance/lint/note"
	"example.com/stance/lint/policy"
	"example.com/stance/lint/shift"
	"example.com/stance/lint/timeline"
)

func ExampleBuild() {
	lex, err := lexicon.New()
	if err != nil {
		log.Fatal(err)
	}
	calendar, err := shift.NewCalendar(policy.Default().Shifts, time.UTC)
	if err != nil {
		log.Fatal(err)
	}
	day := func(d int) time.Time { return time.Date(2026, 11, d, 8, 0, 0, 0, time.UTC) }
	ch, err := chart.New([]chart.Row{{Resident: "R-1", From: day(1), Transfer: chart.TwoPersonPivot, Staff: 2, Walk: chart.WalkNo}})
	if err != nil {
		log.Fatal(err)
	}
	notes := []note.Note{
		{ID: "N1", Resident: "R-1", Time: day(9), Text: "Pivot x2 to chair."},
		{ID: "N2", Resident: "R-1", Time: day(10), Text: "Pivot x1 to chair."},
	}
	c := course.Build(timeline.New("R-1", notes, lex, ch, calendar), course.Options{LiftHelpers: 2})
	for _, m := range c.Marks {
		for _, d := range m.Differences {
			fmt.Printf("%s: %s: %s, charted %s\n", m.Note.ID, d.Name, d.Written.Words, d.Charted.Words)
		}
	}
	for _, s := range c.Changes[0].Diff {
		fmt.Printf("%q %q %q\n", s.Same, s.Before, s.After)
	}
	// Output:
	// N2: Helpers: 1 helper, charted 2 helpers
	// "Pivot " "" ""
	// "" "x2" "x1"
	// " to chair." "" ""
}
