package cli

import (
	"bytes"
	"context"
	"errors"
	"slices"
	"time"

	"github.com/spf13/cobra"
	"golang.org/x/term"

	"example.com/stance/lint"
	"example.com/stance/lint/answers"
	"example.com/stance/lint/chart"
	"example.com/stance/lint/finding"
	"example.com/stance/lint/note"
	"example.com/stance/lint/policy"
	"example.com/stance/lint/report"
	"example.com/stance/lint/rules"
)

type checkOptions struct {
	inputFlags
	selectFlags
	chartFlags
	index   string
	answers string
	all     bool
	unread  bool
	out     string
	format  *choice
	failOn  *choice
}

func (a *app) checkCommand() *cobra.Command {
	var opt checkOptions
	c := &cobra.Command{
		Use:   "check [NOTES…] --chart CHART [--index DIR]",
		Short: "Say where notes conflict with the chart, other shifts and safe practice",
		Long: `check reads notes, holds them against the chart and against each other, and prints what
conflicts, what is missing and what will be misread, the resident with the worst first.

Notes are JSON Lines, CSV, TSV, XLSX, plain text, FHIR or HL7 v2; - or no file at all reads
standard input.
Without --chart the rules that need one stay silent. The selecting flags choose what is
reported; all notes given are still read, because a note is judged by those around it.

With --index and no notes, the notes that stance keep put there are checked, each selected
one with all that is kept of its resident and of the shifts around. With notes as well,
those given are checked, with the kept ones around them; a note that is given and kept
counts as it is given.

With --answers the ids of findings are shown, and a finding that was answered with stance
answer is left out and sets no exit status; --all shows it, marked. One that is being looked
into stays open. A file of answers that is not there yet holds none.

A sentence that names a move and of which nothing was understood is counted at the end of the
text, listed with --unread, and always in the JSON: nothing was found in it either way.

A workbook (xlsx) has a sheet of the findings and one of the residents on each shift, those of the
chart without a note among them. JUnit XML has a suite for each rule; in it a finding fails that
sets exit status 1.

` + exitStatuses,
		Example: `  stance check --chart chart.csv notes.jsonl
  stance check --chart chart.csv --shift 2026-11-24/night --unit Birch november.csv
  stance check --chart chart.csv --format json - < notes.jsonl
  stance check --chart chart.csv --index stance-index --shift 2026-11-24/night`,
		RunE: func(c *cobra.Command, files []string) error {
			opt.format.byName(c, opt.out)
			return a.check(c.Context(), &opt, files)
		},
	}
	opt.format = formats(c, "text", "md", "json", "csv", "xlsx", "sarif", "junit", "fhir")
	c.Flags().StringVar(&opt.out, "out", "", "write the report to this `file`, which must not be there yet; its name tells the format")
	opt.failOn = &choice{value: string(finding.Error), allowed: []string{"error", "warning", "hint", "never"}}
	opt.chartFlags.register(c)
	c.Flags().StringVar(&opt.index, "index", "", "`folder` of kept notes, to check or to have around the notes given")
	c.Flags().StringVar(&opt.answers, "answers", "", "`file` of the answers to findings")
	c.Flags().BoolVar(&opt.all, "all", false, "show answered findings too")
	c.Flags().BoolVar(&opt.unread, "unread", false, "list the sentences about moving that were not understood")
	c.Flags().Var(opt.failOn, "fail-on", "exit with status 1 from this severity up")
	opt.inputFlags.register(c, "print no report; the exit status tells")
	opt.selectFlags.register(c)
	return c
}

func (a *app) check(ctx context.Context, opt *checkOptions, files []string) (err error) {
	if err := absent("--out", opt.out); err != nil {
		return err
	}
	if len(files) == 0 && opt.index == "" {
		var err error
		if files, err = a.notesOrStdin(files); err != nil {
			return err
		}
	}
	home, err := a.home(opt.policy, files, opt.index)
	if err != nil {
		return err
	}
	p, lex := home.policy, home.lex
	sel, err := opt.ready(p)
	if err != nil {
		return err
	}
	if opt.all && opt.answers == "" {
		return usagef("--all shows answered findings, want --answers FILE with it")
	}
	book, err := a.answers(opt.answers)
	if err != nil {
		return err
	}
	checker, ch, badRows, err := a.checker(opt.chartFlags, lex, p)
	if err != nil {
		return err
	}
	t := &checkTask{
		app: a, sel: sel, checker: checker, chart: ch, residents: map[string]bool{},
	}
	held := checker.SpoolBeyond(mostHeld, "")
	defer func() {
		if shut := held.Close(); shut != nil {
			err = errors.Join(err, shut)
		}
	}()
	run := &report.Run{
		Tally: report.Tally{Charted: ch != nil},
		Notes: t.notes,
	}
	var read outcome
	reported := func(f *finding.Finding) bool { return sel.finding(f) }
	if opt.index == "" {
		read, err = a.eachNote(ctx, files, &opt.inputFlags, p, func(n note.Note) error {
			t.take(n, sel.note(&n))
			return nil
		})
	} else {
		read, reported, err = t.takeKept(ctx, opt, lex, p, files)
	}
	if err != nil {
		return err
	}
	t.checker.Now = t.ahead()
	read.badRecords += badRows
	run.Tally.Notes, run.Tally.Residents, run.Tally.Unread = t.selected, len(t.residents), read.badRecords
	if read.notes == 0 && (read.badFiles > 0 || read.badRecords > 0 && !opt.skipBad) {
		return read.err(opt.skipBad) // a report on nothing would read as a clean one
	}
	var roster *roster
	if opt.format.value == "xlsx" {
		roster = newRoster(sel, ch)
	}
	summary, err := t.checker.Each(ctx, func(j lint.Judged) error {
		collect(run, j, reported, book, opt.all)
		roster.take(j)
		return nil
	})
	if err != nil {
		return err
	}
	run.Present = roster.present()
	fails := func(f *finding.Finding) bool {
		// "never" has rank 0, below which no severity lies, so it is asked for by name.
		return opt.failOn.value != "never" && !f.Answer.Settles() && f.Severity.Rank() >= finding.Severity(opt.failOn.value).Rank()
	}
	if !opt.quiet {
		a.sayAll(summary.Problems, "more like these")
		if err := a.writeReport(opt, run, p, fails); err != nil {
			return err
		}
		if t.lost != nil {
			return t.lost
		}
	}
	if err := read.err(opt.skipBad); err != nil {
		return err
	}
	if slices.ContainsFunc(run.Findings, func(f finding.Finding) bool { return fails(&f) }) {
		return &exitError{status: statusFindings}
	}
	return nil
}

// collect puts what is to be reported of one resident into the run. Answered findings are only counted, unless all are
// asked for.
func collect(run *report.Run, j lint.Judged, reported func(*finding.Finding) bool, book *answers.Book, all bool) {
	for _, f := range j.Findings {
		if !reported(&f) {
			continue
		}
		if answer, ok := book.Of(f.ID); ok {
			f.Answer = &answer
			if answer.Settles() {
				run.Tally.Answered++
				if !all {
					continue
				}
			}
		}
		run.Findings = append(run.Findings, f)
	}
	for _, o := range j.Overlooked() {
		if reported(&finding.Finding{Resident: o.Resident, Note: o.Note, Shift: o.Shift, Unit: o.Unit, Time: o.Time}) {
			run.Overlooked = append(run.Overlooked, o)
		}
	}
}

// A checkTask is the notes of one run of stance check on their way into the checker.
type checkTask struct {
	*app
	sel       *selection
	checker   *lint.Checker
	chart     *chart.Chart
	selected  int             // notes that are reported on
	residents map[string]bool // of those notes
	lost      error           // why a note cannot be quoted
}

// mostHeld is how many bytes of texts are held in memory. More wait in a file.
const mostHeld = 64 << 20

// notes are the notes with an id on a resident, for reports that quote them.
func (t *checkTask) notes(resident, id string) []note.Note {
	notes, err := t.checker.Notes(resident, id)
	t.lost = errors.Join(t.lost, err)
	return notes
}

// take takes a note in; selected says whether it is one to report on.
func (t *checkTask) take(n note.Note, selected bool) {
	t.checker.Add(n)
	if selected {
		t.selected++
		t.residents[n.Resident] = true
	}
}

// ahead is the moment after which a note has no business to be.
func (t *checkTask) ahead() time.Time { return t.now().Add(aheadAllowed) }

// aheadAllowed is how far a note's time may lie ahead of the clock before that is told: clocks differ,
// and a shift is often signed off before its end.
const aheadAllowed = 24 * time.Hour

func (a *app) writeReport(opt *checkOptions, run *report.Run, p *policy.Policy, fails func(*finding.Finding) bool) error {
	described, err := describeRules()
	if err != nil {
		return err
	}
	layout := a.textOptions(p)
	layout.IDs, layout.Unread = opt.answers != "", opt.unread
	if opt.out != "" {
		layout.Width, layout.Color = 0, false
	}
	var b bytes.Buffer
	switch opt.format.value {
	case "md":
		err = report.Markdown(&b, run, layout)
	case "json":
		err = report.JSON(&b, run)
	case "csv":
		err = report.CSV(&b, run, layout)
	case "xlsx":
		err = report.XLSX(&b, run, layout)
	case "sarif":
		err = report.SARIF(&b, run, report.SARIFOptions{Version: version(), Rules: described})
	case "junit":
		inForce := slices.DeleteFunc(described, func(r report.Rule) bool { return p.Rules[r.ID] == finding.Off })
		err = report.JUnit(&b, run, report.JUnitOptions{Rules: inForce, Fails: fails})
	case "fhir":
		err = report.FHIR(&b, run, version(), described)
	default:
		err = report.Text(&b, run, layout)
	}
	if err != nil {
		return err
	}
	return a.deliver(opt.format, opt.out, b.Bytes())
}

func describeRules() ([]report.Rule, error) {
	all, err := rules.All()
	if err != nil {
		return nil, err
	}
	described := make([]report.Rule, len(all))
	for i, r := range all {
		described[i] = report.Rule{ID: r.ID, Title: r.Doc.Title, LooksFor: r.Doc.LooksFor, Help: r.Doc.Do, Severity: r.Severity}
	}
	return described, nil
}

// textOptions fit the report to where it goes. Where the policy names no zone, times are shown as
// they were written.
func (a *app) textOptions(p *policy.Policy) report.TextOptions {
	opt := report.TextOptions{Width: a.width(), Color: a.color()}
	if p.Zone != time.Local {
		opt.Zone = p.Zone
	}
	return opt
}

// width is that of the terminal, or 0 for the writer's own choice. Lines over 100 characters are hard
// to read, so a wide terminal is not filled.
func (a *app) width() int {
	if a.tty == nil {
		return 0
	}
	columns, _, err := term.GetSize(int(a.tty.Fd()))
	if err != nil {
		return 0
	}
	return min(columns, 100)
}

// color reports whether to use colour: on a terminal, unless NO_COLOR is set to anything
// (no-color.org) or the terminal is a dumb one.
func (a *app) color() bool {
	return a.tty != nil && a.getenv("NO_COLOR") == "" && a.getenv("TERM") != "dumb"
}
