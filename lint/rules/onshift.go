package rules

import (
	"slices"
	"time"

	"example.com/stance/lexicon"
	"example.com/stance/lint/chart"
	"example.com/stance/lint/shift"
	"example.com/stance/lint/timeline"
)

// An onShift is what rules ask of all notes of one shift together. It is worked out once a shift: asked
// note by note, ten thousand notes on one shift took a hundred million looks.
type onShift struct {
	planned     bool      // a note carries an order or a review
	plannedFrom time.Time // the first that does

	statuses, transfers bool // something of the kind was done or is so

	row     *chart.Row // in force at the last note
	sayings []saying   // under that row, what may be contradicted; each thing said once
}

// A saying is where something was said last.
type saying struct {
	entry *timeline.Entry
	said  *lexicon.Statement
}

// on is what the notes of that shift tell together.
func (p *pass) on(k shift.Key) *onShift {
	if s, ok := p.ledger.shifts[k]; ok {
		return s
	}
	s := newOnShift(p.line.On(k))
	p.ledger.shifts[k] = s
	return s
}

func newOnShift(entries []*timeline.Entry) *onShift {
	s := &onShift{}
	for _, e := range entries {
		if !s.planned && givesPlan(e) {
			s.planned, s.plannedFrom = true, e.Time
		}
		s.statuses = s.statuses || len(done(e, isStatus)) > 0
		s.transfers = s.transfers || len(done(e, isTransferred)) > 0
	}
	if len(entries) == 0 {
		return s
	}
	s.row = entries[len(entries)-1].Row
	met := make(map[gist]bool)
	for _, e := range slices.Backward(entries) {
		if e.Row != s.row {
			break
		}
		for i := range e.Reading.Statements {
			o := &e.Reading.Statements[i]
			g, ok := gistOf(o)
			if !ok || met[g] {
				continue
			}
			met[g] = true
			s.sayings = append(s.sayings, saying{e, o})
		}
	}
	return s
}

// contradicting is the last thing said that contradicts s; false for none. In one note the first counts.
func (o *onShift) contradicting(s *lexicon.Statement) (saying, bool) {
	i := slices.IndexFunc(o.sayings, func(y saying) bool { return contradicts(s, y.said) })
	if i < 0 {
		return saying{}, false
	}
	return o.sayings[i], true
}

// A gist is what of a statement may contradict another: statements of one gist contradict the same ones.
type gist struct {
	limb, side string
	status     chart.Status
	percent    lexicon.Optional[float64]

	transfer bool
	rank     rank
}

// gistOf is the gist of a statement of something done; false for one that contradicts nothing.
func gistOf(s *lexicon.Statement) (gist, bool) {
	if !s.Done() {
		return gist{}, false
	}
	if st, ok := status(s); ok {
		return gist{limb: limb(s), side: s.Side, status: st, percent: s.Percent}, true
	}
	if !isTransferred(s) {
		return gist{}, false
	}
	r, ok := statedRank(s, 0)
	return gist{transfer: true, rank: r}, ok
}
