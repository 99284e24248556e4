package main

import (
	"bytes"
	"context"
	"encoding/csv"
	"encoding/json"
	"errors"
	"fmt"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"github.com/parquet-go/parquet-go"

	"example.com/stance/cmd/stance-fleet/fleet"
	"example.com/stance/cmd/stance/bench/corpus"
	"example.com/stance/cmd/stance/cli"
	"example.com/stance/lint/audit"
)

// asProgram has the test program be stance-fleet, and asPool the place where workers are started.
const (
	asProgram = "STANCE_FLEET_PROGRAM"
	asPool    = "STANCE_FLEET_POOL"
)

func TestMain(m *testing.M) {
	switch {
	case os.Getenv(asProgram) != "":
		main()
	case os.Getenv(asPool) != "":
		pool()
	}
	status := m.Run()
	if made != nil {
		os.RemoveAll(made.dir)
	}
	os.Exit(status)
}

func program(t testing.TB, args ...string) *exec.Cmd {
	t.Helper()
	self, err := os.Executable()
	if err != nil {
		t.Fatal(err)
	}
	c := exec.Command(self, args...)
	c.Env = append(os.Environ(), asProgram+"=1", "TZ=UTC")
	return c
}

// runs runs stance-fleet, which must exit with a status, and gives what it says for itself.
func runs(t testing.TB, status int, args ...string) string {
	t.Helper()
	c := program(t, args...)
	var said bytes.Buffer
	c.Stderr = &said
	err := c.Run()
	var exit *exec.ExitError
	if err != nil && !errors.As(err, &exit) {
		t.Fatal(err)
	}
	if got := c.ProcessState.ExitCode(); got != status {
		t.Fatalf("stance-fleet %s: exit status %d, want %d\n%s", strings.Join(args, " "), got, status, said.String())
	}
	var own []string
	for line := range strings.Lines(said.String()) {
		if strings.HasPrefix(line, "stance-fleet: ") {
			own = append(own, line)
		}
	}
	return strings.Join(own, "")
}

// An answer is what is found and counted in one home.
type answer struct {
	Findings      []json.RawMessage `json:"findings"`
	NotUnderstood []json.RawMessage `json:"not_understood"`
	Notes         int               `json:"notes"`
	Residents     int               `json:"residents"`
	Counts        struct{ Error, Warning, Hint int }
	tally         string
}

// stance gives the answer of stance check and stance audit.
func stance(t testing.TB, policy, chart string, files ...string) answer {
	t.Helper()
	args := []string{"--skip-bad", "--chart", chart}
	if policy != "" {
		args = append(args, "--policy", policy)
	}
	args = append(args, files...)
	var out, said bytes.Buffer
	if status := cli.Main(context.Background(), append([]string{"check", "--format", "json", "--fail-on", "never"}, args...), nil, &out, &said); status != 0 {
		t.Fatalf("stance check: %d\n%s", status, said.String())
	}
	var a answer
	if err := json.Unmarshal(out.Bytes(), &a); err != nil {
		t.Fatal(err)
	}
	part := filepath.Join(t.TempDir(), "part.json")
	if status := cli.Main(context.Background(), append([]string{"audit", "--quiet", "--partial", part}, args...), nil, &out, &said); status != 0 {
		t.Fatalf("stance audit: %d\n%s", status, said.String())
	}
	a.tally = string(file(t, part))
	return a
}

func file(t testing.TB, name string) []byte {
	t.Helper()
	b, err := os.ReadFile(name)
	if err != nil {
		t.Fatal(err)
	}
	return b
}

// answers reads a whole output, and gives the answer of each home and the tally of all.
func answers(t testing.TB, out string) (map[string]*answer, string) {
	t.Helper()
	m, err := fleet.Done(context.Background(), out)
	if err != nil {
		t.Fatal(err)
	}
	all := map[string]*answer{}
	home := func(name string) *answer {
		if all[name] == nil {
			all[name] = &answer{}
		}
		return all[name]
	}
	type line struct {
		Home          string          `json:"home"`
		Finding       json.RawMessage `json:"finding"`
		NotUnderstood json.RawMessage `json:"not_understood"`
	}
	group := ""
	var listed []string
	for _, f := range m.Files {
		listed = append(listed, f.Name)
		b := file(t, filepath.Join(out, f.Name))
		if len(b) != f.Bytes || bytes.Count(b, []byte("\n")) != f.Lines {
			t.Errorf("%s: %d bytes, want the %d and the %d lines that are listed", f.Name, len(b), f.Bytes, f.Lines)
		}
		switch {
		case f.Name == "audit.json":
			group = string(b)
		case strings.HasPrefix(f.Name, "audit-"):
			home(strings.TrimSuffix(strings.TrimPrefix(f.Name, "audit-"), ".json")).tally = string(b)
		case strings.HasPrefix(f.Name, "findings-"), strings.HasPrefix(f.Name, "not-understood-"):
			for l := range bytes.Lines(b) {
				var in line
				if err := json.Unmarshal(l, &in); err != nil {
					t.Fatal(err)
				}
				if h := home(in.Home); in.Finding != nil {
					h.Findings = append(h.Findings, in.Finding)
				} else {
					h.NotUnderstood = append(h.NotUnderstood, in.NotUnderstood)
				}
			}
		case f.Name == "homes.jsonl":
			for l := range bytes.Lines(b) {
				var in fleet.HomeSum
				if err := json.Unmarshal(l, &in); err != nil {
					t.Fatal(err)
				}
				h := home(in.Home)
				h.Notes, h.Residents = in.Notes, in.Residents
				h.Counts.Error, h.Counts.Warning, h.Counts.Hint = in.Error, in.Warning, in.Hint
			}
		}
	}
	entries, err := os.ReadDir(out)
	if err != nil {
		t.Fatal(err)
	}
	var there []string
	for _, e := range entries {
		if e.Name() != "done.json" {
			there = append(there, e.Name())
		}
	}
	if diff := cmp.Diff(listed, there); diff != "" {
		t.Errorf("files (-listed +there)\n%s", diff)
	}
	return all, group
}

// byResident puts lines of one home in the order of stance check: residents by name, what is on one as it stands.
func byResident(t testing.TB, lines []json.RawMessage) []string {
	t.Helper()
	type entry struct{ resident, text string }
	var all []entry
	for _, l := range lines {
		var of struct{ Resident string }
		if err := json.Unmarshal(l, &of); err != nil {
			t.Fatal(err)
		}
		all = append(all, entry{of.Resident, string(l)})
	}
	slices.SortStableFunc(all, func(a, b entry) int { return strings.Compare(a.resident, b.resident) })
	texts := []string{}
	for _, e := range all {
		texts = append(texts, e.text)
	}
	return texts
}

func same(t testing.TB, home string, want, got *answer) {
	t.Helper()
	if got == nil {
		t.Errorf("%s: no answer", home)
		return
	}
	if diff := cmp.Diff(byResident(t, want.Findings), byResident(t, got.Findings)); diff != "" {
		t.Errorf("%s: findings (-stance +fleet)\n%s", home, diff)
	}
	if diff := cmp.Diff(byResident(t, want.NotUnderstood), byResident(t, got.NotUnderstood)); diff != "" {
		t.Errorf("%s: not understood (-stance +fleet)\n%s", home, diff)
	}
	if want.tally != got.tally {
		t.Errorf("%s: another tally, by %d and %d bytes", home, len(want.tally), len(got.tally))
	}
	if want.Notes != got.Notes || want.Residents != got.Residents || want.Counts != got.Counts {
		t.Errorf("%s: %d notes, %d residents, %+v; want %d, %d, %+v", home, got.Notes, got.Residents, got.Counts, want.Notes, want.Residents, want.Counts)
	}
}

// sameAll holds an output against the answers of stance for each home, and the tally of all against theirs put together.
func sameAll(t testing.TB, want map[string]answer, out string) {
	t.Helper()
	got, group := answers(t, out)
	if len(got) != len(want) {
		t.Errorf("%d homes, want %d", len(got), len(want))
	}
	var all *audit.Tally
	for home, w := range want {
		same(t, home, &w, got[home])
		one, err := audit.ReadPartial(home, strings.NewReader(w.tally))
		if err != nil {
			t.Fatal(err)
		}
		one = one.Under(func(name string) string { return strings.TrimSuffix(home+" / "+name, " / ") })
		if all == nil {
			all = one
		} else if err := all.Merge(one); err != nil {
			t.Fatal(err)
		}
	}
	b, err := all.Partial()
	if err != nil {
		t.Fatal(err)
	}
	if group != string(b) {
		t.Errorf("another tally of all homes, by %d bytes, want %d", len(group), len(b))
	}
}

// Homes of the tests: few notes, but on all that a home has.
const (
	homes     = 50
	homeNotes = 90
	residents = 9
)

// A country is invented homes and what stance says of them.
type country struct {
	dir  string
	want map[string]answer
}

var (
	once sync.Once
	made *country // by fifty
)

// fifty invents the homes once for all tests.
func fifty(t *testing.T) *country {
	t.Helper()
	once.Do(func() {
		dir, err := os.MkdirTemp("", "stance-fleet-test-")
		if err != nil {
			t.Fatal(err)
		}
		made = &country{dir: dir, want: map[string]answer{}}
		for i := range homes {
			name := fmt.Sprintf("home-%02d", i)
			at := filepath.Join(dir, name)
			if err := os.Mkdir(at, 0o700); err != nil {
				t.Fatal(err)
			}
			h := corpus.Home{Seed: uint64(i + 1), Notes: homeNotes, Residents: residents}
			var notes, chart bytes.Buffer
			if err := errors.Join(h.Write(corpus.JSONLines(&notes)), h.WriteChart(&chart)); err != nil {
				t.Fatal(err)
			}
			put(t, filepath.Join(at, "notes.jsonl"), notes.Bytes())
			put(t, filepath.Join(at, "chart.csv"), chart.Bytes())
			made.want[name] = stance(t, "", filepath.Join(at, "chart.csv"), filepath.Join(at, "notes.jsonl"))
		}
	})
	return made
}

func put(t testing.TB, name string, b []byte) {
	t.Helper()
	if err := os.WriteFile(name, b, 0o600); err != nil {
		t.Fatal(err)
	}
}

func TestDemo(t *testing.T) {
	const demo = "../../testdata/demo"
	for _, policy := range []string{"", demo + "/stance.yaml"} {
		at := filepath.Join(t.TempDir(), "Harbour & Mill")
		if err := os.Mkdir(at, 0o700); err != nil {
			t.Fatal(err)
		}
		notes, chart := filepath.Join(at, "notes.jsonl"), filepath.Join(at, "chart.csv")
		put(t, notes, file(t, demo+"/notes.jsonl"))
		put(t, chart, file(t, demo+"/chart.csv"))
		out := filepath.Join(t.TempDir(), "out")
		args := []string{"--notes", notes, "--chart", chart, "--out", out}
		if policy != "" {
			args = append(args, "--policy", policy)
		}
		said := runs(t, 0, args...)
		if !strings.Contains(said, "441 notes on 24 residents in 1 home: ") || !strings.Contains(said, "licensed practice decide") {
			t.Errorf("said %q", said)
		}
		want := stance(t, policy, chart, notes)
		if len(want.Findings) < 20 {
			t.Fatalf("%d findings, want those of the demo", len(want.Findings))
		}
		got, _ := answers(t, out)
		same(t, "the demo", &want, got["Harbour%20&%20Mill"].with(got["Harbour & Mill"]))
	}
}

// with is an answer whose tally's file has the home's name in another form.
func (a *answer) with(o *answer) *answer {
	o.tally = a.tally
	return o
}

func TestFiftyHomes(t *testing.T) {
	c := fifty(t)
	out := filepath.Join(t.TempDir(), "out")
	runs(t, 0, "--notes", c.dir+"/*/notes.jsonl", "--chart", c.dir+"/*/chart.csv", "--out", out, "--shards", "3")
	sameAll(t, c.want, out)
	for _, again := range []string{out, c.dir} { // a whole output, and a folder of other files
		if said := runs(t, 2, "--notes", c.dir+"/*/notes.jsonl", "--out", again); !strings.Contains(said, "want a new folder") {
			t.Errorf("said %q", said)
		}
	}
	sameAll(t, c.want, out)
}

// A record is a note of several homes.
type record struct {
	House    string `json:"house" parquet:"house"`
	Note     string `json:"note" parquet:"note"`
	Resident string `json:"resident" parquet:"resident"`
	Unit     string `json:"unit" parquet:"unit,optional"`
	Time     string `json:"time" parquet:"time"`
	Shift    string `json:"shift" parquet:"shift,optional"`
	Role     string `json:"role" parquet:"role,optional"`
	Author   string `json:"author" parquet:"author,optional"`
	Text     string `json:"text" parquet:"Progress Note"`
}

// The notes of all homes, shuffled over files of all forms that each have some of every home, and their charts in one file.
func TestShuffledAndSplit(t *testing.T) {
	c := fifty(t)
	var all []record
	var charts bytes.Buffer
	for i := range homes {
		name := fmt.Sprintf("home-%02d", i)
		for line := range bytes.Lines(file(t, filepath.Join(c.dir, name, "notes.jsonl"))) {
			r := record{House: name}
			if err := json.Unmarshal(line, &r); err != nil {
				t.Fatal(err)
			}
			all = append(all, r)
		}
		for i, line := range strings.Split(strings.TrimSpace(string(file(t, filepath.Join(c.dir, name, "chart.csv")))), "\n") {
			switch {
			case i > 0:
				fmt.Fprintf(&charts, "%s,%s\n", name, line)
			case charts.Len() == 0:
				fmt.Fprintf(&charts, "house,%s\n", line)
			}
		}
	}
	rng := rand.New(rand.NewPCG(7, 7))
	rng.Shuffle(len(all), func(i, j int) { all[i], all[j] = all[j], all[i] })
	dir := t.TempDir()
	put(t, filepath.Join(dir, "charts.csv"), charts.Bytes())
	const parts = 6
	for i := range parts {
		write := []func(testing.TB, string, []record){writeJSON, writeCSV, writeParquet}[i%3]
		write(t, filepath.Join(dir, fmt.Sprintf("part-%d", i)), all[i*len(all)/parts:(i+1)*len(all)/parts])
	}
	out := filepath.Join(dir, "out")
	runs(t, 0, "--notes", dir+"/part-*", "--chart", dir+"/charts.csv", "--home-field", "house", "--column", "text=Progress Note", "--out", out)
	sameAll(t, c.want, out)
}

func writeJSON(t testing.TB, name string, all []record) {
	var b bytes.Buffer
	for _, r := range all {
		line, err := json.Marshal(r)
		if err != nil {
			t.Fatal(err)
		}
		b.Write(append(line, '\n'))
	}
	put(t, name+".jsonl", b.Bytes())
}

func writeCSV(t testing.TB, name string, all []record) {
	var b bytes.Buffer
	w := csv.NewWriter(&b)
	rows := [][]string{{"Progress Note", "note", "resident", "unit", "time", "shift", "role", "author", "house"}}
	for _, r := range all {
		rows = append(rows, []string{r.Text, r.Note, r.Resident, r.Unit, r.Time, r.Shift, r.Role, r.Author, r.House})
	}
	if err := w.WriteAll(rows); err != nil {
		t.Fatal(err)
	}
	put(t, name+".csv", b.Bytes())
}

func writeParquet(t testing.TB, name string, all []record) {
	var b bytes.Buffer
	w := parquet.NewGenericWriter[record](&b, parquet.MaxRowsPerRowGroup(300))
	if _, err := w.Write(all); err != nil {
		t.Fatal(err)
	}
	if err := w.Close(); err != nil {
		t.Fatal(err)
	}
	put(t, name+".parquet", b.Bytes())
}

// A run that is killed is run again: nothing of it is lost, and nothing is there twice.
func TestKilled(t *testing.T) {
	c := fifty(t)
	out := filepath.Join(t.TempDir(), "out")
	args := []string{"--notes", c.dir + "/*/notes.jsonl", "--chart", c.dir + "/*/chart.csv", "--out", out}
	// Once as soon as anything is written, once while parts are, and once when the first is in its place.
	for _, sign := range []string{"began.json", ".parts-*/*", "findings-*"} {
		p := program(t, args...)
		var said bytes.Buffer
		p.Stderr = &said
		if err := p.Start(); err != nil {
			t.Fatal(err)
		}
		ended := make(chan error, 1)
		go func() { ended <- p.Wait() }()
		await(t, ended, filepath.Join(out, sign), &said)
		if err := p.Process.Kill(); err != nil && !errors.Is(err, os.ErrProcessDone) {
			t.Fatal(err)
		}
		<-ended
		if _, err := fleet.Done(context.Background(), out); err == nil {
			// It was quicker than the kill: what it left is whole, and the next run wants a new folder.
			runs(t, 2, args...)
			sameAll(t, c.want, out)
			if err := os.RemoveAll(out); err != nil {
				t.Fatal(err)
			}
		}
	}
	runs(t, 0, args...)
	sameAll(t, c.want, out)
}

// await waits for a file of a pattern, or for the program's end.
func await(t testing.TB, ended chan error, pattern string, said *bytes.Buffer) {
	t.Helper()
	for {
		select {
		case err := <-ended:
			if err != nil {
				t.Fatalf("it ended with %v\n%s", err, said.String())
			}
			ended <- nil
			return
		case <-time.After(time.Millisecond):
			if found, err := filepath.Glob(pattern); err != nil || len(found) > 0 {
				return
			}
		}
	}
}

// What cannot be read is told with its place, counted as stance counts it, and loses nothing else.
func TestDeadLetters(t *testing.T) {
	dir := t.TempDir()
	home := filepath.Join(dir, "Ash")
	if err := os.Mkdir(home, 0o700); err != nil {
		t.Fatal(err)
	}
	at := func(name string) string { return filepath.Join(home, name) }
	put(t, at("a.jsonl"), []byte(`{"note":"N1","resident":"R-1","time":"2026-11-24T21:40:00Z","role":"care worker","text":"Walked to the lounge with 2WW x1."}
{"note":"N2","resident":"R-1"}
not JSON
{"note":"N1","resident":"R-1","time":"2026-11-25T21:40:00Z","role":"care worker","text":"Pivot transfer x1 with belt to commode, dizzy on standing."}
`))
	put(t, at("b.csv"), []byte("note,resident,time,Progress Note\nN3,R-2,yesterday,Slept.\nN4,R-2,2026-11-24T21:40:00Z,Fell in the bathroom.\n"))
	put(t, at("c.csv"), []byte("some,thing\nelse,here\n"))
	put(t, at("c.xlsx"), []byte("PK\x03\x04 and the rest of a workbook"))
	put(t, at("d.parquet"), []byte("no Parquet"))
	writeParquet(t, at("e"), []record{{Note: "N5", Resident: "R-2", Time: "2026-11-26T21:40:00Z", Text: "Slept."}, {Note: "N6", Resident: "R-2", Time: "x", Text: "Slept."}})
	put(t, at("chart.csv"), []byte(`resident,unit,from,until,left_leg,right_leg,left_arm,right_arm,transfer,staff,aids,walk,by
R-1,Fir,2026-11-01T09:00:00Z,,nwb,,,,one-person,1,walker-2w;belt,with-aid,therapist
R-1,Fir,2026-11-01T09:00:00Z,,,,,,two-person,2,belt,no,therapist
R-2,Fir,2026-11-01T09:00:00Z,,,,,,by-crane,2,belt,no,therapist
R-9,Fir,2026-11-01T09:00:00Z,2026-11-09T09:00:00Z,,,,,two-person,2,belt,no,therapist
R-9,Fir,2026-11-02T09:00:00Z,,,,,,two-person,2,belt,no,therapist
`))
	out := filepath.Join(dir, "out")
	args := []string{"--notes", home + "/[a-e].*", "--chart", home + "/chart.csv", "--column", "text=Progress Note", "--out"}
	said := runs(t, 2, append(args, out)...)
	if !strings.Contains(said, "10 records could not be read or clashed: see dead-letter in ") {
		t.Errorf("said %q", said)
	}
	runs(t, 0, append(append([]string{"--skip-bad"}, args...), filepath.Join(dir, "accepted"))...)

	type letter struct {
		File   string
		Line   int
		Reason string
	}
	var got []string
	parts, err := filepath.Glob(out + "/dead-letter-*.jsonl")
	if err != nil {
		t.Fatal(err)
	}
	for _, p := range parts {
		for line := range bytes.Lines(file(t, p)) {
			var l letter
			if err := json.Unmarshal(line, &l); err != nil || l.Reason == "" {
				t.Fatalf("%s: %v", line, err)
			}
			got = append(got, fmt.Sprintf("%s:%d", filepath.Base(l.File), l.Line))
		}
	}
	slices.Sort(got)
	want := []string{"a.jsonl:2", "a.jsonl:3", "b.csv:2", "c.csv:1", "c.xlsx:0", "chart.csv:3", "chart.csv:4", "chart.csv:6", "d.parquet:1", "e.parquet:2"}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Errorf("dead letters (-want +got)\n%s", diff)
	}
	var flaws []byte
	parts, _ = filepath.Glob(out + "/flaws-*.jsonl") // a pattern that can be read
	for _, p := range parts {
		flaws = append(flaws, file(t, p)...)
	}
	if twice := fmt.Sprintf(`{"home":"Ash","flaw":"note N1 stands twice: %s:1 and %s:4"}`+"\n", at("a.jsonl"), at("a.jsonl")); string(flaws) != twice {
		t.Errorf("flaws %s, want %s", flaws, twice)
	}

	// stance reads no Parquet, so it gets those rows in another form.
	writeCSV(t, at("f"), []record{{Note: "N5", Resident: "R-2", Time: "2026-11-26T21:40:00Z", Text: "Slept."}, {Note: "N6", Resident: "R-2", Time: "x", Text: "Slept."}})
	w := stance(t, "", at("chart.csv"), "--column", "text=Progress Note", at("a.jsonl"), at("b.csv"), at("f.csv"))
	all, _ := answers(t, out)
	same(t, "Ash", &w, all["Ash"])
}

func TestUsage(t *testing.T) {
	dir := t.TempDir()
	note := filepath.Join(dir, "n.jsonl")
	put(t, note, []byte("{}\n"))
	put(t, filepath.Join(dir, "bad.yaml"), []byte("zone: Nowhere\n"))
	for _, c := range []struct {
		args []string
		want string
	}{
		{nil, "no notes given, want --notes"},
		{[]string{"--notes", note}, "want --out with the folder"},
		{[]string{"--notes", note, "--out", dir + "/out", note}, "want flags only"},
		{[]string{"--notes", dir + "/x*", "--out", dir + "/out"}, "/x*: no such file"},
		{[]string{"--notes", note, "--notes", dir + "/*.jsonl", "--out", dir + "/out"}, "n.jsonl: is given twice"},
		{[]string{"--notes", note, "--out", dir + "/out", "--column", "text"}, "want name=header"},
		{[]string{"--notes", note, "--out", dir + "/out", "--shards", "0"}, "0 shards: want 1 or more"},
		{[]string{"--notes", note, "--out", dir + "/out", "--policy", dir + "/none.yaml"}, "none.yaml: cannot be read"},
		{[]string{"--notes", note, "--out", dir + "/out", "--policy", dir + "/bad.yaml"}, "bad.yaml:1: "},
		{[]string{"--notes", "nfs://a/b", "--out", dir + "/out"}, "nfs"},
	} {
		if said := runs(t, 2, c.args...); !strings.Contains(said, c.want) || strings.Count(said, "\n") != 1 {
			t.Errorf("%q: said %q, want %q", c.args, said, c.want)
		}
	}
	if _, err := os.Stat(dir + "/out"); err == nil {
		t.Error("wrong usage leaves a folder behind")
	}
}
