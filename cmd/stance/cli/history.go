package cli

import (
	"bytes"
	"cmp"
	"context"
	"errors"
	"fmt"
	"maps"
	"slices"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"example.com/stance/index"
	"example.com/stance/index/course"
	"example.com/stance/lexicon"
	"example.com/stance/lint/chart"
	"example.com/stance/lint/nearest"
	"example.com/stance/lint/note"
	"example.com/stance/lint/plural"
	"example.com/stance/lint/policy"
	"example.com/stance/lint/timeline"
)

type historyOptions struct {
	inputFlags
	indexes []string
	chartsFlags
	since, until string
	asOf         string
	out          string
	format       *choice
}

func (a *app) historyCommand() *cobra.Command {
	var opt historyOptions
	c := &cobra.Command{
		Use:   "history RESIDENT [NOTES…]",
		Short: "Show a resident's mobility course: what was charted, written, and when it changed",
		Long: `history shows the course of one resident: status, way of transfer, helpers, walking and aids,
charted against written, with falls and signs, compressed to the changes; and for each
change in what is written the word diff of the two notes.

It takes the notes from the files given or, where none is given, from the index that
stance keep made. Without --policy, stance.yaml is looked for beside the first file, or
beside the folder of the index; else the policy counts that the notes were kept with.
Only what is told as done in its shift draws a point: nothing past, planned, unsure,
denied or said of somebody else.

--as-of shows what was known at a time: notes kept by then (from files: notes of up to
then) and chart rows from up to then.

--index may be given again, or name a folder of indexes: the homes that know the resident each
give a course, and name themselves. Nobody can tell from an id whether two homes mean one person,
so their notes stay apart; text has one course after the other, JSON one object a line, and html
wants one home. --chart is then one file for all, or HOME=FILE for each. A home that cannot be
opened is told, the others answer, and the exit status is 2 or 3.

--format html is one page that needs no network, and prints on one sheet in landscape.
With --out the format goes by the file's name, unless --format says otherwise.

Exit status:
  0  done
  2  wrong usage, an unknown resident, or input that could not be read
  3  a fault inside stance, a damaged index, or stopped before the end`,
		Example: `  stance history R-0412 --chart chart.csv
  stance history R-0412 november.csv --chart chart.csv --out course.html
  stance history R-0412 --index homes --chart ash=ash.csv --chart birch=birch.csv
  stance history R-0412 --chart chart.csv --since 2026-11-01 --as-of 2026-11-12T23:00`,
		Args: arguments(1, -1, "a resident and, if you like, files of notes"),
		RunE: func(c *cobra.Command, args []string) error {
			opt.format.byName(c, opt.out)
			if len(args) > 1 && c.Flags().Changed("index") {
				return usagef("both files of notes and --index are given, want one of them")
			}
			return a.history(c.Context(), &opt, args[0], args[1:])
		},
	}
	opt.format = formats(c, "text", "json", "html")
	f := c.Flags()
	f.StringArrayVar(&opt.indexes, "index", []string{indexName}, indexHelp+", where no files of notes are given")
	opt.chartsFlags.register(c)
	f.StringVar(&opt.since, "since", "", "only what happened at or after this `time` (2026-11-24 or 2026-11-24T07:00)")
	f.StringVar(&opt.until, "until", "", "only what happened at or before this `time`; a date includes the whole day")
	f.StringVar(&opt.asOf, "as-of", "", "only what was known at this `time`; a date includes the whole day")
	f.StringVar(&opt.out, "out", "", "write to this `file`, which must not be there yet")
	opt.inputFlags.register(c, "show no progress")
	return c
}

func (a *app) history(ctx context.Context, opt *historyOptions, resident string, files []string) error {
	kept := []keptHome{{}}
	if len(files) == 0 {
		var err error
		if kept, err = keptHomes(opt.indexes); err != nil {
			return err
		}
	}
	chartOf, err := chartsOf(opt.charts, kept)
	if err != nil {
		return err
	}
	if err := absent("--out", opt.out); err != nil {
		return err
	}
	a = a.remembering()
	var out bytes.Buffer // whole before the first byte goes out, so that a fault leaves no half page
	var read outcome
	strange := strangerError{name: resident} // of the homes that do not know the resident
	var shown []string
	missing, err := eachHome(ctx, kept, func(h keptHome) error {
		file, shared := chartOf(h.name)
		made, one, err := a.historyOf(ctx, opt, resident, files, h, file, shared)
		var unknown *strangerError
		if errors.As(err, &unknown) && h.name != "" {
			strange.residents = append(strange.residents, unknown.residents...)
			return nil
		}
		if err != nil {
			return err
		}
		read.add(one)
		if shown = append(shown, h.name); len(shown) > 1 && opt.format.value == "text" {
			out.WriteString("\n")
		}
		out.Write(made)
		return nil
	})
	slices.Sort(strange.residents)
	strange.residents = slices.Compact(strange.residents)
	switch {
	case err != nil:
		return err
	case len(shown) == 0 && len(missing) > 0:
		a.sayAbsent(missing)
		a.say("%v", &strange)
		return absentError(missing)
	case len(shown) == 0:
		return usagef("%w", &strange)
	case len(shown) > 1 && opt.format.value == "html":
		return usagef("resident %q: homes %s have one, and a page is of one: want --index of one home", resident, strings.Join(shown, ", "))
	}
	a.sayAbsent(missing)
	if err := a.deliver(opt.format, opt.out, out.Bytes()); err != nil {
		return err
	}
	if err := absentError(missing); err != nil {
		return err
	}
	return read.err(opt.skipBad)
}

// historyOf is the course of a resident in files of notes or in one home. That somebody is in a chart that homes share
// does not make them a resident of each.
func (a *app) historyOf(ctx context.Context, opt *historyOptions, resident string, files []string, h keptHome, chartFile string, shared bool) ([]byte, outcome, error) {
	var read outcome
	home, err := a.home(opt.policy, files, h.dir)
	if err != nil {
		return nil, read, err
	}
	p, lex := home.policy, home.lex
	sel, err := (&selectFlags{since: opt.since, until: opt.until}).ready(p)
	if err != nil {
		return nil, read, err
	}
	asOf, err := asOfTime(opt.asOf, p)
	if err != nil {
		return nil, read, err
	}
	var ch *chart.Chart
	if chartFile != "" {
		var badRows int
		if ch, badRows, err = a.chart(chartFlags{chartFile, opt.chartSheet}, p); err != nil {
			return nil, read, err
		}
		read.badRecords = badRows
	}

	var notes []note.Note
	if len(files) > 0 {
		var fromFiles outcome
		resident, notes, fromFiles, err = a.historyFiles(ctx, opt, resident, files, ch, p, asOf)
		read.add(fromFiles)
	} else {
		charted := ch
		if shared {
			charted = nil
		}
		resident, notes, err = historyKept(ctx, h.dir, resident, charted, lex, asOf)
	}
	if err != nil {
		return nil, read, err
	}

	labels := map[string]string{}
	for _, c := range lex.Concepts() {
		labels[c.ID] = c.Label
	}
	t := timeline.New(resident, notes, lex, ch, sel.calendar)
	made := course.Build(t, course.Options{
		LiftHelpers: p.LiftHelpers, Labels: labels, Since: sel.since, Until: sel.end, AsOf: asOf,
	})
	made.Home = h.name
	var out bytes.Buffer
	switch opt.format.value {
	case "json":
		err = course.JSON(&out, made)
	case "html":
		draw := course.DrawOptions{Calendar: sel.calendar}
		if p.Zone != time.Local {
			draw.Zone = p.Zone
		}
		err = course.HTML(&out, made, draw)
	default:
		layout := a.textOptions(p)
		if opt.out != "" {
			layout.Color, layout.Width = false, 0
		}
		err = course.Text(&out, made, layout)
	}
	return out.Bytes(), read, err
}

// asOfTime is the last moment of what --as-of gives, or the zero time.
func asOfTime(s string, p *policy.Policy) (time.Time, error) {
	if s == "" {
		return time.Time{}, nil
	}
	t, unit, err := moment(s, p.Zone)
	if err != nil {
		return time.Time{}, usagef("--as-of: %w", err)
	}
	if unit == wholeDay {
		return t.AddDate(0, 0, 1).Add(-time.Second), nil // a day may have 23 or 25 hours
	}
	return t, nil
}

// historyFiles reads the resident's notes from files. The name may differ from theirs in case.
func (a *app) historyFiles(ctx context.Context, opt *historyOptions, resident string, files []string,
	ch *chart.Chart, p *policy.Policy, asOf time.Time) (string, []note.Note, outcome, error) {
	notes := map[string][]note.Note{} // by resident; only of those whom the name may mean
	residents := map[string]bool{}
	read, err := a.eachNote(ctx, files, &opt.inputFlags, p, func(n note.Note) error {
		residents[n.Resident] = true
		if strings.EqualFold(n.Resident, resident) && (asOf.IsZero() || !n.Time.After(asOf)) {
			notes[n.Resident] = append(notes[n.Resident], n)
		}
		return nil
	})
	if err != nil {
		return "", nil, read, err
	}
	if read.notes == 0 && (read.badFiles > 0 || read.badRecords > 0) {
		return "", nil, read, read.err(opt.skipBad) // what is wrong with the notes has been told
	}
	name, err := knownResident(resident, slices.Sorted(maps.Keys(residents)), ch)
	return name, notes[name], read, err
}

// historyKept reads the resident's notes from the index.
func historyKept(ctx context.Context, dir, resident string, ch *chart.Chart, lex *lexicon.Lexicon, asOf time.Time) (string, []note.Note, error) {
	x, err := index.Open(dir, lex)
	if err != nil {
		return "", nil, historyError(err)
	}
	defer x.Close()
	residents, err := x.Residents(ctx)
	if err != nil {
		return "", nil, historyError(err)
	}
	name, err := knownResident(resident, residents, ch)
	if err != nil {
		return "", nil, err
	}
	var notes []note.Note
	err = x.Notes(ctx, index.Range{Residents: []string{name}, KeptBy: asOf}, func(n note.Note) error {
		notes = append(notes, n)
		return nil
	})
	return name, notes, historyError(err)
}

// historyError gives what the user can mend about an index the status of wrong usage.
func historyError(err error) error {
	var (
		none   *index.NoIndexError
		format *index.FormatError
		locked *index.LockedError
	)
	switch {
	case errors.As(err, &none):
		return usagef("%w; or name files of notes after the resident", err)
	case errors.As(err, &format), errors.As(err, &locked):
		return usagef("%w", err)
	}
	return err
}

// knownResident is the one of the residents whom the name means, in its own case or, where only one
// fits, in any. A resident who is charted may have no notes.
func knownResident(name string, residents []string, ch *chart.Chart) (string, error) {
	if slices.Contains(residents, name) || len(ch.Rows(name)) > 0 {
		return name, nil
	}
	var fits []string
	for _, r := range residents {
		if strings.EqualFold(r, name) {
			fits = append(fits, r)
		}
	}
	switch {
	case len(fits) == 1:
		return fits[0], nil
	case len(fits) > 1:
		return "", usagef("resident %q: the notes have %s, want one of them", name, list(quoted(fits)))
	}
	return "", &exitError{statusUsage, &strangerError{name, residents}}
}

// A strangerError says that there are no notes on a resident of that name.
type strangerError struct {
	name      string
	residents []string // who have some, sorted
}

func (e *strangerError) Error() string {
	if len(e.residents) == 0 {
		return fmt.Sprintf("resident %q: no notes on anybody", e.name)
	}
	return fmt.Sprintf("resident %q: no notes%s", e.name, meant(e.name, e.residents))
}

// meant is "; did you mean …?" with the known names that are nearest, as far as one is near.
func meant(name string, known []string) string {
	const most = 3
	limit := max(1, len(name)/3)
	distance := func(s string) int { return nearest.Distance(name, s) }
	near := slices.DeleteFunc(slices.Clone(known), func(s string) bool { return distance(s) > limit })
	if len(near) == 0 {
		return fmt.Sprintf(" among those on %s", plural.Of(len(known), "resident"))
	}
	slices.SortStableFunc(near, func(a, b string) int { return cmp.Compare(distance(a), distance(b)) })
	least := distance(near[0])
	near = slices.DeleteFunc(near, func(s string) bool { return distance(s) > least })
	return "; did you mean " + list(quoted(near[:min(len(near), most)])) + "?"
}

func quoted(names []string) []string {
	out := make([]string, len(names))
	for i, n := range names {
		out[i] = fmt.Sprintf("%q", n)
	}
	return out
}
