package course

import (
	"cmp"
	"maps"
	"slices"
	"strconv"
	"strings"

	"example.com/stance/lexicon"
	"example.com/stance/lint/chart"
	"example.com/stance/lint/load"
	"example.com/stance/lint/report"
	"example.com/stance/lint/trade"
)

// An aspect is what one lane is about: how it is charted, how a statement tells of it, and how the
// two compare.
type aspect struct {
	id, name string
	usual    string // the charted value that needs no lane of its own

	// charted is the value of a row, and whether the row gives one.
	charted func(*chart.Row) (Value, bool)

	// against is what a written value is compared with; nil for charted.
	against func(*chart.Row) (Value, bool)

	// written are the values that a statement gives, none where it is about something else. The
	// statement is one of something done.
	written func(*lexicon.Statement) []Value

	// fit compares what is written with a row that gives a value.
	fit func(r *chart.Row, written string) Fit

	// vaguer reports whether the written value says what another says, less exactly; nil for never.
	vaguer func(value, than string) bool
}

// compare holds a written value against a row, which may be nil. It also gives the charted value.
func (s *aspect) compare(r *chart.Row, written string) (Value, Fit) {
	if r == nil {
		return Value{}, NotCharted
	}
	against := s.against
	if against == nil {
		against = s.charted
	}
	v, ok := against(r)
	if !ok {
		return Value{}, NotCharted
	}
	return v, s.fit(r, written)
}

// allAspects are the lanes that the resident may have, in the order in which they are shown.
func (b *builder) allAspects() []aspect {
	all := []aspect{
		limb("left-leg", "Left leg", "leg", "left", func(r *chart.Row) chart.Bearing { return r.LeftLeg }),
		limb("right-leg", "Right leg", "leg", "right", func(r *chart.Row) chart.Bearing { return r.RightLeg }),
		unsided("leg", "Leg, side not written", "leg", func(r *chart.Row) (left, right chart.Bearing) { return r.LeftLeg, r.RightLeg }),
		limb("left-arm", "Left arm", "arm", "left", func(r *chart.Row) chart.Bearing { return r.LeftArm }),
		limb("right-arm", "Right arm", "arm", "right", func(r *chart.Row) chart.Bearing { return r.RightArm }),
		unsided("arm", "Arm, side not written", "arm", func(r *chart.Row) (left, right chart.Bearing) { return r.LeftArm, r.RightArm }),
		transfer(),
		helpers(b.opt.LiftHelpers),
		walking(),
		b.walkingAid(),
	}
	return append(all, b.otherAids()...)
}

// limb is the weight that one limb may bear.
func limb(id, name, limb, side string, cell func(*chart.Row) chart.Bearing) aspect {
	return aspect{
		id: id, name: name, usual: full,
		charted: func(r *chart.Row) (Value, bool) { return bearingValue(cell(r)), true },
		written: func(s *lexicon.Statement) []Value { return statusOf(s, limb, side, "both") },
		fit:     func(r *chart.Row, written string) Fit { return fitBearing(cell(r), written) },
		vaguer:  vaguerStatus,
	}
}

// unsided is the status of a leg or an arm where the note does not say which.
func unsided(id, name, limb string, cells func(*chart.Row) (left, right chart.Bearing)) aspect {
	return aspect{
		id: id, name: name,
		charted: func(*chart.Row) (Value, bool) { return Value{}, false },
		against: func(row *chart.Row) (Value, bool) {
			left, right := cells(row)
			l, r := bearingValue(left), bearingValue(right)
			return Value{l.Key + ";" + r.Key, "left " + l.Words + ", right " + r.Words}, true
		},
		written: func(s *lexicon.Statement) []Value { return statusOf(s, limb, "") },
		fit: func(r *chart.Row, written string) Fit {
			left, right := cells(r)
			if fit := fitBearing(left, written); fit == fitBearing(right, written) {
				return fit
			}
			return Unclear // of the side that agrees, or of the other
		},
		vaguer: vaguerStatus,
	}
}

const (
	full    = "fwb"
	partial = "pwb"
)

// statusOf is the bearing status that a statement gives for a limb of one of the sides. A status with
// no limb said is of a leg.
func statusOf(s *lexicon.Statement, limb string, sides ...string) []Value {
	if cmp.Or(s.Limb, "leg") != limb || !slices.Contains(sides, s.Side) {
		return nil
	}
	var key string
	switch s.Concept {
	case "bearing.none":
		key = "nwb"
	case "bearing.toe-touch":
		key = "ttwb"
	case "bearing.partial":
		key = partial
		if percent, ok := s.Percent.Get(); ok {
			key += ":" + strconv.FormatFloat(percent, 'f', -1, 64)
		}
	case "bearing.tolerated":
		key = "wbat"
	case "bearing.full":
		key = full
	default:
		return nil
	}
	return []Value{{key, statusWords(key)}}
}

func bearingValue(b chart.Bearing) Value {
	key := bearingKey(b)
	if b.String() == "" {
		return Value{key, "not restricted"}
	}
	return Value{key, statusWords(key)}
}

// bearingKey is a charted status as the chart's CSV has it, whatever its case there.
func bearingKey(b chart.Bearing) string {
	b.Raw = ""
	return cmp.Or(b.String(), full)
}

// fitBearing holds a written status against a charted one. In a limb that the chart leaves
// unrestricted, full weight and weight as tolerated are both as charted.
func fitBearing(b chart.Bearing, written string) Fit {
	charted := bearingKey(b)
	switch {
	case written == charted, b.Raw == "" && b.Status == chart.Full && written == "wbat",
		charted == partial && strings.HasPrefix(written, partial):
		return AsCharted
	case vaguerStatus(written, charted):
		return AsCharted // partial, how much unsaid
	}
	return Differs
}

func vaguerStatus(value, than string) bool {
	return value == partial && strings.HasPrefix(than, partial+":")
}

// The ways of transfer that both a chart and a note may give, beside the methods of the notes.
const (
	alone      = "alone"
	watched    = "watched"
	helped     = "helped" // by hand, in a way not said
	lift       = trade.Lift
	sitStand   = trade.SitStandLift
	totalLift  = trade.TotalLift
	byHand     = "lifted-by-hand"
	pivot      = "pivot"
	sideBySide = "side-by-side"
	board      = "board"
)

func transfer() aspect {
	return aspect{
		id: "transfer", name: "Way of transfer",
		charted: func(r *chart.Row) (Value, bool) {
			key := chartedWay(r.Transfer)
			return Value{key, wayWords(key)}, key != ""
		},
		written: func(s *lexicon.Statement) []Value {
			key := ""
			if s.Concept == "move.transfer" || s.Concept == "move.lift" {
				key = way(s)
			}
			if key == "" {
				return nil
			}
			return []Value{{key, wayWords(key)}}
		},
		fit: func(r *chart.Row, written string) Fit {
			charted := chartedWay(r.Transfer)
			switch {
			case written == charted, charted == helped && (written == pivot || written == sideBySide):
				return AsCharted
			case vaguerWay(written, charted):
				return Unclear
			}
			return Differs
		},
		vaguer: vaguerWay,
	}
}

func chartedWay(t chart.Transfer) string {
	switch t {
	case chart.Independent:
		return alone
	case chart.Supervised:
		return watched
	case chart.OnePerson, chart.TwoPerson:
		return helped
	case chart.OnePersonPivot, chart.TwoPersonPivot:
		return pivot
	case chart.OnePersonSide, chart.TwoPersonSide:
		return sideBySide
	case chart.Board:
		return board
	case chart.SitStandLift:
		return sitStand
	case chart.TotalLift:
		return totalLift
	}
	return ""
}

// way is how a transfer was done: by its method, else by the help given; empty where neither is said.
func way(s *lexicon.Statement) string {
	staff, counted := s.Staff.Get()
	switch {
	case s.Method != "":
		return s.Method
	case s.Detail.ByHand:
		return byHand
	case counted && staff > 0:
		return helped
	case counted:
		return alone
	}
	switch s.Assist {
	case "":
		return ""
	case "independent":
		return alone
	case "supervision", "standby":
		return watched
	}
	return helped
}

func vaguerWay(value, than string) bool {
	switch value {
	case helped:
		return than == pivot || than == sideBySide || than == board || than == lift || than == sitStand || than == totalLift
	case lift:
		return than == sitStand || than == totalLift
	}
	return false
}

// helpers is how many help with a transfer, a lift or standing up.
func helpers(liftHelpers int) aspect {
	charted := func(r *chart.Row) (Value, bool) {
		if r.Transfer == "" && r.Staff == chart.NoStaff {
			return Value{}, false
		}
		v := helperValue(r.Helpers(liftHelpers))
		if v.Key == "0" && (r.Transfer == chart.Supervised || r.Walk == chart.WalkSupervised) {
			v.Words = "1 helper, watching" // nobody may take it that the resident is left alone
		}
		return v, true
	}
	return aspect{
		id: "helpers", name: "Helpers",
		charted: charted,
		written: func(s *lexicon.Statement) []Value {
			n, ok := s.Staff.Get()
			if !ok || s.Concept != "move.transfer" && s.Concept != "move.lift" && s.Concept != "move.stand" {
				return nil
			}
			return []Value{helperValue(n)}
		},
		fit: func(r *chart.Row, written string) Fit {
			if v, _ := charted(r); v.Key == written {
				return AsCharted
			}
			return Differs
		},
	}
}

func helperValue(n int) Value {
	switch n {
	case 0:
		return Value{"0", "no helper"}
	case 1:
		return Value{"1", "1 helper"}
	}
	return Value{strconv.Itoa(n), strconv.Itoa(n) + " helpers"}
}

// The keys of walking: with or without an aid, or only walked, each with ":alone" where nobody helped.
const (
	withAid  = "with-aid"
	noAid    = "without-aid"
	walked   = "walked"
	byItself = ":alone"
)

func walking() aspect {
	return aspect{
		id: "walking", name: "Walking",
		charted: func(r *chart.Row) (Value, bool) {
			return Value{string(r.Walk), walkWords(string(r.Walk))}, r.Walk != ""
		},
		written: func(s *lexicon.Statement) []Value {
			if s.Concept != "move.walk" {
				return nil
			}
			key := walked
			switch {
			case slices.ContainsFunc(s.Aids, load.IsWalkingAid):
				key = withAid
			case s.HasAid(none):
				key = noAid
			}
			if n, counted := s.Staff.Get(); counted && n == 0 || s.Assist == "independent" {
				key += byItself
			}
			return []Value{{key, walkedWords(key)}}
		},
		fit: func(r *chart.Row, written string) Fit {
			how, isAlone := strings.CutSuffix(written, byItself)
			switch {
			case r.Walk == chart.WalkNo,
				r.Walk == chart.WalkSupervised && isAlone,
				r.Walk == chart.WalkWithAid && how == noAid:
				return Differs
			case r.Walk == chart.WalkWithAid && how == walked:
				return Unclear
			}
			return AsCharted
		},
		vaguer: func(value, than string) bool {
			return value == walked || value == walked+byItself && strings.HasSuffix(than, byItself)
		},
	}
}

// none is the aid of a move done without one.
const none = "none"

// walkingAid is the aid that is held on to in walking, standing and transfers.
func (b *builder) walkingAid() aspect {
	return aspect{
		id: "walking-aid", name: "Walking aid",
		charted: func(r *chart.Row) (Value, bool) {
			held := slices.DeleteFunc(slices.Clone(r.Aids), func(id string) bool { return !load.IsWalkingAid(id) })
			if len(held) == 0 {
				return Value{}, false
			}
			slices.Sort(held)
			words := make([]string, len(held))
			for i, id := range held {
				words[i] = b.label("aid." + id)
			}
			return Value{strings.Join(held, ";"), strings.Join(words, ", ")}, true
		},
		written: func(s *lexicon.Statement) []Value {
			if s.Group() != "move" || s.Concept == "move.refused" {
				return nil
			}
			var values []Value
			for _, id := range s.Aids {
				if load.IsWalkingAid(id) || id == none && s.Concept == "move.walk" {
					values = append(values, Value{id, b.label("aid." + id)})
				}
			}
			return values
		},
		fit: func(r *chart.Row, written string) Fit {
			fit := Differs
			for _, id := range r.Aids {
				switch {
				case id == written, vaguerAid(id, written):
					return AsCharted
				case vaguerAid(written, id):
					fit = Unclear
				}
			}
			return fit
		},
		vaguer: vaguerAid,
	}
}

// vaguerAid reports whether the aid is the unsaid kind of which the other is one.
func vaguerAid(id, than string) bool { return trade.Aid(id).Covers(trade.Aid(than)) }

// otherAids are the aids that are not walked with, a lane each, since one does not take the place of
// another: belt, disc, wheelchair. Lifts and boards are ways of transfer.
func (b *builder) otherAids() []aspect {
	ids := map[string]bool{}
	for _, r := range b.rows {
		for _, id := range r.Aids {
			ids[id] = true
		}
	}
	for _, e := range b.entries {
		for i := range e.Reading.Statements {
			if s := &e.Reading.Statements[i]; draws(s) && s.Group() == "move" {
				for _, id := range s.Aids {
					ids[id] = true
				}
			}
		}
	}
	var all []aspect
	for _, id := range slices.Sorted(maps.Keys(ids)) {
		switch {
		case load.IsWalkingAid(id), id == none, trade.IsLift(id), id == board, id == "sling":
			continue
		}
		used := Value{"used", "used"}
		all = append(all, aspect{
			id: "aid." + id, name: report.Capital(b.label("aid." + id)),
			charted: func(r *chart.Row) (Value, bool) {
				return Value{"charted", "to be used"}, slices.Contains(r.Aids, id)
			},
			written: func(s *lexicon.Statement) []Value {
				if s.Group() == "move" && s.Concept != "move.refused" && s.HasAid(id) {
					return []Value{used}
				}
				return nil
			},
			fit: func(*chart.Row, string) Fit { return AsCharted },
		})
	}
	return all
}
