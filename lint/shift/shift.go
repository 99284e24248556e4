// Package shift divides time into the shifts of a home.
package shift

import (
	"fmt"
	"time"
)

// A Key names one shift of one day. A night shift that crosses midnight belongs to the date on which it began.
type Key struct {
	Day  int    // days since 1970-01-01 of the date that the shift belongs to
	Slot int    // position in the day, 0 for the first shift that starts after midnight's shift has ended
	Name string // "day", "evening", "night"
}

// String is the published form, "2026-11-24/evening".
func (k Key) String() string {
	return fmt.Sprintf("%s/%s", time.Unix(int64(k.Day)*86400, 0).UTC().Format("2006-01-02"), k.Name)
}
