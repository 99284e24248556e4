package cli

import (
	"bytes"
	"context"
	"encoding/json"
	"io"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"example.com/stance/index"
	"example.com/stance/lint/note"
	"example.com/stance/testdata"
)

// run runs a command line and gives what it prints; any status but those wanted ends the test.
func run(t *testing.T, want []int, args ...string) string {
	t.Helper()
	a, stdout, stderr := testApp("")
	if status := a.main(context.Background(), args); !slices.Contains(want, status) {
		t.Fatalf("stance %s: status %d, want %d: %s", strings.Join(args, " "), status, want, stderr)
	}
	return stdout.String()
}

// demoHome is the demo home in a folder of its own.
func demoHome(t *testing.T) (dir, notes, chart string) {
	t.Helper()
	dir = t.TempDir()
	for _, name := range []string{"notes.jsonl", "chart.csv", "stance.yaml"} {
		b, err := testdata.Demo.ReadFile("demo/" + name)
		if err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(filepath.Join(dir, name), b, 0o600); err != nil {
			t.Fatal(err)
		}
	}
	return dir, filepath.Join(dir, "notes.jsonl"), filepath.Join(dir, "chart.csv")
}

// What is kept is checked to the same report, byte for byte, as the files it came from, though the policy lies
// beside those only.
func TestCheckOfKeptIsCheckOfFiles(t *testing.T) {
	_, notes, chart := demoHome(t)
	kept := filepath.Join(t.TempDir(), "kept")
	run(t, []int{statusClean}, "keep", "--index", kept, "--chart", chart, notes)
	for _, selected := range []string{
		"", "--chart=", "--shift=evening", "--shift=2026-11-14/night", "--shift=2026-11-14/day --unit=harbour",
		"--since=2026-11-15 --until=2026-11-16", "--unit=Mill", "--resident=r-106", "--until=2026-11-12T15:00 --resident=R-101",
		"--since=2030-01-01",
	} {
		args := append([]string{"check", "--format", "json", "--chart", chart}, strings.Fields(selected)...)
		want := run(t, []int{statusClean, statusFindings}, append(args, notes)...)
		got := run(t, []int{statusClean, statusFindings}, append(args, "--index", kept)...)
		if got != want {
			t.Errorf("%q: the report on kept notes differs:\n%s\nwant\n%s", selected, got, want)
		}
	}
}

type reported struct {
	Findings []struct {
		ID, Note string
	}
}

// Notes that are given are checked with the kept ones around them as if all had been given.
func TestCheckWithKeptAround(t *testing.T) {
	dir, notes, chart := demoHome(t)
	b, err := os.ReadFile(notes)
	if err != nil {
		t.Fatal(err)
	}
	lines := bytes.SplitAfter(b, []byte("\n"))
	const tonight = 150
	early, late := filepath.Join(dir, "early.jsonl"), filepath.Join(dir, "late.jsonl")
	for name, part := range map[string][][]byte{early: lines[:len(lines)-tonight], late: lines[len(lines)-tonight:]} {
		if err := os.WriteFile(name, bytes.Join(part, nil), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	kept := filepath.Join(dir, "kept")
	run(t, []int{statusClean}, "keep", "--index", kept, early)
	var all, got reported
	for out, args := range map[*reported][]string{&all: {notes}, &got: {"--index", kept, late}} {
		args = append([]string{"check", "--format", "json", "--chart", chart}, args...)
		if err := json.Unmarshal([]byte(run(t, []int{statusClean, statusFindings}, args...)), out); err != nil {
			t.Fatal(err)
		}
	}
	var want []string
	for _, f := range all.Findings {
		if f.Note != "" && bytes.Contains(bytes.Join(lines[len(lines)-tonight:], nil), []byte(`"`+f.Note+`"`)) {
			want = append(want, f.ID)
		}
	}
	var ids []string
	for _, f := range got.Findings {
		if f.Note != "" {
			ids = append(ids, f.ID)
		}
	}
	if len(want) == 0 || !slices.Equal(ids, want) {
		t.Errorf("findings %v, want %v", ids, want)
	}
}

// A second writer is told so, and leaves the index as it is.
func TestKeepWhileAnotherKeeps(t *testing.T) {
	dir, notes, _ := demoHome(t)
	kept := filepath.Join(dir, "kept")
	lex, err := compileOnce()
	if err != nil {
		t.Fatal(err)
	}
	w, err := index.OpenWriter(kept, lex)
	if err != nil {
		t.Fatal(err)
	}
	a, stdout, stderr := testApp("")
	if status := a.main(context.Background(), []string{"keep", "--index", kept, notes}); status != statusUsage {
		t.Errorf("status %d, want %d", status, statusUsage)
	}
	if want := "stance: " + kept + ": the index is being written by another run of stance, try again when that is done\n"; stderr.String() != want || stdout.Len() > 0 {
		t.Errorf("printed %q and %q, want %q", stdout, stderr, want)
	}
	if err := w.Close(); err != nil {
		t.Fatal(err)
	}
	run(t, []int{statusClean}, "keep", "--index", kept, notes)
}

// Notes that were kept by a run that was stopped before it had checked them are checked by the next,
// even if that has nothing new to keep.
func TestKeepCompletesTheChecks(t *testing.T) {
	dir, notes, chart := demoHome(t)
	kept := filepath.Join(dir, "kept")
	lex, err := compileOnce()
	if err != nil {
		t.Fatal(err)
	}
	w, err := index.OpenWriter(kept, lex)
	if err != nil {
		t.Fatal(err)
	}
	f, err := os.Open(notes)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	r, err := note.NewReader(notes, f, note.Options{})
	if err != nil {
		t.Fatal(err)
	}
	if _, err := w.Keep(context.Background(), r.Next, index.KeepOptions{}); err != nil {
		t.Fatal(err)
	}
	if err := w.Close(); err != nil {
		t.Fatal(err)
	}
	find := []string{"find", "--index", kept, "--quiet", "--rule", "load-over-limit"}
	if got := run(t, []int{statusClean}, find...); got != "" {
		t.Fatalf("found before the notes were checked: %s", got)
	}
	if got := run(t, []int{statusClean}, "keep", "--index", kept, "--chart", chart, notes); !strings.Contains(got, "441 skipped") || !strings.Contains(got, "of 24 residents") {
		t.Errorf("printed %q", got)
	}
	if got := run(t, []int{statusClean}, find...); !strings.Contains(got, "note N0107 ") {
		t.Errorf("found %q, want the note that was flagged", got)
	}
}

// A run that is stopped has kept what it counts.
func TestKeepStopped(t *testing.T) {
	kept := filepath.Join(t.TempDir(), "kept")
	ctx, stop := context.WithCancel(context.Background())
	var notes strings.Builder
	for range 5000 {
		notes.WriteString(`{"resident":"R1","time":"2026-11-24T08:00:00Z","text":"Walked."}` + "\n")
	}
	a, stdout, stderr := testApp("")
	a.in = io.MultiReader(strings.NewReader(notes.String()), stopping(stop))
	if status := a.main(ctx, []string{"keep", "--index", kept, "-"}); status != statusInternal {
		t.Errorf("status %d, want %d", status, statusInternal)
	}
	if got := stderr.String(); got != "stance: stopped before the end\n" {
		t.Errorf("on stderr: %q", got)
	}
	if got := stdout.String(); strings.Contains(got, "Checked") {
		t.Errorf("printed %q", got)
	}
	run(t, []int{statusClean}, "find", "--index", kept)
}

// stopping calls a function when it is read, and gives one more note.
type stopping func()

func (s stopping) Read(b []byte) (int, error) {
	s()
	return copy(b, "{\"resident\":\"R1\",\"time\":\"2026-11-24T09:00:00Z\",\"text\":\"Slept.\"}\n"), nil
}
