package rules

import (
	"fmt"
	"slices"

	"example.com/stance/lexicon"
	"example.com/stance/lint/finding"
	"example.com/stance/lint/policy"
	"example.com/stance/lint/shift"
	"example.com/stance/lint/timeline"
)

func shiftSilent() Rule {
	return Rule{ID: "shift-silent", Severity: finding.Hint, check: checkShiftSilent,
		Per: "shifts of residents charted with helpers, between two shifts with notes", applies: enclosedShifts}
}

// enclosedShifts counts a shift on its first note. A shift with no note is counted where it is
// reported: each of them is a finding.
func enclosedShifts(p *pass) int {
	cal, k := p.line.Calendar, p.entry.Shift
	if p.setting() == policy.HomeCare || p.line.On(k)[0] != p.entry || !needsHelp(p, p.entry) ||
		len(p.line.On(cal.Prev(k))) == 0 || len(p.line.On(cal.Next(k))) == 0 {
		return 0
	}
	return 1
}

// checkShiftSilent speaks on the first note of a silent shift. A shift with no note at all has no
// note to stand on: the first note of the shift after it looks back.
func checkShiftSilent(p *pass) {
	cal, k := p.line.Calendar, p.entry.Shift
	if p.setting() == policy.HomeCare || p.line.On(k)[0] != p.entry {
		return // a visit is due when it is booked, not once a shift
	}
	if before := cal.Prev(k); len(p.line.On(before)) == 0 && len(p.line.On(cal.Prev(before))) > 0 {
		reportSilentGap(p, before)
	}
	if enclosedShifts(p) == 0 || slices.ContainsFunc(p.line.On(k), func(e *timeline.Entry) bool {
		return speaksOfMobility(e) || len(remarks(e, lexicon.InBed)) > 0
	}) {
		return
	}
	p.report(report{
		message: fmt.Sprintf("%s: %s; the shifts before and after have notes, this one says nothing of how the resident moved",
			p.since(p.entry.Row), p.wayWords(p.entry.Row)),
		advice:   "Add how the resident moved, with what help, or that the resident stayed in bed.",
		evidence: []finding.Evidence{cell(p.entry.Row, "transfer")},
	})
}

func reportSilentGap(p *pass, k shift.Key) {
	start := p.line.Calendar.Start(k)
	row := p.line.RowAt(start)
	if row == nil || row.Helpers(p.policy.LiftHelpers) == 0 {
		return
	}
	p.reportGap(k, finding.Finding{
		Message:  fmt.Sprintf("%s: %s; the shifts before and after have notes, this one has none", p.since(row), p.wayWords(row)),
		Advice:   "Find out how the resident moved on that shift, and with what help.",
		Evidence: []finding.Evidence{cell(row, "transfer")},
		Unit:     row.Unit,
		Time:     start,
	})
}

// needsHelp reports whether the chart asks for helpers at that note.
func needsHelp(p *pass, e *timeline.Entry) bool {
	return e.Row != nil && e.Row.Helpers(p.policy.LiftHelpers) > 0
}

// speaksOfMobility reports whether a note says anything of how the resident moves or may move.
func speaksOfMobility(e *timeline.Entry) bool {
	return e.Mentions("bearing", "move", "aid", "assist", "sign", "fall", "review")
}
