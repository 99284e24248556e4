package lexicon

import (
	"strconv"
	"strings"
	"time"

	"example.com/stance/lexicon/internal/token"
)

// openHalf ends a time of day, while a note is read, of which nothing tells whether it is before or after noon.
const openHalf = "?"

// clockOf reads a time of day as HH:MM, with openHalf behind it where it was told as on a clock face; "" for a
// number that is none.
func (r *reader) clockOf(u unit) string {
	t := r.hourTold(u)
	h, min, ok := t.time(u.e)
	if !ok || h > 23 || min > 59 || t.digits == 4 && u.to-u.from == 1 && !r.bareClock(u) {
		return ""
	}
	if len(t.nums) == 1 && t.digits < 4 && t.suffix == "" && u.e.name == "n" && !r.wholeHour(u) {
		return ""
	}
	face := h >= 1 && h <= 12 && !t.padded && t.digits < 4
	if t.suffix == "" && face {
		t.suffix = r.halfNear(u)
	}
	switch {
	case t.suffix == "p" && h < 12:
		h += 12
	case t.suffix == "a" && h == 12:
		h = 0
	case t.suffix == "" && face && (!t.exact || !r.counts24()):
		return pad(h) + ":" + pad(min) + openHalf
	}
	return pad(h) + ":" + pad(min)
}

// A telling is the numbers and letters with which a time of day is told.
type telling struct {
	nums   []int
	digits int    // of the last number, 2 for a word
	padded bool   // the hour is written with a zero before it
	exact  bool   // hours and minutes are written as numbers: "7.30"
	suffix string // "a" or "p", as in am and pm
}

func (r *reader) hourTold(u unit) telling {
	var t telling
	for k := u.from; k < u.to; k++ {
		tok := &r.toks[k]
		switch {
		case tok.Kind == token.Number && strings.Contains(tok.Word, "."):
			h, mm, _ := strings.Cut(tok.Word, ".")
			if len(mm) != 2 {
				return telling{}
			}
			a, _ := strconv.Atoi(h)
			b, _ := strconv.Atoi(mm)
			t.nums, t.exact, t.padded = append(t.nums, a, b), true, len(h) == 2 && h[0] == '0'
		case tok.Kind == token.Number:
			n, err := strconv.Atoi(tok.Word)
			if err != nil {
				return telling{}
			}
			if len(t.nums) == 0 {
				t.padded = len(tok.Word) == 2 && tok.Word[0] == '0'
			}
			t.exact = len(t.nums) == 1 // the second of two
			t.nums, t.digits = append(t.nums, n), len(tok.Word)
		case tok.IsNum && tok.Num >= 1:
			t.nums, t.digits = append(t.nums, int(tok.Num)), 2
		case r.is(k, halfOfDay):
			t.suffix = tok.Word[:1]
		}
	}
	return t
}

// time is the hour and the minute that the numbers tell by the words of an entry.
func (t telling) time(e *entry) (hour, min int, ok bool) {
	n := t.nums
	switch {
	case len(n) == 1 && e.name == "half-past":
		return n[0], 30, n[0] <= 12
	case len(n) == 1 && e.name == "quarter-past":
		return n[0], 15, n[0] <= 12
	case len(n) == 1 && e.name == "quarter-to":
		return hourBefore(n[0]), 45, n[0] <= 12
	case len(n) == 2 && e.name == "past":
		return n[1], n[0], n[1] <= 12
	case len(n) == 2 && e.name == "to":
		return hourBefore(n[1]), 60 - n[0], n[1] <= 12 && n[0] >= 1 && n[0] < 60
	case len(n) == 1 && t.digits == 4:
		return n[0] / 100, n[0] % 100, true
	case len(n) == 1:
		return n[0], 0, n[0] >= 1 && n[0] <= 12
	case len(n) == 2:
		return n[0], n[1], t.digits != 1 // "2:1" counts helpers
	}
	return 0, 0, false
}

func hourBefore(h int) int { return (h+10)%12 + 1 }

func pad(n int) string {
	if n < 10 {
		return "0" + strconv.Itoa(n)
	}
	return strconv.Itoa(n)
}

// bareClock reports whether four digits on their own may be a time: no unit after, no "in" before.
func (r *reader) bareClock(u unit) bool {
	if r.is(u.to, measure) {
		return false
	}
	if r.is(u.from-1, beforeYear) {
		return false
	}
	if t := &r.toks[u.from]; t.Num >= 1990 && t.Num <= 2059 && (r.is(u.from-1, month) || r.is(u.from-2, month)) {
		return false // "Nov 19 2026"
	}
	return true
}

// wholeHour reports whether a number alone may be an hour: a word for it says so, or it stands behind "at" and counts,
// measures and numbers nothing ("at two tables", "at 8/10", "at one point").
func (r *reader) wholeHour(u unit) bool {
	if r.is(u.to-1, onTheClock) {
		return true
	}
	if !r.is(u.from, beforeHour) || !r.toks[u.to-1].IsNum || r.is(u.to, measure) || r.is(u.to, month) {
		return false
	}
	if u.to >= len(r.toks) || r.endsThere(u.to) {
		return true
	}
	next := &r.toks[u.to]
	if next.Kind != token.Word {
		return next.Word == "," || next.Word == "-" || next.Word == ")"
	}
	return !r.english(u.to).isNoun || r.isName(u.to)
}

// halfNear is "a" or "p" where words beside the time tell of the morning, or of what comes after noon.
func (r *reader) halfNear(u unit) string {
	const near = 3 // "at seven this morning", "this evening at about 7.30"
	for k := u.to; k < u.to+near && !r.endsThere(k); k++ {
		if h := r.halfTold(k); h != "" {
			return h
		}
	}
	for k := u.from - 1; k >= u.from-near && !r.endsThere(k); k-- {
		if h := r.halfTold(k); h != "" {
			return h
		}
	}
	return ""
}

// halfTold is "a" where token i tells of the morning, "p" where it tells of what comes after noon.
func (r *reader) halfTold(i int) string {
	switch {
	case r.is(i, beforeNoon):
		return "a"
	case r.is(i, afterNoon):
		return "p"
	}
	return ""
}

// counts24 reports whether the note tells hours up to 24 anywhere, as it then does everywhere: "07:30", "1930".
func (r *reader) counts24() bool {
	if r.by24 == 0 {
		r.by24 = -1
		if r.tells24() {
			r.by24 = 1
		}
	}
	return r.by24 == 1
}

func (r *reader) tells24() bool {
	for i := range r.toks {
		t := &r.toks[i]
		if n := int(t.Num); t.Kind == token.Number && len(t.Word) == 4 && t.Num == float64(n) && n < 2400 && n%100 < 60 && !strings.Contains(t.Word, ".") && r.bareClock(unit{from: i, to: i + 1}) {
			return true
		}
	}
	for i := range r.units {
		u := &r.units[i]
		if u.kind != kindClock {
			continue
		}
		t := r.hourTold(*u)
		if h, min, ok := t.time(u.e); ok && t.suffix == "" && min < 60 && (h > 12 && h < 24 || h == 0 || t.padded) {
			return true
		}
	}
	return false
}

// closeClocks marks the statements whose hour was told as on a clock face.
func (r *reader) closeClocks(st []Statement) {
	for i := range st {
		if c, open := strings.CutSuffix(st[i].Clock, openHalf); open {
			st[i].Clock, st[i].ClockFace = c, true
		}
	}
	r.out.Late = strings.TrimSuffix(r.out.Late, openHalf)
}

// WrittenAt is the reading of a note written at that time. Hours told as on a clock face, such as "at half seven", are
// the last before it, on its wall clock; those of a plan the next after it.
func (r Reading) WrittenAt(at time.Time) Reading {
	const soon = 30 // minutes: who writes at five to two that lunch was at two has not looked at the clock
	own := false
	now := at.Hour()*60 + at.Minute()
	for i := range r.Statements {
		s := &r.Statements[i]
		if !s.ClockFace {
			continue
		}
		if !own {
			r.Statements, own = append([]Statement(nil), r.Statements...), true
			s = &r.Statements[i]
		}
		of, err := time.Parse("15:04", s.Clock)
		if err != nil {
			continue
		}
		const half = 12 * 60
		minute := (of.Hour()*60 + of.Minute()) % half
		ago := (now + soon - minute + 2*half) % half // since the last such hour
		minute = (now + soon - ago + 2*half) % (2 * half)
		if s.Time == Planned {
			minute = (minute + half) % (2 * half)
		}
		s.Clock, s.ClockFace = pad(minute/60)+":"+pad(minute%60), false
	}
	return r
}
