// Package judge weighs what is known of a clause where the grammar alone leaves its meaning open.
//
// For each decision it holds a weight for every trait that a clause can have, such as "s=pronoun" for its subject. The
// sum of the weights of a clause's traits is the logarithm of the odds that it tells what the decision asks about, in
// hundredths. All is done in whole numbers, so that every machine judges alike. The weights are learnt from annotated
// notes by package learn, and lie in weights.tsv to be read.
package judge

import (
	_ "embed"
	"fmt"
	"strconv"
	"strings"
)

//go:embed weights.tsv
var weights string

// Always is the trait that every clause has.
const Always = "always"

// A Model holds the weights of one decision, by trait.
type Model map[string]int

// Models are the models by decision.
type Models map[string]Model

// Default gives the models that come with the program.
func Default() (Models, error) { return Parse(weights) }

// Parse reads models from lines of decision, trait and weight with tabs between; those that begin with # are skipped.
func Parse(text string) (Models, error) {
	all := Models{}
	n := 0
	for line := range strings.Lines(text) {
		n++
		line = strings.TrimRight(line, "\n")
		if line == "" || line[0] == '#' {
			continue
		}
		decision, rest, _ := strings.Cut(line, "\t")
		trait, figure, _ := strings.Cut(rest, "\t")
		weight, err := strconv.Atoi(figure)
		if err != nil || trait == "" {
			return nil, fmt.Errorf("weights of the judge, line %d: want a decision, a trait and a whole number with tabs between", n)
		}
		m := all[decision]
		if m == nil {
			m = Model{}
			all[decision] = m
		}
		m[trait] = weight
	}
	return all, nil
}

// Score is the logarithm of the odds, in hundredths, that a clause with the traits tells what is asked.
func (m Model) Score(traits []string) int {
	sum := m[Always]
	for _, t := range traits {
		sum += m[t]
	}
	return sum
}
