package finding_test

import (
	"testing"

	"example.com/stance/lexicon"
	"example.com/stance/lint/finding"
)

func TestIdentify(t *testing.T) {
	base := finding.Finding{Rule: "lift-wording", Resident: "R-1", Note: "N1", Shift: "2026-11-24/day", Text: "lifted to chair"}
	gap := finding.Finding{Rule: "shift-silent", Resident: "R-1", Shift: "2026-11-24/day"}
	with := func(f finding.Finding, change func(*finding.Finding)) finding.Finding {
		change(&f)
		return f
	}
	for _, tt := range []struct {
		name string
		a, b finding.Finding
		same bool
	}{
		{"again", base, base, true},
		{"elsewhere in the note", base, with(base, func(f *finding.Finding) { f.Span = lexicon.Span{Start: 40, End: 55, Line: 2, Column: 1} }), true},
		{"wrapped otherwise", base, with(base, func(f *finding.Finding) { f.Text = "lifted to\n chair" }), true},
		{"other severity", base, with(base, func(f *finding.Finding) { f.Severity = finding.Error }), true},
		{"other sentence", base, with(base, func(f *finding.Finding) { f.Message = "reworded" }), true},
		{"other words", base, with(base, func(f *finding.Finding) { f.Text = "lifted to bed" }), false},
		{"other rule", base, with(base, func(f *finding.Finding) { f.Rule = "manual-lift" }), false},
		{"other note", base, with(base, func(f *finding.Finding) { f.Note = "N2" }), false},
		{"other resident", base, with(base, func(f *finding.Finding) { f.Resident = "R-2" }), false},
		{"end of one part in the next", with(base, func(f *finding.Finding) { f.Rule, f.Resident = "ab", "c" }),
			with(base, func(f *finding.Finding) { f.Rule, f.Resident = "a", "bc" }), false},
		{"other silent shift", gap, with(gap, func(f *finding.Finding) { f.Shift = "2026-11-25/day" }), false},
	} {
		t.Run(tt.name, func(t *testing.T) {
			a, b := []finding.Finding{tt.a}, []finding.Finding{tt.b}
			finding.Identify(a)
			finding.Identify(b)
			if got := a[0].ID == b[0].ID; got != tt.same {
				t.Errorf("ids %s and %s, want the same: %t", a[0].ID, b[0].ID, tt.same)
			}
			if !finding.IsID(a[0].ID) {
				t.Errorf("IsID(%q) = false", a[0].ID)
			}
		})
	}
}

func TestIdentifyTellsEqualsApart(t *testing.T) {
	f := finding.Finding{Rule: "lift-wording", Resident: "R-1", Note: "N1", Text: "lifted"}
	one, two := []finding.Finding{f}, []finding.Finding{f, f}
	finding.Identify(one)
	finding.Identify(two)
	if two[0].ID == two[1].ID {
		t.Errorf("two equal findings share the id %s", two[0].ID)
	}
	if one[0].ID != two[0].ID {
		t.Errorf("the first has id %s alone and %s before an equal one", one[0].ID, two[0].ID)
	}
}

func TestIsID(t *testing.T) {
	for s, want := range map[string]bool{
		"0123456789abcdef": true, "0123456789ABCDEF": false, "0123456789abcde": false, "0123456789abcdefa": false, "": false, "0123456789abcdeg": false,
	} {
		if got := finding.IsID(s); got != want {
			t.Errorf("IsID(%q) = %t, want %t", s, got, want)
		}
	}
}
