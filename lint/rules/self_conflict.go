package rules

import (
	"fmt"
	"slices"

	"example.com/stance/lexicon"
	"example.com/stance/lint/finding"
	"example.com/stance/lint/timeline"
)

func selfConflict() Rule {
	return Rule{ID: "self-conflict", Severity: finding.Error, check: checkSelfConflict,
		Per: "statuses of one limb and transfers between the same places that a note tells again", applies: comparedWithin}
}

func comparedWithin(p *pass) int {
	ss := p.entry.Reading.Statements
	n := 0
	for i := range ss {
		if slices.ContainsFunc(ss[:i], func(earlier lexicon.Statement) bool { return sameMatter(&earlier, &ss[i]) }) {
			n++
		}
	}
	return n
}

// checkSelfConflict speaks on the later of two statements, once for each.
func checkSelfConflict(p *pass) {
	ss := p.entry.Reading.Statements
	for i := range ss {
		for j := range i {
			if !disagree(&ss[j], &ss[i]) || parted(p.entry, j, i) {
				continue
			}
			p.report(report{
				about:    &ss[i],
				unsure:   ss[j].Certainty == lexicon.Possible,
				message:  fmt.Sprintf("this note says both %s and %s", sayingWords(&ss[j]), sayingWords(&ss[i])),
				advice:   "Keep what holds, or write what changed in between.",
				evidence: []finding.Evidence{place(p.entry, &ss[j])},
			})
			break
		}
	}
}

// disagree reports whether two statements cannot both hold: two statuses of one limb and side, or
// two ranks for one transfer between the same places.
func disagree(a, b *lexicon.Statement) bool {
	switch {
	case !sameMatter(a, b):
		return false
	case isStatus(a):
		return !sameBearing(a, b)
	}
	return apart(a, b)
}

// sameMatter reports whether two statements are about one thing: a status of one limb and side, or a
// transfer between the same places.
func sameMatter(a, b *lexicon.Statement) bool {
	switch {
	case !a.Done() || !b.Done():
		return false
	case isStatus(a) && isStatus(b):
		return limb(a) == limb(b) && sharesSide(a, b)
	case isTransferred(a) && isTransferred(b):
		return a.From != "" && a.To != "" && a.From == b.From && a.To == b.To
	}
	return false
}

// parted reports whether a time, a change or a reason stands between the statements at i and j and
// tells why they differ.
func parted(e *timeline.Entry, i, j int) bool {
	ss := e.Reading.Statements
	if ss[j].Clock != "" && ss[i].Clock != ss[j].Clock {
		return true
	}
	for _, s := range ss[i+1 : j] {
		if s.Concept == "review.done" || isReason(&s) || s.Done() && (s.Group() == "sign" || isFall(&s)) {
			return true
		}
	}
	return false
}
