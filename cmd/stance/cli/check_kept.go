package cli

import (
	"context"
	"maps"
	"slices"
	"strings"
	"time"

	"example.com/stance/index"
	"example.com/stance/lexicon"
	"example.com/stance/lint/finding"
	"example.com/stance/lint/note"
	"example.com/stance/lint/policy"
)

// takeKept takes in the notes of the files, if there are any, and the kept ones that they, or what is
// selected, are to be checked with. It gives what was read of the files, and which findings to report.
func (t *checkTask) takeKept(ctx context.Context, opt *checkOptions, lex *lexicon.Lexicon, p *policy.Policy, files []string) (outcome, func(*finding.Finding) bool, error) {
	x, err := index.Open(opt.index, lex)
	if err != nil {
		return outcome{}, nil, indexError(err)
	}
	defer x.Close()
	g := givenNotes{}
	var read outcome
	if len(files) > 0 {
		read, err = t.eachNote(ctx, files, &opt.inputFlags, p, func(n note.Note) error {
			g.notes = append(g.notes, n)
			return nil
		})
		if err != nil {
			return read, nil, err
		}
	}
	g.index(t.sel)

	var residents []string
	around := t.sel.span()
	if len(files) > 0 {
		residents, around = g.residents, g.around
	} else if residents, err = t.selectedResidents(ctx, x); err != nil {
		return read, nil, err
	}
	given := func(n *note.Note) bool { return g.keys[noteKey{n.Resident, n.ID}] }
	err = gather(ctx, x, need{
		residents: residents,
		own: func(resident string, notes []index.Moment) []bool {
			return newWindow(around.widened(), false, notes, p).choose(resident, notes, g.times[resident], t.chart, t.ahead())
		},
		around: func() span { return around },
	}, func(n note.Note) error {
		if given(&n) {
			return nil
		}
		t.take(n, len(files) == 0 && t.sel.note(&n))
		return nil
	}, func(n note.Note) error {
		if !given(&n) {
			t.checker.AddBeside(n)
		}
		return nil
	})
	if err != nil {
		return read, nil, indexError(err)
	}
	for _, n := range g.notes {
		t.take(n, t.sel.note(&n))
	}
	return read, func(f *finding.Finding) bool {
		return t.sel.finding(f) && (len(files) == 0 || g.found(f))
	}, nil
}

// selectedResidents are the residents with kept notes about whom something selected may be found. A
// name that nobody has is an error: a report on nothing would read as a clean one.
func (t *checkTask) selectedResidents(ctx context.Context, x *index.Index) ([]string, error) {
	all, err := x.Residents(ctx)
	if err != nil {
		return nil, indexError(err)
	}
	if t.sel.residentGiven {
		var named []string
		for _, r := range all {
			if strings.EqualFold(r, t.sel.resident) {
				named = append(named, r)
			}
		}
		if len(named) == 0 {
			return nil, unknownResident(t.sel.resident, all)
		}
		return named, nil
	}
	if in := t.sel.span(); !t.sel.unitGiven && in.since.IsZero() && in.until.IsZero() {
		return all, nil
	}
	residents, err := concerned(ctx, x, t.sel, t.chart)
	return residents, indexError(err)
}

// givenNotes are notes that are checked with kept ones around them.
type givenNotes struct {
	notes     []note.Note
	keys      map[noteKey]bool
	residents []string
	times     map[string][]time.Time // by resident
	around    span
	gaps      map[shiftKey]bool // the shifts before and after the notes
}

// A shiftKey is one resident's shift.
type shiftKey struct{ resident, shift string }

// index makes the notes ready to be asked about.
func (g *givenNotes) index(sel *selection) {
	residents := map[string]bool{}
	g.keys, g.gaps, g.times = map[noteKey]bool{}, map[shiftKey]bool{}, map[string][]time.Time{}
	for i := range g.notes {
		n := &g.notes[i]
		g.keys[noteKey{n.Resident, n.ID}] = true
		residents[n.Resident] = true
		g.around.take(n.Time)
		g.times[n.Resident] = append(g.times[n.Resident], n.Time)
		k := sel.calendar.Key(n.Time, n.Shift)
		g.gaps[shiftKey{n.Resident, sel.calendar.Prev(k).String()}] = true
		g.gaps[shiftKey{n.Resident, sel.calendar.Next(k).String()}] = true
	}
	g.residents = slices.Sorted(maps.Keys(residents))
}

// found reports whether a finding is on one of the notes, or on a shift beside them that has no note.
func (g *givenNotes) found(f *finding.Finding) bool {
	if f.Note == "" {
		return g.gaps[shiftKey{f.Resident, f.Shift}]
	}
	return g.keys[noteKey{f.Resident, f.Note}]
}
