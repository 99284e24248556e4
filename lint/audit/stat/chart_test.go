package stat_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"gonum.org/v1/gonum/stat/distuv"

	"example.com/stance/lint/audit/stat"
)

// points makes one point of each count, numbered from 1, with n chances each.
func points(n int, events ...int) []stat.Point {
	var out []stat.Point
	for i, e := range events {
		out = append(out, stat.Point{Label: fmt.Sprint(i + 1), Events: e, N: n})
	}
	return out
}

// beyond lists the labels of points outside a limit.
func beyond(c stat.Chart) string {
	var out []string
	for _, p := range c.Points {
		for _, s := range p.Signals {
			if s.Rule == "beyond-limit" {
				out = append(out, p.Label)
			}
		}
	}
	return strings.Join(out, " ")
}

// NIST/SEMATECH, e-Handbook of Statistical Methods, section 6.3.3.2: chips out of place on thirty wafers
// of 50 chips each; the mean of the fractions is 0.2313, the limits are 0.0524 and 0.4102, and two
// wafers lie above (mean and numbers looked up; counts, limits and the two wafers from memory).
func TestPChartNIST(t *testing.T) {
	c := stat.PChart(points(50, 12, 15, 8, 10, 4, 7, 16, 9, 14, 10, 5, 6, 17, 12, 22, 8, 10, 5, 13, 11, 20, 18, 24, 15, 9, 12, 7, 13, 9, 6))
	if !near(c.Centre, 0.2313, 4) {
		t.Errorf("centre %.4f, want 0.2313", c.Centre)
	}
	for _, p := range c.Points {
		if !near(p.Low, 0.0524, 3) || !near(p.High, 0.4102, 3) || p.LowClipped || p.HighClipped || p.State != stat.Judged {
			t.Fatalf("point %s: %+v, want limits 0.0524 and 0.4102", p.Label, p)
		}
	}
	if got := beyond(c); got != "15 23" {
		t.Errorf("beyond a limit: %q, want 15 and 23", got)
	}
}

// NIST/SEMATECH, e-Handbook of Statistical Methods, section 6.3.3.1: defects on 25 wafers, 400 in all,
// so that the centre is 16 and the limits are 4 and 28; one wafer lies above (counts and limits from memory).
// A c chart is a u chart of one unit each.
func TestUChartNIST(t *testing.T) {
	c := stat.UChart(points(1, 16, 14, 28, 16, 12, 20, 10, 12, 10, 17, 19, 17, 14, 16, 15, 13, 14, 16, 11, 20, 11, 19, 16, 31, 13))
	if c.Centre != 16 {
		t.Errorf("centre %v, want 16", c.Centre)
	}
	for _, p := range c.Points {
		if p.Low != 4 || p.High != 28 {
			t.Fatalf("point %s: limits %v and %v, want 4 and 28", p.Label, p.Low, p.High)
		}
	}
	if got := beyond(c); got != "24" {
		t.Errorf("beyond a limit: %q, want 24", got)
	}
}

// Montgomery, Introduction to Statistical Quality Control, example of dyed cloth with 8 to 13 units in
// ten rolls: centre 1.42 (figures from memory). Halves of units are counted here, since chances are whole, so
// every figure is doubled to compare.
func TestUChartUnequal(t *testing.T) {
	halves := []int{20, 16, 26, 20, 19, 20, 24, 21, 24, 25}
	var in []stat.Point
	for i, e := range []int{14, 12, 20, 11, 7, 10, 21, 16, 19, 23} {
		in = append(in, stat.Point{Label: fmt.Sprint(i), Events: e, N: halves[i]})
	}
	c := stat.UChart(in)
	if !near(2*c.Centre, 1.42, 2) {
		t.Errorf("centre %.3f, want 1.42", 2*c.Centre)
	}
	for i, want := range map[int][2]float64{0: {0.29, 2.55}, 1: {0.16, 2.68}, 2: {0.43, 2.41}, 4: {0.26, 2.58}} {
		if p := c.Points[i]; math.Abs(2*p.Low-want[0]) > 0.01 || math.Abs(2*p.High-want[1]) > 0.01 {
			t.Errorf("roll %d: limits %.3f and %.3f, want %v", i+1, 2*p.Low, 2*p.High, want)
		}
	}
}

// Mohammed, Panesar, Laney and Wilson, Statistical process control charts for attribute data involving
// very large sample sizes: a review of problems and solutions, BMJ Quality & Safety 22 (2013) 362: emergency
// attendances seen within four hours in twenty weeks. The p-chart puts most weeks outside its limits;
// Laney's chart puts none outside, and its limits are those of a chart of individuals but for the size
// of the week.
func TestLaneyPMohammed(t *testing.T) {
	seen := []int{266501, 264225, 276532, 281461, 269071, 261215, 270409, 279778, 270483, 270320,
		267923, 271478, 255353, 256820, 261835, 259144, 255910, 260863, 264465, 260989}
	all := []int{280443, 276823, 291681, 296155, 282343, 275888, 283867, 295251, 284468, 282529,
		279618, 283932, 266629, 268091, 276803, 271578, 266005, 273520, 278574, 273772}
	var in []stat.Point
	for i := range seen {
		in = append(in, stat.Point{Label: fmt.Sprint(i + 1), Events: seen[i], N: all[i]})
	}
	plain, laney := stat.PChart(in), stat.LaneyP(in)
	if got := len(strings.Fields(beyond(plain))); got <= len(in)/2 {
		t.Errorf("p-chart: %d weeks beyond a limit, want most", got)
	}
	if got := beyond(laney); got != "" {
		t.Errorf("Laney's chart: weeks %s beyond a limit, want none", got)
	}
	var moving float64 // mean moving range of the plain proportions; 2.66 of it is the limit for individuals
	for i := 1; i < len(in); i++ {
		moving += math.Abs(laney.Points[i].Value-laney.Points[i-1].Value) / float64(len(in)-1)
	}
	for _, p := range laney.Points {
		if half, want := p.High-laney.Centre, 2.66*moving; math.Abs(half-want) > 0.06*want {
			t.Errorf("week %s: limit %.5f from the centre, want about %.5f as for individuals", p.Label, half, want)
		}
	}
	if d := stat.Dispersion(in); !d.Wide || d.SigmaZ != laney.SigmaZ {
		t.Errorf("Dispersion = %+v, want it wide with Laney's factor %v", d, laney.SigmaZ)
	}
	if got := stat.Proportions(in); got.Kind != stat.PPrime {
		t.Errorf("Proportions chose a %s-chart, want %s", got.Kind, stat.PPrime)
	}
}

// With nothing but chance the plain chart must be chosen about nineteen times in twenty.
func TestDispersionFalsePositives(t *testing.T) {
	const charts, weeks = 2000, 26
	b := distuv.Binomial{N: 400, P: 0.12, Src: rand.NewPCG(1, 2)}
	wide := 0
	for range charts {
		var in []stat.Point
		for range weeks {
			in = append(in, stat.Point{Events: int(b.Rand()), N: 400})
		}
		if stat.Dispersion(in).Wide {
			wide++
		}
	}
	if share := float64(wide) / charts; share < 0.035 || share > 0.075 {
		t.Errorf("chance alone was called too wide in %.3f of charts, want about 0.05", share)
	}
}

func TestProportionsStayPlain(t *testing.T) {
	// Less spread than chance must not narrow the limits, and few points must not widen them.
	for name, in := range map[string][]stat.Point{
		"even":       points(100, 20, 20, 20, 20, 20, 20, 20, 20, 20, 20, 20, 20, 20, 20),
		"few points": points(1000, 200, 500, 200, 500, 200, 500),
		"none":       nil,
	} {
		if c := stat.Proportions(in); c.Kind != stat.P || c.SigmaZ != 1 || c.Why == "" {
			t.Errorf("%s: %s-chart with factor %v, want the plain one with a reason", name, c.Kind, c.SigmaZ)
		}
	}
}

func TestCountsChoose(t *testing.T) {
	calm := points(1, 16, 14, 18, 16, 12, 20, 14, 12, 15, 17, 19, 17, 14, 16)
	wild := points(10, 900, 300, 800, 200, 900, 100, 700, 300, 900, 200, 800, 100, 900, 200)
	if got := stat.Counts(calm).Kind; got != stat.U {
		t.Errorf("Counts chose a %s-chart for chance alone, want u", got)
	}
	if got := stat.Counts(wild); got.Kind != stat.UPrime || got.SigmaZ <= 1 {
		t.Errorf("Counts chose a %s-chart with factor %v for wild points, want u′", got.Kind, got.SigmaZ)
	}
	if got := stat.LaneyU(points(1, 16)).SigmaZ; got != 1 {
		t.Errorf("LaneyU of one point has factor %v, want 1", got)
	}
}

func TestStates(t *testing.T) {
	c := stat.PChart([]stat.Point{
		{Label: "judged", Events: 20, N: 100},
		{Label: "few events", Events: 1, N: 4},
		{Label: "none"},
		{Label: "clipped", Events: 5, N: 25},
	})
	want := []stat.State{stat.Judged, stat.TooFew, stat.Empty, stat.Judged}
	for i, p := range c.Points {
		if p.State != want[i] {
			t.Errorf("%s: %q, want %q", p.Label, p.State, want[i])
		}
	}
	if p := c.Points[3]; !p.LowClipped || p.Low != 0 || p.HighClipped {
		t.Errorf("clipped: %+v, want the lower limit set to 0", p)
	}
	// What is rare among the chances without an event is as hard to tell.
	c = stat.PChart([]stat.Point{{Events: 97, N: 100}, {Events: 980, N: 1000}})
	if p := c.Points[0]; p.State != stat.TooFew || !p.HighClipped || p.High != 1 {
		t.Errorf("nearly all: %+v, want too few to tell and the upper limit set to 1", p)
	}
}

// Two of three and eight in a row look only at points that are judged, and at one side.
func TestRunRules(t *testing.T) {
	const n, mid = 10000, 5000 // half, so that sigma is 50 events
	for _, c := range []struct {
		name   string
		events []int
		want   string // rules by point
	}{
		{"nothing", []int{mid, mid + 90, mid - 90, mid}, ""},
		{"beyond, mirrored", []int{mid + 300, mid, mid, mid - 300}, "1:beyond-limit 4:beyond-limit"},
		{"two of three", []int{mid + 120, mid - 120, mid + 120, mid - 120}, "3:two-of-three 4:two-of-three"},
		{"two of three, sides differ", []int{mid + 120, mid, mid - 120}, ""},
	} {
		t.Run(c.name, func(t *testing.T) {
			got := rulesOf(stat.PChart(points(n, c.events...)))
			if got != c.want {
				t.Errorf("rules %q, want %q", got, c.want)
			}
		})
	}
	// Seven above and one below the centre, with points between that cannot be judged or are empty.
	run := points(n, mid+40, mid+40, mid+40, mid+40, mid-600, mid+40, mid+40, mid+40, mid+40, mid+40, mid+40, mid+40, mid+40)
	gaps := append(points(n, mid+40, mid+40, mid+40, mid+40, mid-640), stat.Point{Label: "empty"}, stat.Point{Label: "small", Events: 1, N: 3})
	gaps = append(gaps, points(n, mid+40, mid+40, mid+40, mid+40)...)
	gaps = append(gaps, stat.Point{Label: "small", Events: 0, N: 3})
	gaps = append(gaps, points(n, mid+40, mid+40, mid+40, mid+40)...)
	for name, in := range map[string][]stat.Point{"whole": run, "with gaps": gaps} {
		c := stat.PChart(in)
		last := c.Points[len(c.Points)-1]
		if got := rulesOf(c); !strings.HasSuffix(got, last.Label+":eight-in-a-row") || strings.Count(got, "eight") != 1 {
			t.Errorf("%s: rules %q, want eight in a row at the last point alone", name, got)
		}
	}
}

func rulesOf(c stat.Chart) string {
	var out []string
	for _, p := range c.Points {
		for _, s := range p.Signals {
			out = append(out, p.Label+":"+s.Rule)
		}
	}
	return strings.Join(out, " ")
}

// The doc of Rules promises one false alarm in 122 points. It is worked out here from the rules as they
// run: every history of seven points that has not signalled is a state, and the chance of having got
// so far without a signal is followed from point to point.
func TestRulesFalseAlarms(t *testing.T) {
	const n, sigma = 1_000_000, 500 // of half a million events
	zones := []struct {             // where a point may lie, in standard deviations
		at        float64
		low, high float64
	}{
		{-3.5, math.Inf(-1), -3}, {-2.5, -3, -2}, {-1, -2, 0}, {1, 0, 2}, {2.5, 2, 3}, {3.5, 3, math.Inf(1)},
	}
	chance := make([]float64, len(zones))
	for i, z := range zones {
		chance[i] = distuv.UnitNormal.CDF(z.high) - distuv.UnitNormal.CDF(z.low)
	}
	signals := func(history string) bool {
		// A huge pair of points, one above as much as the other is below, holds the centre at a half.
		var in []stat.Point
		sum := 0.0
		for _, z := range history {
			in = append(in, stat.Point{Events: n/2 + int(zones[z-'a'].at*sigma), N: n})
			sum += zones[z-'a'].at * sigma
		}
		in = append(in, stat.Point{Events: 1e12 - int(sum), N: 2e12})
		c := stat.PChart(in)
		return len(c.Points[len(history)-1].Signals) > 0
	}
	ids := map[string]int{"": 0}
	states := []string{""}
	next := [][]int{} // state → the state after each zone, -1 for a signal
	for at := 0; at < len(states); at++ {
		after := make([]int, len(zones))
		for i := range zones {
			history := states[at] + string(rune('a'+i))
			if signals(history) {
				after[i] = -1
				continue
			}
			to := history[max(0, len(history)-7):]
			if _, ok := ids[to]; !ok {
				ids[to] = len(states)
				states = append(states, to)
			}
			after[i] = ids[to]
		}
		next = append(next, after)
	}
	length, left, ratio := 0.0, 1.0, 0.0 // left is the chance of no signal so far
	now, then := make([]float64, len(states)), make([]float64, len(states))
	now[0] = 1
	for range 150 {
		length += left
		before := left
		left = 0
		clear(then)
		for state, p := range now {
			for i, to := range next[state] {
				if to >= 0 {
					then[to] += p * chance[i]
					left += p * chance[i]
				}
			}
		}
		now, then = then, now
		ratio = left / before
	}
	length += left / (1 - ratio) // by now every point takes the same share of what is left
	if math.Abs(length-122.05) > 0.05 {
		t.Errorf("average run length %.2f, want 122.05 (Champ and Woodall 1987, table 1, from memory)", length)
	}
}

func TestWords(t *testing.T) {
	for _, c := range []struct {
		name  string
		chart stat.Chart
		want  string
	}{
		{"empty", stat.PChart(nil), "There are no points."},
		{"none judged", stat.PChart(points(4, 1, 2)), "No point can be judged. Too few to tell at 2 points: fewer than 5 events or chances without one are expected there."},
		{"no signal", stat.UChart(points(1, 16, 14, 18)), "Of 3 points that can be judged none signals: they lie as they would if nothing had changed. " +
			"The limits are provisional: they rest on fewer than 20 points."},
		{"signal", stat.PChart(append(points(100, 20, 20, 20, 20, 20, 20, 20, 60), stat.Point{Label: "9"})),
			"Of 8 points that can be judged 1 signal. 8: Above the upper limit. A signal says that something changed, not what or why; " +
				"the other points lie as they would if nothing had changed. No rate at 1 point: nothing was there to count. " +
				"The limits are provisional: they rest on fewer than 20 points."},
	} {
		if got := c.chart.Words(); got != c.want {
			t.Errorf("%s:\n got %s\nwant %s", c.name, got, c.want)
		}
	}
}

func BenchmarkProportions(b *testing.B) {
	var in []stat.Point
	for i := range 520 { // ten years of weeks
		in = append(in, stat.Point{Label: fmt.Sprint(i), Events: 40 + i%17, N: 400})
	}
	for b.Loop() {
		stat.Proportions(in)
	}
}
