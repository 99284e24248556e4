package cli_test

import (
	"bufio"
	"bytes"
	"context"
	"encoding/csv"
	"encoding/json"
	"fmt"
	"io"
	"maps"
	"os"
	"path/filepath"
	"reflect"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"example.com/stance/cmd/stance/cli"
	"example.com/stance/lint/finding"
	"example.com/stance/lint/rules"
)

// The cases of testdata/gold are notes with a chart and what a reader of the trade takes from them:
// every finding and every statement. Each is run as whole commands. What is missed stands miss by
// miss in testdata/gold-known.txt, so that a case that breaks is seen and one that is mended too; the scores must
// not fall below testdata/gold-floors.txt. Run with -v to see the scores of each file.
func TestGold(t *testing.T) {
	files, err := filepath.Glob("../../../testdata/gold/*.jsonl")
	if err != nil {
		t.Fatal(err)
	}
	var all scores
	seen := map[string]bool{}
	for _, file := range files {
		cases := readCases(t, file)
		var s scores
		for _, c := range cases {
			if seen[c.Case] {
				t.Fatalf("%s: case %s is there twice, want an id of its own for each", file, c.Case)
			}
			seen[c.Case] = true
			c.run(t, &s)
		}
		t.Logf("%s: %d cases: %v", filepath.Base(file), len(cases), s)
		all.add(s)
	}
	if len(seen) == 0 {
		t.Fatal("no gold cases in testdata/gold")
	}
	t.Logf("all: %d cases: %v", len(seen), all)
	holdKnown(t, "testdata/gold-known.txt", all.misses)
	holdFloors(t, "testdata/gold-floors.txt", all)
}

func holdFloors(t *testing.T, file string, s scores) {
	t.Helper()
	floors := readFloors(t, file)
	got := map[string]float64{"findings": s.findings.f1(), "hints": s.hints.f1(), "statements": s.statements.f1(), "fields": s.fields.share()}
	for name, floor := range floors {
		score, known := got[name]
		switch {
		case !known:
			t.Errorf("floor for %q: there is no such score", name)
		case score < floor:
			t.Errorf("%s: %.3f is below the floor of %.3f", name, score, floor)
		}
	}
	if len(floors) != len(got) {
		t.Errorf("got %d floors, want one for each of %d scores", len(floors), len(got))
	}
}

// A goldCase is one line of a gold file.
type goldCase struct {
	Case   string              `json:"case"`
	Spec   int                 `json:"spec"` // the edition whose concepts and rules it knows; the first where absent
	Only   string              `json:"only"` // "findings" where statements are not told
	Policy json.RawMessage     `json:"policy"`
	Chart  []map[string]string `json:"chart"`
	Notes  []json.RawMessage   `json:"notes"`
	Expect struct {
		Findings   []goldFinding               `json:"findings"`
		Statements map[string][]map[string]any `json:"statements"`
	} `json:"expect"`
}

type goldFinding struct {
	Note string `json:"note"`
	Rule string `json:"rule"`
}

func readCases(t *testing.T, file string) []goldCase {
	t.Helper()
	f, err := os.Open(file)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	var cases []goldCase
	dec := json.NewDecoder(bufio.NewReader(f))
	for {
		var c goldCase
		if err := dec.Decode(&c); err == io.EOF {
			return cases
		} else if err != nil {
			t.Fatalf("%s: case %d: %v", file, len(cases)+1, err)
		}
		cases = append(cases, c)
	}
}

func readFloors(t *testing.T, file string) map[string]float64 {
	t.Helper()
	b, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	floors := map[string]float64{}
	for line := range strings.Lines(string(b)) {
		line, _, _ = strings.Cut(line, "#")
		f := strings.Fields(line)
		if len(f) == 0 {
			continue
		}
		if len(f) != 2 {
			t.Fatalf("%s: %q: want a name and a number", file, line)
		}
		if floors[f[0]], err = strconv.ParseFloat(f[1], 64); err != nil {
			t.Fatalf("%s: %v", file, err)
		}
	}
	return floors
}

// command runs one command line and returns what it printed.
func command(t *testing.T, args ...string) []byte {
	t.Helper()
	var out, errs bytes.Buffer
	if status := cli.MainAt(context.Background(), clock(), args, strings.NewReader(""), &out, &errs); status > 1 {
		t.Fatalf("stance %s: exit status %d: %s", strings.Join(args, " "), status, errs.String())
	}
	return out.Bytes()
}

func (c *goldCase) run(t *testing.T, s *scores) {
	t.Helper()
	dir := t.TempDir()
	write := func(name string, content []byte) string {
		file := filepath.Join(dir, name)
		if err := os.WriteFile(file, content, 0o600); err != nil {
			t.Fatal(err)
		}
		return file
	}
	notes, text := c.notesJSONL(t)
	chartFile, notesFile := write("chart.csv", c.chartCSV(t)), write("notes.jsonl", notes)
	if c.Policy != nil {
		write("stance.yaml", c.Policy) // JSON is YAML
	}
	c.scoreFindings(t, s, c.findings(t, command(t, "check", "--chart", chartFile, "--format", "json", notesFile)))
	switch {
	case c.Only == "findings":
	case c.Only != "":
		t.Fatalf("%s: only %q, expected \"findings\" or nothing", c.Case, c.Only)
	case len(c.Expect.Statements) != len(text):
		t.Fatalf("%s: statements of %d notes, expected those of all %d", c.Case, len(c.Expect.Statements), len(text))
	default:
		read := c.statements(t, command(t, "read", "--format", "json", notesFile))
		for _, note := range slices.Sorted(maps.Keys(text)) {
			c.scoreStatements(t, s, note, text[note], c.Expect.Statements[note], read[note])
		}
	}
}

// notesJSONL is the notes of the case as a file, and the text of each.
func (c *goldCase) notesJSONL(t *testing.T) (file []byte, text map[string]string) {
	t.Helper()
	text = map[string]string{}
	var b bytes.Buffer
	for _, raw := range c.Notes {
		var n struct{ Note, Text string }
		if err := json.Unmarshal(raw, &n); err != nil {
			t.Fatalf("%s: %v", c.Case, err)
		}
		text[n.Note] = n.Text
		if err := json.Compact(&b, raw); err != nil {
			t.Fatalf("%s: %v", c.Case, err)
		}
		b.WriteByte('\n')
	}
	return b.Bytes(), text
}

func (c *goldCase) chartCSV(t *testing.T) []byte {
	t.Helper()
	columns := strings.Split("resident,unit,from,until,left_leg,right_leg,left_arm,right_arm,transfer,staff,aids,walk,by", ",")
	rows := [][]string{columns}
	for _, r := range c.Chart {
		row := make([]string, len(columns))
		for i, column := range columns {
			row[i] = r[column]
		}
		rows = append(rows, row)
	}
	var b bytes.Buffer
	if err := csv.NewWriter(&b).WriteAll(rows); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

// findings is what stance check found, as far as the case's edition knows it: each rule once a note.
func (c *goldCase) findings(t *testing.T, report []byte) map[goldFinding]bool {
	t.Helper()
	var checked struct{ Findings []finding.Finding }
	if err := json.Unmarshal(report, &checked); err != nil {
		t.Fatalf("%s: %v", c.Case, err)
	}
	found := map[goldFinding]bool{}
	for _, f := range checked.Findings {
		if rule, known := c.knows(f.Rule); known {
			found[goldFinding{f.Note, rule}] = true
		}
	}
	return found
}

// statements is what stance read took from each note, as far as the case's edition knows it.
func (c *goldCase) statements(t *testing.T, report []byte) map[string][]readStatement {
	t.Helper()
	read := map[string][]readStatement{}
	for dec := json.NewDecoder(bytes.NewReader(report)); dec.More(); {
		var n struct {
			Note       string
			Statements []readStatement
		}
		if err := dec.Decode(&n); err != nil {
			t.Fatalf("%s: %v", c.Case, err)
		}
		for _, s := range n.Statements {
			concept, known := c.knows(s.concept())
			if !known {
				continue
			}
			s["concept"] = concept
			if c.Spec < 2 {
				delete(s, "fixed")
				delete(s, "helpers")
			}
			read[n.Note] = append(read[n.Note], s)
		}
	}
	return read
}

// knows is what a concept or rule counts as in the case's edition, and whether that edition has it at all.
func (c *goldCase) knows(id string) (as string, known bool) {
	if c.Spec >= 2 {
		return id, true
	}
	switch id {
	case "fall.fracture", "fall.spine":
		return "fall.injury", true
	case "fall-injured-moved":
		return "fall-moved-early", true
	case "rise.raised", "rise.paused", "rise.asked", "rise.exercised", "rise.returned",
		"hazard.floor", "hazard.clutter", "hazard.mat", "hazard.footwear", "hazard.light",
		"fall.cause", "told.emergency", "told.office", "staff.hurt", "posted.way",
		"wheel.brakes", "wheel.footrests", "wheel.told", "wheel.fast",
		"rising-pressed-on", "hazard-left", "fall-cause-unstated", "staff-hurt-not-told",
		"brakes-off", "footrests-off", "wheel-unsafe", "lift-unsupervised", "sign-differs", "sign-missing":
		return "", false
	}
	return id, true
}

// scoreFindings compares by note and rule; errors and warnings apart from hints, by the rule's own severity.
func (c *goldCase) scoreFindings(t *testing.T, s *scores, have map[goldFinding]bool) {
	t.Helper()
	all, err := rules.All()
	if err != nil {
		t.Fatal(err)
	}
	tally := func(rule string) *tally {
		i := slices.IndexFunc(all, func(r rules.Rule) bool { return r.ID == rule })
		if i < 0 {
			t.Fatalf("%s: unknown rule %q", c.Case, rule)
		}
		if all[i].Severity == finding.Hint {
			return &s.hints
		}
		return &s.findings
	}
	want := map[goldFinding]bool{}
	for _, f := range c.Expect.Findings {
		want[f] = true
	}
	for f := range want {
		if have[f] {
			tally(f.Rule).right++
		} else {
			tally(f.Rule).missed++
			s.miss("%s %s missed %s", c.Case, f.Note, f.Rule)
		}
	}
	for f := range have {
		if !want[f] {
			tally(f.Rule).extra++
			s.miss("%s %s extra %s", c.Case, f.Note, f.Rule)
		}
	}
}

// A readStatement is a statement as the command prints it, its fields by name.
type readStatement map[string]any

func (r readStatement) concept() string {
	concept, _ := r["concept"].(string)
	return concept
}

func (r readStatement) span() (start, end int) {
	span, _ := r["span"].(map[string]any)
	s, _ := span["start"].(float64)
	e, _ := span["end"].(float64)
	return int(s), int(e)
}

// scoreStatements pairs gold and read statements of one concept whose places overlap, in text order,
// each used once, and then compares the fields of the pairs.
func (c *goldCase) scoreStatements(t *testing.T, s *scores, note, text string, gold []map[string]any, read []readStatement) {
	t.Helper()
	used := make([]bool, len(read))
	at := 0
	for _, g := range gold {
		quote, _ := g["quote"].(string)
		i := strings.Index(text[at:], quote)
		if i >= 0 {
			i += at
			at = i
		} else if i = strings.Index(text, quote); i < 0 || quote == "" {
			t.Fatalf("%s %s: quote %q is not in the note", c.Case, note, quote)
		}
		best, most := -1, 0
		for j, r := range read {
			if used[j] || r["concept"] != g["concept"] {
				continue
			}
			start, end := r.span()
			if o := min(end, i+len(quote)) - max(start, i); o > most {
				best, most = j, o
			}
		}
		if best < 0 {
			s.statements.missed++
			s.miss("%s %s unread %v %q", c.Case, note, g["concept"], quote)
			continue
		}
		used[best] = true
		s.statements.right++
		c.scoreFields(s, note, g, read[best])
	}
	for j, r := range read {
		if !used[j] {
			s.statements.extra++
			s.miss("%s %s overread %v %q", c.Case, note, r["concept"], r["text"])
		}
	}
}

func (c *goldCase) scoreFields(s *scores, note string, gold map[string]any, read readStatement) {
	for _, f := range goldFields() {
		want, have := goldField(gold, f), goldField(read, f)
		usual := defaultOf(f)
		if want == nil && have == nil || (f == "certainty" || f == "mood") && want == usual && have == usual {
			continue
		}
		if equalField(want, have) {
			s.fields.right++
		} else {
			s.fields.missed++
			s.miss("%s %s field %v %q: %s want %s got %s", c.Case, note, gold["concept"], gold["quote"], f, show(want), show(have))
		}
	}
}

func goldFields() []string {
	return strings.Fields("polarity time who certainty mood limb side percent staff assist method aids from to distance_m " +
		"systolic diastolic posture fit value clock fixed helpers")
}

func defaultOf(field string) any {
	switch field {
	case "polarity":
		return "affirmed"
	case "time":
		return "now"
	case "who":
		return "resident"
	case "certainty":
		return "certain"
	case "mood":
		return "report"
	}
	return nil
}

// goldField is the value of a field, nil for none: defaults filled in, aids and helpers in order of name.
func goldField(s map[string]any, field string) any {
	concept, _ := s["concept"].(string)
	v, given := s[field]
	switch {
	case field == "aids" || field == "helpers":
		return inOrder(v)
	case given:
		return v
	case field == "limb" && strings.HasPrefix(concept, "bearing."):
		return "leg"
	}
	return defaultOf(field)
}

func inOrder(list any) any {
	items, _ := list.([]any)
	if len(items) == 0 {
		return nil
	}
	var out []string
	for _, x := range items {
		out = append(out, fmt.Sprint(x))
	}
	slices.Sort(out)
	return strings.Join(out, "+")
}

// equalField lets numbers differ by rounding: feet become metres to a decimal or more.
func equalField(a, b any) bool {
	x, numX := a.(float64)
	y, numY := b.(float64)
	if numX && numY {
		return max(x-y, y-x) < 0.06
	}
	return reflect.DeepEqual(a, b)
}

// show is a field's value as the list of known misses has it.
func show(v any) string {
	switch v := v.(type) {
	case nil:
		return "nothing"
	case string:
		return strconv.Quote(v)
	}
	return fmt.Sprint(v)
}

type scores struct {
	findings, hints, statements, fields tally
	misses                              []string // a line each, as in testdata/gold-known.txt
}

func (s *scores) miss(format string, args ...any) {
	s.misses = append(s.misses, fmt.Sprintf(format, args...))
}

func (s *scores) add(o scores) {
	s.findings.add(o.findings)
	s.hints.add(o.hints)
	s.statements.add(o.statements)
	s.fields.add(o.fields)
	s.misses = append(s.misses, o.misses...)
}

func (s scores) String() string {
	f := s.fields
	return fmt.Sprintf("findings %v, hints %v, statements %v, fields %.3f (%d of %d)", s.findings, s.hints, s.statements, f.share(), f.right, f.right+f.missed)
}

type tally struct{ right, missed, extra int }

func (y *tally) add(o tally) {
	y.right += o.right
	y.missed += o.missed
	y.extra += o.extra
}

func (y tally) precision() float64 { return ratio(y.right, y.right+y.extra) }
func (y tally) recall() float64    { return ratio(y.right, y.right+y.missed) }
func (y tally) share() float64     { return ratio(y.right, y.right+y.missed) }

func (y tally) f1() float64 {
	p, r := y.precision(), y.recall()
	if p+r == 0 {
		return 0
	}
	return 2 * p * r / (p + r)
}

func (y tally) String() string {
	return fmt.Sprintf("F1 %.3f (%d right, %d missed, %d extra)", y.f1(), y.right, y.missed, y.extra)
}

func ratio(part, whole int) float64 {
	if whole == 0 {
		return 1
	}
	return float64(part) / float64(whole)
}

// A case of edition 1 is not held to what it could not know, one of edition 2 is; a case may leave statements out
// and bring a policy.
func TestGoldEditions(t *testing.T) {
	const rest = `"chart":[{"resident":"R-0101","unit":"Elm","from":"2026-03-02T09:00:00Z","transfer":"one-person-pivot","staff":"1","walk":"no"}],` +
		`"notes":[{"note":"N1","resident":"R-0101","unit":"Elm","time":"2026-03-10T13:30:00Z","shift":"day","role":"care worker",` +
		`"text":"Pivot toilet to w/c x1. Brakes were not on and the chair rolled back."}],` +
		`"expect":{"findings":[],"statements":{"N1":[{"concept":"move.transfer","quote":"Pivot toilet to w/c x1",` +
		`"method":"pivot","staff":1,"from":"toilet","to":"wheelchair"}]}}}`
	const flagged, read = "X-1 N1 extra brakes-off", `X-1 N1 overread wheel.brakes "Brakes were not on"`
	for _, c := range []struct {
		name, head string
		want       []string
	}{
		{"edition 1", `{"case":"X-1",`, nil},
		{"edition 2", `{"case":"X-1","spec":2,`, []string{flagged, read}},
		{"findings only", `{"case":"X-1","spec":2,"only":"findings",`, []string{flagged}},
		{"a policy", `{"case":"X-1","spec":2,"policy":{"rules":{"brakes-off":"off"}},`, []string{read}},
	} {
		var gold goldCase
		if err := json.Unmarshal([]byte(c.head+rest), &gold); err != nil {
			t.Fatal(err)
		}
		var s scores
		gold.run(t, &s)
		if diff := cmp.Diff(c.want, s.misses); diff != "" {
			t.Errorf("%s: misses (-want +got):\n%s", c.name, diff)
		}
	}
}
