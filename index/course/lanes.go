package course

import (
	"slices"

	"example.com/stance/lexicon"
	"example.com/stance/lint/timeline"
)

// draws reports whether a statement draws a point: something of the resident, done or so in this
// shift, reported and certain.
func draws(s *lexicon.Statement) bool { return s.Done() && s.Certainty == lexicon.Certain }

// A changed is two notes that differ in one lane.
type changed struct {
	before, after *timeline.Entry
	lane          LaneChange
}

// lane collects what is charted and written of one aspect over all notes, and where the written value
// changes.
func (b *builder) lane(s *aspect) (Lane, []changed) {
	lane := Lane{ID: s.id, Name: s.name, Bands: b.bands(s), Points: []Point{}}
	var changes []changed
	var run Value
	var last *timeline.Entry
	for _, e := range b.entries {
		for _, p := range b.points(s, e, run) {
			lane.Points = append(lane.Points, p)
			next, same := s.merge(run, p.Value)
			if !same && last != nil && last != e {
				before, after := s.made(b.entries, last, e, p.Value)
				changes = append(changes, changed{before, after, LaneChange{s.id, s.name, run, p.Value}})
			}
			run, last = next, e
		}
	}
	return lane, changes
}

// made is the note that makes a change, and the one before it: where an order between the last note of a run and the
// first of the next one says what the next one reports, the change is the order's.
func (s *aspect) made(entries []*timeline.Entry, last, first *timeline.Entry, value Value) (before, after *timeline.Entry) {
	from, to := slices.Index(entries, last)+1, slices.Index(entries, first)
	for _, e := range entries[from:to] {
		says := func(st *lexicon.Statement) bool { return orders(st) && slices.Contains(s.written(st), value) }
		if e.Any(says) {
			return last, e
		}
	}
	return last, first
}

// points are the values that one note gives, each once; those that go on with the run come first.
func (b *builder) points(s *aspect, e *timeline.Entry, run Value) []Point {
	var goOn, begin []Point
	r := b.at(e.Note.Time)
	for i := range e.Reading.Statements {
		st := &e.Reading.Statements[i]
		if !draws(st) {
			continue
		}
		for _, v := range s.written(st) {
			given := func(p Point) bool { return p.Value == v }
			if slices.ContainsFunc(goOn, given) || slices.ContainsFunc(begin, given) {
				continue
			}
			charted, fit := s.compare(r, v.Key)
			p := Point{ref(e), v, fit, st.Text, charted}
			if _, same := s.merge(run, v); same {
				goOn = append(goOn, p)
			} else {
				begin = append(begin, p)
			}
		}
	}
	return append(goOn, begin...)
}

// merge is the value of a run once another is written, and whether that goes on with the run: the
// same value, or one of the two says the other less exactly. Of those the exact one stays.
func (s *aspect) merge(run, next Value) (Value, bool) {
	switch {
	case run.Key == next.Key, s.vaguer != nil && s.vaguer(next.Key, run.Key):
		return run, true
	case s.vaguer != nil && run.Key != "" && s.vaguer(run.Key, next.Key):
		return next, true
	}
	return next, false
}

// runs compresses the points to the changes, of what is written or of what it is held against.
func runs(s *aspect, points []Point) []Run {
	all := []Run{}
	var charted Value
	for _, p := range points {
		var r *Run
		if n := len(all); n > 0 && charted == p.Charted {
			if v, same := s.merge(all[n-1].Value, p.Value); same {
				r = &all[n-1]
				r.Value = v
			}
		}
		if r == nil {
			all = append(all, Run{Value: p.Value, First: p.Note})
			r = &all[len(all)-1]
		}
		if r.Notes == 0 || r.Last != p.Note {
			r.Notes++
			if p.Fit == Differs {
				r.Differs++
			}
		}
		r.Last, charted = p.Note, p.Charted
	}
	return all
}
