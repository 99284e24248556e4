package lint

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"testing"

	"github.com/google/go-cmp/cmp"

	"example.com/stance/cmd/stance/bench/corpus"
	"example.com/stance/lint/finding"
	"example.com/stance/lint/note"
	"example.com/stance/lint/policy"
	"example.com/stance/lint/shift"
)

// What is judged shift by shift and resident by resident is what a Checker finds with all notes at once, even where of
// notes too short to be compared only their place is known.
func TestPieceworkIsTheChecker(t *testing.T) {
	var file bytes.Buffer
	if err := (corpus.Home{Seed: 3, Notes: 3000, Residents: 30}).Write(corpus.JSONLines(&file)); err != nil {
		t.Fatal(err)
	}
	r, err := note.NewReader("notes.jsonl", &file, note.Options{})
	if err != nil {
		t.Fatal(err)
	}
	ch := noWalking(t, 30)
	whole := checker(t, ch)
	work, err := NewPiecework(walks{}, policy.Default())
	if err != nil {
		t.Fatal(err)
	}
	type place struct{ resident, at int }
	var residents []string
	number := map[string]int{}
	notes := map[string][]note.Note{}
	shifts := map[shift.Key][]note.Note{}
	places := map[shift.Key][]place{}
	for {
		n, err := r.Next()
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			t.Fatal(err)
		}
		whole.Add(n)
		if _, ok := number[n.Resident]; !ok {
			number[n.Resident] = len(residents)
			residents = append(residents, n.Resident)
		}
		k := work.ShiftOf(&n)
		places[k] = append(places[k], place{number[n.Resident], len(notes[n.Resident])})
		notes[n.Resident] = append(notes[n.Resident], n)
		if !work.AsksWords(n.Text) {
			n.Text = ""
		}
		shifts[k] = append(shifts[k], n)
	}

	across := make([]map[int]AcrossCopy, len(residents))
	for i := range across {
		across[i] = map[int]AcrossCopy{}
	}
	shared := map[shift.Key]bool{}
	copied := 0
	for k, on := range shifts {
		found, several := work.Across(on)
		shared[k] = several
		for i, c := range found {
			at := places[k][i]
			across[at.resident][at.at] = c
			copied++
		}
	}
	if copied < 5 {
		t.Fatalf("%d notes are copied across, want some to look at", copied)
	}

	var want, got []string
	describe := func(j Judged) []string {
		out := []string{j.Timeline.Resident}
		for _, f := range j.Findings {
			out = append(out, fmt.Sprintf("%+v", withoutPointers(f)))
		}
		for _, c := range j.Counts {
			out = append(out, fmt.Sprint(c.Rule, c.Opportunities, c.Findings, c.Entry != nil, c.Place.Shift, c.Place.Unit))
		}
		return out
	}
	if _, err := whole.Judge(context.Background(), func(j Judged) error {
		want = append(want, describe(j)...)
		return nil
	}); err != nil {
		t.Fatal(err)
	}
	for i, name := range residents { // which corpus gives in the order of their names
		got = append(got, describe(work.Judge(notes[name], ch, across[i], func(n int) bool { return shared[work.ShiftOf(&notes[name][n])] }))...)
	}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Errorf("by pieces (-at once +by pieces)\n%s", diff)
	}
	if (func() bool { _, several := work.Across(notes[residents[0]]); return several })() {
		t.Error("notes on one resident are said to be on several")
	}
}

// withoutPointers has what pointers of a finding point to in their place, so that it prints.
func withoutPointers(f finding.Finding) any {
	var evidence []any
	for _, e := range f.Evidence {
		if e.Span != nil {
			evidence = append(evidence, *e.Span)
		}
		e.Span, e.Chart = nil, nil
		evidence = append(evidence, e)
	}
	f.Evidence, f.Rewrite, f.Answer = nil, nil, nil
	return []any{f, evidence}
}
