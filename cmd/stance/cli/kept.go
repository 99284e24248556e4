package cli

import (
	"bytes"
	"context"
	"fmt"
	"maps"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"example.com/stance/index"
	"example.com/stance/lexicon"
	"example.com/stance/lint/chart"
	"example.com/stance/lint/note"
	"example.com/stance/lint/policy"
)

// A home is the policy by which kept notes are read.
type home struct {
	policy *policy.Policy
	lex    *lexicon.Lexicon
	file   string // that it was read from; empty: the index, or the defaults
	text   []byte // of the policy; nil: the defaults
	kept   []byte // text of the policy in the index; nil: none
}

// home reads the policy that is named, else stance.yaml beside the first of the notes or beside the
// folder of the index, else the one that the notes in the index were kept with, else gives the
// defaults. dir may be empty: no index.
func (a *app) home(named string, notes []string, dir string) (*home, error) {
	var h home
	var err error
	if dir != "" {
		if info, err := os.Stat(dir); err == nil && !info.IsDir() {
			return nil, usagef("%s: is a file, want the folder of an index", dir)
		}
		if h.kept, err = index.Settings(dir); err != nil {
			return nil, indexError(err)
		}
	}
	if h.file = policyFile(named, notes); h.file == "" && dir != "" {
		h.file = policyFile("", []string{filepath.Clean(dir)})
	}
	switch {
	case h.file != "":
		if h.text, err = a.readAll(h.file, mostPolicy); err != nil {
			return nil, err
		}
		h.policy, h.lex, err = a.readPolicy(h.file, bytes.NewReader(h.text))
	case h.kept != nil:
		h.text = h.kept
		if h.policy, h.lex, err = a.readPolicy("the policy kept in "+dir, bytes.NewReader(h.kept)); err != nil {
			err = usagef("%w; name another with --policy", err)
		}
	default:
		h.policy = policy.Default()
		h.lex, err = a.compile()
	}
	return &h, err
}

// stale says what to do about an index whose notes were read with other words than those of the home.
func (h *home) stale(dir string) string {
	rebuild := "stance keep --rebuild --index " + argument(dir)
	if h.file == "" || h.kept != nil && bytes.Equal(h.text, h.kept) {
		return fmt.Sprintf("%s: notes in it were read with other words, of an earlier policy or of another stance; to have them read anew: %s", dir, rebuild)
	}
	return fmt.Sprintf("%s: the notes in it were not read with the words of %s; to have them read anew: %s --policy %s", dir, h.file, rebuild, argument(h.file))
}

// argument is a file's name as it is given to a command in a shell.
func argument(name string) string {
	if strings.ContainsAny(name, " \t'&()[]{}$;*?|<>#~") {
		return `"` + name + `"`
	}
	return name
}

// A store is where kept notes come from: *index.Index and *index.Writer are.
type store interface {
	Notes(context.Context, index.Range, func(note.Note) error) error
}

// A noteKey is what tells one note from all others.
type noteKey struct{ resident, id string }

// aroundShift is how far the times of notes on one shift, or on the shifts next to it, may lie apart:
// a shift lasts a day at most, and a note may state one that began up to a day before it.
const aroundShift = 72 * time.Hour

// A span is a stretch of time; a zero bound is none.
type span struct{ since, until time.Time }

// widened reaches over the shifts next to those at the bounds.
func (s span) widened() span {
	if !s.since.IsZero() {
		s.since = s.since.Add(-aroundShift)
	}
	if !s.until.IsZero() {
		s.until = s.until.Add(aroundShift)
	}
	return s
}

// take widens the span to a moment; the zero span has none yet.
func (s *span) take(t time.Time) {
	if s.since.IsZero() || t.Before(s.since) {
		s.since = t
	}
	if t.After(s.until) {
		s.until = t
	}
}

// A need is which kept notes a check of some residents takes.
type need struct {
	residents []string
	own       func(resident string, notes []index.Moment) []bool // of theirs, as index.Range.Choose has it
	around    func() span                                        // of others, once own has chosen
	beside    func(time.Time) bool                               // within that; nil: all
}

// gather hands over the notes that a check of residents needs: those of theirs that what is asked for rests on to
// own, and to other those of other residents within a span, since a note may be copied from there.
func gather(ctx context.Context, from store, n need, own, other func(note.Note) error) error {
	if len(n.residents) == 0 { // an empty range means all
		return nil
	}
	if err := from.Notes(ctx, index.Range{Residents: n.residents, Choose: n.own}, own); err != nil {
		return err
	}
	whose := make(map[string]bool, len(n.residents))
	for _, r := range n.residents {
		whose[r] = true
	}
	in := n.around().widened()
	return from.Notes(ctx, index.Range{Since: in.since, Until: in.until, Choose: func(resident string, notes []index.Moment) []bool {
		taken := make([]bool, len(notes))
		for i, m := range notes {
			taken[i] = !whose[resident] && (n.beside == nil || n.beside(m.Time))
		}
		return taken
	}}, other)
}

// Days are days with notes of other residents that are compared with.
type days map[int64]bool

// take takes in the days around a moment.
func (d days) take(t time.Time) {
	for at := dayOf(t.Add(-aroundShift)); at <= dayOf(t.Add(aroundShift)); at++ {
		d[at] = true
	}
}

func (d days) has(t time.Time) bool { return d[dayOf(t)] }

func dayOf(t time.Time) int64 {
	const day = 24 * 60 * 60
	return (t.Unix() - (t.Unix()%day+day)%day) / day
}

// concerned lists the residents about whom something selected within the span may be found.
func concerned(ctx context.Context, from store, sel *selection, ch *chart.Chart) ([]string, error) {
	set := map[string]bool{}
	in := sel.span().widened()
	err := from.Notes(ctx, index.Range{Since: in.since, Until: in.until, Choose: func(resident string, notes []index.Moment) []bool {
		set[resident] = slices.ContainsFunc(notes, func(m index.Moment) bool {
			return sel.concerns(&note.Note{Resident: resident, Unit: m.Unit, Time: m.Time}, ch)
		})
		return make([]bool, len(notes)) // their words are not asked for
	}}, func(note.Note) error { return nil })
	maps.DeleteFunc(set, func(_ string, concerned bool) bool { return !concerned })
	return slices.Sorted(maps.Keys(set)), err
}

// span bounds the times of the notes on what is selected.
func (s *selection) span() span {
	var in span
	if s.sinceGiven {
		in.since = s.since
	}
	if s.untilGiven {
		in.until = s.end
	}
	if s.day == "" {
		return in
	}
	day, err := time.Parse(time.DateOnly, s.day)
	if err != nil { // ready has read it
		return in
	}
	// The day's shift begins within the day, wherever the home is, and a day after that has ended.
	if from := day.AddDate(0, 0, -1); from.After(in.since) {
		in.since = from
	}
	if end := day.AddDate(0, 0, 3); in.until.IsZero() || end.Before(in.until) {
		in.until = end
	}
	return in
}

// concerns reports whether something selected may be about the resident of n. A shift without a note
// has the unit that the chart gives.
func (s *selection) concerns(n *note.Note, ch *chart.Chart) bool {
	if s.residentGiven && !strings.EqualFold(n.Resident, s.resident) {
		return false
	}
	if !s.unitGiven || strings.EqualFold(n.Unit, s.unit) {
		return true
	}
	return slices.ContainsFunc(ch.Rows(n.Resident), func(r *chart.Row) bool { return strings.EqualFold(r.Unit, s.unit) })
}
