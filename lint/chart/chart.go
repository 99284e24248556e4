// Package chart is the charted mobility status of residents and the row in force at a moment.
package chart

import "time"

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
