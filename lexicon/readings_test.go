package lexicon_test

import (
	"encoding/json"
	"fmt"
	"os"
	"sort"
	"strings"
	"testing"

	"example.com/stance/lexicon"
)

// TestReadings reads the examples of testdata/readings.txt, in which a word that has several meanings
// stands in the company that decides each. Its head tells how an example is written.
func TestReadings(t *testing.T) {
	const path = "testdata/readings.txt"
	data, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	lex := newLexicon(t)
	var text string
	role := lexicon.CareWorker
	var got []string
	check := func(line int) {
		if len(got) > 0 {
			t.Errorf("%s:%d: Read(%q, %q) also says %q", path, line, text, role, got)
		}
		got = nil
	}
	n := 0
	for i, line := range strings.Split(string(data), "\n") {
		switch {
		case strings.HasPrefix(line, "#"), line == "":
		case !strings.HasPrefix(line, "\t"):
			check(i)
			n++
			text, role = line, lexicon.CareWorker
			if r, rest, ok := strings.Cut(line, "> "); ok && strings.HasPrefix(r, "<") {
				text, role = rest, lexicon.Role(r[1:])
			}
			text = strings.ReplaceAll(text, `\n`, "\n")
			for _, s := range lex.Read(text, role).Statements {
				got = append(got, brief(t, s))
			}
		case len(got) == 0:
			t.Errorf("%s:%d: Read(%q, %q) does not say %q", path, i+1, text, role, line[1:])
		default:
			if got[0] != line[1:] {
				t.Errorf("%s:%d: Read(%q, %q) says %q, want %q", path, i+1, text, role, got[0], line[1:])
			}
			got = got[1:]
		}
	}
	check(strings.Count(string(data), "\n"))
	if n < 100 {
		t.Errorf("%s has %d examples, want 100 or more", path, n)
	}
}

// brief is a statement in one line: its concept and the fields that are no defaults, by name.
func brief(t *testing.T, s lexicon.Statement) string {
	t.Helper()
	b, err := json.Marshal(s)
	if err != nil {
		t.Fatal(err)
	}
	var fields map[string]any
	if err := json.Unmarshal(b, &fields); err != nil {
		t.Fatal(err)
	}
	for _, k := range []string{"concept", "span", "text"} {
		delete(fields, k)
	}
	for k, v := range map[string]string{"polarity": "affirmed", "time": "now", "who": "resident", "certainty": "certain", "mood": "report", "limb": "leg"} {
		if fields[k] == v {
			delete(fields, k)
		}
	}
	var out []string
	for k, v := range fields {
		if list, ok := v.([]any); ok {
			var ids []string
			for _, id := range list {
				ids = append(ids, fmt.Sprint(id))
			}
			v = strings.Join(ids, "+")
		}
		out = append(out, fmt.Sprintf("%s=%v", k, v))
	}
	sort.Strings(out)
	return strings.Join(append([]string{s.Concept}, out...), " ")
}
