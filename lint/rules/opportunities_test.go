package rules_test

import (
	"context"
	"errors"
	"io"
	"os"
	"strings"
	"testing"
	"time"

	"example.com/stance/lexicon"
	"example.com/stance/lint"
	"example.com/stance/lint/chart"
	"example.com/stance/lint/note"
	"example.com/stance/lint/policy"
	"example.com/stance/lint/rules"
)

// Every rule says what an opportunity is, its trigger has one, and nowhere, on its examples and in the
// demo home, are there more findings than opportunities.
func TestOpportunities(t *testing.T) {
	all, err := rules.All()
	if err != nil {
		t.Fatal(err)
	}
	lex, err := lexicon.New()
	if err != nil {
		t.Fatal(err)
	}
	for _, r := range all {
		if r.Per == "" || strings.HasSuffix(r.Per, ".") || r.Per != strings.ToLower(r.Per[:1])+r.Per[1:] {
			t.Errorf("rule %s is counted per %q, want lower case and no full stop", r.ID, r.Per)
		}
		if counted(t, lex, r.ID+" trigger", r.Doc.Trigger.Chart, "notes.txt", r.Doc.Trigger.Notes)[r.ID].Findings == 0 {
			t.Errorf("rule %s: no finding counted in its trigger", r.ID)
		}
		counted(t, lex, r.ID+" near miss", r.Doc.NearMiss.Chart, "notes.txt", r.Doc.NearMiss.Notes)
	}
	counted(t, lex, "demo home", read(t, "chart.csv"), "notes.jsonl", read(t, "notes.jsonl"))
}

// counted sums the counts of each rule, and fails where one cannot be.
func counted(t *testing.T, lex *lexicon.Lexicon, what, chartText, name, notes string) map[string]rules.Count {
	t.Helper()
	p := policy.Default()
	p.Zone = time.UTC
	var ch *chart.Chart
	if chartText != "" {
		var bad []error
		var err error
		if ch, bad, err = chart.Read("chart.csv", strings.NewReader(chartText), p.Zone); err != nil || len(bad) > 0 {
			t.Fatalf("%s: chart: %v %v", what, err, bad)
		}
	}
	c, err := lint.NewChecker(lex, ch, p)
	if err != nil {
		t.Fatal(err)
	}
	in, err := note.NewReader(name, strings.NewReader(notes), note.Options{Zone: p.Zone})
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
	sums := map[string]rules.Count{}
	if _, err := c.Judge(context.Background(), func(j lint.Judged) error {
		found := 0
		for _, n := range j.Counts {
			found += n.Findings
			if n.Opportunities < 1 || n.Findings > n.Opportunities {
				t.Errorf("%s: rule %s on resident %s, shift %s: %d findings of %d opportunities",
					what, n.Rule, j.Timeline.Resident, n.Shift, n.Findings, n.Opportunities)
			}
			sum := sums[n.Rule]
			sum.Opportunities += n.Opportunities
			sum.Findings += n.Findings
			sums[n.Rule] = sum
		}
		if found != len(j.Findings) {
			t.Errorf("%s: %d findings counted on resident %s, want %d", what, found, j.Timeline.Resident, len(j.Findings))
		}
		return nil
	}); err != nil {
		t.Fatal(err)
	}
	return sums
}

// read is a file of the demo home.
func read(t *testing.T, name string) string {
	t.Helper()
	b, err := os.ReadFile("../../testdata/demo/" + name)
	if err != nil {
		t.Fatal(err)
	}
	return string(b)
}
