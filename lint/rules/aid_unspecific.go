package rules

import (
	"fmt"
	"slices"
	"strings"

	"example.com/stance/lexicon"
	"example.com/stance/lint/finding"
	"example.com/stance/lint/timeline"
	"example.com/stance/lint/trade"
)

func aidUnspecific() Rule {
	return Rule{ID: "aid-unspecific", Severity: finding.Hint, Waits: true, check: checkAidUnspecific,
		Per: "moves that name a walker or crutches, where the chart tells the kind", applies: kindsNamed}
}

func kindsNamed(p *pass) int {
	if p.entry.Row == nil {
		return 0
	}
	n := 0
	for _, general := range generalAids() {
		if len(chartedKinds(p.entry.Row.Aids, general)) == 0 {
			continue
		}
		n += len(done(p.entry, func(s *lexicon.Statement) bool {
			return namesAid(s) && slices.ContainsFunc(s.Aids, func(a string) bool { return a == general || trade.Aid(general).Covers(trade.Aid(a)) })
		}))
	}
	return n
}

// generalAids are the aids of which there are kinds.
func generalAids() []string { return []string{"walker", "crutch"} }

func checkAidUnspecific(p *pass) {
	row := p.entry.Row
	if row == nil {
		return
	}
	for _, s := range done(p.entry, namesAid) {
		for _, general := range generalAids() {
			kinds := chartedKinds(row.Aids, general)
			if !s.HasAid(general) || len(kinds) == 0 || p.entry.Any(func(o *lexicon.Statement) bool { return o.Done() && slices.ContainsFunc(kinds, o.HasAid) }) {
				continue // the note says elsewhere which it was
			}
			span := aidSpan(p.entry, s, general)
			r := report{
				about:    s,
				span:     span,
				message:  fmt.Sprintf("%s: %s; this note: %s, and not which kind", p.since(row), anyAid(kinds), moveWords(s)),
				advice:   "Write the kind of aid: they hold very different loads.",
				evidence: []finding.Evidence{cell(row, "aids")},
			}
			if len(kinds) == 1 && !span.IsZero() {
				r.rewrite = &finding.Rewrite{Start: span.Start, End: span.End,
					Text: inCaseOf(p.entry.Words(span), trade.Aid(kinds[0]).Name())}
			}
			p.report(r)
		}
	}
}

// chartedKinds are the charted aids that are a kind of the general one. Where the chart itself has
// the general one, no kind is asked for.
func chartedKinds(aids []string, general string) []string {
	var kinds []string
	for _, a := range aids {
		if a == general {
			return nil
		}
		if trade.Aid(general).Covers(trade.Aid(a)) {
			kinds = append(kinds, a)
		}
	}
	return kinds
}

// aidSpan is the words that name an aid in a move; zero where that is not known.
func aidSpan(e *timeline.Entry, s *lexicon.Statement, id string) lexicon.Span {
	for _, m := range s.Detail.Terms {
		word := strings.ToLower(e.Words(m.Span))
		if m.Field == "aids" && (strings.Contains(word, id) || id == "walker" && strings.Contains(word, "frame")) {
			return m.Span
		}
	}
	return lexicon.Span{}
}

// namesAid accepts the moves, and what is said of how an aid fits: an aid that only stands somewhere needs no kind.
func namesAid(s *lexicon.Statement) bool { return s.Group() == "move" || s.Concept == "aid.fit" }
