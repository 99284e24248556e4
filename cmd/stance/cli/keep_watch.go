package cli

import (
	"context"
	"crypto/sha256"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"time"

	"example.com/stance/index"
	"example.com/stance/lint/inbox"
	"example.com/stance/lint/report"
)

// Bounds of --interval: a look costs little, and a file waits for two of them.
const leastInterval, mostInterval = time.Second, time.Hour

// watch keeps the notes of files that are dropped into a folder, until ctx ends.
func (a *app) watch(ctx context.Context, opt *keepOptions, files []string) error {
	switch {
	case len(files) > 0:
		return usagef("--watch takes its notes from the folder, want no files of notes with it")
	case opt.remove != "" || opt.rebuild || opt.repair:
		return usagef("--watch only adds notes, want no --remove, --rebuild or --repair with it")
	case opt.interval < leastInterval || opt.interval > mostInterval:
		return usagef("--interval %s: want a time from %s to %s", opt.interval, leastInterval, mostInterval)
	}
	w, err := a.newWatcher(ctx, opt)
	if err != nil {
		return err
	}
	ticks := time.NewTicker(opt.interval)
	defer ticks.Stop()
	return errors.Join(w.run(ctx, ticks.C), w.box.Close())
}

// A watcher keeps what is dropped into a folder. It has the index only while it keeps something.
type watcher struct {
	*app
	opt   *keepOptions
	home  *home
	chart *chartFile
	box   *inbox.Box
	told  map[string]bool // faults told since a look went well
	shut  map[string]bool // files told that cannot be opened
	left  bool            // some residents may not have been checked
}

// newWatcher looks at everything that could be wrong before the first look, and checks what an earlier run did not come to.
func (a *app) newWatcher(ctx context.Context, opt *keepOptions) (*watcher, error) {
	if info, err := os.Stat(opt.watch); err != nil {
		return nil, usagef("--watch %s: %w", opt.watch, cause(err))
	} else if !info.IsDir() {
		return nil, usagef("--watch %s: want a folder", opt.watch)
	}
	if _, err := columnNames(opt.columns); err != nil {
		return nil, err
	}
	home, err := a.home(opt.policy, []string{filepath.Join(opt.watch, "notes")}, opt.index)
	if err != nil {
		return nil, err
	}
	w := &watcher{app: a, opt: opt, home: home, told: map[string]bool{}, shut: map[string]bool{}}
	w.chart = &chartFile{app: a, flags: opt.chartFlags, policy: home.policy}
	if opt.chartFile == stdinName {
		return nil, w.chart.first(false) // which refuses it
	}
	if _, err := w.chart.read(); err != nil {
		return nil, err
	}
	if err := w.keep(ctx, nil); err != nil {
		return nil, indexError(err)
	}
	// What could not be read for what is in them may be read by other columns, or by another stance.
	by := sha256.New()
	fmt.Fprintf(by, "%s\n%q\n%q\n%s", version(), opt.columns, opt.sheet, home.text)
	var skip []string
	for _, name := range []string{opt.chartFile, home.file} {
		if name != "" {
			skip = append(skip, name)
		}
	}
	if w.box, err = inbox.Open(opt.watch, filepath.Join(opt.index, index.WatchedName), short(by), skip...); err != nil {
		return nil, err
	}
	if opt.quiet {
		return w, nil
	}
	_, err = fmt.Fprintf(a.out, "Watching %s every %s, keeping notes in %s. Ctrl-C stops it.\n", report.Printable(opt.watch), opt.interval, report.Printable(opt.index))
	return w, err
}

// run looks at once, and then at each tick.
func (w *watcher) run(ctx context.Context, ticks <-chan time.Time) error {
	for {
		if err := w.look(ctx); err != nil {
			return err
		}
		select {
		case <-ctx.Done():
			return nil
		case <-ticks:
		}
	}
}

// look looks at the folder once and keeps what is new. What is wrong is told once and tried again at the next look, unless
// nothing can be kept any more.
func (w *watcher) look(ctx context.Context) error {
	files, restless, err := w.box.Look()
	for _, name := range restless {
		w.say("%s: still being written to after %d looks; it is kept once it rests", filepath.Join(w.opt.watch, name), inbox.Restless)
	}
	files = w.readable(files)
	if err == nil && (len(files) > 0 || w.left) {
		err = w.keep(ctx, files)
	}
	var (
		damaged *index.DamagedError
		missing *index.MissingError
		format  *index.FormatError
		other   *index.FolderError
	)
	switch {
	case ctx.Err() != nil: // what was not taken in is, after the next start
		return nil
	case err == nil:
		clear(w.told)
		return nil
	case errors.As(err, &damaged), errors.As(err, &missing), errors.As(err, &format), errors.As(err, &other):
		return indexError(err)
	}
	if line := fmt.Sprintf("%v; trying again", err); !w.told[line] {
		w.told[line] = true
		w.say("%s", line)
	}
	return nil
}

// readable leaves those of the files that can be opened. Those that cannot, as where their owner has not opened them to
// others yet, are told once and tried again at each look.
func (w *watcher) readable(files []inbox.File) []inbox.File {
	return slices.DeleteFunc(files, func(f inbox.File) bool {
		name := filepath.Join(w.opt.watch, f.Name)
		open, err := os.Open(name)
		if err == nil {
			delete(w.shut, name)
			open.Close()
			return false
		}
		if !w.shut[name] {
			w.shut[name] = true
			w.say("%s: %v", name, cause(err))
		}
		return true
	})
}

// keep keeps the notes of files, and checks whose notes have changed.
func (w *watcher) keep(ctx context.Context, files []inbox.File) (err error) {
	ch, err := w.chart.now()
	if err != nil {
		return err
	}
	to, err := index.OpenWriter(w.opt.index, w.home.lex)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, to.Close()) }()
	k := &keeper{app: w.app, w: to, home: w.home, chart: ch, quiet: w.opt.quiet}
	if w.box == nil { // the first time
		return k.run(ctx, w.opt, nil)
	}
	w.left = true
	for _, f := range files {
		if err := w.take(ctx, k, f); err != nil {
			return err
		}
	}
	k.about = ""
	if err := k.check(ctx, w.opt); err != nil {
		return fmt.Errorf("notes are kept but were not checked: %w", err)
	}
	w.left = false
	return nil
}

// take keeps the notes of one file.
func (w *watcher) take(ctx context.Context, k *keeper, f inbox.File) error {
	k.read = outcome{}
	k.about = report.Printable(f.Name) + ": "
	if err := k.take(ctx, w.opt, []string{filepath.Join(w.opt.watch, f.Name)}); err != nil {
		return err
	}
	// A file that was written to meanwhile has another time by now, and so is given again.
	return w.box.Taken(f, k.read.badFiles+k.read.badRecords > 0)
}
