// Package says puts what a note says, and what is charted, into words that somebody new to care work
// reads at once. It judges nothing.
package says

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"example.com/stance/lexicon"
	"example.com/stance/lint/chart"
	"example.com/stance/lint/shift"
	"example.com/stance/lint/trade"
)

// Words are the names of the concepts. Make one with [New]; it does not change.
type Words struct {
	labels map[string]string // by concept id
}

// New takes the names from the vocabulary.
func New(concepts []lexicon.ConceptInfo) *Words {
	w := &Words{labels: make(map[string]string, len(concepts))}
	for _, c := range concepts {
		w.labels[c.ID] = strings.ReplaceAll(trade.Label(c.ID, c.Label), "unsaid", "not said")
	}
	return w
}

// Labels are the names by concept id. They must not be changed.
func (w *Words) Labels() map[string]string { return w.labels }

// A Said is one statement in words.
type Said struct {
	What  string   // "transfers: pivot, two helpers, with transfer belt, from bed to chair"
	Apart []string // what sets it apart from a plain report of now: "not done or not so", "planned", "about somebody else"
}

// Equal reports whether both say the same.
func (s Said) Equal(o Said) bool { return s.What == o.What && slices.Equal(s.Apart, o.Apart) }

// Statement says what a statement tells.
func (w *Words) Statement(s *lexicon.Statement) Said {
	head := w.concept(s)
	if s.Polarity == lexicon.Negated {
		head = w.denied(s, head)
	}
	var parts []string
	add := func(format string, args ...any) { parts = append(parts, fmt.Sprintf(format, args...)) }
	if s.Group() == "bearing" {
		head, parts = limb(s), append(parts, head)
	} else if s.Side != "" {
		add("%s side", s.Side)
	}
	if f, ok := s.Percent.Get(); ok && s.Concept != "bearing.partial" {
		add("%s%% of the body weight", number(f))
	}
	if s.Method != "" {
		add("%s", method(s.Method))
	}
	if s.Assist != "" {
		add("%s", assist(s.Assist))
	}
	if n, ok := s.Staff.Get(); ok {
		add("%s", Helpers(n))
	}
	for _, a := range s.Aids {
		if a == "none" {
			add("no aid")
			continue
		}
		add("with %s", w.Aid(a))
	}
	if f, ok := s.DistanceM.Get(); ok {
		add("%s m", number(f))
	}
	switch {
	case s.From != "" && s.To != "":
		add("from %s to %s", place(s.From), place(s.To))
	case s.From != "":
		add("from %s", place(s.From))
	case s.To != "":
		add("to %s", place(s.To))
	}
	systolic, hasUpper := s.Systolic.Get()
	diastolic, hasLower := s.Diastolic.Get()
	if hasUpper && hasLower {
		add("%s/%s mmHg", number(systolic), number(diastolic))
	}
	if f, ok := s.Value.Get(); ok {
		add("%s%s", number(f), unit(s.Concept))
	}
	if s.Posture != "" {
		add("%s", s.Posture)
	}
	if s.Fit != "" {
		add("%s", s.Fit)
	}
	if len(s.Helpers) > 0 {
		add("helped by %s", who(s.Helpers))
	}
	if s.Fixed {
		add("put right")
	}
	if s.Clock != "" {
		add("at %s", s.Clock)
	}
	said := Said{What: head}
	if len(parts) > 0 {
		said.What += ": " + strings.Join(parts, ", ")
	}
	said.Apart = apart(s)
	return said
}

// apart says what sets a statement apart from a plain, sure report of now about the resident.
func apart(s *lexicon.Statement) []string {
	var out []string
	switch s.Time {
	case lexicon.Before:
		out = append(out, "from before")
	case lexicon.Planned:
		out = append(out, "planned")
	case lexicon.Conditional:
		out = append(out, "only if needed")
	}
	if s.Who == lexicon.Other {
		out = append(out, "about somebody else")
	}
	if s.Certainty == lexicon.Possible {
		out = append(out, "not sure")
	}
	if s.Mood == lexicon.Order {
		out = append(out, "an instruction")
	}
	return out
}

// denied says that something is not so, as somebody would say it.
func (w *Words) denied(s *lexicon.Statement, head string) string {
	switch s.Concept {
	case "fall.injury":
		return "no injury found"
	case "fall.head":
		return "head not struck"
	case "fall.fracture":
		return "no sign of a broken bone"
	case "fall.spine":
		return "no neck or back pain"
	case "fall.fell", "fall.found", "fall.collapse", "fall.eased":
		return "no fall"
	case "fall.assessed":
		return "not examined before moving"
	case "staff.hurt":
		return "no injury to staff"
	case "wheel.brakes":
		return "brakes off"
	case "wheel.footrests":
		return "feet not on the rests"
	case "wheel.told":
		return "not told before the chair was moved"
	case "posted.way":
		return "no sign at the bed, door or chair"
	case "told.form":
		return "no report form filled in"
	case "vital.taken":
		return "vital signs not taken"
	case "review.done":
		return "not reassessed"
	case "bearing.able":
		return "does not take weight"
	case "move.refused":
		return "did not refuse"
	case "move.up":
		return "did not get up"
	case "move.wheel":
		return "did not go by wheelchair"
	case "aid.fault":
		return "no fault of an aid"
	}
	switch s.Group() {
	case "sign", "fall", "hazard", "reason":
		return "no " + head
	case "move": // "walks" and the like: a verb, and perhaps more
		verb, rest, more := strings.Cut(head, " ")
		if more {
			rest = " " + rest
		}
		return "did not " + strings.TrimSuffix(verb, "s") + rest
	case "told":
		return "not " + head
	}
	return "not: " + head
}

// concept names what a statement is about.
func (w *Words) concept(s *lexicon.Statement) string {
	switch {
	case s.Group() == "bearing":
		if b, ok := bearingOf(s); ok {
			return b
		}
	case s.Concept == "move.up":
		return "gets up"
	case s.Concept == "assist.level":
		return "amount of help"
	case s.Concept == "aid.fit":
		return "how an aid fits"
	case s.Concept == "aid.fault":
		return "a fault of an aid"
	case s.Concept == "told.form":
		return "report form filled in"
	case s.Concept == "posted.way":
		return "sign at the bed, door or chair"
	case s.Concept == "staff.hurt":
		return "staff hurt or strained"
	case s.Concept == "fall.cause":
		return "how the fall came about"
	case s.Group() == "told":
		return "told: " + w.label(s.Concept)
	}
	return w.label(s.Concept)
}

// bearingOf says how much weight a limb takes as the chart's own box does.
func bearingOf(s *lexicon.Statement) (string, bool) {
	switch s.Concept {
	case "bearing.none":
		return trade.Weight("nwb").Full(), true
	case "bearing.toe-touch":
		return trade.Weight("ttwb").Full(), true
	case "bearing.partial":
		if percent, given := s.Percent.Get(); given {
			return trade.Weight("pwb:" + number(percent)).Full(), true
		}
		return trade.Weight("pwb").Full(), true
	case "bearing.tolerated":
		return trade.Weight("wbat").Full(), true
	case "bearing.full":
		return trade.Weight("fwb").Full(), true
	case "bearing.able":
		return "takes weight, how much not said", true
	}
	return "", false
}

func (w *Words) label(id string) string {
	if l := w.labels[id]; l != "" {
		return l
	}
	return strings.NewReplacer(".", " ", "-", " ").Replace(id)
}

// Aid names an aid by its id, with or without "aid.".
func (w *Words) Aid(id string) string { return w.label("aid." + strings.TrimPrefix(id, "aid.")) }

// Helpers counts helpers.
func Helpers(n int) string {
	switch n {
	case 0:
		return "no helper"
	case 1:
		return "1 helper"
	}
	return strconv.Itoa(n) + " helpers"
}

// limb names the limb of a bearing statement.
func limb(s *lexicon.Statement) string {
	name := s.Limb
	if name == "" {
		name = "leg"
	}
	switch s.Side {
	case "":
		return name + ", side not said"
	case "both":
		return "both " + name + "s"
	}
	return s.Side + " " + name
}

// who names those who helped with a move, by group.
func who(groups []string) string {
	names := make([]string, len(groups))
	for i, g := range groups {
		switch g {
		case "student":
			names[i] = "students"
		case "volunteer":
			names[i] = "volunteers"
		case "other-resident":
			names[i] = "another resident"
		default:
			names[i] = g
		}
	}
	return strings.Join(names, " and ")
}

func method(m string) string {
	switch m {
	case "board":
		return "over " + trade.Aid(m).One()
	case "side-by-side":
		return "side by side"
	case trade.SitStandLift, trade.TotalLift:
		return "with the " + trade.Aid(m).Name()
	case trade.Lift:
		return "with " + trade.Aid(m).One()
	}
	return m
}

func assist(a string) string {
	switch a {
	case "independent":
		return "without help"
	case "supervision":
		return "somebody watching"
	case "standby":
		return "somebody standing by"
	case "contact-guard":
		return "hands on for safety"
	case "minimum":
		return "a little help"
	case "moderate":
		return "half of the effort by staff"
	case "maximum":
		return "most of the effort by staff"
	case "dependent":
		return "all of the effort by staff"
	}
	return a
}

func place(p string) string {
	if p == "edge-of-bed" {
		return "edge of the bed"
	}
	return p
}

// unit is what the value of a vital sign, of a raised bed or of a pause is counted in.
func unit(concept string) string {
	switch concept {
	case "vital.pulse", "vital.breaths":
		return " a minute"
	case "vital.temperature":
		return " °C"
	case "vital.saturation":
		return "%"
	case "rise.raised":
		return "°"
	case "rise.paused":
		return " min"
	}
	return ""
}

// number writes a figure with at most one decimal.
func number(f float64) string { return strings.TrimSuffix(strconv.FormatFloat(f, 'f', 1, 64), ".0") }

// A Line is one charted thing.
type Line struct {
	Label  string   // "Left leg"
	Values []string // "no weight"; several of what is a list
	Cell   string   // the short form that staff know: "NWB"; empty for none
	Tight  bool     // it limits what the resident may do
}

// Row says what a chart row tells, the limits first. A lift whose helpers the row does not count takes liftHelpers.
func (w *Words) Row(r *chart.Row, liftHelpers int) []Line {
	var lines []Line
	for _, l := range []struct {
		label string
		b     chart.Bearing
	}{{"Left leg", r.LeftLeg}, {"Right leg", r.RightLeg}, {"Left arm", r.LeftArm}, {"Right arm", r.RightArm}} {
		if l.b.Status == chart.Full && strings.HasSuffix(l.label, "arm") {
			continue // as with most residents; a list of what is usual hides what is not
		}
		weight := trade.Weight(l.b.String())
		lines = append(lines, Line{l.label, []string{weight.Name()}, weight.Short(), l.b.Status > chart.Tolerated})
	}
	n := r.Helpers(liftHelpers)
	helpers := Helpers(n)
	if n == 0 && (r.Transfer == chart.Supervised || r.Walk == chart.WalkSupervised) {
		helpers = "1 helper, watching" // nobody may take it that the resident is left alone
	}
	lines = append(lines,
		Line{"Transfer", []string{trade.Way(r.Transfer).Name()}, "", false},
		Line{"Helpers", []string{helpers}, "", n > 1},
		Line{"Aids", w.aids(r.Aids), "", false},
		Line{"Walking", []string{trade.Walk(r.Walk).Name()}, "", r.Walk == chart.WalkNo})
	slices.SortStableFunc(lines, func(a, b Line) int { return tight(b) - tight(a) })
	return lines
}

func tight(l Line) int {
	if l.Tight {
		return 1
	}
	return 0
}

// Cell says one value of a chart row, given the column's name and the cell: "left leg: no weight (NWB)".
func (w *Words) Cell(column, cell string) string {
	label := strings.ReplaceAll(column, "_", " ")
	var value string
	switch column {
	case "left_leg", "right_leg", "left_arm", "right_arm":
		value = trade.Weight(cell).Full()
	case "transfer":
		value = trade.Way(cell).Name()
	case "staff":
		label, value = "helpers", cell
		if cell == "" {
			value = "as the way of transfer needs"
		}
	case "aids":
		var ids []string
		for id := range strings.SplitSeq(cell, ";") {
			if id = strings.TrimSpace(id); id != "" {
				ids = append(ids, id)
			}
		}
		value = strings.Join(w.aids(ids), ", ")
	case "walk":
		label, value = "walking", trade.Walk(cell).Name()
	case "by":
		label, value = "charted by", cell
	default:
		value = cell
	}
	if value == "" {
		value = "nothing charted"
	}
	return label + ": " + value
}

// aids names each of the aids.
func (w *Words) aids(ids []string) []string {
	if len(ids) == 0 {
		return []string{"none"}
	}
	names := make([]string, len(ids))
	for i, id := range ids {
		names[i] = w.Aid(id)
	}
	return names
}

// Shift names a shift: "evening shift of Tuesday 24 November 2026".
func Shift(c *shift.Calendar, k shift.Key) string {
	return k.Name + " shift of " + c.Start(k).Format("Monday 2 January 2006")
}
