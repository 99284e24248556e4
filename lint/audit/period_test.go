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
