package cli

import (
	"slices"
	"time"

	"example.com/stance/index"
	"example.com/stance/lint/chart"
	"example.com/stance/lint/policy"
)

// reach is how far the times of two notes may lie apart of which a rule looks from one to the other, where it looks
// by shifts: at most from one shift to the second before it or behind, each of them a day at most, stated up to a
// day late, and told of in a late entry up to a day after. Copies have the policy's window. In home care rules
// look to the visit before, however long ago that was.
const reach = 96 * time.Hour

// lateBy is how long after its events a late entry may be written.
const lateBy = 24 * time.Hour

// A window is which of a resident's notes a check looks at that is to find what it would find in all of them, as far
// as it is about some.
type window struct {
	about span // the notes that it is to be right about
	all   span // the notes that it needs for that
}

// newWindow is the window of what notes of a span may change, or, where changed is false, of those notes themselves.
// moments are all notes of the resident, by time. A zero bound is none.
func newWindow(in span, changed bool, moments []index.Moment, p *policy.Policy) window {
	w := window{about: in}
	if changed {
		w.about = span{in.since.Add(-reach), in.until.Add(reach + p.CopiedWindow)}
		behind := slices.IndexFunc(moments, func(m index.Moment) bool { return m.Time.After(in.until.Add(lateBy)) })
		if behind >= 0 { // the next visit
			w.about.take(moments[behind].Time.Add(reach))
		}
	}
	if !w.about.until.IsZero() {
		w.all.until = w.about.until.Add(reach)
	}
	if w.about.since.IsZero() {
		return w
	}
	w.all.since = w.about.since.Add(-reach - p.CopiedWindow)
	for _, m := range slices.Backward(moments) {
		if m.Time.Before(w.about.since.Add(-lateBy)) { // the last visit
			if visit := m.Time.Add(-reach); visit.Before(w.all.since) {
				w.all.since = visit
			}
			break
		}
	}
	return w
}

// has reports whether a moment lies in the span, its bounds included.
func (s span) has(t time.Time) bool {
	return (s.since.IsZero() || !t.Before(s.since)) && (s.until.IsZero() || !t.After(s.until))
}

// choose says which of a resident's notes a window takes: all of them where the chart asks for that. Notes of after
// ahead are always taken, since they are told of. others are times of notes that are no longer kept, or not yet.
func (w window) choose(resident string, notes []index.Moment, others []time.Time, ch *chart.Chart, ahead time.Time) []bool {
	taken := make([]bool, len(notes))
	times := slices.Clip(others)
	for i, m := range notes {
		if taken[i] = w.all.has(m.Time) || !ahead.IsZero() && m.Time.After(ahead); taken[i] {
			times = append(times, m.Time)
		}
	}
	if partlyCharted(ch, resident, times) {
		for i := range taken {
			taken[i] = true
		}
	}
	return taken
}

// partlyCharted reports whether a resident has a row in force at some times and none at others. Where none is in
// force for the first time is for all notes together to tell.
func partlyCharted(ch *chart.Chart, resident string, times []time.Time) bool {
	if ch == nil {
		return false
	}
	with, without := false, false
	for _, t := range times {
		_, now := ch.At(resident, t)
		_, before := ch.At(resident, t.Add(-lateBy))
		with = with || now || before
		without = without || !now || !before
	}
	return with && without
}
