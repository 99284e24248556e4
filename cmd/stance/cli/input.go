package cli

import (
	"context"
	"errors"
	"fmt"
	"io"
	"maps"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"github.com/spf13/cobra"
	"golang.org/x/term"

	"example.com/stance/lexicon"
	"example.com/stance/lint"
	"example.com/stance/lint/bounded"
	"example.com/stance/lint/chart"
	"example.com/stance/lint/note"
	"example.com/stance/lint/plural"
	"example.com/stance/lint/policy"
	"example.com/stance/lint/rules"
)

// inputFlags say how notes are read.
type inputFlags struct {
	policy  string
	columns []string
	sheet   string
	skipBad bool
	quiet   bool
}

func (f *inputFlags) register(c *cobra.Command, quiet string) {
	c.Flags().StringVar(&f.policy, "policy", "", "policy `file` (else stance.yaml beside the first notes file, else the defaults)")
	c.Flags().StringArrayVar(&f.columns, "column", nil, "`name=header` of a column of a CSV, TSV or XLSX file, as in text=\"Progress Note\"; may be given again")
	c.Flags().StringVar(&f.sheet, "sheet", "", "sheet of a workbook, by its `name` or number (else the first)")
	c.Flags().BoolVar(&f.skipBad, "skip-bad", false, "records that cannot be read are told but do not set exit status 2")
	c.Flags().BoolVarP(&f.quiet, "quiet", "q", false, quiet)
}

// notesOrStdin is files, or standard input where none is given and it is not a keyboard.
func (a *app) notesOrStdin(files []string) ([]string, error) {
	if len(files) > 0 {
		return files, nil
	}
	if isTerminal(a.in) {
		return nil, usagef("no notes given, want a file of notes, or - for standard input")
	}
	return []string{stdinName}, nil
}

// isTerminal reports whether a stream of the program is a terminal.
func isTerminal(stream any) bool {
	f, ok := stream.(*os.File)
	return ok && term.IsTerminal(int(f.Fd()))
}

// policy reads the policy file that is named, else stance.yaml beside the first of the notes, else
// gives the defaults. It also gives the lexicon with the home's own words.
func (a *app) policy(named string, notes []string) (*policy.Policy, *lexicon.Lexicon, error) {
	name := policyFile(named, notes)
	if name == "" {
		lex, err := a.compile()
		return policy.Default(), lex, err
	}
	f, err := a.open(name)
	if err != nil {
		return nil, nil, err
	}
	defer f.Close()
	return a.readPolicy(name, f)
}

// policyFile is the policy file that is named, else stance.yaml beside the first of the notes; empty
// where there is none.
func policyFile(named string, notes []string) string {
	if named != "" || len(notes) == 0 || notes[0] == stdinName {
		return named
	}
	beside := filepath.Join(filepath.Dir(notes[0]), "stance.yaml")
	if _, err := os.Stat(beside); err != nil {
		return ""
	}
	return beside
}

// readPolicy reads a policy, which errors call by name, and gives the lexicon with the home's own words.
func (a *app) readPolicy(name string, r io.Reader) (*policy.Policy, *lexicon.Lexicon, error) {
	lex, err := a.compile()
	if err != nil {
		return nil, nil, err
	}
	all, err := rules.All()
	if err != nil {
		return nil, nil, err
	}
	var known policy.Known
	for _, r := range all {
		known.Rules = append(known.Rules, r.ID)
	}
	for _, c := range lex.Concepts() {
		known.Concepts = append(known.Concepts, c.ID)
	}
	p, err := policy.Read(name, r, known)
	if err != nil {
		return nil, nil, usagef("%w", err)
	}
	if len(p.Words) > 0 {
		if lex, err = a.compile(p.Words...); err != nil {
			return nil, nil, usagef("%s: %w", name, err)
		}
	}
	return p, lex, nil
}

// chartFlags name the chart.
type chartFlags struct {
	chartFile, chartSheet string
}

func (f *chartFlags) register(c *cobra.Command) {
	c.Flags().StringVar(&f.chartFile, "chart", "", "CSV, XLSX or FHIR `file` of the charted mobility status")
	chartSheetFlag(c, &f.chartSheet)
}

func chartSheetFlag(c *cobra.Command, sheet *string) {
	c.Flags().StringVar(sheet, "chart-sheet", "", "sheet of the chart in a workbook, by its `name` or number (else the first)")
}

// chart reads the chart. Rows that cannot be read are told, and counted.
func (a *app) chart(flags chartFlags, p *policy.Policy) (*chart.Chart, int, error) {
	name := flags.chartFile
	f, err := a.open(name)
	if err != nil {
		return nil, 0, err
	}
	defer f.Close()
	c, passed, bad, err := chart.ReadAny(name, bounded.Reader(f, mostChart), chart.Options{Zone: p.Zone, Codes: p.Codes, Sheet: flags.chartSheet})
	if err != nil {
		return nil, 0, usagef("%w", err)
	}
	a.sayPassed(name, "charted status", passed)
	lines := make([]string, len(bad))
	for i, e := range bad {
		lines[i] = e.Error()
	}
	a.sayAll(lines, "more rows of "+name+" cannot be read")
	return c, len(bad), nil
}

// checker makes the checker for a chart, which may go unnamed, and says how many of its rows cannot be read.
func (a *app) checker(flags chartFlags, lex *lexicon.Lexicon, p *policy.Policy) (c *lint.Checker, ch *chart.Chart, badRows int, err error) {
	if flags.chartFile != "" {
		if ch, badRows, err = a.chart(flags, p); err != nil {
			return nil, nil, 0, err
		}
	}
	c, err = lint.NewChecker(lex, ch, p)
	return c, ch, badRows, err
}

// badShown is how many flaws of one kind are told one by one.
const badShown = 20

// sayAll writes the first of the lines, and how many more there are.
func (a *app) sayAll(lines []string, more string) {
	for i, line := range lines {
		if i == badShown {
			a.say("%d %s", len(lines)-i, more)
			return
		}
		a.say("%s", line)
	}
}

// An outcome counts what was read.
type outcome struct {
	notes      int // notes handed on
	badRecords int // records that could not be read
	badFiles   int // files that could not be read to their end
}

// add adds what was read besides.
func (o *outcome) add(more outcome) {
	o.notes += more.notes
	o.badRecords += more.badRecords
	o.badFiles += more.badFiles
}

// err is the error that the outcome calls for, once the report is out.
func (o outcome) err(skipBad bool) error {
	switch {
	case o.badFiles > 0:
		return &exitError{status: statusUsage}
	case o.badRecords > 0 && !skipBad:
		return usagef("%s could not be read; the others were (--skip-bad accepts that)", plural.Of(o.badRecords, "record"))
	}
	return nil
}

// eachNote hands every readable note of the files to take, in order. What cannot be read is told on
// standard error and counted. The error is take's, the context's, or a wrong flag's.
func (a *app) eachNote(ctx context.Context, files []string, f *inputFlags, p *policy.Policy, take func(note.Note) error) (outcome, error) {
	return a.eachNoteOrNone(ctx, files, f, p, take, nil)
}

// eachNoteOrNone is eachNote, and hands on the documents that a file takes back too, behind its notes.
func (a *app) eachNoteOrNone(ctx context.Context, files []string, f *inputFlags, p *policy.Policy, take func(note.Note) error, withdrawn func(string, note.Withdrawal)) (outcome, error) {
	columns, err := columnNames(f.columns)
	if err != nil {
		return outcome{}, err
	}
	opt := note.Options{Zone: p.Zone, Columns: columns, Roles: p.Roles, Sheet: f.sheet}
	in := intake{app: a, take: take, withdrawn: withdrawn, progress: a.newProgress(f.quiet)}
	defer in.progress.done()
	for _, name := range files {
		if err := in.file(ctx, name, opt); err != nil {
			return in.outcome, err
		}
	}
	if n := in.badRecords - badShown; n > 0 {
		in.say("%d more records cannot be read", n)
	}
	return in.outcome, nil
}

// intake is one pass over the notes files.
type intake struct {
	*app
	outcome
	take      func(note.Note) error
	withdrawn func(file string, w note.Withdrawal) // nil: nothing is kept that could be withdrawn
	progress  *progress
}

func (in *intake) file(ctx context.Context, name string, opt note.Options) error {
	before := in.outcome
	r, shut, err := in.openNotes(name, opt)
	if errors.Is(err, context.Canceled) {
		return err
	}
	if err != nil {
		in.badFile(err)
		return nil
	}
	defer shut()
	for {
		if err := ctx.Err(); err != nil {
			return err
		}
		n, err := r.Next()
		var bad *note.BadRecord
		switch {
		case errors.Is(err, io.EOF):
			in.sayPassed(name, "notes", in.passed(name, r))
			if in.outcome == before && len(r.Withdrawn()) == 0 {
				in.say("%s: no notes in it", name)
			}
			return nil
		case errors.As(err, &bad):
			in.badRecord(bad)
			continue
		case errors.Is(err, context.Canceled):
			return err
		case err != nil:
			in.badFile(err)
			return nil
		}
		in.notes++
		in.progress.step(in.notes)
		if err := in.take(n); err != nil {
			return err
		}
	}
}

// passed counts what a file has of no use, by type. What it takes back is of use where notes are kept.
func (in *intake) passed(name string, r *note.Reader) map[string]int {
	passed := r.Passed()
	for _, w := range r.Withdrawn() {
		switch {
		case in.withdrawn != nil:
			in.withdrawn(name, w)
		case !w.Here:
			passed["MDM^T11 (of a document that is not here)"]++
		}
	}
	return passed
}

// sayPassed says how many records of each type have nothing in them of what is read.
func (a *app) sayPassed(name, what string, passed map[string]int) {
	if len(passed) == 0 {
		return
	}
	var counts []string
	for _, kind := range slices.Sorted(maps.Keys(passed)) {
		counts = append(counts, fmt.Sprintf("%d %s", passed[kind], kind))
	}
	a.say("%s: no %s in %s", name, what, strings.Join(counts, ", "))
}

// openNotes opens a file of notes; the function closes it.
func (in *intake) openNotes(name string, opt note.Options) (*note.Reader, func() error, error) {
	f, err := in.open(name)
	if err != nil {
		return nil, nil, err
	}
	r, err := note.NewReader(name, f, opt)
	if err != nil {
		return nil, nil, errors.Join(err, f.Close())
	}
	return r, f.Close, nil
}

func (in *intake) badFile(err error) {
	in.badFiles++
	in.say("%v", err)
}

func (in *intake) badRecord(bad *note.BadRecord) {
	if in.badRecords++; in.badRecords <= badShown {
		in.say("%v", bad)
	}
}

// columnNames reads the --column flags.
func columnNames(flags []string) (map[string]string, error) {
	known := []string{"note", "resident", "unit", "time", "shift", "role", "author", "text"}
	columns := map[string]string{}
	for _, s := range flags {
		name, header, ok := strings.Cut(s, "=")
		if name = strings.TrimSpace(name); !ok || header == "" {
			return nil, usagef("--column %q: want name=header, as in text=\"Progress Note\"", s)
		}
		if !slices.Contains(known, name) {
			return nil, usagef("--column %q: unknown name, want %s", s, list(known))
		}
		if _, twice := columns[name]; twice {
			return nil, usagef("--column %q: %s is given twice", s, name)
		}
		columns[name] = header
	}
	return columns, nil
}
