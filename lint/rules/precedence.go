package rules

import (
	"slices"

	"example.com/stance/lexicon"
)

// precedence says which rule speaks where several would tell one story about one statement: the
// rules that a rule silences there. It is the only place where rules know of one another; a rule
// checks its own condition and leaves the rest to this table.
func precedence() map[string][]string {
	return map[string][]string{
		// Both say the leg may not carry it; the first with the figures.
		"load-over-limit": {"walk-not-charted"},
		// The same difference, with the better guess at how it came about.
		"side-mismatch": {"bearing-mismatch", "stale-status"},
		"stale-status":  {"bearing-mismatch"},
		// The reason for going below the chart is known.
		"equipment-skipped": {"method-below-chart", "method-unstated", "staff-below-chart"},
		// Too little support as a whole says more than one helper too few.
		"method-below-chart": {"staff-below-chart"},
		// Somebody was carried: other words for it would only hide that.
		"manual-lift": {"lift-wording"},
		// A lift is judged by the home's number for lifts.
		"lift-one-helper": {"staff-below-chart"},
		// Who ran the lift matters more than how many they were.
		"lift-unsupervised": {"lift-one-helper", "staff-below-chart", "helpers-unstated"},
		// The injury makes the early move worse.
		"fall-injured-moved": {"fall-moved-early"},
	}
}

// settle drops the findings of rules that a stronger one silences on the same statement, and lets that
// one say so. A rule that is itself silenced there silences nobody.
func (l *ledger) settle() {
	silences := precedence()
	var speaks func(id string, on []*Rule) bool
	speaks = func(id string, on []*Rule) bool {
		return !slices.ContainsFunc(on, func(r *Rule) bool {
			return slices.Contains(silences[r.ID], id) && speaks(r.ID, on)
		})
	}
	type voice struct {
		about *lexicon.Statement
		rule  string
	}
	covers := map[voice][]string{}
	l.found = slices.DeleteFunc(l.found, func(f found) bool {
		if f.about == nil || speaks(f.Rule, l.on[f.about]) {
			return false
		}
		for _, r := range l.on[f.about] {
			if slices.Contains(silences[r.ID], f.Rule) && speaks(r.ID, l.on[f.about]) {
				v := voice{f.about, r.ID}
				if !slices.Contains(covers[v], f.Rule) {
					covers[v] = append(covers[v], f.Rule)
				}
			}
		}
		return true
	})
	for i := range l.found {
		f := &l.found[i]
		f.Covers = slices.Sorted(slices.Values(covers[voice{f.about, f.Rule}]))
	}
}
