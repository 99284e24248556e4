package load

import (
	"testing"

	"example.com/stance/lint/chart"
)

func caps() Caps { return Caps{ToeTouch: 0.2, Partial: 0.5} }

func limb(s chart.Status, percent float64) chart.Bearing {
	return chart.Bearing{Status: s, Percent: percent}
}

// legs is the limits of a left and a right leg with free arms.
func legs(left, right float64) Limits {
	return Limits{LeftLeg: left, RightLeg: right, LeftArm: 1, RightArm: 1}
}

func TestCapOf(t *testing.T) {
	for _, tt := range []struct {
		name string
		b    chart.Bearing
		want float64
	}{
		// Foot not on the floor: rehabilitation references, Weight bearing; London (Ontario) hospital,
		// joint replacement, weight bearing definitions.
		{"none", limb(chart.None, 0), 0},
		// Touch-down 0 to 20 % of body weight: Hershko 2008, as cited by rehabilitation references. The
		// top of the band.
		{"toe-touch", limb(chart.ToeTouch, 0), 0.2},
		// 30 to 50 % in most literature. The top of the band.
		{"partial, no figure", limb(chart.Partial, 0), 0.5},
		// Often written with a figure of its own, which counts.
		{"partial with a figure", limb(chart.Partial, 25), 0.25},
		// No numeric cap: the same hospital's definitions.
		{"as tolerated", limb(chart.Tolerated, 0), 1},
		{"full", limb(chart.Full, 0), 1},
		{"empty cell", chart.Bearing{}, 1},
	} {
		if got := caps().Of(tt.b); got != tt.want {
			t.Errorf("%s: Of = %v, want %v", tt.name, got, tt.want)
		}
	}
}

func TestRelief(t *testing.T) {
	free := legs(1, 1)
	oneArm := Limits{LeftLeg: 1, RightLeg: 1, LeftArm: 0, RightArm: 1}
	noArm := Limits{LeftLeg: 1, RightLeg: 1}
	for _, tt := range []struct {
		name string
		l    Limits
		aids []string
		want float64
	}{
		{"no aid", free, nil, 0},
		// Patients seldom put more than 20 % of body weight on a cane, 25 % is the textbook ceiling: The
		// effect of cane use on hip contact force, Clin Orthop 1980;147:181. The ceiling.
		{"cane", free, []string{"cane"}, 0.25},
		// A wider base and no more: University of Washington, mobility-aid notes.
		{"quad cane", free, []string{"cane-quad"}, 0.25},
		// One axillary crutch up to 80 %, a pair 100 %: a family-practice notebook, crutches. Forearm
		// crutches 40 to 50 % each: Faruqui and Jaeblon, J Am Acad Orthop Surg 2010;18:41-50.
		{"axillary crutches", free, []string{"crutch-axillary"}, 1},
		{"forearm crutches", free, []string{"crutch-forearm"}, 1},
		// Hop-to gait on one leg is done with frames, so the 50 % of that review is no cap: common practice.
		{"standard walker", free, []string{"walker-standard"}, 1},
		// Sources disagree for two wheels; the benefit of the doubt is common practice.
		{"two-wheeled walker", free, []string{"walker-2w"}, 1},
		{"walker, kind unsaid", free, []string{"walker"}, 1},
		// Cuts the knee moment by 50 %: BioMedical Engineering OnLine 2006;5:2. Not for a leg that must be
		// kept off the floor: Am Fam Physician 2021;103(12):737-744.
		{"four-wheeled walker", free, []string{"walker-4w"}, 0.5},
		{"a belt takes nothing", free, []string{"belt", "wheelchair"}, 0},
		{"the best of several", free, []string{"belt", "cane", "walker-4w"}, 0.5},
		// A hand that may not bear weight cannot hold a grip; forearm supports go to the elbow: an
		// occupational-therapy reference.
		{"walker with one arm", oneArm, []string{"walker-2w"}, 0},
		{"crutches with one arm", oneArm, []string{"crutch"}, 0},
		{"platform walker with one arm", oneArm, []string{"walker-platform"}, 1},
		{"platform crutches with one arm", oneArm, []string{"crutch-platform"}, 1},
		{"cane in the other hand", oneArm, []string{"cane"}, 0.25},
		{"cane with no arm", noArm, []string{"cane"}, 0},
	} {
		if got := tt.l.Relief(tt.aids); got != tt.want {
			t.Errorf("%s: Relief(%v) = %v, want %v", tt.name, tt.aids, got, tt.want)
		}
	}
}

func TestMoves(t *testing.T) {
	walk := func(aids ...string) func(Limits) Breach {
		return func(l Limits) Breach { return Walk(l, aids) }
	}
	for _, tt := range []struct {
		name string
		move func(Limits) Breach
		l    Limits
		want Breach
	}{
		// Which aids let a leg bear nothing: axillary and forearm pair and standard frame yes, rollator,
		// cane and no aid no (derived from the figures above; common practice).
		{"axillary pair, one leg none", walk("crutch-axillary"), legs(0, 1), Breach{}},
		{"forearm pair, one leg none", walk("crutch-forearm"), legs(0, 1), Breach{}},
		{"standard frame, one leg none", walk("walker-standard"), legs(0, 1), Breach{}},
		{"rollator, one leg none", walk("walker-4w"), legs(0, 1), Breach{EachLeg, "left", 0.5, 0}},
		{"cane, one leg none", walk("cane"), legs(1, 0), Breach{EachLeg, "right", 0.75, 0}},
		{"no aid, one leg none", walk(), legs(1, 0), Breach{EachLeg, "right", 1, 0}},
		// "50 % weight bearing" needs two crutches or a standard walker, no cane and no less: London
		// (Ontario) hospital, weight bearing definitions.
		{"cane, one leg half", walk("cane"), legs(0.5, 1), Breach{EachLeg, "left", 0.75, 0.5}},
		{"no aid, one leg half", walk(), legs(0.5, 1), Breach{EachLeg, "left", 1, 0.5}},
		{"rollator, one leg half: exactly at the limit", walk("walker-4w"), legs(0.5, 1), Breach{}},
		{"cane, three quarters: exactly at the limit", walk("cane"), legs(0.75, 1), Breach{}},
		{"as tolerated", walk(), legs(1, 1), Breach{}},
		{"both legs half, no aid", walk(), legs(0.5, 0.5), Breach{EachLeg, "both", 1, 0.5}},
		// Both legs none: no walking whatever the aid, common practice after a federal algorithm (2010).
		{"both legs none, crutches", walk("crutch"), legs(0, 0), Breach{Together, "both", 0.5, 0}},
		{"quarter and toe-touch, walker", walk("walker"), legs(0.25, 0.2), Breach{Together, "both", 0.5, 0.45}},
		{"quarter each, walker: exactly at the limit", walk("walker"), legs(0.25, 0.25), Breach{}},

		// In quiet standing each leg carries about 50 %: an encyclopaedia entry on weight bearing.
		{"stand on the good leg", Stand, legs(0, 1), Breach{}},
		{"stand, half allowed", Stand, legs(0, 0.5), Breach{}},
		{"stand, less than half", Stand, legs(0.2, 0.4), Breach{OneLeg, "both", 0.5, 0.4}},
		// Sit-stand lifts ask some weight bearing: OSHA, Guidelines for Nursing Homes, OSHA 3182-3R (2009),
		// section III.
		{"sit-stand lift, toe-touch", SitStand, legs(0, 0.2), Breach{}},
		{"sit-stand lift, both none", SitStand, legs(0, 0), Breach{OneLeg, "both", 0.2, 0}},
		{"board", Board, Limits{RightArm: 0.2}, Breach{}},
		{"board, no arm", Board, legs(1, 1).withArms(0, 0), Breach{Kind: Arms, Side: "both"}},
	} {
		if got := tt.move(tt.l); !near(got, tt.want) {
			t.Errorf("%s: got %+v, want %+v", tt.name, got, tt.want)
		}
	}
}

func (l Limits) withArms(left, right float64) Limits {
	l.LeftArm, l.RightArm = left, right
	return l
}

func near(a, b Breach) bool {
	close := func(x, y float64) bool { return x-y < tolerance && y-x < tolerance }
	return a.Kind == b.Kind && a.Side == b.Side && close(a.Load, b.Load) && close(a.Limit, b.Limit)
}

// A home's own caps are used, and a chart row gives all four limbs.
func TestLimits(t *testing.T) {
	row := &chart.Row{
		LeftLeg: limb(chart.ToeTouch, 0), RightLeg: limb(chart.Partial, 0),
		LeftArm: limb(chart.None, 0), RightArm: limb(chart.Partial, 30),
	}
	got := Caps{ToeTouch: 0.1, Partial: 0.3}.Limits(row)
	if want := (Limits{LeftLeg: 0.1, RightLeg: 0.3, LeftArm: 0, RightArm: 0.3}); got != want {
		t.Errorf("Limits = %+v, want %+v", got, want)
	}
}
