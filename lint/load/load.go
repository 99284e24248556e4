// Package load is the load model: how much of the body weight a move puts on each leg, what an aid
// can take off it, and whether the charted status allows that.
//
// All figures are shares of body weight, 0 to 1. [Caps.Limits] turns a chart row into what each limb
// may take; [Walk], [Stand], [SitStand] and [Board] hold one move against it. The model says nothing
// of who helps: helpers steady a person, they do not take a charted limit away.
package load

import "example.com/stance/lint/chart"

// Caps are the loads that the two statuses without a figure of their own stand for. Both are
// settings of the home, because the literature gives bands: touch-down 0 to 20 %, partial 30 to 50 %.
type Caps struct {
	ToeTouch float64 // ttwb
	Partial  float64 // pwb with no percentage
}

// Of is the most that a limb of that status may take.
func (c Caps) Of(b chart.Bearing) float64 {
	switch b.Status {
	case chart.None:
		return 0
	case chart.ToeTouch:
		return c.ToeTouch
	case chart.Partial:
		if b.Percent > 0 {
			return b.Percent / 100
		}
		return c.Partial
	}
	return 1
}

// Limits is what each limb may take.
type Limits struct {
	LeftLeg, RightLeg float64
	LeftArm, RightArm float64
}

// Limits are those of a chart row.
func (c Caps) Limits(r *chart.Row) Limits {
	return Limits{
		LeftLeg: c.Of(r.LeftLeg), RightLeg: c.Of(r.RightLeg),
		LeftArm: c.Of(r.LeftArm), RightArm: c.Of(r.RightArm),
	}
}

// better is the cap of the leg that may take more.
func (l Limits) better() float64 { return max(l.LeftLeg, l.RightLeg) }

// hold is how an aid is held, which decides what an arm that may take no weight does to it.
type hold int

const (
	noHand   hold = iota // takes no hand, or gives no support in walking
	oneHand              // in the hand of either side
	twoHands             // needs both hands
	forearms             // rests on the forearms
)

// aid is what a walking aid can do.
func aid(id string) (relief float64, h hold) {
	switch id {
	case "cane", "cane-quad":
		return 0.25, oneHand
	case "walker-4w":
		return 0.5, twoHands
	case "walker", "walker-standard", "walker-2w": // kind unsaid: benefit of the doubt
		return 1, twoHands
	case "crutch", "crutch-axillary", "crutch-forearm":
		return 1, twoHands
	case "walker-platform", "crutch-platform":
		return 1, forearms
	}
	return 0, noHand
}

// IsWalkingAid reports whether the aid is one that is walked with: a cane, crutch or walker.
func IsWalkingAid(id string) bool {
	_, h := aid(id)
	return h != noHand
}

// Relief is the most that the best of the aids can take off the stance leg of a person whose arms
// have those limits. A cane is taken to be in the hand that may bear weight, since notes do not say.
func (l Limits) Relief(aids []string) float64 {
	best := 0.0
	for _, id := range aids {
		r, h := aid(id)
		switch {
		case h == oneHand && l.LeftArm == 0 && l.RightArm == 0:
			r = 0
		case h == twoHands && (l.LeftArm == 0 || l.RightArm == 0):
			r = 0
		}
		best = max(best, r)
	}
	return best
}

// A Breach says how a move exceeds what the chart allows. The zero value is none.
type Breach struct {
	Kind  Kind
	Side  string  // of the leg or arm with the lower cap: left, right, or both where they are equal
	Load  float64 // what the move leaves on one leg, or on both together with Kind Together
	Limit float64 // what the chart allows there
}

// Kind is the limit that was broken.
type Kind int

const (
	Within   Kind = iota // no limit broken
	EachLeg              // each leg in turn carries more than one of them may
	Together             // the two legs together may take too little to stand between steps
	OneLeg               // neither leg may take enough to stand on
	Arms                 // no arm may take weight
)

// Over reports whether a limit was broken.
func (b Breach) Over() bool { return b.Kind != Within }

const (
	standing  = 0.5 // of body weight on each leg with both feet down
	raised    = 0.2 // on the legs in a sit-stand lift
	tolerance = 1e-9
)

// Walk holds a walk or stairs against the limits. Each leg in turn carries the whole body less what
// the aids take; and the legs together must be able to carry half of it.
func Walk(l Limits, aids []string) Breach {
	left := 1 - l.Relief(aids)
	worst, side := lower(l.LeftLeg, l.RightLeg)
	if worst < left-tolerance {
		return Breach{Kind: EachLeg, Side: side, Load: left, Limit: worst}
	}
	if sum := l.LeftLeg + l.RightLeg; sum < standing-tolerance {
		return Breach{Kind: Together, Side: "both", Load: standing, Limit: sum}
	}
	return Breach{}
}

// Stand holds standing, and a pivot or side-by-side transfer, against the limits: the better leg
// must be allowed half of the body weight, the other being off the floor.
func Stand(l Limits) Breach { return oneLeg(l, standing) }

// SitStand holds a transfer in a sit-stand lift against the limits.
func SitStand(l Limits) Breach { return oneLeg(l, raised) }

func oneLeg(l Limits, need float64) Breach {
	if l.better() < need-tolerance {
		return Breach{Kind: OneLeg, Side: "both", Load: need, Limit: l.better()}
	}
	return Breach{}
}

// Board holds a transfer on a board against the limits: one arm at least must be allowed to push.
func Board(l Limits) Breach {
	if l.LeftArm <= 0 && l.RightArm <= 0 {
		return Breach{Kind: Arms, Side: "both"}
	}
	return Breach{}
}

func lower(left, right float64) (float64, string) {
	switch {
	case left < right:
		return left, "left"
	case right < left:
		return right, "right"
	}
	return left, "both"
}
