package course_test

import (
	"bytes"
	"cmp"
	"encoding/json"
	"errors"
	"flag"
	"fmt"
	"io"
	"math/rand/v2"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	gocmp "github.com/google/go-cmp/cmp"

	"example.com/stance/index/course"
	"example.com/stance/lexicon"
	"example.com/stance/lint/chart"
	"example.com/stance/lint/note"
	"example.com/stance/lint/policy"
	"example.com/stance/lint/report"
	"example.com/stance/lint/shift"
	"example.com/stance/lint/timeline"
)

var update = flag.Bool("update", false, "rewrite the golden files")

// A home is what a course is made from.
type home struct {
	lex    *lexicon.Lexicon
	labels map[string]string
	cal    *shift.Calendar
	zone   *time.Location
	chart  *chart.Chart
	notes  []note.Note
}

// newHome is a home with no notes and no chart.
func newHome(t testing.TB) *home {
	t.Helper()
	h := &home{labels: map[string]string{}}
	var err error
	if h.zone, err = time.LoadLocation("America/Toronto"); err != nil {
		t.Fatal(err)
	}
	if h.lex, err = lexicon.New(); err != nil {
		t.Fatal(err)
	}
	for _, c := range h.lex.Concepts() {
		h.labels[c.ID] = c.Label
	}
	if h.cal, err = shift.NewCalendar(policy.Default().Shifts, h.zone); err != nil {
		t.Fatal(err)
	}
	return h
}

// demo is the demo home.
func demo(t testing.TB) *home {
	t.Helper()
	h := newHome(t)
	dir := filepath.Join("..", "..", "testdata", "demo")
	f, err := os.Open(filepath.Join(dir, "chart.csv"))
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	h.readChart(t, f)
	g, err := os.Open(filepath.Join(dir, "notes.jsonl"))
	if err != nil {
		t.Fatal(err)
	}
	defer g.Close()
	r, err := note.NewReader("notes.jsonl", g, note.Options{Zone: h.zone})
	if err != nil {
		t.Fatal(err)
	}
	for {
		n, err := r.Next()
		if errors.Is(err, io.EOF) {
			return h
		}
		if err != nil {
			t.Fatal(err)
		}
		h.notes = append(h.notes, n)
	}
}

func (h *home) readChart(t testing.TB, r io.Reader) {
	t.Helper()
	c, bad, err := chart.Read("chart.csv", r, h.zone)
	if err := errors.Join(append(bad, err)...); err != nil {
		t.Fatal(err)
	}
	h.chart = c
}

func (h *home) of(resident string) []note.Note {
	return slices.DeleteFunc(slices.Clone(h.notes), func(n note.Note) bool { return n.Resident != resident })
}

func (h *home) course(resident string, notes []note.Note, opt course.Options) *course.Course {
	opt.LiftHelpers, opt.Labels = 2, h.labels
	return course.Build(timeline.New(resident, notes, h.lex, h.chart, h.cal), opt)
}

func (h *home) draw() course.DrawOptions {
	return course.DrawOptions{Zone: h.zone, Calendar: h.cal}
}

func (h *home) residents() []string {
	var all []string
	for _, n := range h.notes {
		if !slices.Contains(all, n.Resident) {
			all = append(all, n.Resident)
		}
	}
	slices.Sort(all)
	return all
}

func TestGolden(t *testing.T) {
	h := demo(t)
	for _, resident := range []string{"R-101", "R-303"} {
		c := h.course(resident, h.of(resident), course.Options{})
		for _, form := range []struct {
			ext   string
			write func(io.Writer) error
		}{
			{"txt", func(w io.Writer) error { return course.Text(w, c, report.TextOptions{Zone: h.zone}) }},
			{"json", func(w io.Writer) error { return indented(w, c) }},
			{"html", func(w io.Writer) error { return course.HTML(w, c, h.draw()) }},
		} {
			name := filepath.Join("testdata", resident+"."+form.ext)
			var got bytes.Buffer
			if err := form.write(&got); err != nil {
				t.Fatal(err)
			}
			if *update {
				if err := os.WriteFile(name, got.Bytes(), 0o644); err != nil {
					t.Fatal(err)
				}
				continue
			}
			want, err := os.ReadFile(name)
			if err != nil {
				t.Fatal(err)
			}
			if diff := gocmp.Diff(string(want), got.String()); diff != "" {
				t.Errorf("%s (-want +got):\n%s", name, diff)
			}
		}
	}
}

// indented is the JSON form on many lines, so that a diff of it can be read.
func indented(w io.Writer, c *course.Course) error {
	var one, many bytes.Buffer
	if err := course.JSON(&one, c); err != nil {
		return err
	}
	if err := json.Indent(&many, one.Bytes(), "", " "); err != nil {
		return err
	}
	_, err := many.WriteTo(w)
	return err
}

// A course read back from its JSON is the same.
func TestJSONRoundTrip(t *testing.T) {
	h := demo(t)
	for _, resident := range h.residents() {
		var first, second bytes.Buffer
		if err := course.JSON(&first, h.course(resident, h.of(resident), course.Options{})); err != nil {
			t.Fatal(err)
		}
		var c course.Course
		dec := json.NewDecoder(bytes.NewReader(first.Bytes()))
		dec.DisallowUnknownFields()
		if err := dec.Decode(&c); err != nil {
			t.Fatal(err)
		}
		if err := course.JSON(&second, &c); err != nil {
			t.Fatal(err)
		}
		if diff := gocmp.Diff(first.String(), second.String()); diff != "" {
			t.Errorf("%s (-first +second):\n%s", resident, diff)
		}
	}
}

// The order in which notes come, and a note that comes twice, do not change the course, not even where
// notes have one time or one id.
func TestOrderDoesNotMatter(t *testing.T) {
	h := demo(t)
	shuffle := rand.New(rand.NewPCG(1, 2))
	for _, resident := range h.residents() {
		notes := h.of(resident)
		for i := range notes {
			if i%3 == 1 {
				notes[i].Time, notes[i].Shift = notes[i-1].Time, notes[i-1].Shift
			}
			if i%7 == 1 {
				notes[i].ID = notes[i-1].ID
			}
		}
		want := h.course(resident, notes, course.Options{})
		for range 5 {
			mixed := append(slices.Clone(notes), notes[shuffle.IntN(len(notes))])
			shuffle.Shuffle(len(mixed), func(i, j int) { mixed[i], mixed[j] = mixed[j], mixed[i] })
			if diff := gocmp.Diff(want, h.course(resident, mixed, course.Options{})); diff != "" {
				t.Fatalf("%s (-in order +mixed):\n%s", resident, diff)
			}
		}
	}
}

// Whatever the notes, points come in time order, runs cover each point once, and marks are numbered
// from 1.
func TestShape(t *testing.T) {
	h := demo(t)
	for _, resident := range h.residents() {
		c := h.course(resident, h.of(resident), course.Options{})
		for _, l := range c.Lanes {
			if !slices.IsSortedFunc(l.Points, func(a, b course.Point) int { return a.Note.Time.Compare(b.Note.Time) }) {
				t.Errorf("%s, %s: points out of order", resident, l.ID)
			}
			in := map[course.NoteRef]bool{}
			for _, p := range l.Points {
				in[p.Note] = true
			}
			notes, shared := 0, 0
			for i, r := range l.Runs {
				notes += r.Notes
				if i > 0 && l.Runs[i-1].Last == r.First {
					shared++
				}
			}
			if notes-shared != len(in) {
				t.Errorf("%s, %s: runs have %d notes (%d in two), points %d", resident, l.ID, notes, shared, len(in))
			}
			for i, b := range l.Bands {
				if i > 0 && (l.Bands[i-1].Until.IsZero() || l.Bands[i-1].Until.After(b.From)) {
					t.Errorf("%s, %s: two bands at %s", resident, l.ID, b.From)
				}
			}
		}
		for i, m := range c.Marks {
			if m.Number != i+1 {
				t.Errorf("%s: mark %d has number %d", resident, i+1, m.Number)
			}
		}
	}
}

// at is a time in the tests' week.
func (h *home) at(day, hour int) time.Time {
	return time.Date(2026, 11, day, hour, 0, 0, 0, h.zone)
}

// told is notes of resident R, one a day at noon from the 9th on.
func (h *home) told(texts ...string) []note.Note {
	var notes []note.Note
	for i, text := range texts {
		role := lexicon.CareWorker
		if rest, ok := strings.CutPrefix(text, "therapist: "); ok {
			text, role = rest, lexicon.Therapist
		}
		notes = append(notes, note.Note{ID: fmt.Sprintf("N%d", i+1), Resident: "R", Time: h.at(9+i, 12), Role: role, Text: text})
	}
	return notes
}

// rows is the chart of resident R, dates as from or from/until:
// "from;left_leg;right_leg;transfer;staff;aids;walk", aids with "+"; an empty transfer or walk is independent.
func (h *home) rows(t *testing.T, rows ...string) {
	t.Helper()
	csv := "resident,from,until,left_leg,right_leg,transfer,staff,aids,walk,unit,left_arm,right_arm,by\n"
	for _, r := range rows {
		cells := strings.Split(r, ";")
		cells[3], cells[6] = cmp.Or(cells[3], "independent"), cmp.Or(cells[6], "independent")
		cells[5] = strings.ReplaceAll(cells[5], "+", ";")
		from, until, ends := strings.Cut(cells[0], "/")
		if from += " 00:00"; ends {
			until += " 00:00"
		}
		csv += strings.Join(append([]string{"R", from, until}, cells[1:]...), ",") + ",,,,\n"
	}
	h.readChart(t, strings.NewReader(csv))
}

// points are the points of all lanes as "lane: words (fit)", in the order of lanes.
func points(c *course.Course) []string {
	out := []string{}
	for _, l := range c.Lanes {
		for _, p := range l.Points {
			out = append(out, fmt.Sprintf("%s: %s (%s)", l.ID, p.Value.Words, p.Fit))
		}
	}
	return out
}

func TestWhatDrawsAPoint(t *testing.T) {
	for _, tt := range []struct {
		name, row, text string
		want            []string
	}{
		{"status", "2026-11-01;nwb;;;;;", "NWB L leg.", []string{"left-leg: no weight (NWB) (as charted)"}},
		{"other status", "2026-11-01;nwb;;;;;", "TTWB L leg.", []string{"left-leg: toe touch only (TTWB) (differs)"}},
		{"as tolerated where not restricted", "2026-11-01;nwb;;;;;", "WBAT R leg.", []string{"right-leg: as much weight as is comfortable (WBAT) (as charted)"}},
		{"partial, how much unsaid", "2026-11-01;pwb:50;;;;;", "PWB L leg.", []string{"left-leg: part of the body weight (PWB) (as charted)"}},
		{"another percentage", "2026-11-01;pwb:50;;;;;", "PWB 30% L leg.", []string{"left-leg: at most 30% of the body weight (PWB) (differs)"}},
		{"side not written", "2026-11-01;nwb;;;;;", "NWB maintained.", []string{"leg: no weight (NWB) (unclear)"}},
		{"side not written, neither", "2026-11-01;;;;;;", "NWB maintained.", []string{"leg: no weight (NWB) (differs)"}},
		{"method and helpers", "2026-11-01;;;two-person-pivot;2;;", "Pivot x2 to chair.", []string{"transfer: pivot (as charted)", "helpers: 2 helpers (as charted)"}},
		{"fewer helpers", "2026-11-01;;;two-person-pivot;;;", "Pivot x1 to chair.", []string{"transfer: pivot (as charted)", "helpers: 1 helper (differs)"}},
		{"way not said", "2026-11-01;;;total-lift;;;", "Transferred x2 to chair.", []string{"transfer: with helpers, way not said (unclear)", "helpers: 2 helpers (as charted)"}},
		{"kind of lift not said", "2026-11-01;;;sit-stand-lift;;;", "Transferred with mechanical lift x2.", []string{"transfer: mechanical lift, kind not said (unclear)", "helpers: 2 helpers (as charted)"}},
		{"other way", "2026-11-01;;;total-lift;;;", "Pivot x2 to chair.", []string{"transfer: pivot (differs)", "helpers: 2 helpers (as charted)"}},
		{"any way by hand", "2026-11-01;;;one-person;;;", "Pivot x1 to chair.", []string{"transfer: pivot (as charted)", "helpers: 1 helper (as charted)"}},
		{"no chart", "", "Pivot x2 to chair.", []string{"transfer: pivot (not charted)", "helpers: 2 helpers (not charted)"}},
		{"no row yet", "2026-12-01;;;two-person-pivot;;;", "Pivot x2 to chair.", []string{"transfer: pivot (not charted)", "helpers: 2 helpers (not charted)"}},
		{"walked", "2026-11-01;;;;;;no", "Walked to dining room.", []string{"walking: walked, aid not said (differs)"}},
		{"walked, aid not said", "2026-11-01;;;;;walker-2w;with-aid", "Walked to dining room.", []string{"walking: walked, aid not said (unclear)"}},
		{"kind of walker not said", "2026-11-01;;;;;walker-2w;with-aid", "Walked with walker.", []string{"walking: walked with an aid (as charted)", "walking-aid: walker or frame, kind unsaid (unclear)"}},
		{"other aid", "2026-11-01;;;;;walker-2w;with-aid", "Walked with cane.", []string{"walking: walked with an aid (as charted)", "walking-aid: cane (differs)"}},
		{"no aid", "2026-11-01;;;;;walker-2w;with-aid", "Walked without aid.", []string{"walking: walked without an aid (differs)", "walking-aid: no aid (differs)"}},
		{"alone", "2026-11-01;;;;;;supervised", "Walked independently with 2WW.", []string{"walking: walked with an aid, alone (differs)", "walking-aid: two-wheeled walker (not charted)"}},
		{"belt", "2026-11-01;;;;;belt;", "Pivot with belt.", []string{"transfer: pivot (differs)", "aid.belt: used (as charted)"}},
		{"denied", "2026-11-01;;;;;;no", "Did not walk.", []string{}},
		{"past", "2026-11-01;nwb;;;;;", "Was NWB L leg until last week.", []string{}},
		{"planned", "2026-11-01;;;;;;no", "PT to walk him tomorrow.", []string{}},
		{"unsure", "2026-11-01;nwb;;;;;", "? NWB L leg.", []string{}},
		{"ordered", "2026-11-01;nwb;;;;;", "therapist: P: Keep NWB L leg.", []string{}},
		{"somebody else", "2026-11-01;;;;;;no", "Wife walked with cane.", []string{}},
	} {
		t.Run(tt.name, func(t *testing.T) {
			h := newHome(t)
			if tt.row != "" {
				h.rows(t, tt.row)
			}
			if diff := gocmp.Diff(tt.want, points(h.course("R", h.told(tt.text), course.Options{}))); diff != "" {
				t.Errorf("%q on %q (-want +got):\n%s", tt.text, tt.row, diff)
			}
		})
	}
}

func TestRuns(t *testing.T) {
	for _, tt := range []struct {
		name  string
		texts []string
		lane  string
		want  []string // words, first to last, notes
	}{
		{"same", []string{"Pivot x2.", "Slept well.", "Pivot x2."}, "transfer", []string{"pivot N1-N3 2"}},
		{"changed", []string{"Pivot x2.", "Transferred with total lift x2.", "Pivot x2."}, "transfer",
			[]string{"pivot N1-N1 1", "full sling lift N2-N2 1", "pivot N3-N3 1"}},
		{"less exact between", []string{"Pivot x2.", "Transferred x2 to chair.", "Pivot x2."}, "transfer", []string{"pivot N1-N3 3"}},
		{"less exact first", []string{"Walked with walker.", "Walked with 2WW."}, "walking-aid", []string{"two-wheeled walker N1-N2 2"}},
		{"less exact, then another", []string{"Walked with 2WW.", "Walked with walker.", "Walked with rollator."}, "walking-aid",
			[]string{"two-wheeled walker N1-N2 2", "four-wheeled walker N3-N3 1"}},
		{"two in one note", []string{"Pivot x2 to chair.", "Total lift x2 to bed. Then pivot x2 to chair.", "Total lift x2 to bed."}, "transfer",
			[]string{"pivot N1-N2 2", "full sling lift N2-N3 2"}},
	} {
		t.Run(tt.name, func(t *testing.T) {
			h := newHome(t)
			c := h.course("R", h.told(tt.texts...), course.Options{})
			got := []string{}
			for _, l := range c.Lanes {
				if l.ID == tt.lane {
					for _, r := range l.Runs {
						got = append(got, fmt.Sprintf("%s %s-%s %d", r.Value.Words, r.First.ID, r.Last.ID, r.Notes))
					}
				}
			}
			if diff := gocmp.Diff(tt.want, got); diff != "" {
				t.Errorf("%q (-want +got):\n%s", tt.texts, diff)
			}
		})
	}
}

// A walk that the chart forbids and one that it has allowed since are no run of walks, and a change of status is of the
// note that orders it, not of the next one that tells of it.
func TestRunsHoldAgainstOneChart(t *testing.T) {
	h := demo(t)
	c := h.course("R-101", h.of("R-101"), course.Options{})
	var runs []string
	for _, l := range c.Lanes {
		if l.ID != "walking" {
			continue
		}
		for _, r := range l.Runs {
			if r.Differs != 0 && r.Differs != r.Notes {
				t.Errorf("a run from %s to %s has %d of %d notes that differ", r.First.ID, r.Last.ID, r.Differs, r.Notes)
			}
			runs = append(runs, r.First.ID+" "+r.Last.ID)
		}
	}
	if diff := gocmp.Diff([]string{"N0107 N0107", "N0349 N0381"}, runs); diff != "" {
		t.Errorf("walks (-want +got):\n%s", diff)
	}
	var status []string
	for _, ch := range c.Changes {
		for _, l := range ch.Lanes {
			if l.Lane == "left-leg" {
				status = append(status, fmt.Sprintf("%s %s %s", ch.After.ID, ch.After.Role, l.To.Key))
			}
		}
	}
	if diff := gocmp.Diff([]string{"N0349 therapist ttwb"}, status); diff != "" {
		t.Errorf("changes of the left leg (-want +got):\n%s", diff)
	}
}

func TestEvents(t *testing.T) {
	for _, tt := range []struct {
		text string
		want []string
	}{
		{"Found on floor by bed. RN assessed before moving. No injury.", []string{"fall: found on the floor, examined before moving"}},
		{"Bruise on hip noted after fall.", []string{"after fall: injury found after a fall"}},
		{"Stumbled, caught by staff.", []string{"near fall: near fall, staff caught a falling resident"}},
		{"Dizzy on standing.", []string{"sign: dizziness"}},
		{"Denies dizziness. No falls this shift.", nil},
		{"Fell last week at home.", nil},
		{"therapist: P: NWB L leg. Reassessed today.", []string{"order: left leg: no weight (NWB)", "review: reassessed"}},
	} {
		h := newHome(t)
		var got []string
		for _, m := range h.course("R", h.told(tt.text), course.Options{}).Marks {
			for _, e := range m.Events {
				got = append(got, string(e.Kind)+": "+e.Words)
			}
		}
		if diff := gocmp.Diff(tt.want, got); diff != "" {
			t.Errorf("%q (-want +got):\n%s", tt.text, diff)
		}
	}
}

func TestAsides(t *testing.T) {
	h := newHome(t)
	c := h.course("R", h.told("Denies dizziness.", "No dizziness. ? unsteady.", "Did not walk."), course.Options{})
	var got []string
	for _, a := range c.Asides {
		got = append(got, fmt.Sprintf("%s %s %s-%s %d", a.Why, a.Concept, a.First.ID, a.Last.ID, a.Notes))
	}
	want := []string{"said not move.walk N3-N3 1", "said not sign.dizzy N1-N2 2", "unsure sign.unsteady N2-N2 1"}
	if diff := gocmp.Diff(want, got); diff != "" {
		t.Errorf("(-want +got):\n%s", diff)
	}
}

// charted is what the chart's changes say.
func charted(c *course.Course) []string {
	var out []string
	for _, ch := range c.ChartChanges {
		for _, l := range ch.Lanes {
			out = append(out, fmt.Sprintf("%s %s: %q to %q", ch.At.Format("2 Jan"), l.Lane, l.From.Key, l.To.Key))
		}
	}
	return out
}

func TestChartChanges(t *testing.T) {
	h := newHome(t)
	h.rows(t, "2026-11-08/2026-11-10;nwb;;two-person;;;", "2026-11-12;nwb;;one-person;;;", "2026-11-13;nwb;;one-person;;;")
	c := h.course("R", h.told("Slept.", "Slept.", "Slept.", "Slept.", "Slept."), course.Options{})
	want := []string{
		`10 Nov left-leg: "nwb" to ""`, `10 Nov transfer: "helped" to ""`, `10 Nov helpers: "2" to ""`, `10 Nov walking: "independent" to ""`,
		`12 Nov left-leg: "" to "nwb"`, `12 Nov transfer: "" to "helped"`, `12 Nov helpers: "" to "1"`, `12 Nov walking: "" to "independent"`,
	}
	if diff := gocmp.Diff(want, charted(c)); diff != "" {
		t.Errorf("(-want +got):\n%s", diff)
	}
	for _, l := range c.Lanes {
		if l.ID == "left-leg" && (len(l.Bands) != 2 || !l.Bands[1].Until.IsZero()) {
			t.Errorf("left leg: bands %v, want one up to the 10th and one from the 12th on, its two rows joined", l.Bands)
		}
	}
}

// What was charted later does not count for what was known before.
func TestAsOf(t *testing.T) {
	h := newHome(t)
	h.rows(t, "2026-11-01;nwb;;;;;", "2026-11-10;ttwb;;;;;")
	notes := h.told("NWB L leg.", "NWB L leg.") // 9th and 10th
	now := h.course("R", notes, course.Options{})
	if diff := gocmp.Diff([]string{"left-leg: no weight (NWB) (as charted)", "left-leg: no weight (NWB) (differs)"}, points(now)); diff != "" {
		t.Errorf("now (-want +got):\n%s", diff)
	}
	then := h.course("R", notes, course.Options{AsOf: h.at(9, 23)})
	if diff := gocmp.Diff([]string{"left-leg: no weight (NWB) (as charted)", "left-leg: no weight (NWB) (as charted)"}, points(then)); diff != "" {
		t.Errorf("as of the 9th (-want +got):\n%s", diff)
	}
	if len(then.ChartChanges) != 0 {
		t.Errorf("as of the 9th: chart changes %v, want none", then.ChartChanges)
	}
}

// A change is seen against the last note before the bound, and what lies outside is left out.
func TestBounds(t *testing.T) {
	h := newHome(t)
	c := h.course("R", h.told("Pivot x2.", "Pivot x2.", "Pivot x1.", "Pivot x1.", "Pivot x2."), course.Options{Since: h.at(11, 0), Until: h.at(13, 0)})
	if c.Notes != 2 {
		t.Errorf("%d notes, want 2", c.Notes)
	}
	want := []string{"transfer: pivot (not charted)", "transfer: pivot (not charted)", "helpers: 1 helper (not charted)", "helpers: 1 helper (not charted)"}
	if diff := gocmp.Diff(want, points(c)); diff != "" {
		t.Errorf("(-want +got):\n%s", diff)
	}
	if len(c.Changes) != 1 || c.Changes[0].Before.ID != "N2" || c.Changes[0].After.ID != "N3" {
		t.Errorf("changes %v, want one, from N2 to N3", c.Changes)
	}
}

// Bounds beyond all notes and rows make a course of one moment, which can still be drawn.
func TestBoundsBeyond(t *testing.T) {
	for _, rows := range [][]string{nil, {"2026-11-05;nwb;;two-person-pivot;2;;no"}} {
		h := newHome(t)
		if rows != nil {
			h.rows(t, rows...)
		}
		notes := h.told("Pivot x2.")
		for _, opt := range []course.Options{
			{Since: h.at(30, 0)}, {Until: h.at(1, 0)}, {Since: h.at(1, 0), Until: h.at(2, 0)}, {AsOf: h.at(1, 0), Since: h.at(20, 0)},
		} {
			c := h.course("R", notes, opt)
			if c.Notes != 0 || c.Until.Before(c.From) {
				t.Errorf("since %s, until %s: %d notes from %s to %s, want none and no end before the start", opt.Since, opt.Until, c.Notes, c.From, c.Until)
			}
			if err := course.HTML(io.Discard, c, h.draw()); err != nil {
				t.Error(err)
			}
		}
	}
}

// A diff is of the sentences on mobility, by word; of notes with nothing in common it is one after the
// other.
func TestChangeDiff(t *testing.T) {
	for _, tt := range []struct {
		before, after string
		want          []course.Segment
	}{
		{"Ate well. Pivot x2 with belt to chair.\nDaughter in.", "Pivot x1 with belt to chair. Slept well.",
			[]course.Segment{{Same: "Pivot "}, {Before: "x2", After: "x1"}, {Same: " with belt to chair."}}},
		{"Pivot x2 to chair.", "Hoisted by three with the full sling lift onto the commode this evening.",
			[]course.Segment{{Before: "Pivot x2 to chair.", After: "Hoisted by three with the full sling lift onto the commode this evening."}}},
		{"Pivot x2. Ate well. NWB L leg.", "Pivot x1. NWB L leg.",
			[]course.Segment{{Same: "Pivot "}, {Before: "x2", After: "x1"}, {Same: "."}, {Before: " … NWB", After: " NWB"}, {Same: " L leg."}}},
	} {
		h := newHome(t)
		c := h.course("R", h.told(tt.before, tt.after), course.Options{})
		if len(c.Changes) != 1 {
			t.Errorf("%q, %q: %d changes, want 1", tt.before, tt.after, len(c.Changes))
			continue
		}
		if diff := gocmp.Diff(tt.want, c.Changes[0].Diff); diff != "" {
			t.Errorf("%q, %q (-want +got):\n%s", tt.before, tt.after, diff)
		}
	}
}

func FuzzDiff(f *testing.F) {
	f.Add("Pivot x2 with belt.", "Pivot x1 with belt.")
	f.Add("", "walked")
	f.Add("a b c d", "d c b a")
	f.Fuzz(func(t *testing.T, before, after string) {
		if strings.ToValidUTF8(before, "") != before || strings.ToValidUTF8(after, "") != after {
			t.Skip("notes are UTF-8")
		}
		var b, a strings.Builder
		for _, s := range course.Diff(before, after) {
			b.WriteString(s.Same + s.Before)
			a.WriteString(s.Same + s.After)
		}
		if b.String() != before || a.String() != after {
			t.Errorf("Diff(%q, %q) joins to %q and %q", before, after, b.String(), a.String())
		}
	})
}

// A course of a year of three notes a day.
func BenchmarkYear(b *testing.B) {
	h := demo(b)
	texts := h.of("R-101")
	var notes []note.Note
	for i := range 3 * 365 {
		n := texts[i%len(texts)]
		n.ID, n.Shift, n.Time = fmt.Sprintf("N%d", i), "", h.at(9, 0).Add(time.Duration(i)*8*time.Hour)
		notes = append(notes, n)
	}
	t := timeline.New("R-101", notes, h.lex, h.chart, h.cal)
	for b.Loop() {
		c := course.Build(t, course.Options{LiftHelpers: 2, Labels: h.labels})
		if err := course.HTML(io.Discard, c, h.draw()); err != nil {
			b.Fatal(err)
		}
	}
}

// Two notes are set against one another fact by fact; what the one says less exactly is the same.
func TestFacts(t *testing.T) {
	h := newHome(t)
	for _, tt := range []struct {
		before, after string
		want          []course.Fact
	}{
		{"Pivot x2 with belt to chair, NWB left leg.", "Pivot x1 with belt to chair, TTWB left leg.", []course.Fact{
			{Name: "Left leg", Before: []string{"no weight (NWB)"}, After: []string{"toe touch only (TTWB)"}},
			{Name: "Way of transfer", Before: []string{"pivot"}, After: []string{"pivot"}, Same: true},
			{Name: "Helpers", Before: []string{"2 helpers"}, After: []string{"1 helper"}},
			{Name: "Transfer belt", Before: []string{"used"}, After: []string{"used"}, Same: true},
		}},
		{"Walked with 2WW x1.", "Walked with walker x1. Found on floor at 0300.", []course.Fact{
			{Name: "Walking", Before: []string{"walked with an aid"}, After: []string{"walked with an aid"}, Same: true},
			{Name: "Helpers, walking", Before: []string{"1 helper"}, After: []string{"1 helper"}, Same: true},
			{Name: "Walking aid", Before: []string{"two-wheeled walker"}, After: []string{"walker or frame, kind unsaid"}, Same: true},
			{Name: "Fall", After: []string{"found on the floor"}},
		}},
		{"Ate well.", "Slept well.", nil},
	} {
		line := timeline.New("R", h.told(tt.before, tt.after), h.lex, h.chart, h.cal)
		got := course.Facts(line, course.Options{Labels: h.labels}, line.Entries[0], line.Entries[1])
		if diff := gocmp.Diff(tt.want, got); diff != "" {
			t.Errorf("%q, %q (-want +got):\n%s", tt.before, tt.after, diff)
		}
	}
}
