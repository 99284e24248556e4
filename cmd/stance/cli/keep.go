package cli

import (
	"context"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"iter"
	"time"

	"github.com/spf13/cobra"

	"example.com/stance/index"
	"example.com/stance/lint/chart"
	"example.com/stance/lint/finding"
	"example.com/stance/lint/nearest"
	"example.com/stance/lint/note"
	"example.com/stance/lint/plural"
	"example.com/stance/lint/shift"
)

// indexName is the folder of the index where no other is named.
const indexName = "stance-index"

type keepOptions struct {
	inputFlags
	index string
	chartFlags
	remove   string
	putBack  bool
	rebuild  bool
	repair   bool
	watch    string
	interval time.Duration
}

func (a *app) keepCommand() *cobra.Command {
	var opt keepOptions
	c := &cobra.Command{
		Use:   "keep [NOTES…] [--chart CHART]",
		Short: "Keep notes in an index, for find, history and check",
		Long: `keep adds notes to the index, a folder that only its owner can read. A note that is in it
already is skipped; one whose content has changed takes the place of the earlier version,
which stays, marked. A note is known by its resident and id, so give notes an id. Stopped
at any moment, it has lost nothing that it counted, and the next run completes it.

Then every resident with new or changed notes is checked, as far back as these can change
what is found, so that stance find --rule finds what was flagged. Who is charted otherwise
than last time is checked as a whole. Rules against the chart are only set where --chart is
given here; after a change of the chart or the policy, --rebuild with --chart checks all kept
notes again.

A note with a content that it had before it was amended is skipped as well, and counted
out: an old file kept again must not undo what was amended since. --put-back says that the
files are how the record stands now, and takes such a note for the newest version. A
document of HL7 v2 that replaces another (T10) takes its place, whichever file that was in;
one that is cancelled (T11) counts no longer, and stays, marked, as earlier versions do.

The policy (--policy, else stance.yaml beside the notes or beside the index) is kept in the
index: find, history, check and audit use it wherever they are run. To change the home's
own words for notes kept earlier too, add --rebuild.

--rebuild makes the index anew from its own notes, as after an upgrade of stance. --remove
erases all notes of a resident, earlier versions too; it does not ask.

The notes are in the file notes.log of the folder; a copy of it is enough to go on from, in
an empty folder. All else there is made from it. Damage to it is told by every command, with
status 3, and nothing is written to it then. --repair saves what can be read into a new
file, tells what is lost, keeps the damaged file beside it, and does what --rebuild does.

--watch FOLDER goes on until Ctrl-C: it keeps the notes of each file that is dropped into the
folder, or changed there, once it is whole, which is when two looks, --interval apart, find
it the same. What each file brought is told in a line. A file that cannot be read is told
once, and tried again when it has changed. Names that begin with . or ~, or end as .tmp or
.part do, are passed over, and so are folders; that a file is gone means nothing. What was
taken in is known after a restart too. The chart is read again when it changes; the policy
is not. Other commands use the index meanwhile.

Exit status:
  0  done, or stopped with Ctrl-C while watching
  2  wrong usage, input that could not be read, or an index that is in use
  3  a fault inside stance, a damaged index, or stopped before the end`,
		Example: `  stance keep --chart chart.csv november.jsonl
  stance keep --index birch-index --chart chart.csv - < tonight.jsonl
  stance keep --watch exports --chart chart.csv
  stance keep --rebuild --chart chart.csv
  stance keep --repair --chart chart.csv
  stance keep --remove R-0412`,
		RunE: func(c *cobra.Command, files []string) error {
			if c.Flags().Changed("remove") && opt.remove == "" {
				return usagef("--remove: want a resident")
			}
			if c.Flags().Changed("watch") {
				return a.watch(c.Context(), &opt, files)
			}
			if c.Flags().Changed("interval") {
				return usagef("--interval: is for --watch FOLDER")
			}
			return a.keep(c.Context(), &opt, files)
		},
	}
	f := c.Flags()
	f.StringVar(&opt.index, "index", indexName, "`folder` of the index, made where there is none")
	opt.chartFlags.register(c)
	f.StringVar(&opt.remove, "remove", "", "erase all notes of this `resident`")
	f.BoolVar(&opt.putBack, "put-back", false, "a note that is back to what it said before it was amended counts as amended again")
	f.BoolVar(&opt.rebuild, "rebuild", false, "make the index anew from the notes in it, and check them all again")
	f.BoolVar(&opt.repair, "repair", false, "save what can be read of a damaged index, and make it anew from that")
	f.StringVar(&opt.watch, "watch", "", "keep the notes of files that are dropped into this `folder`, until Ctrl-C")
	f.DurationVar(&opt.interval, "interval", 10*time.Second, "`time` between two looks at the folder")
	opt.inputFlags.register(c, "print nothing, and show no progress")
	return c
}

func (a *app) keep(ctx context.Context, opt *keepOptions, files []string) error {
	files, err := a.filesToKeep(opt, files)
	if err != nil {
		return err
	}
	home, err := a.home(opt.policy, files, opt.index)
	if err != nil {
		return err
	}
	p, lex := home.policy, home.lex
	// The chart is read first: a run that fails over it should not have begun.
	_, ch, badRows, err := a.checker(opt.chartFlags, lex, p)
	if err != nil {
		return err
	}
	if _, err := columnNames(opt.columns); err != nil {
		return err
	}
	if opt.repair {
		if repaired, err := a.repair(opt, p.Zone); err != nil || !repaired {
			return err
		}
		opt.rebuild = true
	}
	if len(files) == 0 {
		if err := opt.there(lex); err != nil {
			return indexError(err)
		}
	}
	w, err := index.OpenWriter(opt.index, lex)
	if err != nil {
		return indexError(err)
	}
	k := &keeper{app: a, w: w, home: home, chart: ch, quiet: opt.quiet}
	if opt.remove != "" {
		err = k.remove(ctx, opt)
	} else {
		err = k.run(ctx, opt, files)
	}
	if err = errors.Join(err, w.Close()); err != nil {
		return indexError(err)
	}
	k.read.badRecords += badRows
	return k.read.err(opt.skipBad)
}

// filesToKeep are the files of notes that a run is to keep, once its flags go together.
func (a *app) filesToKeep(opt *keepOptions, files []string) ([]string, error) {
	switch {
	case opt.remove != "" && (opt.rebuild || opt.repair || opt.chartFile != "" || len(files) > 0):
		return nil, usagef("--remove is done by itself, want no notes, --chart, --rebuild or --repair with it")
	case opt.repair && (opt.putBack || len(files) > 0):
		return nil, usagef("--repair is done by itself or with --chart, want no notes or --put-back with it")
	case opt.remove != "" || opt.rebuild || opt.repair:
		return files, nil
	}
	return a.notesOrStdin(files)
}

// there finds out whether there is an index to be rebuilt or removed from, since none is to be made.
func (opt *keepOptions) there(lex index.Reader) error {
	x, err := index.Open(opt.index, lex)
	var old *index.FormatError
	if errors.As(err, &old) && opt.rebuild {
		return nil
	}
	if err != nil {
		return err
	}
	return x.Close()
}

// indexError gives the errors of an index that are the user's to mend the status of wrong usage.
func indexError(err error) error {
	var (
		none    *index.NoIndexError
		other   *index.FolderError
		format  *index.FormatError
		locked  *index.LockedError
		unknown *index.UnknownError
		tooMuch *index.TooMuchError
		path    *fs.PathError
	)
	switch {
	case errors.As(err, &none), errors.As(err, &other), errors.As(err, &format), errors.As(err, &locked), errors.As(err, &unknown), errors.As(err, &tooMuch):
		return usagef("%w", err)
	case errors.As(err, &path) && (path.Op == "open" || path.Op == "mkdir"):
		return usagef("%s: cannot be opened as an index: %w", path.Path, cause(err))
	}
	return err
}

// A keeper is one run of stance keep on an open index.
type keeper struct {
	*app
	w     *index.Writer
	home  *home
	chart *chart.Chart
	quiet bool
	read  outcome
	about string // what stands before a line of the report
	// found is what is done with what new and changed notes gave; nil: nothing.
	found func(context.Context, []finding.Finding, []finding.Overlooked) error
}

// tell prints a line of the report.
func (k *keeper) tell(format string, args ...any) error {
	if k.quiet {
		return nil
	}
	_, err := fmt.Fprint(k.out, k.about, fmt.Sprintf(format, args...), "\n")
	return err
}

func (k *keeper) remove(ctx context.Context, opt *keepOptions) error {
	resident := opt.remove
	n, err := k.w.Remove(ctx, resident)
	if err != nil {
		return err
	}
	damaged, err := index.Damaged(opt.index)
	if err != nil {
		return err
	}
	for _, name := range damaged {
		k.say("%s: a damaged file that --repair has kept may still hold notes of the resident; delete it", name)
	}
	if n > 0 {
		return k.tell("Resident %s: %s erased, earlier versions included.", resident, plural.Of(n, "note"))
	}
	return unknownResident(resident, k.w.Residents())
}

// unknownResident says that the index has no such resident, and which one may have been meant.
func unknownResident(resident string, known []string) error {
	e := &index.UnknownError{What: "resident", Value: resident}
	e.Nearest, _ = nearest.Of(resident, known)
	return usagef("%w", e)
}

func (k *keeper) run(ctx context.Context, opt *keepOptions, files []string) error {
	if k.home.text != nil {
		if err := k.w.SetSettings(k.home.text); err != nil {
			return err
		}
	}
	if !opt.rebuild {
		k.sayState(opt.index)
	} else if err := k.rebuild(ctx); err != nil {
		return err
	}
	if len(files) > 0 {
		if err := k.take(ctx, opt, files); err != nil {
			return err
		}
	}
	return k.check(ctx, opt)
}

// check checks the residents whose notes have changed since they were checked, or all.
func (k *keeper) check(ctx context.Context, opt *keepOptions) error {
	residents, err := k.w.Unjudged(ctx)
	if opt.rebuild {
		residents = k.w.Residents()
	}
	if err != nil || len(residents) == 0 {
		return err
	}
	if err := k.judge(ctx, opt.index, residents, opt.rebuild); err != nil {
		return err
	}
	against := ""
	if k.chart == nil {
		against = ", with no --chart and so none of the rules against it"
	}
	return k.tell("Checked for stance find --rule: the notes of %s%s.", plural.Of(len(residents), "resident"), against)
}

// sayState says what a user should know of an index before notes are added to it.
func (k *keeper) sayState(dir string) {
	if why := k.w.Remade(); why != "" && !k.quiet {
		k.say("%s", why)
	}
	if k.w.Stale() {
		k.say("%s", k.home.stale(dir))
	}
}

func (k *keeper) rebuild(ctx context.Context) error {
	show := k.newProgress(k.quiet)
	n, err := k.w.Rebuild(ctx, func(done int) { show.line("%d notes read anew", done) })
	show.done()
	if err != nil {
		return err
	}
	return k.tell("Index made anew from %s, earlier versions included.", plural.Of(n, "note"))
}

// take keeps the notes of the files.
func (k *keeper) take(ctx context.Context, opt *keepOptions, files []string) error {
	cal, err := shift.NewCalendar(k.home.policy.Shifts, k.home.policy.Zone)
	if err != nil {
		return usagef("%w", err)
	}
	flags := opt.inputFlags
	flags.quiet = true // the progress of keeping is shown instead
	stopped := errors.New("keeping has stopped")
	var back takenBack
	next, stop := iter.Pull2(iter.Seq2[note.Note, error](func(yield func(note.Note, error) bool) {
		var err error
		k.read, err = k.eachNoteOrNone(ctx, files, &flags, k.home.policy, func(n note.Note) error {
			back.sent(&n)
			if !yield(n, nil) {
				return stopped
			}
			return nil
		}, back.take)
		if err != nil && !errors.Is(err, stopped) {
			yield(note.Note{}, err)
		}
	}))
	defer stop()
	show, start := k.newProgress(k.quiet), time.Now()
	kept, err := k.w.Keep(ctx, func() (note.Note, error) {
		n, err, ok := next()
		if !ok {
			return note.Note{}, io.EOF
		}
		return n, err
	}, index.KeepOptions{
		At:      k.now(),
		PutBack: opt.putBack,
		Shift:   func(n *note.Note) string { return cal.Key(n.Time, n.Shift).Name },
		Progress: func(so index.Kept) {
			show.line("%d notes read, %d kept, %.0f a second", so.Read, so.Added+so.Replaced, perSecond(so.Read, start))
		},
	})
	stop() // also ends the reading, so that k.read is whole
	show.done()
	gone := 0
	if err == nil {
		gone, err = k.withdraw(ctx, back.all)
	}
	if kept.Read > 0 || err == nil && gone == 0 && k.read.badFiles+k.read.badRecords == 0 {
		rate := ""
		if isTerminal(k.out) {
			rate = fmt.Sprintf(" (%.0f a second)", perSecond(kept.Read, start))
		}
		err = errors.Join(err, k.tell("%s read%s: %d added, %d replaced, %d skipped because they were kept already.",
			plural.Of(kept.Read, "note"), rate, kept.Added, kept.Replaced, kept.Skipped))
	}
	if kept.Earlier > 0 {
		err = errors.Join(err, k.tell("Of those skipped, %s said so before being amended or withdrawn; if that was taken back, add --put-back.", plural.Of(kept.Earlier, "note")))
	}
	if gone > 0 {
		err = errors.Join(err, k.tell("%s withdrawn by who sent it; stance find --earlier still shows it.", plural.Of(gone, "note")))
	}
	return err
}

// perSecond is the mean rate of n things since a moment.
func perSecond(n int, since time.Time) float64 {
	return float64(n) / max(time.Since(since).Seconds(), 1e-3)
}

// line shows a line, at most four times a second.
func (p *progress) line(format string, args ...any) {
	if p.w == nil {
		return
	}
	if now := time.Now(); now.After(p.next) {
		fmt.Fprintf(p.w, "\r\x1b[Kstance: "+format, args...)
		p.next, p.shown = now.Add(time.Second/4), true
	}
}
