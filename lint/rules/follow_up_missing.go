package rules

import (
	"fmt"
	"slices"

	"example.com/stance/lexicon"
	"example.com/stance/lint/finding"
	"example.com/stance/lint/policy"
	"example.com/stance/lint/timeline"
)

func followUpMissing() Rule {
	return Rule{ID: "follow-up-missing", Severity: finding.Warning, Waits: true, check: checkFollowUpMissing,
		Per: "shifts with notes after a fall, a faint or a drop of pressure", applies: shiftsAfterEvent}
}

func shiftsAfterEvent(p *pass) int {
	if p.line.On(p.entry.Shift)[0] != p.entry {
		return 0
	}
	for _, e := range p.before() {
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
	next := "shift"
	if p.setting() == policy.HomeCare {
		next = "visit"
	}
	for _, e := range p.before() {
		s, what := event(p, e)
		if s == nil {
			continue
		}
		p.report(report{
			unsure:   s.Certainty == lexicon.Possible,
			message:  fmt.Sprintf("%s shift: %s; this note, on the next %s, says nothing of mobility, signs, vitals or what came after", e.Shift.Name, what, next),
			advice:   "Add how the resident is since then: moves, signs, vital signs.",
			evidence: []finding.Evidence{place(e, s)},
		})
		return
	}
}

// before is the notes that this shift follows up: those of the shift before, and in home care those of the last
// visit, whenever it was.
func (p *pass) before() []*timeline.Entry {
	if p.setting() != policy.HomeCare {
		return p.line.On(p.line.Calendar.Prev(p.entry.Shift))
	}
	for _, e := range slices.Backward(p.line.Entries[:p.at]) {
		if e.Shift != p.entry.Shift {
			return p.line.On(e.Shift)
		}
	}
	return nil
}

// event is what the next shift should follow up, and its words; nil for none.
func event(p *pass, e *timeline.Entry) (*lexicon.Statement, string) {
	if falls := done(e, (*lexicon.Statement).IsFall); len(falls) > 0 {
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
