package main

import (
	"bufio"
	"context"
	"fmt"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"

	"example.com/stance/cmd/stance/bench/corpus"
	"example.com/stance/lexicon"
)

// A bench is one run: what is measured, and the files it is measured on.
type bench struct {
	*options
	dir  string
	log  io.Writer
	text int64 // bytes of notes.jsonl
}

func (b *bench) file(name string) string { return filepath.Join(b.dir, name) }

// The files.
const (
	notesFile  = "notes.jsonl"
	tableFile  = "notes.csv"
	chartFile  = "chart.csv"
	shiftFile  = "shift.jsonl"
	singleFile = "single.jsonl"
	termsFile  = "terms.txt"
)

// prepare writes the files.
func (b *bench) prepare() error {
	fmt.Fprintf(b.log, "writing %d notes on %d residents\n", b.home.Notes, b.home.Residents)
	csv, err := os.Create(b.file(tableFile))
	if err != nil {
		return err
	}
	defer csv.Close()
	lines, err := os.Create(b.file(notesFile))
	if err != nil {
		return err
	}
	defer lines.Close()
	if err := b.home.Write(corpus.JSONLines(lines), corpus.Table(csv)); err != nil {
		return err
	}
	info, err := lines.Stat()
	if err != nil {
		return err
	}
	b.text = info.Size()
	for name, write := range map[string]func(io.Writer) error{
		chartFile:  b.home.WriteChart,
		shiftFile:  func(w io.Writer) error { return b.home.WriteNext(corpus.JSONLines(w), b.shift) },
		singleFile: func(w io.Writer) error { return b.home.WriteNext(corpus.JSONLines(w), 1) },
	} {
		if err := writeFile(b.file(name), write); err != nil {
			return err
		}
	}
	self, err := os.Executable()
	if err != nil {
		return err
	}
	if out, err := exec.Command(self, listTerms, b.file(termsFile)).CombinedOutput(); err != nil {
		return fmt.Errorf("listing terms: %w\n%s", err, out)
	}
	return nil
}

// listTerms is the argument by which this program lists terms.
const listTerms = "list-terms"

func writeFile(name string, write func(io.Writer) error) error {
	f, err := os.Create(name)
	if err != nil {
		return err
	}
	defer f.Close()
	w := bufio.NewWriter(f)
	if err := write(w); err != nil {
		return err
	}
	return w.Flush()
}

// writeTerms writes those wordings of the vocabulary that are plain words, one a line, for a program that
// counts them.
func writeTerms(w io.Writer) error {
	lex, err := lexicon.New()
	if err != nil {
		return err
	}
	plain := regexp.MustCompile(`^[a-z][a-z' /-]+[a-z]$`)
	for _, c := range lex.Concepts() {
		for _, s := range c.Says {
			if plain.MatchString(s) {
				if _, err := fmt.Fprintln(w, s); err != nil {
					return err
				}
			}
		}
	}
	return nil
}

// A work is something that a program does, as a process of its own.
type work struct {
	name  string
	notes int  // that its time is shared out to; 0: none
	index bool // it works on a copy of the index that is kept before the rounds
	once  bool // on one core only: it is too short for two
	args  func(b *bench, index string) []string
	// other makes the command of a program that is no stance; nil where that is not installed.
	other func(ctx context.Context, b *bench, cores int) *exec.Cmd
}

// works are all there is to measure.
func (b *bench) works() []work {
	n := b.home.Notes
	at := b.file
	say := func(args ...string) func(*bench, string) []string {
		return func(*bench, string) []string { return args }
	}
	kept := func(args ...string) func(*bench, string) []string {
		return func(_ *bench, index string) []string { return append(args, "--index", index) }
	}
	find := func(args ...string) func(*bench, string) []string {
		return kept(append([]string{"find"}, args...)...)
	}
	return []work{
		{name: "start", once: true, args: say("read", at(singleFile))},
		{name: "read", notes: n, args: say("read", "--format", "json", at(notesFile))},
		{name: "check", notes: n, args: say("check", "--quiet", "--fail-on", "never", "--format", "json", at(notesFile))},
		{name: "check --chart", notes: n, args: say("check", "--fail-on", "never", "--format", "json", "--chart", at(chartFile), at(notesFile))},
		{name: "audit", notes: n, args: say("audit", "--chart", at(chartFile), at(notesFile))},
		{name: "keep", notes: n, args: kept("keep", "--quiet", "--chart", at(chartFile), at(notesFile))},
		{name: "rg counts terms", notes: n, other: ripgrep},
		{name: "raw bleve", notes: n, other: bleveCommand},
		{name: "sqlite fts5", notes: n, other: sqlite},
		{name: "keep a shift", index: true, args: kept("keep", "--quiet", "--chart", at(chartFile), at(shiftFile))},
		{name: "check a shift", index: true, args: kept("check", "--fail-on", "never", "--format", "json", "--chart", at(chartFile), "--shift", b.home.LastShift())},
		{name: "check a shift given", index: true, args: kept("check", "--fail-on", "never", "--format", "json", "--chart", at(chartFile), at(shiftFile))},
		{name: "history", index: true, once: true, args: kept("history", b.home.Resident(1), "--chart", at(chartFile))},
		{name: "remove", index: true, args: kept("keep", "--remove", b.home.Resident(1))},
		{name: "find words", index: true, once: true, args: find("walker to dining")},
		{name: "find a fact", index: true, once: true, args: find("--concept", "move.transfer", "--aid", "belt", "--unit", "Unit 1")},
		{name: "find a resident", index: true, once: true, args: find("--resident", b.home.Resident(2), "fall")},
	}
}

// command is the command of a program's work on so many cores.
func (b *bench) command(ctx context.Context, w *work, p program, index string, cores int) *exec.Cmd {
	if w.other != nil {
		return w.other(ctx, b, cores)
	}
	c := exec.CommandContext(ctx, p.path, w.args(b, index)...)
	c.Env = append(os.Environ(), fmt.Sprintf("GOMAXPROCS=%d", cores))
	return c
}

// installed reports whether a program can be run.
func installed(name string) bool {
	_, err := exec.LookPath(name)
	return err == nil
}

func ripgrep(ctx context.Context, b *bench, cores int) *exec.Cmd {
	if !installed("rg") || cores > 1 { // it shares out files, of which there is one
		return nil
	}
	return exec.CommandContext(ctx, "rg", "-j1", "--count-matches", "-i", "-F", "-f", b.file(termsFile), b.file(notesFile))
}

func sqlite(ctx context.Context, b *bench, cores int) *exec.Cmd {
	if !installed("sqlite3") || cores > 1 {
		return nil
	}
	c := exec.CommandContext(ctx, "sqlite3", b.file("fts5.db"))
	c.Stdin = strings.NewReader("create virtual table notes using fts5(id unindexed, resident, unit, body);\n" +
		".import --csv " + b.file(tableFile) + " notes\n")
	return c
}
