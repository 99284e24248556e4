package audit

import (
	"cmp"
	"fmt"
	"slices"
	"strconv"
	"strings"

	"example.com/stance/lint/audit/stat"
)

// mostStanding is how many sentences on what stands out a report begins with.
const mostStanding = 3

// standsOut says in sentences what differs by more than chance in the figures of all rules together, the greatest
// difference first: the shifts, units and roles that lie furthest apart, periods that signal, and units beyond the limits
// of the funnel. Where nothing does it says so. It is empty where nothing was counted.
//
// Two values of a property are told apart where their 95 % intervals are and the one with more has as many findings as a
// point of a chart needs to be judged: a stricter test than a difference at 5 %, at
// which chance alone puts about one pair of equal size in 180 apart. Schenker and Gentleman, On judging the significance
// of differences by examining the overlap between confidence intervals, The American Statistician 55 (2001) 182
// (reference from memory).
func standsOut(r *Report) []string {
	type standing struct {
		least float64 // how many times as frequent at the least, by the near ends of the intervals
		words string
	}
	var all []standing
	judged, unitsApart := false, false
	for _, t := range r.Tables {
		if t.By != ByShift && t.By != ByUnit && t.By != ByRole {
			continue
		}
		rows := slices.DeleteFunc(t.Of(ScopeAll), func(row Row) bool { return row.Value == "" || row.Rate == nil })
		judged = judged || len(rows) > 0
		var best standing
		for _, a := range rows {
			for _, b := range rows {
				if a.Findings < stat.FewestExpected || a.Rate.Low <= b.Rate.High {
					continue
				}
				if least := a.Rate.Low / b.Rate.High; least > best.least {
					best = standing{least, apart(t.By, a, b)}
				}
			}
		}
		if best.words != "" {
			all = append(all, best)
			unitsApart = unitsApart || t.By == ByUnit
		}
	}
	slices.SortStableFunc(all, func(a, b standing) int { return cmp.Compare(b.least, a.least) })
	var out []string
	for _, s := range all {
		out = append(out, s.words)
	}
	for i := range r.Charts {
		if c := &r.Charts[i]; c.Scope == ScopeAll && c.Measure == PerOpportunity && c.Signals() {
			out = append(out, "Over time, by "+string(r.By)+": "+InWords(c.Words))
		}
	}
	for _, f := range r.Funnels {
		outside := slices.ContainsFunc(f.Plot.Units, func(u stat.FunnelPoint) bool { return u.Verdict == stat.Above || u.Verdict == stat.Below })
		if f.Scope == ScopeAll && outside && !unitsApart {
			out = append(out, "Units side by side: "+f.Words)
		}
	}
	switch {
	case !judged:
		return []string{}
	case len(out) == 0:
		return []string{fmt.Sprintf("Nothing stands out: no two shifts, units or roles have intervals apart, and no %s signals.", r.By)}
	}
	return out[:min(len(out), mostStanding)]
}

// apart says how much more frequent findings are in the one value than in the other.
func apart(by string, a, b Row) string {
	said := func(row Row) string {
		return fmt.Sprintf("%s per 100 opportunities (95 %% interval %s to %s)", per100(row.Rate.Value), per100(row.Rate.Low), per100(row.Rate.High))
	}
	if b.Findings == 0 {
		return fmt.Sprintf("There are findings in %s and none in %s: %s against none of %d (0.0 to %s).",
			notesOf(by, a.Value), notesOf(by, b.Value), said(a), b.Opportunities, per100(b.Rate.High))
	}
	return fmt.Sprintf("Findings are %s times as frequent in %s as in %s: %s against %s (%s to %s).", times(a.Rate.Value/b.Rate.Value),
		notesOf(by, a.Value), notesOf(by, b.Value), said(a), per100(b.Rate.Value), per100(b.Rate.Low), per100(b.Rate.High))
}

// notesOf are the notes of a value, in words.
func notesOf(by, value string) string {
	switch by {
	case ByShift:
		return "notes of the " + value + " shift"
	case ByRole:
		return "notes by a " + value
	}
	return "notes of " + value
}

// times writes a ratio: "1.6", "5", "12".
func times(ratio float64) string {
	if ratio < 9.5 {
		return strings.TrimSuffix(strconv.FormatFloat(ratio, 'f', 1, 64), ".0")
	}
	return strconv.FormatFloat(ratio, 'f', 0, 64)
}

// Precision is of how many answered findings people said that they held, with
// Wilson's interval; ok is false where none was answered so. It speaks of the findings that were answered: whoever
// answers chooses which, so it need not be that of all.
//
// Held are those confirmed or put right. The interval is the score interval of [stat.Wilson], where its sources stand;
// it is right for the few answers that there are at first, where the usual one is not (Newcombe 1998).
func Precision(held, mistaken int) (rate stat.Rate, ok bool) {
	rates := stat.Rates([]stat.Point{{Label: "precision", Events: held, N: held + mistaken}}, Level)
	return rates[0], rates[0].Known
}
