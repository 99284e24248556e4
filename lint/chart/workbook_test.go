package chart_test

import (
	"bytes"
	"fmt"
	"testing"
	"time"

	"github.com/xuri/excelize/v2"

	"example.com/stance/lint/chart"
)

// A sheet of a workbook is a chart like any other table; what cannot be read is told with sheet and row.
func TestWorkbook(t *testing.T) {
	from := time.Date(2026, 11, 20, 9, 0, 0, 0, time.UTC)
	f := excelize.NewFile()
	if _, err := f.NewSheet("Chart"); err != nil {
		t.Fatal(err)
	}
	for i, row := range [][]any{
		{"Charted status of all residents"},
		{"resident", "unit", "from", "until", "left_leg", "right_leg", "left_arm", "right_arm", "transfer", "staff", "aids", "walk", "by"},
		{412, "Fir", from, from.AddDate(0, 0, 3), "nwb", "", "", "", "two-person-pivot", 2, "walker-2w;belt", "with-aid", "therapist"},
		{"R-2", "Fir", from, "", "heavy", "", "", "", "independent", "", "", "independent", "therapist"},
	} {
		if err := f.SetSheetRow("Chart", fmt.Sprintf("A%d", i+1), &row); err != nil {
			t.Fatal(err)
		}
	}
	var b bytes.Buffer
	if err := f.Write(&b); err != nil {
		t.Fatal(err)
	}
	c, _, bad, err := chart.ReadAny("home.xlsx", bytes.NewReader(b.Bytes()), chart.Options{Zone: time.UTC, Sheet: "chart"})
	if err != nil {
		t.Fatal(err)
	}
	if want := `home.xlsx, sheet 'Chart', row 4: left_leg "heavy": want one of nwb, ttwb, pwb, pwb:50, wbat, fwb, an empty cell`; len(bad) != 1 || bad[0].Error() != want {
		t.Errorf("got %v, want %s", bad, want)
	}
	row, ok := c.At("412", from.Add(time.Hour))
	if !ok || row.LeftLeg.Status != chart.None || row.Staff != 2 || !row.Until.Equal(from.AddDate(0, 0, 3)) || row.Line != 3 {
		t.Errorf("row %+v", row)
	}
	if _, _, _, err := chart.ReadAny("home.xlsx", bytes.NewReader(b.Bytes()), chart.Options{}); err == nil || err.Error() != "home.xlsx: the file is empty: want a header with the columns "+
		"resident, unit, from, until, left_leg, right_leg, left_arm, right_arm, transfer, staff, aids, walk, by" {
		t.Errorf("an empty sheet: %v", err)
	}
}
