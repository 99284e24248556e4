package rules

import (
	"fmt"
	"slices"

	"example.com/stance/lexicon"
	"example.com/stance/lint/finding"
	"example.com/stance/lint/timeline"
)

func followUpMissing() Rule {
	return Rule{ID: "follow-up-missing", Severity: finding.Warning, check: checkFollowUpMissing,
		Per: "shifts with notes after a fall, a faint or a drop of pressure", applies: shiftsAfterEvent}
}

func shiftsAfterEvent(p *pass) int {
	if p.line.On(p.entry.Shift)[0] != p.entry {
		return 0
	}
	for _, e := range p.line.On(p.line.Calendar.Prev(p.entry.Shift)) {
		if s, _ := event(p, e); s != nil {
			return 1
		}
	}
	return 0
}

// checkFollowUpMissing speaks on the first note of the shift that should have followed up.
func checkFollowUpMissing(p *pass) {
	on := p.line.On(p.entry.Shift)
	if on[0] != p.entry || slices.ContainsFunc(on, followsUp) {
		return
	}
	for _, e := range p.line.On(p.line.Calendar.Prev(p.entry.Shift)) {
		s, what := event(p, e)
		if s == nil {
			continue
		}
		p.report(report{
			unsure:   s.Certainty == lexicon.Possible,
			message:  fmt.Sprintf("%s shift: %s; this note, on the next shift, says nothing of mobility, signs, vitals or what came after", e.Shift.Name, what),
			advice:   "Add how the resident is since then: moves, signs, vital signs.",
			evidence: []finding.Evidence{place(e, s)},
		})
		return
	}
}

// event is what the next shift should follow up, and its words; nil for none.
func event(p *pass, e *timeline.Entry) (*lexicon.Statement, string) {
	if falls := done(e, isFall); len(falls) > 0 {
		return falls[0], "the resident fell"
	}
	if faints := done(e, of("sign.faint")); len(faints) > 0 {
		return faints[0], "the resident fainted"
	}
	if d := drop(e, p.policy); d != nil {
		return d.upright, "the blood pressure dropped on rising"
	}
	return nil, ""
}

// followsUp reports whether a note says anything that follows up a fall, a faint or a drop.
func followsUp(e *timeline.Entry) bool {
	return speaksOfMobility(e) || e.Mentions("vital") || len(remarks(e, lexicon.Watched)) > 0
}
