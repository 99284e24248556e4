package course

import (
	"time"

	"example.com/stance/lint/chart"
)

// A row is a chart row and how long it really holds.
type row struct {
	*chart.Row
	end time.Time // the first moment at which it no longer holds; zero for none
}

// known are the rows that had come into force by asOf, or all where that is zero. Of two rows from
// one moment the later in the chart holds, as it does for the notes.
func known(all []*chart.Row, asOf time.Time) []row {
	var rows []row
	for _, r := range all {
		if !asOf.IsZero() && r.From.After(asOf) {
			break // they come in time order
		}
		if n := len(rows); n > 0 {
			if rows[n-1].From.Equal(r.From) {
				rows = rows[:n-1]
			} else if before := &rows[n-1]; before.end.IsZero() || before.end.After(r.From) {
				before.end = r.From
			}
		}
		rows = append(rows, row{r, r.Until})
	}
	return rows
}

// at is the row in force at a moment, or nil.
func (b *builder) at(t time.Time) *chart.Row {
	for i := len(b.rows) - 1; i >= 0; i-- {
		r := b.rows[i]
		if !r.From.After(t) {
			if !r.end.IsZero() && !t.Before(r.end) {
				return nil
			}
			return r.Row
		}
	}
	return nil
}

// bands are the charted values of a lane, rows that chart the same joined.
func (b *builder) bands(s *aspect) []Band {
	bands := []Band{}
	for _, r := range b.rows {
		v, ok := s.charted(r.Row)
		if !ok {
			continue
		}
		if n := len(bands); n > 0 && bands[n-1].Value == v && bands[n-1].Until.Equal(r.From) {
			bands[n-1].Until = r.end
			continue
		}
		bands = append(bands, Band{r.From, r.end, v})
	}
	return bands
}

// chartChanges are the moments at which what is charted became another, but for the first row.
func (b *builder) chartChanges() []ChartChange {
	changes := []ChartChange{}
	add := func(at time.Time, by string, from, to *chart.Row) {
		ch := ChartChange{At: at, By: by}
		for i := range b.aspects {
			s := &b.aspects[i]
			var before, after Value
			if from != nil {
				before, _ = s.charted(from)
			}
			if to != nil {
				after, _ = s.charted(to)
			}
			plain := func(v Value) bool { return v.Key == "" || v.Key == s.usual }
			if before != after && !(plain(before) && plain(after)) {
				ch.Lanes = append(ch.Lanes, LaneChange{s.id, s.name, before, after})
			}
		}
		if len(ch.Lanes) > 0 {
			changes = append(changes, ch)
		}
	}
	for i, r := range b.rows {
		var before *chart.Row
		if i > 0 && b.rows[i-1].end.Equal(r.From) {
			before = b.rows[i-1].Row
		}
		if i > 0 {
			add(r.From, r.By, before, r.Row)
		}
		last := i+1 == len(b.rows)
		if !r.end.IsZero() && (last || r.end.Before(b.rows[i+1].From)) {
			add(r.end, "", r.Row, nil)
		}
	}
	return changes
}
