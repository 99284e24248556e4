// Stance-fleet checks the notes of many homes at once, on Apache Beam.
//
//	stance-fleet --notes 'homes/*/*.jsonl' --chart 'homes/*/chart.csv' --out checked
//
// It finds what stance check finds in each home, and counts what stance audit counts. Without --runner it runs in this
// process, on Beam's Prism; the same program runs on Flink, Spark or Dataflow.
package main

import (
	"context"
	"crypto/rand"
	"errors"
	"flag"
	"fmt"
	"os"
	"path"
	"path/filepath"
	"runtime/debug"
	"slices"
	"strings"
	"time"

	"github.com/apache/beam/sdks/v2/go/pkg/beam"
	"github.com/apache/beam/sdks/v2/go/pkg/beam/io/filesystem"
	_ "github.com/apache/beam/sdks/v2/go/pkg/beam/io/filesystem/s3"
	"github.com/apache/beam/sdks/v2/go/pkg/beam/x/beamx"

	"example.com/stance/cmd/stance-fleet/fleet"
	"example.com/stance/lint/plural"
	"example.com/stance/lint/report"
)

// The exit statuses, as stance has them.
const (
	statusDone     = 0
	statusUsage    = 2 // wrong usage, or records that could not be read
	statusInternal = 3 // a fault, or stopped before the end
)

// many is a flag that may be given again.
type many []string

func (m *many) String() string     { return strings.Join(*m, " ") }
func (m *many) Set(s string) error { *m = append(*m, s); return nil }

type options struct {
	notes, charts, columns many
	out, policy, homeField string
	shards                 int
	group, skipBad, quiet  bool
}

const usage = `stance-fleet checks the notes of many homes: the findings of stance check and the counts of stance audit.

  stance-fleet --notes 'homes/*/*.jsonl' --chart 'homes/*/chart.csv' --out checked
  stance-fleet --notes 'all-*.parquet' --chart charts.csv --home-field home --out checked

Files are JSON Lines, CSV or Parquet, here or under gs:// and s3://. Each record's home is the folder that its file lies
in or, with --home-field, what that field or column says. The files of a home are taken in the order of their names. All
homes are judged by one policy.

Written to the folder --out: findings-N.jsonl and not-understood-N.jsonl, audit-HOME.json of each home and audit.json of
all, for stance audit merge; homes.jsonl, what was counted; dead-letter-N.jsonl, what could not be read and why;
flaws-N.jsonl, ids that stand twice and notes of the future. done.json comes last: where it is, all is. What a run
that was stopped has left is taken away by the next one into that folder.

Exit status:
  0  done, whether or not something was found
  2  wrong usage, or records that could not be read
  3  a fault, or stopped before the end

Flags, beside those of Beam's runners (--runner, --endpoint, --environment_type …):

`

func main() {
	var opt options
	flag.Var(&opt.notes, "notes", "`pattern` of the files of notes; may be given again")
	flag.Var(&opt.charts, "chart", "`pattern` of the CSV or Parquet files of charted status; may be given again")
	flag.Var(&opt.columns, "column", "`name=header` of a column of notes, as in text=\"Progress Note\"; may be given again")
	flag.StringVar(&opt.out, "out", "", "`folder` to write to, which must be new or that of a run that was stopped")
	flag.StringVar(&opt.policy, "policy", "", "policy `file` (else the defaults)")
	flag.StringVar(&opt.homeField, "home-field", "", "`field` or column that names each record's home (else its file's folder does)")
	flag.IntVar(&opt.shards, "shards", 16, "`number` of files that findings are spread over; each is put in order in memory")
	flag.BoolVar(&opt.group, "group", true, "count all homes together as well, by unit and resident of each")
	flag.BoolVar(&opt.skipBad, "skip-bad", false, "records that cannot be read do not set exit status 2")
	flag.BoolVar(&opt.quiet, "quiet", false, "say nothing but what is wrong")
	flag.Usage = func() {
		fmt.Fprint(flag.CommandLine.Output(), usage)
		flag.PrintDefaults()
	}
	flag.Parse()
	beam.Init() // a worker goes no further
	os.Exit(run(context.Background(), &opt))
}

func run(ctx context.Context, opt *options) int {
	job, files, err := prepare(ctx, opt)
	if err == nil {
		err = fleet.Begin(ctx, job)
	}
	if err != nil {
		say("%v", err)
		return statusUsage
	}
	p, err := fleet.Pipeline(*job, files)
	if err == nil {
		err = beamx.Run(ctx, p)
	}
	var m *fleet.Manifest
	if err == nil {
		if m, err = fleet.Done(ctx, job.Out); err != nil {
			err = fmt.Errorf("the pipeline was handed on and has not ended yet; where %s/done.json is, all is: %w", job.Out, err)
		}
	}
	if err == nil {
		err = fleet.End(ctx, job.Out)
	}
	if err != nil {
		say("%v", err)
		return statusInternal
	}
	homes, sum, err := fleet.Sums(ctx, job.Out, m)
	if err != nil {
		say("%v", err)
		return statusInternal
	}
	if !opt.quiet {
		say("%s on %s in %s: %s, %s, %s", plural.Of(sum.Notes, "note"), plural.Of(sum.Residents, "resident"), plural.Of(homes, "home"),
			plural.Of(sum.Error, "error"), plural.Of(sum.Warning, "warning"), plural.Of(sum.Hint, "hint"))
		say("%s", report.Caution)
	}
	if n := m.Dead(); n > 0 {
		say("%s could not be read or clashed: see dead-letter in %s", plural.Of(n, "record"), job.Out)
		if !opt.skipBad {
			return statusUsage
		}
	}
	return statusDone
}

// say writes one line to standard error.
func say(form string, args ...any) {
	fmt.Fprintln(os.Stderr, "stance-fleet: "+report.Printable(fmt.Sprintf(form, args...)))
}

// prepare makes the job and lists the files, or says what of the flags is wrong.
func prepare(ctx context.Context, opt *options) (*fleet.Job, []fleet.File, error) {
	switch {
	case flag.NArg() > 0:
		return nil, nil, fmt.Errorf("%q: want flags only; files of notes are given with --notes", flag.Arg(0))
	case len(opt.notes) == 0:
		return nil, nil, errors.New("no notes given, want --notes with a pattern of files; --help says more")
	case opt.out == "":
		return nil, nil, errors.New("want --out with the folder to write to")
	}
	job := &fleet.Job{
		Out: opt.out, Run: rand.Text(), Charted: len(opt.charts) > 0, HomeField: opt.homeField, Columns: map[string]string{},
		Now:     time.Now().Add(24 * time.Hour), // what stance allows clocks to differ, and shifts to be signed off early
		Version: version(), Shards: opt.shards, Group: opt.group, PolicyName: opt.policy,
	}
	for _, c := range opt.columns {
		field, header, ok := strings.Cut(c, "=")
		if !ok || header == "" {
			return nil, nil, fmt.Errorf("--column %q: want name=header, as in text=\"Progress Note\"", c)
		}
		job.Columns[field] = header
	}
	if opt.policy != "" {
		fs, err := filesystem.New(ctx, opt.policy)
		if err != nil {
			return nil, nil, err
		}
		defer fs.Close()
		if job.Policy, err = filesystem.Read(ctx, fs, opt.policy); err != nil {
			return nil, nil, fmt.Errorf("--policy %s: cannot be read: %w", opt.policy, err)
		}
	}
	if err := job.Check(); err != nil {
		return nil, nil, err
	}
	var files []fleet.File
	for _, kind := range []struct {
		patterns []string
		chart    bool
	}{{opt.notes, false}, {opt.charts, true}} {
		for _, pattern := range kind.patterns {
			more, err := list(ctx, pattern, kind.chart, opt.homeField != "")
			if err != nil {
				return nil, nil, err
			}
			files = append(files, more...)
		}
	}
	slices.SortFunc(files, func(a, b fleet.File) int { return strings.Compare(a.Name, b.Name) })
	for i := range files[1:] {
		if files[i].Name == files[i+1].Name {
			return nil, nil, fmt.Errorf("%s: is given twice", files[i].Name)
		}
	}
	return job, files, nil
}

// list is the files of a pattern.
func list(ctx context.Context, pattern string, isChart, named bool) ([]fleet.File, error) {
	fs, err := filesystem.New(ctx, pattern)
	if err != nil {
		return nil, err
	}
	defer fs.Close()
	names, err := fs.List(ctx, pattern)
	if err != nil {
		return nil, fmt.Errorf("%s: %w", pattern, err)
	}
	if len(names) == 0 {
		return nil, fmt.Errorf("%s: no such file", pattern)
	}
	var files []fleet.File
	for _, name := range names {
		f := fleet.File{Name: name, Chart: isChart}
		if !named {
			if f.Home, err = folder(name); err != nil {
				return nil, err
			}
		}
		files = append(files, f)
	}
	return files, nil
}

// folder is the name of the folder that a file lies in.
func folder(name string) (string, error) {
	if strings.Contains(name, "://") {
		return path.Base(path.Dir(name)), nil
	}
	full, err := filepath.Abs(name)
	return filepath.Base(filepath.Dir(full)), err
}

// version is that of stance, which is built from the same tree; or "devel", as stance has it.
func version() string {
	if info, ok := debug.ReadBuildInfo(); ok && info.Main.Version != "" && info.Main.Version != "(devel)" {
		return info.Main.Version
	}
	return "devel"
}
