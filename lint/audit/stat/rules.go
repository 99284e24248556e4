package stat

import (
	"fmt"
	"strings"

	"example.com/stance/lint/plural"
)

// A Signal is a run rule that a point of a chart completes.
type Signal struct {
	Rule  string // ID of one of Rules
	Words string // what was seen, as a sentence
}

// A RunRule is one of the rules that charts are read by.
type RunRule struct{ ID, Words, Source string }

// IDs of the run rules.
const (
	beyondLimit = "beyond-limit"
	twoOfThree  = "two-of-three"
	eightInARow = "eight-in-a-row"
)

// Rules are the run rules, in the order in which they are tried.
//
// Together they speak by chance once in 122 points where nothing has changed and points are normal
// and independent (the test of this package works it out); the same figure stands for this set in
// Champ and Woodall, Exact results for Shewhart control charts with supplementary runs rules,
// Technometrics 29 (1987) 393, table 1 (from memory). The fourth rule of the handbook, four of five
// beyond one sigma, and rules on trends are left out: each adds false alarms.
func Rules() []RunRule {
	const handbook = "Western Electric, Statistical Quality Control Handbook (1956), tests for unnatural patterns"
	return []RunRule{
		{beyondLimit, "one point beyond a limit", handbook + "; also Nelson, The Shewhart control chart: tests for special causes, " +
			"Journal of Quality Technology 16 (1984) 237, test 1"},
		{twoOfThree, "two of three points in a row beyond two thirds of the way to the same limit", handbook + "; Nelson (1984), test 5"},
		{eightInARow, "eight points in a row on the same side of the centre line", handbook + "; Nelson (1984), test 2, asks nine"},
	}
}

// judge adds the signals to a chart's points. Points that are not judged are passed over: they
// neither signal, nor count in a run, nor break one.
func judge(c *Chart) {
	var sides []int  // of the judged points so far: −1 below the centre, 1 above, 0 on it
	var warned []int // likewise, beyond two sigma
	for i := range c.Points {
		p := &c.Points[i]
		if p.State != Judged || p.Sigma == 0 {
			continue
		}
		from := p.Value - c.Centre
		side := sign(from, 0)
		sides = append(sides, side)
		warned = append(warned, sign(from, 2*p.Sigma))
		if s := sign(from, sigmas*p.Sigma); s != 0 {
			p.Signals = append(p.Signals, Signal{beyondLimit, sideWord(s, "Above the upper limit.", "Below the lower limit.")})
		}
		if s := warned[len(warned)-1]; s != 0 && count(last(warned, 3), s) >= 2 {
			p.Signals = append(p.Signals, Signal{twoOfThree, "Two of three points in a row lie far " +
				sideWord(s, "above", "below") + " the centre line."})
		}
		if side != 0 && count(last(sides, 8), side) == 8 {
			p.Signals = append(p.Signals, Signal{eightInARow, "Eight points in a row lie " +
				sideWord(side, "above", "below") + " the centre line."})
		}
	}
}

// Words tells in sentences which points signal, which do not, and which could not be judged.
func (c Chart) Words() string {
	states := make(map[State]int)
	var signals []string
	for _, p := range c.Points {
		states[p.State]++
		if len(p.Signals) > 0 {
			signals = append(signals, p.Label+": "+p.Said())
		}
	}
	if len(c.Points) == 0 {
		return "There are no points."
	}
	var out []string
	switch judged := states[Judged]; {
	case judged == 0:
		out = append(out, "No point can be judged.")
	case len(signals) == 0:
		out = append(out, fmt.Sprintf("Of %s that can be judged none signals: they lie as they would if nothing had changed.",
			plural.Of(judged, "point")))
	default:
		out = append(out,
			fmt.Sprintf("Of %s that can be judged %d signal. %s", plural.Of(judged, "point"), len(signals), strings.Join(signals, " ")),
			"A signal says that something changed, not what or why; the other points lie as they would if nothing had changed.")
	}
	if n := states[TooFew]; n > 0 {
		without := ""
		if c.Kind.binomial() {
			without = " or chances without one"
		}
		out = append(out, fmt.Sprintf("Too few to tell at %s: fewer than %d events%s are expected there.",
			plural.Of(n, "point"), FewestExpected, without))
	}
	if n := states[Empty]; n > 0 {
		out = append(out, fmt.Sprintf("No rate at %s: nothing was there to count.", plural.Of(n, "point")))
	}
	if n := states[Judged]; n > 0 && n < FewestPoints {
		out = append(out, fmt.Sprintf("The limits are provisional: they rest on fewer than %d points.", FewestPoints))
	}
	return strings.Join(out, " ")
}

// Said is what the point's signals say, one sentence after another; "" where there is none.
func (l Limit) Said() string {
	var words []string
	for _, s := range l.Signals {
		words = append(words, s.Words)
	}
	return strings.Join(words, " ")
}

// sideWord picks the word for a side, −1 or 1.
func sideWord(side int, above, below string) string {
	if side > 0 {
		return above
	}
	return below
}

// sign is the side on which x lies beyond bound, 0 where it does not.
func sign(x, bound float64) int {
	switch {
	case x > bound:
		return 1
	case x < -bound:
		return -1
	}
	return 0
}

func last(s []int, n int) []int { return s[max(0, len(s)-n):] }

func count(s []int, want int) int {
	n := 0
	for _, x := range s {
		if x == want {
			n++
		}
	}
	return n
}
