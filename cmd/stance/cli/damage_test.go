package cli

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"
)

// keptRuns keeps the demo's notes in four runs, and gives the folder and the notes of the last run.
func keptRuns(t *testing.T) (kept, chart, last string) {
	t.Helper()
	dir, notes, chart := demoHome(t)
	b, err := os.ReadFile(notes)
	if err != nil {
		t.Fatal(err)
	}
	kept = filepath.Join(dir, "kept")
	lines, size := bytes.SplitAfter(b, []byte("\n")), 111
	for run := range 4 {
		last = filepath.Join(dir, fmt.Sprintf("run%d.jsonl", run))
		some := bytes.Join(lines[run*size:min((run+1)*size, len(lines))], nil)
		if err := os.WriteFile(last, some, 0o600); err != nil {
			t.Fatal(err)
		}
		runCommand(t, statusClean, "keep", "--index", kept, "--chart", chart, "--quiet", last)
	}
	return kept, chart, last
}

// runCommand runs a command line that has to end with a status, and gives what it prints and says.
func runCommand(t *testing.T, want int, args ...string) (printed, said string) {
	t.Helper()
	a, stdout, stderr := testApp("")
	if status := a.main(context.Background(), args); status != want {
		t.Errorf("stance %s: status %d, want %d: %s", strings.Join(args, " "), status, want, stderr)
	}
	return stdout.String(), stderr.String()
}

// framesOf gives the offsets of the frames of a journal, and its end.
func framesOf(log []byte) []int {
	var at []int
	for i := 0; ; {
		n := bytes.Index(log[i:], []byte("\xffrec"))
		if n < 0 {
			break
		}
		at = append(at, i+n)
		i += n + 1
	}
	return append(at, len(log))
}

// TestDamageIsTold damages the notes of an index: every command that reads or writes it tells file and place,
// what is lost and what to do, ends with status 3 and changes nothing.
func TestDamageIsTold(t *testing.T) {
	kept, chart, last := keptRuns(t)
	name := filepath.Join(kept, "notes.log")
	whole, err := os.ReadFile(name)
	if err != nil {
		t.Fatal(err)
	}
	at := framesOf(whole)
	middle := len(at) / 2
	flipped := slices.Clone(whole)
	flipped[at[middle]+5] ^= 1 << 6 // of the length
	neighbours := slices.Clone(flipped)
	neighbours[at[middle+1]+5] ^= 1 << 6
	commands := [][]string{
		{"find", "walker", "--index", kept},
		{"keep", "--index", kept, last},
		{"check", "--index", kept, "--chart", chart},
		{"history", "R-101", "--index", kept},
		{"audit", "--index", kept, "--chart", chart},
		{"keep", "--index", kept, "--rebuild"},
		{"keep", "--index", kept, "--remove", "R-101"},
		{"serve", "--index", kept, "--listen", "127.0.0.1:0"},
	}
	const all = 8 // the first ones will do where another test tries every damage
	place := regexp.MustCompile(`^stance: ` + regexp.QuoteMeta(name) + `: damaged at byte [0-9]+: `)
	for _, c := range []struct {
		what     string
		log      []byte
		commands int
		tells    string
	}{
		{"a length", flipped, all, fmt.Sprintf("of %d bytes written, %d to %d cannot be read; ", len(whole), at[middle], at[middle+1])},
		{"two neighbours", neighbours, 2, fmt.Sprintf("%d to %d cannot be read; ", at[middle], at[middle+2])},
		{"half", whole[:len(whole)/2], 2, fmt.Sprintf(" to %d cannot be read; ", len(whole))},
		{"a block out of the middle", slices.Concat(whole[:at[middle]-4096], whole[at[middle]:]), 2, " cannot be read; "},
		{"a frame twice", slices.Concat(whole, whole[at[middle]:]), 2, "all records can still be read; "},
		{"the head alone", whole[:at[0]], 2, "nothing in it can be read; "},
		{"nothing", nil, 2, "nothing in it can be read; "},
	} {
		if err := os.WriteFile(name, c.log, 0o600); err != nil {
			t.Fatal(err)
		}
		for _, args := range commands[:min(c.commands, len(commands))] {
			printed, said := runCommand(t, statusInternal, args...)
			if printed != "" || !place.MatchString(said) || !strings.Contains(said, c.tells) ||
				!strings.HasSuffix(said, "or save what can be read with: stance keep --repair --index "+kept+"\n") || strings.Count(said, "\n") != 1 {
				t.Errorf("%s: stance %s: printed %q and %q, want file, place, %q and what to do", c.what, args[0], printed, said, c.tells)
			}
		}
		if now, err := os.ReadFile(name); err != nil || !bytes.Equal(now, c.log) {
			t.Errorf("%s: notes.log had %d bytes and now has %d, %v", c.what, len(c.log), len(now), err)
		}
	}
	if err := os.Remove(name); err != nil {
		t.Fatal(err)
	}
	for _, args := range [][]string{{"find", "--index", kept}, {"keep", "--index", kept, last}, {"keep", "--index", kept, "--repair"}} {
		if _, said := runCommand(t, statusInternal, args...); !strings.Contains(said, "notes.log: the file of the notes is gone") {
			t.Errorf("with no notes.log: stance %s says %q", args[0], said)
		}
	}
}

// TestRepair loses a part of the notes, saves the rest, and gets the lost ones from the files again.
func TestRepair(t *testing.T) {
	kept, chart, last := keptRuns(t)
	name := filepath.Join(kept, "notes.log")
	whole, err := os.ReadFile(name)
	if err != nil {
		t.Fatal(err)
	}
	check := []string{"check", "--index", kept, "--chart", chart, "--format", "json", "--fail-on", "never"}
	want, _ := runCommand(t, statusClean, check...)
	if printed, _ := runCommand(t, statusClean, "keep", "--index", kept, "--repair"); printed != kept+": the notes are as they were kept; nothing was changed.\n" {
		t.Errorf("repair of what is whole: %q", printed)
	}
	at := framesOf(whole)
	spoilt := slices.Clone(whole)
	spoilt[at[1]+30] ^= 1 // 32 notes of the first run
	if err := os.WriteFile(name, spoilt, 0o600); err != nil {
		t.Fatal(err)
	}
	printed, said := runCommand(t, statusClean, "keep", "--index", kept, "--repair", "--chart", chart)
	for _, line := range []string{
		fmt.Sprintf("notes.log: damaged at byte %d: of %d bytes written, %d to %d cannot be read.", at[1], len(whole), at[1], at[2]),
		"409 notes of 24 residents saved, earlier versions included.",
		fmt.Sprintf("Lost: %d bytes, between notes kept on ", at[2]-at[1]),
		"The damaged file is kept as notes.log.damaged-1; delete it once it is not needed any more.",
		"Index made anew from 409 notes, earlier versions included.",
		"Checked for stance find --rule: the notes of 24 residents.",
	} {
		if !strings.Contains(printed, line) {
			t.Errorf("want %q in\n%s", line, printed)
		}
	}
	if said != "" {
		t.Errorf("said %q", said)
	}
	if b, err := os.ReadFile(name + ".damaged-1"); err != nil || !bytes.Equal(b, spoilt) {
		t.Errorf("the damaged file is not kept: %v", err)
	}
	dir := filepath.Dir(last)
	printed, _ = runCommand(t, statusClean, "keep", "--index", kept, "--chart", chart, filepath.Join(dir, "notes.jsonl"))
	if !strings.Contains(printed, "441 notes read: 32 added, 0 replaced, 409 skipped") {
		t.Errorf("keeping the notes again: %q", printed)
	}
	if got, _ := runCommand(t, statusClean, check...); got != want {
		t.Error("with the lost notes kept again, another report is made")
	}
	if _, said := runCommand(t, statusClean, "keep", "--index", kept, "--remove", "R-101"); !strings.Contains(said, "notes.log.damaged-1: a damaged file that --repair has kept may still hold notes of the resident; delete it") {
		t.Errorf("--remove says %q", said)
	}
	for _, args := range [][]string{{"notes.jsonl"}, {"--put-back"}, {"--remove", "R-102"}} {
		if _, said := runCommand(t, statusUsage, append([]string{"keep", "--index", kept, "--repair"}, args...)...); !strings.Contains(said, "done by itself") {
			t.Errorf("--repair %v: %q", args, said)
		}
	}
	if err := os.WriteFile(name, []byte("?"), 0o600); err != nil {
		t.Fatal(err)
	}
	if _, said := runCommand(t, statusInternal, "keep", "--index", kept, "--repair"); !strings.Contains(said, "nothing can be saved of it") {
		t.Errorf("repair of nothing: %q", said)
	}
}

// TestSearchIsMadeAnew spoils what was made from the notes: it is made anew, which is said in a line, and the
// answer is the same.
func TestSearchIsMadeAnew(t *testing.T) {
	kept, chart, last := keptRuns(t)
	find := []string{"find", "walker", "--index", kept, "--format", "csv", "--limit", "0"}
	want, _ := runCommand(t, statusClean, find...)
	search := filepath.Join(kept, "search")
	whole := filepath.Join(t.TempDir(), "search")
	if err := os.CopyFS(whole, os.DirFS(search)); err != nil {
		t.Fatal(err)
	}
	files, err := filepath.Glob(filepath.Join(whole, "store", "*"))
	if err != nil || len(files) < 2 {
		t.Fatalf("files %v, %v", files, err)
	}
	try := func(file string, spoilt []byte, args []string) {
		t.Helper()
		name := filepath.Base(file)
		err := errors.Join(os.RemoveAll(search), os.CopyFS(search, os.DirFS(whole)),
			os.WriteFile(filepath.Join(search, "store", name), spoilt, 0o600))
		if err != nil {
			t.Fatal(err)
		}
		tells := "stance: " + search + " is damaged: made anew from notes.log\n"
		if slices.Contains(args, "--rebuild") {
			tells = "" // it says so in any case
		}
		printed, said := runCommand(t, statusClean, args...)
		if said != tells {
			t.Errorf("%s: stance %s says %q, want %q", name, args[0], said, tells)
		}
		if args[0] != "find" {
			printed, _ = runCommand(t, statusClean, find...)
		}
		if printed != want {
			t.Errorf("%s: after stance %s found another\n%s\nwant\n%s", name, args[0], printed, want)
		}
	}
	for _, file := range files {
		b, err := os.ReadFile(file)
		if err != nil {
			t.Fatal(err)
		}
		flipped := slices.Clone(b)
		flipped[len(b)/3] ^= 4
		try(file, flipped, find)
		if filepath.Base(file) == "root.bolt" {
			half := b[:len(b)/2]
			try(file, half, find)
			try(file, half, []string{"keep", "--index", kept, last})
			try(file, half, []string{"keep", "--index", kept, "--chart", chart, "--rebuild", "--quiet"})
		}
	}
}
