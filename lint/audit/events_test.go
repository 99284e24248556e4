package audit_test

import (
	"context"
	"errors"
	"io"
	"maps"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"golang.org/x/tools/txtar"

	"example.com/stance/lexicon"
	"example.com/stance/lint"
	"example.com/stance/lint/audit"
	"example.com/stance/lint/chart"
	"example.com/stance/lint/finding"
	"example.com/stance/lint/note"
	"example.com/stance/lint/policy"
)

const emptyChart = "resident,unit,from,until,left_leg,right_leg,left_arm,right_arm,transfer,staff,aids,walk,by\n"

const eventChart = emptyChart + `R-1,Birch,2026-10-20T09:00:00Z,,,,,,two-person-pivot,2,,no,therapist
R-2,Birch,2026-10-20T09:00:00Z,,,,,,one-person,1,,no,therapist
R-3,Cedar,2026-10-20T09:00:00Z,,,,,,one-person,1,,no,therapist
`

// eventNotes tell of each sort of event, and of what is none: a hazard that is denied, a fall of last week.
const eventNotes = `{"note":"E1","resident":"R-1","unit":"Birch","time":"2026-11-02T10:00:00Z","role":"care worker","text":"Fell reaching for the remote, RN aware."}
{"note":"E2","resident":"R-2","unit":"Birch","time":"2026-11-03T10:00:00Z","role":"care worker","text":"Found on floor, RN aware. Floor wet beside the bed, mopped. Bare feet."}
{"note":"E3","resident":"R-3","unit":"Cedar","time":"2026-11-03T10:00:00Z","role":"care worker","text":"Found on the floor, nurse told. Cannot say how."}
{"note":"E4","resident":"R-3","unit":"Cedar","time":"2026-11-04T10:00:00Z","role":"care worker","text":"Transferred to chair x1. Felt my back go, told the nurse. My back is still sore."}
{"note":"E5","resident":"R-1","unit":"Birch","time":"2026-11-05T10:00:00Z","role":"care worker","text":"Card above the bed says hoist x2. Bulb in the hall not working."}
{"note":"E6","resident":"R-2","unit":"Birch","time":"2026-11-05T10:00:00Z","role":"care worker","text":"No sign above the bed for how to move him. No clutter in the room. Fell last week."}
{"note":"E7","resident":"R-2","unit":"Birch","time":"2026-11-06T10:00:00Z","role":"care worker","text":"Felt dizzy and fell. RN told. Card above the bed says x1."}
`

// otherCauses are falls with the causes that the notes above do not have.
const otherCauses = `{"note":"C1","resident":"R-1","time":"2026-11-02T10:00:00Z","role":"care worker","text":"Stumbled at the door, then fell by the bed. RN aware."}
{"note":"C2","resident":"R-2","time":"2026-11-02T10:00:00Z","role":"care worker","text":"Fell at the sink, RN aware. Wheel of her walker came off."}
{"note":"C3","resident":"R-3","time":"2026-11-02T10:00:00Z","role":"care worker","text":"Fell in front of the wheelchair, brakes were off. RN aware."}
`

// judge judges notes under a policy, each resident by itself.
func judge(t testing.TB, lex *lexicon.Lexicon, name, notes, rows string, p *policy.Policy) home {
	t.Helper()
	p.Zone = time.UTC
	ch, bad, err := chart.Read("chart.csv", strings.NewReader(rows), p.Zone)
	if err != nil || len(bad) > 0 {
		t.Fatal(err, bad)
	}
	c, err := lint.NewChecker(lex, ch, p)
	if err != nil {
		t.Fatal(err)
	}
	in, err := note.NewReader(name, strings.NewReader(notes), note.Options{Zone: p.Zone})
	if err != nil {
		t.Fatal(err)
	}
	for {
		n, err := in.Next()
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			t.Fatal(err)
		}
		c.Add(n)
	}
	h := home{rules: c.Rules(), opt: audit.Options{Version: "v1", Charted: true, Policy: audit.PolicyOf(p)}}
	if _, err := c.Judge(context.Background(), func(j lint.Judged) error {
		h.judged = append(h.judged, j)
		return nil
	}); err != nil {
		t.Fatal(err)
	}
	return h
}

func english(t testing.TB) *lexicon.Lexicon {
	t.Helper()
	lex, err := lexicon.New()
	if err != nil {
		t.Fatal(err)
	}
	return lex
}

// told are the events of one value that are not 0, as "told" or "told/put right".
func told(r *audit.Report, by, value string) map[string]string {
	out := make(map[string]string)
	for _, tab := range r.Tables {
		for _, row := range tab.Events {
			if tab.By != by || row.Value != value || row.Told == 0 {
				continue
			}
			out[row.Event] = strconv.Itoa(row.Told)
			if row.Fixed != nil {
				out[row.Event] += "/" + strconv.Itoa(*row.Fixed)
			}
		}
	}
	return out
}

func TestEvents(t *testing.T) {
	h := judge(t, english(t), "notes.jsonl", eventNotes, eventChart, policy.Default())
	r := h.tally(h.judged, h.opt).Report(audit.Week, time.Time{})
	for _, tt := range []struct {
		by, value string
		want      map[string]string
	}{
		{audit.ByAll, "", map[string]string{
			"fall": "4", "fall.cause-told": "3", "fall.cause-doing": "1", "fall.cause-hazard": "1", "fall.cause-sign": "1", "fall.cause-untold": "1",
			"hazard": "3/1", "hazard.floor": "1/1", "hazard.footwear": "1/0", "hazard.light": "1/0",
			"staff.hurt": "1", "posted.compared": "2", "posted.differs": "1", "posted.missing": "1",
		}},
		{audit.ByUnit, "Cedar", map[string]string{"fall": "1", "fall.cause-untold": "1", "staff.hurt": "1"}},
		{audit.ByResident, "R-1", map[string]string{
			"fall": "1", "fall.cause-told": "1", "fall.cause-doing": "1", "hazard": "1/0", "hazard.light": "1/0", "posted.compared": "1", "posted.differs": "1",
		}},
		{string(audit.Week), "2026-W46", map[string]string{}},
	} {
		if diff := cmp.Diff(tt.want, told(r, tt.by, tt.value)); diff != "" {
			t.Errorf("by %s %q (-want +got):\n%s", tt.by, tt.value, diff)
		}
	}
	var lines []string
	shown, none := r.Told(r.Tables[0], "")
	for _, l := range shown {
		lines = append(lines, strings.Repeat(">", l.Depth)+l.Words)
	}
	for _, want := range []string{"notes that tell of a fall", ">the cause told", ">>what the resident was doing", ">no word of the cause", "hazards", ">too little light"} {
		if !slices.Contains(lines, want) {
			t.Errorf("the lines lack %q: %q", want, lines)
		}
	}
	if slices.Contains(lines, ">things in the way") || len(none) > 0 {
		t.Errorf("a kind that was not told is shown, or something is told nowhere: %q, %q", lines, none)
	}
}

// What rules count in a home that switches them off is not counted, and that is said; the other events are.
func TestEventsOff(t *testing.T) {
	p := policy.Default()
	for _, id := range []string{"sign-differs", "sign-missing", "fall-cause-unstated", "hazard-left", "staff-hurt-not-told"} {
		p.Rules[id] = finding.Off
	}
	h := judge(t, english(t), "notes.jsonl", eventNotes, eventChart, p)
	r := h.tally(h.judged, h.opt).Report(audit.Week, time.Time{})
	got := told(r, audit.ByAll, "")
	if got["fall"] != "4" || got["hazard"] != "3/1" || got["staff.hurt"] != "1" {
		t.Errorf("without the rules, events are %v", got)
	}
	for _, e := range r.Events {
		if strings.HasPrefix(e.ID, "posted.") {
			t.Errorf("the event %s is listed without its rule", e.ID)
		}
	}
	said := 0
	for _, l := range r.LeftOut {
		if l.What == "count of posted signs" && strings.Contains(l.Why, "switches sign-") {
			said++
		}
	}
	if said != 2 {
		t.Errorf("left out %+v, want both counts of signs", r.LeftOut)
	}
}

// A chart with no row in force leaves a sign unheld against it.
func TestEventsUncharted(t *testing.T) {
	h := judge(t, english(t), "notes.jsonl", eventNotes, emptyChart, policy.Default())
	r := h.tally(h.judged, h.opt).Report(audit.Week, time.Time{})
	if _, none := r.Told(r.Tables[0], ""); !slices.Equal(none, []string{"posted signs held against the chart"}) {
		t.Errorf("told nowhere: %q", none)
	}
}

// Events and the rules that look at them go by the same notes: those of the demo homes and of every rule's
// examples.
func TestEventsByRules(t *testing.T) {
	lex, homes := english(t), []home{demo(t)}
	files, err := filepath.Glob("../rules/*.txt")
	if err != nil || len(files) == 0 {
		t.Fatal(err, files)
	}
	for _, f := range files {
		b, err := os.ReadFile(f)
		if err != nil {
			t.Fatal(err)
		}
		for _, part := range txtar.Parse(b).Files {
			if strings.HasSuffix(part.Name, "notes") {
				homes = append(homes, judge(t, lex, "notes.txt", string(part.Data), emptyChart, policy.Default()))
			}
		}
	}
	care, err := os.ReadFile("../../testdata/demo/home-care/notes.jsonl")
	if err != nil {
		t.Fatal(err)
	}
	for _, notes := range []string{string(care), eventNotes, otherCauses} {
		homes = append(homes, judge(t, lex, "notes.jsonl", notes, emptyChart, policy.Default()))
	}
	seen := make(map[string]int)
	for _, h := range homes {
		r := h.tally(h.judged, h.opt).Report(audit.Week, time.Time{})
		got, want := make(map[string]int), make(map[string]int)
		for _, row := range r.Tables[0].Events {
			got[row.Event] = row.Told
			seen[row.Event] += row.Told
		}
		for _, row := range r.Tables[0].Rows {
			switch row.Scope {
			case "fall-cause-unstated":
				want["fall"], want["fall.cause-untold"] = row.Opportunities, row.Findings
			case "hazard-left":
				want["hazard"] = row.Opportunities
			case "staff-hurt-not-told":
				want["staff.hurt"] = row.Opportunities
			}
		}
		for id, n := range want {
			if got[id] != n {
				t.Errorf("%s: %d events, but the rule counts %d", id, got[id], n)
			}
		}
	}
	for _, id := range slices.Sorted(maps.Keys(seen)) {
		if seen[id] == 0 && !strings.HasPrefix(id, "posted.") {
			t.Errorf("no note tells of %s, so that it is not tried", id)
		}
	}
}

// Parts of notes with events merge into what one run gives.
func TestMergeEvents(t *testing.T) {
	h := judge(t, english(t), "notes.jsonl", eventNotes, eventChart, policy.Default())
	want := partial(t, h.tally(h.judged, h.opt))
	sum := audit.New(h.rules, h.opt)
	for i := range h.judged {
		part, err := audit.ReadPartial("p", strings.NewReader(partial(t, h.tally(h.judged[len(h.judged)-1-i:][:1], h.opt))))
		if err != nil {
			t.Fatal(err)
		}
		if err := sum.Merge(part); err != nil {
			t.Fatal(err)
		}
	}
	if got := partial(t, sum); got != want {
		t.Errorf("merged parts differ from one run: %s", cmp.Diff(want, got))
	}
}

// A partial of impossible events, or of another form, is refused by name.
func TestReadPartialEvents(t *testing.T) {
	h := judge(t, english(t), "notes.jsonl", eventNotes, eventChart, policy.Default())
	whole := partial(t, h.tally(h.judged, h.opt))
	for _, tt := range []struct{ name, old, new, want string }{
		{"older", `"format_version":3`, `"format_version":1`, "form 1, which an older stance wrote and which lacks counts of this one, want form 3: count its notes again"},
		{"newer", `"format_version":3`, `"format_version":4`, "form 4, which a newer stance wrote, want form 3"},
		{"unknown", `"hazard.light":[1,0]`, `"hazard.lamp":[1,0]`, `an event that is not known: "hazard.lamp"`},
		{"put right", `"hazard.light":[1,0]`, `"hazard.light":[1,2]`, "hazard.light cannot be: want put right ≤ told"},
		{"no hazard", `"staff.hurt":[1,0]`, `"staff.hurt":[1,1]`, "staff.hurt cannot be"},
		{"part", `"hazard.light":[1,0]`, `"hazard.light":[9,0]`, "hazard.light cannot be: want no more than of hazard"},
		{"falls", `"fall":[4,0]`, `"fall":[5,0]`, "fall cannot be: want each with a cause or without one"},
		{"notes", `"staff.hurt":[1,0]`, `"staff.hurt":[8,0]`, "staff.hurt cannot be: want no more than notes"},
	} {
		t.Run(tt.name, func(t *testing.T) {
			in := strings.Replace(whole, tt.old, tt.new, 1)
			if in == whole {
				t.Fatal("the change changes nothing")
			}
			_, err := audit.ReadPartial("p.json", strings.NewReader(in))
			if err == nil || !strings.HasPrefix(err.Error(), "p.json: ") || !strings.Contains(err.Error(), tt.want) {
				t.Errorf("ReadPartial = %v, want %q", err, tt.want)
			}
		})
	}
}
