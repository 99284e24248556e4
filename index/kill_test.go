package index_test

import (
	"bufio"
	"context"
	"fmt"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"testing"
	"time"

	"example.com/stance/index"
	"example.com/stance/lexicon"
	"example.com/stance/lint/note"
)

const (
	childFolder = "STANCE_TEST_KEEP" // variable that makes the test binary keep notes in a folder
	killNotes   = 8000               // far more than the runs that are killed get to
	killBatch   = 20
	killBatches = 5 // most batches that a run may report before it is killed
)

func TestMain(m *testing.M) {
	if dir := os.Getenv(childFolder); dir != "" {
		if err := child(dir); err != nil {
			fmt.Fprintln(os.Stderr, err)
			os.Exit(1)
		}
		return
	}
	os.Exit(m.Run())
}

// child keeps notes and prints, after each batch, how many are kept.
func child(dir string) error {
	lex, err := lexicon.New()
	if err != nil {
		return err
	}
	w, err := index.OpenWriter(dir, lex)
	if err != nil {
		return err
	}
	w.SetBatch(killBatch)
	fmt.Println(0)
	_, err = w.Keep(context.Background(), serial(killNotes), index.KeepOptions{Progress: func(k index.Kept) { fmt.Println(k.Read) }})
	if err != nil {
		return err
	}
	return w.Close()
}

// serial gives notes V1, V2, … of a few words.
func serial(n int) func() (note.Note, error) {
	made := make([]note.Note, n)
	for i := range made {
		made[i] = testNote("V"+strconv.Itoa(i+1), "S-"+strconv.Itoa(i%7), i%24, fmt.Sprintf("Walked %d m with 2WW x1.", i%50))
	}
	return each(made)
}

// TestKilled kills a process that keeps notes, again and again, until all are kept.
func TestKilled(t *testing.T) {
	if testing.Short() {
		t.Skip("starts and kills processes for some seconds")
	}
	kills := 2
	if asked := os.Getenv("STANCE_KILLS"); asked != "" { // a fifth of all; see cmd/stance/cli
		n, err := strconv.Atoi(asked)
		if err != nil {
			t.Fatalf("STANCE_KILLS=%s: want a number", asked)
		}
		kills = n / 5
	}
	lex := newLexicon(t)
	dir := filepath.Join(t.TempDir(), "index")
	rnd := rand.New(rand.NewPCG(7, 7))
	reported, inTheMiddle := 0, 0
	for round := 0; inTheMiddle < kills; round++ {
		// Every other run is killed soon after its start, so that some are while they open what the one before
		// left. All are killed by a batch, and then a moment into the next, however fast the machine is.
		var soon time.Duration
		if round%2 == 1 {
			soon = time.Duration(40+rnd.IntN(120)) * time.Millisecond
		}
		told, ended := keepAndKill(t, dir, soon, rnd.IntN(killBatches+1), time.Duration(rnd.IntN(4000))*time.Microsecond)
		reported = max(reported, told)
		if !ended {
			inTheMiddle++
		}
		x := open(t, dir, lex)
		seen := map[string]bool{}
		for _, n := range notesOf(t, x, index.Range{}) {
			if seen[n.ID] {
				t.Errorf("round %d: %s is kept twice", round, n.ID)
			}
			seen[n.ID] = true
		}
		for i := range reported {
			if id := "V" + strconv.Itoa(i+1); !seen[id] {
				t.Fatalf("round %d: %s was reported as kept and is not", round, id)
			}
		}
		// All that is kept is found, once each, with no writer in between.
		page := find(t, x, index.Query{Aid: "walker", Limit: 2 * killNotes, Order: index.ByTime})
		found := map[string]bool{}
		for _, id := range ids(page) {
			if found[id] {
				t.Errorf("round %d: %s is found twice", round, id)
			}
			found[id] = true
		}
		if page.Total != len(seen) || len(found) != len(seen) {
			t.Errorf("round %d: %d notes kept, %d found in all, %d of them different", round, len(seen), page.Total, len(found))
		}
	}
	t.Logf("%d runs were killed before their end, %d notes were reported", inTheMiddle, reported)
	w := openWriter(t, dir, lex)
	last, err := w.Keep(context.Background(), serial(killNotes), index.KeepOptions{})
	if err != nil || last.Skipped < reported || last.Added+last.Skipped != killNotes {
		t.Errorf("the run after: %+v, %v; want what was reported skipped and the rest added", last, err)
	}
	if err := w.Close(); err != nil {
		t.Fatal(err)
	}
	if page := find(t, open(t, dir, lex), index.Query{}); page.Total != killNotes {
		t.Errorf("in the end %d notes are found, want %d", page.Total, killNotes)
	}
}

// keepAndKill starts a process that keeps notes and kills it: soon after its start, unless that is 0, and a
// moment after it has reported so many batches. It gives the last number that the process reported, and
// whether it came to its end.
func keepAndKill(t *testing.T, dir string, soon time.Duration, batches int, moment time.Duration) (reported int, ended bool) {
	t.Helper()
	self, err := os.Executable()
	if err != nil {
		t.Fatal(err)
	}
	c := exec.Command(self)
	c.Env = append(os.Environ(), childFolder+"="+dir)
	c.Stderr = os.Stderr
	out, err := c.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	if err := c.Start(); err != nil {
		t.Fatal(err)
	}
	killAfter := func(d time.Duration) {
		time.AfterFunc(d, func() { c.Process.Kill() }) // SIGKILL; an error means that it has ended
	}
	if soon > 0 {
		killAfter(soon)
	}
	lines := bufio.NewScanner(out)
	for seen := 0; lines.Scan(); seen++ { // the first line is that it has opened the index
		if reported, err = strconv.Atoi(lines.Text()); err != nil {
			t.Fatal(err)
		}
		if seen == batches {
			killAfter(moment)
		}
	}
	return reported, c.Wait() == nil
}
