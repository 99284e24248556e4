// Package cli is the command line of stance: flags in, reports out. It decides nothing about notes;
// reading is done by lexicon and judging by lint.
//
// Start with [Main]. Each command has a file of its own, with a struct of its options and a run method.
package cli

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"runtime"
	"runtime/debug"
	"strings"
	"time"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"example.com/stance/lexicon"
	"example.com/stance/lint/nearest"
	"example.com/stance/lint/report"
)

// The exit statuses.
const (
	statusClean    = 0
	statusFindings = 1 // findings at or above --fail-on, or something that ready says to put right
	statusUsage    = 2 // wrong usage, or input that cannot be read
	statusInternal = 3 // a fault of the program, or stopped before the end
)

const exitStatuses = `Exit status:
  0  nothing found at or above --fail-on
  1  findings at or above --fail-on
  2  wrong usage, or input that could not be read
  3  a fault inside stance, a damaged index, or stopped before the end`

// doneStatuses are those of a command that judges nothing.
const doneStatuses = `Exit status:
  0  done
  2  wrong usage, or input that could not be read
  3  a fault inside stance, a damaged index, or stopped before the end`

// Main runs the command line args (without the program's name) and returns the exit status. Reports
// go to stdout; every line on stderr starts with "stance: ".
func Main(ctx context.Context, args []string, stdin io.Reader, stdout, stderr io.Writer) int {
	a := &app{in: stdin, out: stdout, err: stderr, getenv: os.Getenv, now: time.Now, compile: lexicon.New}
	return a.main(ctx, args)
}

// Commands is the tree of commands, for what is written of their texts: man pages and completion. None of it can be run.
func Commands() *cobra.Command { return (&app{}).root() }

func (a *app) main(ctx context.Context, args []string) (status int) {
	defer func() {
		if p := recover(); p != nil {
			a.say("internal fault: %v", fault(p))
			status = statusInternal
		}
	}()
	a.stop = ctx.Done()
	a.onScreen()
	root := a.root()
	root.SetArgs(args)
	root.SetIn(a.in)
	root.SetOut(a.out)
	root.SetErr(a.err)
	err := root.ExecuteContext(ctx)
	if err == nil {
		return statusClean
	}
	var e *exitError
	switch {
	case ctx.Err() != nil && errors.Is(err, context.Canceled):
		a.say("stopped before the end")
	case errors.As(err, &e):
		if e.err != nil {
			a.say("%v", e.err)
		}
		return e.status
	case ctx.Err() != nil:
		a.say("stopped before the end")
	default:
		a.say("%v", err)
	}
	return statusInternal
}

// fault tells a runtime error; any other panic value is left out, because it could hold words of a note.
func fault(p any) string {
	if err, ok := p.(runtime.Error); ok {
		return err.Error()
	}
	return fmt.Sprintf("panic with a %T", p)
}

// app is what all commands share: the streams, the environment, the clock and the compiler of the vocabulary.
type app struct {
	in        io.Reader
	out, err  io.Writer
	getenv    func(string) string
	now       func() time.Time
	compile   func(...lexicon.Word) (*lexicon.Lexicon, error) // lexicon.New, or one that remembers what it gave
	stdinUsed bool
	tty       *os.File        // standard output where it is a terminal, else nil
	stop      <-chan struct{} // closed when the program is to stop; nil: never
}

// say writes one line to standard error. What a file or a flag is called may drive a terminal, so the
// line is made safe to print.
func (a *app) say(format string, args ...any) {
	fmt.Fprintln(a.err, "stance: "+report.Printable(fmt.Sprintf(format, args...)))
}

// An exitError carries the status to exit with. Its err, where there is one, is told to the user.
type exitError struct {
	status int
	err    error
}

func (e *exitError) Error() string {
	if e.err == nil {
		return fmt.Sprintf("exit status %d", e.status)
	}
	return e.err.Error()
}

func (e *exitError) Unwrap() error { return e.err }

// usagef is an error of the user: a wrong argument, or input that cannot be read.
func usagef(format string, args ...any) error {
	return &exitError{statusUsage, fmt.Errorf(format, args...)}
}

func (a *app) root() *cobra.Command {
	root := &cobra.Command{
		Use:   "stance",
		Short: "Hold handover notes against the charted mobility status",
		Long: `stance reads the free-text handover notes of a care home, understands what they say about
mobility, and says where they conflict with the charted status, with other shifts and
with safe practice.

It changes no record and decides nothing: check the resident, the chart, and the nurse
or therapist. Local policy and licensed practice decide how a resident is moved.

` + exitStatuses,
		Example: `  stance demo demo-home
  stance check --chart demo-home/chart.csv demo-home/notes.jsonl
  stance rules load-over-limit`,
		Version:           version(),
		Args:              cobra.ArbitraryArgs,
		SilenceUsage:      true,
		SilenceErrors:     true,
		CompletionOptions: cobra.CompletionOptions{HiddenDefaultCmd: true},
	}
	root.RunE = func(_ *cobra.Command, args []string) error {
		if len(args) > 0 {
			return a.unknownCommand(root, args[0])
		}
		return usagef("want a command, one of %s; stance --help says more", list(commandNames(root)))
	}
	root.SetFlagErrorFunc(func(c *cobra.Command, err error) error {
		return usagef("%w; %s --help lists the flags", err, c.CommandPath())
	})
	root.AddCommand(a.checkCommand(), a.answerCommand(), a.rewriteCommand(), a.readCommand(), a.rulesCommand(), a.wordsCommand(), a.keepCommand(), a.findCommand(), a.historyCommand(), a.demoCommand())
	root.AddCommand(a.auditCommand())
	root.AddCommand(a.serveCommand(), a.listenCommand(), a.readyCommand())
	root.SetOut(a.out) // before completion is made ready, which asks where it goes only then
	completion(root)
	root.SetHelpCommand(&cobra.Command{
		Use:   "help [COMMAND]",
		Short: "Say how a command is used",
		RunE: func(_ *cobra.Command, args []string) error {
			if len(args) == 0 {
				return root.Help()
			}
			c, _, err := root.Find(args)
			if err != nil || c == root {
				return a.unknownCommand(root, args[0])
			}
			return c.Help()
		},
	})
	return root
}

// completion makes ready the command that prints what a shell needs to complete names. It is not listed, as it is no
// work on notes.
func completion(root *cobra.Command) {
	root.InitDefaultCompletionCmd("completion")
	c, _, err := root.Find([]string{"completion"})
	if err != nil {
		panic(err) // it was made just now
	}
	choices(root)
	shells := commandNames(c)
	for _, shell := range c.Commands() {
		shell.Args = arguments(0, 0, "no argument")
	}
	c.Args = cobra.ArbitraryArgs
	c.RunE = func(_ *cobra.Command, args []string) error {
		return usagef("stance completion: got %q, want one of %s", strings.Join(args, " "), list(shells))
	}
}

// choices completes the words of flags that take one of a few.
func choices(c *cobra.Command) {
	c.LocalFlags().VisitAll(func(f *pflag.Flag) {
		words, ok := f.Value.(*choice)
		if !ok {
			return
		}
		if err := c.RegisterFlagCompletionFunc(f.Name, cobra.FixedCompletions(words.allowed, cobra.ShellCompDirectiveNoFileComp)); err != nil {
			panic(err) // the flag is there
		}
	})
	for _, sub := range c.Commands() {
		choices(sub)
	}
}

func (a *app) unknownCommand(root *cobra.Command, name string) error {
	names := commandNames(root)
	if n, ok := nearest.Of(name, names); ok {
		return usagef("unknown command %q; did you mean %s?", name, n)
	}
	return usagef("unknown command %q, want one of %s", name, list(names))
}

func commandNames(root *cobra.Command) []string {
	var names []string
	for _, c := range root.Commands() {
		if c.IsAvailableCommand() && c.Name() != "help" {
			names = append(names, c.Name())
		}
	}
	return names
}

// arguments refuses a wrong number of arguments with status 2. most below 0 sets no limit.
func arguments(least, most int, want string) cobra.PositionalArgs {
	return func(c *cobra.Command, args []string) error {
		if len(args) < least || most >= 0 && len(args) > most {
			return usagef("%s: got %d arguments, want %s", c.CommandPath(), len(args), want)
		}
		return nil
	}
}

// version is the module's version as built, or "devel".
func version() string {
	if info, ok := debug.ReadBuildInfo(); ok && info.Main.Version != "" && info.Main.Version != "(devel)" {
		return info.Main.Version
	}
	return "devel"
}
