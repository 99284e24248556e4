// Bench measures stance, and other programs beside it where they are installed, on invented notes: CPU time
// and memory as the system counts them for each process, in turn, so that whatever else the machine does
// meets all of them alike.
//
//	go run ./cmd/stance/bench
//	go run ./cmd/stance/bench -notes 100000 -residents 960 -rounds 7
//	go run ./cmd/stance/bench -program before=/tmp/stance-before -program after=/tmp/stance-after
//
// It prints, for each piece of work, the median of the rounds, their least and most, and the ratio to the
// first program, taken round by round.
package main

import (
	"context"
	"errors"
	"flag"
	"fmt"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"

	"example.com/stance/cmd/stance/bench/corpus"
)

func main() {
	if err := run(context.Background(), os.Args[1:], os.Stdout, os.Stderr); err != nil {
		if !errors.Is(err, flag.ErrHelp) {
			fmt.Fprintln(os.Stderr, "bench:", err)
		}
		os.Exit(2)
	}
}

// options are what the flags say.
type options struct {
	home     corpus.Home
	shift    int // notes of the next shift
	rounds   int
	programs programs
	only     *regexp.Regexp
	cores    []int
}

// A program is a stance to be measured.
type program struct{ name, path string }

type programs []program

func (p *programs) String() string { return fmt.Sprint(*p) }

func (p *programs) Set(s string) error {
	name, path, ok := strings.Cut(s, "=")
	if !ok || name == "" {
		return errors.New("want NAME=FILE")
	}
	path, err := filepath.Abs(path)
	*p = append(*p, program{name, path})
	return err
}

// readFlags reads the flags.
func readFlags(args []string, stderr io.Writer) (*options, error) {
	opt := options{home: corpus.Home{}}
	f := flag.NewFlagSet("bench", flag.ContinueOnError)
	f.SetOutput(stderr)
	f.IntVar(&opt.home.Notes, "notes", 10_000, "`number` of notes; a million takes an hour and 5 GB")
	f.IntVar(&opt.home.Residents, "residents", 0, "`number` of residents; 0 is one for a hundred notes")
	f.Uint64Var(&opt.home.Seed, "seed", 1, "`number` that the notes follow from")
	f.IntVar(&opt.shift, "shift", 0, "`number` of notes of the shift that is kept later; 0 is one for each third resident")
	f.IntVar(&opt.rounds, "rounds", 5, "`times` that each piece of work is done")
	f.Var(&opt.programs, "program", "a stance to be measured, as `NAME=FILE`; may be given again (else that of this folder is built)")
	only := f.String("run", "", "only the work whose name matches this `expression`")
	one := f.Bool("one", false, "on one core only, not also on two")
	if err := f.Parse(args); err != nil {
		return nil, err
	}
	if f.NArg() > 0 || opt.home.Notes < 100 || opt.rounds < 1 || opt.home.Residents < 0 || opt.shift < 0 {
		return nil, errors.New("want no arguments, at least 100 notes and one round")
	}
	if opt.home.Residents == 0 {
		opt.home.Residents = max(1, opt.home.Notes/100)
	}
	if opt.shift == 0 {
		opt.shift = max(1, opt.home.Residents/3)
	}
	opt.cores = []int{1, 2}
	if *one {
		opt.cores = opt.cores[:1]
	}
	var err error
	opt.only, err = regexp.Compile(*only)
	return &opt, err
}

func run(ctx context.Context, args []string, stdout, stderr io.Writer) (err error) {
	// This very program does these as a process of its own: one to be measured, the other because the most memory
	// that a process had counts for those that it starts as well.
	if len(args) == 3 && args[0] == rawBleve {
		return indexRaw(args[1], args[2])
	}
	if len(args) == 2 && args[0] == listTerms {
		return writeFile(args[1], writeTerms)
	}
	opt, err := readFlags(args, stderr)
	if err != nil {
		return err
	}
	dir, err := os.MkdirTemp("", "stance-bench-")
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, os.RemoveAll(dir)) }()
	if len(opt.programs) == 0 {
		built := program{"stance", filepath.Join(dir, "stance")}
		if out, err := exec.CommandContext(ctx, "go", "build", "-o", built.path, "./cmd/stance").CombinedOutput(); err != nil {
			return fmt.Errorf("building stance, in the folder of the checkout: %w\n%s", err, out)
		}
		opt.programs = programs{built}
	}
	b := &bench{options: opt, dir: dir, log: stderr}
	if err := b.prepare(); err != nil {
		return err
	}
	table, err := b.measure(ctx)
	if err != nil {
		return err
	}
	return table.print(stdout, b)
}
