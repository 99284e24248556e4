// Package policy is what a home sets for itself: its zone and shifts, the thresholds of rules, which
// rules run and how much they matter, and its own terms and job titles.
//
// [Default] is the policy of a home that sets nothing; [Read] reads a policy file. The file is YAML,
// every key is optional, and a key, rule or concept that is not known is refused with its line, since
// a setting that is silently left out is worse than an error:
//
//	zone: America/Toronto         # of times written without one; default the machine's
//	shifts:                       # name → start, HH:MM; each runs until the next; replaces the default set
//	  day: "07:00"
//	  evening: "15:00"
//	  night: "23:00"
//	lift_helpers: 2               # helpers that a mechanical lift asks, 1 to 9
//	lift_helpers_from: [family]   # who besides staff may run a lift: student, family, volunteer, other-resident;
//	                              # where it is not set nobody in a facility, and family in home care
//	settings:                     # unit → facility (what is not named is one) or home-care
//	  North Route: home-care
//	windows:                      # a number with h (hours) or d (days)
//	  change: 24h                 # for an ordered change of status to reach the chart
//	  copied: 14d                 # within which a note is compared with the resident's earlier ones
//	copied_share: 0.9             # of the words equal, above 0 up to 1, from which a note counts as copied
//	pressure:                     # fall on rising that counts as a drop, mmHg
//	  systolic: 20
//	  diastolic: 10
//	caps:                         # load on a limb, as a share of body weight from 0 to 1
//	  toe-touch: 0.2
//	  partial: 0.5                # where the chart gives no percentage
//	rules:                        # id → off, hint, warning or error
//	  aid-unstated: off
//	words:                        # the home's own terms: term → concept id, or a mapping with fields that
//	  big blue: aid.total-lift    # the term gives: limb, side, staff, assist, method, to, posture
//	  two man job: {concept: move.transfer, staff: 2}
//	roles:                        # job title → care worker, nurse, therapist, doctor or other
//	  resident assistant: care worker
//	codes:                        # of FHIR → what they say in a chart: column → value
//	  urn:oid:2.16.840.1.113883.3.9|NWB-L: {left_leg: nwb}
//	drafts: shift                 # a note typed in the local page stays in that browser until the shift
//	                              # ends; off: it is gone with the page
package policy

import (
	"slices"
	"strings"
	"time"
	_ "time/tzdata" // so that zone names work on a machine with no zone files

	"example.com/stance/lexicon"
	"example.com/stance/lint/chart"
	"example.com/stance/lint/finding"
)

// A Policy is the settings of one home. Make one with [Default] or [Read].
type Policy struct {
	Zone                        *time.Location              // never nil; time.Local where the file states none
	Shifts                      map[string]string           // name → start, "HH:MM"
	LiftHelpers                 int                         // helpers that a mechanical lift asks
	LiftHelpersFrom             []Helper                    // who besides staff may run a lift; nil where the file does not say
	Settings                    map[string]Setting          // unit as written → setting; one not in it is a facility
	ChangeWindow                time.Duration               // for an ordered change to reach the chart
	CopiedWindow                time.Duration               // within which a note is compared with earlier ones
	CopiedShare                 float64                     // share of equal words from which a note is a copy, 0 to 1
	SystolicDrop, DiastolicDrop float64                     // mmHg, inclusive
	ToeTouchCap, PartialCap     float64                     // share of body weight, 0 to 1
	Rules                       map[string]finding.Severity // rule id → severity; a rule not in it keeps its own
	Words                       []lexicon.Word              // in the order of the file
	Roles                       map[string]lexicon.Role     // job title as written → role
	Codes                       chart.Codes                 // "system|code" of FHIR → column of a chart → value
	Drafts                      Drafts                      // how long a browser keeps a note that is being typed
}

// A Setting is where the care of a unit is given.
type Setting string

const (
	Facility Setting = "facility"  // staff and a nurse are in the house
	HomeCare Setting = "home-care" // a worker alone in the client's own home
)

// A Helper is a group of people other than staff who may help with a move, as statements name them.
type Helper string

// helpers are the groups that a policy may name.
func helpers() []string { return []string{"student", "family", "volunteer", "other-resident"} }

// Setting is that of a unit. Upper and lower case do not matter.
func (p *Policy) Setting(unit string) Setting {
	if s, ok := p.Settings[unit]; ok {
		return s
	}
	for name, s := range p.Settings {
		if strings.EqualFold(name, unit) {
			return s
		}
	}
	return Facility
}

// MayLift reports whether a group besides staff may run a lift in the setting.
func (p *Policy) MayLift(who string, in Setting) bool {
	if p.LiftHelpersFrom == nil {
		return in == HomeCare && who == "family"
	}
	return slices.Contains(p.LiftHelpersFrom, Helper(who))
}

// Drafts says how long a browser may keep a note that is being typed in the local page.
type Drafts string

const (
	DraftsOff   Drafts = "off"   // not at all
	DraftsShift Drafts = "shift" // until the shift ends in which it is typed
)

// Default is the policy where nothing is set.
//
// Sources of the figures, and where they disagree, which is why they are settings:
//   - LiftHelpers 2: common practice. Many homes ask two for every mechanical lift; no US federal
//     rule fixes a number, and OSHA, Guidelines for Nursing Homes (2009), section III, only says that
//     a second helper may be needed.
//   - SystolicDrop 20, DiastolicDrop 10, both inclusive: Freeman et al., Consensus statement on the
//     definition of orthostatic hypotension, Clin Auton Res 2011;21:69-72. From a sitting baseline
//     15 and 7 find more cases (J Hypertens 2017;35(5):1019-1025); with high pressure lying down, a
//     systolic fall of 30 is advised (AHA scientific statement, 2024).
//   - ToeTouchCap 0.2: the top of the band for touch-down weight bearing, 0 to 20 % of body weight
//     (Hershko 2008, as cited by rehabilitation references); some hospitals allow contact for balance only.
//   - PartialCap 0.5: the top of the band for partial weight bearing, 30 to 50 % of body weight in
//     most literature, 20 to 50 % in studies; some sites mean "protected, as tolerated" by it.
//   - Family may run a lift in home care: common practice, after instruction; elsewhere the care plan and the
//     employer's duty to train those who lift (OSHA 3182, 2009, section III) leave it to staff.
//   - ChangeWindow, CopiedWindow, CopiedShare and the shifts: common practice.
//   - Drafts until the shift ends: common practice; a note is due by then.
func Default() *Policy {
	return &Policy{
		Zone:          time.Local,
		Shifts:        map[string]string{"day": "07:00", "evening": "15:00", "night": "23:00"},
		LiftHelpers:   2,
		ChangeWindow:  24 * time.Hour,
		CopiedWindow:  14 * 24 * time.Hour,
		CopiedShare:   0.9,
		SystolicDrop:  20,
		DiastolicDrop: 10,
		ToeTouchCap:   0.2,
		PartialCap:    0.5,
		Rules:         map[string]finding.Severity{},
		Roles:         map[string]lexicon.Role{},
		Drafts:        DraftsShift,
	}
}

// Known is what a policy file may name: the ids of all rules and of all concepts.
type Known struct {
	Rules    []string
	Concepts []string
}
