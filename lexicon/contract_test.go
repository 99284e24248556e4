package lexicon_test

import (
	"cmp"
	"testing"

	gocmp "github.com/google/go-cmp/cmp"

	"example.com/stance/lexicon"
)

// withDefaults fills in what a statement leaves unsaid.
func withDefaults(s lexicon.Statement) lexicon.Statement {
	s.Polarity = cmp.Or(s.Polarity, lexicon.Affirmed)
	s.Time = cmp.Or(s.Time, lexicon.Now)
	s.Who = cmp.Or(s.Who, lexicon.Resident)
	s.Certainty = cmp.Or(s.Certainty, lexicon.Certain)
	s.Mood = cmp.Or(s.Mood, lexicon.Report)
	return s
}

// TestContract reads the examples that the contract of the statements gives.
func TestContract(t *testing.T) {
	type want = lexicon.Statement
	some := lexicon.Some[int]
	tests := []struct {
		name, text string
		role       lexicon.Role // care worker if empty
		want       []want
	}{
		{"one clause, one move", "Transferred bed to w/c x2 with belt then walked 5 m 2WW x1", "", []want{
			{Concept: "move.transfer", Staff: some(2), Aids: []string{"belt"}, From: "bed", To: "wheelchair"},
			{Concept: "move.walk", Staff: some(1), Aids: []string{"walker-2w"}, DistanceM: lexicon.Some(5.0)},
		}},
		{"negation ends at the comma before a verb", "Did not walk, transferred x2", "", []want{
			{Concept: "move.walk", Polarity: lexicon.Negated},
			{Concept: "move.transfer", Staff: some(2)},
		}},
		{"negation of a list", "No dizziness or nausea on standing", "", []want{
			{Concept: "sign.dizzy", Polarity: lexicon.Negated, Posture: "standing"},
			{Concept: "sign.nausea", Polarity: lexicon.Negated, Posture: "standing"},
		}},
		{"no issues is no negation", "No issues with transfers", "", []want{{Concept: "move.transfer"}}},
		{"denied sign", "Denies dizziness", "", []want{{Concept: "sign.dizzy", Polarity: lexicon.Negated}}},
		{"denied fall", "Denies falling", "", []want{{Concept: "fall.fell", Polarity: lexicon.Negated}}},
		{"someone else's aid", "Wife uses a walker", "", []want{{Concept: "aid.walker", Who: lexicon.Other}}},
		{"someone else's fall", "Room-mate fell", "", []want{{Concept: "fall.fell", Who: lexicon.Other}}},
		{"care is handed over", "Writer transferred care to RN", "", nil},
		{"to hospital", "Transferred to hospital", "", nil},
		{"to another unit", "Transfer to another unit", "", nil},
		{"mood", "Lifted mood", "", nil},
		{"restrictions", "Lifted restrictions", "", nil},
		{"staff walk", "Walked into room to find", "", nil},
		{"asleep", "Fell asleep", "", nil},
		{"bed rails", "Bed side rails up", "", nil},
		{"history", "Fell last week", "", []want{{Concept: "fall.fell", Time: lexicon.Before}}},
		{"plan", "PT to trial crutches tomorrow", "", []want{{Concept: "aid.crutch", Time: lexicon.Planned}}},
		{"condition", "If dizzy sit down", "", []want{{Concept: "sign.dizzy", Time: lexicon.Conditional}}},
		{"arrow", "TTWB → PWB 50% R leg", "", []want{
			{Concept: "bearing.toe-touch", Time: lexicon.Before, Limb: "leg", Side: "right"},
			{Concept: "bearing.partial", Limb: "leg", Side: "right", Percent: lexicon.Some(50.0)},
		}},
		{"header of a therapist", "Transfers: A2 mech lift. WB: NWB L", lexicon.Therapist, []want{
			{Concept: "move.transfer", Staff: some(2), Method: "lift", Mood: lexicon.Order},
			{Concept: "bearing.none", Limb: "leg", Side: "left", Mood: lexicon.Order},
		}},
		{"header of a care worker", "Transfers: A2 mech lift. WB: NWB L", "", []want{
			{Concept: "move.transfer", Staff: some(2), Method: "lift"},
			{Concept: "bearing.none", Limb: "leg", Side: "left"},
		}},
		{"limb joined after", "NWB LLE", "", []want{{Concept: "bearing.none", Limb: "leg", Side: "left"}}},
		{"limb before", "L leg NWB", "", []want{{Concept: "bearing.none", Limb: "leg", Side: "left"}}},
		{"limb with a hyphen", "LLE-NWB", "", []want{{Concept: "bearing.none", Limb: "leg", Side: "left"}}},
		{"side in brackets", "NWB (L)", "", []want{{Concept: "bearing.none", Limb: "leg", Side: "left"}}},
		{"full stops", "n.w.b. right arm", "", []want{{Concept: "bearing.none", Limb: "arm", Side: "right"}}},
		{"slashes", "N/W/B BLE", "", []want{{Concept: "bearing.none", Limb: "leg", Side: "both"}}},
		{"equal statements", "Walked x1. Walked x1.", "", []want{{Concept: "move.walk", Staff: some(1)}, {Concept: "move.walk", Staff: some(1)}}},
		{"no falls", "No falls this shift", "", []want{{Concept: "fall.fell", Polarity: lexicon.Negated}}},
		{"habit", "Mobilises with 4WW", "", []want{{Concept: "move.walk", Aids: []string{"walker-4w"}}}},
		{"manner", "Walked slowly, steady", "", []want{{Concept: "move.walk"}}},
		{"staff use a lift", "Two staff used the mech lift", "", []want{{Concept: "move.transfer", Method: "lift", Staff: some(2)}}},
		{"with the writer", "Walked with writer", "", []want{{Concept: "move.walk", Staff: some(1)}}},
		{"with the writer and another", "Transferred with writer and another", "", []want{{Concept: "move.transfer", Staff: some(2)}}},
		{"aware", "RN aware", "", []want{{Concept: "told.nurse"}}},
		{"reported", "Reported to charge", "", []want{{Concept: "told.nurse"}}},
		{"will tell", "Will tell RN", "", []want{{Concept: "told.nurse", Time: lexicon.Planned}}},
		{"an assist that is no mobility", "x1 assist with ADLs", "", nil},
		{"an assist with a move", "A2 all transfers", "", []want{{Concept: "move.transfer", Staff: some(2)}}},
		{"by oneself", "Transferred by self", "", []want{{Concept: "move.transfer", Staff: some(0)}}},
		{"not able", "Not able to bear weight today", "", []want{{Concept: "bearing.able", Polarity: lexicon.Negated, Limb: "leg"}}},
		{"aid at the bedside", "Walker at bedside", "", []want{{Concept: "aid.walker"}}},
		{"new aid", "New rollator delivered", "", []want{{Concept: "aid.walker-4w"}}},
		{"ill fit", "Walker handles above the wrist crease", "", []want{{Concept: "aid.fit", Fit: "wrong", Aids: []string{"walker"}}}},
		{"order by words", "Transfers: mech lift x2 per physio", "", []want{
			{Concept: "move.transfer", Staff: some(2), Method: "lift", Mood: lexicon.Order},
		}},
		{"kept order", "Keep NWB", lexicon.Nurse, []want{{Concept: "bearing.none", Limb: "leg", Mood: lexicon.Order}}},
		{"was until", "Was NWB until Monday", "", []want{{Concept: "bearing.none", Limb: "leg", Time: lexicon.Before}}},
		{"doubt", "?NWB", "", []want{{Concept: "bearing.none", Limb: "leg", Certainty: lexicon.Possible}}},
		{"seems", "Seems dizzy", "", []want{{Concept: "sign.dizzy", Certainty: lexicon.Possible}}},
		{"both legs", "Both legs WBAT", "", []want{{Concept: "bearing.tolerated", Limb: "leg", Side: "both"}}},
		{"bilateral", "WBAT bilat", "", []want{{Concept: "bearing.tolerated", Limb: "leg", Side: "both"}}},
		{"up in the chair", "Up in chair", "", []want{{Concept: "move.up", To: "chair"}}},
		{"up with a walker", "Up with walker", "", []want{{Concept: "move.up", Aids: []string{"walker"}}}},
		{"reason", "Not walked as no time", "", []want{{Concept: "move.walk", Polarity: lexicon.Negated}, {Concept: "reason.no-time"}}},
		{"unaided", "Walked unaided", "", []want{{Concept: "move.walk", Aids: []string{"none"}}}},
		{"no aid, said alone", "Uses no walking aid", "", []want{{Concept: "aid.none"}}},
		{"off the floor by hand", "Lifted off the floor x3", "", []want{{Concept: "fall.moved", Staff: some(3)}}},
		{"no loss of balance", "No LOB", "", []want{{Concept: "fall.near", Polarity: lexicon.Negated}}},
		{"will be told", "Physio referral sent", "", []want{{Concept: "review.asked"}}},
		{"vitals without figures", "VS stable", "", []want{{Concept: "vital.taken"}}},
		{"boosted", "Boosted up in bed x2", "", []want{{Concept: "move.reposition", Staff: some(2)}}},
	}
	lex := newLexicon(t)
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			role := tt.role
			if role == "" {
				role = lexicon.CareWorker
			}
			var want []lexicon.Statement
			for _, s := range tt.want {
				want = append(want, withDefaults(s))
			}
			got := lex.Read(tt.text, role).Statements
			if diff := gocmp.Diff(facts(t, want), facts(t, got)); diff != "" {
				t.Errorf("Read(%q, %q) (-want +got):\n%s", tt.text, role, diff)
			}
		})
	}
}
