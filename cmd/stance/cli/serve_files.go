package cli

import (
	"context"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"sync"

	"example.com/stance/index"
	"example.com/stance/lexicon"
	"example.com/stance/lint/chart"
	"example.com/stance/lint/note"
	"example.com/stance/lint/plural"
	"example.com/stance/lint/policy"
)

// noteFiles are the notes files of a served page, which are read again when they change.
type noteFiles struct {
	app    *app
	files  []string
	flags  inputFlags
	policy *policy.Policy
}

// served counts what the page shows.
type served struct{ notes, residents int }

// countInto is a function that counts the notes it is given.
func (s *served) countInto() func(note.Note) error {
	residents := map[string]bool{}
	return func(n note.Note) error {
		residents[n.Resident] = true
		s.notes++
		s.residents = len(residents)
		return nil
	}
}

// first reads the notes once before the page is served, so that what cannot be read is refused then
// and not found out by whoever opens the page.
func (f *noteFiles) first(ctx context.Context) (served, error) {
	var s served
	read, err := f.app.eachNote(ctx, f.files, &f.flags, f.policy, s.countInto())
	if err != nil {
		return s, err
	}
	return s, read.err(f.flags.skipBad)
}

// Stamp tells when each file was changed and how long it is.
func (f *noteFiles) Stamp(context.Context) (string, error) {
	var stamp strings.Builder
	for _, name := range f.files {
		state, err := fileState(name)
		if err != nil {
			return "", err
		}
		fmt.Fprintln(&stamp, state)
	}
	return stamp.String(), nil
}

// Notes hands on the notes that can be read. Records that cannot be are told and left out; a file
// that cannot be is an error, because a page without its notes would look like a quiet shift.
func (f *noteFiles) Notes(ctx context.Context, yield func(note.Note) error) error {
	// A fresh app, since reading keeps state; and no progress among the messages of a server.
	a, flags := *f.app, f.flags
	flags.quiet = true
	read, err := a.eachNote(ctx, f.files, &flags, f.policy, yield)
	if err == nil && read.badFiles > 0 {
		err = fmt.Errorf("%s of notes cannot be read to the end", plural.Of(read.badFiles, "file"))
	}
	return err
}

// keptNotes are the notes of an index, which grow while they are served.
type keptNotes struct {
	dir   string
	index *index.Index
}

func openKept(dir string, lex *lexicon.Lexicon) (*keptNotes, error) {
	x, err := index.Open(dir, lex)
	if err != nil {
		return nil, err
	}
	return &keptNotes{dir: dir, index: x}, nil
}

func (k *keptNotes) count(ctx context.Context) (served, error) {
	var s served
	err := k.Notes(ctx, s.countInto())
	return s, err
}

// Stamp tells when each file of the folder was changed and how long it is.
func (k *keptNotes) Stamp(context.Context) (string, error) {
	entries, err := os.ReadDir(k.dir)
	if err != nil {
		return "", fmt.Errorf("%s: %w", k.dir, cause(err))
	}
	var stamp strings.Builder
	for _, e := range entries {
		if !e.Type().IsRegular() {
			continue // the search part, which is made from the files
		}
		state, err := fileState(filepath.Join(k.dir, e.Name()))
		if err != nil {
			return "", err
		}
		fmt.Fprintln(&stamp, state)
	}
	return stamp.String(), nil
}

// Notes hands on all notes kept.
func (k *keptNotes) Notes(ctx context.Context, yield func(note.Note) error) error {
	return k.index.Notes(ctx, index.Range{}, yield)
}

// fileState is one string for one state of a file.
func fileState(name string) (string, error) {
	info, err := os.Stat(name)
	if errors.Is(err, fs.ErrNotExist) {
		return "", fmt.Errorf("%s: no such file", name)
	} else if err != nil {
		return "", fmt.Errorf("%s: %w", name, cause(err))
	}
	return fmt.Sprintf("%q %d %d", name, info.ModTime().UnixNano(), info.Size()), nil
}

// chartFile is the chart of a served page, which is read again when its file changes. With no name it
// is no chart. It is safe for concurrent use.
type chartFile struct {
	app    *app
	flags  chartFlags
	policy *policy.Policy

	mu    sync.Mutex
	state string
	chart *chart.Chart
}

// first reads the chart before the page is served, and refuses rows that cannot be read.
func (c *chartFile) first(skipBad bool) error {
	if c.flags.chartFile == stdinName {
		return usagef("--chart: standard input (-) cannot be read again when it changes, want a file")
	}
	bad, err := c.read()
	if err == nil && bad > 0 && !skipBad {
		err = outcome{badRecords: bad}.err(false)
	}
	return err
}

// now is the chart as it stands; rows that cannot be read are told.
func (c *chartFile) now() (*chart.Chart, error) {
	c.mu.Lock()
	defer c.mu.Unlock()
	_, err := c.read()
	return c.chart, err
}

// read reads the file if it has changed since, and counts the rows that cannot be read.
func (c *chartFile) read() (bad int, err error) {
	if c.flags.chartFile == "" {
		return 0, nil
	}
	state, err := fileState(c.flags.chartFile)
	if err != nil {
		return 0, usagef("%w", err)
	}
	if state == c.state {
		return 0, nil
	}
	ch, bad, err := c.app.chart(c.flags, c.policy)
	if err != nil {
		return 0, err
	}
	c.chart, c.state = ch, state
	return bad, nil
}

// lockedWriter lets several goroutines write, one at a time.
type lockedWriter struct {
	mu sync.Mutex
	w  io.Writer
}

func (l *lockedWriter) Write(b []byte) (int, error) {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.w.Write(b)
}
