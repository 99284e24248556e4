package rules

import (
	"fmt"
	"slices"

	"example.com/stance/lexicon"
	"example.com/stance/lint/finding"
	"example.com/stance/lint/timeline"
)

func vagueHelp() Rule {
	return Rule{ID: "vague-help", Severity: finding.Hint, Waits: true, check: checkVagueHelp,
		Per: "statements of help, plain or vague", applies: helpStatements}
}

func helpStatements(p *pass) int {
	return len(vagueRemarks(p.entry)) + len(done(p.entry, func(s *lexicon.Statement) bool {
		return tellsHelp(s) || !s.Detail.Vague.IsZero()
	}))
}

func checkVagueHelp(p *pass) {
	for _, s := range done(p.entry, func(s *lexicon.Statement) bool { return !s.Detail.Vague.IsZero() && !tellsHelp(s) }) {
		reportVague(p, s, s.Detail.Vague)
	}
	for _, r := range vagueRemarks(p.entry) {
		reportVague(p, nil, r.Span)
	}
}

// vagueRemarks are the vague words of help that belong to no statement and that no statement of their
// clause makes plain.
func vagueRemarks(e *timeline.Entry) []lexicon.Remark {
	return slices.DeleteFunc(remarks(e, lexicon.Vague), func(r lexicon.Remark) bool {
		return slices.ContainsFunc(e.Reading.Statements, func(s lexicon.Statement) bool {
			return s.Detail.Clause == r.Clause && (tellsHelp(&s) || s.Detail.Vague == r.Span || !s.Done())
		})
	})
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
