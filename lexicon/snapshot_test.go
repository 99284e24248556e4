package lexicon_test

import (
	"bytes"
	"encoding/json"
	"flag"
	"fmt"
	"maps"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"example.com/stance/lexicon"
)

var update = flag.Bool("update", false, "rewrite the snapshot of readings")

const snapshotFile = "testdata/snapshot.txt"

const snapshotHead = `# How every text of the project is read: "@", where the text stands, and below it, in text order, what is read in it,
# a line each with the fields that are not at their default. That it stands here does not make it right: it is here so
# that a change shows all that it changes. "go test ./lexicon -run TestSnapshot -update" rewrites this file.
# Read the diff before you commit it.
`

// A snapshot is what is read in each text: where it stands → lines.
type snapshot map[string][]string

// TestSnapshot compares how all texts of the project are read with how they were read when the snapshot was
// taken, and groups what differs, so that one sees at a glance what a change to the engine or its data does.
func TestSnapshot(t *testing.T) {
	got := takeSnapshot(t)
	if *update {
		if err := os.WriteFile(snapshotFile, []byte(got.String()), 0o644); err != nil {
			t.Fatal(err)
		}
		return
	}
	text, err := os.ReadFile(snapshotFile)
	if err != nil {
		t.Fatal(err)
	}
	changes := differences(parseSnapshot(string(text)), got)
	if len(changes) > 0 {
		t.Errorf("%d texts; readings differ from %s. Where that is meant, run\n\t"+
			"go test ./lexicon -run TestSnapshot -update\nand read the diff.\n%s", len(got), snapshotFile, grouped(changes))
	}
}

func takeSnapshot(t *testing.T) snapshot {
	t.Helper()
	lex := newLexicon(t)
	out := snapshot{}
	for _, s := range projectTexts(t) {
		place := s.Name
		for n := 2; out[place] != nil; n++ {
			place = fmt.Sprintf("%s (%d)", s.Name, n) // two notes may have one id
		}
		r := lex.Read(s.Text, s.Role)
		lines := []string{}
		for _, st := range r.Statements {
			concept, fields, _ := strings.Cut(brief(t, st), " ")
			lines = append(lines, strings.TrimSpace(fmt.Sprintf("%s %q %s", concept, st.Text, fields)))
		}
		for _, m := range r.Remarks {
			lines = append(lines, fmt.Sprintf("remark.%s %q", m.Kind, s.Text[m.Span.Start:m.Span.End]))
		}
		if r.Late != "" {
			lines = append(lines, fmt.Sprintf("late %q", r.Late))
		}
		out[place] = lines
	}
	return out
}

// projectTexts are the texts of the gold cases, the clean notes, the demo homes, the samples and the readings.
func projectTexts(t *testing.T) []sample {
	t.Helper()
	var out []sample
	files := func(pattern string) []string {
		found, err := filepath.Glob(pattern)
		if err != nil || len(found) == 0 {
			t.Fatalf("%s: %d files, want some (%v)", pattern, len(found), err)
		}
		return found
	}
	for _, file := range files("../testdata/gold/*.jsonl") {
		for _, c := range decodeAll[struct {
			Case  string
			Notes []textNote
		}](t, file) {
			for _, n := range c.Notes {
				out = append(out, n.sample(file, c.Case))
			}
		}
	}
	for _, file := range slices.Concat(files("../testdata/gold/clean/*.jsonl"), files("../testdata/demo/notes.jsonl"), files("../testdata/demo/*/notes.jsonl")) {
		for _, n := range decodeAll[textNote](t, file) {
			out = append(out, n.sample(file))
		}
	}
	for _, s := range samples(t) {
		s.Name = "samples " + s.Name
		out = append(out, s)
	}
	for _, r := range readings(t) {
		out = append(out, sample{Name: fmt.Sprintf("readings <%s> %q", r.role, r.text), Role: r.role, Text: r.text})
	}
	return out
}

type textNote struct {
	Note, Text string
	Role       lexicon.Role
}

// sample names the note by its file, the case and its own id: "own-a O1-001 N1", "demo N0001".
func (n textNote) sample(file string, within ...string) sample {
	name := strings.TrimSuffix(filepath.Base(file), ".jsonl")
	if name == "notes" {
		name = filepath.Base(filepath.Dir(file))
	}
	return sample{Name: strings.Join(slices.Concat([]string{name}, within, []string{n.Note}), " "), Role: n.Role, Text: n.Text}
}

// decodeAll reads the JSON values of a file.
func decodeAll[T any](t *testing.T, file string) []T {
	t.Helper()
	b, err := os.ReadFile(filepath.FromSlash(file))
	if err != nil {
		t.Fatal(err)
	}
	var out []T
	for dec := json.NewDecoder(bytes.NewReader(b)); dec.More(); {
		var v T
		if err := dec.Decode(&v); err != nil {
			t.Fatalf("%s: value %d: %v", file, len(out)+1, err)
		}
		out = append(out, v)
	}
	return out
}

func (s snapshot) String() string {
	var b strings.Builder
	b.WriteString(snapshotHead)
	for _, place := range slices.Sorted(maps.Keys(s)) {
		b.WriteString("@ " + place + "\n")
		for _, line := range s[place] {
			b.WriteString(line + "\n")
		}
	}
	return b.String()
}

func parseSnapshot(text string) snapshot {
	out := snapshot{}
	place := ""
	for line := range strings.Lines(text) {
		line = strings.TrimSuffix(line, "\n")
		if at, ok := strings.CutPrefix(line, "@ "); ok {
			place = at
			out[place] = []string{}
		} else if !strings.HasPrefix(line, "#") {
			out[place] = append(out[place], line)
		}
	}
	return out
}

// A change is one thing that is read otherwise than in the snapshot.
type change struct {
	group string // concept and kind of change
	what  string // the place and the line
}

// differences is what changed, place by place.
func differences(was, is snapshot) []change {
	places := maps.Clone(was)
	maps.Copy(places, is)
	var out []change
	for _, place := range slices.Sorted(maps.Keys(places)) {
		old, known := was[place]
		now, there := is[place]
		switch {
		case !known:
			out = append(out, change{"texts: new", place})
		case !there:
			out = append(out, change{"texts: gone", place})
		default:
			for _, c := range lineChanges(old, now) {
				out = append(out, change{c.group, place + ": " + c.what})
			}
		}
	}
	return out
}

// lineChanges compares what was and is read in one text. A statement of one concept at the same words is the same
// statement, with other fields; failing that, one whose words are part of the other's.
func lineChanges(was, is []string) []change {
	lost, gained := without(was, is), without(is, was)
	if len(lost)+len(gained) == 0 {
		for i := range was {
			if was[i] != is[i] {
				return []change{{concept(is[i]) + ": order changed", is[i]}}
			}
		}
		return nil
	}
	var out []change
	for _, same := range []func(a, b string) bool{
		func(a, b string) bool { return a == b },
		func(a, b string) bool { return strings.Contains(a, b) || strings.Contains(b, a) },
	} {
		lost = slices.DeleteFunc(lost, func(a string) bool {
			i := slices.IndexFunc(gained, func(b string) bool { return concept(a) == concept(b) && same(quoted(a), quoted(b)) })
			if i < 0 {
				return false
			}
			out = append(out, fieldChange(a, gained[i]))
			gained = slices.Delete(gained, i, i+1)
			return true
		})
	}
	for _, line := range lost {
		out = append(out, change{concept(line) + ": lost", line})
	}
	for _, line := range gained {
		out = append(out, change{concept(line) + ": gained", line})
	}
	return out
}

// without is the lines of a beyond those of b, each used once.
func without(a, b []string) []string {
	have := map[string]int{}
	for _, line := range b {
		have[line]++
	}
	var out []string
	for _, line := range a {
		if have[line]--; have[line] < 0 {
			out = append(out, line)
		}
	}
	return out
}

// fieldChange is one statement with other words or fields than before.
func fieldChange(was, is string) change {
	names := map[string]bool{}
	what := concept(is) + " " + strconv.Quote(quoted(is))
	if quoted(was) != quoted(is) {
		names["words"] = true
		what = concept(is) + " " + strconv.Quote(quoted(was)) + " → " + strconv.Quote(quoted(is))
	}
	tell := func(sign string, fields []string) {
		for _, f := range fields {
			name, _, _ := strings.Cut(f, "=")
			names[name] = true
			what += " " + sign + f
		}
	}
	tell("-", without(fields(was), fields(is)))
	tell("+", without(fields(is), fields(was)))
	return change{concept(is) + ": changed " + strings.Join(slices.Sorted(maps.Keys(names)), ", "), what}
}

// concept, quoted and fields are the parts of a line: its first word, the words read, and what follows them.
func concept(line string) string {
	c, _, _ := strings.Cut(line, " ")
	return c
}

func quoted(line string) string {
	q, _ := cutQuote(line)
	return q
}

func fields(line string) []string {
	_, rest := cutQuote(line)
	return strings.Fields(rest)
}

func cutQuote(line string) (words, rest string) {
	_, line, _ = strings.Cut(line, " ")
	q, err := strconv.QuotedPrefix(line)
	if err != nil {
		return "", line
	}
	words, _ = strconv.Unquote(q) // QuotedPrefix gives what can be unquoted
	return words, line[len(q):]
}

// grouped tells the changes by group: how many, and the first five of each.
func grouped(changes []change) string {
	const shown = 5
	groups := map[string][]string{}
	for _, c := range changes {
		groups[c.group] = append(groups[c.group], c.what)
	}
	var b strings.Builder
	for _, g := range slices.Sorted(maps.Keys(groups)) {
		all := groups[g]
		fmt.Fprintf(&b, "%s (%d)\n", g, len(all))
		for _, what := range all[:min(shown, len(all))] {
			fmt.Fprintf(&b, "\t%s\n", what)
		}
		if len(all) > shown {
			fmt.Fprintf(&b, "\t… and %d more\n", len(all)-shown)
		}
	}
	return b.String()
}

func TestSnapshotDifferences(t *testing.T) {
	const walk, cane = `move.walk "Walked" staff=1`, `move.walk "Walked" aids=cane staff=1`
	for _, c := range []struct {
		name    string
		was, is []string
		want    []string
	}{
		{"nothing", []string{walk}, []string{walk}, nil},
		{"lost", []string{walk, walk}, []string{walk}, []string{"move.walk: lost | a: " + walk}},
		{"gained", []string{}, []string{walk}, []string{"move.walk: gained | a: " + walk}},
		{"a field more", []string{walk}, []string{cane}, []string{`move.walk: changed aids | a: move.walk "Walked" +aids=cane`}},
		{"another value", []string{walk}, []string{`move.walk "Walked" staff=2`}, []string{`move.walk: changed staff | a: move.walk "Walked" -staff=1 +staff=2`}},
		{"more words", []string{walk}, []string{`move.walk "Walked in \"style\"" staff=1`}, []string{`move.walk: changed words | a: move.walk "Walked" → "Walked in \"style\""`}},
		{"the same words first", []string{`move.walk "Walked in"`, `move.walk "Walked"`}, []string{`move.walk "Walked" staff=1`},
			[]string{`move.walk: changed staff | a: move.walk "Walked" +staff=1`, `move.walk: lost | a: move.walk "Walked in"`}},
		{"other order", []string{walk, `fall.fell "Fell"`}, []string{`fall.fell "Fell"`, walk}, []string{`fall.fell: order changed | a: fall.fell "Fell"`}},
		{"another concept", []string{`move.walk "up"`}, []string{`move.up "up"`}, []string{`move.walk: lost | a: move.walk "up"`, `move.up: gained | a: move.up "up"`}},
		{"text gone", []string{walk}, nil, []string{"texts: gone | a"}},
		{"new text", nil, []string{walk}, []string{"texts: new | a"}},
	} {
		was, is := snapshot{}, snapshot{}
		if c.was != nil {
			was["a"] = c.was
		}
		if c.is != nil {
			is["a"] = c.is
		}
		var got []string
		for _, d := range differences(parseSnapshot(was.String()), is) {
			got = append(got, d.group+" | "+d.what)
		}
		if diff := cmp.Diff(c.want, got); diff != "" {
			t.Errorf("%s: differences(%q, %q) (-want +got):\n%s", c.name, c.was, c.is, diff)
		}
	}
}

func TestGroupedShowsTheFirstFive(t *testing.T) {
	var changes []change
	for i := range 7 {
		changes = append(changes, change{"move.walk: lost", fmt.Sprint("place ", i)})
	}
	const want = "move.walk: lost (7)\n\tplace 0\n\tplace 1\n\tplace 2\n\tplace 3\n\tplace 4\n\t… and 2 more\n"
	if got := grouped(changes); got != want {
		t.Errorf("grouped gave %q, want %q", got, want)
	}
}
