package audit

import (
	"fmt"
	"slices"
	"strings"

	"example.com/stance/lexicon"
	"example.com/stance/lint/rules"
	"example.com/stance/lint/timeline"
)

// An Event is something that notes tell of and that is counted beside the findings: it is what happened,
// as far as notes tell it, and not how they tell it.
type Event struct {
	ID    string `json:"id"`    // "fall", "hazard.floor"
	Of    string `json:"of"`    // id of the event that it is a part of; empty for none
	Words string `json:"words"` // "notes that tell of a fall"

	rule string // it is what this rule counts; empty where it is counted from the statements
	kind bool   // one kind of several: not shown where it was never told
}

// fixable reports whether the event can be put right.
func (e Event) fixable() bool { return e.ID == anyHazard || e.Of == anyHazard }

// Ids of events that stand for several statements. A kind of hazard has the id of its concept.
const (
	anyFall    = "fall"
	causeTold  = "fall.cause-told"
	noCause    = "fall.cause-untold"
	anyHazard  = "hazard"
	staffHurt  = "staff.hurt"
	compared   = "posted.compared"
	differs    = "posted.differs"
	notThere   = "posted.missing"
	byDoing    = "fall.cause-doing"
	byHazard   = "fall.cause-hazard"
	bySign     = "fall.cause-sign"
	byBalance  = "fall.cause-balance"
	byAid      = "fall.cause-aid"
	byBrakes   = "fall.cause-brakes"
	ruleDiffer = "sign-differs"
	ruleGone   = "sign-missing"
)

// allEvents are the events in the order in which they are shown, each after what it is a part of.
func allEvents() []Event {
	return []Event{
		{ID: anyFall, Words: "notes that tell of a fall"},
		{ID: causeTold, Of: anyFall, Words: "the cause told"},
		{ID: byDoing, Of: causeTold, Words: "what the resident was doing", kind: true},
		{ID: byHazard, Of: causeTold, Words: "a hazard on the floor, on the feet or in the light", kind: true},
		{ID: bySign, Of: causeTold, Words: "a sign of being unwell, such as dizziness or weak legs", kind: true},
		{ID: byBalance, Of: causeTold, Words: "a stumble, or balance lost", kind: true},
		{ID: byAid, Of: causeTold, Words: "an aid or lift that was faulty or not there", kind: true},
		{ID: byBrakes, Of: causeTold, Words: "wheelchair brakes off", kind: true},
		{ID: noCause, Of: anyFall, Words: "no word of the cause"},
		{ID: anyHazard, Words: "hazards"},
		{ID: "hazard.floor", Of: anyHazard, Words: rules.HazardWords("hazard.floor"), kind: true},
		{ID: "hazard.clutter", Of: anyHazard, Words: rules.HazardWords("hazard.clutter"), kind: true},
		{ID: "hazard.mat", Of: anyHazard, Words: rules.HazardWords("hazard.mat"), kind: true},
		{ID: "hazard.footwear", Of: anyHazard, Words: rules.HazardWords("hazard.footwear"), kind: true},
		{ID: "hazard.light", Of: anyHazard, Words: rules.HazardWords("hazard.light"), kind: true},
		{ID: staffHurt, Words: "notes in which staff were hurt or strained"},
		{ID: compared, Words: "posted signs held against the chart", rule: ruleDiffer},
		{ID: differs, Of: compared, Words: "another way than the chart's", rule: ruleDiffer},
		{ID: notThere, Words: "notes that tell of a missing sign", rule: ruleGone},
	}
}

// eventsUnder are the events that can be counted under the rules in force.
func eventsUnder(inForce []Rule) []Event {
	return slices.DeleteFunc(allEvents(), func(e Event) bool {
		return e.rule != "" && !slices.ContainsFunc(inForce, func(r Rule) bool { return r.ID == e.rule })
	})
}

// A tell is how often an event was told, and how often of that it was put right.
type tell struct{ Told, Fixed int }

func (t *tell) add(o tell) {
	t.Told += o.Told
	t.Fixed += o.Fixed
}

// toldIn is what a note tells, by the id of the event, as far as no rule counts it.
func toldIn(e *timeline.Entry) map[string]tell {
	out := make(map[string]tell)
	tells := func(id string, fixed bool) {
		t := tell{Told: 1}
		if fixed {
			t.Fixed = 1
		}
		t.add(out[id])
		out[id] = t
	}
	causes := make(map[string]bool)
	for i := range e.Reading.Statements {
		s := &e.Reading.Statements[i]
		if id := causeOf(s); id != "" {
			causes[id] = true
		}
		if rules.IsHazard(s) {
			tells(anyHazard, s.Fixed)
			tells(s.Concept, s.Fixed)
		}
		if rules.IsStaffHurt(s) {
			out[staffHurt] = tell{Told: 1} // however often the note tells it
		}
	}
	if !e.Any(func(s *lexicon.Statement) bool { return s.Done() && s.IsFall() }) {
		return out
	}
	tells(anyFall, false)
	if len(causes) == 0 {
		tells(noCause, false)
		return out
	}
	tells(causeTold, false)
	for id := range causes {
		tells(id, false)
	}
	return out
}

// causeOf is the event that a statement makes of a fall by telling its cause, "" for none.
func causeOf(s *lexicon.Statement) string {
	if !rules.TellsCause(s) {
		return ""
	}
	switch s.Concept {
	case "wheel.brakes":
		return byBrakes
	case "fall.cause":
		return byDoing
	case "fall.near":
		return byBalance
	case "aid.fault":
		return byAid
	}
	if s.Group() == "hazard" {
		return byHazard
	}
	return bySign
}

// toldBy is what the count of a rule tells.
func toldBy(c rules.Count) map[string]tell {
	switch c.Rule {
	case ruleDiffer:
		return map[string]tell{compared: {Told: c.Opportunities}, differs: {Told: c.Findings}}
	case ruleGone:
		return map[string]tell{notThere: {Told: c.Findings}}
	}
	return nil
}

// addTold counts what is told in a value.
func (t *Tally) addTold(v *value, told map[string]tell) {
	if len(told) == 0 {
		return // as of most notes
	}
	for i, e := range t.events {
		v.told[i].add(told[e.ID])
	}
}

// setTold takes the events of one value in, which must be possible ones.
func (t *Tally) setTold(v *value, told map[string][2]int) error {
	known := make(map[string]tell)
	for id, n := range told {
		i := slices.IndexFunc(t.events, func(e Event) bool { return e.ID == id })
		if i < 0 {
			return fmt.Errorf("counts of an event that is not known: %q, want one of %s", id, strings.Join(t.eventIDs(), ", "))
		}
		if n[0] < 0 || n[1] < 0 || n[1] > n[0] || n[1] > 0 && !t.events[i].fixable() {
			return fmt.Errorf("counts of the event %s cannot be: want put right ≤ told, none below 0", id)
		}
		known[id] = tell{n[0], n[1]}
	}
	if err := t.possible(known, v.notes); err != nil {
		return err
	}
	t.addTold(v, known)
	return nil
}

// possible says what of the counts cannot be beside one another, in so many notes.
func (t *Tally) possible(told map[string]tell, notes int) error {
	for _, e := range t.events {
		if e.Of != "" && (told[e.ID].Told > told[e.Of].Told || told[e.ID].Fixed > told[e.Of].Fixed) {
			return fmt.Errorf("counts of the event %s cannot be: want no more than of %s", e.ID, e.Of)
		}
	}
	if told[anyFall].Told != told[causeTold].Told+told[noCause].Told {
		return fmt.Errorf("counts of the event %s cannot be: want each with a cause or without one", anyFall)
	}
	for _, id := range []string{anyFall, staffHurt, notThere} { // which count a note once
		if told[id].Told > notes {
			return fmt.Errorf("counts of the event %s cannot be: want no more than notes", id)
		}
	}
	return nil
}

func (t *Tally) eventIDs() []string {
	ids := make([]string, len(t.events))
	for i, e := range t.events {
		ids[i] = e.ID
	}
	return ids
}

// An EventRow is how often an event was told in one value of a table.
type EventRow struct {
	Value string `json:"value"` // as of a Row
	Event string `json:"event"` // its id
	Told  int    `json:"told"`
	Fixed *int   `json:"fixed"` // of them, those put right; null: the event is none to be put right
}

// eventRows has a row for every event of every value. Of residents, who may be many, it leaves out what
// was not told.
func (t *Tally) eventRows(by, label string, v *value) []EventRow {
	var out []EventRow
	for i, e := range t.events {
		n := v.told[i]
		if by == ByResident && n.Told == 0 {
			continue
		}
		row := EventRow{Value: label, Event: e.ID, Told: n.Told}
		if e.fixable() {
			row.Fixed = &n.Fixed
		}
		out = append(out, row)
	}
	return out
}

// An EventLine is an event as people read it.
type EventLine struct {
	Words string
	Depth int // how many events it is a part of, one within the other
	Told  int
	Fixed *int // as of an EventRow
}

// Told are the events of one value of a table as lines, and in words what was told nowhere. Kinds that were
// not told are left out, and so are the parts of what was not told.
func (r *Report) Told(t Table, value string) (lines []EventLine, none []string) {
	rows := make(map[string]EventRow)
	for _, row := range t.Events {
		if row.Value == value {
			rows[row.Event] = row
		}
	}
	depth := make(map[string]int)
	for _, e := range r.Events {
		row := rows[e.ID]
		if e.Of != "" {
			depth[e.ID] = depth[e.Of] + 1
		}
		switch {
		case row.Told > 0, e.Of != "" && !e.kind && rows[e.Of].Told > 0:
			lines = append(lines, EventLine{e.Words, depth[e.ID], row.Told, row.Fixed})
		case e.Of == "":
			none = append(none, e.Words)
		}
	}
	return lines, none
}
