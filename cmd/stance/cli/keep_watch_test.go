package cli

import (
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"
)

// A watched is a folder that is watched in this process, look by look.
type watched struct {
	t      *testing.T
	folder string
	index  string
	args   keepOptions
	w      *watcher
	out    func() (stdout, stderr string) // since it was last asked for
	files  int                            // dropped so far
}

func watchFolder(t *testing.T, change func(*keepOptions)) *watched {
	t.Helper()
	dir := t.TempDir()
	d := &watched{t: t, folder: filepath.Join(dir, "drop"), index: filepath.Join(dir, "index")}
	if err := os.Mkdir(d.folder, 0o700); err != nil {
		t.Fatal(err)
	}
	d.args = keepOptions{index: d.index, watch: d.folder, interval: time.Second}
	if change != nil {
		change(&d.args)
	}
	d.start()
	return d
}

// start starts it, as after a stop or a crash.
func (d *watched) start() {
	d.t.Helper()
	if d.w != nil {
		if err := d.w.box.Close(); err != nil {
			d.t.Fatal(err)
		}
	}
	a, stdout, stderr := testApp("")
	w, err := a.newWatcher(context.Background(), &d.args)
	if err != nil {
		d.t.Fatal(err)
	}
	d.w = w
	d.out = func() (string, string) {
		defer stdout.Reset()
		defer stderr.Reset()
		return stdout.String(), stderr.String()
	}
	d.out()
}

// drop writes a file, a minute after the one before.
func (d *watched) drop(name, text string) {
	d.t.Helper()
	path := filepath.Join(d.folder, name)
	d.files++
	at := time.Date(2026, 11, 24, 22, d.files, 0, 0, time.UTC)
	if err := errors.Join(os.WriteFile(path, []byte(text), 0o600), os.Chtimes(path, at, at)); err != nil {
		d.t.Fatal(err)
	}
}

// looks looks twice, after which all that is there is whole.
func (d *watched) looks() (stdout, stderr string) {
	d.t.Helper()
	for range 2 {
		if err := d.w.look(context.Background()); err != nil {
			d.t.Fatal(err)
		}
	}
	return d.out()
}

// kept is what find finds.
func (d *watched) kept(args ...string) string {
	d.t.Helper()
	a, stdout, stderr := testApp("")
	if status := a.main(context.Background(), append([]string{"find", "--index", d.index}, args...)); status != 0 {
		d.t.Fatalf("find: status %d, %s", status, stderr)
	}
	return stdout.String()
}

func jsonNote(id, text string) string {
	return fmt.Sprintf(`{"note":%q,"resident":"R-1","time":"2026-11-24T21:40:00Z","role":"care worker","text":%q}`, id, text) + "\n"
}

func wantSaid(t *testing.T, what, got, want string) {
	t.Helper()
	if got != want {
		t.Errorf("%s:\n got %q\nwant %q", what, got, want)
	}
}

const checkedOne = "Checked for stance find --rule: the notes of 1 resident, with no --chart and so none of the rules against it.\n"

func TestWatch(t *testing.T) {
	d := watchFolder(t, nil)
	d.drop("2.jsonl", jsonNote("N1", "walked with cane"))
	d.drop("1.csv", "note,resident,time,text\nN1,R-1,2026-11-24T21:40:00Z,walked with frame\nN2,R-1,2026-11-24T21:50:00Z,slept\n")
	stdout, stderr := d.looks()
	wantSaid(t, "two files, the older one first", stdout, "2.jsonl: 1 note read: 1 added, 0 replaced, 0 skipped because they were kept already.\n"+
		"1.csv: 2 notes read: 1 added, 1 replaced, 0 skipped because they were kept already.\n"+checkedOne)
	wantSaid(t, "stderr", stderr, "")
	stdout, stderr = d.looks()
	wantSaid(t, "nothing new", stdout+stderr, "")

	// A restart doubles nothing, one that came before it was put down what was taken in neither.
	d.start()
	stdout, stderr = d.looks()
	wantSaid(t, "started again", stdout+stderr, "")
	if err := os.Remove(filepath.Join(d.index, "watched")); err != nil {
		t.Fatal(err)
	}
	d.start()
	stdout, stderr = d.looks()
	wantSaid(t, "what was taken in is not known", stdout, "2.jsonl: 1 note read: 0 added, 0 replaced, 1 skipped because they were kept already.\n"+
		"2.jsonl: Of those skipped, 1 note said so before being amended or withdrawn; if that was taken back, add --put-back.\n"+
		"1.csv: 2 notes read: 0 added, 0 replaced, 2 skipped because they were kept already.\n")
	wantSaid(t, "stderr", stderr, "")

	// A file that grows is kept once it rests, and one that is gone stays kept.
	d.drop("3.jsonl", jsonNote("N3", "sat up")+`{"note":"N4"`)
	if err := d.w.look(context.Background()); err != nil {
		t.Fatal(err)
	}
	d.drop("3.jsonl", jsonNote("N3", "sat up")+jsonNote("N4", "stood up"))
	if err := os.Remove(filepath.Join(d.folder, "2.jsonl")); err != nil {
		t.Fatal(err)
	}
	stdout, stderr = d.looks()
	wantSaid(t, "grown", stdout, "3.jsonl: 2 notes read: 2 added, 0 replaced, 0 skipped because they were kept already.\n"+checkedOne)
	wantSaid(t, "stderr", stderr, "")
	if got := d.kept(); !strings.Contains(got, "4 notes found") || !strings.Contains(got, "with frame") {
		t.Errorf("kept:\n%s", got)
	}
}

func TestWatchBad(t *testing.T) {
	d := watchFolder(t, nil)
	d.drop("scan.pdf", "%PDF-1.7\n\x00\x01")
	d.drop("part.jsonl", jsonNote("N1", "sat up")+"{\n"+jsonNote("N2", "slept"))
	stdout, stderr := d.looks()
	wantSaid(t, "what can be read is kept", stdout, "part.jsonl: 2 notes read: 2 added, 0 replaced, 0 skipped because they were kept already.\n"+checkedOne)
	for _, want := range []string{"scan.pdf:1: want ", "part.jsonl:2: want "} {
		if strings.Count(stderr, filepath.Join(d.folder, want)) != 1 {
			t.Errorf("want %s once in %q", want, stderr)
		}
	}
	for range 3 { // told once, also over a restart
		stdout, stderr = d.looks()
		wantSaid(t, "again", stdout+stderr, "")
		d.start()
	}
	d.drop("part.jsonl", jsonNote("N1", "sat up")+jsonNote("N3", "stood up"))
	stdout, stderr = d.looks()
	wantSaid(t, "put right", stdout, "part.jsonl: 2 notes read: 1 added, 0 replaced, 1 skipped because they were kept already.\n"+checkedOne)
	wantSaid(t, "stderr", stderr, "")

	// By other columns it may be readable.
	d.drop("export.csv", "Id,Who,When,Words\nN9,R-1,2026-11-24T21:40:00Z,walked\n")
	if _, stderr = d.looks(); !strings.Contains(stderr, "export.csv:1: want ") {
		t.Errorf("stderr %q", stderr)
	}
	d.args.columns = []string{"note=Id", "resident=Who", "time=When", "text=Words"}
	d.start()
	stdout, _ = d.looks()
	wantSaid(t, "other columns", stdout, "export.csv: 1 note read: 1 added, 0 replaced, 0 skipped because they were kept already.\n"+checkedOne)
}

// The chart may lie in the folder, and change there; while it cannot be read, nothing is kept and that is told once.
func TestWatchChart(t *testing.T) {
	var d *watched
	dir := t.TempDir()
	chart := filepath.Join(dir, "chart.csv")
	if err := os.WriteFile(chart, []byte(nwbChart), 0o600); err != nil {
		t.Fatal(err)
	}
	d = watchFolder(t, func(o *keepOptions) { o.watch, o.chartFile = dir, chart })
	d.folder = dir
	d.drop("1.jsonl", jsonNote("N1", "walked to the lounge with cane, x1"))
	stdout, stderr := d.looks()
	wantSaid(t, "stdout", stdout, "1.jsonl: 1 note read: 1 added, 0 replaced, 0 skipped because they were kept already.\nChecked for stance find --rule: the notes of 1 resident.\n")
	wantSaid(t, "stderr", stderr, "")
	if got := d.kept("--rule", "load-over-limit"); !strings.Contains(got, "1 note found") {
		t.Errorf("found %s", got)
	}
	d.drop("chart.csv", "none")
	d.drop("2.jsonl", jsonNote("N2", "walked to the dining room with cane, x1"))
	stdout, stderr = d.looks()
	more, again := d.looks()
	wantSaid(t, "no chart", stdout+more, "")
	if strings.Count(stderr+again, "chart.csv") != 1 || !strings.Contains(stderr, "; trying again") {
		t.Errorf("stderr %q", stderr+again)
	}
	d.drop("chart.csv", strings.Replace(nwbChart, ",nwb,", ",fwb,", 1))
	if stdout, stderr = d.looks(); !strings.HasPrefix(stdout, "2.jsonl: 1 note read: 1 added") || stderr != "" {
		t.Errorf("stdout %q, stderr %q", stdout, stderr)
	}
	if got := d.kept("--rule", "load-over-limit"); !strings.Contains(got, "No note found") {
		t.Errorf("found %s", got)
	}
}

// While somebody else writes to the index, or the folder is gone, it waits.
func TestWatchWaits(t *testing.T) {
	d := watchFolder(t, nil)
	other := listenOn(t, "--index", d.index)
	d.drop("1.jsonl", jsonNote("N1", "sat up"))
	stdout, stderr := d.looks()
	more, again := d.looks()
	wantSaid(t, "stdout", stdout+more, "")
	if strings.Count(stderr+again, "trying again") != 1 {
		t.Errorf("stderr %q", stderr+again)
	}
	if status := other.stop(); status != 0 {
		t.Fatalf("status %d", status)
	}
	away := d.folder + "-away"
	if err := os.Rename(d.folder, away); err != nil {
		t.Fatal(err)
	}
	stdout, stderr = d.looks()
	wantSaid(t, "stdout", stdout, "")
	if strings.Count(stderr, "no such file or directory; trying again") != 1 {
		t.Errorf("stderr %q", stderr)
	}
	if err := os.Rename(away, d.folder); err != nil {
		t.Fatal(err)
	}
	if stdout, stderr = d.looks(); !strings.HasPrefix(stdout, "1.jsonl: 1 note read: 1 added") || stderr != "" {
		t.Errorf("stdout %q, stderr %q", stdout, stderr)
	}
}

// A file that is written to while it is read is read again.
func TestWatchWrittenTo(t *testing.T) {
	d := watchFolder(t, nil)
	d.drop("1.jsonl", jsonNote("N1", "sat up"))
	if err := d.w.look(context.Background()); err != nil {
		t.Fatal(err)
	}
	whole, _, err := d.w.box.Look()
	if err != nil || len(whole) != 1 {
		t.Fatalf("%v, %v", whole, err)
	}
	d.drop("1.jsonl", jsonNote("N1", "sat up")+jsonNote("N2", "slept"))
	if err := d.w.keep(context.Background(), whole); err != nil {
		t.Fatal(err)
	}
	d.drop("1.jsonl", jsonNote("N1", "sat up")+jsonNote("N2", "slept")+jsonNote("N3", "stood up"))
	d.looks()
	if got := d.kept(); !strings.Contains(got, "3 notes found") {
		t.Errorf("kept:\n%s", got)
	}
}

// A chain of documents over files of HL7 v2, each dropped by itself.
func TestWatchDocuments(t *testing.T) {
	d := watchFolder(t, nil)
	for i, m := range []string{documentOf("T02", "M1", "N1", "first"), documentOf("T10", "M2", "N2|N1", "second"), documentOf("T10", "M3", "N3|N2", "third")} {
		d.drop(fmt.Sprint(i, ".hl7"), m)
		d.looks()
	}
	if got := d.kept(); !strings.Contains(got, "third") || !strings.Contains(got, "1 note found") {
		t.Errorf("kept:\n%s", got)
	}
	d.drop("9.hl7", documentOf("T11", "M4", "N3", ""))
	stdout, stderr := d.looks()
	wantSaid(t, "cancelled", stdout, "9.hl7: 1 note withdrawn by who sent it; stance find --earlier still shows it.\n"+checkedOne)
	wantSaid(t, "stderr", stderr, "")
	if got := d.kept(); !strings.Contains(got, "No note found") {
		t.Errorf("kept:\n%s", got)
	}
	d.drop("9.hl7", documentOf("T11", "M4", "N3", ""))
	stdout, _ = d.looks() // there is nobody to be checked any more
	wantSaid(t, "cancelled again", stdout, "9.hl7: 0 notes read: 0 added, 0 replaced, 0 skipped because they were kept already.\n")
}

// Stopped while it waits or works, it ends without a fault.
func TestWatchStopped(t *testing.T) {
	d := watchFolder(t, nil)
	d.drop("1.jsonl", jsonNote("N1", "sat up"))
	if err := d.w.look(context.Background()); err != nil {
		t.Fatal(err)
	}
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	ticks := make(chan time.Time)
	if err := d.w.run(ctx, ticks); err != nil {
		t.Errorf("stopped at work: %v", err)
	}
	if _, stderr := d.out(); stderr != "" {
		t.Errorf("stderr %q", stderr)
	}
	d.start()
	if stdout, _ := d.looks(); !strings.HasPrefix(stdout, "1.jsonl: 1 note read") {
		t.Errorf("what was not taken in: %q", stdout)
	}
	ctx, cancel = context.WithCancel(context.Background())
	ended := make(chan error)
	go func() { ended <- d.w.run(ctx, ticks) }()
	ticks <- time.Time{} // it has looked, and waits
	cancel()
	if err := <-ended; err != nil {
		t.Errorf("stopped while it waits: %v", err)
	}
}

// A damaged index ends it, with what to do.
func TestWatchDamaged(t *testing.T) {
	d := watchFolder(t, nil)
	d.drop("1.jsonl", jsonNote("N1", "sat up"))
	d.looks()
	log := filepath.Join(d.index, "notes.log")
	b, err := os.ReadFile(log)
	if err != nil {
		t.Fatal(err)
	}
	b[len(b)-1] ^= 1
	if err := os.WriteFile(log, b, 0o600); err != nil {
		t.Fatal(err)
	}
	d.drop("2.jsonl", jsonNote("N2", "slept"))
	for range 2 {
		err = d.w.look(context.Background())
	}
	if err == nil || !strings.Contains(err.Error(), "--repair") {
		t.Errorf("look: %v, want the damage", err)
	}
}
