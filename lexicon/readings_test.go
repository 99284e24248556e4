package lexicon_test

import (
	"encoding/json"
	"fmt"
	"os"
	"sort"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"example.com/stance/lexicon"
)

const readingsFile = "testdata/readings.txt"

// A reading is an example of readings.txt: a text, and what it says, line by line.
type reading struct {
	line int // of the file, on which the text stands
	role lexicon.Role
	text string
	says []string
}

// readings are the examples of testdata/readings.txt, in which a word that has several meanings
// stands in the company that decides each. Its head tells how an example is written.
func readings(t *testing.T) []reading {
	t.Helper()
	data, err := os.ReadFile(readingsFile)
	if err != nil {
		t.Fatal(err)
	}
	var out []reading
	for i, line := range strings.Split(string(data), "\n") {
		says, indented := strings.CutPrefix(line, "\t")
		switch {
		case strings.HasPrefix(line, "#"), line == "":
		case !indented:
			r := reading{line: i + 1, role: lexicon.CareWorker, text: line}
			if role, rest, ok := strings.Cut(line, "> "); ok && strings.HasPrefix(role, "<") {
				r.text, r.role = rest, lexicon.Role(role[1:])
			}
			r.text = strings.ReplaceAll(r.text, `\n`, "\n")
			out = append(out, r)
		case len(out) == 0:
			t.Fatalf("%s:%d: no text stands above this line", readingsFile, i+1)
		default:
			last := &out[len(out)-1]
			last.says = append(last.says, says)
		}
	}
	return out
}

func TestReadings(t *testing.T) {
	lex := newLexicon(t)
	all := readings(t)
	for _, r := range all {
		var got []string
		for _, s := range lex.Read(r.text, r.role).Statements {
			got = append(got, brief(t, s))
		}
		if diff := cmp.Diff(r.says, got); diff != "" {
			t.Errorf("%s:%d: Read(%q, %q) (-want +got):\n%s", readingsFile, r.line, r.text, r.role, diff)
		}
	}
	if len(all) < 100 {
		t.Errorf("%s has %d examples, want 100 or more", readingsFile, len(all))
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
