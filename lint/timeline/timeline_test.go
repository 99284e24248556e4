package timeline

import (
	"slices"
	"strings"
	"testing"
	"time"

	"example.com/stance/lexicon"
	"example.com/stance/lint/chart"
	"example.com/stance/lint/note"
	"example.com/stance/lint/shift"
)

type silent struct{}

func (silent) Read(string, lexicon.Role) lexicon.Reading { return lexicon.Reading{} }

func at(s string) time.Time {
	t, err := time.Parse("2006-01-02 15:04", s)
	if err != nil {
		panic(err)
	}
	return t
}

func calendar(t *testing.T) *shift.Calendar {
	t.Helper()
	c, err := shift.NewCalendar(map[string]string{"day": "07:00", "evening": "15:00", "night": "23:00"}, time.UTC)
	if err != nil {
		t.Fatal(err)
	}
	return c
}

func TestNew(t *testing.T) {
	ch, err := chart.New([]chart.Row{
		{Resident: "R", From: at("2026-03-10 12:00"), Line: 2},
		{Resident: "R", From: at("2026-03-10 20:00"), Until: at("2026-03-11 04:00"), Line: 3},
	})
	if err != nil {
		t.Fatal(err)
	}
	tl := New("R", []note.Note{
		{ID: "late", Time: at("2026-03-11 05:00")},
		{ID: "eve", Time: at("2026-03-10 21:00")},
		{ID: "first of two", Time: at("2026-03-10 13:00")},
		{ID: "second of two", Time: at("2026-03-10 13:00")},
		{ID: "early", Time: at("2026-03-10 11:00")},
	}, silent{}, ch, calendar(t))

	want := []struct {
		id, shift string
		index     int
		line      int // of the row in force; 0 for none
	}{
		{"early", "2026-03-10/day", 4, 0},
		{"first of two", "2026-03-10/day", 2, 2},
		{"second of two", "2026-03-10/day", 3, 2},
		{"eve", "2026-03-10/evening", 1, 3},
		{"late", "2026-03-10/night", 0, 0}, // the row has ended
	}
	for i, w := range want {
		e := tl.Entries[i]
		line := 0
		if e.Row != nil {
			line = e.Row.Line
		}
		if e.Note.ID != w.id || e.Shift.String() != w.shift || e.Index != w.index || line != w.line {
			t.Errorf("entry %d: %s on %s, index %d, row of line %d; want %+v", i, e.Note.ID, e.Shift, e.Index, line, w)
		}
	}
	var shifts []string
	for _, k := range tl.Shifts() {
		shifts = append(shifts, k.Name)
	}
	if !slices.Equal(shifts, []string{"day", "evening", "night"}) {
		t.Errorf("Shifts = %v", shifts)
	}
	if on := tl.On(tl.Entries[0].Shift); len(on) != 3 || on[2].Note.ID != "second of two" {
		t.Errorf("On(day) has %d entries, want the three of that day in order", len(on))
	}
	if before := tl.RowBefore(tl.Rows[1]); before != tl.Rows[0] || tl.RowBefore(tl.Rows[0]) != nil {
		t.Error("RowBefore: want the first row before the second and none before the first")
	}
	if r := tl.RowAt(at("2026-03-10 12:00")); r != tl.Rows[0] {
		t.Error("RowAt: want a row in force from its very start")
	}
}

// late reads every text as a late entry for the time of day that it begins with.
type late struct{}

func (late) Read(text string, _ lexicon.Role) lexicon.Reading {
	clock, _, _ := strings.Cut(text, " ")
	return lexicon.Reading{Late: clock}
}

// TestLateEntry puts late entries where their events belong: before what was written in between, on
// the shift of the event whatever shift wrote it, under the chart row of then.
func TestLateEntry(t *testing.T) {
	ch, err := chart.New([]chart.Row{{Resident: "R", From: at("2026-03-10 12:00"), Line: 2}})
	if err != nil {
		t.Fatal(err)
	}
	tl := New("R", []note.Note{
		{ID: "on time", Time: at("2026-03-10 13:00"), Text: "none"},
		{ID: "of the morning", Time: at("2026-03-10 22:40"), Shift: "evening", Text: "09:15 found on the floor"},
		{ID: "of the evening before", Time: at("2026-03-11 02:00"), Shift: "night", Text: "21:30 up to the chair"},
	}, late{}, ch, calendar(t))
	for i, w := range []struct {
		id, time, shift string
		charted         bool
	}{
		{"of the morning", "2026-03-10 09:15", "2026-03-10/day", false},
		{"on time", "2026-03-10 13:00", "2026-03-10/day", true},
		{"of the evening before", "2026-03-10 21:30", "2026-03-10/evening", true},
	} {
		e := tl.Entries[i]
		if e.Note.ID != w.id || !e.Time.Equal(at(w.time)) || e.Shift.String() != w.shift || (e.Row != nil) != w.charted {
			t.Errorf("entry %d: %s at %s on %s, charted %t; want %+v", i, e.Note.ID, e.Time, e.Shift, e.Row != nil, w)
		}
	}
}

func TestNoChart(t *testing.T) {
	tl := New("R", []note.Note{{ID: "a", Time: at("2026-03-10 11:00")}}, silent{}, nil, calendar(t))
	if tl.Charted || tl.Rows != nil || tl.Entries[0].Row != nil {
		t.Errorf("timeline with no chart: %+v", tl)
	}
}

func TestOpening(t *testing.T) {
	for _, tt := range []struct {
		text, want   string
		line, column int
	}{
		{"Slept well.", "Slept well.", 1, 1},
		{"\n  Slept well.\nWoke at six.", "Slept well.", 2, 3},
		{"Slept well through the night and woke at six for a cup of tea with two biscuits", "Slept well through the night and woke at six for a cup of", 1, 1},
		{strings.Repeat("é", 40), strings.Repeat("é", 30), 1, 1}, // one long word, cut between characters
		{"", "", 1, 1},
		{" \n ", "", 2, 2},
	} {
		e := &Entry{Note: note.Note{Text: tt.text}}
		s := e.Opening()
		if got := e.Words(s); got != tt.want || s.Line != tt.line || s.Column != tt.column {
			t.Errorf("Opening of %q: %q at %d:%d, want %q at %d:%d", tt.text, got, s.Line, s.Column, tt.want, tt.line, tt.column)
		}
	}
}

func TestMentions(t *testing.T) {
	e := &Entry{Reading: lexicon.Reading{Statements: []lexicon.Statement{
		{Concept: "move.walk", Polarity: lexicon.Negated, Time: lexicon.Now, Who: lexicon.Resident, Mood: lexicon.Report},
		{Concept: "fall.fell", Polarity: lexicon.Affirmed, Time: lexicon.Now, Who: lexicon.Other, Mood: lexicon.Report},
	}}}
	if !e.Mentions("move") || e.Mentions("fall") || e.Done("move.walk") || e.Done("fall.fell") {
		t.Error("want the negated walk mentioned and not done, and another's fall neither")
	}
}
