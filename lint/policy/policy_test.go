package policy_test

import (
	"errors"
	"strings"
	"testing"
	"testing/iotest"
	"time"

	"github.com/google/go-cmp/cmp"

	"example.com/stance/lexicon"
	"example.com/stance/lint/chart"
	"example.com/stance/lint/finding"
	"example.com/stance/lint/policy"
	"example.com/stance/lint/shift"
)

func known() policy.Known {
	return policy.Known{
		Rules:    []string{"load-over-limit", "aid-unstated", "aid-unspecific", "vague-help"},
		Concepts: []string{"aid.total-lift", "aid.walker-4w", "move.transfer"},
	}
}

func read(in string) (*policy.Policy, error) {
	return policy.Read("stance.yaml", strings.NewReader(in), known())
}

// equal compares policies; a zone is equal by name.
func equal(t *testing.T, got, want *policy.Policy) {
	t.Helper()
	zone := cmp.Comparer(func(a, b *time.Location) bool { return a.String() == b.String() })
	if diff := cmp.Diff(want, got, zone); diff != "" {
		t.Errorf("policy: -want +got:\n%s", diff)
	}
}

func TestRead(t *testing.T) {
	got, err := read(`# our home
zone: America/Toronto
shifts: {day: "06:30", night: 18:30}
lift_helpers: 1
windows:
  change: 36h
  copied: 7d
copied_share: .8
pressure: {systolic: 15, diastolic: 7.5}
caps:
  toe-touch: 0
  partial: 0.3
rules:
  aid-unstated: off
  load-over-limit: warning
words:
  two man job: &job {concept: move.transfer, staff: 2}
  big blue: aid.total-lift
  two man task: *job
roles:
  RA: care worker
  Rehab Nurse: therapist
codes:
  urn:oid:1.2|NWB-L: {left_leg: nwb, walk: no}
  http://loinc.org|helpers: {staff: "*"}
drafts: off
`)
	if err != nil {
		t.Fatal(err)
	}
	toronto, err := time.LoadLocation("America/Toronto")
	if err != nil {
		t.Fatal(err)
	}
	equal(t, got, &policy.Policy{
		Zone: toronto, Shifts: map[string]string{"day": "06:30", "night": "18:30"}, LiftHelpers: 1,
		ChangeWindow: 36 * time.Hour, CopiedWindow: 7 * 24 * time.Hour, CopiedShare: 0.8,
		SystolicDrop: 15, DiastolicDrop: 7.5, ToeTouchCap: 0, PartialCap: 0.3,
		Rules: map[string]finding.Severity{"aid-unstated": finding.Off, "load-over-limit": finding.Warning},
		Words: []lexicon.Word{
			{Term: "two man job", Concept: "move.transfer", Fields: map[string]string{"staff": "2"}},
			{Term: "big blue", Concept: "aid.total-lift"},
			{Term: "two man task", Concept: "move.transfer", Fields: map[string]string{"staff": "2"}},
		},
		Roles: map[string]lexicon.Role{"RA": lexicon.CareWorker, "Rehab Nurse": lexicon.Therapist},
		Codes: chart.Codes{
			"urn:oid:1.2|NWB-L":        {"left_leg": "nwb", "walk": "no"},
			"http://loinc.org|helpers": {"staff": chart.OwnValue},
		},
		Drafts: policy.DraftsOff,
	})
}

func TestDefault(t *testing.T) {
	p := policy.Default()
	equal(t, p, &policy.Policy{
		Zone: time.Local, Shifts: map[string]string{"day": "07:00", "evening": "15:00", "night": "23:00"}, LiftHelpers: 2,
		ChangeWindow: 24 * time.Hour, CopiedWindow: 336 * time.Hour, CopiedShare: 0.9,
		SystolicDrop: 20, DiastolicDrop: 10, ToeTouchCap: 0.2, PartialCap: 0.5,
		Rules: map[string]finding.Severity{}, Roles: map[string]lexicon.Role{},
		Drafts: policy.DraftsShift,
	})
	if _, err := shift.NewCalendar(p.Shifts, p.Zone); err != nil {
		t.Errorf("its shifts: %v", err)
	}
	for _, in := range []string{"", "\n# nothing set\n", "---\n", "{}", "shifts:\nwindows:\nrules: {}\n"} {
		got, err := read(in)
		if in == "shifts:\nwindows:\nrules: {}\n" {
			if want := "stance.yaml:1: shifts: want at least one name and start"; err == nil || err.Error() != want {
				t.Errorf("Read(%q): error %v, want %s", in, err, want)
			}
			continue
		}
		if err != nil {
			t.Errorf("Read(%q): %v", in, err)
			continue
		}
		equal(t, got, p)
	}
}

func TestReadErrors(t *testing.T) {
	const share, load = "want a number above 0 and up to 1, such as 0.9", "want a share of body weight from 0 to 1, such as 0.5"
	tests := []struct{ in, want string }{
		{"zone: UTC\nwindow: {}\n", `stance.yaml:2: policy: key "window" is unknown: nearest is "windows"`},
		{"colour: red\n", `stance.yaml:1: policy: key "colour" is unknown: want one of zone, shifts, lift_helpers, lift_helpers_from, settings, windows, copied_share, pressure, caps, rules, words, roles, codes, drafts`},
		{"zone: UTC\nzone: UTC\n", `stance.yaml:2: policy: key "zone" stands on line 1 too: want it once`},
		{"- zone\n", "stance.yaml:1: policy: want keys with values, one a line"},
		{"? [a]\n: b\n", "stance.yaml:1: policy: want a word as the key"},
		{"zone: Toronto\n", `stance.yaml:1: zone "Toronto" is unknown: want a name of the time zone database, such as America/Toronto or UTC`},
		{"zone:\n", `stance.yaml:1: zone "" is unknown: want a name of the time zone database, such as America/Toronto or UTC`},
		{"shifts:\n  day: 7\n", `stance.yaml:2: shift "day": start "7": want HH:MM from 00:00 to 23:59`},
		{"shifts:\n  day: 07:00\n  early: 07:00\n", `stance.yaml:2: shifts "day" and "early" start at one time: want a start of its own for each`},
		{"lift_helpers: 0\n", "stance.yaml:1: lift_helpers: want a whole number from 1 to 9"},
		{"lift_helpers: two\n", "stance.yaml:1: lift_helpers: want a whole number from 1 to 9"},
		{"lift_helpers: [2]\n", "stance.yaml:1: lift_helpers: want a whole number from 1 to 9"},
		{"windows:\n  change: 24\n", "stance.yaml:2: windows: change: want a time such as 24h or 14d"},
		{"windows:\n  copied: 0d\n", "stance.yaml:2: windows: copied: want a time such as 24h or 14d"},
		{"windows:\n  copied: 9999999d\n", "stance.yaml:2: windows: copied: want a time such as 24h or 14d"},
		{"windows:\n  copeid: 1d\n", `stance.yaml:2: windows: key "copeid" is unknown: nearest is "copied"`},
		{"copied_share: 90\n", "stance.yaml:1: copied_share: " + share},
		{"copied_share: 0\n", "stance.yaml:1: copied_share: " + share},
		{"copied_share: NaN\n", "stance.yaml:1: copied_share: " + share},
		{"pressure:\n  systolic: -20\n", "stance.yaml:2: pressure: systolic: want mmHg above 0 and up to 100"},
		{"pressure:\n  diastolic: lots\n", "stance.yaml:2: pressure: diastolic: want mmHg above 0 and up to 100"},
		{"caps:\n  partial: 50%\n", "stance.yaml:2: caps: partial: " + load},
		{"caps:\n  toe-touch: 1.2\n", "stance.yaml:2: caps: toe-touch: " + load},
		{"rules:\n  aid-unstatd: off\n", `stance.yaml:2: rule "aid-unstatd" is unknown: nearest is "aid-unstated"`},
		{"rules:\n  grammar: off\n", `stance.yaml:2: rule "grammar" is unknown: want one of load-over-limit, aid-unstated, aid-unspecific, vague-help`},
		{"rules:\n  vague-help: info\n", `stance.yaml:2: rule vague-help: severity "info" is unknown: want off, hint, warning or error`},
		{"words:\n  big blue: aid.total-lfit\n", `stance.yaml:2: word "big blue": concept "aid.total-lfit" is unknown: nearest is "aid.total-lift"`},
		{"words:\n  big blue: hoist\n", `stance.yaml:2: word "big blue": concept "hoist" is unknown: want one of aid.total-lift, aid.walker-4w, move.transfer`},
		{"words:\n  big blue:\n    staff: 2\n", `stance.yaml:3: word "big blue": want a concept id, such as aid.total-lift`},
		{"words:\n  big blue: [aid.total-lift]\n", `stance.yaml:2: word "big blue": want a concept id, such as aid.total-lift`},
		{"words:\n  job:\n    concept: move.transfer\n    staf: 2\n", `stance.yaml:4: word "job": key "staf" is unknown: nearest is "staff"`},
		{"words:\n  job:\n    concept: move.transfer\n    staff: [2]\n", `stance.yaml:4: word "job": staff: want one of 0, 1, 2, 3, 4, 5, 6, 7, 8, 9`},
		{"words:\n  job:\n    concept: move.transfer\n    side: port\n", `stance.yaml:4: word "job": side: want one of left, right, both`},
		{"roles:\n  RA: carer worker\n", `stance.yaml:2: title "RA": role "carer worker" is unknown: nearest is "care worker"`},
		{"roles:\n  RA: boss\n", `stance.yaml:2: title "RA": role "boss" is unknown: want one of care worker, nurse, therapist, doctor, other`},
		{"codes:\n  NWB: {left_leg: nwb}\n", `stance.yaml:2: code "NWB": want a system, a bar and a code, as in http://snomed.info/sct|62013009`},
		{"codes:\n  urn:x|a:\n", `stance.yaml:2: code "urn:x|a": want what it says in a chart, as in {left_leg: nwb}`},
		{"codes:\n  urn:x|a: {left_leg: nbw}\n", `stance.yaml:2: code "urn:x|a": left_leg "nbw": want one of nwb, ttwb, pwb, pwb:50, wbat, fwb, an empty cell (nearest is "nwb")`},
		{"codes:\n  urn:x|a: {left_lg: nwb}\n", `stance.yaml:2: code "urn:x|a": column "left_lg": want one of left_leg, right_leg, left_arm, right_arm, transfer, staff, aids, walk (nearest is "left_leg")`},
		{"drafts: week\n", "stance.yaml:1: drafts: want off or shift"},
		{"drafts: [off]\n", "stance.yaml:1: drafts: want off or shift"},
		{"zone: UTC\n---\nzone: UTC\n", "stance.yaml:2: want one YAML document"},
		{"zone: *home\n", "stance.yaml:1: want YAML: unknown anchor 'home' referenced"},
		{"# " + strings.Repeat("x", 1<<20), "stance.yaml: reading policy: is too long, want at most 1 MiB"},
		{"lift_helpers: 0\nzone: UTC\ncopied_share: 2\n", "stance.yaml:1: lift_helpers: want a whole number from 1 to 9\nstance.yaml:3: copied_share: " + share},
	}
	for _, tt := range tests {
		p, err := read(tt.in)
		if err == nil || err.Error() != tt.want || p != nil {
			t.Errorf("Read(%.80q):\n got %v\nwant %s", tt.in, err, tt.want)
		}
	}
}

func TestReadManyKnown(t *testing.T) {
	k := policy.Known{Rules: strings.Split("a-1 a-2 a-3 a-4 a-5 a-6 a-7 a-8 a-9 a-10 a-11 a-12 a-13 a-14 a-15 a-16 a-17", " ")}
	_, err := policy.Read("p", strings.NewReader("rules: {grammar: off}"), k)
	if want := `p:1: rule "grammar" is unknown: want one of a-1, a-2, a-3, a-4, a-5, a-6, a-7, a-8, a-9, a-10, a-11, a-12, a-13, a-14, a-15, a-16, …`; err == nil || err.Error() != want {
		t.Errorf("got %v\nwant %s", err, want)
	}
}

func TestReadBroken(t *testing.T) {
	broken := errors.New("disk is gone")
	if _, err := policy.Read("p", iotest.ErrReader(broken), known()); !errors.Is(err, broken) || err.Error() != "p: reading policy: disk is gone" {
		t.Errorf("error %v", err)
	}
}

// FuzzReadPolicy holds that any input gives a policy that its users can rely on, or errors that
// start with the file.
func FuzzReadPolicy(f *testing.F) {
	f.Add("zone: UTC\nshifts: {day: \"07:00\"}\nwindows: {change: 24h}\ncaps: {partial: 0.5}\nrules: {vague-help: off}\n")
	f.Add("words: {big blue: aid.total-lift, job: {concept: move.transfer, staff: 2}}\nroles: {RA: nurse}\npressure: {systolic: 20}\n")
	f.Add("a: &a [*a]\n")
	f.Fuzz(func(t *testing.T, in string) {
		p, err := read(in)
		if err != nil {
			for line := range strings.SplitSeq(err.Error(), "\n") {
				if !strings.HasPrefix(line, "stance.yaml:") {
					t.Fatalf("error %q", err)
				}
			}
			return
		}
		if _, err := shift.NewCalendar(p.Shifts, p.Zone); err != nil {
			t.Fatal(err)
		}
		share := p.CopiedShare > 0 && p.CopiedShare <= 1 && p.PartialCap >= 0 && p.PartialCap <= 1 && p.ToeTouchCap >= 0 && p.ToeTouchCap <= 1
		if p.Zone == nil || p.LiftHelpers < 1 || p.ChangeWindow <= 0 || p.CopiedWindow <= 0 || p.SystolicDrop <= 0 || p.DiastolicDrop <= 0 || !share {
			t.Fatalf("policy %+v", p)
		}
	})
}
