package learn_test

import (
	"fmt"
	"reflect"
	"testing"

	"example.com/stance/lexicon/internal/judge"
	"example.com/stance/lexicon/internal/judge/learn"
)

// examples are notes of two clauses, of which the one that reaches answers; in every third note nobody reaches.
func examples() []learn.Example {
	var all []learn.Example
	for i := range 30 {
		e := learn.Example{Clauses: []learn.Clause{{Traits: []string{"verb=sleep", "word=bed"}}}}
		if i%3 > 0 {
			e.Clauses = append(e.Clauses, learn.Clause{Traits: []string{"verb=reach", fmt.Sprintf("word=thing %d", i)}, Yes: true})
		}
		all = append(all, e)
	}
	return all
}

func TestModel(t *testing.T) {
	s := learn.Settings{Rare: 2, Penalty: 0.5, Rounds: 200}
	m := learn.Model(examples(), s)
	if reach, sleep := m.Score([]string{"verb=reach"}), m.Score([]string{"verb=sleep"}); reach < 100 || sleep > 0 {
		t.Errorf("reaching scores %d and sleeping %d", reach, sleep)
	}
	if _, ok := m["word=thing 4"]; ok {
		t.Error("a trait of one clause has a weight")
	}
	if again := learn.Model(examples(), s); !reflect.DeepEqual(m, again) {
		t.Error("the same examples give another model")
	}
}

func TestText(t *testing.T) {
	all := judge.Models{"cause": {"always": -120, "verb=reach": 90}, "assessed": {"verb=look": 40}}
	text := learn.Text("# head\n", all)
	if want := "# head\nassessed\tverb=look\t40\ncause\tverb=reach\t90\ncause\talways\t-120\n"; text != want {
		t.Errorf("Text gives %q, want %q", text, want)
	}
	got, err := judge.Parse(text)
	if err != nil || !reflect.DeepEqual(got, all) {
		t.Errorf("what was written is read as %v, %v", got, err)
	}
}
