// Package when reads the dates and times that people and spreadsheets write, and refuses those that
// can be read two ways.
package when

import (
	"errors"
	"regexp"
	"strings"
	"time"
)

// Forms says what Parse reads, for error messages.
const Forms = "2026-11-24T21:40:00-05:00, 2026-11-24 21:40 or 24 Nov 2026 21:40"

var (
	numeric = regexp.MustCompile(`^\d{1,2}[/.-]\d{1,2}[/.-]\d{2,4}\b`)
	joined  = regexp.MustCompile(`(\d)[Tt](\d)`)
	meridem = regexp.MustCompile(`(?i)(\d) ?([ap])\.?m\.?\b\.?`)
	weekday = regexp.MustCompile(`(?i)^(mon|tue|tues|wed|thu|thur|thurs|fri|sat|sun)(day|sday|nesday|rsday|urday)?\.? `)
)

// Parse reads a date with a time of day: ISO 8601 order, or any order with the month by name. A
// time without an offset is in zone. The error says what was expected, without the value.
func Parse(s string, zone *time.Location) (time.Time, error) {
	if zone == nil {
		zone = time.Local
	}
	if t, err := time.Parse(time.RFC3339, s); err == nil {
		return bounded(t)
	}
	s = strings.Join(strings.Fields(strings.NewReplacer(",", " ", ". ", " ").Replace(s)), " ")
	s = weekday.ReplaceAllString(s, "")
	s = joined.ReplaceAllString(s, "$1 $2")
	s = meridem.ReplaceAllStringFunc(s, func(m string) string {
		sub := meridem.FindStringSubmatch(m)
		return sub[1] + strings.ToUpper(sub[2]) + "M"
	})
	for _, date := range dates() {
		for _, clock := range clocks() {
			for _, offset := range offsets() {
				if t, err := time.ParseInLocation(date+" "+clock+offset, s, zone); err == nil {
					return bounded(t)
				}
			}
		}
	}
	switch {
	case s == "":
		return time.Time{}, errors.New(Forms + "; it is empty")
	case numeric.MatchString(s):
		return time.Time{}, errors.New(Forms + "; day and month in figures can be read two ways")
	case isDate(s):
		return time.Time{}, errors.New(Forms + "; the time of day is missing")
	}
	return time.Time{}, errors.New(Forms)
}

// bounded refuses years that only a slip of the keys gives.
func bounded(t time.Time) (time.Time, error) {
	if y := t.Year(); y < 1900 || y > 2999 {
		return time.Time{}, errors.New(Forms + "; the year is not in 1900 to 2999")
	}
	return t, nil
}

func isDate(s string) bool {
	for _, date := range dates() {
		if _, err := time.Parse(date, s); err == nil {
			return true
		}
	}
	return false
}

func dates() []string {
	return []string{"2006-1-2", "2006/1/2", "2 Jan 2006", "2 January 2006", "2-Jan-2006", "Jan 2 2006", "January 2 2006"}
}

func clocks() []string {
	return []string{"15:04", "15:04:05", "1504", "3:04PM", "3:04:05PM"}
}

func offsets() []string { return []string{"", "Z07:00", "Z0700", "Z07", " Z07:00", " Z0700"} }
