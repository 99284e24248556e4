package audit_test

import (
	"bytes"
	"encoding/csv"
	"encoding/json"
	"fmt"
	"io"
	"math/rand/v2"
	"os"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"example.com/stance/lint"
	"example.com/stance/lint/audit"
	"example.com/stance/lint/policy"
	"example.com/stance/lint/rules"
)

// A home is the demo home, judged.
type home struct {
	rules  []rules.Rule
	judged []lint.Judged
	opt    audit.Options
}

func demo(t testing.TB) home {
	t.Helper()
	file := func(name string) string {
		b, err := os.ReadFile("../../testdata/demo/" + name)
		if err != nil {
			t.Fatal(err)
		}
		return string(b)
	}
	return judge(t, english(t), "notes.jsonl", file("notes.jsonl"), file("chart.csv"), policy.Default())
}

func (h home) tally(judged []lint.Judged, opt audit.Options) *audit.Tally {
	t := audit.New(h.rules, opt)
	for _, j := range judged {
		t.Add(j.Timeline, j.Counts)
	}
	return t
}

func partial(t testing.TB, tally *audit.Tally) string {
	t.Helper()
	b, err := tally.Partial()
	if err != nil {
		t.Fatal(err)
	}
	return string(b)
}

// Any split of the residents, merged in any order and by way of their written form, gives the bytes of
// one run.
func TestMergeResidents(t *testing.T) {
	h := demo(t)
	want := partial(t, h.tally(h.judged, h.opt))
	r := rand.New(rand.NewPCG(1, 2))
	for range 12 {
		parts := make([][]lint.Judged, 1+r.IntN(6))
		for _, i := range r.Perm(len(h.judged)) {
			at := r.IntN(len(parts))
			parts[at] = append(parts[at], h.judged[i])
		}
		sum := audit.New(h.rules, h.opt)
		for _, p := range parts {
			read, err := audit.ReadPartial("p", strings.NewReader(partial(t, h.tally(p, h.opt))))
			if err != nil {
				t.Fatal(err)
			}
			if err := sum.Merge(read); err != nil {
				t.Fatal(err)
			}
		}
		if got := partial(t, sum); got != want {
			t.Fatalf("merged %d parts differ from one run: %s", len(parts), cmp.Diff(want, got))
		}
	}
}

// So does a split by what each part keeps, of every dimension.
func TestMergeKept(t *testing.T) {
	h := demo(t)
	want := partial(t, h.tally(h.judged, h.opt))
	for name, key := range map[string]func(string, rules.Place) int{
		"unit":     func(_ string, p rules.Place) int { return len(p.Unit) },
		"week":     func(_ string, p rules.Place) int { return p.Shift.Day / 7 },
		"shift":    func(_ string, p rules.Place) int { return p.Shift.Slot },
		"resident": func(resident string, _ rules.Place) int { return int(resident[len(resident)-1]) },
	} {
		t.Run(name, func(t *testing.T) {
			sum := audit.New(h.rules, h.opt)
			for i := range 3 {
				opt := h.opt
				opt.Keep = func(resident string, p rules.Place) bool { return key(resident, p)%3 == i }
				if err := sum.Merge(h.tally(h.judged, opt)); err != nil {
					t.Fatal(err)
				}
			}
			if got := partial(t, sum); got != want {
				t.Errorf("merged parts differ from one run: %s", cmp.Diff(want, got))
			}
		})
	}
}

func TestMergeRefused(t *testing.T) {
	h := demo(t)
	for _, tt := range []struct {
		name   string
		change func(*home)
		want   string
	}{
		{"version", func(o *home) { o.opt.Version = "v2" }, "counted by stance v2, want v1"},
		{"policy", func(o *home) {
			p := policy.Default()
			p.Zone, p.LiftHelpers = time.UTC, 1
			o.opt.Policy = audit.PolicyOf(p)
		}, "under another policy (" + "%"},
		{"chart", func(o *home) { o.opt.Charted = false }, "without a chart, want with a chart"},
		{"hidden", func(o *home) { o.opt.Names = audit.Names{Hidden: true, Key: "k"} }, "hidden in one and shown in another"},
		{"rules", func(o *home) { o.rules = o.rules[1:] }, "by other rules"},
	} {
		t.Run(tt.name, func(t *testing.T) {
			o := h
			tt.change(&o)
			err := h.tally(nil, h.opt).Merge(o.tally(nil, o.opt))
			if want, _, _ := strings.Cut(tt.want, "%"); err == nil || !strings.Contains(err.Error(), want) {
				t.Errorf("Merge = %v, want %q in it", err, want)
			}
			if tt.name == "policy" && !strings.HasSuffix(err.Error(), ": lift_helpers") {
				t.Errorf("Merge = %v, want the setting that differs", err)
			}
		})
	}
}

func TestReadPartial(t *testing.T) {
	h := demo(t)
	whole := partial(t, h.tally(h.judged, h.opt))
	for _, tt := range []struct{ name, in, want string }{
		{"empty", "", "p.json: is no whole partial audit"},
		{"other", `{"findings":[]}`, "p.json: is no partial audit"},
		{"notes", "R-1 up with walker", "p.json: is no whole partial audit"},
		{"cut", whole[:len(whole)/2], "p.json: is no whole partial audit"},
		{"two", whole + whole, "p.json: more follows"},
		{"hollow", `{"format":"stance audit partial","format_version":3}`, "p.json: is no whole partial audit"},
		{"day", strings.Replace(whole, `"2026-11-10":{"notes"`, `"sometime":{"notes"`, 1), "no date"},
		{"rule", strings.Replace(whole, `"copied-across":[`, `"copied-askew":[`, 1), `does not list: "copied-askew"`},
		{"counts", strings.Replace(whole, `"copied-across":[`, `"copied-across":[9`, 1), "cannot be"},
		{"overlooked", strings.Replace(whole, `"not_understood":`, `"not_understood":-`, 1), "want 0 or more"},
		{"dimension", strings.Replace(whole, `"role":{`, `"rota":{`, 1), `counts by "rota"`},
	} {
		t.Run(tt.name, func(t *testing.T) {
			if tt.in == whole {
				t.Fatal("the change changes nothing")
			}
			_, err := audit.ReadPartial("p.json", strings.NewReader(tt.in))
			if err == nil || !strings.Contains(err.Error(), tt.want) || strings.Contains(err.Error(), "walker") {
				t.Errorf("ReadPartial = %v, want %q", err, tt.want)
			}
		})
	}
}

// Every row of the tables is what a plain recount of the findings and counts gives.
func TestTables(t *testing.T) {
	h := demo(t)
	r := h.tally(h.judged, h.opt).Report(audit.Week, time.Time{})
	group := map[string]string{}
	for _, rule := range h.rules {
		group[rule.ID] = rule.Group
	}
	type key struct{ by, value, scope string }
	got, want := map[key][2]int{}, map[key][2]int{}
	flagged := map[key]map[string]bool{}
	for _, tab := range r.Tables {
		for _, row := range tab.Rows {
			k := key{tab.By, row.Value, row.Scope}
			if row.Opportunities > 0 {
				got[k] = [2]int{row.Opportunities, row.Findings}
			}
			if (row.Rate == nil) != (row.Opportunities == 0) {
				t.Errorf("%v: %d opportunities and rate %v", k, row.Opportunities, row.Rate)
			}
			if row.Flagged > row.Notes || row.Notes > row.All || row.Findings > row.Opportunities {
				t.Errorf("%v: counts that cannot be: %+v", k, row)
			}
		}
	}
	for _, j := range h.judged {
		for _, c := range j.Counts {
			year, week := time.Unix(int64(c.Shift.Day)*86400, 0).UTC().ISOWeek()
			values := map[string]string{"all": "", "unit": c.Unit, "shift": c.Shift.Name, "resident": j.Timeline.Resident,
				"week": fmt.Sprintf("%d-W%02d", year, week)}
			if c.Entry != nil {
				values["role"] = string(c.Entry.Note.Role)
			}
			for by, value := range values {
				for _, scope := range []string{audit.ScopeAll, group[c.Rule], c.Rule} {
					k := key{by, value, scope}
					want[k] = [2]int{want[k][0] + c.Opportunities, want[k][1] + c.Findings}
					if c.Findings > 0 && c.Entry != nil {
						if flagged[k] == nil {
							flagged[k] = map[string]bool{}
						}
						flagged[k][c.Entry.Note.ID] = true
					}
				}
			}
		}
	}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Errorf("opportunities and findings (-recount +report):\n%s", diff)
	}
	for _, tab := range r.Tables {
		for _, row := range tab.Rows {
			if n := len(flagged[key{tab.By, row.Value, row.Scope}]); row.Flagged != n {
				t.Errorf("%s %s %s: %d notes flagged, want %d", tab.By, row.Value, row.Scope, row.Flagged, n)
			}
		}
	}
}

func TestPeriods(t *testing.T) {
	h := demo(t)
	for by, want := range map[audit.Period][]string{
		audit.Week:  {"2026-W46", "2026-W47"},
		audit.Month: {"2026-11"},
	} {
		var got []string
		for _, p := range h.tally(h.judged, h.opt).Report(by, time.Time{}).Charts[0].Chart.Points {
			got = append(got, p.Label)
		}
		if diff := cmp.Diff(want, got); diff != "" {
			t.Errorf("by %s: %s", by, diff)
		}
	}
	empty := h.tally(nil, h.opt).Report(audit.Week, time.Time{})
	if empty.From != "" || len(empty.Charts) != 0 || len(empty.Funnels) != 0 || empty.Tables[0].Rows[0].Rate != nil {
		t.Errorf("a report on nothing: %+v", empty)
	}
	for _, write := range []func(io.Writer, *audit.Report) error{
		audit.JSON, audit.CSV, audit.XLSX, func(w io.Writer, r *audit.Report) error { return audit.Text(w, r, audit.TextOptions{}) },
	} {
		if err := write(io.Discard, empty); err != nil {
			t.Error(err)
		}
	}
}

// The JSON form can be read, and the CSV is one table with a number or nothing where a number belongs.
func TestForms(t *testing.T) {
	h := demo(t)
	r := h.tally(h.judged, h.opt).Report(audit.Week, time.Date(2026, 12, 1, 12, 0, 0, 0, time.UTC))
	var b bytes.Buffer
	if err := audit.JSON(&b, r); err != nil {
		t.Fatal(err)
	}
	var back struct {
		Tables []audit.Table
		Charts []struct{ Points []struct{ Value *float64 } }
	}
	if err := json.Unmarshal(b.Bytes(), &back); err != nil {
		t.Fatal(err)
	}
	if r.NotUnderstood < 2 {
		t.Fatalf("%d sentences not understood: the demo home has some", r.NotUnderstood)
	}
	if diff := cmp.Diff(r.Tables, back.Tables); diff != "" || len(back.Charts) != len(r.Charts) || back.Charts[0].Points[0].Value == nil {
		t.Errorf("JSON read back: %s", diff)
	}
	b.Reset()
	if err := audit.CSV(&b, r); err != nil {
		t.Fatal(err)
	}
	lines, err := csv.NewReader(&b).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	at := func(name string) int { return slices.Index(lines[0], name) }
	events := 0
	for _, l := range lines[1:] {
		if event := l[at("event")]; event != "" {
			events++
			_, err := strconv.Atoi(l[at("told")])
			_, fixed := strconv.Atoi(l[at("fixed")])
			if err != nil || (fixed == nil) != strings.HasPrefix(event, "hazard") || l[at("scope")] != "" || l[at("findings")] != "" || l[at("made")] == "" {
				t.Errorf("a line of events %q", l)
			}
			continue
		}
		if l[at("by")] == "left out" {
			if l[at("value")] != "sentences about moving that were not understood, so that no rule speaks of them" || l[at("all_notes")] != strconv.Itoa(r.NotUnderstood) {
				t.Errorf("a line of what is left out %q", l)
			}
			continue
		}
		for i, name := range lines[0] {
			switch name {
			case "all_notes", "notes", "flagged", "opportunities", "findings":
				if _, err := strconv.Atoi(l[i]); err != nil {
					t.Errorf("%s %q", name, l[i])
				}
			case "rate_per_100":
				if (l[i] == "") != (l[i-2] == "0") {
					t.Errorf("%q opportunities and rate %q", l[i-2], l[i])
				}
			}
		}
	}
	want := 0
	for _, tab := range r.Tables {
		want += len(tab.Events)
	}
	if events != want {
		t.Errorf("%d lines of events, want %d", events, want)
	}
}

// A million notes are a thousand homes of this size: the time to count one must not matter beside the
// time to judge it.
func BenchmarkAdd(b *testing.B) {
	h := demo(b)
	notes := 0
	for _, j := range h.judged {
		notes += len(j.Timeline.Entries)
	}
	for b.Loop() {
		h.tally(h.judged, h.opt)
	}
	b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N)/float64(notes), "ns/note")
}
