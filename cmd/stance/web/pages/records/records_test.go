package records_test

import (
	"context"
	"errors"
	"io"
	"path/filepath"
	"slices"
	"sync"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"example.com/stance/cmd/stance/web/pages/records"
	"example.com/stance/lexicon"
	"example.com/stance/lint"
	"example.com/stance/lint/audit"
	"example.com/stance/lint/chart"
	"example.com/stance/lint/finding"
	"example.com/stance/lint/note"
	"example.com/stance/lint/policy"
	"example.com/stance/lint/shift"
	"example.com/stance/testdata"
)

// usual is the vocabulary, compiled for all tests together: it cannot be changed.
var usual = sync.OnceValues(func() (*lexicon.Lexicon, error) { return lexicon.New() })

// demo is the demo home.
func demo(t *testing.T) records.Config {
	t.Helper()
	lex, err := usual()
	if err != nil {
		t.Fatal(err)
	}
	p := policy.Default()
	if p.Zone, err = time.LoadLocation("America/Toronto"); err != nil {
		t.Fatal(err)
	}
	f, err := testdata.Demo.Open("demo/chart.csv")
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	ch, _, err := chart.Read("chart.csv", f, p.Zone)
	if err != nil {
		t.Fatal(err)
	}
	n, err := testdata.Demo.Open("demo/notes.jsonl")
	if err != nil {
		t.Fatal(err)
	}
	defer n.Close()
	r, err := note.NewReader("notes.jsonl", n, note.Options{Zone: p.Zone})
	if err != nil {
		t.Fatal(err)
	}
	var all records.Fixed
	for {
		n, err := r.Next()
		if err == io.EOF {
			break
		}
		if err != nil {
			t.Fatal(err)
		}
		all = append(all, n)
	}
	return records.Config{Lexicon: lex, Policy: p, Source: all, Chart: func() (*chart.Chart, error) { return ch, nil }}
}

func snapshot(t *testing.T, c records.Config) *records.Snapshot {
	t.Helper()
	r, err := records.New(c)
	if err != nil {
		t.Fatal(err)
	}
	s, err := r.Snapshot(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// TestFoundIsWhatACheckFinds holds that judging a shift with the notes around it gives what judging all
// notes gives, for every shift of the demo home, and that an audit has the same findings behind it.
func TestFoundIsWhatACheckFinds(t *testing.T) {
	c := demo(t)
	s := snapshot(t, c)
	checker, err := lint.NewChecker(c.Lexicon, s.Chart(), c.Policy)
	if err != nil {
		t.Fatal(err)
	}
	for _, n := range c.Source.(records.Fixed) {
		checker.Add(n)
	}
	want := map[string][]string{}
	var all []string
	if _, err := checker.Run(t.Context(), func(f finding.Finding) error {
		want[f.Shift] = append(want[f.Shift], f.ID)
		all = append(all, f.ID)
		return nil
	}); err != nil {
		t.Fatal(err)
	}
	if len(all) == 0 {
		t.Fatal("nothing is found in the demo home")
	}
	shifts := s.Shifts()
	slices.Reverse(shifts) // so that nothing rests on the order in which shifts are asked for
	for _, k := range shifts {
		found, err := s.Found(t.Context(), k)
		if err != nil {
			t.Fatal(err)
		}
		var got []string
		for _, f := range found {
			got = append(got, f.ID)
		}
		if diff := cmp.Diff(want[k.String()], got); diff != "" {
			t.Errorf("%s: -check +found:\n%s", k, diff)
		}
	}
	a, err := s.Audit(t.Context(), "all", time.Now(), func(string, string, shift.Key) bool { return true })
	if err != nil {
		t.Fatal(err)
	}
	var got []string
	for _, f := range a.Found {
		got = append(got, f.ID)
	}
	if diff := cmp.Diff(all, got); diff != "" {
		t.Errorf("-check +audit:\n%s", diff)
	}
	if n := a.Report(audit.Month).Notes; n != len(c.Source.(records.Fixed)) {
		t.Errorf("the audit counts %d notes, want %d", n, len(c.Source.(records.Fixed)))
	}
}

// TestFoundSinceIsWhatIsFound holds that all shifts from one on have the findings that each has by itself.
func TestFoundSinceIsWhatIsFound(t *testing.T) {
	s := snapshot(t, demo(t))
	shifts := s.Shifts()
	first := len(shifts) / 2
	got, err := s.FoundSince(t.Context(), shifts[first])
	if err != nil {
		t.Fatal(err)
	}
	all := 0
	for i, k := range shifts {
		want, err := s.Found(t.Context(), k)
		if err != nil {
			t.Fatal(err)
		}
		if i < first {
			want = nil
		}
		all += len(want)
		if diff := cmp.Diff(len(want), len(got[k.String()])); diff != "" {
			t.Errorf("%s: -alone +since:\n%s", k, diff)
			continue
		}
		for j := range want {
			if want[j].ID != got[k.String()][j].ID {
				t.Errorf("%s: finding %d is %s, want %s", k, j, got[k.String()][j].ID, want[j].ID)
			}
		}
	}
	if all == 0 {
		t.Fatal("nothing is found")
	}
}

// TestFoundOnIsWhatACheckFinds holds the same of one resident's notes, all of them and a week of them.
func TestFoundOnIsWhatACheckFinds(t *testing.T) {
	s := snapshot(t, demo(t))
	want := map[string][]finding.Finding{}
	for _, k := range s.Shifts() {
		found, err := s.Found(t.Context(), k)
		if err != nil {
			t.Fatal(err)
		}
		for _, f := range found {
			want[f.Resident] = append(want[f.Resident], f)
		}
	}
	week := time.Date(2026, 11, 14, 0, 0, 0, 0, time.UTC)
	for _, during := range []struct{ since, until time.Time }{{week.AddDate(-1, 0, 0), week.AddDate(1, 0, 0)}, {week, week.AddDate(0, 0, 7)}} {
		for _, r := range s.Residents(week) {
			got, err := s.FoundOn(t.Context(), r.ID, during.since, during.until)
			if err != nil {
				t.Fatal(err)
			}
			ids := func(fs []finding.Finding) (out []string) {
				for _, f := range fs {
					if !f.Time.Before(during.since) && !f.Time.After(during.until) {
						out = append(out, f.ID)
					}
				}
				slices.Sort(out)
				return out
			}
			if diff := cmp.Diff(ids(want[r.ID]), ids(got)); diff != "" {
				t.Errorf("%s from %s: -shifts +resident:\n%s", r.ID, during.since, diff)
			}
		}
	}
	if len(want) == 0 {
		t.Fatal("nothing is found in the demo home")
	}
}

// TestJudgeIsWhatACheckFinds holds that a note judged while it is typed has the findings that it has
// once it is kept.
func TestJudgeIsWhatACheckFinds(t *testing.T) {
	c := demo(t)
	s := snapshot(t, c)
	cal := map[string][]finding.Finding{}
	for _, k := range s.Shifts() {
		found, err := s.Found(t.Context(), k)
		if err != nil {
			t.Fatal(err)
		}
		for _, f := range found {
			cal[f.Note] = append(cal[f.Note], f)
		}
	}
	flagged := 0
	for _, n := range c.Source.(records.Fixed) {
		want := cal[n.ID]
		// A copy is told of the later note of two, and a check that is given the note twice has two.
		if len(want) == 0 {
			continue
		}
		flagged++
		_, got, err := s.Judge(t.Context(), n, func(string) bool { return true })
		if err != nil {
			t.Fatal(err)
		}
		rules := func(fs []finding.Finding) (out []string) {
			for _, f := range fs {
				out = append(out, f.Rule+" "+f.Text)
			}
			return out
		}
		if diff := cmp.Diff(rules(want), rules(got)); diff != "" {
			t.Errorf("note %s: -kept +typed:\n%s", n.ID, diff)
		}
	}
	if flagged == 0 {
		t.Fatal("no note of the demo home is flagged")
	}
}

// changing is a source whose notes and stamp can be set.
type changing struct {
	notes records.Fixed
	stamp string
	reads int
	err   error
}

func (c *changing) Stamp(context.Context) (string, error) { return c.stamp, nil }
func (c *changing) Notes(ctx context.Context, yield func(note.Note) error) error {
	c.reads++
	if c.err != nil {
		return c.err
	}
	return c.notes.Notes(ctx, yield)
}

func TestSnapshotFollowsChanges(t *testing.T) {
	c := demo(t)
	src := &changing{notes: c.Source.(records.Fixed)[:5], stamp: "1"}
	c.Source = src
	ch, err := c.Chart()
	if err != nil {
		t.Fatal(err)
	}
	c.Chart = func() (*chart.Chart, error) { return ch, nil }
	r, err := records.New(c)
	if err != nil {
		t.Fatal(err)
	}
	get := func() *records.Snapshot {
		t.Helper()
		s, err := r.Snapshot(t.Context())
		if err != nil {
			t.Fatal(err)
		}
		return s
	}
	first := get()
	if get() != first || src.reads != 1 {
		t.Errorf("notes that did not change were read %d times", src.reads)
	}
	src.notes, src.stamp = append(src.notes, note.Note{ID: "new", Resident: "R-999", Time: time.Now(), Text: "Walked."}), "2"
	second := get()
	if second.Known("R-999") == first.Known("R-999") || src.reads != 2 {
		t.Errorf("a new note is not there, or the earlier snapshot changed; read %d times", src.reads)
	}
	ch = nil
	third := get()
	if third.Charted() || !second.Charted() || src.reads != 2 || !third.Known("R-999") {
		t.Errorf("after the chart went: charted %t, read %d times", third.Charted(), src.reads)
	}
	src.err, src.stamp = errors.New("disk is gone"), "3"
	if _, err := r.Snapshot(t.Context()); !errors.Is(err, src.err) {
		t.Errorf("error %v, want %v", err, src.err)
	}
	src.err = nil
	if len(get().Notes("R-999")) != 1 {
		t.Error("notes are not read again after an error")
	}
}

func TestUnit(t *testing.T) {
	at := time.Date(2026, 11, 20, 12, 0, 0, 0, time.UTC)
	ch, err := chart.New([]chart.Row{
		{Resident: "moved", Unit: "Birch", From: at, Transfer: chart.OnePerson},
		{Resident: "later", Unit: "Rowan", From: at.Add(time.Hour), Transfer: chart.OnePerson},
	})
	if err != nil {
		t.Fatal(err)
	}
	c := demo(t)
	c.Chart = func() (*chart.Chart, error) { return ch, nil }
	c.Source = records.Fixed{
		{ID: "1", Resident: "moved", Unit: "Alder", Time: at.Add(-time.Hour)},
		{ID: "2", Resident: "noted", Unit: "Alder", Time: at.Add(-2 * time.Hour)},
		{ID: "3", Resident: "noted", Unit: "Elm", Time: at.Add(-time.Hour)},
		{ID: "4", Resident: "noted", Time: at},
		{ID: "5", Resident: "nowhere", Time: at},
	}
	s := snapshot(t, c)
	for resident, want := range map[string]string{"moved": "Birch", "noted": "Elm", "later": "Rowan", "nowhere": "", "unknown": ""} {
		if got := s.Unit(resident, at); got != want {
			t.Errorf("%s lives in %q, want %q", resident, got, want)
		}
	}
	if got, want := s.Units(), []string{"Alder", "Birch", "Elm"}; !slices.Equal(got, want) {
		t.Errorf("units %q, want %q", got, want)
	}
	// Whoever is charted can be chosen before the first note.
	want := []records.Resident{{ID: "nowhere"}, {ID: "moved", Unit: "Birch"}, {ID: "noted", Unit: "Elm"}, {ID: "later", Unit: "Rowan"}}
	if diff := cmp.Diff(want, s.Residents(at)); diff != "" {
		t.Errorf("residents: -want +got:\n%s", diff)
	}
	if s.Known("unknown") || !s.Known("later") {
		t.Error("whoever is charted is known, and nobody else")
	}
}

func TestAnswers(t *testing.T) {
	c := demo(t)
	r, err := records.New(c)
	if err != nil {
		t.Fatal(err)
	}
	if r.CanAnswer() {
		t.Error("without a file, findings can be answered")
	}
	c.Answers = filepath.Join(t.TempDir(), "answers.jsonl")
	if r, err = records.New(c); err != nil {
		t.Fatal(err)
	}
	book, err := r.Book()
	if err != nil || len(book.Entries()) != 0 {
		t.Fatalf("a file that is not there: %v, %v", book, err)
	}
	const id = "0123456789abcdef"
	if err := r.Answer(id, finding.Answer{As: finding.Confirmed, Why: "seen", By: "AB", Time: time.Now()}); err != nil {
		t.Fatal(err)
	}
	if book, err = r.Book(); err != nil {
		t.Fatal(err)
	}
	if a, ok := book.Of(id); !ok || a.By != "AB" {
		t.Errorf("kept %+v, %t", a, ok)
	}
}
