package rules

import (
	"fmt"
	"math/rand/v2"
	"slices"
	"testing"
	"time"

	"example.com/stance/lexicon"
	"example.com/stance/lint/chart"
	"example.com/stance/lint/note"
	"example.com/stance/lint/policy"
	"example.com/stance/lint/shift"
	"example.com/stance/lint/timeline"
)

// searched is what onShift.contradicting is to find, by a look at every statement of every note.
func searched(entries []*timeline.Entry, row *chart.Row, s *lexicon.Statement) (saying, bool) {
	for _, e := range slices.Backward(entries) {
		if e.Row != row {
			break
		}
		if i := slices.IndexFunc(e.Reading.Statements, func(o lexicon.Statement) bool { return contradicts(s, &o) }); i >= 0 {
			return saying{e, &e.Reading.Statements[i]}, true
		}
	}
	return saying{}, false
}

// anything is a statement of any of the kinds that may contradict another, or be none of them.
func anything(r *rand.Rand) lexicon.Statement {
	pick := func(of ...string) string { return of[r.IntN(len(of))] }
	s := say(pick("bearing.none", "bearing.partial", "bearing.full", "move.transfer", "move.lift", "move.walk", "fall.fell"))
	s.Side, s.Limb = pick("", "left", "right", "both"), pick("", "leg", "arm")
	s.Method, s.Assist = pick("", "", "total-lift", "lift", "board"), pick("", "", "independent", "supervision", "maximum")
	if r.IntN(2) == 0 {
		s.Percent = lexicon.Some(float64(10 * r.IntN(4)))
	}
	if r.IntN(2) == 0 {
		s.Staff = lexicon.Some(r.IntN(4))
	}
	if r.IntN(5) == 0 {
		s.Polarity = lexicon.Negated
	}
	return s
}

// What is found once a shift is what a look at every note of it finds.
func TestContradicting(t *testing.T) {
	r := rand.New(rand.NewPCG(1, 2))
	rows := []*chart.Row{{}, {}, nil}
	found := 0
	for range 2000 {
		var entries []*timeline.Entry
		for range r.IntN(8) {
			e := &timeline.Entry{Row: rows[0]}
			if r.IntN(6) == 0 {
				e.Row = rows[r.IntN(len(rows))]
			}
			for range r.IntN(4) {
				e.Reading.Statements = append(e.Reading.Statements, anything(r))
			}
			entries = append(entries, e)
		}
		on := newOnShift(entries)
		s := anything(r)
		got, ok := on.contradicting(&s)
		want, wanted := searched(entries, on.row, &s)
		if got != want || ok != wanted {
			t.Fatalf("contradicting(%+v) among %d notes = %+v, want %+v", s, len(entries), got.said, want.said)
		}
		if ok {
			found++
		}
	}
	if found < 200 {
		t.Errorf("only %d of 2000 were contradicted, so little was tried", found)
	}
}

// readAnew reads the same in every text, each time into statements of its own.
type readAnew struct{}

func (readAnew) Read(string, lexicon.Role) lexicon.Reading {
	return lexicon.Reading{Statements: []lexicon.Statement{say("fall.fell"), say("move.transfer", staff(2)), say("bearing.none", side("left"))}}
}

// crowded is a resident with n notes on each of two shifts that say the same.
func crowded(tb testing.TB, n int) *timeline.Timeline {
	tb.Helper()
	p := policy.Default()
	cal, err := shift.NewCalendar(p.Shifts, time.UTC)
	if err != nil {
		tb.Fatal(err)
	}
	var notes []note.Note
	for i := range 2 * n {
		at := time.Date(2026, 3, 10, 8+8*(i%2), 0, 0, i, time.UTC)
		notes = append(notes, note.Note{ID: fmt.Sprint(i), Resident: "R", Time: at, Text: "Fell. Two helped."})
	}
	return timeline.New("R", notes, readAnew{}, nil, cal)
}

// However many notes say the same, there is one thing to hold the next shift against.
func TestCrowdedShift(t *testing.T) {
	line := crowded(t, 500)
	on := newOnShift(line.On(line.Entries[0].Shift))
	if got := len(on.sayings); got != 2 {
		t.Errorf("500 notes that say the same two things leave %d to look at, want 2", got)
	}
}

// BenchmarkCrowdedShift takes a time that grows as the notes do, not as their pairs.
func BenchmarkCrowdedShift(b *testing.B) {
	all, err := All()
	if err != nil {
		b.Fatal(err)
	}
	for _, n := range []int{1000, 4000, 16_000} {
		b.Run(fmt.Sprint(n), func(b *testing.B) {
			line, bench := crowded(b, n), NewBench(all, policy.Default())
			for b.Loop() {
				bench.Judge(line, Copies{})
			}
			b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N*2*n), "ns/note")
		})
	}
}
