package rules

import (
	"fmt"
	"slices"
	"strings"

	"example.com/stance/lexicon"
	"example.com/stance/lint/finding"
)

func risingPressedOn() Rule {
	return Rule{ID: "rising-pressed-on", Severity: finding.Warning, check: checkRisingPressedOn,
		Per: "notes with a sign that may come of rising, and a move told after it", applies: movedAfterSign}
}

func movedAfterSign(p *pass) int {
	if sign := risingSign(p.entry); sign != nil && len(movesOnwards(p, sign)) > 0 {
		return 1
	}
	return 0
}

func checkRisingPressedOn(p *pass) {
	for _, sign := range done(p.entry, isRisingSign) {
		for _, m := range movesOnwards(p, sign) {
			if p.heeded(sign, m) {
				continue
			}
			p.report(report{
				about:    m,
				unsure:   sign.Certainty == lexicon.Possible,
				message:  fmt.Sprintf("%s, and then %s, with no word of a rest, a reading, or that it had passed", signWords(sign), moveWords(m)),
				advice:   "Sit or lay the resident down when a sign comes, wait until it has passed, and have the blood pressure taken before going on; write what was done.",
				evidence: []finding.Evidence{place(p.entry, sign)},
			})
			return // once for the note: what comes after went on from there
		}
	}
}

// movesOnwards are the moves told after the sign, apart from the one in which it came and those back down.
func movesOnwards(p *pass, sign *lexicon.Statement) []*lexicon.Statement {
	return done(p.entry, func(m *lexicon.Statement) bool {
		if m.Span.Start <= sign.Span.Start || m.Span.Overlaps(sign.Span) || goesDown(m) {
			return false
		}
		if between := p.entry.Words(lexicon.Span{Start: sign.Span.End, End: m.Span.Start}); cameWith(between) {
			return false
		}
		switch m.Concept {
		case "move.stand", "move.walk", "move.transfer", "move.stairs":
			return true
		}
		return false
	})
}

// cameWith reports whether the words between a sign and a move say that the sign came with the move: "dizzy while
// walking to the toilet", "saw stars when she stood up".
func cameWith(between string) bool {
	words := strings.Fields(strings.ToLower(between))
	if len(words) > 5 || strings.ContainsAny(between, ".;\n,") {
		return false
	}
	return len(words) == 0 || slices.ContainsFunc(words, func(w string) bool {
		switch w {
		case "when", "as", "while", "whilst", "on", "upon", "after", "once", "with", "during", "whenever":
			return true
		}
		return false
	})
}

// goesDown reports whether a move takes the resident back to bed or to a chair.
func goesDown(m *lexicon.Statement) bool { return m.To == "bed" || m.To == "chair" }

// heeded reports whether between the sign and the move something was done about it, or it passed.
func (p *pass) heeded(sign, m *lexicon.Statement) bool {
	told := append(p.clinicians(), "fall.assessed", "rise.paused", "rise.returned")
	return p.entry.Any(func(s *lexicon.Statement) bool {
		if s.Span.Start <= sign.Span.Start || s.Span.Start >= m.Span.Start || s.Who != lexicon.Resident || s.Time != lexicon.Now {
			return false
		}
		switch {
		case s.Group() == "sign":
			return s.Polarity == lexicon.Negated
		case s.Group() == "vital":
			return s.Polarity == lexicon.Affirmed
		}
		return s.Done() && of(told...)(s)
	})
}

// isRisingSign accepts the signs that may come of rising; see risingSign.
func isRisingSign(s *lexicon.Statement) bool {
	switch s.Concept {
	case "sign.dizzy", "sign.faint", "sign.vision", "sign.nausea":
		return true
	case "sign.weak":
		return s.Detail.Rising || s.Posture == "standing" || s.Posture == "sitting"
	}
	return false
}
