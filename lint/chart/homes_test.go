package chart

import (
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
)

const manyHomes = `home,resident,unit,from,until,left_leg,right_leg,left_arm,right_arm,transfer,staff,aids,walk,by
Ash,R-1,Fir,2026-11-01T09:00:00Z,,,,,,one-person,1,,no,therapist
Elm,R-1,Oak,2026-11-01T09:00:00Z,,,,,,by-crane,1,,no,therapist
,R-2,Oak,2026-11-01T09:00:00Z,,,,,,one-person,1,,no,therapist
Elm,R-1,Oak,2026-11-01T09:00:00Z,,,,,,two-person,2,,no,therapist
`

func TestEachRow(t *testing.T) {
	var got []string
	bad, err := EachRow("c.csv", strings.NewReader(manyHomes), nil, "Home", func(r HomeRow) {
		got = append(got, r.Home+" "+r.Resident+" "+string(r.Transfer))
	})
	if err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff([]string{"Ash R-1 one-person", "Elm R-1 two-person"}, got); diff != "" {
		t.Errorf("rows (-want +got)\n%s", diff)
	}
	if len(bad) != 2 || bad[0].Line != 3 || bad[1].Line != 4 || !strings.Contains(bad[1].What, "name of the home") {
		t.Errorf("faults %v, want those of lines 3 and 4", bad)
	}
	if _, err := EachRow("c.csv", strings.NewReader(manyHomes), nil, "house", func(HomeRow) {}); err == nil || !strings.Contains(err.Error(), "the header lacks house") {
		t.Errorf("error %v, want the column that is not there", err)
	}
}

func TestClashing(t *testing.T) {
	var rows []Row
	if _, err := EachRow("c.csv", strings.NewReader(manyHomes), nil, "", func(r HomeRow) { rows = append(rows, r.Row) }); err != nil {
		t.Fatal(err)
	}
	c, clashes := Clashing(rows)
	if len(clashes) != 1 || clashes[0].Line != 5 {
		t.Errorf("clashes %v, want that of line 5", clashes)
	}
	if row := c.Rows("R-1")[1]; row.Transfer != TwoPerson {
		t.Errorf("the row that counts is %v, want the later one", row.Transfer)
	}
}
