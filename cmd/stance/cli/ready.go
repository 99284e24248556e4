package cli

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"runtime"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"example.com/stance/index"
	"example.com/stance/lint/bounded"
	"example.com/stance/lint/chart"
	"example.com/stance/lint/note"
	"example.com/stance/lint/plural"
	"example.com/stance/lint/policy"
	"example.com/stance/lint/ready"
	"example.com/stance/lint/report"
)

type readyOptions struct {
	chartFlags
	policy  string
	columns []string
	sheet   string
	index   string
	format  *choice
}

func (a *app) readyCommand() *cobra.Command {
	var opt readyOptions
	c := &cobra.Command{
		Use:   "ready [FOLDER | NOTES…]",
		Short: "Say what is wrong with a home's set-up, and what to do",
		Long: `ready looks whether a home's policy, chart, notes and index fit together, and says in plain
words what is wrong and what to do: time zones and shift hours, gaps and notes still to come,
residents without a chart and rows of the chart without notes, columns, values, roles and
units that are not known, an index that is older than the notes or was made with another
policy, and who may read the files.

In a FOLDER, else the one that it is run in, it takes stance.yaml, the files chart.* and
notes.*, and the index stance-index, as far as they are there. The flags name others.

Exit status:
  0  nothing to put right
  1  something to put right
  2  wrong usage
  3  a fault inside stance, or stopped before the end`,
		Example: `  stance ready
  stance ready birch --index birch-index
  stance ready --chart home.xlsx --chart-sheet Chart --column text="Progress Note" home.xlsx`,
		RunE: func(c *cobra.Command, args []string) error { return a.ready(c.Context(), &opt, args) },
	}
	opt.format = formats(c, "text", "json")
	opt.chartFlags.register(c)
	f := c.Flags()
	f.StringVar(&opt.policy, "policy", "", "policy `file` (else stance.yaml in the folder, or beside the first notes file)")
	f.StringArrayVar(&opt.columns, "column", nil, "`name=header` of a column of a CSV, TSV or XLSX file, as in text=\"Progress Note\"; may be given again")
	f.StringVar(&opt.sheet, "sheet", "", "sheet of a workbook, by its `name` or number (else the first)")
	f.StringVar(&opt.index, "index", "", "`folder` of kept notes")
	return c
}

// A readiness is one run of stance ready.
type readiness struct {
	*app
	opt      *readyOptions
	files    []string
	private  []string // files that only their owner should read, where they are there
	home     *home
	chart    *chart.Chart
	setup    *ready.Setup
	keys     map[noteKey]bool // of the notes in files
	looked   []string         // what was looked at, in words
	problems []ready.Problem  // but for those of the setup
}

func (r *readiness) wrong(id, do, format string, args ...any) {
	r.problems = append(r.problems, ready.Problem{ID: id, Wrong: true, What: fmt.Sprintf(format, args...), Do: do})
}

func (a *app) ready(ctx context.Context, opt *readyOptions, args []string) error {
	r := &readiness{app: a, opt: opt, keys: map[noteKey]bool{}}
	if err := r.find(args); err != nil {
		return err
	}
	columns, err := columnNames(opt.columns)
	if err != nil {
		return err
	}
	if err := r.readPolicy(); err != nil {
		return err
	}
	if err := r.readChart(); err != nil {
		return err
	}
	p := r.home.policy
	if r.setup, err = ready.New(a.now(), p, r.chart); err != nil {
		return usagef("%w", err)
	}
	opts := note.Options{Zone: p.Zone, Columns: columns, Roles: p.Roles, Sheet: opt.sheet, Survey: r.setup.Survey()}
	for _, name := range r.files {
		if err := r.readNotes(ctx, name, opts); err != nil {
			return err
		}
	}
	if first, last, notes, residents := r.setup.Span(); notes > 0 {
		r.looked = append(r.looked, fmt.Sprintf("%s on %s, from %s to %s", plural.Of(notes, "note"), plural.Of(residents, "resident"),
			first.Format("2 January 2006"), last.Format("2 January 2006")))
	}
	if opt.index != "" {
		if err := r.lookAtIndex(ctx); err != nil {
			return err
		}
	}
	r.permissions()
	all := append(r.problems, r.setup.Problems()...)
	if err := r.report(all); err != nil {
		return err
	}
	if slices.ContainsFunc(all, func(p ready.Problem) bool { return p.Wrong }) {
		return &exitError{status: statusFindings}
	}
	return nil
}

// find finds the files of a home.
func (r *readiness) find(args []string) error {
	dir := "."
	if len(args) > 0 {
		info, err := os.Stat(args[0])
		switch {
		case len(args) > 1 || err != nil || !info.IsDir():
			r.files = args
			r.opt.policy = policyFile(r.opt.policy, args)
			r.private = []string{filepath.Join(filepath.Dir(args[0]), "answers.jsonl"), filepath.Join(filepath.Dir(args[0]), "users.jsonl")}
			return nil
		}
		dir = args[0]
	}
	entries, err := os.ReadDir(dir)
	if err != nil {
		return usagef("%s: %w", dir, cause(err))
	}
	for _, e := range entries {
		path := filepath.Join(dir, e.Name())
		kind := strings.TrimPrefix(strings.ToLower(filepath.Ext(e.Name())), ".")
		base := strings.ToLower(strings.TrimSuffix(e.Name(), filepath.Ext(e.Name())))
		readable := slices.Contains([]string{"jsonl", "ndjson", "json", "csv", "tsv", "txt", "xlsx", "hl7"}, kind)
		switch {
		case e.IsDir() && e.Name() == indexName && r.opt.index == "":
			r.opt.index = path
		case e.IsDir():
		case e.Name() == "stance.yaml" && r.opt.policy == "":
			r.opt.policy = path
		case base == "chart" && readable && r.opt.chartFile == "":
			r.opt.chartFile = path
		case strings.HasPrefix(base, "notes") && readable:
			r.files = append(r.files, path)
		case slices.Contains([]string{"answers.jsonl", "users.jsonl", "access.jsonl", "stance-names.key"}, e.Name()):
			r.private = append(r.private, path)
		}
	}
	return nil
}

// readPolicy reads the policy, or takes the defaults where it cannot be read.
func (r *readiness) readPolicy() error {
	h, err := r.app.home(r.opt.policy, r.files, r.opt.index)
	var user *exitError
	switch {
	case err == nil:
	case errors.As(err, &user) && user.status == statusUsage && r.opt.policy != "":
		r.wrong("policy-unreadable", "Put that line right; until then no command reads these notes by it.", "The policy cannot be read: %v.", err)
		lex, err := r.compile()
		if err != nil {
			return err
		}
		h = &home{policy: policy.Default(), lex: lex}
	case r.opt.index != "":
		// What is wrong with the index is told where it is looked at.
		if h, err = r.app.home(r.opt.policy, r.files, ""); err != nil {
			return err
		}
	default:
		return err
	}
	r.home = h
	if h.file != "" {
		r.looked = append(r.looked, "policy "+h.file)
	} else {
		r.looked = append(r.looked, "no policy of the home's own")
	}
	return nil
}

const mostTold = 3 // lines that are quoted of what cannot be read

// told are the first of some lines, joined into a sentence.
func told(lines []string) string {
	if n := len(lines) - mostTold; n > 0 {
		return fmt.Sprintf("%s; and %d more", strings.Join(lines[:mostTold], "; "), n)
	}
	return strings.Join(lines, "; ")
}

func (r *readiness) readChart() error {
	name := r.opt.chartFile
	if name == "" {
		return nil
	}
	f, err := r.open(name)
	if err != nil {
		return err
	}
	defer f.Close()
	p := r.home.policy
	c, _, bad, err := chart.ReadAny(name, bounded.Reader(f, mostChart), chart.Options{Zone: p.Zone, Codes: p.Codes, Sheet: r.opt.chartSheet})
	if err != nil {
		r.wrong("chart-unreadable", "Put the file right, or name another with --chart.", "The chart cannot be read: %v.", err)
		return nil
	}
	if len(bad) > 0 {
		var lines []string
		for _, e := range bad {
			lines = append(lines, e.Error())
		}
		r.wrong("chart-rows", "Put each right in the chart; what a column may hold stands in the README.", "%s of the chart cannot be read: %s.", plural.Of(len(bad), "row"), told(lines))
	}
	r.chart = c
	r.looked = append(r.looked, fmt.Sprintf("chart %s of %s", name, plural.Of(len(c.Residents()), "resident")))
	return nil
}

func (r *readiness) readNotes(ctx context.Context, name string, opt note.Options) error {
	f, err := r.open(name)
	if err != nil {
		return err
	}
	defer f.Close()
	in, err := note.NewReader(name, f, opt)
	if err != nil {
		r.wrong("notes-unreadable", "Put the file right, or leave it out.", "Notes cannot be read: %v.", err)
		return nil
	}
	var bad []string
	for {
		if err := ctx.Err(); err != nil {
			return err
		}
		n, err := in.Next()
		var record *note.BadRecord
		switch {
		case err == io.EOF:
			for _, w := range in.Withdrawn() { // stance keep takes these out of the index
				for _, number := range w.Numbers {
					delete(r.keys, noteKey{w.Resident, number})
				}
			}
			if len(bad) > 0 {
				r.wrong("notes-bad-records", "Put each right; until then they are left out.", "%s of notes cannot be read: %s.", plural.Of(len(bad), "record"), told(bad))
			}
			return nil
		case errors.As(err, &record):
			bad = append(bad, record.Error())
			continue
		case errors.Is(err, context.Canceled):
			return err
		case err != nil:
			r.wrong("notes-unreadable", "Put the file right, or leave it out.", "Notes cannot be read: %v.", err)
			return nil
		}
		r.keys[noteKey{n.Resident, n.ID}] = true
		r.setup.Note(n)
	}
}

// lookAtIndex holds the index against the notes, the policy and the chart.
func (r *readiness) lookAtIndex(ctx context.Context) error {
	dir := r.opt.index
	x, err := index.Open(dir, r.home.lex)
	if err != nil {
		r.wrong("index-unreadable", "Do what that says; stance keep makes a new index in an empty folder.", "The index cannot be used: %v.", err)
		return nil
	}
	defer x.Close()
	kept := map[noteKey]bool{}
	residents := map[string]bool{}
	err = x.Notes(ctx, index.Range{}, func(n note.Note) error {
		kept[noteKey{n.Resident, n.ID}] = true
		residents[n.Resident] = true
		if len(r.files) == 0 {
			r.setup.Note(n)
		}
		return nil
	})
	if err != nil {
		if ctx.Err() != nil {
			return err
		}
		r.wrong("index-unreadable", "Do what that says; stance keep makes a new index in an empty folder.", "The index cannot be used: %v.", err)
		return nil
	}
	r.looked = append(r.looked, fmt.Sprintf("index %s of %s", dir, plural.Of(len(kept), "note")))
	missing := 0
	for k := range r.keys {
		if !kept[k] {
			missing++
		}
	}
	if missing > 0 {
		r.wrong("index-behind", "Run stance keep with these notes.", "The index is older than the notes: %s of %d not in it.", plural.Of(missing, "note"), len(r.keys))
	}
	rebuild := "Run stance keep --rebuild with the chart and the policy."
	h := r.home
	if h.file != "" && !bytes.Equal(h.text, h.kept) {
		r.wrong("index-policy", rebuild, "The policy has changed since the notes in the index were kept.")
		return nil
	}
	if stale, err := x.Stale(); err == nil && stale {
		r.wrong("index-vocabulary", rebuild, "The notes in the index were read with other words, of an earlier policy or another version of stance.")
		return nil
	}
	grounds, err := x.Grounds()
	if err != nil {
		return indexError(err)
	}
	k := &keeper{app: r.app, home: h, chart: r.chart}
	general := k.generalGrounds()
	other := 0
	for resident := range residents {
		if grounds[resident] != general+" "+k.chartGrounds(resident) {
			other++
		}
	}
	if other > 0 {
		r.wrong("index-chart", rebuild, "The chart, or stance, has changed since the notes in the index were checked: those of %s.", plural.Of(other, "resident"))
	}
	return nil
}

// permissions looks at who may read and change the files. Windows has no such bits.
func (r *readiness) permissions() {
	if runtime.GOOS == "windows" {
		return
	}
	var open, others, readable []string
	look := func(name string, private bool) {
		info, err := os.Stat(name)
		if err != nil || name == stdinName {
			return
		}
		switch mode := info.Mode().Perm(); {
		case mode&0o022 != 0:
			open = append(open, name)
		case private && mode&0o077 != 0:
			others = append(others, name)
		case mode&0o004 != 0:
			readable = append(readable, name)
		}
	}
	for _, name := range append(slices.Clone(r.files), r.opt.chartFile, r.home.file) {
		if name != "" {
			look(name, false)
		}
	}
	for _, name := range r.private {
		look(name, true)
	}
	if r.opt.index != "" {
		look(r.opt.index, true)
		if err := filepath.WalkDir(r.opt.index, func(path string, d fs.DirEntry, err error) error {
			if err == nil && !d.IsDir() {
				look(path, true)
			}
			return nil
		}); err != nil {
			return
		}
	}
	if len(open) > 0 {
		r.wrong("files-open", "Take that right away: chmod go-w, and look who is in the group.", "Others than their owner may change: %s.", told(open))
	}
	if len(others) > 0 {
		r.wrong("files-private", "Take that right away: chmod go-rwx.", "Others than their owner may read what only the owner should: %s.", told(others))
	}
	readable = slices.DeleteFunc(readable, func(name string) bool { return name == r.home.file })
	if len(readable) > 0 {
		r.problems = append(r.problems, ready.Problem{ID: "files-readable", What: fmt.Sprintf("Everybody on this machine may read: %s.", told(readable)),
			Do: "Where they are records of residents, chmod o-r."})
	}
}

func (r *readiness) report(all []ready.Problem) error {
	if r.opt.format.value == "json" {
		return encode(r.out, struct {
			Ready    bool            `json:"ready"`
			LookedAt []string        `json:"looked_at"`
			Problems []ready.Problem `json:"problems"`
			Caution  string          `json:"caution"`
		}{!slices.ContainsFunc(all, func(p ready.Problem) bool { return p.Wrong }), r.looked, append([]ready.Problem{}, all...), report.Caution})
	}
	var b bytes.Buffer
	width := r.width()
	if width == 0 {
		width = 80
	}
	fill := func(first, rest, s string) { report.Fill(&b, width, first, rest, report.Printable(s)) }
	fill("", "", "Looked at: "+strings.Join(r.looked, "; ")+".")
	wrong := 0
	for _, part := range []struct {
		title string
		wrong bool
	}{{"To put right", true}, {"Worth a look", false}} {
		n := 0
		for _, p := range all {
			if p.Wrong != part.wrong {
				continue
			}
			if n++; n == 1 {
				fmt.Fprintf(&b, "\n%s\n", part.title)
			}
			number := fmt.Sprintf("%3d. ", n)
			fill("\n"+number, strings.Repeat(" ", len(number)), p.What)
			fill(strings.Repeat(" ", len(number))+"Do: ", strings.Repeat(" ", len(number)), p.Do)
		}
		if part.wrong {
			wrong = n
		}
	}
	fmt.Fprintln(&b)
	if wrong == 0 {
		fill("", "", "Ready: nothing to put right. That the set-up is sound says nothing of the care.")
	} else {
		fill("", "", fmt.Sprintf("Not ready: %s to put right.", plural.Of(wrong, "thing")))
	}
	fill("", "", report.Caution)
	_, err := r.out.Write(b.Bytes())
	return err
}
