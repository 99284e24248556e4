package index

import (
	"context"
	"encoding/json"
	"errors"
	"io/fs"
	"maps"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"example.com/stance/index/internal/journal"
)

const (
	judgedName    = "judged"
	newJudgedName = "judged.new" // what is about to take its place
)

// Unjudged lists the residents with notes that were kept, changed or withdrawn since Judged or JudgedPart was last called
// for them, sorted. It survives a crash.
func (w *Writer) Unjudged(context.Context) ([]string, error) {
	return w.state.roster.unjudged(), w.failed
}

// Changed are the times of a resident's notes that were kept, changed or withdrawn since the resident was last judged,
// those of the versions that they replaced among them.
func (w *Writer) Changed(resident string) ([]time.Time, error) {
	var all []time.Time
	latest := map[string]time.Time{}
	err := w.state.roster.each(resident, func(s slip) error {
		switch s.kind {
		case noteKind:
			if before, ok := latest[string(s.id)]; ok {
				all = append(all, before)
			}
			latest[string(s.id)] = s.time
			all = append(all, s.time)
		case goneKind:
			all = append(all, latest[string(s.id)])
		case judgedKind:
			all = nil
		}
		return nil
	})
	return all, err
}

// Judged sets the rules that fired on each of a resident's notes, by note id; a note that is not in the
// map has none. The resident is no longer unjudged.
func (w *Writer) Judged(ctx context.Context, resident string, rules map[string][]string) error {
	return w.judged(ctx, resident, func(id string, _ []string) []string { return rules[id] })
}

// JudgedPart sets the rules of a resident's notes to what now says, which is given the id of each and the rules that
// it has. The resident is no longer unjudged.
func (w *Writer) JudgedPart(ctx context.Context, resident string, now func(id string, have []string) []string) error {
	return w.judged(ctx, resident, now)
}

func (w *Writer) judged(ctx context.Context, resident string, now func(id string, have []string) []string) error {
	notes, err := w.state.of(resident)
	if err != nil {
		return err
	}
	var items [][]byte
	for _, id := range slices.Sorted(maps.Keys(notes.by)) {
		k := notes.by[id]
		if k.gone {
			continue
		}
		items = w.setRules(items, k, resident, id, now(id, k.rules))
	}
	if w.state.roster.known[resident].unjudged {
		items = append(items, appendJudged(nil, resident))
	}
	return w.record(ctx, items)
}

// Grounds are what residents were last judged by, in a form of the program's own. Who has none was never judged, or
// may have been judged by something else since.
type grounds struct {
	of      map[string]string // by resident
	changed bool
}

// Grounds is what SetGrounds last put down for a resident; empty for nothing.
func (w *Writer) Grounds(resident string) string { return w.grounds.of[resident] }

// Grounds are what residents were last judged by, by resident, as Writer.Grounds has it.
func (x *Index) Grounds() (map[string]string, error) {
	l, err := openLedger(x.dir, journal.Open)
	if err != nil {
		return nil, err
	}
	defer l.Close()
	return readGrounds(x.dir, l.Generation()).of, nil
}

// SetGrounds puts down what a resident is being judged by. It counts once the writer is closed.
func (w *Writer) SetGrounds(resident, what string) error {
	if w.grounds.of[resident] == what {
		return nil
	}
	if !w.grounds.changed {
		// A run that is stopped must not leave what was true before it.
		if err := removeIfThere(filepath.Join(w.dir, judgedName)); err != nil {
			return err
		}
		w.grounds.changed = true
	}
	w.grounds.of[resident] = what
	return nil
}

func removeIfThere(name string) error {
	if err := os.Remove(name); !errors.Is(err, fs.ErrNotExist) {
		return err
	}
	return nil
}

// A groundsFile is what the file of grounds holds, behind a line with the sum of it.
type groundsFile struct {
	Generation []byte            `json:"generation"` // of the journal
	Of         map[string]string `json:"of"`
}

// readGrounds reads the grounds of a folder. A file that is not as it was written, or of other notes, is as good as
// none: it costs no more than looking at notes again.
func readGrounds(dir string, generation journal.Generation) grounds {
	g := grounds{of: map[string]string{}}
	b, err := os.ReadFile(filepath.Join(dir, judgedName))
	if err != nil {
		return g
	}
	sum, body, _ := strings.Cut(string(b), "\n")
	var f groundsFile
	if sum == sumLine([]byte(body)) && json.Unmarshal([]byte(body), &f) == nil && string(f.Generation) == string(generation[:]) && f.Of != nil {
		g.of = f.Of
	}
	return g
}

// putGrounds writes the grounds, if they have changed.
func (w *Writer) putGrounds() error {
	if !w.grounds.changed || w.failed != nil || w.behind {
		return nil
	}
	generation := w.ledger.Generation()
	body, err := json.Marshal(groundsFile{generation[:], w.grounds.of})
	if err != nil {
		return err
	}
	w.grounds.changed = false
	return replaceFile(w.dir, judgedName, newJudgedName, append([]byte(sumLine(body)+"\n"), body...))
}
