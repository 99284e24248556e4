package rules

import (
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"example.com/stance/lexicon"
	"example.com/stance/lint/chart"
	"example.com/stance/lint/finding"
	"example.com/stance/lint/note"
	"example.com/stance/lint/policy"
	"example.com/stance/lint/shift"
	"example.com/stance/lint/timeline"
)

// The tests of this file give the rules statements made by hand, so that each case shows just what a
// rule turns on. examples_test.go runs the published examples through the lexicon.

// read is a reader that knows the reading of each text.
type read map[string]lexicon.Reading

func (r read) Read(text string, _ lexicon.Role) lexicon.Reading { return r[text] }

type edit func(*lexicon.Statement)

// say is a statement of something done, changed by the edits.
func say(concept string, edits ...edit) lexicon.Statement {
	s := lexicon.Statement{
		Concept: concept, Polarity: lexicon.Affirmed, Time: lexicon.Now,
		Who: lexicon.Resident, Certainty: lexicon.Certain, Mood: lexicon.Report,
	}
	for _, e := range edits {
		e(&s)
	}
	return s
}

func staff(n int) edit              { return func(s *lexicon.Statement) { s.Staff = lexicon.Some(n) } }
func assist(a string) edit          { return func(s *lexicon.Statement) { s.Assist = a } }
func method(m string) edit          { return func(s *lexicon.Statement) { s.Method = m } }
func aids(a ...string) edit         { return func(s *lexicon.Statement) { s.Aids = a } }
func side(v string) edit            { return func(s *lexicon.Statement) { s.Side = v } }
func arm(s *lexicon.Statement)      { s.Limb = "arm" }
func percent(f float64) edit        { return func(s *lexicon.Statement) { s.Percent = lexicon.Some(f) } }
func clause(n int) edit             { return func(s *lexicon.Statement) { s.Detail.Clause = n } }
func byHand(s *lexicon.Statement)   { s.Detail.ByHand = true }
func rising(s *lexicon.Statement)   { s.Detail.Rising = true }
func fit(f string) edit             { return func(s *lexicon.Statement) { s.Fit = f } }
func clock(c string) edit           { return func(s *lexicon.Statement) { s.Clock = c } }
func negated(s *lexicon.Statement)  { s.Polarity = lexicon.Negated }
func past(s *lexicon.Statement)     { s.Time = lexicon.Before }
func planned(s *lexicon.Statement)  { s.Time = lexicon.Planned }
func other(s *lexicon.Statement)    { s.Who = lexicon.Other }
func possible(s *lexicon.Statement) { s.Certainty = lexicon.Possible }
func order(s *lexicon.Statement)    { s.Mood = lexicon.Order }

func between(from, to string) edit {
	return func(s *lexicon.Statement) { s.From, s.To = from, to }
}

func bp(posture string, systolic, diastolic float64) lexicon.Statement {
	return say("vital.pressure", func(s *lexicon.Statement) {
		s.Posture, s.Systolic, s.Diastolic = posture, lexicon.Some(systolic), lexicon.Some(diastolic)
	})
}

// head says that the text has the words, and that they name the statement's concept.
func head(text, words string, t lexicon.Tense) edit {
	return func(s *lexicon.Statement) {
		i := strings.Index(text, words)
		s.Detail.Head = lexicon.Span{Start: i, End: i + len(words), Line: 1, Column: 1 + i}
		s.Detail.Tense = t
	}
}

const charted0 = "resident,unit,from,until,left_leg,right_leg,left_arm,right_arm,transfer,staff,aids,walk,by\n"

// A row is from, until, four limbs, transfer, staff, aids and walk, as in the CSV.
func chartOf(t *testing.T, rows ...string) *chart.Chart {
	t.Helper()
	var b strings.Builder
	b.WriteString(charted0)
	for _, r := range rows {
		b.WriteString("R,Elm," + r + ",therapist\n")
	}
	c, bad, err := chart.Read("chart.csv", strings.NewReader(b.String()), time.UTC)
	if err != nil || len(bad) > 0 {
		t.Fatal(bad, err)
	}
	return c
}

const from = "2026-03-02T09:00:00Z,,"

// An entry is one note for a timeline.
type entry struct {
	at      string // 2006-01-02 15:04
	role    lexicon.Role
	says    []lexicon.Statement
	remarks []lexicon.Remark
	text    string
}

// judge runs all rules over the entries and lists what they find, as "rule severity".
func judge(t *testing.T, p *policy.Policy, ch *chart.Chart, entries ...entry) ([]string, []finding.Finding) {
	t.Helper()
	all, err := All()
	if err != nil {
		t.Fatal(err)
	}
	cal, err := shift.NewCalendar(p.Shifts, time.UTC)
	if err != nil {
		t.Fatal(err)
	}
	lex := read{}
	var notes []note.Note
	for i, e := range entries {
		at, err := time.Parse("2006-01-02 15:04", e.at)
		if err != nil {
			t.Fatal(err)
		}
		if e.text == "" {
			e.text = "the words of note " + string(rune('A'+i))
		}
		for j := range e.says { // one byte each, in text order
			e.says[j].Span = lexicon.Span{Start: j, End: j + 1, Line: 1, Column: 1 + j}
		}
		lex[e.text] = lexicon.Reading{Statements: e.says, Remarks: e.remarks}
		notes = append(notes, note.Note{ID: string(rune('A' + i)), Resident: "R", Time: at, Role: e.role, Text: e.text})
	}
	fs := NewBench(all, p).Judge(timeline.New("R", notes, lex, ch, cal), Copies{})
	var ids []string
	for _, f := range fs {
		ids = append(ids, f.Note+" "+f.Rule+" "+string(f.Severity))
	}
	slices.Sort(ids)
	return slices.Compact(ids), fs
}

const (
	day1, eve1, night1 = "2026-03-10 13:30", "2026-03-10 21:30", "2026-03-11 05:30"
	day2               = "2026-03-11 13:30"
)

func remark(k lexicon.RemarkKind, clause int) []lexicon.Remark {
	return []lexicon.Remark{{Kind: k, Span: lexicon.Span{Start: 0, End: 4, Line: 1, Column: 1}, Clause: clause}}
}

// TestOneNote holds one care worker's note against one chart row.
func TestOneNote(t *testing.T) {
	type says = []lexicon.Statement
	const (
		pivot1    = from + "nwb,,,,one-person-pivot,1,walker-2w;belt,with-aid"
		pivot2    = from + "nwb,,,,two-person-pivot,2,walker-2w;belt,with-aid"
		two       = from + ",,,,two-person,2,belt,no"
		one       = from + ",,,,one-person,1,walker-4w;belt,with-aid"
		oneNoWalk = from + ",,,,one-person,1,,no"
		three     = from + ",,,,two-person,3,belt,no"
		total     = from + ",,,,total-lift,2,sling,no"
		sitStand  = from + ",,,,sit-stand-lift,,,no"
		board2    = from + "nwb,nwb,,,board,2,board,no"
		armOff    = from + "pwb:50,,nwb,,one-person,1,walker-platform;belt,with-aid"
		alone     = from + ",,,,independent,,,independent"
		aloneCane = from + ",,,,independent,,cane,independent"
		watched   = from + ",,,,supervised,,crutch-forearm,supervised"
	)
	for _, tt := range []struct {
		name    string
		row     string
		says    says
		remarks []lexicon.Remark
		want    []string
	}{
		// load-over-limit
		{"charted aid assumed", pivot1, says{say("move.walk", staff(1))}, nil, []string{"A aid-unstated hint"}},
		{"no aid on a leg that bears none", pivot1, says{say("move.walk", aids("none"))}, nil,
			[]string{"A aid-missing error", "A load-over-limit error"}},
		{"up with a walking aid is a walk", pivot1, says{say("move.up", aids("cane"))}, nil,
			[]string{"A aid-differs warning", "A load-over-limit error"}},
		{"up in a chair is no walk", pivot1, says{say("move.up", between("", "chair"))}, nil, nil},
		{"stairs are under the load model, not under aid-differs", pivot1, says{say("move.stairs", aids("cane"))}, nil,
			[]string{"A load-over-limit error"}},
		{"planned", pivot1, says{say("move.walk", aids("cane"), planned)}, nil, nil},
		{"not done", pivot1, says{say("move.walk", aids("cane"), negated)}, nil, nil},
		{"somebody else", pivot1, says{say("move.walk", aids("cane"), other)}, nil, nil},
		{"perhaps", pivot1, says{say("move.walk", aids("cane"), possible)}, nil,
			[]string{"A aid-differs hint", "A load-over-limit warning"}},
		{"the note lifts the limit", pivot1, says{say("bearing.tolerated", side("left"), order), say("move.walk", aids("walker-2w"))}, nil, nil},
		{"the note's order does not reach", pivot1, says{say("bearing.toe-touch", side("left"), order), say("move.walk", aids("cane"))}, nil,
			[]string{"A aid-differs warning", "A load-over-limit error"}},
		{"reviewed, status unsaid", pivot1, says{say("review.done"), say("move.walk", aids("cane"))}, nil, []string{"A aid-differs warning"}},
		{"walk charted no is told once", from + "nwb,,,,one-person,1,walker-2w,no", says{say("move.walk", aids("cane"))}, nil,
			[]string{"A aid-differs warning", "A load-over-limit error"}},
		{"one arm off", armOff, says{say("move.walk", aids("walker-2w"))}, nil, []string{"A aid-differs warning", "A load-over-limit error"}},
		{"one arm off, on the forearms", armOff, says{say("move.walk", aids("walker-platform"))}, nil, nil},
		{"pivot on two legs that bear none", board2, says{say("move.transfer", method("pivot"), staff(2))}, nil, []string{"A load-over-limit error"}},
		{"total lift asks nothing", from + "nwb,nwb,,,total-lift,2,sling,no", says{say("move.transfer", method("total-lift"), staff(2))}, nil, nil},

		// bearing
		{"another status", pivot1, says{say("bearing.tolerated", side("left"))}, nil, []string{"A bearing-mismatch error"}},
		{"as charted", pivot1, says{say("bearing.none", side("left"))}, nil, nil},
		{"the other side's", pivot1, says{say("bearing.none", side("right"))}, nil, []string{"A side-mismatch error"}},
		{"both, one differs", pivot1, says{say("bearing.none", side("both"))}, nil, []string{"A bearing-mismatch error"}},
		{"a limb that is not restricted", pivot1, says{say("bearing.tolerated", side("right"))}, nil, nil},
		{"an order is a change", pivot1, says{say("bearing.toe-touch", side("left"), order), say("bearing.toe-touch", side("left"))}, nil, nil},
		{"past", pivot1, says{say("bearing.full", side("left"), past)}, nil, nil},
		{"able is no status", pivot1, says{say("bearing.able", side("left"), negated)}, nil, nil},
		{"perhaps another", pivot1, says{say("bearing.toe-touch", side("left"), possible)}, nil, []string{"A bearing-mismatch warning"}},
		{"no side, charted alike", board2, says{say("bearing.none")}, nil, nil},
		{"no side, charted otherwise", pivot1, says{say("bearing.none")}, nil, []string{"A limb-unstated warning"}},
		{"no side, perhaps", pivot1, says{say("bearing.none", possible)}, nil, []string{"A limb-unstated hint"}},
		{"no side, ordered", pivot1, says{say("bearing.none", order)}, nil, nil},
		{"full needs no side", pivot1, says{say("bearing.full")}, nil, nil},
		{"an arm", armOff, says{say("bearing.none", arm, side("left"))}, nil, nil},
		{"the other arm", armOff, says{say("bearing.none", arm, side("right"))}, nil, []string{"A side-mismatch error"}},
		{"another percentage", armOff, says{say("bearing.partial", side("left"), percent(25))}, nil, []string{"A bearing-mismatch error"}},
		{"percentage unsaid", armOff, says{say("bearing.partial", side("left"))}, nil, nil},

		// method and staff
		{"one of two, way unsaid", pivot2, says{say("move.transfer", staff(1))}, nil, []string{"A method-below-chart error"}},
		{"one of two, way as charted", pivot2, says{say("move.transfer", method("pivot"), staff(1))}, nil, []string{"A staff-below-chart error"}},
		{"two of three", three, says{say("move.transfer", staff(2))}, nil, []string{"A staff-below-chart error"}},
		{"one of two on the board", board2, says{say("move.transfer", method("board"), staff(1))}, nil, []string{"A staff-below-chart error"}},
		{"stood alone", two, says{say("move.stand", staff(0))}, nil, []string{"A method-below-chart error"}},
		{"nothing said of help", two, says{say("move.transfer")}, nil, nil},
		{"assist level only", two, says{say("move.transfer", assist("supervision"))}, nil,
			[]string{"A helpers-unstated hint", "A method-below-chart error"}},
		{"a walk is not held against it", oneNoWalk, says{say("move.walk", staff(0), negated)}, nil, nil},
		{"lift charted, helpers only", total, says{say("move.transfer", staff(2))}, nil, []string{"A method-unstated warning"}},
		{"lift charted, up to the chair", total, says{say("move.up", between("", "chair"))}, nil, []string{"A method-unstated warning"}},
		{"lift charted, up", total, says{say("move.up")}, nil, nil},
		{"lift charted, by herself", total, says{say("move.transfer", staff(0))}, nil, []string{"A method-below-chart error"}},
		{"lift charted, sling named", total, says{say("move.transfer", staff(2), aids("sling"))}, nil, nil},
		{"lift charted, named beside", total, says{say("move.transfer", staff(2), between("bed", "chair")), say("aid.total-lift")}, nil, nil},
		{"lift charted, named for another move", total, says{say("move.transfer", method("lift"), staff(2), between("bed", "toilet")),
			say("move.transfer", staff(2), between("", "bed"))}, nil, []string{"A method-unstated warning"}},
		{"lift charted, pivot", total, says{say("move.transfer", method("pivot"), staff(2))}, nil, []string{"A method-below-chart error"}},
		{"lift charted, stood by two", sitStand, says{say("move.stand", staff(2))}, nil, []string{"A method-below-chart error"}},
		{"total charted, sit-stand used", total, says{say("move.transfer", method("sit-stand-lift"), staff(2))}, nil, []string{"A method-below-chart error"}},
		{"lift of unsaid kind", total, says{say("move.transfer", method("lift"), staff(2))}, nil, nil},
		{"a lift where none is charted", two, says{say("move.transfer", method("sit-stand-lift"), staff(2))}, nil, []string{"A method-above-chart warning"}},
		{"one more than charted", one, says{say("move.transfer", staff(2))}, nil, nil},
		{"two ranks above", alone, says{say("move.transfer", staff(1))}, nil, []string{"A method-above-chart warning"}},
		{"explained and told", alone, says{say("sign.dizzy"), say("vital.taken"), say("told.nurse"), say("move.transfer", staff(2))}, nil, nil},
		{"off the floor by lift", one, says{say("fall.cause"), say("fall.fell"), say("fall.injury", negated), say("told.nurse"),
			say("fall.moved", method("total-lift"), staff(2))}, nil, nil},

		// aids
		{"another aid", one, says{say("move.walk", aids("cane"))}, nil, []string{"A aid-differs warning"}},
		{"kind unsaid", one, says{say("move.walk", aids("walker"))}, nil, []string{"A aid-unspecific hint"}},
		{"a wheelchair never differs", one, says{say("move.transfer", aids("wheelchair"), staff(1))}, nil, nil},
		{"no aids charted", oneNoWalk, says{say("move.transfer", aids("walker-2w"), staff(1))}, nil, nil},
		{"no aids charted, walks independently", alone, says{say("move.walk", aids("cane"))}, nil, []string{"A aid-differs warning"}},
		{"crutches of unsaid kind", watched, says{say("move.walk", aids("crutch"))}, nil, []string{"A aid-unspecific hint"}},
		{"none, and none charted", two, says{say("move.transfer", aids("none"), staff(2))}, nil, nil},
		{"walker at the bedside", one, says{say("aid.walker-2w")}, nil, nil},

		// equipment-skipped
		{"a reason before", total, says{say("aid.fault", clause(1)), say("told.nurse", clause(2)), say("move.transfer", method("pivot"), staff(2), clause(3))}, nil,
			[]string{"A equipment-skipped error"}},
		{"a reason after", one, says{say("move.walk", aids("none"), clause(1)), say("reason.no-equipment", clause(2))}, nil,
			[]string{"A aid-missing error", "A equipment-skipped error"}},
		{"helpers only, with a reason", total, says{say("reason.no-staff", clause(1)), say("move.transfer", staff(1), clause(2))}, nil,
			[]string{"A equipment-skipped error"}},
		{"the reason is for another move", total, says{say("reason.no-staff", clause(1)), say("move.transfer", method("total-lift"), staff(1), between("bed", "toilet"), clause(1)),
			say("move.transfer", staff(2), between("", "bed"), clause(3))}, nil, []string{"A lift-one-helper error", "A method-unstated warning"}},
		{"another lift was used", sitStand, says{say("aid.fault"), say("told.nurse"), say("move.transfer", method("sit-stand-lift"), staff(2))}, nil, nil},
		{"no lift charted", two, says{say("move.transfer", staff(1)), say("reason.no-staff")}, nil, []string{"A method-below-chart error"}},

		// wording
		{"lifted, the chart has her take part", two, says{say("move.lift", staff(2), byHand)}, nil, []string{"A lift-wording warning"}},
		{"lifted, dead weight", two, says{say("move.lift", staff(2), byHand)}, remark(lexicon.NoPart, 1), []string{"A manual-lift error"}},
		{"lifted, could not bear weight", two, says{say("bearing.able", negated), say("move.lift", staff(2), byHand)}, nil, []string{"A manual-lift error"}},
		{"lifted, lift charted", total, says{say("move.lift", staff(2), byHand)}, nil, []string{"A manual-lift error"}},
		{"lifted, both legs bear none", board2, says{say("move.lift", staff(2), byHand)}, remark(lexicon.NoPart, 1), []string{"A manual-lift error"}},
		{"lifted by machine", total, says{say("move.lift", method("total-lift"), staff(2))}, nil, nil},
		{"lifted off the floor", one, says{say("fall.assessed"), say("fall.moved", staff(3), byHand)}, nil, []string{"A manual-lift error"}},
		{"helped off the floor", one, says{say("fall.assessed"), say("fall.moved", staff(2))}, nil, nil},
		{"helpers unsaid", total, says{say("move.lift", method("total-lift"))}, nil, []string{"A helpers-unstated hint"}},
		{"helpers said beside", total, says{say("move.lift", method("total-lift")), say("assist.level", staff(2))}, nil, nil},
		{"no help asked", alone, says{say("move.transfer", aids("belt"))}, nil, nil},
		{"no aid named, none charted", two, says{say("move.walk", negated)}, nil, nil},
		{"vague", oneNoWalk, nil, remark(lexicon.Vague, 1), []string{"A vague-help hint"}},
		{"vague, but a number", oneNoWalk, says{say("move.transfer", staff(1), clause(1))}, remark(lexicon.Vague, 1), nil},
		{"two statuses", oneNoWalk, says{say("bearing.none", side("both"), past), say("bearing.full", side("left")), say("bearing.full", side("right"))}, nil, nil},
		{"two ranks, one transfer", one, says{say("move.transfer", staff(1), between("bed", "chair")), say("move.transfer", staff(0), between("bed", "chair"))}, nil,
			[]string{"A method-below-chart error", "A self-conflict error"}},
		{"two ranks at two times", one, says{say("move.transfer", staff(1), between("bed", "chair"), clock("08:00")), say("move.transfer", staff(0), between("bed", "chair"), clock("12:00"))}, nil,
			[]string{"A method-below-chart error"}},
		{"two ranks, other places", one, says{say("move.transfer", staff(1), between("bed", "chair")), say("move.transfer", staff(0), between("chair", "bed"))}, nil,
			[]string{"A method-below-chart error"}},

		// safety
		{"lift with one", total, says{say("move.lift", method("total-lift"), staff(1))}, nil, []string{"A lift-one-helper error"}},
		{"lift with one, off the floor", one, says{say("fall.assessed"), say("fall.moved", method("lift"), staff(1))}, nil, []string{"A lift-one-helper error"}},
		{"dizzy", alone, says{say("sign.dizzy")}, nil, []string{"A rising-no-vitals warning", "A rising-not-told warning"}},
		{"perhaps dizzy", alone, says{say("sign.dizzy", possible)}, nil, []string{"A rising-no-vitals hint", "A rising-not-told hint"}},
		{"dizzy twice is told once", alone, says{say("sign.dizzy"), say("sign.faint"), say("vital.taken")}, nil, []string{"A rising-not-told warning"}},
		{"weak", alone, says{say("sign.weak")}, nil, nil},
		{"weak on rising", alone, says{say("sign.weak", rising), say("told.doctor")}, nil, []string{"A rising-no-vitals warning"}},
		{"unsteady", alone, says{say("sign.unsteady")}, nil, nil},
		{"will tell the nurse", alone, says{say("sign.dizzy"), say("vital.pulse"), say("told.nurse", planned)}, nil, []string{"A rising-not-told warning"}},
		{"told the family", alone, says{say("sign.dizzy"), say("vital.pulse"), say("told.family")}, nil, []string{"A rising-not-told warning"}},
		{"pressure drops, told", alone, says{bp("lying", 140, 80), bp("standing", 120, 78), say("told.nurse")}, nil, []string{"A pressure-drop warning"}},
		{"pressure drops, not told", alone, says{bp("lying", 140, 80), bp("sitting", 135, 70)}, nil, []string{"A pressure-drop error"}},
		{"a little less", alone, says{bp("lying", 140, 80), bp("standing", 121, 71)}, nil, nil},
		{"pressure drops on lying down", alone, says{bp("standing", 140, 80), bp("lying", 110, 60)}, nil, nil},
		{"posture unsaid", alone, says{bp("", 140, 80), bp("", 110, 60)}, nil, nil},
		{"fell", alone, says{say("fall.cause"), say("fall.fell"), say("fall.injury", negated)}, nil, []string{"A fall-not-told error"}},
		{"fell, told, injury unsaid", alone, says{say("fall.cause"), say("fall.fell"), say("told.nurse")}, nil, []string{"A fall-injury-unstated hint"}},
		{"nearly fell", alone, says{say("fall.near")}, nil, nil},
		{"caught", alone, says{say("fall.caught")}, nil, []string{"A fall-caught warning"}},
		{"found, head unsaid", alone, says{say("fall.cause"), say("fall.found"), say("fall.injury", negated), say("told.nurse")}, nil, []string{"A fall-head-unchecked warning"}},
		{"found, head ruled out", alone, says{say("fall.cause"), say("fall.found"), say("fall.head", negated), say("fall.injury", negated), say("told.nurse")}, nil, nil},
		{"head struck, no vitals", alone, says{say("fall.cause"), say("fall.fell"), say("fall.head"), say("fall.injury"), say("told.nurse")}, nil, []string{"A fall-head-unchecked warning"}},
		{"head struck, perhaps", alone, says{say("fall.cause"), say("fall.fell"), say("fall.head", possible), say("fall.injury"), say("told.nurse")}, nil, []string{"A fall-head-unchecked hint"}},
		{"head struck, vitals", alone, says{say("fall.cause"), say("fall.fell"), say("fall.head"), say("fall.injury"), say("told.nurse"), say("vital.taken")}, nil, nil},
		{"fell last week", alone, says{say("fall.fell", past)}, nil, nil},
		{"altered", one, says{say("aid.fit", fit("altered"), aids("walker-4w"))}, nil, []string{"A aid-altered warning"}},
		{"altered, physio told", one, says{say("aid.fit", fit("altered"), aids("walker-4w")), say("told.therapy")}, nil, nil},
		{"fits", one, says{say("aid.fit", fit("right"))}, nil, nil},
		{"fits wrongly", one, says{say("aid.fit", fit("wrong")), say("told.therapy")}, nil, []string{"A aid-misfit warning"}},
		{"fault, told the family", one, says{say("aid.fault"), say("told.family")}, nil, nil},
		{"fault", one, says{say("aid.fault")}, nil, []string{"A aid-fault-not-told warning"}},
		{"cane as charted", aloneCane, says{say("move.walk", aids("cane"), assist("independent"))}, nil, nil},
	} {
		t.Run(tt.name, func(t *testing.T) {
			got, _ := judge(t, policy.Default(), chartOf(t, tt.row), entry{at: day1, role: lexicon.CareWorker, says: tt.says, remarks: tt.remarks})
			if d := cmp.Diff(tt.want, got); d != "" {
				t.Errorf("findings (-want +got):\n%s", d)
			}
		})
	}
}

// TestNotes holds several notes against each other and the chart.
func TestNotes(t *testing.T) {
	type says = []lexicon.Statement
	const (
		one   = from + ",,,,one-person,1,belt,no"
		alone = from + ",,,,independent,,,independent"
		nwb   = from + "nwb,,,,board,1,board,no"
		later = "2026-03-10T18:00:00Z,,pwb:50,,,,board,1,board,no"
	)
	lifted := says{say("move.transfer", staff(2), method("total-lift"))}
	alike := says{say("move.transfer", staff(1))}
	quiet := says{say("told.family")}
	fell := says{say("fall.fell"), say("fall.cause"), say("fall.injury", negated), say("told.nurse")}
	for _, tt := range []struct {
		name    string
		rows    []string
		entries []entry
		want    []string
	}{
		{"ranks two apart", nil, []entry{{at: day1, says: lifted}, {at: eve1, says: alike}},
			[]string{"A chart-missing hint", "B shift-conflict warning"}},
		{"a shift between them", nil, []entry{{at: day1, says: lifted}, {at: night1, says: alike}}, []string{"A chart-missing hint"}},
		{"a review between them", nil, []entry{{at: day1, says: lifted}, {at: eve1, says: says{say("review.done")}}, {at: "2026-03-10 22:00", says: alike}},
			[]string{"A chart-missing hint"}},
		{"told against the chart already", []string{one}, []entry{{at: day1, says: alike}, {at: eve1, says: lifted}},
			[]string{"B method-above-chart warning"}},
		{"back to the chart", []string{one}, []entry{{at: day1, says: lifted}, {at: eve1, says: alike}},
			[]string{"A method-above-chart warning", "B shift-conflict warning"}},
		{"bearing of one side", nil, []entry{{at: day1, says: says{say("bearing.none", side("left"))}}, {at: eve1, says: says{say("bearing.partial", side("left"))}}},
			[]string{"A chart-missing hint", "B shift-conflict warning"}},
		{"bearing of two sides", nil, []entry{{at: day1, says: says{say("bearing.none", side("left"))}}, {at: eve1, says: says{say("bearing.partial", side("right"))}}},
			[]string{"A chart-missing hint"}},
		{"the chart changed", []string{nwb, later}, []entry{{at: day1, says: says{say("bearing.none", side("left"))}}, {at: eve1, says: says{say("bearing.partial", side("left"))}}}, nil},
		{"the status before", []string{nwb, later}, []entry{{at: eve1, says: says{say("bearing.none", side("left"))}}}, []string{"A stale-status warning"}},
		{"a status that never was", []string{nwb, later}, []entry{{at: eve1, says: says{say("bearing.toe-touch", side("left"))}}}, []string{"A bearing-mismatch error"}},

		{"ordered, charted within a day", []string{nwb, later}, []entry{{at: day1, role: lexicon.Doctor, says: says{say("bearing.partial", side("left"), percent(50), order)}}}, nil},
		{"ordered, charted too late", []string{nwb, later}, []entry{{at: "2026-03-09 13:30", role: lexicon.Doctor, says: says{say("bearing.partial", side("left"), percent(50), order)}}},
			[]string{"A change-uncharted warning"}},
		{"ordered otherwise", []string{nwb, later}, []entry{{at: day1, role: lexicon.Nurse, says: says{say("bearing.full", side("left"), order)}}}, []string{"A change-uncharted warning"}},
		{"ordered, as charted", []string{nwb}, []entry{{at: day1, role: lexicon.Nurse, says: says{say("bearing.none", order)}}}, nil},
		{"quoted by a care worker", []string{nwb}, []entry{{at: day1, role: lexicon.CareWorker, says: says{say("bearing.full", side("left"), order)}}}, nil},

		{"silent", []string{one}, []entry{{at: day1, says: alike}, {at: eve1, says: quiet}, {at: night1, says: alike}}, []string{"B shift-silent hint"}},
		{"silent at the end", []string{one}, []entry{{at: day1, says: alike}, {at: eve1, says: quiet}}, nil},
		{"no note at all", []string{one}, []entry{{at: day1, says: alike}, {at: night1, says: alike}}, []string{" shift-silent hint"}},
		{"two shifts with no note", []string{one}, []entry{{at: day1, says: alike}, {at: day2, says: alike}}, nil},
		{"another note of the shift speaks", []string{one}, []entry{{at: day1, says: alike}, {at: eve1, says: quiet}, {at: "2026-03-10 22:00", says: alike}, {at: night1, says: alike}}, nil},
		{"no help asked", []string{alone}, []entry{{at: day1, says: alike[:0]}, {at: eve1, says: quiet}, {at: night1}}, nil},
		{"refusal is not silence", []string{one}, []entry{{at: day1, says: alike}, {at: eve1, says: says{say("move.refused")}}, {at: night1, says: alike}}, nil},
		{"another's move is silence", []string{one}, []entry{{at: day1, says: alike}, {at: eve1, says: says{say("move.walk", other)}}, {at: night1, says: alike}}, []string{"B shift-silent hint"}},

		{"fell, not followed up", []string{alone}, []entry{{at: day1, says: fell}, {at: eve1, says: quiet}}, []string{"B follow-up-missing warning"}},
		{"fell, vitals after", []string{alone}, []entry{{at: day1, says: fell}, {at: eve1, says: says{say("vital.pulse")}}}, nil},
		{"fell, next shift has no note", []string{alone}, []entry{{at: day1, says: fell}, {at: night1, says: quiet}}, nil},
		{"nearly fell", []string{alone}, []entry{{at: day1, says: says{say("fall.near")}}, {at: eve1, says: quiet}}, nil},
		{"pressure dropped", []string{alone}, []entry{{at: day1, role: lexicon.Nurse, says: says{bp("lying", 140, 80), bp("standing", 110, 70), say("told.doctor")}}, {at: eve1, says: quiet}},
			[]string{"A pressure-drop warning", "B follow-up-missing warning"}},

		{"no row yet", []string{"2026-03-11T09:00:00Z,,,,,,one-person,1,,no"}, []entry{{at: day1, says: alike}, {at: eve1, says: alike}}, []string{"A chart-missing hint"}},
	} {
		t.Run(tt.name, func(t *testing.T) {
			got, _ := judge(t, policy.Default(), chartOf(t, tt.rows...), tt.entries...)
			if d := cmp.Diff(tt.want, got); d != "" {
				t.Errorf("findings (-want +got):\n%s", d)
			}
		})
	}
}

// With no chart given, nobody asks for one.
func TestNoChart(t *testing.T) {
	got, _ := judge(t, policy.Default(), nil, entry{at: day1, says: []lexicon.Statement{say("move.walk", aids("cane"))}})
	if got != nil {
		t.Errorf("findings with no chart: %v, want none", got)
	}
}

func TestPolicy(t *testing.T) {
	says := []lexicon.Statement{say("bearing.none", side("left"))}
	rows := []string{from + "nwb,,,,board,1,board,no", "2026-03-06T12:00:00Z,,pwb:50,,,,board,1,board,no"}
	for _, tt := range []struct {
		name string
		set  map[string]finding.Severity
		says []lexicon.Statement
		want []string
	}{
		{"own severity", map[string]finding.Severity{"stale-status": finding.Error}, says, []string{"A stale-status error"}},
		{"a rule that is off silences nobody", map[string]finding.Severity{"stale-status": finding.Off}, says, []string{"A bearing-mismatch error"}},
		{"a set severity is not raised", map[string]finding.Severity{"pressure-drop": finding.Hint},
			[]lexicon.Statement{bp("lying", 140, 80), bp("standing", 110, 60)}, []string{"A pressure-drop hint"}},
	} {
		t.Run(tt.name, func(t *testing.T) {
			p := policy.Default()
			p.Rules = tt.set
			got, _ := judge(t, p, chartOf(t, rows...), entry{at: day1, says: tt.says})
			if d := cmp.Diff(tt.want, got); d != "" {
				t.Errorf("findings (-want +got):\n%s", d)
			}
		})
	}
}

// One cause is told once, and the rule that tells it names those that it speaks for.
func TestCovers(t *testing.T) {
	_, found := judge(t, policy.Default(), chartOf(t, from+"nwb,,,,sit-stand-lift,2,,no"),
		entry{at: day1, says: []lexicon.Statement{say("move.walk", aids("cane"), staff(1))}})
	covers := map[string][]string{}
	for _, f := range found {
		covers[f.Rule] = f.Covers
	}
	if want := []string{"walk-not-charted"}; !cmp.Equal(covers["load-over-limit"], want) {
		t.Errorf("load-over-limit covers %v, want %v", covers["load-over-limit"], want)
	}
	if _, twice := covers["walk-not-charted"]; twice {
		t.Error("walk-not-charted speaks beside the rule that covers it")
	}
}

func TestThresholds(t *testing.T) {
	p := policy.Default()
	p.LiftHelpers, p.SystolicDrop, p.DiastolicDrop, p.ToeTouchCap = 1, 30, 15, 0.5
	row := from + "ttwb,ttwb,,,total-lift,,,with-aid"
	got, _ := judge(t, p, chartOf(t, row), entry{at: day1, role: lexicon.Nurse, says: []lexicon.Statement{
		say("move.transfer", method("total-lift"), staff(1)),
		say("move.walk", aids("walker-2w")),
		bp("lying", 140, 80), bp("standing", 111, 66),
	}})
	if got != nil {
		t.Errorf("findings under a policy that allows it all: %v, want none", got)
	}
}

func TestRewrite(t *testing.T) {
	for _, tt := range []struct {
		text, words string
		concept     string
		tense       lexicon.Tense
		edits       []edit
		want        string // the rewrite's text
	}{
		{"Lifted to chair x2.", "Lifted", "move.lift", lexicon.Past, []edit{byHand}, "Transferred"},
		{"LIFTED TO CHAIR X2.", "LIFTED", "move.lift", lexicon.Past, []edit{byHand}, "TRANSFERRED"},
		{"we lift her to the chair", "lift", "move.lift", lexicon.Base, []edit{byHand}, "transfer"},
		{"he lifts her to the chair", "lifts", "move.lift", lexicon.Third, []edit{byHand}, "transfers"},
		{"after lifting her to the chair", "lifting", "move.lift", lexicon.Gerund, []edit{byHand}, "transferring"},
		{"we lift Her to the chair", "lift Her", "move.lift", lexicon.Base, []edit{byHand}, "transfer Her"},
		{"lifted her up to the chair", "lifted her up", "move.lift", lexicon.Past, []edit{byHand}, "transferred her"},
		{"picked up to the chair", "picked up", "move.lift", lexicon.Past, []edit{byHand}, "transferred"},
		{"Transferred to chair, total lift", "Transferred", "move.transfer", lexicon.Past, []edit{method("total-lift")}, "Lifted"},
		{"trf to chair, total lift", "trf", "move.transfer", lexicon.Past, []edit{method("total-lift")}, "lifted"},
		{"XFER TO CHAIR, TOTAL LIFT", "XFER", "move.transfer", lexicon.Past, []edit{method("total-lift")}, "LIFTED"},
		{"transferring her, total lift", "transferring", "move.transfer", lexicon.Gerund, []edit{method("total-lift")}, "lifting"},
		{"moved to chair, total lift", "moved", "move.transfer", lexicon.Past, []edit{method("total-lift")}, ""},
		{"Transfers: total lift", "Transfers", "move.transfer", lexicon.NounForm, []edit{method("total-lift")}, ""},
	} {
		row := from + ",,,,two-person,2,,no"
		if tt.concept == "move.transfer" {
			row = from + ",,,,total-lift,2,,no"
		}
		s := say(tt.concept, append(tt.edits, staff(2), head(tt.text, tt.words, tt.tense))...)
		_, fs := judge(t, policy.Default(), chartOf(t, row), entry{at: day1, text: tt.text, says: []lexicon.Statement{s}})
		got := ""
		for _, f := range fs {
			if f.Rewrite == nil {
				continue
			}
			got = f.Rewrite.Text
			if tt.text[f.Rewrite.Start:f.Rewrite.End] != tt.words {
				t.Errorf("%q: rewrites %q, want %q", tt.text, tt.text[f.Rewrite.Start:f.Rewrite.End], tt.words)
			}
		}
		if got != tt.want {
			t.Errorf("%q: rewrite %q, want %q", tt.text, got, tt.want)
		}
	}
}

func TestRewriteAid(t *testing.T) {
	for _, tt := range []struct{ text, words, general, charted, want string }{
		{"Walked with walker", "walker", "walker", "walker-2w", "two-wheeled walker"},
		{"WALKED WITH WALKER", "WALKER", "walker", "walker-4w", "FOUR-WHEELED WALKER"},
		{"Walked with his frame", "frame", "walker", "walker-standard", "walker without wheels"},
		{"Crutches, walked to the door", "Crutches", "crutch", "crutch-forearm", "Forearm crutches"},
		{"Walked with walker", "walker", "walker", "walker-2w;walker-4w", ""},
	} {
		i := strings.Index(tt.text, tt.words)
		s := say("move.walk", aids(tt.general))
		s.Detail.Terms = []lexicon.Mark{{Field: "aids", Span: lexicon.Span{Start: i, End: i + len(tt.words), Line: 1, Column: 1 + i}}}
		_, fs := judge(t, policy.Default(), chartOf(t, from+",,,,one-person,1,"+tt.charted+",with-aid"),
			entry{at: day1, text: tt.text, says: []lexicon.Statement{s}})
		if len(fs) != 1 || fs[0].Rule != "aid-unspecific" || fs[0].Text != tt.words {
			t.Fatalf("%q: findings %+v, want aid-unspecific at %q", tt.text, fs, tt.words)
		}
		got := ""
		if fs[0].Rewrite != nil {
			got = fs[0].Rewrite.Text
		}
		if got != tt.want {
			t.Errorf("%q: rewrite %q, want %q", tt.text, got, tt.want)
		}
	}
}

// Messages show the values, and findings carry their place and evidence.
// What is too much is said in words that need no sum.
func TestTooMuch(t *testing.T) {
	for _, tt := range []struct {
		row  string
		says lexicon.Statement
		want string
	}{
		{"ttwb,,,,one-person-pivot,1,walker-2w,with-aid", say("move.walk", aids("cane")), "a cane is not enough: the left leg may only touch the floor"},
		{",pwb:30,,,one-person-pivot,1,crutch-axillary,with-aid", say("move.walk", aids("none")), "without an aid it is too much: the right leg may take 30% of the body weight at most"},
		{"nwb,,,,one-person-pivot,1,walker-4w,with-aid", say("move.walk"), "the charted four-wheeled walker is not enough: the left leg may take no weight"},
		{"nwb,,,,one-person-pivot,1,,with-aid", say("move.walk"), "no aid is named or charted, and it is too much: the left leg may take no weight"},
		{"nwb,,nwb,,one-person-pivot,1,walker-2w,with-aid", say("move.walk", aids("walker-2w")), "an aid does not help, since the left arm may put no weight on the aid: the left leg may take no weight"},
		{"nwb,nwb,,,total-lift,2,,no", say("move.walk", aids("walker-2w")), "walking is too much for the two legs together: each leg may take no weight"},
		{"nwb,ttwb,,,total-lift,2,,no", say("move.transfer", func(s *lexicon.Statement) { s.Method = "pivot" }), "a pivot is too much: the left leg may take no weight, the right leg may only touch the floor"},
		{",,nwb,nwb,board,1,,no", say("move.transfer", func(s *lexicon.Statement) { s.Method = "board" }), "over a board an arm must push, and neither may take weight"},
	} {
		_, fs := judge(t, policy.Default(), chartOf(t, from+tt.row), entry{at: day1, text: "Moved.", says: []lexicon.Statement{tt.says}})
		i := slices.IndexFunc(fs, func(f finding.Finding) bool { return f.Rule == "load-over-limit" })
		if i < 0 || fs[i].Message != tt.want+" (chart since 2 Mar 09:00)" || fs[i].Sum == "" {
			t.Errorf("%s: want %q, got %+v", tt.row, tt.want, fs)
		}
	}
}

// Where no aid makes a move safe, nobody is told to fetch one for the next.
func TestAdviceDoesNotContradict(t *testing.T) {
	for _, tt := range []struct {
		name, row string
		says      lexicon.Statement
		rule      string
		want      bool // to be told to use the charted aid
	}{
		{"no walking, another aid", "nwb,,,,two-person-pivot,2,walker-2w,no", say("move.walk", aids("cane")), "aid-differs", false},
		{"no walking, no aid", "fwb,,,,two-person-pivot,2,walker-2w,no", say("move.walk", aids("none")), "aid-missing", false},
		{"the charted aid is too little", "nwb,,,,one-person-pivot,1,walker-4w,with-aid", say("move.walk", aids("cane")), "aid-differs", false},
		{"the charted aid will do", "nwb,,,,one-person-pivot,1,walker-2w,with-aid", say("move.walk", aids("cane")), "aid-differs", true},
	} {
		_, fs := judge(t, policy.Default(), chartOf(t, from+tt.row), entry{at: day1, text: "Walked.", says: []lexicon.Statement{tt.says}})
		i := slices.IndexFunc(fs, func(f finding.Finding) bool { return f.Rule == tt.rule })
		if i < 0 {
			t.Errorf("%s: no finding of %s in %+v", tt.name, tt.rule, fs)
			continue
		}
		if got := strings.Contains(fs[i].Advice, "charted aid"); got != tt.want {
			t.Errorf("%s: advice %q", tt.name, fs[i].Advice)
		}
	}
}

func TestFinding(t *testing.T) {
	_, fs := judge(t, policy.Default(), chartOf(t, from+"nwb,,,,one-person-pivot,1,walker-2w;belt,with-aid"),
		entry{at: day1, text: "Walked 10 m with cane.", says: []lexicon.Statement{
			say("move.walk", aids("cane"), func(s *lexicon.Statement) { s.DistanceM = lexicon.Some(10.0) }),
		}})
	got := fs[slices.IndexFunc(fs, func(f finding.Finding) bool { return f.Rule == "load-over-limit" })]
	want := finding.Finding{
		Rule: "load-over-limit", Severity: finding.Error, Resident: "R", Note: "A", Shift: "2026-03-10/day",
		Span: lexicon.Span{Start: 0, End: 1, Line: 1, Column: 1}, Text: "W",
		Message: "a cane is not enough: the left leg may take no weight (chart since 2 Mar 09:00)",
		Sum: "left leg no weight (NWB); walked 10 m with a cane, " +
			"which leaves 75% of the body weight on each leg in turn; the chart allows 0% on the left leg",
		Advice: "Tell the nurse now what happened, and watch the limb for pain and swelling. Before the next move, ask how this resident may be moved.",
		Evidence: []finding.Evidence{{Chart: &finding.ChartValue{
			From: time.Date(2026, 3, 2, 9, 0, 0, 0, time.UTC), Field: "left_leg", Value: "nwb"}}},
		Time: time.Date(2026, 3, 10, 13, 30, 0, 0, time.UTC),
	}
	if d := cmp.Diff(want, got); d != "" {
		t.Errorf("finding (-want +got):\n%s", d)
	}
}
