package lint

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"runtime"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"example.com/stance/lexicon"
	"example.com/stance/lint/chart"
	"example.com/stance/lint/finding"
	"example.com/stance/lint/note"
	"example.com/stance/lint/policy"
)

// walks reads "walked" in every text that has the word.
type walks struct{}

func (walks) Read(text string, _ lexicon.Role) lexicon.Reading {
	i := strings.Index(text, "walked")
	if i < 0 {
		return lexicon.Reading{}
	}
	return lexicon.Reading{Statements: []lexicon.Statement{{
		Concept: "move.walk", Span: lexicon.Span{Start: i, End: i + 6, Line: 1, Column: 1 + i},
		Polarity: lexicon.Affirmed, Time: lexicon.Now, Who: lexicon.Resident, Certainty: lexicon.Certain, Mood: lexicon.Report,
	}}}
}

func day(d, hour int) time.Time { return time.Date(2026, 3, d, hour, 0, 0, 0, time.UTC) }

func checker(t testing.TB, ch *chart.Chart) *Checker {
	t.Helper()
	p := policy.Default()
	p.Zone = time.UTC
	c, err := NewChecker(walks{}, ch, p)
	if err != nil {
		t.Fatal(err)
	}
	return c
}

func noWalking(t testing.TB, residents int) *chart.Chart {
	t.Helper()
	var rows []chart.Row
	for i := range residents {
		rows = append(rows, chart.Row{Resident: resident(i), From: day(1, 0), Transfer: chart.OnePerson,
			Staff: chart.NoStaff, Walk: chart.WalkNo, Line: 2 + i})
	}
	ch, err := chart.New(rows)
	if err != nil {
		t.Fatal(err)
	}
	return ch
}

func resident(i int) string { return fmt.Sprintf("R-%04d", i) }

// run lists the findings as "resident note rule".
func run(t testing.TB, c *Checker) ([]string, Summary) {
	t.Helper()
	var got []string
	sum, err := c.Run(context.Background(), func(f finding.Finding) error {
		got = append(got, strings.TrimSpace(f.Resident+" "+f.Note)+" "+f.Rule)
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	return got, sum
}

// Findings come by resident and time, whatever the order of the notes.
func TestOrder(t *testing.T) {
	c := checker(t, noWalking(t, 60))
	var want []string
	for i := 59; i >= 0; i-- {
		for _, d := range []int{9, 5, 7} {
			c.Add(note.Note{ID: fmt.Sprintf("N%d-%d", i, d), Resident: resident(i), Time: day(d, 13), Text: "walked"})
		}
	}
	for i := range 60 {
		for _, d := range []int{5, 7, 9} {
			want = append(want, fmt.Sprintf("%s N%d-%d walk-not-charted", resident(i), i, d))
		}
	}
	got, sum := run(t, c)
	if d := cmp.Diff(want, got); d != "" {
		t.Errorf("findings (-want +got):\n%s", d)
	}
	wantSum := Summary{Notes: 180, Residents: 60,
		Counts: map[finding.Severity]int{finding.Error: 180, finding.Warning: 0, finding.Hint: 0}}
	if d := cmp.Diff(wantSum, sum); d != "" {
		t.Errorf("summary (-want +got):\n%s", d)
	}
	again, _ := run(t, c)
	if d := cmp.Diff(got, again); d != "" {
		t.Errorf("a second run differs:\n%s", d)
	}
}

func TestProblems(t *testing.T) {
	c := checker(t, nil)
	c.Now = day(10, 0)
	c.Add(note.Note{ID: "N1", Resident: "R-1", Time: day(9, 13), Text: "slept", Source: note.Source{File: "a.jsonl", Line: 3}})
	c.Add(note.Note{ID: "N1", Resident: "R-1", Time: day(9, 14), Text: "ate", Source: note.Source{File: "b.csv", Line: 7}})
	// Ids that start anew for each resident are none that stand twice.
	c.Add(note.Note{ID: "N1", Resident: "R-2", Time: day(9, 14), Text: "ate", Source: note.Source{File: "b.csv", Line: 9}})
	c.Add(note.Note{ID: "N2", Resident: "R-1", Time: day(10, 1), Text: "drank", Source: note.Source{File: "b.csv", Line: 8}})
	_, sum := run(t, c)
	want := []string{
		"note N1 stands twice: a.jsonl:3 and b.csv:7",
		"b.csv:8: note N2 is of 2026-03-10T01:00:00Z, which is still to come",
	}
	if d := cmp.Diff(want, sum.Problems); d != "" {
		t.Errorf("problems (-want +got):\n%s", d)
	}
	if sum.Notes != 4 || sum.Residents != 2 {
		t.Errorf("summary %+v, want all four notes checked", sum)
	}
}

const long = "Had a quiet shift and ate all of supper, then sat with the others by the window until eight, teeth soaked, cream to heels, bell in reach"

func TestCopies(t *testing.T) {
	other := strings.Replace(long, "eight", "nine", 1)
	for _, tt := range []struct {
		name  string
		notes []note.Note
		want  []string
	}{
		{"forward", []note.Note{
			{ID: "B", Resident: "R", Time: day(6, 21), Text: other},
			{ID: "A", Resident: "R", Time: day(5, 21), Text: long}}, []string{"R B copied-forward"}},
		{"on one shift", []note.Note{
			{ID: "A", Resident: "R", Time: day(5, 20), Text: long},
			{ID: "B", Resident: "R", Time: day(5, 21), Text: other}}, nil},
		{"fourteen days on", []note.Note{
			{ID: "A", Resident: "R", Time: day(5, 21), Text: long},
			{ID: "B", Resident: "R", Time: day(19, 21), Text: other}}, []string{"R B copied-forward"}},
		{"later than that", []note.Note{
			{ID: "A", Resident: "R", Time: day(5, 21), Text: long},
			{ID: "B", Resident: "R", Time: day(19, 22), Text: other}}, nil},
		{"across, on the later note", []note.Note{
			{ID: "A", Resident: "R", Time: day(5, 21), Text: other},
			{ID: "B", Resident: "Q", Time: day(5, 20), Text: long}}, []string{"R A copied-across"}},
		{"two residents, two shifts", []note.Note{
			{ID: "A", Resident: "R", Time: day(5, 13), Text: other},
			{ID: "B", Resident: "Q", Time: day(5, 21), Text: long}}, nil},
	} {
		t.Run(tt.name, func(t *testing.T) {
			c := checker(t, nil)
			for _, n := range tt.notes {
				c.Add(n)
			}
			got, _ := run(t, c)
			if d := cmp.Diff(tt.want, got); d != "" {
				t.Errorf("findings (-want +got):\n%s", d)
			}
		})
	}
}

// Evidence says whose the note is that it stands in, where that is not the finding's own resident: the ids of
// notes do not.
func TestEvidenceNamesItsResident(t *testing.T) {
	c := checker(t, nil)
	c.Add(note.Note{ID: "1", Resident: "R", Time: day(5, 21), Text: long})
	c.Add(note.Note{ID: "1", Resident: "Q", Time: day(5, 20), Text: long})
	c.Add(note.Note{ID: "2", Resident: "R", Time: day(7, 20), Text: long})
	var got []string
	if _, err := c.Run(t.Context(), func(f finding.Finding) error {
		for _, e := range f.Evidence {
			got = append(got, fmt.Sprintf("%s %s: %q %s of %s, its own note: %t", f.Note, f.Rule, e.Resident, e.Note, f.About(e), f.Within(e)))
		}
		return nil
	}); err != nil {
		t.Fatal(err)
	}
	want := []string{`1 copied-across: "Q" 1 of Q, its own note: false`, `2 copied-forward: "" 1 of R, its own note: false`}
	if d := cmp.Diff(want, got); d != "" {
		t.Errorf("evidence (-want +got):\n%s", d)
	}
}

// A checker that keeps its notes in a file finds what one with all in memory does, and Judge finds
// what Run does and counts each of it.
func TestSpool(t *testing.T) {
	fill := func(c *Checker) {
		for i := range 40 {
			for d := range 4 {
				text := fmt.Sprint("walked ", i, " of ", d)
				if i%4 == 0 {
					text = long
				}
				c.Add(note.Note{ID: fmt.Sprint(i%30, "-", d/2), Resident: resident(i), Time: day(9-d, 13), Text: text,
					Source: note.Source{File: "n.jsonl", Line: 4*i + d}})
			}
		}
	}
	inMemory, inFile := checker(t, noWalking(t, 20)), checker(t, noWalking(t, 20))
	file, err := inFile.Spool(t.TempDir())
	if err != nil {
		t.Fatal(err)
	}
	defer file.Close()
	fill(inMemory)
	fill(inFile)
	want, wantSum := run(t, inMemory)
	if !slices.ContainsFunc(want, func(s string) bool { return strings.HasSuffix(s, "copied-across") }) || len(wantSum.Problems) == 0 {
		t.Fatalf("found %v and problems %v, want copies and problems among them", want, wantSum.Problems)
	}
	got, sum := run(t, inFile)
	if d := cmp.Diff(want, got) + cmp.Diff(wantSum, sum); d != "" {
		t.Errorf("with a file (-in memory +in a file):\n%s", d)
	}
	for _, most := range []int{0, 700, 1 << 20} { // from the first note on, from some note on, never
		growing := checker(t, noWalking(t, 20))
		held := growing.SpoolBeyond(most, t.TempDir())
		defer held.Close()
		fill(growing)
		got, sum := run(t, growing)
		if d := cmp.Diff(want, got) + cmp.Diff(wantSum, sum); d != "" {
			t.Errorf("with a file beyond %d bytes (-in memory +in a file):\n%s", most, d)
		}
		for id, want := range map[string]int{"1-0": 2, "3-0": 2, "29-1": 2, "none": 0} {
			notes, err := growing.Notes(resident(1), id)
			if id == "3-0" || id == "29-1" {
				notes, err = growing.Notes(resident(29), id)
			}
			if id == "3-0" {
				want = 0 // another resident's
			}
			if err != nil || len(notes) != want || want > 0 && notes[0].Source.Line >= notes[1].Source.Line {
				t.Errorf("notes %s: %d, %v; want %d in the order given", id, len(notes), err, want)
			}
		}
	}
	got = nil
	counted := 0
	if _, err := inFile.Judge(context.Background(), func(j Judged) error {
		for _, f := range j.Findings {
			got = append(got, strings.TrimSpace(f.Resident+" "+f.Note)+" "+f.Rule)
		}
		for _, n := range j.Counts {
			counted += n.Findings
		}
		return nil
	}); err != nil {
		t.Fatal(err)
	}
	if d := cmp.Diff(want, got); d != "" || counted != len(want) {
		t.Errorf("Judge counts %d findings, want %d (-Run +Judge):\n%s", counted, len(want), d)
	}
}

// An error of the file ends the run and is returned.
func TestSpoolGone(t *testing.T) {
	c := checker(t, nil)
	file, err := c.Spool(t.TempDir())
	if err != nil {
		t.Fatal(err)
	}
	for i := range 3 {
		c.Add(note.Note{ID: fmt.Sprint(i), Resident: resident(i), Time: day(5, 13), Text: "walked"})
	}
	if err := file.Close(); err != nil {
		t.Fatal(err)
	}
	if _, err := c.Run(context.Background(), func(finding.Finding) error { return nil }); !errors.Is(err, fs.ErrClosed) {
		t.Errorf("Run with the file closed = %v, want %v", err, fs.ErrClosed)
	}
}

// An error of emit ends the run and is returned; so does the end of the context.
func TestStop(t *testing.T) {
	c := checker(t, noWalking(t, 200))
	for i := range 200 {
		c.Add(note.Note{ID: fmt.Sprint(i), Resident: resident(i), Time: day(5, 13), Text: "walked"})
	}
	full := errors.New("disk full")
	calls := 0
	_, err := c.Run(context.Background(), func(finding.Finding) error {
		if calls++; calls == 3 {
			return full
		}
		return nil
	})
	if !errors.Is(err, full) || calls != 3 {
		t.Errorf("Run = %v after %d calls of emit, want %v after 3", err, calls, full)
	}

	ctx, cancel := context.WithCancel(context.Background())
	_, err = c.Run(ctx, func(finding.Finding) error {
		cancel()
		return nil
	})
	if !errors.Is(err, context.Canceled) {
		t.Errorf("Run with the context ended = %v, want %v", err, context.Canceled)
	}
}

func TestBadShifts(t *testing.T) {
	p := policy.Default()
	p.Shifts = map[string]string{"day": "7"}
	if _, err := NewChecker(walks{}, nil, p); err == nil {
		t.Error("NewChecker with a shift at \"7\": no error, want one")
	}
}

// A home's year: the time for one note must not grow with their number.
func BenchmarkChecker(b *testing.B) {
	for _, n := range []int{3_000, 30_000} {
		const perResident = 300
		notes := make([]note.Note, n)
		for i := range notes {
			notes[i] = note.Note{
				ID: fmt.Sprint(i), Resident: resident(i / perResident),
				Time: day(1, 13).Add(time.Duration(i%perResident) * 8 * time.Hour),
				Text: fmt.Sprintf("walked to the lounge, ate all of lunch, visit %d of niece %d, told of the year %d, skin clear, bell in reach", i, i*7, i*13),
			}
		}
		ch := noWalking(b, n/perResident)
		b.Run(fmt.Sprint(n), func(b *testing.B) {
			for b.Loop() {
				c := checker(b, ch)
				for _, n := range notes {
					c.Add(n)
				}
				if _, err := c.Run(context.Background(), func(finding.Finding) error { return nil }); err != nil {
					b.Fatal(err)
				}
			}
			b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N)/float64(n), "ns/note")
		})
	}
}

// What a checker holds for a note with its notes in a file must not grow with the words of notes.
func BenchmarkSpool(b *testing.B) {
	const n = 20_000
	text := strings.Repeat("walked to the lounge and back, ate all of lunch. ", 20)
	for b.Loop() {
		var before, after runtime.MemStats
		runtime.GC()
		runtime.ReadMemStats(&before)
		c := checker(b, nil)
		file, err := c.Spool(b.TempDir())
		if err != nil {
			b.Fatal(err)
		}
		for i := range n {
			c.Add(note.Note{ID: fmt.Sprint(i), Resident: resident(i / 300), Time: day(1, 13).Add(time.Duration(i) * time.Minute), Text: strings.Clone(text)})
		}
		runtime.GC()
		runtime.ReadMemStats(&after)
		b.ReportMetric(float64(after.HeapAlloc-before.HeapAlloc)/n, "held-B/note")
		if err := file.Close(); err != nil {
			b.Fatal(err)
		}
		runtime.KeepAlive(c)
	}
}
