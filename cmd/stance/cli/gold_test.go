package cli_test

import (
	"bufio"
	"bytes"
	"context"
	"encoding/csv"
	"encoding/json"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"

	"example.com/stance/cmd/stance/cli"
	"example.com/stance/lint/finding"
	"example.com/stance/lint/rules"
)

// The cases of testdata/gold are notes with a chart and what a reader of the trade takes from them:
// every finding and every statement. Each is run as whole commands, and the scores must not fall below
// testdata/gold-floors.txt. Run with -v to see each miss.
func TestGold(t *testing.T) {
	floors := readFloors(t, "testdata/gold-floors.txt")
	files, err := filepath.Glob("../../../testdata/gold/*.jsonl")
	if err != nil {
		t.Fatal(err)
	}
	var s scores
	cases := 0
	for _, file := range files {
		for _, c := range readCases(t, file) {
			cases++
			c.run(t, &s)
		}
	}
	if cases == 0 {
		t.Fatal("no gold cases in testdata/gold")
	}
	got := map[string]float64{"findings": s.findings.f1(), "hints": s.hints.f1(), "statements": s.statements.f1(), "fields": s.fields.share()}
	t.Logf("%d cases: findings %v, hints %v, statements %v, fields %v", cases, s.findings, s.hints, s.statements, s.fields)
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
	Spec   int                 `json:"spec"`   // edition by which it is annotated; none: the first
	Policy json.RawMessage     `json:"policy"` // written as stance.yaml beside the notes
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
	chartFile, notesFile := filepath.Join(dir, "chart.csv"), filepath.Join(dir, "notes.jsonl")
	if err := os.WriteFile(chartFile, c.chartCSV(t), 0o600); err != nil {
		t.Fatal(err)
	}
	text := map[string]string{}
	var notes bytes.Buffer
	for _, raw := range c.Notes {
		var n struct{ Note, Text string }
		if err := json.Unmarshal(raw, &n); err != nil {
			t.Fatalf("%s: %v", c.Case, err)
		}
		text[n.Note] = n.Text
		if err := json.Compact(&notes, raw); err != nil {
			t.Fatalf("%s: %v", c.Case, err)
		}
		notes.WriteByte('\n')
	}
	if err := os.WriteFile(notesFile, notes.Bytes(), 0o600); err != nil {
		t.Fatal(err)
	}

	if len(c.Policy) > 0 { // JSON is YAML
		if err := os.WriteFile(filepath.Join(dir, "stance.yaml"), c.Policy, 0o600); err != nil {
			t.Fatal(err)
		}
	}
	var checked struct{ Findings []finding.Finding }
	if err := json.Unmarshal(command(t, "check", "--chart", chartFile, "--format", "json", notesFile), &checked); err != nil {
		t.Fatalf("%s: %v", c.Case, err)
	}
	c.scoreFindings(t, s, checked.Findings)

	read := map[string][]readStatement{}
	dec := json.NewDecoder(bytes.NewReader(command(t, "read", "--format", "json", notesFile)))
	for dec.More() {
		var n struct {
			Note       string
			Statements []readStatement
		}
		if err := dec.Decode(&n); err != nil {
			t.Fatalf("%s: %v", c.Case, err)
		}
		for _, st := range n.Statements {
			concept, _ := st["concept"].(string)
			if concept = c.asKnown(concept); concept == "" {
				continue
			}
			st["concept"] = concept
			if c.Spec < 2 {
				delete(st, "fixed")
				delete(st, "helpers")
			}
			read[n.Note] = append(read[n.Note], st)
		}
	}
	for note, gold := range c.Expect.Statements {
		c.scoreStatements(t, s, note, text[note], gold, read[note])
	}
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

// scoreFindings compares by note and rule; errors and warnings apart from hints, by the rule's own severity.
func (c *goldCase) scoreFindings(t *testing.T, s *scores, got []finding.Finding) {
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
	have := map[goldFinding]bool{}
	for _, f := range got {
		if rule := c.asKnown(f.Rule); rule != "" {
			have[goldFinding{f.Note, rule}] = true
		}
	}
	want := map[goldFinding]bool{}
	for _, f := range c.Expect.Findings {
		want[f] = true
		if have[f] {
			tally(f.Rule).right++
		} else {
			tally(f.Rule).missed++
			t.Logf("%s %s: missed %s", c.Case, f.Note, f.Rule)
		}
	}
	for f := range have {
		if !want[f] {
			tally(f.Rule).extra++
			t.Logf("%s %s: extra %s", c.Case, f.Note, f.Rule)
		}
	}
}

// asKnown is what a rule or a concept counts as in the case: one of the first edition knows no other, and "" is
// left out there.
func (c *goldCase) asKnown(id string) string {
	if c.Spec >= 2 {
		return id
	}
	switch id {
	case "fall.fracture", "fall.spine":
		return "fall.injury"
	case "fall-injured-moved":
		return "fall-moved-early"
	case "fall.cause", "staff.hurt", "told.emergency", "told.office", "rising-pressed-on", "hazard-left", "fall-cause-unstated",
		"staff-hurt-not-told", "brakes-off", "footrests-off", "wheel-unsafe", "lift-unsupervised", "sign-differs", "sign-missing":
		return ""
	}
	switch group, _, _ := strings.Cut(id, "."); group {
	case "rise", "hazard", "wheel", "posted":
		return ""
	}
	return id
}

// A readStatement is a statement as the command prints it, its fields by name.
type readStatement map[string]any

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
			t.Logf("%s %s: unread %v %q", c.Case, note, g["concept"], quote)
			continue
		}
		used[best] = true
		s.statements.right++
		for _, f := range goldFields() {
			want, have := goldField(g, f), goldField(read[best], f)
			usual := defaultOf(f)
			if want == "" && have == "" || (f == "certainty" || f == "mood") && want == usual && have == usual {
				continue
			}
			if equalField(want, have) {
				s.fields.right++
			} else {
				s.fields.missed++
				t.Logf("%s %s: %v %q: %s: want %q got %q", c.Case, note, g["concept"], quote, f, want, have)
			}
		}
	}
	for j, r := range read {
		if !used[j] {
			s.statements.extra++
			t.Logf("%s %s: overread %v %q", c.Case, note, r["concept"], r["text"])
		}
	}
}

func goldFields() []string {
	return strings.Fields("polarity time who certainty mood limb side percent staff assist method aids from to distance_m " +
		"systolic diastolic posture fit value clock fixed helpers")
}

func defaultOf(field string) string {
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
	return ""
}

// goldField is a field as text, defaults filled in; aids in order of name.
func goldField(s map[string]any, field string) string {
	concept, _ := s["concept"].(string)
	switch v := s[field].(type) {
	case nil:
		if field == "limb" && strings.HasPrefix(concept, "bearing.") {
			return "leg"
		}
		return defaultOf(field)
	case []any:
		var items []string
		for _, x := range v {
			items = append(items, fmt.Sprint(x))
		}
		slices.Sort(items)
		return strings.Join(items, " ")
	default:
		return fmt.Sprint(v)
	}
}

// equalField lets numbers differ by rounding: feet become metres to a decimal or more.
func equalField(a, b string) bool {
	x, errX := strconv.ParseFloat(a, 64)
	y, errY := strconv.ParseFloat(b, 64)
	if errX == nil && errY == nil {
		return max(x-y, y-x) < 0.06
	}
	return a == b
}

type scores struct{ findings, hints, statements, fields tally }

type tally struct{ right, missed, extra int }

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
