package rules

import (
	"fmt"
	"slices"

	"example.com/stance/lexicon"
	"example.com/stance/lint/finding"
)

func aidUnstated() Rule {
	return Rule{ID: "aid-unstated", Severity: finding.Hint, Waits: true, check: checkAidUnstated,
		Per: "walks of residents charted with a walking aid", applies: walksWithAid}
}

func walksWithAid(p *pass) int {
	if p.entry.Row == nil || len(walkingAids(p.entry.Row.Aids)) == 0 {
		return 0
	}
	return len(done(p.entry, of("move.walk")))
}

func checkAidUnstated(p *pass) {
	row := p.entry.Row
	if row == nil || len(walkingAids(row.Aids)) == 0 {
		return
	}
	walks := done(p.entry, of("move.walk"))
	named := slices.ContainsFunc(walks, func(s *lexicon.Statement) bool { return len(walkingAids(s.Aids)) > 0 || s.HasAid("none") })
	for _, s := range walks {
		if len(walkingAids(s.Aids)) > 0 || s.HasAid("none") || named && bare(s) {
			continue
		}
		p.report(report{
			about:    s,
			message:  fmt.Sprintf("%s: walks with %s; this note: %s, with no word of an aid", p.since(row), anyAid(walkingAids(row.Aids)), moveWords(s)),
			advice:   "Add which walking aid was used, or that none was.",
			evidence: []finding.Evidence{cell(row, "aids")},
		})
	}
}

// bare reports whether a walk says nothing but that somebody walked, so that where the note names the aid of another walk
// it only speaks of that one again.
func bare(s *lexicon.Statement) bool {
	_, far := s.DistanceM.Get()
	_, helped := s.Staff.Get()
	return !far && !helped && s.From == "" && s.To == "" && s.Assist == ""
}
