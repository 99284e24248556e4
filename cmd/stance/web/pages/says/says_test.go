package says_test

import (
	"strings"
	"testing"

	"example.com/stance/cmd/stance/web/pages/says"
	"example.com/stance/lexicon"
	"example.com/stance/lint/chart"
)

func words(t *testing.T) (*lexicon.Lexicon, *says.Words) {
	t.Helper()
	lex, err := lexicon.New()
	if err != nil {
		t.Fatal(err)
	}
	return lex, says.New(lex.Concepts())
}

func TestStatement(t *testing.T) {
	lex, w := words(t)
	for text, want := range map[string]string{
		"Transferred bed to w/c x2 with belt.": "transfers: 2 helpers, with transfer belt, from bed to wheelchair",
		"NWB left leg.":                        "left leg: no weight (NWB)",
		"NWB.":                                 "leg, side not said: no weight (NWB)",
		"PWB 50% both legs.":                   "both legs: at most 50% of the body weight (PWB)",
		"Walked 10 m with 2WW, supervision.":   "walks: somebody watching, with two-wheeled walker, 10 m",
		"Did not walk today.":                  "did not walk",
		"Denies dizziness.":                    "no dizziness",
		"PT to trial crutches tomorrow.":       "crutches, kind not said [planned]",
		"Walked without walker.":               "walks: no aid",
		"BP 120/80 lying.":                     "blood pressure: 120/80 mmHg, lying",
		"SpO2 95%.":                            "oxygen saturation: 95%",
		"RN notified.":                         "told: nurse",
		"Transferred with full sling lift x2 bed to chair.": "transfers: with the full sling lift, 2 helpers, from bed to chair",
		"Fell from bed. No injury found.":                   "no injury found",
		"Found on floor, did not hit head.":                 "head not struck",
		"Brakes were not on.":                               "brakes off",
		"Not able to bear weight today on left leg.":        "left leg: does not take weight",
		"Room-mate fell.":                                   "fell [about somebody else]",
		"? fell last week.":                                 "fell [from before, not sure]",
		"Incident report completed after the fall":          "report form filled in",
	} {
		var got []string
		for _, s := range lex.Read(text, lexicon.CareWorker).Statements {
			said := w.Statement(&s)
			line := said.What
			if len(said.Apart) > 0 {
				line += " [" + strings.Join(said.Apart, ", ") + "]"
			}
			got = append(got, line)
		}
		found := false
		for _, g := range got {
			found = found || g == want
		}
		if !found {
			t.Errorf("%q: got %q, want %q among them", text, got, want)
		}
	}
}

func TestRow(t *testing.T) {
	_, w := words(t)
	row := &chart.Row{
		LeftLeg: chart.Bearing{Status: chart.Partial, Percent: 50, Raw: "pwb:50"}, RightLeg: chart.Bearing{Raw: "fwb"},
		RightArm: chart.Bearing{Status: chart.None, Raw: "nwb"},
		Transfer: chart.TotalLift, Staff: chart.NoStaff, Aids: []string{"sling"}, Walk: chart.WalkNo,
	}
	var got []string
	for _, l := range w.Row(row, 2) {
		line := l.Label + ": " + strings.Join(l.Values, " and ")
		if l.Tight {
			line += "!"
		}
		got = append(got, line)
	}
	want := "Left leg: at most 50% of the body weight!; Right arm: no weight!; Helpers: 2 helpers!; Walking: not allowed!; " +
		"Right leg: full weight; Transfer: with the full sling lift; Aids: sling"
	if s := strings.Join(got, "; "); s != want {
		t.Errorf("got  %s\nwant %s", s, want)
	}
}

func TestCell(t *testing.T) {
	_, w := words(t)
	for _, tt := range []struct{ column, cell, want string }{
		{"left_leg", "nwb", "left leg: no weight (NWB)"},
		{"left_leg", "PWB:30%", "left leg: at most 30% of the body weight (PWB)"},
		{"right_arm", "", "right arm: not restricted"},
		{"transfer", "two-person-pivot", "transfer: pivot with two helpers"},
		{"staff", "2", "helpers: 2"},
		{"staff", "", "helpers: as the way of transfer needs"},
		{"aids", "walker-2w;belt", "aids: two-wheeled walker, transfer belt"},
		{"aids", "", "aids: none"},
		{"walk", "no", "walking: not allowed"},
		{"by", "therapist", "charted by: therapist"},
		{"until", "", "until: nothing charted"},
	} {
		if got := w.Cell(tt.column, tt.cell); got != tt.want {
			t.Errorf("Cell(%q, %q) = %q, want %q", tt.column, tt.cell, got, tt.want)
		}
	}
}

// TestEveryWord holds that each concept and each value that a chart may have has words of its own.
func TestEveryWord(t *testing.T) {
	lex, w := words(t)
	for _, c := range lex.Concepts() {
		said := w.Statement(&lexicon.Statement{Concept: c.ID, Polarity: lexicon.Affirmed, Time: lexicon.Now, Who: lexicon.Resident, Certainty: lexicon.Certain, Mood: lexicon.Report})
		if said.What == "" || strings.Contains(said.What, ".") || len(said.Apart) > 0 {
			t.Errorf("%s is said as %+v", c.ID, said)
		}
	}
	for _, tr := range []chart.Transfer{chart.Independent, chart.Supervised, chart.OnePerson, chart.OnePersonPivot, chart.OnePersonSide,
		chart.TwoPerson, chart.TwoPersonPivot, chart.TwoPersonSide, chart.Board, chart.SitStandLift, chart.TotalLift} {
		if got := w.Cell("transfer", string(tr)); got == "transfer: "+string(tr) {
			t.Errorf("%s has no words", tr)
		}
	}
}

func TestSomebodyWatches(t *testing.T) {
	_, w := words(t)
	for _, l := range w.Row(&chart.Row{Transfer: chart.Supervised, Staff: chart.NoStaff, Aids: []string{"walker-2w", "belt"}, Walk: chart.WalkSupervised}, 2) {
		got := strings.Join(l.Values, " and ")
		if want, ok := map[string]string{"Helpers": "1 helper, watching", "Aids": "two-wheeled walker and transfer belt"}[l.Label]; ok && got != want {
			t.Errorf("%s: %s, want %s", l.Label, got, want)
		}
	}
}
