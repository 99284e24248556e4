package chart_test

import (
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"example.com/stance/lint/chart"
)

const header = "resident,unit,from,until,left_leg,right_leg,left_arm,right_arm,transfer,staff,aids,walk,by\n"

func day(d, hour int) time.Time { return time.Date(2026, 11, d, hour, 0, 0, 0, time.UTC) }

func read(t *testing.T, in string) (*chart.Chart, []string) {
	t.Helper()
	c, bad, err := chart.Read("chart.csv", strings.NewReader(in), time.UTC)
	if err != nil {
		t.Fatal(err)
	}
	var faults []string
	for _, b := range bad {
		faults = append(faults, b.Error())
	}
	return c, faults
}

func TestResidents(t *testing.T) {
	c, err := chart.New([]chart.Row{{Resident: "R-2", From: day(1, 9)}, {Resident: "R-10", From: day(1, 9)}, {Resident: "R-2", From: day(2, 9)}})
	if err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff([]string{"R-10", "R-2"}, c.Residents()); diff != "" {
		t.Errorf("residents: -want +got:\n%s", diff)
	}
	var none *chart.Chart
	if got := none.Residents(); len(got) > 0 {
		t.Errorf("residents of no chart: %q", got)
	}
}

func TestRead(t *testing.T) {
	c, bad := read(t, header+
		"R-0412,Birch,2026-11-20T09:00:00-05:00,,nwb,fwb,,,two-person-pivot,2,walker-2w;belt,with-aid,therapist\n"+
		"R-0412,Birch,2026-11-01 09:00,2026-11-10 12:00,TTWB,PWB:25,pwb,wbat,Total-Lift,,aid.sling; sling ;,No,nurse\n")
	if bad != nil {
		t.Fatalf("bad rows: %q", bad)
	}
	want := []*chart.Row{
		{
			Resident: "R-0412", Unit: "Birch", From: day(1, 9), Until: day(10, 12),
			LeftLeg:  chart.Bearing{Status: chart.ToeTouch, Raw: "TTWB"},
			RightLeg: chart.Bearing{Status: chart.Partial, Percent: 25, Raw: "PWB:25"},
			LeftArm:  chart.Bearing{Status: chart.Partial, Raw: "pwb"},
			RightArm: chart.Bearing{Status: chart.Tolerated, Raw: "wbat"},
			Transfer: chart.TotalLift, Staff: chart.NoStaff, Aids: []string{"sling"}, Walk: chart.WalkNo, By: "nurse", Line: 3,
		},
		{
			Resident: "R-0412", Unit: "Birch", From: day(20, 14),
			LeftLeg:  chart.Bearing{Status: chart.None, Raw: "nwb"},
			RightLeg: chart.Bearing{Status: chart.Full, Raw: "fwb"},
			Transfer: chart.TwoPersonPivot, Staff: 2, Aids: []string{"walker-2w", "belt"}, Walk: chart.WalkWithAid, By: "therapist", Line: 2,
		},
	}
	if diff := cmp.Diff(want, c.Rows("R-0412")); diff != "" {
		t.Errorf("rows: -want +got:\n%s", diff)
	}
	if got := c.Rows("R-1"); got != nil {
		t.Errorf("rows of an unknown resident: %v", got)
	}
}

func TestReadForms(t *testing.T) {
	const row = "yes,independent,R-1,,2026-11-20 09:00,,,,,,independent,,,nurse\n"
	const head = "extra,Walk,RESIDENT,unit,from,until,left_leg,right_leg,left_arm,right_arm,transfer,staff,aids,by\n"
	for name, in := range map[string]string{
		"columns in another order and case": head + row,
		"BOM":                               "\uFEFF" + head + row,
		"semicolons":                        strings.ReplaceAll(head+row, ",", ";"),
		"tabs":                              strings.ReplaceAll(head+row, ",", "\t"),
		"CRLF":                              strings.ReplaceAll(head+row, "\n", "\r\n"),
	} {
		t.Run(name, func(t *testing.T) {
			c, bad := read(t, in)
			if _, ok := c.At("R-1", day(20, 9)); !ok || bad != nil {
				t.Errorf("no row read; bad rows %q", bad)
			}
		})
	}
}

// What residents are called may stand in the chart, and never stands in an error, where a column has slipped either.
func TestReadNames(t *testing.T) {
	const head = "name,room," + header
	c, bad := read(t, head+"Ash Fern,12,R-1,,2026-11-20 09:00,,,,,,independent,,,no,nurse\n"+
		",,R-2,,2026-11-20 09:00,,,,,,independent,,,no,nurse\n"+
		"12,x,R-3,,2026-11-20 09:00,,Fern,,,,independent,,,no,nurse\n"+
		"12,x,R-4,,2026-11-20 09:00,,,,,,Fern,,,no,nurse\n"+
		"12,x,R-5,,2026-11-20 09:00,,,,,,independent,Fern,,no,nurse\n"+
		"12,x,R-6,,2026-11-20 09:00,,,,,,independent,,Fern,no,nurse\n"+
		"12,x,R-7,,2026-11-20 09:00,,,,,,independent,,,Fern,nurse\n")
	r := c.Rows("R-1")[0]
	if r.Name != "Ash Fern" || r.Room != "12" || c.Rows("R-2")[0].Name != "" {
		t.Errorf("called %q, room %q", r.Name, r.Room)
	}
	if len(bad) != 5 {
		t.Errorf("%d bad rows, want 5", len(bad))
	}
	for _, what := range bad {
		if strings.Contains(what, "Fern") || strings.Contains(what, "fern") || !strings.Contains(what, "(not shown): want ") {
			t.Errorf("a bad row is told as %q", what)
		}
	}
	if got := r.Cell("name") + r.Cell("room"); got != "" {
		t.Errorf("a finding could hold %q", got)
	}
}

func TestReadFileErrors(t *testing.T) {
	all := strings.ReplaceAll(strings.TrimSpace(header), ",", ", ")
	tests := []struct{ name, in, want string }{
		{"empty", "", "chart.csv: the file is empty: want a header with the columns " + all},
		{"no header", "R-1,Birch,2026-11-20 09:00\n", "chart.csv: the header lacks " + all + ": want the columns " + all},
		{"column missing", strings.Replace(header, ",walk", "", 1), "chart.csv: the header lacks walk: want the columns " + all},
		{"columns missing", strings.Replace(header, "staff,aids,", "", 1), "chart.csv: the header lacks staff, aids: want the columns " + all},
		{"column twice", "unit," + header, "chart.csv: the header has unit twice: want each column once"},
		{"name twice", "name,name," + header, "chart.csv: the header has name twice: want each column once"},
		{"binary", header + "\x00", "chart.csv:1: want text, but this is a binary file (it has NUL bytes)"},
		{"workbook", "PK\x03\x04", "chart.csv:1: want text, but this is a workbook or an archive: save the sheet as CSV"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			c, bad, err := chart.Read("chart.csv", strings.NewReader(tt.in), time.UTC)
			if err == nil || err.Error() != tt.want || c != nil || bad != nil {
				t.Errorf("got %v, %v, error %v\nwant error %s", c, bad, err, tt.want)
			}
		})
	}
}

func TestReadBadRows(t *testing.T) {
	const (
		bearings  = "want one of nwb, ttwb, pwb, pwb:50, wbat, fwb, an empty cell"
		transfers = "want one of independent, supervised, one-person, one-person-pivot, one-person-side, two-person, " +
			"two-person-pivot, two-person-side, board, sit-stand-lift, total-lift"
		aids = "want one of cane, cane-quad, crutch, crutch-axillary, crutch-forearm, crutch-platform, walker, walker-standard, " +
			"walker-2w, walker-4w, walker-platform, wheelchair, wheelchair-power, belt, board, disc, slide-sheet, sling, " +
			"sit-stand-lift, total-lift, lift"
		forms = "want 2026-11-24T21:40:00-05:00, 2026-11-24 21:40 or 24 Nov 2026 21:40"
	)
	// Each row replaces one cell of a good one.
	tests := []struct{ col, cell, want string }{
		{"resident", " ", "resident is empty: want the resident's id"},
		{"from", "", "from: " + forms + "; it is empty"},
		{"from", "20/11/2026 09:00", "from: " + forms + "; day and month in figures can be read two ways"},
		{"from", "2026-11-20", "from: " + forms + "; the time of day is missing"},
		{"until", "soon", "until: " + forms},
		{"until", "2026-11-20 09:00", "until: want a time after from"},
		{"left_leg", "nbw", `left_leg "nbw": ` + bearings + ` (nearest is "nwb")`},
		{"right_leg", "pwb:0", `right_leg "pwb:0": ` + bearings + ` (nearest is "pwb:50")`},
		{"right_leg", "pwb:101", `right_leg "pwb:101": ` + bearings + ` (nearest is "pwb:50")`},
		{"left_arm", "nwb:50", `left_arm "nwb:50": ` + bearings + ` (nearest is "pwb:50")`},
		{"right_arm", "as tolerated", `right_arm "as tolerated": ` + bearings},
		{"transfer", "two-persn-pivot", `transfer "two-persn-pivot": ` + transfers + ` (nearest is "two-person-pivot")`},
		{"transfer", "", `transfer "": ` + transfers},
		{"staff", "two", `staff "two": want a whole number of helpers from 0 to 9, or an empty cell`},
		{"staff", "-1", `staff "-1": want a whole number of helpers from 0 to 9, or an empty cell`},
		{"aids", "belt;walker-2", `aids "walker-2": ` + aids + ` (nearest is "walker-2w")`},
		{"aids", "none", `aids "none": ` + aids},
		{"walk", "with aid", `walk "with aid": want one of no, with-aid, supervised, independent (nearest is "with-aid")`},
		{"walk", "Only with somebody at her side all the way", `walk "Only with somebody at he…": want one of no, with-aid, supervised, independent`},
	}
	columns := strings.Split(strings.TrimSpace(header), ",")
	for _, tt := range tests {
		t.Run(tt.col+" "+tt.cell, func(t *testing.T) {
			cells := strings.Split("R-1,Birch,2026-11-20 09:00,,nwb,,,,board,1,belt,no,nurse", ",")
			for i, col := range columns {
				if col == tt.col {
					cells[i] = tt.cell
				}
			}
			good := "R-2,Birch,2026-11-20 09:00,,nwb,,,,board,1,belt,no,nurse\n"
			c, bad := read(t, header+good+strings.Join(cells, ",")+"\n")
			if diff := cmp.Diff([]string{"chart.csv:3: " + tt.want}, bad); diff != "" {
				t.Errorf("bad rows: -want +got:\n%s", diff)
			}
			if len(c.Rows("R-2")) != 1 || len(c.Rows("R-1")) != 0 {
				t.Errorf("want the good row kept and the bad one left out")
			}
		})
	}
}

func TestReadBadRecords(t *testing.T) {
	good := "R-2,Birch,2026-11-20 09:00,,nwb,,,,board,1,belt,no,nurse\n"
	c, bad := read(t, header+"R-1,Birch\n"+good+"R-3,\"Bi\"rch\",2026\n"+strings.Repeat("x", 70<<10)+"\n"+
		"R-4,Birch,2026-11-20 09:00,,nwb,,,,boat,1,belt,no,nurse\n\"")
	want := []string{
		"chart.csv:2: want 13 fields as in the header, but there are 2",
		"chart.csv:4: want quotes doubled within a quoted field (line 4 is left out)",
		"chart.csv:5: want a record of at most 65536 bytes",
		`chart.csv:6: transfer "boat": want one of independent, supervised, one-person, one-person-pivot, one-person-side, ` +
			`two-person, two-person-pivot, two-person-side, board, sit-stand-lift, total-lift`,
		"chart.csv:7: want a closing quote before the end of the file (line 7 is left out)",
	}
	if diff := cmp.Diff(want, bad); diff != "" {
		t.Errorf("bad rows: -want +got:\n%s", diff)
	}
	if len(c.Rows("R-2")) != 1 {
		t.Error("the good row is lost")
	}
}

func TestOverlap(t *testing.T) {
	const tail = ",nwb,,,,board,1,belt,no,nurse\n"
	c, bad := read(t, header+
		"R-1,Birch,2026-11-20 09:00,2026-11-25 09:00"+tail+
		"R-2,Birch,2026-11-01 09:00,"+tail+
		"R-1,Birch,2026-11-22 09:00,2026-11-23 09:00"+tail+ // before the until of line 2
		"R-2,Birch,2026-11-01 09:00,"+tail+ // the same start as line 3
		"R-3,Birch,2026-11-20 09:00,2026-11-22 09:00"+tail+ // ends as the next starts
		"R-3,Birch,2026-11-22 09:00,"+tail)
	want := []string{
		`chart.csv:4: resident "R-1" has a row from 2026-11-22T09:00:00Z while line 2 is in force until 2026-11-25T09:00:00Z: want an until there of at most this from`,
		`chart.csv:5: resident "R-2" has two rows from 2026-11-01T09:00:00Z, here and on line 3: want one`,
	}
	if diff := cmp.Diff(want, bad); diff != "" {
		t.Errorf("bad rows: -want +got:\n%s", diff)
	}
	for resident, line := range map[string]int{"R-1": 4, "R-2": 5, "R-3": 7} {
		if r, ok := c.At(resident, day(22, 12)); !ok || r.Line != line {
			t.Errorf("%s: in force is %+v, want line %d", resident, r, line)
		}
	}

	_, err := chart.New([]chart.Row{{Resident: "R-1", From: day(1, 0), Line: 2}, {Resident: "R-1", From: day(1, 0), Line: 3}})
	if want := `chart line 3: resident "R-1" has two rows from 2026-11-01T00:00:00Z, here and on line 2: want one`; err == nil || err.Error() != want {
		t.Errorf("New: error %v, want %s", err, want)
	}
}

func TestAt(t *testing.T) {
	c, err := chart.New([]chart.Row{ // in no order
		{Resident: "R-1", From: day(10, 9), Until: day(12, 9), Line: 2},
		{Resident: "R-1", From: day(5, 9), Line: 1},
		{Resident: "R-1", From: day(20, 9), Line: 3},
	})
	if err != nil {
		t.Fatal(err)
	}
	tests := []struct {
		at   time.Time
		line int // 0: none in force
	}{
		{day(5, 8), 0}, // before the first row
		{day(5, 9), 1}, // from its very start
		{day(10, 8), 1},
		{day(10, 9), 2}, // the next row ends the one before
		{day(12, 8), 2},
		{day(12, 9), 0}, // until is without its moment
		{day(19, 9), 0}, // between the rows
		{day(20, 9), 3},
		{day(29, 9), 3}, // the last row has no end
		{day(10, 9).In(time.FixedZone("", 11*3600)), 2},
	}
	for _, tt := range tests {
		line := 0
		if r, ok := c.At("R-1", tt.at); ok {
			line = r.Line
		}
		if line != tt.line {
			t.Errorf("At(%s): line %d, want %d", tt.at, line, tt.line)
		}
	}
	if r, ok := c.At("R-2", day(10, 9)); ok {
		t.Errorf("At of a resident with no row: %+v", r)
	}
	var none *chart.Chart
	if r, ok := none.At("R-1", day(10, 9)); ok {
		t.Errorf("At of no chart: %+v", r)
	}
}

func TestHelpers(t *testing.T) {
	tests := []struct {
		transfer chart.Transfer
		staff    int
		want     int
	}{
		{chart.Independent, chart.NoStaff, 0}, {chart.Supervised, chart.NoStaff, 0},
		{chart.OnePerson, chart.NoStaff, 1}, {chart.OnePersonPivot, chart.NoStaff, 1}, {chart.OnePersonSide, chart.NoStaff, 1},
		{chart.Board, chart.NoStaff, 1},
		{chart.TwoPerson, chart.NoStaff, 2}, {chart.TwoPersonPivot, chart.NoStaff, 2}, {chart.TwoPersonSide, chart.NoStaff, 2},
		{chart.SitStandLift, chart.NoStaff, 4}, {chart.TotalLift, chart.NoStaff, 4},
		{chart.TotalLift, 1, 1}, {chart.OnePerson, 2, 2}, {chart.TwoPerson, 0, 0}, // the cell wins
	}
	for _, tt := range tests {
		r := chart.Row{Transfer: tt.transfer, Staff: tt.staff}
		if got := r.Helpers(4); got != tt.want {
			t.Errorf("%s, staff %d: Helpers(4) = %d, want %d", tt.transfer, tt.staff, got, tt.want)
		}
	}
}

func TestCell(t *testing.T) {
	c, bad := read(t, header+"R-1,Birch,2026-11-20T09:00:00-05:00,2026-11-21T09:00:00Z,NWB,,pwb:50,fwb,board,,belt; disc,no,nurse\n")
	if bad != nil {
		t.Fatal(bad)
	}
	made := &chart.Row{LeftLeg: chart.Bearing{Status: chart.Partial, Percent: 12.5}, RightLeg: chart.Bearing{Status: chart.Partial},
		LeftArm: chart.Bearing{Status: chart.ToeTouch}, RightArm: chart.Bearing{Status: chart.None}, Staff: 2}
	tests := []struct {
		row         *chart.Row
		field, want string
	}{
		{c.Rows("R-1")[0], "resident", "R-1"},
		{c.Rows("R-1")[0], "unit", "Birch"},
		{c.Rows("R-1")[0], "from", "2026-11-20T09:00:00-05:00"},
		{c.Rows("R-1")[0], "until", "2026-11-21T09:00:00Z"},
		{c.Rows("R-1")[0], "left_leg", "NWB"},
		{c.Rows("R-1")[0], "right_leg", ""},
		{c.Rows("R-1")[0], "left_arm", "pwb:50"},
		{c.Rows("R-1")[0], "right_arm", "fwb"},
		{c.Rows("R-1")[0], "transfer", "board"},
		{c.Rows("R-1")[0], "staff", ""},
		{c.Rows("R-1")[0], "aids", "belt;disc"},
		{c.Rows("R-1")[0], "walk", "no"},
		{c.Rows("R-1")[0], "by", "nurse"},
		{c.Rows("R-1")[0], "diet", ""},
		{made, "left_leg", "pwb:12.5"},
		{made, "right_leg", "pwb"},
		{made, "left_arm", "ttwb"},
		{made, "right_arm", "nwb"},
		{made, "staff", "2"},
		{made, "until", ""},
	}
	for _, tt := range tests {
		if got := tt.row.Cell(tt.field); got != tt.want {
			t.Errorf("Cell(%q) = %q, want %q", tt.field, got, tt.want)
		}
	}
}

// FuzzReadChart holds that any input gives a chart whose rows are whole and in order, or errors
// that start with the file and line.
func FuzzReadChart(f *testing.F) {
	f.Add([]byte(header + "R-0412,Birch,2026-11-20T09:00:00-05:00,,nwb,fwb,,,two-person-pivot,2,walker-2w;belt,with-aid,therapist\n"))
	f.Add([]byte("\uFEFF" + strings.ReplaceAll(header, ",", ";") + "R-1;;24 Nov 2026 9:40 PM;;pwb:50;;;;board;;;no;\r\n"))
	f.Add([]byte(header + "R-1,,2026-11-20 09:00,2026-11-22 09:00,,,,,board,,,no,\nR-1,,2026-11-21 09:00,,,,,,lift,,,no,\n\""))
	f.Fuzz(func(t *testing.T, in []byte) {
		c, bad, err := chart.Read("chart.csv", strings.NewReader(string(in)), time.UTC)
		if err != nil {
			if !strings.HasPrefix(err.Error(), "chart.csv") || c != nil {
				t.Fatalf("chart %v, error %q", c, err)
			}
			return
		}
		for _, b := range bad {
			if !strings.HasPrefix(b.Error(), "chart.csv:") {
				t.Fatalf("error %q", b)
			}
		}
		rows := c.Rows("R-1")
		for i, r := range rows {
			if r.Resident == "" || r.Transfer == "" || r.Walk == "" || r.From.IsZero() || r.Line < 2 {
				t.Fatalf("row %+v", r)
			}
			if i > 0 && r.From.Before(rows[i-1].From) {
				t.Fatalf("rows out of order: %+v after %+v", r, rows[i-1])
			}
			if in, ok := c.At("R-1", r.From); !ok || !in.From.Equal(r.From) {
				t.Fatalf("at the start of %+v the row in force is %+v", r, in)
			}
		}
	})
}
