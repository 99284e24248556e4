package cli

import (
	"bufio"
	"bytes"
	"cmp"
	"context"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"example.com/stance/lint/amend"
	"example.com/stance/lint/finding"
	"example.com/stance/lint/note"
	"example.com/stance/lint/plural"
	"example.com/stance/lint/policy"
	"example.com/stance/lint/report"
)

type rewriteOptions struct {
	inputFlags
	selectFlags
	chartFlags
	out    string
	format *choice
}

// trailName is the file that says what was changed in the copies beside it.
const trailName = "trail.jsonl"

func (a *app) rewriteCommand() *cobra.Command {
	var opt rewriteOptions
	c := &cobra.Command{
		Use:   "rewrite [NOTES…] --chart CHART",
		Short: "Show the wording that rules propose, and write amended copies",
		Long: `rewrite shows, word by word, what rules propose to write in place of words that will be
misread: «lifted» → «transferred». It proposes a term only where the note's other words or
the chart bear it out; whether it is right, the writer of the note decides.

With --out it writes a copy of each file of notes into DIR, in the same form, with the
proposed words in place, and beside them ` + trailName + ` with each note's original text, its
proposed text and the rules. The notes themselves are never changed, and nothing in DIR is
overwritten. A workbook is not amended: save its sheet as CSV. The selecting flags choose
which notes are amended.

Exit status:
  0  done, whether or not there was something to propose
  2  wrong usage, or input that could not be read
  3  a fault inside stance, or stopped before the end`,
		Example: `  stance rewrite --chart chart.csv notes.jsonl
  stance rewrite --chart chart.csv --out amended notes.jsonl`,
		RunE: func(c *cobra.Command, files []string) error { return a.rewrite(c.Context(), &opt, files) },
	}
	opt.format = formats(c, "text", "json")
	opt.chartFlags.register(c)
	c.Flags().StringVar(&opt.out, "out", "", "write amended copies to this `folder`, made where there is none")
	opt.inputFlags.register(c, "print nothing")
	opt.selectFlags.register(c)
	return c
}

// A rewording is one note's text and what is proposed for it. Its JSON form is a line of the trail.
type rewording struct {
	File     string         `json:"file"`
	Line     int            `json:"line"`
	Note     string         `json:"note"`
	Resident string         `json:"resident"`
	Shift    string         `json:"shift"`
	Original string         `json:"original"`
	Proposed string         `json:"proposed"`
	Changes  []amend.Change `json:"changes"`
}

func (a *app) rewrite(ctx context.Context, opt *rewriteOptions, files []string) error {
	files, err := a.notesOrStdin(files)
	if err != nil {
		return err
	}
	if opt.out != "" {
		if err := copyable(opt.out, files); err != nil {
			return err
		}
	}
	p, lex, err := a.policy(opt.policy, files)
	if err != nil {
		return err
	}
	sel, err := opt.ready(p)
	if err != nil {
		return err
	}
	checker, _, badRows, err := a.checker(opt.chartFlags, lex, p)
	if err != nil {
		return err
	}
	notes := map[noteKey][]note.Note{}
	read, err := a.eachNote(ctx, files, &opt.inputFlags, p, func(n note.Note) error {
		checker.Add(n)
		key := noteKey{n.Resident, n.ID}
		notes[key] = append(notes[key], n)
		return nil
	})
	if err != nil {
		return err
	}
	read.badRecords += badRows
	proposals := map[note.Source][]finding.Finding{}
	of := map[note.Source]note.Note{}
	if _, err := checker.Run(ctx, func(f finding.Finding) error {
		if f.Rewrite == nil || !sel.finding(&f) {
			return nil
		}
		if n, ok := noteOf(notes[noteKey{f.Resident, f.Note}], &f); ok {
			proposals[n.Source], of[n.Source] = append(proposals[n.Source], f), n
		}
		return nil
	}); err != nil {
		return err
	}
	var all []rewording
	for src, fs := range proposals {
		n := of[src]
		changes := amend.Changes(n.Text, fs)
		if len(changes) == 0 {
			continue
		}
		all = append(all, rewording{
			File: src.File, Line: src.Line, Note: n.ID, Resident: n.Resident, Shift: fs[0].Shift,
			Original: n.Text, Proposed: amend.Apply(n.Text, changes), Changes: changes,
		})
	}
	slices.SortFunc(all, func(x, y rewording) int {
		return cmp.Or(slices.Index(files, x.File)-slices.Index(files, y.File), x.Line-y.Line, cmp.Compare(x.Note, y.Note))
	})
	if opt.out != "" {
		if read.badFiles > 0 {
			return read.err(opt.skipBad) // half a file has no copy
		}
		if err := a.writeCopies(ctx, opt, files, all, p); err != nil {
			return err
		}
	}
	if !opt.quiet {
		if err := a.printRewordings(opt, len(files), all); err != nil {
			return err
		}
	}
	return read.err(opt.skipBad)
}

// noteOf is the one of a resident's notes of one id that the finding is on.
func noteOf(same []note.Note, f *finding.Finding) (note.Note, bool) {
	for _, n := range same {
		if n.Time.Equal(f.Time) && f.Span.End <= len(n.Text) && n.Text[f.Span.Start:f.Span.End] == f.Text {
			return n, true
		}
	}
	return note.Note{}, false
}

func (a *app) printRewordings(opt *rewriteOptions, files int, all []rewording) error {
	w := bufio.NewWriter(a.report(opt.format))
	if opt.format.value == "json" {
		if all == nil {
			all = []rewording{}
		}
		if err := encode(w, all); err != nil {
			return err
		}
		return w.Flush()
	}
	width := a.width()
	if width == 0 {
		width = 80
	}
	changes := 0
	for i := range all {
		r := &all[i]
		changes += len(r.Changes)
		report.Fill(w, width, "", "  ", fmt.Sprintf("Note %s on resident %s, %s:", report.Printable(r.Note), report.Printable(r.Resident), r.Shift))
		report.Fill(w, width, "  ", "  ", a.wordDiff(amend.Diff(r.Original, r.Proposed)))
		var rules []string
		for _, c := range r.Changes {
			if !slices.Contains(rules, c.Rule) {
				rules = append(rules, c.Rule)
			}
		}
		fmt.Fprintf(w, "  Rule: %s\n\n", strings.Join(rules, ", "))
	}
	switch {
	case len(all) == 0:
		fmt.Fprintln(w, "No other wording to propose.")
	default:
		fmt.Fprintf(w, "%s proposed in %s. The writer decides.\n", plural.Of(changes, "wording"), plural.Of(len(all), "note"))
	}
	if opt.out != "" {
		fmt.Fprintf(w, "Wrote %s and %s to %s.\n", copies(files), trailName, opt.out)
	}
	report.Fill(w, width, "", "", report.Caution)
	return w.Flush()
}

func copies(n int) string {
	if n == 1 {
		return "1 copy"
	}
	return fmt.Sprintf("%d copies", n)
}

// aroundChange is about how many bytes of the note are shown on each side of a change.
const aroundChange = 70

// wordDiff is «old» → «new» among the words around it. On a terminal the old words are red and struck
// out and the new ones green, but the marks tell them apart without that.
func (a *app) wordDiff(hunks []amend.Hunk) string {
	var b strings.Builder
	for i, h := range hunks {
		if h.Equal != "" {
			b.WriteString(report.Printable(around(h.Equal, i > 0, i+1 < len(hunks))))
			continue
		}
		b.WriteString("«" + a.paintWords("9;31", h.Original) + "» → «" + a.paintWords("1;32", h.Proposed) + "»")
		if strings.TrimRight(h.Original, " \n") != h.Original {
			b.WriteByte(' ')
		}
	}
	return b.String()
}

// around is the part of s that lies next to changes: its start after one, its end before one.
func around(s string, start, end bool) string {
	if start && end && len(s) <= 2*aroundChange || start != end && len(s) <= aroundChange {
		return s
	}
	head, tail := "", ""
	if start {
		head = s[:aroundChange]
		head = strings.ToValidUTF8(head[:max(strings.LastIndexByte(head, ' '), 0)], "") + " "
	}
	if end {
		tail = s[len(s)-aroundChange:]
		tail = " " + strings.ToValidUTF8(tail[strings.IndexByte(tail, ' ')+1:], "")
	}
	return head + "…" + tail
}

// paintWords paints what is left of a part of a note once line ends and doubled blanks are gone. Codes of ECMA-48, section
// 8.3.117 (SGR).
func (a *app) paintWords(code, s string) string {
	s = strings.Join(strings.Fields(report.Printable(s)), " ")
	if s == "" || !a.color() {
		return s
	}
	return "\x1b[" + code + "m" + s + "\x1b[0m"
}

// copyable refuses what cannot be copied to dir: standard input, two files of one name, a folder that
// the notes lie in, and names that are taken there.
func copyable(dir string, files []string) error {
	names := []string{trailName}
	for _, f := range files {
		if f == stdinName {
			return usagef("--out: standard input has no name for a copy, want a file of notes")
		}
		name := filepath.Base(f)
		if slices.Contains(names, name) {
			return usagef("--out: more than one copy would be called %s, want files of different names", name)
		}
		names = append(names, name)
		if at, err := os.Stat(dir); err == nil {
			if from, err := os.Stat(filepath.Dir(f)); err == nil && os.SameFile(at, from) {
				return usagef("--out %s: %s lies there, want another folder", dir, f)
			}
		}
	}
	for _, name := range names {
		path := filepath.Join(dir, name)
		if _, err := os.Lstat(path); !errors.Is(err, fs.ErrNotExist) {
			if err != nil {
				return usagef("%s: %w", path, cause(err))
			}
			return usagef("%s: is there already, want a folder without it", path)
		}
	}
	return nil
}

// writeCopies makes all copies before it writes the first, so that a refusal leaves nothing behind.
func (a *app) writeCopies(ctx context.Context, opt *rewriteOptions, files []string, all []rewording, p *policy.Policy) error {
	columns, err := columnNames(opt.columns)
	if err != nil {
		return err
	}
	type named struct {
		name    string
		content []byte
	}
	var made []named
	for _, file := range files {
		if err := ctx.Err(); err != nil {
			return err
		}
		content, err := a.readAll(file, mostToCopy)
		if err != nil {
			return err
		}
		var texts []amend.Text
		for _, r := range all {
			if r.File == file {
				texts = append(texts, amend.Text{Note: r.Note, Line: r.Line, Original: r.Original, Proposed: r.Proposed})
			}
		}
		content, err = amend.File(file, content, texts, note.Options{Zone: p.Zone, Columns: columns, Roles: p.Roles, Sheet: opt.sheet})
		if err != nil {
			return usagef("%w; nothing was written", err)
		}
		made = append(made, named{filepath.Base(file), content})
	}
	var trail bytes.Buffer
	for _, r := range all {
		if err := encode(&trail, r); err != nil {
			return err
		}
	}
	made = append(made, named{trailName, trail.Bytes()})
	if err := os.MkdirAll(opt.out, 0o755); err != nil {
		return usagef("%s: cannot make the folder: %w", opt.out, cause(err))
	}
	for _, m := range made {
		path := filepath.Join(opt.out, m.name)
		if err := writeWhole(path, m.content); err != nil {
			return usagef("%s: cannot write: %w", path, cause(err))
		}
	}
	return nil
}
