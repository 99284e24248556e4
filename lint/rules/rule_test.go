package rules

import (
	"os"
	"slices"
	"strings"
	"testing"

	"example.com/stance/lint/finding"
)

// Every rule file is in the list, every rule of the list has its file, its text and its check.
func TestList(t *testing.T) {
	all, err := All()
	if err != nil {
		t.Fatal(err)
	}
	var ids []string
	charting := true
	for _, r := range all {
		if slices.Contains(ids, r.ID) {
			t.Errorf("rule %s stands twice in the list", r.ID)
		}
		ids = append(ids, r.ID)
		if r.check == nil {
			t.Errorf("rule %s has no check", r.ID)
		}
		if r.Severity.Rank() < finding.Hint.Rank() {
			t.Errorf("rule %s: severity %q, want hint, warning or error", r.ID, r.Severity)
		}
		if _, err := os.Stat(strings.ReplaceAll(r.ID, "-", "_") + ".go"); err != nil {
			t.Errorf("rule %s: want its check in a file of its own: %v", r.ID, err)
		}
		if r.charted && !charting {
			t.Errorf("rule %s is against the chart but stands behind the others", r.ID)
		}
		charting = charting && (r.charted || r.ID == "chart-missing")
		if strings.HasSuffix(r.Doc.Title, ".") || r.Doc.Title != strings.ToLower(r.Doc.Title[:1])+r.Doc.Title[1:] {
			t.Errorf("rule %s: title %q, want lower case and no full stop", r.ID, r.Doc.Title)
		}
	}
	files, err := texts.ReadDir(".")
	if err != nil {
		t.Fatal(err)
	}
	for _, f := range files {
		if id := strings.TrimSuffix(f.Name(), ".txt"); !slices.Contains(ids, id) {
			t.Errorf("%s is the text of no rule in the list", f.Name())
		}
	}
}

// The precedence table names rules that there are, and nobody silences himself round a circle.
func TestPrecedence(t *testing.T) {
	known := map[string]bool{}
	for _, r := range list() {
		known[r.ID] = true
	}
	table := precedence()
	var reaches func(from, to string) bool
	reaches = func(from, to string) bool {
		return slices.ContainsFunc(table[from], func(next string) bool { return next == to || reaches(next, to) })
	}
	for strong, weak := range table {
		for _, id := range append([]string{strong}, weak...) {
			if !known[id] {
				t.Errorf("precedence names %q, which is no rule", id)
			}
		}
		if reaches(strong, strong) {
			t.Errorf("precedence of %s goes round in a circle", strong)
		}
	}
}

func TestParseDoc(t *testing.T) {
	const whole = "-- title --\na\n-- looks for --\nb\nc\n-- why --\nd\n-- do --\ne\n-- source --\ncommon practice\n" +
		"-- trigger says --\nf\n-- trigger notes --\ng\n-- near miss says --\nh\n-- near miss notes --\ni\n"
	d, err := ParseDoc("x.txt", []byte(whole))
	if err != nil {
		t.Fatal(err)
	}
	if d.LooksFor != "b c" || d.Trigger.Notes != "g\n" || d.NearMiss.Chart != "" {
		t.Errorf("ParseDoc = %+v", d)
	}
	for _, tt := range []struct{ name, text, want string }{
		{"missing", strings.Replace(whole, "-- why --\nd\n", "", 1), `section "why" is missing`},
		{"no notes", strings.Replace(whole, "-- trigger notes --\ng\n", "", 1), `section "trigger notes" is missing`},
		{"twice", whole + "-- do --\nz\n", `x.txt:20: section "do" is unknown or stands twice`},
		{"unknown", "-- titel --\na\n" + whole, `x.txt:1: section "titel"`},
		{"empty", strings.Replace(whole, "-- do --\ne\n", "-- do --\n\n", 1), `section "do" is empty`},
	} {
		if _, err := ParseDoc("x.txt", []byte(tt.text)); err == nil || !strings.Contains(err.Error(), tt.want) {
			t.Errorf("%s: error %v, want %q in it", tt.name, err, tt.want)
		}
	}
}
