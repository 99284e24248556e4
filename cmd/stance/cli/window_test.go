package cli

import (
	"bytes"
	"encoding/json"
	"fmt"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"example.com/stance/cmd/stance/bench/corpus"
)

// A longHome is many weeks of notes of a home, in the order in which they were written, some of them late entries, some
// handed in weeks late, some amended later, and a chart that is short of some residents and late for others.
type longHome struct {
	dir, chart string
	runs       []string // files, as they were kept one after another
	all        string   // file of all notes as they are in the end
	shifts     []string // some of them, as a command names them
}

func newLongHome(t *testing.T) *longHome {
	t.Helper()
	h := &longHome{dir: t.TempDir()}
	const residents, shifts = 9, 150
	home := corpus.Home{Seed: 3, Notes: residents * shifts, Residents: residents}
	var lines, chart bytes.Buffer
	if err := home.Write(corpus.JSONLines(&lines)); err != nil {
		t.Fatal(err)
	}
	if err := home.WriteChart(&chart); err != nil {
		t.Fatal(err)
	}
	file := func(name, content string) string {
		name = filepath.Join(h.dir, name)
		if err := os.WriteFile(name, []byte(content), 0o600); err != nil {
			t.Fatal(err)
		}
		return name
	}
	var rows []string
	for row := range strings.Lines(chart.String()) {
		switch {
		case strings.HasPrefix(row, home.Resident(1)+","): // never charted
		case strings.HasPrefix(row, home.Resident(2)+","):
			rows = append(rows, strings.Replace(row, "2023-12-31", "2024-02-05", 1)) // charted late
		case strings.HasPrefix(row, home.Resident(4)+","):
			rows = append(rows, strings.Replace(row, "00Z,,", "00Z,2024-02-10T00:00:00Z,", 1)) // not charted any more
		default:
			rows = append(rows, row)
		}
	}
	h.chart = file("chart.csv", strings.Join(rows, ""))
	file("stance.yaml", "settings:\n  Round: home-care\n")

	rng := rand.New(rand.NewPCG(1, 2))
	var days, held, last []string // lines
	var runs [][]string
	now := map[string]string{}
	var order []string
	keep := func(n map[string]any) string {
		b, err := json.Marshal(n)
		if err != nil {
			t.Fatal(err)
		}
		id := n["note"].(string)
		if now[id] == "" {
			order = append(order, id)
		}
		now[id] = string(b) + "\n"
		return now[id]
	}
	i := 0
	for line := range strings.Lines(lines.String()) {
		var n map[string]any
		if err := json.Unmarshal([]byte(line), &n); err != nil {
			t.Fatal(err)
		}
		resident, at := n["resident"].(string), i/residents
		if resident == home.Resident(5) || resident == home.Resident(6) {
			n["unit"] = "Round" // visited now and then
			delete(n, "shift")
		}
		skip := n["unit"] == "Round" && rng.IntN(20) > 0 || rng.IntN(30) == 0
		if rng.IntN(40) == 0 {
			n["text"] = fmt.Sprintf("Late entry for 0%d15. %s", 1+rng.IntN(9), n["text"])
		}
		switch {
		case skip:
		case rng.IntN(60) == 0:
			held = append(held, keep(n))
		default:
			days = append(days, keep(n))
		}
		if rng.IntN(80) == 0 && len(order) > 40 { // an amendment, of its time too now and then
			var old map[string]any
			if err := json.Unmarshal([]byte(now[order[len(order)-1-rng.IntN(40)]]), &old); err != nil {
				t.Fatal(err)
			}
			old["text"] = old["text"].(string) + " Fell in the bathroom later, no injury."
			if rng.IntN(3) == 0 {
				old["time"] = n["time"]
			}
			last = append(last, keep(old))
		}
		i++
		if at >= shifts-9 && i%residents == 0 || at == shifts-10 && i%residents == 0 {
			if len(runs)%3 == 1 {
				days, held = append(days, held...), nil
			}
			runs = append(runs, append(days, last...))
			days, last = nil, nil
		}
	}
	runs = append(runs, held)
	for r, run := range runs {
		h.runs = append(h.runs, file(fmt.Sprintf("run-%02d.jsonl", r), strings.Join(run, "")))
	}
	var all strings.Builder
	for _, id := range order {
		all.WriteString(now[id])
	}
	h.all = file("all.jsonl", all.String())
	h.shifts = []string{"2024-01-20/day", "2024-02-04/night", "2024-02-10/evening", home.LastShift()}
	return h
}

// rulesOf are the rules of all notes of an index.
func rulesOf(t *testing.T, kept string) string {
	t.Helper()
	var out strings.Builder
	var page struct {
		Hits []struct {
			Note, Resident string
			Rules          []string
		}
	}
	printed := run(t, []int{statusClean}, "find", "--index", kept, "--order", "time", "--limit", "0", "--format", "json")
	if err := json.Unmarshal([]byte(printed), &page); err != nil {
		t.Fatal(err)
	}
	for _, hit := range page.Hits {
		fmt.Fprintln(&out, hit.Resident, hit.Note, hit.Rules)
	}
	return out.String()
}

// TestKeptDayByDay holds that notes kept run by run have the rules that they have when all are judged at once, though
// each run judges only what its notes may change.
func TestKeptDayByDay(t *testing.T) {
	if testing.Short() {
		t.Skip("some thousand notes")
	}
	t.Parallel()
	h := newLongHome(t)
	kept := filepath.Join(h.dir, "kept")
	flagged := 0
	for i, notes := range h.runs {
		args := []string{"keep", "--index", kept, "--chart", h.chart, "--policy", filepath.Join(h.dir, "stance.yaml"), "--quiet", notes}
		if i == 3 {
			args = append(args, "--chart", changedChart(t, h)) // another chart for one run
		}
		run(t, []int{statusClean}, args...)
		if i < len(h.runs)-4 {
			continue
		}
		got := rulesOf(t, kept)
		whole := filepath.Join(t.TempDir(), "whole")
		if err := os.CopyFS(whole, os.DirFS(kept)); err != nil {
			t.Fatal(err)
		}
		run(t, []int{statusClean}, "keep", "--index", whole, "--chart", h.chart, "--rebuild", "--quiet")
		want := rulesOf(t, whole)
		if got != want {
			t.Fatalf("run %d:\n%s", i, firstDifference(got, want))
		}
		flagged = strings.Count(got, "-")
	}
	if flagged < 300 {
		t.Errorf("only %d rules on all notes", flagged)
	}
}

// changedChart is the chart with another way to transfer for some.
func changedChart(t *testing.T, h *longHome) string {
	t.Helper()
	b, err := os.ReadFile(h.chart)
	if err != nil {
		t.Fatal(err)
	}
	name := filepath.Join(h.dir, "changed.csv")
	if err := os.WriteFile(name, bytes.ReplaceAll(b, []byte("total-lift"), []byte("one-person")), 0o600); err != nil {
		t.Fatal(err)
	}
	return name
}

func firstDifference(got, want string) string {
	g, w := strings.Split(got, "\n"), strings.Split(want, "\n")
	for i := range min(len(g), len(w)) {
		if g[i] != w[i] {
			return fmt.Sprintf("got  %s\nwant %s", g[i], w[i])
		}
	}
	return fmt.Sprintf("got %d lines, want %d", len(g), len(w))
}

// TestCheckOfLongHome holds that a shift of many weeks of kept notes is checked to the same report as the files with
// all notes, though only those around it are read.
func TestCheckOfLongHome(t *testing.T) {
	if testing.Short() {
		t.Skip("some thousand notes")
	}
	t.Parallel()
	h := newLongHome(t)
	kept, policy := filepath.Join(h.dir, "kept"), filepath.Join(h.dir, "stance.yaml")
	run(t, []int{statusClean}, "keep", "--index", kept, "--policy", policy, "--quiet", h.all)
	var found int
	for _, selected := range append(h.shifts, "--unit=Round --since=2024-02-02 --until=2024-02-06", "--resident=R-00003 --since=2024-02-04 --until=2024-02-07") {
		if !strings.HasPrefix(selected, "-") {
			selected = "--shift=" + selected
		}
		args := append([]string{"check", "--format", "json", "--policy", policy, "--chart", h.chart}, strings.Fields(selected)...)
		want := run(t, []int{statusClean, statusFindings}, append(args, h.all)...)
		got := run(t, []int{statusClean, statusFindings}, append(args, "--index", kept)...)
		if got != want {
			t.Errorf("%s: %s", selected, firstDifference(got, want))
		}
		found += strings.Count(want, `"rule"`)
	}
	if found < 30 {
		t.Errorf("only %d findings", found)
	}
}
