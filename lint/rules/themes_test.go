package rules

import (
	"testing"

	"github.com/google/go-cmp/cmp"

	"example.com/stance/lexicon"
	"example.com/stance/lint/policy"
)

// by says who other than staff did a move.
func by(who ...string) edit         { return func(s *lexicon.Statement) { s.Helpers = who } }
func mended(s *lexicon.Statement)   { s.Fixed, s.Detail.Mended = true, true }
func ofNobody(s *lexicon.Statement) { s.Who, s.Detail.Nobody = lexicon.Other, true }
func homeCare() *policy.Policy      { return inSetting(policy.HomeCare) }
func inSetting(s policy.Setting) *policy.Policy {
	p := policy.Default()
	p.Settings = map[string]policy.Setting{"Elm": s}
	return p
}

// TestThemes holds the rules on rising, hazards, injuries, wheelchairs, helpers and signs, in a facility and in
// home care, to what they flag and to what is near it.
func TestThemes(t *testing.T) {
	type says = []lexicon.Statement
	const (
		one   = from + ",,,,one-person,1,belt,with-aid"
		total = from + ",,,,total-lift,2,sling,no"
		alone = from + ",,,,total-lift,1,sling,no"
	)
	facility, home := policy.Default(), homeCare()
	families := homeCare()
	families.LiftHelpersFrom = []policy.Helper{}
	rising := []string{"A rising-no-vitals warning", "A rising-not-told warning"}
	for _, tt := range []struct {
		name   string
		policy *policy.Policy
		row    string
		says   says
		want   []string
	}{
		{"went on", facility, one, says{say("sign.dizzy"), say("move.sit-up"), say("move.transfer", staff(1)), say("told.nurse"), say("vital.taken")}, []string{"A rising-pressed-on warning"}},
		{"rested", facility, one, says{say("sign.dizzy"), say("rise.paused"), say("move.transfer", staff(1))}, rising},
		{"it passed", facility, one, says{say("sign.dizzy"), say("sign.dizzy", negated), say("move.transfer", staff(1))}, rising},
		{"back to bed", facility, one, says{say("sign.dizzy"), say("move.transfer", staff(1), between("", "bed"))}, rising},
		{"told first", facility, one, says{say("sign.dizzy"), say("told.emergency"), say("vital.pulse"), say("move.transfer", staff(1))}, nil},

		{"hazard left", facility, one, says{say("hazard.floor")}, []string{"A hazard-left warning"}},
		{"hazard of nobody", facility, one, says{say("hazard.floor", ofNobody)}, []string{"A hazard-left warning"}},
		{"hazard that another met", facility, one, says{say("hazard.floor", other)}, nil},
		{"hazard put right", facility, one, says{say("hazard.mat", mended)}, nil},
		{"hazard told", facility, one, says{say("hazard.light"), say("told.family")}, nil},

		{"cause by a sign", facility, one, says{say("sign.unsteady"), say("fall.fell"), say("fall.injury", negated), say("told.emergency")}, nil},
		{"cause denied", facility, one, says{say("sign.unsteady", negated), say("fall.fell"), say("fall.spine", negated), say("told.nurse")}, []string{"A fall-cause-unstated hint"}},

		{"injured, moved, told", facility, one, says{say("fall.cause"), say("fall.fell"), say("fall.fracture"), say("fall.moved", staff(2)), say("told.nurse")}, []string{"A fall-injured-moved error"}},
		{"injured perhaps, moved", facility, one, says{say("fall.cause"), say("fall.fell"), say("fall.spine", possible), say("fall.moved", staff(2)), say("told.nurse")}, []string{"A fall-injured-moved error"}},
		{"injured, told, moved", facility, one, says{say("fall.cause"), say("fall.fell"), say("fall.fracture"), say("told.emergency"), say("fall.moved", staff(2))}, nil},
		{"got up alone", facility, one, says{say("fall.cause"), say("fall.fell"), say("fall.injury", negated), say("fall.moved", staff(0)), say("told.nurse")}, nil},
		{"moved at home, looked first", home, one, says{say("fall.cause"), say("fall.fell"), say("fall.injury", negated), say("fall.moved", staff(1)), say("told.office")}, nil},
		{"moved at home, hurt", home, one, says{say("fall.cause"), say("fall.fell"), say("fall.injury"), say("fall.moved", staff(1)), say("told.office")}, []string{"A fall-moved-early error"}},
		{"injured at home, office told", home, one, says{say("fall.cause"), say("fall.fell"), say("fall.fracture"), say("told.office"), say("fall.moved", staff(1))}, []string{"A fall-injured-moved error"}},
		{"office told in a facility", facility, one, says{say("fall.cause"), say("fall.fell"), say("fall.injury"), say("told.office")}, []string{"A fall-not-told error"}},
		{"office told at home", home, one, says{say("fall.cause"), say("fall.fell"), say("fall.injury"), say("told.office")}, nil},

		{"strained", facility, one, says{say("staff.hurt", other)}, []string{"A staff-hurt-not-told warning"}},
		{"strained, form filled in", facility, one, says{say("staff.hurt", other), say("told.form")}, nil},
		{"nobody hurt", facility, one, says{say("staff.hurt", other, negated)}, nil},

		{"brakes off", facility, one, says{say("wheel.brakes", negated)}, []string{"A brakes-off warning"}},
		{"brakes put on", facility, one, says{say("wheel.brakes", negated, mended)}, nil},
		{"rests off, not moved", facility, one, says{say("wheel.footrests", negated)}, nil},
		{"rests off, pushed", facility, one, says{say("move.wheel"), say("wheel.footrests", negated)}, []string{"A footrests-off warning"}},
		{"rests off, own feet", facility, one, says{say("move.wheel", staff(0)), say("wheel.footrests", negated)}, nil},
		{"too fast", facility, one, says{say("move.wheel"), say("wheel.fast")}, []string{"A wheel-unsafe warning"}},
		{"told", facility, one, says{say("move.wheel"), say("wheel.told")}, nil},

		{"students lifted", facility, total, says{say("move.lift", method("total-lift"), by("student"), staff(2))}, []string{"A lift-unsupervised error"}},
		{"student with staff", facility, total, says{say("move.lift", method("total-lift"), by("staff", "student"), staff(2))}, nil},
		{"family lifted", facility, total, says{say("move.lift", method("total-lift"), by("family"))}, []string{"A lift-unsupervised error"}},
		{"family lifted at home", home, total, says{say("move.lift", method("total-lift"), by("family"))}, nil},
		{"family not allowed at home", families, total, says{say("move.lift", method("total-lift"), by("family"))}, []string{"A lift-unsupervised error"}},
		{"wife and worker at home", home, total, says{say("move.lift", method("total-lift"), by("family", "staff"), staff(1))}, nil},
		{"worker alone at home", home, total, says{say("move.lift", method("total-lift"), staff(1))}, []string{"A lift-one-helper error"}},
		{"charted for one", home, alone, says{say("move.lift", method("total-lift"), staff(1))}, nil},

		{"sign of another lift", facility, total, says{say("posted.way", method("sit-stand-lift"))}, []string{"A sign-differs warning"}},
		{"sign of fewer helpers", facility, total, says{say("posted.way", method("lift"), staff(1))}, []string{"A sign-differs warning"}},
		{"sign of a hoist", facility, total, says{say("posted.way", method("lift"))}, nil},
		{"old sign after a review", facility, total, says{say("posted.way", method("pivot")), say("review.done")}, nil},
		{"no sign", facility, total, says{say("posted.way", negated)}, []string{"A sign-missing hint"}},
		{"sign replaced", facility, total, says{say("posted.way", negated), say("posted.way", method("total-lift"), staff(2))}, nil},
	} {
		t.Run(tt.name, func(t *testing.T) {
			got, _ := judge(t, tt.policy, chartOf(t, tt.row), entry{at: day1, role: lexicon.CareWorker, says: tt.says})
			if d := cmp.Diff(tt.want, got); d != "" {
				t.Errorf("findings (-want +got):\n%s", d)
			}
		})
	}
}

// In home care the next visit follows up, whatever its day, and no shift is silent.
func TestVisits(t *testing.T) {
	const week = "2026-03-17 13:30"
	row := from + ",,,,one-person,1,belt,with-aid"
	fell := []lexicon.Statement{say("fall.cause"), say("fall.fell"), say("fall.injury", negated), say("told.office")}
	got, _ := judge(t, homeCare(), chartOf(t, row), entry{at: day1, says: fell}, entry{at: week})
	if d := cmp.Diff([]string{"B follow-up-missing warning"}, got); d != "" {
		t.Errorf("findings in home care (-want +got):\n%s", d)
	}
	got, _ = judge(t, inSetting(policy.Facility), chartOf(t, row), entry{at: day1, says: fell}, entry{at: week})
	if d := cmp.Diff([]string(nil), got); d != "" {
		t.Errorf("findings in a facility (-want +got):\n%s", d)
	}
}
