package audit

import (
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"example.com/stance/lexicon"
	"example.com/stance/lint/finding"
	"example.com/stance/lint/policy"
)

// Every period from the first day to the last is there once, whether or not it has notes. That the last
// days of 2026 are in its week 53 and 2027 starts with a Friday is in any calendar.
func TestLabels(t *testing.T) {
	days := []string{"2026-11-30", "2027-01-04"}
	for by, want := range map[Period][]string{
		Week:  {"2026-W49", "2026-W50", "2026-W51", "2026-W52", "2026-W53", "2027-W01"},
		Month: {"2026-11", "2026-12", "2027-01"},
	} {
		if diff := cmp.Diff(want, by.labels(days)); diff != "" {
			t.Errorf("by %s: %s", by, diff)
		}
		if got := by.labels(nil); got != nil {
			t.Errorf("by %s: no days have periods %v", by, got)
		}
	}
}

// What a home sets is told, and changes the digest; what it leaves is not.
func TestPolicyOf(t *testing.T) {
	usual := PolicyOf(policy.Default())
	if len(usual.Settings) > 0 || len(usual.Digest) != 64 {
		t.Errorf("the usual policy is %+v", usual)
	}
	p := policy.Default()
	p.CopiedWindow = 7 * 24 * time.Hour
	p.Shifts = map[string]string{"day": "07:00", "night": "19:00"}
	p.Rules["aid-unstated"] = finding.Off
	p.Roles["activation worker"] = lexicon.OtherRole
	p.Words = []lexicon.Word{{Term: "two man job", Concept: "move.transfer", Fields: map[string]string{"staff": "2", "method": "pivot"}}}
	got := PolicyOf(p)
	want := []Setting{
		{"windows.copied", "168h0m0s"}, {"shifts.night", "19:00"}, {"rules.aid-unstated", "off"}, {"roles.activation worker", "other"},
		{"words.two man job", "move.transfer method=pivot staff=2"}, {"shifts.evening", "none"},
	}
	if diff := cmp.Diff(want, got.Settings); diff != "" || got.Digest == usual.Digest {
		t.Errorf("settings: %s", diff)
	}
}

func TestInWords(t *testing.T) {
	for in, want := range map[string]string{
		"2026-W46":                           "week of 9 November 2026",
		"2026-W01":                           "week of 29 December 2025",
		"2026-W53":                           "week of 28 December 2026",
		"2027-W01":                           "week of 4 January 2027",
		"2026-11":                            "November 2026",
		"Birch":                              "Birch",
		"Signals: 2026-W46: above the limit": "Signals: week of 9 November 2026: above the limit",
		"":                                   "",
	} {
		if got := InWords(in); got != want {
			t.Errorf("%q: got %q, want %q", in, got, want)
		}
	}
	// Each week's name is the Monday from which the days of that label run.
	for day := time.Date(2024, 12, 20, 0, 0, 0, 0, time.UTC); day.Year() < 2028; day = day.AddDate(0, 0, 1) {
		monday := day.AddDate(0, 0, -(int(day.Weekday())+6)%7)
		if got, want := InWords(Week.of(day.Format(time.DateOnly))), "week of "+monday.Format("2 January 2006"); got != want {
			t.Fatalf("%s: got %q, want %q", day.Format(time.DateOnly), got, want)
		}
	}
}
