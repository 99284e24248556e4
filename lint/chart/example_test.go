package chart_test

import (
	"fmt"
	"strings"
	"time"

	"example.com/stance/lint/chart"
)

func Example() {
	file := strings.NewReader(`resident,unit,from,until,left_leg,right_leg,left_arm,right_arm,transfer,staff,aids,walk,by
R-0412,Birch,2026-11-20T09:00:00-05:00,,nwb,fwb,fwb,fwb,two-person-pivot,,walker-2w;belt,with-aid,therapist
R-0655,Birch,20/11/2026 09:00,,,,,,board,1,,no,nurse
`)
	c, bad, err := chart.Read("chart.csv", file, time.UTC)
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, b := range bad {
		fmt.Println(b)
	}
	row, ok := c.At("R-0412", time.Date(2026, 11, 25, 2, 40, 0, 0, time.UTC))
	if ok {
		fmt.Println(row.Cell("left_leg"), row.Transfer, row.Helpers(2))
	}
	// Output:
	// chart.csv:3: from: want 2026-11-24T21:40:00-05:00, 2026-11-24 21:40 or 24 Nov 2026 21:40; day and month in figures can be read two ways
	// nwb two-person-pivot 2
}
