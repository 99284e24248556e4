package cli

import (
	"bytes"
	"context"
	"errors"
	"io/fs"
	"os"

	"github.com/spf13/cobra"

	"example.com/stance/index"
	"example.com/stance/index/homes"
	"example.com/stance/lexicon"
	"example.com/stance/lint"
	"example.com/stance/lint/audit"
	"example.com/stance/lint/audit/names"
	"example.com/stance/lint/audit/page"
	"example.com/stance/lint/nearest"
	"example.com/stance/lint/note"
	"example.com/stance/lint/policy"
	"example.com/stance/lint/rules"
)

type auditOptions struct {
	inputFlags
	selectFlags
	namesFlags
	reportFlags
	chartsFlags
	indexes []string
	partial string
}

// sourceFlags say what is judged, beside files of notes.
type sourceFlags struct {
	chartFlags
	index string
}

func (f *sourceFlags) register(c *cobra.Command) {
	f.chartFlags.register(c)
	c.Flags().StringVar(&f.index, "index", "", "`folder` of kept notes, in place of files of notes")
}

// reportFlags say how an audit is reported.
type reportFlags struct {
	format *choice
	by     *choice
	out    string
}

func (f *reportFlags) register(c *cobra.Command) {
	f.format = formats(c, "text", "json", "csv", "xlsx", "html")
	f.by = &choice{value: string(audit.Week), allowed: []string{string(audit.Week), string(audit.Month)}}
	c.Flags().Var(f.by, "by", "periods of the charts over time")
	c.Flags().StringVar(&f.out, "out", "", "write the report to this `file`, which must not be there yet; its name tells the format")
}

// namesFlags say whether residents and authors go by their names.
type namesFlags struct {
	names   *choice
	keyFile string
}

func (f *namesFlags) register(c *cobra.Command) {
	f.names = &choice{value: "show", allowed: []string{"show", "hide"}}
	c.Flags().Var(f.names, "names", "show residents and authors, or hide them behind pseudonyms")
	c.Flags().StringVar(&f.keyFile, "key", "stance-names.key", "`file` of the key that pseudonyms are made with; made where there is none")
}

func (a *app) auditCommand() *cobra.Command {
	var opt auditOptions
	c := &cobra.Command{
		Use:   "audit [NOTES… | --index DIR] --chart CHART",
		Short: "Count what months of notes leave out or get wrong, with statistics that hold",
		Long: `audit checks notes as stance check does and counts: by rule, group of rules, unit, shift, role,
resident and week or month, what was found over what could have been found, with intervals,
control charts over time and funnel plots of the units. It names points and units that differ
by more than chance, and ranks nothing. Beside that it counts what notes tell of: falls with
and without a cause, hazards and whether they were put right, injured staff, and posted signs
that differ from the chart or are missing.

The selecting flags choose what is counted; all notes given are still read, because a note is
judged by those around it. So several runs over the same notes can each count a part: with
--partial each writes its counts, and stance audit merge puts them together into what one run
would have given.

--index may be given again, or name a folder of indexes: each home is judged by its own policy
and all are counted as one, with the home's name before each unit and resident. --chart is then
one file for all, or HOME=FILE for each. A home that cannot be opened, or that was counted
under another policy than the first, is told and left out, and the exit status is 2 or 3.

With --names hide residents and authors appear under pseudonyms in every output. Keep the key
file in the home: whoever has it can tell who is who.

` + doneStatuses,
		Example: `  stance audit --chart chart.csv november.jsonl
  stance audit --chart chart.csv --by month --names hide --format html --out audit.html 2026-*.jsonl
  stance audit --chart chart.csv --index stance-index --since 2026-06-01
  stance audit --chart chart.csv --index homes --policy group.yaml
  stance audit --chart chart.csv --unit Birch --partial birch.json --quiet notes.jsonl`,
		Args: cobra.ArbitraryArgs,
		RunE: func(c *cobra.Command, files []string) error { return a.audit(c, &opt, files) },
	}
	opt.chartsFlags.register(c)
	c.Flags().StringArrayVar(&opt.indexes, "index", nil, "`folder` of kept notes, or of a folder of indexes, in place of files of notes; may be given again")
	c.Flags().StringVar(&opt.partial, "partial", "", "write the counts to this `file`, for stance audit merge")
	opt.reportFlags.register(c)
	opt.namesFlags.register(c)
	opt.inputFlags.register(c, "print no report")
	opt.selectFlags.register(c)
	c.AddCommand(a.auditMergeCommand(), a.auditSampleCommand(), a.auditAgreeCommand(), a.auditSizeCommand())
	return c
}

func (a *app) audit(c *cobra.Command, opt *auditOptions, files []string) error {
	if err := a.meantSubcommand(c, files); err != nil {
		return err
	}
	opt.format.byName(c, opt.out)
	if err := absent("--out", opt.out); err != nil {
		return err
	}
	if err := absent("--partial", opt.partial); err != nil {
		return err
	}
	tally, absent, read, err := a.auditAll(c.Context(), opt, files)
	if err != nil {
		return err
	}
	if tally.Notes() == 0 && read.notes > 0 && !opt.quiet {
		a.say("none of the notes is selected")
	}
	a.sayAbsent(absent)
	if opt.partial != "" {
		if err := writePartial(opt.partial, tally); err != nil {
			return err
		}
	}
	if !opt.quiet {
		if err := a.writeAudit(&opt.reportFlags, tally); err != nil {
			return err
		}
	}
	if err := absentError(absent); err != nil {
		return err
	}
	return read.err(opt.skipBad)
}

// auditAll counts the notes of the files, of the index, or of the homes, which are counted under their names. It gives
// which homes could not be counted.
func (a *app) auditAll(ctx context.Context, opt *auditOptions, files []string) (*audit.Tally, []absentee, outcome, error) {
	kept := []keptHome{{}}
	if len(opt.indexes) > 0 && len(files) == 0 {
		var err error
		if kept, err = keptHomes(opt.indexes); err != nil {
			return nil, nil, outcome{}, err
		}
	} else if len(opt.indexes) > 0 {
		kept[0].dir = opt.indexes[0] // beside files, which is told
	}
	chartOf, err := chartsOf(opt.charts, kept)
	if err != nil {
		return nil, nil, outcome{}, err
	}
	a = a.remembering()
	var all *audit.Tally
	var read outcome
	sharedRows := false // of the chart of all homes, the rows that could not be read are counted
	absent, err := eachHome(ctx, kept, func(h keptHome) error {
		file, shared := chartOf(h.name)
		tally, one, err := a.auditOne(ctx, opt, sourceFlags{chartFlags: chartFlags{file, opt.chartSheet}, index: h.dir}, files, shared && sharedRows)
		if err != nil {
			return err
		}
		sharedRows = sharedRows || shared
		read.add(one)
		if h.name != "" {
			tally = tally.Under(func(name string) string { return homes.Label(h.name, name) })
		}
		if all == nil {
			all = tally
			return nil
		}
		if err := all.Merge(tally); err != nil {
			return usagef("it cannot be counted with the others: %w", err)
		}
		return nil
	})
	return all, absent, read, err
}

// auditOne counts the notes of the files or of one index.
func (a *app) auditOne(ctx context.Context, opt *auditOptions, from sourceFlags, files []string, rowsCounted bool) (*audit.Tally, outcome, error) {
	run, err := a.judged(ctx, &opt.inputFlags, &opt.namesFlags, &from, files)
	if err != nil {
		return nil, outcome{}, err
	}
	defer run.close()
	sel, err := opt.ready(run.policy)
	if err != nil {
		return nil, outcome{}, err
	}
	tally := audit.New(run.checker.Rules(), audit.Options{
		Version: version(), Charted: run.charted, Policy: audit.PolicyOf(run.policy), Names: run.marks(),
		Resident: run.resident, Keep: sel.place,
	})
	if rowsCounted {
		run.badRows = 0
	}
	tally.AddUnread(audit.Unread{Notes: run.read.badRecords, Rows: run.badRows})
	err = a.judgeAll(ctx, run, opt.quiet, func(j lint.Judged) error {
		tally.Add(j.Timeline, j.Counts)
		return nil
	})
	return tally, run.read, err
}

// meantSubcommand refuses a lone argument that is no file and looks like a mistyped subcommand.
func (a *app) meantSubcommand(c *cobra.Command, files []string) error {
	if len(files) != 1 {
		return nil
	}
	if _, err := os.Stat(files[0]); !errors.Is(err, fs.ErrNotExist) {
		return nil
	}
	if n, ok := nearest.Of(files[0], commandNames(c)); ok {
		return usagef("%s: no such file; did you mean %s %s?", files[0], c.CommandPath(), n)
	}
	return nil
}

// A judging is notes that have been read and are ready to be judged.
type judging struct {
	policy  *policy.Policy
	checker *lint.Checker
	charted bool
	badRows int
	read    outcome
	hider   *names.Hider // nil: names are shown
	close   func() error
}

// judged reads the notes into a checker that keeps them in a temporary file. The caller closes it.
func (a *app) judged(ctx context.Context, in *inputFlags, hide *namesFlags, from *sourceFlags, files []string) (run *judging, err error) {
	switch {
	case from.index == "":
		if files, err = a.notesOrStdin(files); err != nil {
			return nil, err
		}
	case len(files) > 0:
		return nil, usagef("%s beside --index: want files of notes or an index; stance keep puts notes into one", files[0])
	}
	home, err := a.home(in.policy, files, from.index)
	if err != nil {
		return nil, err
	}
	p, lex := home.policy, home.lex
	checker, ch, badRows, err := a.checker(from.chartFlags, lex, p)
	if err != nil {
		return nil, err
	}
	hider, err := a.hider(hide)
	if err != nil {
		return nil, err
	}
	checker.Now = a.now().Add(aheadAllowed)
	spooled, err := checker.Spool("")
	if err != nil {
		return nil, err
	}
	defer func() {
		if err != nil {
			err = errors.Join(err, spooled.Close())
		}
	}()
	take := func(n note.Note) error {
		checker.Add(n)
		if hider != nil {
			hider.Know(n.Resident, n.Author)
		}
		return nil
	}
	var read outcome
	if from.index != "" {
		err = eachKept(ctx, from.index, lex, func(n note.Note) error {
			read.notes++
			return take(n)
		})
	} else {
		read, err = a.eachNote(ctx, files, in, p, take)
	}
	if err != nil {
		return nil, err
	}
	if read.notes == 0 && (read.badFiles > 0 || read.badRecords > 0 && !in.skipBad) {
		return nil, read.err(in.skipBad) // a report on nothing would read as a good one
	}
	return &judging{policy: p, checker: checker, charted: ch != nil, badRows: badRows, read: read, hider: hider, close: spooled.Close}, nil
}

// eachKept hands every note of an index to take.
func eachKept(ctx context.Context, dir string, lex *lexicon.Lexicon, take func(note.Note) error) error {
	x, err := index.Open(dir, lex)
	if err != nil {
		return indexError(err)
	}
	defer x.Close()
	return indexError(x.Notes(ctx, index.Range{}, take))
}

// judgeAll judges the notes read and tells the flaws of the input.
func (a *app) judgeAll(ctx context.Context, run *judging, quiet bool, take func(lint.Judged) error) error {
	summary, err := run.checker.Judge(ctx, take)
	if err != nil {
		return err
	}
	if !quiet {
		a.sayAll(summary.Problems, "more like these")
	}
	return nil
}

// hider is what hides names, or nil where they are shown.
func (a *app) hider(f *namesFlags) (*names.Hider, error) {
	if f.names.value != "hide" {
		return nil, nil
	}
	type found struct {
		key  []byte
		made bool
	}
	got, err := awaited(a.stop, func() (found, error) {
		key, made, err := names.ReadKey(f.keyFile)
		return found{key, made}, err
	})
	if err != nil {
		return nil, usagef("--key: %w", err)
	}
	if got.made {
		a.say("made the key %s; keep it in the home, without it pseudonyms cannot be made again", f.keyFile)
	}
	return names.NewHider(got.key), nil
}

func (r *judging) marks() audit.Names {
	if r.hider == nil {
		return audit.Names{}
	}
	return audit.Names{Hidden: true, Key: r.hider.Mark()}
}

// resident is the name that a resident goes by.
func (r *judging) resident(name string) string {
	if r.hider == nil {
		return name
	}
	return r.hider.Resident(name)
}

// text is a note's text with the names in it as they go.
func (r *judging) text(s string) string {
	if r.hider == nil {
		return s
	}
	return r.hider.Text(s)
}

// place reports whether what an audit counts there is selected.
func (s *selection) place(resident string, p rules.Place) bool {
	return s.has(resident, p.Unit, p.Time, p.Shift.String())
}

// auditText is how text is set for the terminal, or for a file.
func (a *app) auditText(out string) audit.TextOptions {
	if out != "" {
		return audit.TextOptions{}
	}
	return audit.TextOptions{Width: a.width(), Bold: a.color()}
}

// writePartial writes the counts of tally to a new file.
func writePartial(name string, tally *audit.Tally) error {
	b, err := tally.Partial()
	if err != nil {
		return err
	}
	return writeNew("--partial", name, b)
}

func (a *app) writeAudit(f *reportFlags, tally *audit.Tally) error {
	r := tally.Report(audit.Period(f.by.value), a.now())
	var b bytes.Buffer
	var err error
	switch f.format.value {
	case "json":
		err = audit.JSON(&b, r)
	case "csv":
		err = audit.CSV(&b, r)
	case "xlsx":
		err = audit.XLSX(&b, r)
	case "html":
		err = page.HTML(&b, r)
	default:
		err = audit.Text(&b, r, a.auditText(f.out))
	}
	if err != nil {
		return err
	}
	return a.deliver(f.format, f.out, b.Bytes())
}

func (a *app) auditMergeCommand() *cobra.Command {
	var opt auditOptions
	c := &cobra.Command{
		Use:   "merge FILES…",
		Short: "Put partial audits together",
		Long: `merge adds up the counts that stance audit --partial wrote, of homes of a group, of years or of
parts of one large run, and reports on all of them. Parts that were counted by another version,
policy or set of rules are refused, and so is one given twice.

Parts must not overlap. To cut one set of notes into parts, give each run all the notes, or at
least whole residents and the notes around theirs, and let --unit, --resident, --since and
--until choose what it counts. Units and residents of one name count as one.

` + doneStatuses,
		Example: `  stance audit merge --format html --out group.html birch.json cedar.json
  stance audit merge --partial 2026.json --quiet 2026-*.json`,
		Args: arguments(1, -1, "at least one partial audit"),
		RunE: func(c *cobra.Command, files []string) error { return a.auditMerge(c, &opt, files) },
	}
	c.Flags().StringVar(&opt.partial, "partial", "", "write the counts to this `file`, to be merged again")
	c.Flags().BoolVarP(&opt.quiet, "quiet", "q", false, "print no report")
	opt.reportFlags.register(c)
	return c
}

func (a *app) auditMerge(c *cobra.Command, opt *auditOptions, files []string) error {
	opt.format.byName(c, opt.out)
	if err := absent("--out", opt.out); err != nil {
		return err
	}
	if err := absent("--partial", opt.partial); err != nil {
		return err
	}
	var tally *audit.Tally
	given := map[string]string{} // file by its content
	for _, name := range files {
		b, err := a.readAll(name, mostPartial)
		if err != nil {
			return err
		}
		if first, twice := given[string(b)]; twice {
			return usagef("%s: holds what %s holds, want each part once", name, first)
		}
		given[string(b)] = name
		part, err := audit.ReadPartial(name, bytes.NewReader(b))
		if err != nil {
			return usagef("%w", err)
		}
		if tally == nil {
			tally = part
		} else if err := tally.Merge(part); err != nil {
			return usagef("%s: cannot be merged with %s: %w", name, files[0], err)
		}
	}
	if opt.partial != "" {
		if err := writePartial(opt.partial, tally); err != nil {
			return err
		}
	}
	if opt.quiet {
		return nil
	}
	return a.writeAudit(&opt.reportFlags, tally)
}
