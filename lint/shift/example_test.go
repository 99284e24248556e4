package shift_test

import (
	"fmt"
	"time"

	"example.com/stance/lint/shift"
)

func Example() {
	home := time.FixedZone("home", -5*3600)
	c, err := shift.NewCalendar(map[string]string{"day": "07:00", "evening": "15:00", "night": "23:00"}, home)
	if err != nil {
		fmt.Println(err)
		return
	}
	k := c.Key(time.Date(2026, 11, 25, 2, 10, 0, 0, home), "")
	fmt.Println(k, "then", c.Next(k), "from", c.Start(c.Next(k)).Format("15:04"))
	// Output: 2026-11-24/night then 2026-11-25/day from 07:00
}
