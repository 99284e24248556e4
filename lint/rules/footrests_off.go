package rules

import (
	"slices"

	"example.com/stance/lexicon"
	"example.com/stance/lint/finding"
)

func footrestsOff() Rule {
	return Rule{ID: "footrests-off", Severity: finding.Warning, check: checkFootrestsOff,
		Per: "notes that tell of footrests", applies: footrestsTold}
}

func footrestsTold(p *pass) int {
	if len(footrests(p, lexicon.Affirmed))+len(footrests(p, lexicon.Negated)) == 0 {
		return 0
	}
	return 1
}

// footrests are the statements of the note on what the feet rest on.
func footrests(p *pass, polarity lexicon.Polarity) []*lexicon.Statement {
	var out []*lexicon.Statement
	for i := range p.entry.Reading.Statements {
		if s := &p.entry.Reading.Statements[i]; s.Concept == "wheel.footrests" && isSo(s, polarity) && s.Who == lexicon.Resident {
			out = append(out, s)
		}
	}
	return out
}

func checkFootrestsOff(p *pass) {
	off := footrests(p, lexicon.Negated)
	if len(off) == 0 {
		return
	}
	caught := slices.ContainsFunc(off, func(s *lexicon.Statement) bool { return s.Detail.Caught })
	moved := done(p.entry, of("move.wheel"))
	pushed := slices.ContainsFunc(moved, func(s *lexicon.Statement) bool {
		n, ok := s.Staff.Get()
		return !ok || n > 0
	})
	if !caught && !pushed {
		return
	}
	p.report(report{
		about:   off[0], // once for the note: a rest that is off and a foot that drags are one thing
		message: "the wheelchair was pushed, or a foot was caught, with the feet not on the rests",
		advice:  "Stop, fit the rests, put both feet on them before going on, and look at the feet for injury.",
	})
}
