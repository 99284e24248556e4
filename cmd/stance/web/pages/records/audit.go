package records

import (
	"cmp"
	"context"
	"maps"
	"slices"
	"time"

	"example.com/stance/lint"
	"example.com/stance/lint/audit"
	"example.com/stance/lint/finding"
	"example.com/stance/lint/rules"
	"example.com/stance/lint/shift"
)

// An Audit is the figures over all notes of a snapshot, and what is behind them.
type Audit struct {
	reports map[audit.Period]*audit.Report
	Found   []Counted // by resident, note time, span and rule
}

// A Counted is a finding with what an audit counts it by.
type Counted struct {
	finding.Finding
	Group string // of its rule
	Role  string // of the author; empty for a shift with no note
	Shift shift.Key
}

// Report is the report by week or by month. It must not be changed.
func (a *Audit) Report(by audit.Period) *audit.Report { return a.reports[by] }

// mostAudits is how many audits of different views are remembered.
const mostAudits = 8

// Keep chooses what an audit counts: what is on a resident, of a unit, on a shift.
type Keep func(resident, unit string, k shift.Key) bool

// Audit counts what may be seen: notes that keep accepts. Audits are remembered by the view, which must
// differ where keep does. It takes as long as a check of all notes, so one that has begun is finished and
// remembered even where the requests that asked for it are given up. One is made at a time.
func (s *Snapshot) Audit(ctx context.Context, view string, made time.Time, keep Keep) (*Audit, error) {
	return s.audits.get(ctx, view, func(ctx context.Context) (*Audit, error) { return s.audit(ctx, made, keep) })
}

func (s *Snapshot) audit(ctx context.Context, made time.Time, keep Keep) (*Audit, error) {
	giveBack, err := s.auditing.take(ctx)
	if err != nil {
		return nil, err
	}
	defer giveBack()
	checker, err := lint.NewChecker(&s.reader, s.chart, s.config.Policy)
	if err != nil {
		return nil, err
	}
	for _, resident := range slices.Sorted(maps.Keys(s.notes)) {
		for _, n := range s.notes[resident] {
			checker.Add(n)
		}
	}
	tally := audit.New(checker.Rules(), audit.Options{
		Version: cmp.Or(s.config.Version, "devel"), Charted: s.chart != nil, Policy: audit.PolicyOf(s.config.Policy),
		Keep: func(resident string, p rules.Place) bool { return keep(resident, p.Unit, p.Shift) },
	})
	a := &Audit{reports: make(map[audit.Period]*audit.Report)}
	if _, err := checker.Judge(context.WithoutCancel(ctx), func(j lint.Judged) error {
		tally.Add(j.Timeline, j.Counts)
		type written struct {
			note string
			at   int64 // which tells notes of one id apart
		}
		roles, shifts := make(map[written]string), make(map[string]shift.Key)
		for _, e := range j.Timeline.Entries {
			roles[written{e.Note.ID, e.Note.Time.UnixNano()}], shifts[e.Shift.String()] = string(e.Note.Role), e.Shift
		}
		for _, f := range j.Findings {
			k, ok := shifts[f.Shift]
			if !ok {
				k = s.calendar.Key(f.Time, "") // a shift with no note
			}
			if !keep(f.Resident, f.Unit, k) {
				continue
			}
			a.Found = append(a.Found, Counted{Finding: f, Role: roles[written{f.Note, f.Time.UnixNano()}], Shift: k})
		}
		return nil
	}); err != nil {
		return nil, err
	}
	for _, by := range []audit.Period{audit.Week, audit.Month} {
		a.reports[by] = tally.Report(by, made)
	}
	groups := make(map[string]string)
	for _, r := range a.reports[audit.Week].Rules {
		groups[r.ID] = r.Group
	}
	for i := range a.Found {
		a.Found[i].Group = groups[a.Found[i].Rule]
	}
	return a, nil
}

// Units are the units that notes and the chart rows of those with notes name, in order.
func (s *Snapshot) Units() []string {
	units := make(map[string]bool)
	for id, ns := range s.notes {
		for _, n := range ns {
			units[n.Unit] = true
		}
		for _, row := range s.chart.Rows(id) {
			units[row.Unit] = true
		}
	}
	delete(units, "")
	return slices.Sorted(maps.Keys(units))
}
