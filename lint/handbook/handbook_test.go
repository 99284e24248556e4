package handbook_test

import (
	"context"
	"slices"
	"strings"
	"testing"

	"example.com/stance/lexicon"
	"example.com/stance/lint/handbook"
	"example.com/stance/lint/rules"
)

func topics(t *testing.T) []handbook.Topic {
	t.Helper()
	all, err := handbook.All()
	if err != nil {
		t.Fatal(err)
	}
	return all
}

// Every rule belongs to exactly one topic.
func TestEveryRuleHasItsTopic(t *testing.T) {
	known, err := rules.All()
	if err != nil {
		t.Fatal(err)
	}
	in := map[string][]string{}
	for _, topic := range topics(t) {
		for _, r := range topic.Rules {
			in[r.ID] = append(in[r.ID], topic.ID)
		}
	}
	for _, r := range known {
		if got := in[r.ID]; len(got) != 1 {
			t.Errorf("rule %s is in topics %q, want exactly one", r.ID, got)
		}
	}
}

// Each practice note gets what its archive names, and one that is to be written well gets nothing.
func TestPractice(t *testing.T) {
	lex, err := lexicon.New()
	if err != nil {
		t.Fatal(err)
	}
	for _, topic := range topics(t) {
		var taught []string
		for _, r := range topic.Rules {
			taught = append(taught, r.ID)
		}
		well := 0
		for i := range topic.Practice {
			p := &topic.Practice[i]
			w, err := p.Work(context.Background(), lex)
			if err != nil {
				t.Fatalf("%s, note %d: %v", topic.ID, i+1, err)
			}
			var got []string
			for _, f := range w.Findings {
				got = append(got, f.Rule)
			}
			for _, id := range p.Finds {
				if !slices.Contains(got, id) {
					t.Errorf("%s, note %d: found %q, want %s", topic.ID, i+1, got, id)
				}
				if !slices.Contains(taught, id) {
					t.Errorf("%s, note %d is to show %s, which another topic teaches", topic.ID, i+1, id)
				}
			}
			if len(p.Finds) == 0 {
				well++
				if len(got) > 0 {
					t.Errorf("%s, note %d: found %q, want nothing", topic.ID, i+1, got)
				}
			}
			t.Logf("%s, note %d: %q", topic.ID, i+1, got)
		}
		if well == 0 || well == len(topic.Practice) {
			t.Errorf("%s: %d of %d practice notes are written well, want some and not all", topic.ID, well, len(topic.Practice))
		}
	}
}

// What a class reads is whole sentences.
func TestWords(t *testing.T) {
	for _, topic := range topics(t) {
		sentences := append([]string{topic.Learn, topic.Sources}, topic.Introduction...)
		for _, p := range topic.Practice {
			sentences = append(sentences, p.Shows, p.Asks)
		}
		for _, s := range sentences {
			if !strings.HasSuffix(s, ".") && !strings.HasSuffix(s, "?") {
				t.Errorf("%s: %q is no sentence", topic.ID, s)
			}
		}
		if strings.HasSuffix(topic.Title, ".") || strings.ToUpper(topic.Title[:1]) != topic.Title[:1] {
			t.Errorf("%s: title %q, want a capital and no full stop", topic.ID, topic.Title)
		}
	}
}
