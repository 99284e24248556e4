package rules

import (
	"fmt"
	"slices"

	"example.com/stance/lexicon"
	"example.com/stance/lint/finding"
)

func vagueHelp() Rule {
	return Rule{ID: "vague-help", Severity: finding.Hint, check: checkVagueHelp}
}

func checkVagueHelp(p *pass) {
	for _, s := range done(p.entry, func(s *lexicon.Statement) bool { return !s.Detail.Vague.IsZero() && !tellsHelp(s) }) {
		reportVague(p, s, s.Detail.Vague)
	}
	for _, r := range remarks(p.entry, lexicon.Vague) {
		told := slices.ContainsFunc(p.entry.Reading.Statements, func(s lexicon.Statement) bool {
			return s.Detail.Clause == r.Clause && (tellsHelp(&s) || s.Detail.Vague == r.Span || !s.Done())
		})
		if !told {
			reportVague(p, nil, r.Span)
		}
	}
}

func reportVague(p *pass, s *lexicon.Statement, at lexicon.Span) {
	p.report(report{
		about:   s,
		span:    at,
		message: fmt.Sprintf("%q does not tell how much help was given", p.entry.Words(at)),
		advice:  "Write the number of helpers and what they did: standing by, a hand on the belt, taking part of the weight.",
	})
}

// tellsHelp reports whether a statement gives a number of helpers or an assist level.
func tellsHelp(s *lexicon.Statement) bool {
	_, ok := s.Staff.Get()
	return ok || s.Assist != ""
}
