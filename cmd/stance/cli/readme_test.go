package cli_test

import (
	"bytes"
	"context"
	"encoding/csv"
	"io"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"example.com/stance/cmd/stance/cli"
)

// TestReadme does what README.md says, from top to bottom, in a folder of its own: files shown are
// written, commands in sh blocks are run, and those in console blocks print what stands there.
func TestReadme(t *testing.T) {
	top, err := filepath.Abs(root)
	if err != nil {
		t.Fatal(err)
	}
	file := filepath.Join(top, "README.md")
	b, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	t.Chdir(t.TempDir())
	r := reader{t: t, top: top, ran: map[string]bool{}}
	now := fenced.ReplaceAllStringFunc(string(b), func(s string) string {
		m := fenced.FindStringSubmatch(s)
		return "```" + m[1] + "\n" + r.block(m[1], m[2]) + "```\n"
	})
	if *update {
		if err := os.WriteFile(file, []byte(now), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	_, help, _ := run("--help")
	_, help, _ = strings.Cut(help, "Available Commands:\n")
	help, _, _ = strings.Cut(help, "\n\n")
	for line := range strings.Lines(help) {
		if name := strings.Fields(line)[0]; !r.ran[name] && name != "help" && name != "demo" {
			t.Errorf("no command of the README is stance %s", name)
		}
	}
}

// TestReadmeTellsAllPolicyKeys asks the program for its keys, by giving it one that is none.
func TestReadmeTellsAllPolicyKeys(t *testing.T) {
	b, err := os.ReadFile(filepath.Join(root, "README.md"))
	if err != nil {
		t.Fatal(err)
	}
	policy := filepath.Join(t.TempDir(), "stance.yaml")
	if err := os.WriteFile(policy, []byte("qqqqqqqq: 1\n"), 0o600); err != nil {
		t.Fatal(err)
	}
	_, _, errs := run("words", "--policy", policy, "walker")
	_, list, ok := strings.Cut(strings.TrimSpace(errs), "want one of ")
	if !ok || strings.Contains(list, "…") {
		t.Fatalf("want a list of all keys, got %q", errs)
	}
	for key := range strings.SplitSeq(list, ", ") {
		if !strings.Contains(string(b), "| `"+key+"` |") {
			t.Errorf("the README has no row for the policy's key %s", key)
		}
	}
}

var (
	fenced = regexp.MustCompile("(?ms)^```([a-z]+)\n(.*?)^```\n")
	word   = regexp.MustCompile(`'[^']*'|"[^"]*"|\S+`)
	ends   = regexp.MustCompile(`# exit status ([0-9])`)
)

// A reader does what the README says.
type reader struct {
	t   *testing.T
	top string // folder of the README
	ran map[string]bool
}

// block does what one block of code asks for, and gives what it should say.
func (r *reader) block(kind, text string) string {
	r.t.Helper()
	switch kind {
	case "sh":
		for line := range strings.Lines(text) {
			r.command(line)
		}
		return text
	case "console":
		line, want, _ := strings.Cut(text, "\n")
		shown, ok := strings.CutPrefix(line, "$ ")
		if !ok {
			r.t.Fatalf("an example starts with %q, want $ and a command", line)
		}
		got := r.print(shown)
		if diff := cmp.Diff(want, got); diff != "" && !*update {
			r.t.Errorf("%s (-README +printed):\n%s", line, diff)
		}
		return line + "\n" + got
	}
	name, ok := map[string]string{"json": "my.jsonl", "csv": "my-chart.csv", "yaml": "my.yaml"}[kind]
	if kind == "json" && strings.Contains(text, "resourceType") {
		name = "order.json"
	}
	if !ok {
		r.t.Fatalf("a block of %s, which no test looks at", kind)
	}
	if err := os.WriteFile(name, []byte(text), 0o600); err != nil {
		r.t.Fatal(err)
	}
	return text
}

// command does one line of a sh block.
func (r *reader) command(line string) {
	r.t.Helper()
	args := words(line)
	switch {
	case slices.Equal(args, []string{"go", "install", "./cmd/stance"}), slices.Equal(args, []string{"go", "test", "./..."}):
		// The test that is running stands for both.
	case slices.Equal(args[:min(3, len(args))], []string{"go", "run", "./cmd/stance"}):
		r.in(r.top, func() { r.stance(line, args[3:]) })
	case args[0] == "cd" && len(args) == 2:
		r.t.Chdir(args[1])
	case args[0] == "stance":
		if slices.Equal(args[:min(3, len(args))], []string{"stance", "audit", "agree"}) {
			mark(r.t, args[3])
		}
		r.stance(line, args[1:])
	default:
		r.t.Errorf("%s: want go, cd or stance", line)
	}
}

// in does something in another folder.
func (r *reader) in(dir string, do func()) {
	r.t.Helper()
	here, err := os.Getwd()
	if err != nil {
		r.t.Fatal(err)
	}
	r.t.Chdir(dir)
	do()
	r.t.Chdir(here)
}

// print runs a command of a console block and gives what it prints.
func (r *reader) print(line string) string {
	r.t.Helper()
	args := words(line)
	if args[0] != "stance" {
		r.t.Fatalf("%s: want stance", line)
	}
	r.ran[args[1]] = true
	_, out, errs := run(args[1:]...)
	if errs != "" {
		r.t.Errorf("%s: on stderr: %s", line, errs)
	}
	return out
}

// stance runs one command line, which must end as its comment says, or well and with nothing to
// remark. Who serves, listens or watches stops when told
// that it is ready, and who is asked for a password gives one.
func (r *reader) stance(line string, args []string) {
	r.t.Helper()
	r.ran[args[0]] = true
	if args[0] == "serve" && args[1] != "adduser" || args[0] == "listen" {
		args = append(args, "--listen", "127.0.0.1:0")
	}
	want := 0
	if m := ends.FindStringSubmatch(line); m != nil {
		want, _ = strconv.Atoi(m[1])
	}
	ctx, stop := context.WithCancel(context.Background())
	defer stop()
	out := io.Discard
	watch := slices.Index(args, "--watch")
	if watch > 0 {
		if err := os.MkdirAll(args[watch+1], 0o700); err != nil {
			r.t.Fatal(err)
		}
	}
	if args[0] == "serve" || args[0] == "listen" || watch > 0 {
		out = &stopper{stop: stop}
	}
	var errs bytes.Buffer
	got := cli.MainAt(ctx, clock(), args, strings.NewReader("a pass phrase of several words\n"), out, &errs)
	if remarked := strings.Contains(line, " # "); got != want || errs.Len() > 0 && !remarked {
		r.t.Errorf("%s: status %d, want %d; on stderr: %s", strings.TrimSpace(line), got, want, errs.String())
	}
}

// A stopper stops a server once it has said the last of what it says at its start.
type stopper struct {
	said []byte
	stop func()
}

func (s *stopper) Write(p []byte) (int, error) {
	if s.said = append(s.said, p...); bytes.Contains(s.said, []byte("Check the resident")) || bytes.Contains(s.said, []byte("Ctrl-C stops it")) {
		s.stop()
	}
	return len(p), nil
}

// words are the words of a command line, up to its comment.
func words(line string) []string {
	line, _, _ = strings.Cut(line, " #")
	ws := word.FindAllString(line, -1)
	for i, w := range ws {
		ws[i] = strings.Trim(w, `'"`)
	}
	return ws
}

// mark fills in the column mark of a sheet, as a person would.
func mark(t *testing.T, name string) {
	t.Helper()
	b, err := os.ReadFile(name)
	if err != nil {
		t.Fatal(err)
	}
	rows, err := csv.NewReader(bytes.NewReader(b)).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	column := slices.Index(rows[0], "mark")
	for i, row := range rows[1:] {
		row[column] = []string{"yes", "no", "unclear"}[i%3]
	}
	var out bytes.Buffer
	if err := csv.NewWriter(&out).WriteAll(rows); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(name, out.Bytes(), 0o600); err != nil {
		t.Fatal(err)
	}
}
