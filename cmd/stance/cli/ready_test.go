package cli

import (
	"context"
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"
	"regexp"
	"runtime"
	"slices"
	"strings"
	"testing"

	"example.com/stance/lexicon"
	"example.com/stance/lint/ready"
)

// A readyReport is the JSON of stance ready.
type readyReport struct {
	Ready    bool            `json:"ready"`
	LookedAt []string        `json:"looked_at"`
	Problems []ready.Problem `json:"problems"`
}

// wrongs are the ids of what is to be put right in a home's folder.
func wrongs(t *testing.T, a *app, dir string, more ...string) []string {
	t.Helper()
	status := a.main(context.Background(), append([]string{"ready", dir, "--format", "json"}, more...))
	var r readyReport
	if err := json.Unmarshal([]byte(fmt.Sprint(a.out)), &r); err != nil {
		t.Fatalf("status %d: %v; %s", status, err, a.err)
	}
	ids := []string{}
	for _, p := range r.Problems {
		if p.What == "" || p.Do == "" {
			t.Errorf("%+v: want what is wrong and what to do", p)
		}
		if p.Wrong {
			ids = append(ids, p.ID)
		}
	}
	if want := map[bool]int{true: statusClean, false: statusFindings}[r.Ready]; status != want || r.Ready != (len(ids) == 0) {
		t.Errorf("ready %v with %v: status %d, want %d", r.Ready, ids, status, want)
	}
	return ids
}

// A home's folder, to plant faults in.
type planted struct {
	t   *testing.T
	dir string
}

func (p planted) file(name string) string { return filepath.Join(p.dir, name) }

// change changes a file, which must not stay as it was.
func (p planted) change(name string, how func(string) string) {
	p.t.Helper()
	b, err := os.ReadFile(p.file(name))
	if err != nil {
		p.t.Fatal(err)
	}
	now := how(string(b))
	if now == string(b) {
		p.t.Fatalf("%s is as it was", name)
	}
	if err := os.WriteFile(p.file(name), []byte(now), 0o600); err != nil {
		p.t.Fatal(err)
	}
}

func (p planted) replace(name, old, by string) {
	p.t.Helper()
	p.change(name, func(s string) string { return strings.ReplaceAll(s, old, by) })
}

func (p planted) keep() {
	p.t.Helper()
	run(p.t, []int{statusClean}, "keep", "--quiet", "--index", p.file("stance-index"), "--chart", p.file("chart.csv"), p.file("notes.jsonl"))
}

const oneMore = `{"note":"N9999","resident":"R-101","unit":"Harbour","time":"%s","role":"%s","text":"Slept well."}` + "\n"

// The demo home is ready. Each fault planted in it is found, and nothing but it.
func TestReady(t *testing.T) {
	lines := func(keep func(string) bool) func(string) string {
		return func(s string) string {
			return strings.Join(slices.DeleteFunc(strings.SplitAfter(s, "\n"), func(l string) bool { return l != "" && !keep(l) }), "")
		}
	}
	tests := []struct {
		name  string
		plant func(planted)
		want  []string
	}{
		{"nothing", func(planted) {}, []string{}},
		{"kept", planted.keep, []string{}},
		{"a policy that cannot be read", func(p planted) { p.replace("stance.yaml", "lift_helpers: 2", "lift_helper: 2") }, []string{"policy-unreadable"}},
		{"no zone", func(p planted) {
			p.replace("stance.yaml", "zone: America/Toronto", "")
			p.replace("notes.jsonl", `:00-05:00"`, `:00"`)
		}, []string{"zone-unset"}},
		{"another zone", func(p planted) { p.replace("stance.yaml", "America/Toronto", "America/Bogota") }, []string{}}, // it has the same offset in November
		{"another zone, and other hours", func(p planted) { p.replace("stance.yaml", "America/Toronto", "Asia/Tokyo") }, []string{"zone-differs", "shift-hours"}},
		{"hours of shifts", func(p planted) {
			p.change("stance.yaml", func(s string) string {
				return strings.NewReplacer(`"07:00"`, `"15:00"`, `"15:00"`, `"23:00"`, `"23:00"`, `"07:00"`).Replace(s)
			})
		}, []string{"shift-hours"}},
		{"a shift that is missing", func(p planted) { p.replace("stance.yaml", `  night: "23:00"`, "") }, []string{"shift-long", "shift-unknown"}},
		{"a day without notes", func(p planted) {
			p.change("notes.jsonl", lines(func(l string) bool {
				return !strings.Contains(l, `"time": "2026-11-14T`) && !strings.Contains(l, `"time": "2026-11-15T0`)
			}))
		}, []string{"gaps"}},
		{"a note still to come", func(p planted) {
			p.change("notes.jsonl", func(s string) string { return s + fmt.Sprintf(oneMore, "2027-11-24T08:00:00-05:00", "nurse") })
		}, []string{"notes-in-future"}},
		{"no time of day", func(p planted) {
			p.change("notes.jsonl", func(s string) string {
				return regexp.MustCompile(`T\d\d:\d\d:\d\d-05:00", "shift": "[a-z]+"`).ReplaceAllString(s, `T00:00:00-05:00"`)
			})
		}, []string{"no-time-of-day"}},
		{"a resident without a chart", func(p planted) {
			p.change("chart.csv", lines(func(l string) bool { return !strings.HasPrefix(l, "R-101,") }))
		}, []string{"resident-uncharted"}},
		{"a row that is never used", func(p planted) {
			p.change("chart.csv", func(s string) string {
				return s + "R-999,Mill,2026-11-05T10:00:00-05:00,,,,,,independent,,,independent,therapist\n"
			})
		}, []string{"chart-unused"}},
		{"a row that has lapsed", func(p planted) {
			p.replace("chart.csv", "R-101,Harbour,2026-11-05T10:00:00-05:00,,", "R-101,Harbour,2026-11-05T10:00:00-05:00,2026-11-12T10:00:00-05:00,")
		}, []string{"chart-gap"}},
		{"a value that is not known", func(p planted) {
			p.replace("chart.csv", ",ttwb,fwb,,,one-person-pivot,1,", ",heavy,fwb,,,one-person-pivot,1,")
		}, []string{"chart-rows"}},
		{"a chart without a column", func(p planted) { p.replace("chart.csv", "transfer", "trasfer") }, []string{"chart-unreadable"}},
		{"a column that is not known", func(p planted) { p.replace("notes.jsonl", `"unit":`, `"units":`) }, []string{"column-unknown"}},
		{"a role that is not known", func(p planted) {
			p.change("notes.jsonl", func(s string) string { return s + fmt.Sprintf(oneMore, "2026-11-23T08:00:00-05:00", "quorvel lead") })
		}, []string{"role-unknown"}},
		{"a unit spelt in two ways", func(p planted) {
			p.change("notes.jsonl", func(s string) string { return strings.Replace(s, `"Harbour"`, `"harbour "`, 1) })
		}, []string{"units-spelt-differently"}},
		{"a resident spelt in two ways", func(p planted) {
			p.change("notes.jsonl", func(s string) string { return strings.Replace(s, `"R-101"`, `"R101"`, 1) })
		},
			[]string{"residents-spelt-differently", "resident-uncharted"}},
		{"a unit of the policy that is not there", func(p planted) { p.replace("stance.yaml", "lift_helpers: 2", "settings: {Orchid: home-care}") }, []string{"unit-unknown"}},
		{"a record that cannot be read", func(p planted) { p.change("notes.jsonl", func(s string) string { return s + "{\n" }) }, []string{"notes-bad-records"}},
		{"notes twice", func(p planted) {
			p.change("notes.jsonl", func(s string) string { return s + strings.SplitAfter(s, "\n")[0] })
		}, []string{"notes-twice"}},
		{"no notes", func(p planted) { p.change("notes.jsonl", func(string) string { return "" }) }, []string{"no-notes"}},
		{"notes that are none", func(p planted) { p.change("notes.jsonl", func(string) string { return "[]" }) }, []string{"notes-unreadable", "no-notes"}},
		{"an index older than the notes", func(p planted) {
			p.keep()
			p.change("notes.jsonl", func(s string) string { return s + fmt.Sprintf(oneMore, "2026-11-23T08:00:00-05:00", "nurse") })
		}, []string{"index-behind"}},
		{"a policy changed since", func(p planted) { p.keep(); p.replace("stance.yaml", "lift_helpers: 2", "lift_helpers: 1") }, []string{"index-policy"}},
		{"a chart changed since", func(p planted) { p.keep(); p.replace("chart.csv", "two-person-pivot,2,", "two-person-pivot,3,") }, []string{"index-chart"}},
		{"an index that is damaged", func(p planted) {
			p.keep()
			p.change("stance-index/notes.log", func(s string) string { return s[:len(s)/2] + "\x00\xff" + s[len(s)/2+2:] })
		}, []string{"index-unreadable"}},
		{"files that others may change", func(p planted) { p.chmod("notes.jsonl", 0o666) }, []string{"files-open"}},
		{"an index that others may read", func(p planted) { p.keep(); p.chmod("stance-index/notes.log", 0o644) }, []string{"files-private"}},
		{"answers that others may read", func(p planted) {
			if err := os.WriteFile(p.file("answers.jsonl"), nil, 0o644); err != nil {
				p.t.Fatal(err)
			}
		}, []string{"files-private"}},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			if runtime.GOOS == "windows" && strings.HasPrefix(strings.Join(tt.want, ""), "files-") {
				t.Skip("Windows has no such bits")
			}
			dir, _, _ := demoHome(t)
			tt.plant(planted{t, dir})
			a, _, _ := testApp("")
			if got := wrongs(t, a, dir); !slices.Equal(got, tt.want) {
				t.Errorf("found %v, want %v", got, tt.want)
			}
		})
	}
}

func (p planted) chmod(name string, mode os.FileMode) {
	p.t.Helper()
	if err := os.Chmod(p.file(name), mode); err != nil {
		p.t.Fatal(err)
	}
}

// A vocabulary that has changed since, as another version of stance brings one, is told too.
func TestReadyAfterNewWords(t *testing.T) {
	dir, _, _ := demoHome(t)
	planted{t, dir}.keep()
	a, _, _ := testApp("")
	a.compile = func(words ...lexicon.Word) (*lexicon.Lexicon, error) {
		return lexicon.New(append(words, lexicon.Word{Term: "quorvel", Concept: "aid.cane"})...)
	}
	if got, want := wrongs(t, a, dir), []string{"index-vocabulary"}; !slices.Equal(got, want) {
		t.Errorf("found %v, want %v", got, want)
	}
}
