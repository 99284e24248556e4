package review_test

import (
	"bytes"
	"context"
	"encoding/csv"
	"fmt"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"example.com/stance/lexicon"
	"example.com/stance/lint"
	"example.com/stance/lint/audit/review"
	"example.com/stance/lint/note"
	"example.com/stance/lint/policy"
	"example.com/stance/lint/rules"
)

// falls reads notes of few words: "fell", "told", "vitals", "aid".
type falls struct{}

func (falls) Read(text string, _ lexicon.Role) lexicon.Reading {
	var out lexicon.Reading
	for word, concept := range map[string]string{"fell": "fall.fell", "told": "told.nurse", "bruise": "fall.injury", "broken": "aid.fault"} {
		if i := strings.Index(text, word); i >= 0 {
			out.Statements = append(out.Statements, lexicon.Statement{
				Concept: concept, Span: lexicon.Span{Start: i, End: i + len(word), Line: 1, Column: 1 + i},
				Polarity: lexicon.Affirmed, Time: lexicon.Now, Who: lexicon.Resident, Certainty: lexicon.Certain, Mood: lexicon.Report,
			})
		}
	}
	return out
}

// ward judges notes on n residents, each with a fall, a third of them not told and a fifth with no word
// of injury.
func ward(t *testing.T, n int) ([]rules.Rule, []lint.Judged) {
	t.Helper()
	p := policy.Default()
	p.Zone = time.UTC
	c, err := lint.NewChecker(falls{}, nil, p)
	if err != nil {
		t.Fatal(err)
	}
	for i := range n {
		text := fmt.Sprint("=R-", i, " fell")
		if i%3 > 0 {
			text += ", told"
		}
		if i%5 > 0 {
			text += ", bruise"
		}
		c.Add(note.Note{ID: fmt.Sprint("N", i), Resident: fmt.Sprintf("R-%03d", i), Time: time.Date(2026, 3, 5, 9, i%50, 0, 0, time.UTC),
			Role: lexicon.CareWorker, Text: text})
	}
	var judged []lint.Judged
	if _, err := c.Judge(context.Background(), func(j lint.Judged) error {
		judged = append(judged, j)
		return nil
	}); err != nil {
		t.Fatal(err)
	}
	return slices.DeleteFunc(c.Rules(), func(r rules.Rule) bool {
		return r.ID != "fall-not-told" && r.ID != "fall-injury-unstated" && r.ID != "aid-misfit"
	}), judged
}

func draw(t *testing.T, among []rules.Rule, judged []lint.Judged, opt review.Options) *review.Sample {
	t.Helper()
	d := review.NewDraw(among, opt)
	for _, j := range judged {
		d.Add(j.Timeline, j.Counts)
	}
	s, err := d.Sample()
	if err != nil {
		t.Fatal(err)
	}
	return s
}

func TestSample(t *testing.T) {
	among, judged := ward(t, 150)
	const told, injury = "fall-not-told", "fall-injury-unstated"
	for _, tt := range []struct {
		rows  int
		by    review.By
		want  []review.Stratum
		notIn []string
	}{
		{40, review.ByRule, []review.Stratum{{told, true, 50, 10}, {told, false, 100, 10}, {injury, true, 30, 10}, {injury, false, 120, 10}}, nil},
		{7, review.ByRule, []review.Stratum{{told, true, 50, 4}, {told, false, 100, 3}}, []string{injury}},
		{1000, review.ByRule, []review.Stratum{{told, true, 50, 50}, {told, false, 100, 100}, {injury, true, 30, 30}, {injury, false, 120, 120}}, nil},
		{20, review.ByGroup, []review.Stratum{{"The safety record", true, 80, 10}, {"The safety record", false, 220, 10}}, nil},
		{20, review.ByAll, []review.Stratum{{"all rules", true, 80, 10}, {"all rules", false, 220, 10}}, nil},
	} {
		t.Run(fmt.Sprint(tt.rows, tt.by), func(t *testing.T) {
			opt := review.Options{Rows: tt.rows, Seed: "S", By: tt.by}
			s := draw(t, among, judged, opt)
			if diff := cmp.Diff(tt.want, s.Strata) + cmp.Diff(tt.notIn, s.NotIn); diff != "" {
				t.Error(diff)
			}
			var ids []string
			for _, r := range s.Rows {
				ids = append(ids, r.ID)
			}
			if !slices.IsSorted(ids) || len(slices.Compact(ids)) != len(s.Rows) {
				t.Errorf("rows %v, want them sorted and each once", ids)
			}
			shuffled := slices.Clone(judged)
			rand.New(rand.NewPCG(3, 4)).Shuffle(len(shuffled), func(i, j int) { shuffled[i], shuffled[j] = shuffled[j], shuffled[i] })
			if sheet(t, s) != sheet(t, draw(t, among, shuffled, opt)) {
				t.Error("notes in another order: another sample")
			}
			opt.Seed = "T"
			if tt.rows < 300 && sheet(t, s) == sheet(t, draw(t, among, judged, opt)) {
				t.Error("another seed draws the same sample")
			}
		})
	}
	d := review.NewDraw(among, review.Options{Rows: 3, Seed: "S", By: review.ByRule})
	for _, j := range judged {
		d.Add(j.Timeline, j.Counts)
	}
	if _, err := d.Sample(); err == nil || !strings.Contains(err.Error(), "want at least 4") {
		t.Errorf("a sample of three rows: %v, want an error", err)
	}
}

// Every pair is as likely to be drawn as any other of its half: over many seeds each of 100 notes is
// drawn about as often. A note in 10 of 100 for each of 400 seeds is drawn 40 times, give or take 6;
// five times that is missed by chance once in a million notes.
func TestFair(t *testing.T) {
	among, judged := ward(t, 150)
	among = among[:1]
	times := map[string]int{}
	const seeds = 400
	for i := range seeds {
		for _, r := range draw(t, among, judged, review.Options{Rows: 20, Seed: fmt.Sprint(i), By: review.ByRule}).Rows {
			times[r.Note]++
		}
	}
	for i := range 150 {
		want, sd := 0.1*seeds, 6.0
		if i%3 == 0 { // flagged: 10 of 50
			want, sd = 0.2*seeds, 8
		}
		if n := times[fmt.Sprint("N", i)]; float64(n) < want-5*sd || float64(n) > want+5*sd {
			t.Errorf("note %d is drawn %d times of %d, want about %g", i, n, seeds, want)
		}
	}
}

func sheet(t *testing.T, s *review.Sample) string {
	t.Helper()
	var b strings.Builder
	if err := s.CSV(&b); err != nil {
		t.Fatal(err)
	}
	return b.String()
}

func seal(t *testing.T, s *review.Sample) *review.Sealed {
	t.Helper()
	var b bytes.Buffer
	if err := s.Seal(&b, review.Sealed{Version: "v1", Seed: "S", By: review.ByRule}); err != nil {
		t.Fatal(err)
	}
	for _, word := range []string{"fall-", "flagged", "true"} {
		if bytes.Contains(b.Bytes(), []byte(word)) {
			t.Errorf("the sealed file shows %q", word)
		}
	}
	sealed, err := review.ReadSealed("s.sealed", &b)
	if err != nil {
		t.Fatal(err)
	}
	return sealed
}

// The sheet has no column or word that a verdict shows in: the rows of both halves differ in nothing
// but what they are about.
func TestSheetIsBlind(t *testing.T) {
	among, judged := ward(t, 150)
	s := draw(t, among, judged, review.Options{Rows: 40, Seed: "S", By: review.ByRule,
		Text: func(s string) string { return strings.ReplaceAll(s, "R-", "resident ") }, Resident: func(string) string { return "somebody" }})
	lines, err := csv.NewReader(strings.NewReader(sheet(t, s))).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	for _, l := range lines {
		for i, cell := range l {
			if lines[0][i] != "looks_for" && strings.Contains(cell, "flag") {
				t.Errorf("column %s: %q", lines[0][i], cell)
			}
			if strings.HasPrefix(cell, "=") || strings.Contains(cell, "R-") {
				t.Errorf("column %s: %q, want no formula and no name", lines[0][i], cell)
			}
		}
	}
}

// A person who agrees throughout gives 100 everywhere; one who sees otherwise on known rows gives the
// figures that weighting by hand does.
func TestAgree(t *testing.T) {
	among, judged := ward(t, 150)
	s := draw(t, among[:1], judged, review.Options{Rows: 20, Seed: "S", By: review.ByRule})
	sealed := seal(t, s)
	var marks []review.MarkedRow
	flagged, clear := 0, 0
	for i, r := range sealed.Rows {
		m := review.MarkedRow{ID: r.ID, Line: i + 2, Mark: review.No}
		if r.Flagged {
			m.Mark = review.Yes
		}
		marks = append(marks, m)
	}
	same, err := review.Agree(sealed, marks)
	if err != nil {
		t.Fatal(err)
	}
	for name, e := range map[string]*review.Estimate{"sensitivity": same.All.Sensitivity, "specificity": same.All.Specificity,
		"ppv": same.All.PPV, "npv": same.All.NPV, "kappa": same.All.Kappa, "sample kappa": same.All.SampleKappa} {
		if e == nil || e.Value != 1 || e.High != 1 || e.Low > 1 {
			t.Errorf("full agreement: %s %+v, want 1", name, e)
		}
	}
	// Of 10 flagged the person takes 2 for wrong, of 10 others 1 for missed.
	for i := range marks {
		switch r := sealed.Rows[i]; {
		case r.Flagged && flagged < 2:
			marks[i].Mark, marks[i].Remark = review.No, "no fall"
			flagged++
		case !r.Flagged && clear < 1:
			marks[i].Mark = review.Yes
			clear++
		}
	}
	a, err := review.Agree(sealed, marks)
	if err != nil {
		t.Fatal(err)
	}
	if want := (review.Cells{BothYes: 8, Program: 2, Person: 1, BothNo: 9}); a.All.Cells != want || a.All.Population != 150 || len(a.Disagreements) != 3 {
		t.Errorf("marked %+v of %d, %d disagreements; want %+v of 150, 3", a.All.Cells, a.All.Population, len(a.Disagreements), want)
	}
	// 50 flagged, 100 not: 0.8×50 = 40 hits, 10 false; 0.1×100 = 10 missed, 90 rightly left alone.
	for name, tt := range map[string]struct {
		got  *review.Estimate
		want float64
	}{
		"sensitivity": {a.All.Sensitivity, 40. / 50}, "specificity": {a.All.Specificity, 90. / 100},
		"ppv": {a.All.PPV, 0.8}, "npv": {a.All.NPV, 0.9},
		"kappa":        {a.All.Kappa, (130./150 - (50.*50+100.*100)/150/150) / (1 - (50.*50+100.*100)/150/150)},
		"sample kappa": {a.All.SampleKappa, (0.85 - 0.5) / 0.5},
	} {
		if tt.got == nil || tt.got.Value < tt.want-1e-9 || tt.got.Value > tt.want+1e-9 || tt.got.Low >= tt.want || tt.got.High <= tt.want {
			t.Errorf("%s = %+v, want %g within its interval", name, tt.got, tt.want)
		}
	}
	marks[0].Mark, marks[1].Mark = review.Unclear, review.NoMark
	if a, err := review.Agree(sealed, marks); err != nil || a.Marked != 18 || a.Unclear != 1 || a.Blank != 1 {
		t.Errorf("one unclear, one blank: %+v, %v", a, err)
	}
	for name, bad := range map[string]review.MarkedRow{"not of this sample": {ID: "x", Line: 9}, "stands on line 3 too": {ID: marks[1].ID, Line: 9}} {
		if _, err := review.Agree(sealed, append(slices.Clone(marks), bad)); err == nil || !strings.Contains(err.Error(), "line 9: ") || !strings.Contains(err.Error(), name) {
			t.Errorf("Agree = %v, want line 9 and %q", err, name)
		}
	}
}

func TestReadMarked(t *testing.T) {
	for _, tt := range []struct {
		name, in string
		want     []review.MarkedRow
		err      string
	}{
		{"as written", "row,mark,remark,text\na,yes,,\"long,\nnote\"\nb,,,x\n", []review.MarkedRow{{"a", review.Yes, "", 2}, {"b", review.NoMark, "", 4}}, ""},
		{"semicolons, other order", "Mark;x;Row\n N ;;a\n?;;b\n", []review.MarkedRow{{"a", review.No, "", 2}, {"b", review.Unclear, "", 3}}, ""},
		{"with a remark", "row\tmark\tremark\na\tY\t see record \n", []review.MarkedRow{{"a", review.Yes, "see record", 2}}, ""},
		{"no mark", "row,remark\na,b\n", nil, "m.csv:1: want the columns row and mark"},
		{"empty", "", nil, "m.csv: want a sheet"},
		{"odd marks", "row,mark\na,yes\nb,perhaps\nc,Mrs Arbre fell\n", nil, "m.csv:3: mark: want yes, no or unclear\nm.csv:4: mark: want yes, no or unclear"},
		{"torn", "row,mark\na\nb,no\n", nil, "m.csv:2: want 2 fields"},
	} {
		t.Run(tt.name, func(t *testing.T) {
			got, err := review.ReadMarked("m.csv", strings.NewReader(tt.in))
			if tt.err != "" {
				if err == nil || !strings.HasPrefix(err.Error(), tt.err) {
					t.Errorf("ReadMarked = %v, want %q", err, tt.err)
				}
				return
			}
			if diff := cmp.Diff(tt.want, got); diff != "" || err != nil {
				t.Errorf("ReadMarked: %v %s", err, diff)
			}
		})
	}
}

func TestReadSealed(t *testing.T) {
	among, judged := ward(t, 15)
	var b bytes.Buffer
	if err := draw(t, among, judged, review.Options{Rows: 20, Seed: "S", By: review.ByRule}).Seal(&b, review.Sealed{}); err != nil {
		t.Fatal(err)
	}
	whole := b.String()
	middle := len(whole) / 2
	other := "A"
	if whole[middle:middle+1] == other {
		other = "B"
	}
	for _, tt := range []struct{ name, in, want string }{
		{"empty", "", "is no sealed sample"},
		{"a sheet", "row,mark\n", "is no sealed sample"},
		{"changed", whole[:middle] + other + whole[middle+1:], "is no sealed sample"},
		{"form", strings.Replace(whole, `"format_version":1`, `"format_version":2`, 1), "form 2, want form 1"},
	} {
		if _, err := review.ReadSealed("s.sealed", strings.NewReader(tt.in)); err == nil || !strings.Contains(err.Error(), tt.want) {
			t.Errorf("%s: %v, want %q", tt.name, err, tt.want)
		}
	}
}
