package rules_test

import (
	"context"
	"errors"
	"io"
	"slices"
	"strings"
	"testing"
	"time"

	"example.com/stance/lexicon"
	"example.com/stance/lint"
	"example.com/stance/lint/chart"
	"example.com/stance/lint/finding"
	"example.com/stance/lint/note"
	"example.com/stance/lint/policy"
	"example.com/stance/lint/rules"
)

// Each rule fires on the note that its text shows for it, and lets the near miss pass; both go
// through the reader of notes, the lexicon and the whole set of rules.
func TestExamples(t *testing.T) {
	all, err := rules.All()
	if err != nil {
		t.Fatal(err)
	}
	lex, err := lexicon.New()
	if err != nil {
		t.Fatal(err)
	}
	for _, r := range all {
		t.Run(r.ID+"/trigger", func(t *testing.T) {
			if got := findings(t, lex, r.Doc.Trigger); !slices.Contains(got, r.ID) {
				t.Errorf("found %v in the trigger, want %s", got, r.ID)
			}
		})
		t.Run(r.ID+"/near miss", func(t *testing.T) {
			if got := findings(t, lex, r.Doc.NearMiss); slices.Contains(got, r.ID) {
				t.Errorf("found %v in the near miss, want no %s", got, r.ID)
			}
		})
	}
}

func findings(t *testing.T, lex *lexicon.Lexicon, ex rules.Example) []string {
	t.Helper()
	var ch *chart.Chart
	if ex.Chart != "" {
		var bad []error
		var err error
		ch, bad, err = chart.Read("chart.csv", strings.NewReader(ex.Chart), time.UTC)
		if err != nil || len(bad) > 0 {
			t.Fatalf("chart: %v %v", err, bad)
		}
	}
	p := policy.Default()
	p.Zone = time.UTC
	c, err := lint.NewChecker(lex, ch, p)
	if err != nil {
		t.Fatal(err)
	}
	in, err := note.NewReader("notes.txt", strings.NewReader(ex.Notes), note.Options{Zone: time.UTC})
	if err != nil {
		t.Fatal(err)
	}
	for {
		n, err := in.Next()
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			t.Fatal(err)
		}
		c.Add(n)
	}
	var ids []string
	if _, err := c.Run(context.Background(), func(f finding.Finding) error {
		ids = append(ids, f.Rule)
		return nil
	}); err != nil {
		t.Fatal(err)
	}
	return ids
}
