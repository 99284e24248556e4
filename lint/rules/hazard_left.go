package rules

import (
	"fmt"

	"example.com/stance/lexicon"
	"example.com/stance/lint/finding"
)

func hazardLeft() Rule {
	return Rule{ID: "hazard-left", Severity: finding.Warning, Waits: true, check: checkHazardLeft,
		Per: "hazards on the floor, on the feet or in the light", applies: hazards}
}

func hazards(p *pass) int { return len(hazardsHere(p)) }

// hazardsHere are the hazards of the note.
func hazardsHere(p *pass) []*lexicon.Statement {
	var out []*lexicon.Statement
	for i := range p.entry.Reading.Statements {
		if s := &p.entry.Reading.Statements[i]; IsHazard(s) {
			out = append(out, s)
		}
	}
	return out
}

// IsHazard reports whether a statement tells of a hazard here and now: the resident's, or nobody's in particular.
func IsHazard(s *lexicon.Statement) bool {
	return s.Group() == "hazard" && isSo(s, lexicon.Affirmed) && (s.Who == lexicon.Resident || s.Detail.Nobody)
}

func checkHazardLeft(p *pass) {
	if len(done(p.entry, inGroup("told"))) > 0 || len(remarks(p.entry, lexicon.Repair)) > 0 {
		return
	}
	for _, s := range hazardsHere(p) {
		if s.Fixed {
			continue
		}
		p.report(report{
			about:   s,
			message: fmt.Sprintf("%s, and no word that it was put right or that anybody was told", HazardWords(s.Concept)),
			advice:  "Put it right now, or keep people away from it and tell somebody who can; add what was done and whom you told.",
		})
	}
}

// HazardWords names a hazard by its concept.
func HazardWords(concept string) string {
	switch concept {
	case "hazard.floor":
		return "a wet, slippery or uneven floor"
	case "hazard.clutter":
		return "things in the way"
	case "hazard.mat":
		return "a loose rug or mat"
	case "hazard.footwear":
		return "unsafe footwear"
	case "hazard.light":
		return "too little light"
	}
	return "a hazard"
}
