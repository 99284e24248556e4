package rules

import (
	"fmt"

	"example.com/stance/lexicon"
	"example.com/stance/lint/finding"
	"example.com/stance/lint/timeline"
)

func risingNoVitals() Rule {
	return Rule{ID: "rising-no-vitals", Severity: finding.Warning, Waits: true, check: checkRisingNoVitals,
		Per: "notes with a sign that may come of rising", applies: risingNotes}
}

func risingNotes(p *pass) int {
	if risingSign(p.entry) == nil {
		return 0
	}
	return 1
}

func checkRisingNoVitals(p *pass) {
	s := risingSign(p.entry)
	if s == nil || hasVitals(p.entry) {
		return
	}
	p.report(report{
		about:   s,
		message: fmt.Sprintf("%s, and no vital sign in the note", signWords(s)),
		advice:  "Ask the nurse for blood pressure and pulse, and add them.",
	})
}

// risingSign is the first sign in the note that may come of rising: dizziness, a faint or spots at
// any time; weakness where it is tied to rising; nausea, which is read only with a change of position.
func risingSign(e *timeline.Entry) *lexicon.Statement {
	if signs := done(e, isRisingSign); len(signs) > 0 {
		return signs[0]
	}
	return nil
}

// signWords names a sign.
func signWords(s *lexicon.Statement) string {
	w := "a sign"
	switch s.Concept {
	case "sign.dizzy":
		w = "dizziness"
	case "sign.faint":
		w = "a faint"
	case "sign.vision":
		w = "disturbed sight"
	case "sign.nausea":
		w = "nausea"
	case "sign.weak":
		w = "weak legs"
	}
	if s.Detail.Rising || s.Posture != "" {
		w += " on rising"
	}
	return w
}
