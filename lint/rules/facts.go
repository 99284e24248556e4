package rules

import (
	"slices"

	"example.com/stance/lexicon"
	"example.com/stance/lint/chart"
	"example.com/stance/lint/finding"
	"example.com/stance/lint/load"
	"example.com/stance/lint/policy"
	"example.com/stance/lint/timeline"
	"example.com/stance/lint/trade"
)

// What several rules ask of a statement or an entry.

// status is the bearing status that a statement gives; false for bearing.able, which gives none.
func status(s *lexicon.Statement) (chart.Status, bool) {
	switch s.Concept {
	case "bearing.none":
		return chart.None, true
	case "bearing.toe-touch":
		return chart.ToeTouch, true
	case "bearing.partial":
		return chart.Partial, true
	case "bearing.tolerated":
		return chart.Tolerated, true
	case "bearing.full":
		return chart.Full, true
	}
	return chart.Full, false
}

// limb is the limb of a bearing statement; a leg where none is said.
func limb(s *lexicon.Statement) string {
	if s.Limb == "arm" {
		return "arm"
	}
	return "leg"
}

// charted is a limb in a chart row.
func charted(r *chart.Row, limb, side string) (b chart.Bearing, field string) {
	field = side + "_" + limb
	switch field {
	case "left_leg":
		b = r.LeftLeg
	case "right_leg":
		b = r.RightLeg
	case "left_arm":
		b = r.LeftArm
	case "right_arm":
		b = r.RightArm
	}
	return b, field
}

// sides are the sides that a bearing statement is about; none where the note does not say.
func sides(s *lexicon.Statement) []string {
	switch s.Side {
	case "left", "right":
		return []string{s.Side}
	case "both":
		return []string{"left", "right"}
	}
	return nil
}

func otherSide(side string) string {
	if side == "left" {
		return "right"
	}
	return "left"
}

// sameStatus reports whether the statement gives the status that b is. A partial status with no
// percentage, on either side, agrees with any.
func sameStatus(s *lexicon.Statement, b chart.Bearing) bool {
	st, ok := status(s)
	if !ok || st != b.Status {
		return false
	}
	pc, given := s.Percent.Get()
	return st != chart.Partial || !given || b.Percent == 0 || pc == b.Percent
}

// sameBearing reports whether two statements give one status.
func sameBearing(a, b *lexicon.Statement) bool {
	sa, _ := status(a)
	sb, _ := status(b)
	if sa != sb {
		return false
	}
	pa, oka := a.Percent.Get()
	pb, okb := b.Percent.Get()
	return sa != chart.Partial || !oka || !okb || pa == pb
}

// agrees reports whether the statement is no conflict with a charted limb. An empty cell is a limb
// that is not restricted: full or as tolerated, both agree with it.
func agrees(s *lexicon.Statement, b chart.Bearing) bool {
	if st, _ := status(s); b.String() == "" && st == chart.Tolerated {
		return true
	}
	return sameStatus(s, b)
}

// A rank is how much support a way to move gives, by the published table: independent 0,
// supervised 1, one person and board 2, two persons 3, sit-stand lift 4, total lift 5.
type rank int

const (
	rankAlone      rank = 0
	rankSupervised rank = 1
	rankOne        rank = 2
	rankTwo        rank = 3
	rankSitStand   rank = 4
	rankTotal      rank = 5
)

// chartRank is the rank of a charted way to transfer.
func chartRank(t chart.Transfer) rank {
	switch t {
	case chart.Supervised:
		return rankSupervised
	case chart.OnePerson, chart.OnePersonPivot, chart.OnePersonSide, chart.Board:
		return rankOne
	case chart.TwoPerson, chart.TwoPersonPivot, chart.TwoPersonSide:
		return rankTwo
	case chart.SitStandLift:
		return rankSitStand
	case chart.TotalLift:
		return rankTotal
	}
	return rankAlone
}

// statedRank is the rank of a move as the note has it: by its method, else its helpers, else its
// assist level; false where it gives none of them. A lift of unsaid kind ranks as kind, which is
// what it is held against: the writer gets the benefit of the doubt.
func statedRank(s *lexicon.Statement, kind rank) (rank, bool) {
	switch s.Method {
	case "total-lift":
		return rankTotal, true
	case "sit-stand-lift":
		return rankSitStand, true
	case "lift":
		return max(rankSitStand, kind), true
	case "board":
		return rankOne, true
	}
	if n, ok := s.Staff.Get(); ok && !(n == 0 && (s.Assist == "supervision" || s.Assist == "standby")) { // "by himself, supervised"
		switch n {
		case 0:
			return rankAlone, true
		case 1:
			return rankOne, true
		}
		return rankTwo, true
	}
	switch s.Assist {
	case "independent":
		return rankAlone, true
	case "supervision", "standby":
		return rankSupervised, true
	case "contact-guard", "minimum", "moderate":
		return rankOne, true
	case "maximum", "dependent":
		return rankTwo, true
	}
	return 0, false
}

// chartsLift reports whether the row's way to transfer is a lift.
func chartsLift(r *chart.Row) bool {
	return r.Transfer == chart.SitStandLift || r.Transfer == chart.TotalLift
}

// isSupported reports whether a move is one that is held against the charted way to transfer.
func isSupported(s *lexicon.Statement) bool {
	if s.Concept == "move.up" {
		return s.To != "" && !s.Staff.IsZero() // up to a seat with so many helpers is a transfer by its helpers
	}
	return s.Concept == "move.transfer" || s.Concept == "move.lift" || s.Concept == "move.stand"
}

// isWalked reports whether a move is a walk or a transfer, for the rules about walking aids. Being
// up with a walking aid counts as walking.
func isWalked(s *lexicon.Statement) bool {
	switch s.Concept {
	case "move.walk", "move.transfer":
		return true
	case "move.up":
		return len(walkingAids(s.Aids)) > 0
	}
	return false
}

// walkingAids are those of the aids that are walked with.
func walkingAids(aids []string) []string {
	var out []string
	for _, a := range aids {
		if load.IsWalkingAid(a) {
			out = append(out, a)
		}
	}
	return out
}

// sameAid reports whether two walking aids are the same, as far as their kinds are said.
func sameAid(a, b string) bool {
	x, y := trade.Aid(a), trade.Aid(b)
	return x == y || x.Covers(y) || y.Covers(x)
}

// done lists the statements of the entry that happened or are so in this shift and that pick accepts.
func done(e *timeline.Entry, pick func(*lexicon.Statement) bool) []*lexicon.Statement {
	var out []*lexicon.Statement
	for i := range e.Reading.Statements {
		if s := &e.Reading.Statements[i]; s.Done() && pick(s) {
			out = append(out, s)
		}
	}
	return out
}

// of accepts the statements with one of those concepts.
func of(concepts ...string) func(*lexicon.Statement) bool {
	return func(s *lexicon.Statement) bool { return slices.Contains(concepts, s.Concept) }
}

// inGroup accepts the statements of one group.
func inGroup(group string) func(*lexicon.Statement) bool {
	return func(s *lexicon.Statement) bool { return s.Group() == group }
}

// isStatus accepts the statements that give a bearing status.
func isStatus(s *lexicon.Statement) bool {
	_, ok := status(s)
	return ok
}

// setting is where the care that the note tells of is given.
func (p *pass) setting() policy.Setting { return p.settingOf(p.entry) }

func (p *pass) settingOf(e *timeline.Entry) policy.Setting {
	unit := e.Note.Unit
	if unit == "" && e.Row != nil {
		unit = e.Row.Unit
	}
	return p.policy.Setting(unit)
}

// clinicians are the concepts that say that a nurse or doctor knows, or whoever stands for them: the emergency
// services, and in home care, where no nurse is in the house, the office.
func (p *pass) clinicians() []string {
	told := []string{"told.nurse", "told.doctor", "told.emergency"}
	if p.setting() == policy.HomeCare {
		told = append(told, "told.office")
	}
	return told
}

// toldClinician reports whether a nurse or doctor has been told.
func (p *pass) toldClinician() bool { return p.entry.Done(p.clinicians()...) }

// toldBefore reports whether one of the concepts is told to be done before a place in the note.
func toldBefore(e *timeline.Entry, at int, concepts ...string) bool {
	return len(done(e, func(s *lexicon.Statement) bool {
		return s.Span.Start < at && slices.Contains(concepts, s.Concept)
	})) > 0
}

// isSo accepts a statement that is said to hold in this shift, of either polarity, whomever it is about.
func isSo(s *lexicon.Statement, polarity lexicon.Polarity) bool {
	return s.Polarity == polarity && s.Time == lexicon.Now && s.Mood == lexicon.Report
}

// hasVitals reports whether the note gives a vital sign.
func hasVitals(e *timeline.Entry) bool { return len(done(e, inGroup("vital"))) > 0 }

// isClinician reports whether a role may order a status.
func isClinician(r lexicon.Role) bool {
	return r == lexicon.Therapist || r == lexicon.Nurse || r == lexicon.Doctor
}

// orders are the bearing statuses that the note orders for now.
func orders(e *timeline.Entry) []*lexicon.Statement {
	var out []*lexicon.Statement
	for i := range e.Reading.Statements {
		s := &e.Reading.Statements[i]
		if s.Mood == lexicon.Order && s.Polarity == lexicon.Affirmed && s.Time == lexicon.Now &&
			s.Who == lexicon.Resident && isStatus(s) {
			out = append(out, s)
		}
	}
	return out
}

// reassessing reports whether a therapist tells of a reassessment or orders a way to move: what was tried in it is
// not held against the chart that it changes.
func reassessing(e *timeline.Entry) bool {
	return e.Note.Role == lexicon.Therapist && (e.Done("review.done") || e.Any(func(s *lexicon.Statement) bool {
		return s.Mood == lexicon.Order && s.Concept == "move.transfer" && s.Polarity == lexicon.Affirmed && s.Time == lexicon.Now
	}))
}

// remarks lists the remarks of one kind.
func remarks(e *timeline.Entry, kind lexicon.RemarkKind) []lexicon.Remark {
	var out []lexicon.Remark
	for _, r := range e.Reading.Remarks {
		if r.Kind == kind {
			out = append(out, r)
		}
	}
	return out
}

// remarked reports whether a remark of that kind stands in the clause.
func remarked(e *timeline.Entry, kind lexicon.RemarkKind, clause int) bool {
	return slices.ContainsFunc(remarks(e, kind), func(r lexicon.Remark) bool { return r.Clause == clause })
}

// place is a statement of a note, as evidence.
func place(e *timeline.Entry, s *lexicon.Statement) finding.Evidence {
	span := s.Span
	return finding.Evidence{Resident: e.Note.Resident, Note: e.Note.ID, Span: &span, Text: e.Words(span)}
}
