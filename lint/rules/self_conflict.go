package rules

import (
	"fmt"
	"slices"

	"example.com/stance/lexicon"
	"example.com/stance/lint/finding"
)

func selfConflict() Rule {
	return Rule{ID: "self-conflict", Severity: finding.Error, check: checkSelfConflict,
		Per: "statuses of one limb and transfers between the same places that a note tells again", applies: comparedWithin}
}

func comparedWithin(p *pass) int {
	ss := p.entry.Reading.Statements
	n := 0
	var earlier kinds
	for i := range ss {
		if slices.ContainsFunc(earlier.all, func(o *lexicon.Statement) bool { return sameMatter(o, &ss[i]) }) {
			n++
		}
		earlier.add(&ss[i])
	}
	return n
}

// checkSelfConflict speaks on the later of two statements, once for each.
func checkSelfConflict(p *pass) {
	ss := p.entry.Reading.Statements
	var earlier kinds // since the last statement that tells why what follows may differ
	for i := range ss {
		for _, o := range earlier.all {
			if !disagree(o, &ss[i]) || timed(o, &ss[i]) {
				continue
			}
			p.report(report{
				about:    &ss[i],
				unsure:   o.Certainty == lexicon.Possible,
				message:  fmt.Sprintf("this note says both %s and %s", sayingWords(o), sayingWords(&ss[i])),
				advice:   "Keep what holds, or write what changed in between.",
				evidence: []finding.Evidence{place(p.entry, o)},
			})
			break
		}
		if tellsChange(&ss[i]) {
			earlier = kinds{}
		} else {
			earlier.add(&ss[i])
		}
	}
}

// kinds holds statements that a later one may contradict, in text order, the first of each that say one thing: a note of
// nothing but statuses is compared in a time that grows with its length.
type kinds struct {
	all  []*lexicon.Statement
	seen map[kind]bool
}

// kind is all of a statement that a comparison looks at.
type kind struct {
	concept, limb, side, from, to, method, assist, clock string
	percent                                              float64
	staff                                                int
	certainty                                            lexicon.Certainty
}

func (k *kinds) add(s *lexicon.Statement) {
	if !s.Done() || !isStatus(s) && !isTransferred(s) {
		return
	}
	percent, _ := s.Percent.Get()
	staff, counted := s.Staff.Get()
	if !counted {
		staff = -1
	}
	of := kind{s.Concept, limb(s), s.Side, s.From, s.To, s.Method, s.Assist, s.Clock, percent, staff, s.Certainty}
	if k.seen[of] {
		return
	}
	if k.seen == nil {
		k.seen = map[kind]bool{}
	}
	k.seen[of] = true
	k.all = append(k.all, s)
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

// timed reports whether the later of two statements is of another time of day than the earlier.
func timed(a, b *lexicon.Statement) bool { return b.Clock != "" && a.Clock != b.Clock }

// tellsChange reports whether a statement tells of a change, a reason, a sign or a fall, so that what follows may differ
// from what stands before it.
func tellsChange(s *lexicon.Statement) bool {
	return s.Concept == "review.done" || isReason(s) || s.Done() && (s.Group() == "sign" || s.IsFall())
}
