package rules

import (
	"fmt"

	"example.com/stance/lexicon"
	"example.com/stance/lint/finding"
	"example.com/stance/lint/policy"
	"example.com/stance/lint/timeline"
)

func pressureDrop() Rule {
	return Rule{ID: "pressure-drop", Severity: finding.Warning, check: checkPressureDrop,
		Per: "notes with a pressure and a later one more upright", applies: notesWithRisingPressures}
}

func notesWithRisingPressures(p *pass) int {
	if len(risingPressures(p.entry)) == 0 {
		return 0
	}
	return 1
}

func checkPressureDrop(p *pass) {
	d := drop(p.entry, p.policy)
	if d == nil {
		return
	}
	told := p.toldClinician()
	message := fmt.Sprintf("%s %s, %s %s: down %s systolic, %s diastolic", d.before.Posture, pressure(d.before),
		d.upright.Posture, pressure(d.upright), number(d.systolic), number(d.diastolic))
	advice := "Ask the nurse whether to repeat the pressures and how the resident may get up until then."
	if !told {
		message += "; no word that a nurse or doctor was told"
		advice = "Tell " + p.superior() + " now, and add whom you told and when."
	}
	p.report(report{
		about:    d.upright,
		unsure:   d.before.Certainty == lexicon.Possible,
		raised:   !told,
		message:  message,
		advice:   advice,
		evidence: []finding.Evidence{place(p.entry, d.before)},
	})
}

// A pressureFall is two pressures of one note, the later one more upright and lower.
type pressureFall struct {
	before, upright     *lexicon.Statement
	systolic, diastolic float64 // mmHg down; below zero where it rose
}

// drop is the first fall of pressure on rising in the note that reaches the policy's figures, or
// nil. A pressure with no posture tells nothing of rising.
func drop(e *timeline.Entry, p *policy.Policy) *pressureFall {
	for _, f := range risingPressures(e) {
		if f.systolic >= p.SystolicDrop || f.diastolic >= p.DiastolicDrop {
			return &f
		}
	}
	return nil
}

// risingPressures are the pairs of pressures of which the later is more upright.
func risingPressures(e *timeline.Entry) []pressureFall {
	var out []pressureFall
	ps := done(e, of("vital.pressure"))
	for i, upright := range ps {
		for _, before := range ps[:i] {
			if uprightness(before) == 0 || uprightness(upright) <= uprightness(before) {
				continue
			}
			s0, _ := before.Systolic.Get()
			s1, _ := upright.Systolic.Get()
			d0, _ := before.Diastolic.Get()
			d1, _ := upright.Diastolic.Get()
			out = append(out, pressureFall{before, upright, s0 - s1, d0 - d1})
		}
	}
	return out
}

// uprightness orders postures: lying 1, sitting 2, standing 3; unsaid 0.
func uprightness(s *lexicon.Statement) int {
	switch s.Posture {
	case "lying":
		return 1
	case "sitting":
		return 2
	case "standing":
		return 3
	}
	return 0
}

// pressure writes a pressure: "146/80".
func pressure(s *lexicon.Statement) string {
	sys, _ := s.Systolic.Get()
	dia, _ := s.Diastolic.Get()
	return number(sys) + "/" + number(dia)
}
