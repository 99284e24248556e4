package rules

import (
	"cmp"
	"slices"
	"time"

	"example.com/stance/lexicon"
	"example.com/stance/lint/finding"
	"example.com/stance/lint/load"
	"example.com/stance/lint/policy"
	"example.com/stance/lint/shift"
	"example.com/stance/lint/timeline"
)

// A Bench is the rules in force under one policy. It does not change and is safe for concurrent use.
type Bench struct {
	rules  []Rule
	policy *policy.Policy
}

// NewBench is the rules that the policy does not switch off, each with the severity it sets. A rule
// that is switched off takes nobody's place: the rules that would give way to it speak again.
func NewBench(all []Rule, p *policy.Policy) *Bench {
	b := &Bench{policy: p}
	for _, r := range all {
		if s, ok := p.Rules[r.ID]; ok {
			r.Severity = s
		}
		if r.Severity != finding.Off {
			b.rules = append(b.rules, r)
		}
	}
	return b
}

// A Copy tells that a note repeats an earlier one.
type Copy struct {
	Of    *timeline.Entry // the earlier note
	Share float64         // of the words that are equal, 0 to 1
}

// Copies are the near-copies among the notes of a timeline, by the later note, and which were
// compared at all: those that are long enough and have one to be compared with.
type Copies struct {
	Forward map[*timeline.Entry]Copy // of an earlier shift of the same resident
	Across  map[*timeline.Entry]Copy // of another resident on the same shift

	// They report whether the note at that place of the timeline was compared. Count asks them.
	ComparedForward func(at int) bool
	ComparedAcross  func(at int) bool
}

// Judge runs the rules over one resident's timeline. The findings come by note time, span and rule.
func (b *Bench) Judge(t *timeline.Timeline, copies Copies) []finding.Finding {
	return b.run(t, copies).findings()
}

// A Place is where a rule could have found something: a note, or a shift that should have had one.
type Place struct {
	Entry *timeline.Entry // nil for a shift with no note
	Shift shift.Key
	Unit  string
	Time  time.Time // of the note, or of the start of the shift
}

// A Count is how often one rule could have found something in a place, and how often it did.
type Count struct {
	Rule string
	Place
	Opportunities int // at least 1, and at least as many as Findings
	Findings      int
}

// Count runs the rules over one resident's timeline as [Bench.Judge] does, and also counts where
// they applied. The counts come by rule, in the order of the published tables, then by note; a rule
// that did not apply in a place has none for it. A finding that gives way to another rule's is not
// counted, though its opportunity is.
func (b *Bench) Count(t *timeline.Timeline, copies Copies) ([]finding.Finding, []Count) {
	l := b.run(t, copies)
	type key struct {
		rule  string
		entry *timeline.Entry
	}
	in := make(map[key]int)
	gaps := make(map[string][]Place)
	for _, f := range l.found {
		if f.place.Entry == nil {
			gaps[f.Rule] = append(gaps[f.Rule], f.place)
		} else {
			in[key{f.Rule, f.place.Entry}]++
		}
	}
	var counts []Count
	for i := range b.rules {
		r := &b.rules[i]
		p := b.pass(r, t, copies, l)
		for at, e := range t.Entries {
			p.turnTo(at)
			if n := r.applies(p); n > 0 {
				counts = append(counts, Count{r.ID, PlaceOf(e), n, in[key{r.ID, e}]})
			}
		}
		for _, g := range gaps[r.ID] {
			counts = append(counts, Count{r.ID, g, 1, 1})
		}
	}
	return l.findings(), counts
}

// Rules are the rules in force, in the order of the published tables.
func (b *Bench) Rules() []Rule { return slices.Clone(b.rules) }

// run lets every rule look at every note, and settles who speaks.
func (b *Bench) run(t *timeline.Timeline, copies Copies) *ledger {
	l := &ledger{on: make(map[*lexicon.Statement][]*Rule), shifts: make(map[shift.Key]*onShift)}
	for i := range b.rules {
		p := b.pass(&b.rules[i], t, copies, l)
		for at := range t.Entries {
			p.turnTo(at)
			b.rules[i].check(p)
		}
	}
	l.settle()
	return l
}

// pass is a rule's, from one note of the timeline to the next.
func (b *Bench) pass(r *Rule, t *timeline.Timeline, copies Copies, l *ledger) *pass {
	return &pass{
		rule: r, policy: b.policy, line: t, copies: copies, ledger: l,
		caps: load.Caps{ToeTouch: b.policy.ToeTouchCap, Partial: b.policy.PartialCap},
	}
}

// turnTo puts the pass on the note at that place of the timeline.
func (p *pass) turnTo(at int) { p.at, p.entry = at, p.line.Entries[at] }

// PlaceOf is the place of a note.
func PlaceOf(e *timeline.Entry) Place {
	return Place{Entry: e, Shift: e.Shift, Unit: e.Note.Unit, Time: e.Note.Time}
}

// findings are what has been found, by note time, span and rule.
func (l *ledger) findings() []finding.Finding {
	fs := make([]finding.Finding, len(l.found))
	for i, f := range l.found {
		fs[i] = f.Finding
	}
	slices.SortStableFunc(fs, func(x, y finding.Finding) int {
		return cmp.Or(x.Time.Compare(y.Time), cmp.Compare(x.Note, y.Note),
			cmp.Compare(x.Span.Start, y.Span.Start), cmp.Compare(x.Span.End, y.Span.End), cmp.Compare(x.Rule, y.Rule))
	})
	return fs
}

// A pass is one rule at work on one note after another. A rule keeps nothing of it.
type pass struct {
	rule   *Rule
	policy *policy.Policy
	caps   load.Caps
	line   *timeline.Timeline
	at     int // of entry in line.Entries
	entry  *timeline.Entry
	copies Copies
	ledger *ledger
}

// A ledger holds what has been found in one timeline.
type ledger struct {
	found []found
	on    map[*lexicon.Statement][]*Rule // the rules that found something about it

	shifts map[shift.Key]*onShift // those that a rule has asked about
}

// A found is a finding and what it is about.
type found struct {
	finding.Finding
	about *lexicon.Statement // nil: the note as a whole
	place Place
}

func (l *ledger) add(f found, r *Rule) {
	l.found = append(l.found, f)
	if f.about != nil {
		l.on[f.about] = append(l.on[f.about], r)
	}
}

// A report is what a rule says.
type report struct {
	about    *lexicon.Statement // what it concerns; nil: the note as a whole
	span     lexicon.Span       // where it is not the place of about
	unsure   bool               // it rests on something else that is only possible
	raised   bool               // an error in this case, unless policy set the severity
	message  string
	sum      string // the figures behind the message
	advice   string
	evidence []finding.Evidence
	rewrite  *finding.Rewrite
}

// report adds a finding in the pass's note.
func (p *pass) report(r report) {
	e := p.entry
	f := finding.Finding{
		Rule:     p.rule.ID,
		Severity: p.rule.Severity,
		Resident: p.line.Resident,
		Note:     e.Note.ID,
		Shift:    e.Shift.String(),
		Span:     r.span,
		Message:  r.message,
		Sum:      r.sum,
		Advice:   r.advice,
		Evidence: r.evidence,
		Rewrite:  r.rewrite,
		Unit:     e.Note.Unit,
		Time:     e.Note.Time,
	}
	if _, set := p.policy.Rules[p.rule.ID]; r.raised && !set {
		f.Severity = finding.Error
	}
	if r.unsure || r.about != nil && r.about.Certainty == lexicon.Possible {
		f.Severity = f.Severity.Lower()
	}
	switch {
	case !r.span.IsZero():
	case r.about != nil:
		f.Span = r.about.Span
	default:
		f.Span = e.Opening()
	}
	f.Text = e.Words(f.Span)
	for i := range f.Evidence {
		if f.Evidence[i].Resident == f.Resident {
			f.Evidence[i].Resident = ""
		}
	}
	p.ledger.add(found{f, r.about, PlaceOf(e)}, p.rule)
}

// reportGap adds a finding about a shift that has no note, with its unit and its start.
func (p *pass) reportGap(k shift.Key, f finding.Finding) {
	f.Rule, f.Severity, f.Resident, f.Shift = p.rule.ID, p.rule.Severity, p.line.Resident, k.String()
	p.ledger.add(found{Finding: f, place: Place{Shift: k, Unit: f.Unit, Time: f.Time}}, p.rule)
}

// conflictsWithChart reports whether a chart rule has already found something about the statement.
// Chart rules come first in the list, so all of them have run when a later rule asks.
func (p *pass) conflictsWithChart(s *lexicon.Statement) bool {
	return slices.ContainsFunc(p.ledger.on[s], func(r *Rule) bool { return r.charted })
}
