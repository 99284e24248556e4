package sight

import (
	"context"
	"slices"
	"strings"
	"time"

	"example.com/stance/cmd/stance/web/pages/records"
	"example.com/stance/lint/answers"
	"example.com/stance/lint/audit"
	"example.com/stance/lint/finding"
	"example.com/stance/lint/shift"
)

// An Audit is the figures over all notes that the session may see.
type Audit struct {
	sight *Sight
	audit *records.Audit
}

// A Span narrows an audit down: to one unit, or AllUnits, and to shifts that began on days from the one to the other, each
// "2026-11-24" or empty for no bound.
type Span struct{ Unit, From, Until string }

// holds reports whether what is of that unit and shift is within.
func (p Span) holds(unit string, k shift.Key) bool {
	day := time.Unix(0, 0).UTC().AddDate(0, 0, k.Day).Format(time.DateOnly)
	return (p.Unit == AllUnits || strings.EqualFold(p.Unit, unit)) && (p.From == "" || p.From <= day) && (p.Until == "" || day <= p.Until)
}

// Audit counts what the session may see, as far as it is within the span. It takes as long as a check of all notes, the
// first time.
func (s *Sight) Audit(ctx context.Context, within Span) (*Audit, error) {
	residents, units := make(map[string]bool), make(map[string]bool)
	view := []string{"residents"}
	for _, r := range s.Residents() {
		residents[r.ID] = true
		view = append(view, r.ID)
	}
	view = append(view, "units")
	for _, u := range append(s.snap.Units(), "") {
		if u == "" || s.session.Sees(u) {
			units[u] = true
			view = append(view, u)
		}
	}
	view = append(view, "within", strings.ToLower(within.Unit), within.From, within.Until)
	// What may be seen is settled now: where a resident lives may change while the audit is made, and it is
	// remembered by all that it rests on.
	a, err := s.snap.Audit(ctx, strings.Join(view, "\x00"), s.now, func(resident, unit string, k shift.Key) bool {
		return residents[resident] && units[unit] && within.holds(unit, k)
	})
	if err != nil {
		return nil, err
	}
	return &Audit{s, a}, nil
}

// Figures is the report by week or by month without what it has of each resident. It must not be changed.
func (a *Audit) Figures(by audit.Period) *audit.Report {
	out := *a.audit.Report(by)
	out.Tables = slices.Clone(out.Tables)
	for i, t := range out.Tables {
		if t.By == audit.ByResident {
			out.Tables[i].Rows, out.Tables[i].Events = nil, nil
		}
	}
	return &out
}

// Whole is the report with each resident's figures. It must not be changed.
func (a *Audit) Whole(by audit.Period) *audit.Report {
	r := a.audit.Report(by)
	for _, t := range r.Tables {
		if t.By != audit.ByResident {
			continue
		}
		for _, row := range t.Rows {
			a.sight.shown[row.Value] = true
		}
	}
	return r
}

// A Counted is what a finding counts among, without its words.
type Counted struct {
	Rule, Group string // the group is the rule's
	Resident    string
	Unit        string
	Role        string // of the author
	Noted       bool   // it is on a note, not on a shift that has none
	Shift       shift.Key
}

// Behind are the findings that a figure counts. Open gives their words.
type Behind struct {
	Places int // notes, and shifts that have none
	sight  *Sight
	found  []finding.Finding
}

// Behind are the findings that count, in the order of harm, and among equals by resident, note time, span and rule.
func (a *Audit) Behind(counts func(Counted) bool) *Behind {
	out := &Behind{sight: a.sight}
	type place struct{ resident, note, shift string }
	places := make(map[place]bool)
	for _, c := range a.audit.Found {
		if counts(Counted{c.Rule, c.Group, c.Resident, c.Unit, c.Role, c.Note != "", c.Shift}) {
			out.found = append(out.found, c.Finding)
			places[place{c.Resident, c.Note, c.Finding.Shift}] = true
		}
	}
	out.Places = len(places)
	slices.SortStableFunc(out.found, func(a, b finding.Finding) int { return b.Severity.Rank() - a.Severity.Rank() })
	return out
}

// An Answered is what was made of findings: how many are open, which those are too that are being looked into, how many
// were confirmed or put right, and how many were mistaken.
type Answered struct{ Open, Held, Mistaken int }

// Answers counts what was made of the findings that count, by rule. It shows nothing of them.
func (a *Audit) Answers(book *answers.Book, counts func(Counted) bool) map[string]Answered {
	out := make(map[string]Answered)
	for _, c := range a.audit.Found {
		if !counts(Counted{c.Rule, c.Group, c.Resident, c.Unit, c.Role, c.Note != "", c.Shift}) {
			continue
		}
		n := out[c.Rule]
		switch as, _ := book.Of(c.ID); as.As {
		case finding.Confirmed, finding.Amended:
			n.Held++
		case finding.Mistaken:
			n.Mistaken++
		default:
			n.Open++
		}
		out[c.Rule] = n
	}
	return out
}

// Len is how many findings there are.
func (b *Behind) Len() int { return len(b.found) }

// Open gives the findings from one number up to, and without, another.
func (b *Behind) Open(from, until int) []Finding { return b.sight.open(b.found[from:until]) }
