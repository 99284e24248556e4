package cli_test

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"example.com/stance/cmd/stance/cli"
	"example.com/stance/index"
	"example.com/stance/lexicon"
	"example.com/stance/lint/answers"
	"example.com/stance/lint/note"
)

// kills is how many processes of each sort are to be killed: two, or a fifth of what STANCE_KILLS says, since
// there are five sorts, one of them in package index.
func kills(t *testing.T) int {
	t.Helper()
	if testing.Short() {
		t.Skip("starts and kills processes")
	}
	asked := os.Getenv("STANCE_KILLS")
	if asked == "" {
		return 2
	}
	n, err := strconv.Atoi(asked)
	if err != nil || n < 5 {
		t.Fatalf("STANCE_KILLS=%s: want a number from 5 on", asked)
	}
	return n / 5
}

// A killer kills commands at moments spread over the time that they take.
type killer struct {
	t    *testing.T
	rnd  *rand.Rand
	span time.Duration // within which to kill
}

func newKiller(t *testing.T, took time.Duration) *killer {
	return &killer{t: t, rnd: rand.New(rand.NewPCG(11, 11)), span: took}
}

// run starts a command and kills it after a while, and gives what it printed and whether it came to its end
// before that. The fewer are met by the kill, the sooner it comes, so that there is no end of trying.
func (k *killer) run(args ...string) (printed string, ended bool) {
	k.t.Helper()
	c := exec.Command("stance", args...)
	var out bytes.Buffer
	c.Stdout = &out
	if err := c.Start(); err != nil {
		k.t.Fatal(err)
	}
	after := time.AfterFunc(time.Duration(k.rnd.Float64()*float64(k.span)), func() { c.Process.Kill() })
	defer after.Stop()
	var exit *exec.ExitError
	err := c.Wait()
	if err != nil && (!errors.As(err, &exit) || exit.Exited()) {
		k.t.Fatalf("stance %s: %v", strings.Join(args, " "), err)
	}
	if err == nil {
		k.span = k.span * 4 / 5
	}
	return out.String(), err == nil
}

// took is how long a command takes that runs to its end.
func took(t *testing.T, args ...string) time.Duration {
	t.Helper()
	start := time.Now()
	if out, err := exec.Command("stance", args...).CombinedOutput(); err != nil {
		t.Fatalf("stance %s: %v\n%s", strings.Join(args, " "), err, out)
	}
	return time.Since(start)
}

// A home that is killed in.
type victim struct {
	lex                *lexicon.Lexicon
	dir                string // of the demo home
	notes, half, chart string
	whole              string // index of all notes
	all                contents
}

// Contents are what an index has, each by what it was asked.
type contents struct {
	notes   []string // resident, id and text
	found   []string // resident and id, earlier versions included
	flagged []string // those of them that a rule flags
}

func newVictim(t *testing.T) *victim {
	t.Helper()
	lex, err := lexicon.New()
	if err != nil {
		t.Fatal(err)
	}
	v := &victim{lex: lex, dir: filepath.Join(t.TempDir(), "home")}
	if status, _, errs := run("demo", v.dir); status != 0 {
		t.Fatal(errs)
	}
	v.notes, v.chart = filepath.Join(v.dir, "notes.jsonl"), filepath.Join(v.dir, "chart.csv")
	b, err := os.ReadFile(v.notes)
	if err != nil {
		t.Fatal(err)
	}
	lines := bytes.SplitAfter(b, []byte("\n"))
	v.half = filepath.Join(v.dir, "half.jsonl")
	if err := os.WriteFile(v.half, bytes.Join(lines[:len(lines)/2], nil), 0o600); err != nil {
		t.Fatal(err)
	}
	v.whole = filepath.Join(v.dir, "whole")
	v.done(t, "keep", "--index", v.whole, "--chart", v.chart, v.notes)
	v.all = v.contents(t, v.whole)
	return v
}

// done runs a command line to its end, in this process.
func (v *victim) done(t *testing.T, args ...string) string {
	t.Helper()
	var out, errs bytes.Buffer
	if status := cli.MainAt(context.Background(), clock(), args, strings.NewReader(""), &out, &errs); status != 0 {
		t.Fatalf("stance %s: status %d: %s", strings.Join(args, " "), status, &errs)
	}
	return out.String()
}

// copyOf copies an index to a folder of its own.
func (v *victim) copyOf(t *testing.T, dir string) string {
	t.Helper()
	to := filepath.Join(t.TempDir(), "index")
	if err := os.CopyFS(to, os.DirFS(dir)); err != nil {
		t.Fatal(err)
	}
	return to
}

func (v *victim) contents(t *testing.T, dir string) contents {
	t.Helper()
	x, err := index.Open(dir, v.lex)
	if err != nil {
		t.Fatal(err)
	}
	defer x.Close()
	var c contents
	err = x.Notes(context.Background(), index.Range{}, func(n note.Note) error {
		c.notes = append(c.notes, n.Resident+" "+n.ID+" "+n.Text)
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	page, err := x.Find(context.Background(), index.Query{Earlier: true, Order: index.ByTime, Limit: 2000})
	if err != nil {
		t.Fatal(err)
	}
	for _, h := range page.Hits {
		name := h.Note.Resident + " " + h.Note.ID
		c.found = append(c.found, name)
		if len(h.Rules) > 0 {
			c.flagged = append(c.flagged, fmt.Sprint(name, h.Rules))
		}
	}
	slices.Sort(c.found)
	if len(c.notes) != len(c.found) || len(slices.Compact(slices.Clone(c.found))) != len(c.found) {
		t.Errorf("%d notes are kept and %d found, or one of them twice", len(c.notes), len(c.found))
	}
	return c
}

// has reports whether all of some is in c.
func (c contents) has(some contents) bool {
	in := map[string]bool{}
	for _, n := range c.notes {
		in[n] = true
	}
	return !slices.ContainsFunc(some.notes, func(n string) bool { return !in[n] })
}

func (c contents) equal(d contents) bool {
	return slices.Equal(c.notes, d.notes) && slices.Equal(c.found, d.found) && slices.Equal(c.flagged, d.flagged)
}

// TestKilled kills commands at any moment, and nothing may be lost or doubled.
func TestKilled(t *testing.T) {
	want := kills(t)
	v := newVictim(t)
	t.Run("keep", func(t *testing.T) { v.killKeep(t, want) })
	t.Run("erase", func(t *testing.T) { v.killErase(t, want) })
	t.Run("rebuild", func(t *testing.T) { v.killRebuild(t, want) })
	t.Run("answer", func(t *testing.T) { killAnswer(t, want) })
}

// killKeep kills runs that keep the second half of the notes.
func (v *victim) killKeep(t *testing.T, want int) {
	t.Parallel()
	half := filepath.Join(v.dir, "kept")
	v.done(t, "keep", "--index", half, "--chart", v.chart, v.half)
	before := v.contents(t, half)
	keep := func(dir string) []string { return []string{"keep", "--index", dir, "--chart", v.chart, v.notes} }
	k := newKiller(t, took(t, keep(v.copyOf(t, half))...))
	for met := 0; met < want; {
		dir := v.copyOf(t, half)
		if _, ended := k.run(keep(dir)...); !ended {
			met++
		}
		if now := v.contents(t, dir); !now.has(before) || !v.all.has(now) {
			t.Errorf("kill %d: %d notes, want those kept before and none but the given ones", met, len(now.notes))
		}
		v.done(t, keep(dir)...)
		if now := v.contents(t, dir); !now.equal(v.all) {
			t.Errorf("kill %d: the next run did not complete what was left", met)
		}
	}
}

// killErase kills runs that erase a resident: all of the resident's notes are there, or none.
func (v *victim) killErase(t *testing.T, want int) {
	t.Parallel()
	var rest contents
	for _, n := range v.all.notes {
		if !strings.HasPrefix(n, "R-101 ") {
			rest.notes = append(rest.notes, n)
		}
	}
	erase := func(dir string) []string { return []string{"keep", "--index", dir, "--remove", "R-101"} }
	k := newKiller(t, took(t, erase(v.copyOf(t, v.whole))...))
	for met := 0; met < want; {
		dir := v.copyOf(t, v.whole)
		if _, ended := k.run(erase(dir)...); !ended {
			met++
		}
		now := v.contents(t, dir)
		if !slices.Equal(now.notes, v.all.notes) && !slices.Equal(now.notes, rest.notes) {
			t.Errorf("kill %d: %d notes, want %d or %d", met, len(now.notes), len(v.all.notes), len(rest.notes))
		}
		if len(now.notes) == len(v.all.notes) {
			v.done(t, erase(dir)...)
		}
		if now := v.contents(t, dir); !slices.Equal(now.notes, rest.notes) {
			t.Errorf("kill %d: erased in the end, %d notes, want %d", met, len(now.notes), len(rest.notes))
		}
	}
}

// killRebuild kills runs that make the index anew: nothing of it ever changes.
func (v *victim) killRebuild(t *testing.T, want int) {
	t.Parallel()
	dir := v.copyOf(t, v.whole)
	rebuild := []string{"keep", "--index", dir, "--rebuild", "--chart", v.chart}
	k := newKiller(t, took(t, rebuild...))
	for met := 0; met < want; {
		if _, ended := k.run(rebuild...); !ended {
			met++
		}
		if met%2 == 1 && met < want {
			continue // the next one finds what this one has left
		}
		if now := v.contents(t, dir); !now.equal(v.all) {
			t.Errorf("kill %d: the index has changed", met)
		}
	}
}

// killAnswer kills runs that answer findings: what was told as taken is there, once, and what was not is
// there whole or not at all.
func killAnswer(t *testing.T, want int) {
	t.Parallel()
	file := filepath.Join(t.TempDir(), "answers.jsonl")
	answer := func(n int) []string {
		return []string{"answer", fmt.Sprintf("%016x", n), "--answers", file, "--as", "confirmed", "--why", "seen to", "--by", "nurse"}
	}
	k := newKiller(t, took(t, answer(0)...))
	taken := []string{fmt.Sprintf("%016x", 0)}
	for met, n := 0, 1; met < want; n++ {
		printed, ended := k.run(answer(n)...)
		if !ended {
			met++
		}
		id := fmt.Sprintf("%016x", n)
		f, err := os.Open(file)
		if err != nil {
			t.Fatal(err)
		}
		book, err := answers.Read(file, f)
		if err := errors.Join(err, f.Close()); err != nil {
			t.Fatalf("kill %d: %v", met, err)
		}
		var have []string
		for _, e := range book.Entries() {
			have = append(have, e.Finding)
		}
		told := strings.Contains(printed, id)
		if there := slices.Contains(have, id); there || told {
			taken = append(taken, id)
		}
		if !slices.Equal(have, taken) {
			t.Fatalf("kill %d: the file has %v, want %v", met, have, taken)
		}
	}
}
