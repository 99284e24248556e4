// Package lint checks notes against the charted status, the shifts around them and safe practice.
//
// A [Checker] takes notes in any order and, once all are in, runs the rules over each resident's
// timeline. The parts are packages of their own: note, chart and shift for what comes in, timeline
// for a resident's notes in order, rules for what is checked, finding and report for what comes out.
package lint

import (
	"cmp"
	"context"
	"crypto/sha256"
	"io"
	"maps"
	"runtime"
	"slices"
	"strconv"
	"strings"
	"sync"
	"time"

	"golang.org/x/sync/errgroup"

	"example.com/stance/lint/chart"
	"example.com/stance/lint/finding"
	"example.com/stance/lint/internal/spool"
	"example.com/stance/lint/note"
	"example.com/stance/lint/policy"
	"example.com/stance/lint/rules"
	"example.com/stance/lint/timeline"
)

// A Checker collects notes and checks them. Make one with [NewChecker]. It is not safe for
// concurrent use; Run itself works on several residents at a time.
type Checker struct {
	// Now, where it is set, is the moment after which a note has no business to be: Run lists such
	// notes among the problems. The zero time leaves that out.
	Now time.Time

	work  *Piecework
	chart *chart.Chart

	notes  store
	err    error              // the first of the store
	first  map[[16]byte]int32 // the first note of each resident and id, by a hash of both
	twice  []pair
	names  []string         // of residents, in the order of their first notes
	nameAt map[string]int32 // in names
	of     [][]int32        // the notes of each resident, in the order given
	judged []bool           // the residents who are, and not only compared with
	added  int              // notes on them
	places []place          // of each note
}

// A store holds notes by number, from 0, in the order added. Get may be called from several
// goroutines once Flush has been called.
type store interface {
	Add(note.Note) error
	Flush() error
	Get(i int) (note.Note, error)
}

// inMemory is the store of a checker that was told of no other.
type inMemory struct{ notes []note.Note }

func (m *inMemory) Add(n note.Note) error        { m.notes = append(m.notes, n); return nil }
func (*inMemory) Flush() error                   { return nil }
func (m *inMemory) Get(i int) (note.Note, error) { return m.notes[i], nil }

// A place is what is held in memory of each note.
type place struct {
	time     int64 // Unix, in nanoseconds
	resident int32 // in names
	day      int32 // of its shift
	slot     int32
}

// A pair is two notes of one resident and id.
type pair struct{ first, second int32 }

// A Summary tells what a run covered.
type Summary struct {
	Notes     int                      `json:"notes"`
	Residents int                      `json:"residents"`
	Counts    map[finding.Severity]int `json:"counts"` // of findings; hint, warning and error are always there

	// Problems are flaws of the input that do not stop a run, one line each with file:line and never
	// with note text: an id that two notes on one resident have, a note of the future.
	Problems []string `json:"problems,omitempty"`
}

// NewChecker is a checker with no notes yet. The reader, which must be safe for concurrent use, is
// the lexicon; a nil chart switches the rules against the chart off. It returns an error for a policy
// whose shifts make no calendar.
func NewChecker(lex timeline.Reader, ch *chart.Chart, p *policy.Policy) (*Checker, error) {
	w, err := NewPiecework(lex, p)
	if err != nil {
		return nil, err
	}
	return &Checker{
		work: w, chart: ch,
		notes: &inMemory{}, first: make(map[[16]byte]int32), nameAt: make(map[string]int32),
	}, nil
}

// Spool has the checker keep its notes in a temporary file in dir, "" for the system's own folder, and
// not in memory. It must come before the first Add. The caller closes the file when it is done with
// the checker, which gives it up.
func (c *Checker) Spool(dir string) (io.Closer, error) {
	s, err := spool.New(dir)
	if err != nil {
		return nil, err
	}
	c.notes = s
	return s, nil
}

// SpoolBeyond has the checker keep its notes in memory up to so many bytes of their texts, and all of them in a
// temporary file, as Spool has it, once there are more.
func (c *Checker) SpoolBeyond(bytes int, dir string) io.Closer {
	g := &growing{most: bytes, dir: dir}
	c.notes = g
	return g
}

// A growing store is in memory while it is small.
type growing struct {
	memory inMemory
	held   int // bytes of the texts in memory
	most   int
	dir    string
	spool  *spool.Spool // once there are more
}

func (g *growing) Add(n note.Note) error {
	if g.spool != nil {
		return g.spool.Add(n)
	}
	if g.held += len(n.Text); g.held <= g.most {
		return g.memory.Add(n)
	}
	var err error
	if g.spool, err = spool.New(g.dir); err != nil {
		return err
	}
	for _, held := range append(g.memory.notes, n) {
		if err := g.spool.Add(held); err != nil {
			return err
		}
	}
	g.memory.notes = nil
	return nil
}

func (g *growing) Flush() error {
	if g.spool != nil {
		return g.spool.Flush()
	}
	return nil
}

func (g *growing) Get(i int) (note.Note, error) {
	if g.spool != nil {
		return g.spool.Get(i)
	}
	return g.memory.Get(i)
}

func (g *growing) Close() error {
	if g.spool != nil {
		return g.spool.Close()
	}
	return nil
}

// Notes are the notes with that id on a resident who is judged, in the order given; there is more than one only where
// the input gave an id twice. It is for after Run or Judge.
func (c *Checker) Notes(resident, id string) ([]note.Note, error) {
	r, ok := c.nameAt[resident]
	if !ok || !c.judged[r] {
		return nil, nil
	}
	first, ok := c.first[idOf(r, id)]
	if !ok {
		return nil, nil
	}
	at := []int32{first}
	for _, p := range c.twice {
		if p.first == first {
			at = append(at, p.second)
		}
	}
	notes := make([]note.Note, len(at))
	for i, n := range at {
		var err error
		if notes[i], err = c.notes.Get(int(n)); err != nil {
			return nil, err
		}
	}
	return notes, nil
}

// Rules are the rules in force, in the order of the published tables.
func (c *Checker) Rules() []rules.Rule { return c.work.Rules() }

// Add takes a note in. A note whose id another one on its resident has is kept and checked like any other,
// and named among the problems.
func (c *Checker) Add(n note.Note) {
	if r, ok := c.take(n); ok {
		c.judged[r] = true
		c.added++
	}
}

// AddBeside takes in a note on a resident who is not judged, for those who are may have notes that were copied from
// it.
func (c *Checker) AddBeside(n note.Note) { c.take(n) }

// take takes a note in, and gives its resident's place in names.
func (c *Checker) take(n note.Note) (resident int32, ok bool) {
	if c.err != nil {
		return 0, false
	}
	if c.err = c.notes.Add(n); c.err != nil {
		return 0, false
	}
	i := int32(len(c.places))
	r, ok := c.nameAt[n.Resident]
	if !ok {
		r = int32(len(c.names))
		c.names, c.of, c.judged = append(c.names, n.Resident), append(c.of, nil), append(c.judged, false)
		c.nameAt[n.Resident] = r
	}
	k := c.work.calendar.Key(n.Time, n.Shift)
	c.places = append(c.places, place{n.Time.UnixNano(), r, int32(k.Day), int32(k.Slot)})
	c.of[r] = append(c.of[r], i)

	id := idOf(r, n.ID)
	if first, ok := c.first[id]; ok {
		c.twice = append(c.twice, pair{first, i})
	} else {
		c.first[id] = i
	}
	return r, true
}

// idOf tells the notes of a resident apart. Half of a SHA-256 does so as surely as the ids would, in less memory. Those
// of two residents are no pair: in many homes ids start anew for each.
func idOf(resident int32, id string) [16]byte {
	var room [64]byte
	b := strconv.AppendInt(room[:0], int64(resident), 10)
	b = append(b, ' ')
	sum := sha256.Sum256(append(b, id...))
	return [16]byte(sum[:16])
}

// A Judged is one resident's notes, what was found in them, and where each rule applied.
type Judged struct {
	Timeline *timeline.Timeline
	Findings []finding.Finding
	Counts   []rules.Count
}

// Run checks the notes added so far and hands each finding to emit, in the order of resident, note
// time, span and rule; emit is called from one goroutine. It stops at the first error of emit, or
// when ctx ends, and returns that error. Apart from the notes, it holds only the residents in work.
func (c *Checker) Run(ctx context.Context, emit func(finding.Finding) error) (Summary, error) {
	return c.Each(ctx, func(j Judged) error {
		for _, f := range j.Findings {
			if err := emit(f); err != nil {
				return err
			}
		}
		return nil
	})
}

// Each is Run by resident: it hands over one after another, by name, each once, without where the rules applied.
func (c *Checker) Each(ctx context.Context, emit func(Judged) error) (Summary, error) {
	return c.each(ctx, c.judge, emit)
}

// Overlooked are the sentences of the resident's notes that name a move and of which nothing was understood, in the
// order of events.
func (j *Judged) Overlooked() []finding.Overlooked {
	var out []finding.Overlooked
	for _, e := range j.Timeline.Entries {
		for _, s := range e.Reading.Overlooked {
			out = append(out, finding.Overlooked{
				Resident: e.Note.Resident, Note: e.Note.ID, Shift: e.Shift.String(), Span: s, Text: e.Note.Text[s.Start:s.End],
				Unit: e.Note.Unit, Time: e.Note.Time,
			})
		}
	}
	return out
}

func (c *Checker) judge(t *timeline.Timeline, copies rules.Copies) Judged {
	return Judged{Timeline: t, Findings: c.work.bench.Judge(t, copies)}
}

func (c *Checker) count(t *timeline.Timeline, copies rules.Copies) Judged {
	fs, counts := c.work.bench.Count(t, copies)
	return Judged{t, fs, counts}
}

// Judge is Each for a caller who needs to know where the rules applied.
func (c *Checker) Judge(ctx context.Context, emit func(Judged) error) (Summary, error) {
	return c.each(ctx, c.count, emit)
}

// each judges all residents and hands them to emit in the order of their names.
func (c *Checker) each(ctx context.Context, judge func(*timeline.Timeline, rules.Copies) Judged, emit func(Judged) error) (Summary, error) {
	sum := Summary{
		Notes:  c.added,
		Counts: map[finding.Severity]int{finding.Hint: 0, finding.Warning: 0, finding.Error: 0},
	}
	if c.err != nil {
		return sum, c.err
	}
	if err := c.notes.Flush(); err != nil {
		return sum, err
	}
	residents := c.sorted()
	var err error
	if sum.Problems, err = c.problems(residents); err != nil {
		return sum, err
	}
	residents = slices.DeleteFunc(residents, func(r int32) bool { return !c.judged[r] })
	sum.Residents = len(residents)
	across, err := c.copiedAcross(ctx)
	if err != nil {
		return sum, err
	}

	// Workers judge residents in any order; the queue holds their results in the order of residents.
	// Its length bounds how far they may run ahead of emit.
	workers := runtime.GOMAXPROCS(0)
	queue := make(chan chan Judged, 2*workers)
	group, ctx := errgroup.WithContext(ctx)
	group.Go(func() error {
		defer close(queue)
		pool, ctx := errgroup.WithContext(ctx)
		pool.SetLimit(workers)
		for _, r := range residents {
			result := make(chan Judged, 1)
			select {
			case queue <- result:
			case <-ctx.Done():
				if err := pool.Wait(); err != nil {
					return err
				}
				return ctx.Err()
			}
			pool.Go(func() error {
				t, copies, err := c.prepare(r, across)
				if err != nil {
					return err
				}
				j := judge(t, copies)
				finding.Identify(j.Findings)
				result <- j
				return nil
			})
		}
		return pool.Wait()
	})
	group.Go(func() error {
		for result := range queue {
			select {
			case j := <-result:
				for _, f := range j.Findings {
					sum.Counts[f.Severity]++
				}
				if err := emit(j); err != nil {
					return err
				}
			case <-ctx.Done():
				return ctx.Err()
			}
		}
		return nil
	})
	return sum, group.Wait()
}

// sorted is the residents by name.
func (c *Checker) sorted() []int32 {
	residents := make([]int32, len(c.names))
	for i := range residents {
		residents[i] = int32(i)
	}
	slices.SortFunc(residents, func(a, b int32) int { return strings.Compare(c.names[a], c.names[b]) })
	return residents
}

// prepare reads one resident's notes, and says which of them are copies.
func (c *Checker) prepare(resident int32, across *across) (*timeline.Timeline, rules.Copies, error) {
	at := c.of[resident]
	notes := make([]note.Note, len(at))
	for i, n := range at {
		var err error
		if notes[i], err = c.notes.Get(int(n)); err != nil {
			return nil, rules.Copies{}, err
		}
	}
	return c.work.line(notes, c.chart, func(i int) (AcrossCopy, bool, error) {
		m, ok := across.copies[at[i]]
		if !ok {
			return AcrossCopy{}, false, nil
		}
		of, err := c.notes.Get(int(m.of))
		return AcrossCopy{Of: of, Share: m.share}, true, err
	}, func(i int) bool { return across.shared[slotOf(c.places[at[i]])] })
}

// An across is the notes that repeat one on another resident.
type across struct {
	copies map[int32]copied
	shared map[slot]bool // shifts with notes on more than one resident
}

// A copied is the earlier note that a note repeats.
type copied struct {
	of    int32
	share float64
}

// A slot is one shift of one day.
type slot struct{ day, at int32 }

func slotOf(p place) slot { return slot{p.day, p.slot} }

// copiedAcross finds the notes that repeat one on another resident on the same shift. It goes shift
// by shift, on all processors, and within a shift by the time of the notes, so that the later one is the copy.
func (c *Checker) copiedAcross(ctx context.Context) (*across, error) {
	byShift := make(map[slot][]int32)
	for i, p := range c.places {
		byShift[slotOf(p)] = append(byShift[slotOf(p)], int32(i))
	}
	out := &across{make(map[int32]copied), make(map[slot]bool)}
	var mu sync.Mutex
	group, ctx := errgroup.WithContext(ctx)
	group.SetLimit(runtime.GOMAXPROCS(0))
	for k, on := range byShift {
		if !slices.ContainsFunc(on, func(i int32) bool { return c.places[i].resident != c.places[on[0]].resident }) ||
			!slices.ContainsFunc(on, func(i int32) bool { return c.judged[c.places[i].resident] }) {
			continue
		}
		out.shared[k] = true
		group.Go(func() error {
			if err := ctx.Err(); err != nil {
				return err
			}
			found, err := c.copiedOn(on)
			mu.Lock()
			defer mu.Unlock()
			maps.Copy(out.copies, found)
			return err
		})
	}
	return out, group.Wait()
}

// copiedOn finds the copies among the notes of one shift.
func (c *Checker) copiedOn(on []int32) (map[int32]copied, error) {
	slices.SortFunc(on, func(a, b int32) int {
		p, o := c.places[a], c.places[b]
		return cmp.Or(cmp.Compare(p.time, o.time), strings.Compare(c.names[p.resident], c.names[o.resident]), cmp.Compare(a, b))
	})
	found := make(map[int32]copied)
	err := c.work.copiedAmong(len(on), func(tag int) (string, error) {
		n, err := c.notes.Get(int(on[tag]))
		return n.Text, err
	}, func(a, b int) bool { return c.places[on[a]].resident == c.places[on[b]].resident }, func(tag, of int, share float64) {
		found[on[tag]] = copied{on[of], share}
	})
	return found, err
}

// problems lists the flaws of the notes.
func (c *Checker) problems(residents []int32) ([]string, error) {
	var out []string
	for _, p := range c.twice {
		first, err := c.notes.Get(int(p.first))
		if err != nil {
			return nil, err
		}
		second, err := c.notes.Get(int(p.second))
		if err != nil {
			return nil, err
		}
		out = append(out, Twice(&first, &second))
	}
	if c.Now.IsZero() {
		return out, nil
	}
	for _, r := range residents {
		for _, i := range c.of[r] {
			if c.places[i].time <= c.Now.UnixNano() {
				continue
			}
			n, err := c.notes.Get(int(i))
			if err != nil {
				return nil, err
			}
			out = append(out, Ahead(&n))
		}
	}
	return out, nil
}
