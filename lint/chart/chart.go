// Package chart is the charted mobility status of residents and the row in force at a moment.
//
// [Read] brings a chart in from CSV, [New] from rows in memory; [Chart.At] is the row that a note is
// judged by. The package says what is charted; what follows from it is for the rules.
package chart

import (
	"errors"
	"fmt"
	"maps"
	"slices"
	"strconv"
	"strings"
	"time"
)

// A Row is one charted status of one resident, in force from From until Until or, where Until is
// zero, until the resident's next row.
type Row struct {
	Resident string
	Unit     string
	From     time.Time
	Until    time.Time
	LeftLeg  Bearing
	RightLeg Bearing
	LeftArm  Bearing
	RightArm Bearing
	Transfer Transfer
	Staff    int      // helpers required; NoStaff where the cell is empty and the method or policy decides
	Aids     []string // concept ids without "aid.", as charted
	Walk     Walk
	By       string

	// Name and Room are for people to tell residents apart on a screen; empty where the chart has none. They are
	// never in a finding, an error, a log or an address.
	Name string
	Room string

	Line int // in the chart file, for errors
}

// NoStaff marks an empty staff cell.
const NoStaff = -1

// Bearing is what one limb may bear.
type Bearing struct {
	Status  Status
	Percent float64 // of body weight; only with Partial and only where charted, else 0
	Raw     string  // the cell as written; empty means not restricted
}

// Status is a class of weight bearing. The zero value is full.
type Status int

const (
	Full Status = iota
	Tolerated
	Partial
	ToeTouch
	None
)

// Transfer is a charted way to transfer: the chart's own words, such as "two-person-pivot".
type Transfer string

const (
	Independent    Transfer = "independent"
	Supervised     Transfer = "supervised"
	OnePerson      Transfer = "one-person"
	OnePersonPivot Transfer = "one-person-pivot"
	OnePersonSide  Transfer = "one-person-side"
	TwoPerson      Transfer = "two-person"
	TwoPersonPivot Transfer = "two-person-pivot"
	TwoPersonSide  Transfer = "two-person-side"
	Board          Transfer = "board"
	SitStandLift   Transfer = "sit-stand-lift"
	TotalLift      Transfer = "total-lift"
)

// Walk is the charted permission to walk.
type Walk string

const (
	WalkNo          Walk = "no"
	WalkWithAid     Walk = "with-aid"
	WalkSupervised  Walk = "supervised"
	WalkIndependent Walk = "independent"
)

// A Chart holds the rows of any number of residents. It does not change and is safe for concurrent
// use; a nil Chart has no rows.
type Chart struct {
	rows map[string][]*Row // by resident, in time order
}

// New is the chart of those rows, in any order. Two rows of one resident that are in force at one
// time are an error that names their lines: two with one From, or an Until after the next From.
func New(rows []Row) (*Chart, error) {
	c, clashes := build(rows)
	if len(clashes) > 0 {
		faults := make([]error, len(clashes))
		for i, cl := range clashes {
			faults[i] = fmt.Errorf("chart line %d: %s", cl.Line, cl.What)
		}
		return nil, errors.Join(faults...)
	}
	return c, nil
}

// A Fault is a row that cannot be read, or is in force at the same time as another of its resident.
type Fault struct {
	Line int    // on which the row starts
	What string // is wrong
}

// Clashing is the chart of rows that may clash, in the order in which they stand in their file, as [Read] has it: of two
// rows in force at one time the later one counts, and is told.
func Clashing(rows []Row) (*Chart, []Fault) { return build(rows) }

// build sorts rows by resident and time. Rows that clash stay in the chart: the one that starts
// later or, of two with one start, stands lower in the file is the one in force.
func build(rows []Row) (*Chart, []Fault) {
	c := &Chart{rows: make(map[string][]*Row)}
	var residents []string // in the order of their first row, for errors in a stable order
	for i := range rows {
		r := rows[i]
		if _, ok := c.rows[r.Resident]; !ok {
			residents = append(residents, r.Resident)
		}
		c.rows[r.Resident] = append(c.rows[r.Resident], &r)
	}
	var clashes []Fault
	for _, id := range residents {
		rows := c.rows[id]
		slices.SortStableFunc(rows, func(a, b *Row) int { return a.From.Compare(b.From) })
		for i, r := range rows[1:] {
			prev := rows[i]
			switch {
			case prev.From.Equal(r.From):
				clashes = append(clashes, Fault{r.Line, fmt.Sprintf(
					"resident %q has two rows from %s, here and on line %d: want one", id, form(r.From), prev.Line)})
			case prev.Until.After(r.From):
				clashes = append(clashes, Fault{r.Line, fmt.Sprintf(
					"resident %q has a row from %s while line %d is in force until %s: want an until there of at most this from",
					id, form(r.From), prev.Line, form(prev.Until))})
			}
		}
	}
	return c, clashes
}

// At is the row in force for the resident at t: from its From, up to but without its Until or,
// where that is zero, the From of the next row.
func (c *Chart) At(resident string, t time.Time) (*Row, bool) {
	rows := c.Rows(resident)
	after, _ := slices.BinarySearchFunc(rows, t, func(r *Row, t time.Time) int {
		if r.From.After(t) {
			return 1
		}
		return -1
	})
	if after == 0 {
		return nil, false
	}
	r := rows[after-1]
	if !r.Until.IsZero() && !t.Before(r.Until) {
		return nil, false
	}
	return r, true
}

// Rows are the resident's rows in time order. The caller must not change them.
func (c *Chart) Rows(resident string) []*Row {
	if c == nil {
		return nil
	}
	return c.rows[resident]
}

// Residents are those who have rows, in order of their ids.
func (c *Chart) Residents() []string {
	if c == nil {
		return nil
	}
	return slices.Sorted(maps.Keys(c.rows))
}

// Helpers is the number of helpers that the row requires: the staff cell or, where that is empty,
// what the method asks, which for a lift is liftHelpers.
func (r *Row) Helpers(liftHelpers int) int {
	if r.Staff != NoStaff {
		return r.Staff
	}
	switch r.Transfer {
	case OnePerson, OnePersonPivot, OnePersonSide, Board:
		return 1
	case TwoPerson, TwoPersonPivot, TwoPersonSide:
		return 2
	case SitStandLift, TotalLift:
		return liftHelpers
	}
	return 0
}

// Cell is the value of the column of that name in the form that the chart's CSV has it, for
// evidence; empty for an empty cell and for a column that a chart does not have.
func (r *Row) Cell(field string) string {
	switch field {
	case "resident":
		return r.Resident
	case "unit":
		return r.Unit
	case "from":
		return form(r.From)
	case "until":
		return form(r.Until)
	case "left_leg":
		return r.LeftLeg.String()
	case "right_leg":
		return r.RightLeg.String()
	case "left_arm":
		return r.LeftArm.String()
	case "right_arm":
		return r.RightArm.String()
	case "transfer":
		return string(r.Transfer)
	case "staff":
		if r.Staff == NoStaff {
			return ""
		}
		return strconv.Itoa(r.Staff)
	case "aids":
		return strings.Join(r.Aids, ";")
	case "walk":
		return string(r.Walk)
	case "by":
		return r.By
	}
	return ""
}

// String is the cell as written or, for a Bearing made by hand, as the chart's CSV would have it.
func (b Bearing) String() string {
	if b.Raw != "" {
		return b.Raw
	}
	switch b.Status {
	case Tolerated:
		return "wbat"
	case Partial:
		if b.Percent > 0 {
			return "pwb:" + strconv.FormatFloat(b.Percent, 'f', -1, 64)
		}
		return "pwb"
	case ToeTouch:
		return "ttwb"
	case None:
		return "nwb"
	}
	return ""
}

// form is the CSV form of a time; empty for the zero time.
func form(t time.Time) string {
	if t.IsZero() {
		return ""
	}
	return t.Format(time.RFC3339)
}
