package lint

import (
	"cmp"
	"fmt"
	"slices"
	"strings"
	"sync"
	"time"

	"example.com/stance/lint/chart"
	"example.com/stance/lint/copies"
	"example.com/stance/lint/finding"
	"example.com/stance/lint/note"
	"example.com/stance/lint/policy"
	"example.com/stance/lint/rules"
	"example.com/stance/lint/shift"
	"example.com/stance/lint/timeline"
)

// From this many words on, a note that repeats an earlier one counts as copied: shorter ones are
// alike by nature. Two residents are more often alike than one is with the day before.
const (
	leastForward = 12
	leastAcross  = 20
)

// Piecework is what a [Checker] does, piece by piece, for who spreads it over many machines: [Piecework.Across] looks at
// the notes of one shift of a home, [Piecework.Judge] at one resident's. Given the same notes in the same order they
// find what a Checker finds. It does not change and is safe for concurrent use.
type Piecework struct {
	lex      timeline.Reader
	policy   *policy.Policy
	calendar *shift.Calendar
	bench    *rules.Bench
}

// NewPiecework takes what [NewChecker] takes, but for the chart.
func NewPiecework(lex timeline.Reader, p *policy.Policy) (*Piecework, error) {
	cal, err := shift.NewCalendar(p.Shifts, p.Zone)
	if err != nil {
		return nil, fmt.Errorf("policy shifts: %w", err)
	}
	all, err := rules.All()
	if err != nil {
		return nil, err
	}
	return &Piecework{lex: lex, policy: p, calendar: cal, bench: rules.NewBench(all, p)}, nil
}

// Rules are the rules in force, in the order of the published tables.
func (w *Piecework) Rules() []rules.Rule { return w.bench.Rules() }

// ShiftOf is the shift among whose notes a note's copies on other residents are looked for.
func (w *Piecework) ShiftOf(n *note.Note) shift.Key { return w.calendar.Key(n.Time, n.Shift) }

// AsksWords reports whether Across looks at the words of a text. Of others it need only know that they are there.
func (w *Piecework) AsksWords(text string) bool { return copies.Count(text) >= leastAcross }

// An AcrossCopy is the earlier note, on another resident, that a note repeats.
type AcrossCopy struct {
	Of    note.Note
	Share float64 // of the words that are equal, 0 to 1
}

// Across finds the notes of one shift of a home that repeat one on another resident, by their places in on, which is in
// the order given to a Checker. The second result is false where all notes are on one resident, so that none
// was compared.
func (w *Piecework) Across(on []note.Note) (map[int]AcrossCopy, bool) {
	if !slices.ContainsFunc(on, func(n note.Note) bool { return n.Resident != on[0].Resident }) {
		return nil, false
	}
	order := make([]int, len(on))
	for i := range order {
		order[i] = i
	}
	slices.SortFunc(order, func(a, b int) int {
		return cmp.Or(on[a].Time.Compare(on[b].Time), strings.Compare(on[a].Resident, on[b].Resident), cmp.Compare(a, b))
	})
	found := make(map[int]AcrossCopy)
	_ = w.copiedAmong(len(on), // whose only error is that of reading a text
		func(tag int) (string, error) { return on[order[tag]].Text, nil },
		func(a, b int) bool { return on[order[a]].Resident == on[order[b]].Resident },
		func(tag, of int, share float64) { found[order[tag]] = AcrossCopy{on[order[of]], share} })
	return found, true
}

// copiedAmong finds the copies among texts in the order of time, of which no two that are same are compared.
func (w *Piecework) copiedAmong(texts int, text func(int) (string, error), same func(a, b int) bool, found func(tag, of int, share float64)) error {
	group := copies.NewGroup(w.policy.CopiedShare, leastAcross)
	for tag := range texts {
		body, err := text(tag)
		if err != nil {
			return err
		}
		if m, ok := group.Add(body, tag, func(j int) bool { return !same(j, tag) }); ok {
			found(tag, m.Tag, m.Share)
		}
	}
	return nil
}

// Judge judges the notes of one resident, of which there must be one, in the order given to a Checker. across are what
// Across found of them, by their places in notes, and shared says which of them are of a shift with notes on other
// residents too. A nil chart switches the rules against it off.
func (w *Piecework) Judge(notes []note.Note, ch *chart.Chart, across map[int]AcrossCopy, shared func(i int) bool) Judged {
	t, copies, _ := w.line(notes, ch, func(i int) (AcrossCopy, bool, error) { // whose only error is this function's
		c, ok := across[i]
		return c, ok, nil
	}, shared)
	fs, counts := w.bench.Count(t, copies)
	finding.Identify(fs)
	return Judged{t, fs, counts}
}

// line puts one resident's notes in order, and says which of them are copies.
func (w *Piecework) line(notes []note.Note, ch *chart.Chart, across func(i int) (AcrossCopy, bool, error), shared func(i int) bool) (*timeline.Timeline, rules.Copies, error) {
	t := timeline.New(notes[0].Resident, notes, w.lex, ch, w.calendar)
	words := sync.OnceValue(func() []int { return wordCounts(t) })
	found := rules.Copies{
		Forward:         copiedForward(t, w.policy),
		Across:          make(map[*timeline.Entry]rules.Copy),
		ComparedForward: func(i int) bool { return comparedForward(t, words(), i, w.policy) },
		ComparedAcross:  func(i int) bool { return shared(t.Entries[i].Index) && words()[i] >= leastAcross },
	}
	for _, e := range t.Entries {
		c, ok, err := across(e.Index)
		if err != nil {
			return nil, rules.Copies{}, err
		}
		if ok {
			found.Across[e] = rules.Copy{
				Of:    &timeline.Entry{Note: c.Of, Shift: w.calendar.Key(c.Of.Time, c.Of.Shift)},
				Share: c.Share,
			}
		}
	}
	return t, found, nil
}

// copiedForward finds the notes of a resident that repeat one of an earlier shift.
func copiedForward(t *timeline.Timeline, p *policy.Policy) map[*timeline.Entry]rules.Copy {
	out := make(map[*timeline.Entry]rules.Copy)
	group := copies.NewGroup(p.CopiedShare, leastForward)
	for i, e := range t.Entries {
		m, ok := group.Add(e.Note.Text, i, func(j int) bool { return mayForward(t.Entries[j], e, p) })
		if ok {
			out[e] = rules.Copy{Of: t.Entries[m.Tag], Share: m.Share}
		}
	}
	return out
}

// comparedForward reports whether copiedForward had something to compare the note at i with. It looks
// back from it, so that the notes of a long stay are not gone through for each.
func comparedForward(t *timeline.Timeline, words []int, i int, p *policy.Policy) bool {
	if words[i] < leastForward {
		return false
	}
	e := t.Entries[i]
	for j, o := range slices.Backward(t.Entries[:i]) {
		if e.Note.Time.Sub(o.Note.Time) > p.CopiedWindow {
			return false
		}
		if mayForward(o, e, p) && words[j] >= leastForward {
			return true
		}
	}
	return false
}

// wordCounts are the numbers of words of the notes of a timeline.
func wordCounts(t *timeline.Timeline) []int {
	counts := make([]int, len(t.Entries))
	for i, e := range t.Entries {
		counts[i] = copies.Count(e.Note.Text)
	}
	return counts
}

// mayForward reports whether a note is compared with that earlier one.
func mayForward(earlier, e *timeline.Entry, p *policy.Policy) bool {
	return earlier.Shift.Before(e.Shift) && e.Note.Time.Sub(earlier.Note.Time) <= p.CopiedWindow
}

// Twice says that two notes on one resident have one id.
func Twice(first, second *note.Note) string {
	return fmt.Sprintf("note %s stands twice: %s and %s", second.ID, first.Source, second.Source)
}

// Ahead says that a note is of the future.
func Ahead(n *note.Note) string {
	return fmt.Sprintf("%s: note %s is of %s, which is still to come", n.Source, n.ID, n.Time.Format(time.RFC3339))
}
