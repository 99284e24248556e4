// Package learn learns the weights of package judge from annotated notes: a conditional logistic regression. In each note the
// clauses, and the answer that none of them tells what is asked, compete for one. It is held back from leaning on what
// few clauses show (L2, and traits that are too rare are left out).
package learn

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"

	"example.com/stance/lexicon/internal/judge"
)

// An Example is a note: its clauses, of which any may tell what is asked, or none.
type Example struct {
	Clauses []Clause
}

// A Clause is known by its traits.
type Clause struct {
	Traits []string
	Yes    bool // it tells what is asked
}

// Settings say how to learn.
type Settings struct {
	Rare    int     // traits of fewer clauses are left out
	Penalty float64 // of large weights
	Rounds  int
}

// Model learns from the examples. The same examples in the same order give the same model.
func Model(examples []Example, s Settings) judge.Model {
	names, notes := index(examples, s.Rare)
	w := make([]float64, len(names))
	// Each weight has a step of its own, which shrinks as it is moved (AdaGrad): few traits are common and most rare.
	moved := make([]float64, len(names))
	slope := make([]float64, len(names))
	for range s.Rounds {
		for k := range slope {
			slope[k] = s.Penalty * w[k]
		}
		slope[0] = 0 // what every clause has is not held back
		for i := range notes {
			addSlope(slope, w, notes[i], examples[i].Clauses)
		}
		for k := range w {
			moved[k] += slope[k] * slope[k]
			if moved[k] > 0 {
				w[k] -= 0.5 * slope[k] / math.Sqrt(moved[k])
			}
		}
	}
	m := judge.Model{}
	for k, name := range names {
		if v := int(math.Round(100 * w[k])); v != 0 {
			m[name] = v
		}
	}
	return m
}

// addSlope adds to the slope of each weight what one note says of it: how much likelier its clauses are held to be than
// they are, known which of them answer.
func addSlope(slope, w []float64, rows [][]int, clauses []Clause) {
	odds := make([]float64, len(rows))
	all, right := 1.0, 0.0 // 1 for "none of them"
	for c, row := range rows {
		z := 0.0
		for _, k := range row {
			z += w[k]
		}
		odds[c] = math.Exp(min(z, 30))
		all += odds[c]
		if clauses[c].Yes {
			right += odds[c]
		}
	}
	for c, row := range rows {
		miss := odds[c] / all
		if clauses[c].Yes {
			miss -= odds[c] / right
		}
		for _, k := range row {
			slope[k] += miss
		}
	}
}

// index numbers the traits that are not rare, the one that all have first, and gives those of each clause.
func index(examples []Example, rare int) (names []string, notes [][][]int) {
	seen := map[string]int{}
	for _, e := range examples {
		for _, c := range e.Clauses {
			for _, t := range c.Traits {
				seen[t]++
			}
		}
	}
	for t, n := range seen {
		if n >= rare {
			names = append(names, t)
		}
	}
	slices.Sort(names)
	names = append([]string{judge.Always}, names...)
	at := make(map[string]int, len(names))
	for k, t := range names {
		at[t] = k
	}
	for _, e := range examples {
		rows := make([][]int, len(e.Clauses))
		for i, c := range e.Clauses {
			rows[i] = []int{0}
			for _, t := range c.Traits {
				if k, ok := at[t]; ok {
					rows[i] = append(rows[i], k)
				}
			}
		}
		notes = append(notes, rows)
	}
	return names, notes
}

// Text writes models as judge.Parse reads them, the heaviest traits of a decision first.
func Text(head string, all judge.Models) string {
	var b strings.Builder
	b.WriteString(head)
	decisions := make([]string, 0, len(all))
	for d := range all {
		decisions = append(decisions, d)
	}
	slices.Sort(decisions)
	for _, d := range decisions {
		traits := make([]string, 0, len(all[d]))
		for t := range all[d] {
			traits = append(traits, t)
		}
		slices.SortFunc(traits, func(a, b string) int { return cmp.Or(cmp.Compare(all[d][b], all[d][a]), cmp.Compare(a, b)) })
		for _, t := range traits {
			fmt.Fprintf(&b, "%s\t%s\t%d\n", d, t, all[d][t])
		}
	}
	return b.String()
}
