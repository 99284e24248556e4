package cli

import (
	"fmt"
	"io"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"golang.org/x/sys/unix"
)

// terminal opens a pseudo-terminal: what is written to the second comes out of the first.
func terminal(t *testing.T) (master, slave *os.File) {
	t.Helper()
	master, err := os.OpenFile("/dev/ptmx", os.O_RDWR|unix.O_NOCTTY, 0)
	if err != nil {
		t.Skipf("no pseudo-terminals here: %v", err)
	}
	t.Cleanup(func() { _ = master.Close() })
	fd := int(master.Fd())
	if err := unix.IoctlSetPointerInt(fd, unix.TIOCSPTLCK, 0); err != nil {
		t.Fatal(err)
	}
	number, err := unix.IoctlGetInt(fd, unix.TIOCGPTN)
	if err != nil {
		t.Fatal(err)
	}
	slave, err = os.OpenFile(fmt.Sprintf("/dev/pts/%d", number), os.O_RDWR|unix.O_NOCTTY, 0)
	if err != nil {
		t.Fatal(err)
	}
	return master, slave
}

// onTerminal runs a command whose standard output is a terminal, and gives what reaches that.
func onTerminal(t *testing.T, args ...string) string {
	t.Helper()
	master, slave := terminal(t)
	shown := make(chan string)
	go func() {
		b, _ := io.ReadAll(master) // ends with an error when the other end is closed
		shown <- string(b)
	}()
	a, _, stderr := testApp("")
	a.out = slave
	status := a.main(t.Context(), args)
	if err := slave.Close(); err != nil {
		t.Fatal(err)
	}
	if status > statusFindings {
		t.Fatalf("%v: status %d: %s", args, status, stderr)
	}
	return <-shown
}

// In no form does a note drive the terminal that a report is printed to; colours do come out of text.
func TestTerminal(t *testing.T) {
	t.Chdir(t.TempDir())
	const text = "Fell by the bed \x1b[31mred\x1b]0;title\a \u009b2J \u0085, found on floor. Transferred x1 to chair \x1b[2J with 2ww."
	notes := fmt.Sprintf(`{"note":"N%s1","resident":"R1","unit":"A","time":"2026-11-24T08:00:00Z","role":"nurse","author":"A","text":%q}`+"\n", `\u001b[2J\u009b`, "")
	notes = strings.Replace(notes, `"text":""`, `"text":"`+strings.NewReplacer("\x1b", `\u001b`, "\a", `\u0007`).Replace(text)+`"`, 1)
	for name, content := range map[string]string{
		"notes.jsonl": notes,
		"chart.csv": "resident,unit,from,until,left_leg,right_leg,left_arm,right_arm,transfer,staff,aids,walk,by\n" +
			"R1,A,2026-11-20T09:00:00Z,,nwb,,,,two-person-pivot,2,walker-2w,no,nurse\n",
	} {
		if err := os.WriteFile(filepath.Join(".", name), []byte(content), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	a, _, stderr := testApp("")
	if status := a.main(t.Context(), []string{"keep", "--quiet", "notes.jsonl"}); status != statusClean {
		t.Fatalf("status %d: %s", status, stderr)
	}
	style := regexp.MustCompile("\x1b\\[[0-9;]*m")
	for _, line := range []string{
		"check --chart chart.csv notes.jsonl", "check --chart chart.csv --format json notes.jsonl", "check --chart chart.csv --format sarif notes.jsonl",
		"read notes.jsonl", "read --format json notes.jsonl",
		"rewrite notes.jsonl", "rewrite --format json notes.jsonl",
		"find fell", "find --format json fell", "find --format csv fell",
		"history R1 --index stance-index", "history R1 --index stance-index --format json", "history R1 --index stance-index --format html",
		"audit notes.jsonl", "audit --format json notes.jsonl", "audit --format csv notes.jsonl", "audit --format html notes.jsonl",
		"words " + text, "words --format json " + text,
	} {
		args := strings.Split(line, " ")
		if args[0] == "words" {
			args = append(args[:strings.Count(line[:len(line)-len(text)], " ")], text)
		}
		shown := onTerminal(t, args...)
		if shown == "" {
			t.Errorf("%s: nothing shown", args)
		}
		rest := strings.ReplaceAll(shown, "\r\n", "\n") // the terminal itself puts the \r in
		if !strings.Contains(line, "--format") {
			rest = style.ReplaceAllString(rest, "")
		}
		if strings.Contains(shown, "\x1b[31mred") {
			t.Errorf("%s: the note's own colour reaches the terminal", args)
		}
		for _, r := range rest {
			if r != '\n' && r != '\t' && (r < ' ' || 0x7f <= r && r <= 0x9f) {
				t.Errorf("%s: %q reaches the terminal in %q", args[:min(3, len(args))], r, rest)
				break
			}
		}
	}
	if shown := onTerminal(t, "check", "--chart", "chart.csv", "notes.jsonl"); !strings.Contains(shown, "\x1b[") {
		t.Errorf("no colours in %q", shown)
	}
}
