package audit

import (
	"fmt"
	"slices"
	"strings"

	"example.com/stance/lint/audit/stat"
)

// method says how the figures of every report come about.
func method() []Paragraph {
	var words, sources []string
	for _, r := range stat.Rules() {
		words = append(words, r.Words)
		for s := range strings.SplitSeq(r.Source, "; ") {
			if !slices.Contains(sources, s) {
				sources = append(sources, s)
			}
		}
	}
	return []Paragraph{
		{Title: "What is counted", Words: "An opportunity is something that a rule could have flagged; each rule says what that is. " +
			"A finding is one that it did flag, at most one an opportunity. Where one rule gives way to another that tells the " +
			"same story better, the finding counts with the other. With no opportunities there is no rate, which is not a rate of zero."},
		{Title: "What notes tell of", Words: "Falls, hazards, injured staff and posted signs count as notes tell them: a fall that two notes tell " +
			"counts twice, and what no note tells is not there. The cause of a fall is told where its note says what the resident was doing, " +
			"or tells of a hazard, a sign of being unwell, a stumble, a faulty or missing aid or brakes that were off; one fall may have several. " +
			"A hazard is put right where the note says so. Signs are held against the chart by the rules sign-differs and sign-missing."},
		{Title: "Rates", Words: fmt.Sprintf("Findings per 100 opportunities, with the Wilson score interval at %g %%. It takes opportunities "+
			"to be independent; those of one note or one resident are not quite, so the true rate may lie a little further out.", 100*Level),
			Source: "Newcombe, Two-sided confidence intervals for the single proportion, Statistics in Medicine 17 (1998) 857, method 3"},
		{Title: "What stands out", Words: "The figures of all rules together, where two shifts, units or roles have 95 % intervals that lie apart and the one with more has five findings at least, " +
			"which is stricter than a difference at 5 %: chance alone puts about one pair in 180 apart. Residents, tasks and ways of " +
			"writing differ between them too, so it doesn't say why. Fewer than five opportunities are written as a count, not as a rate.",
			Source: "Schenker and Gentleman, On judging the significance of differences by examining the overlap between confidence intervals, " +
				"The American Statistician 55 (2001) 182"},
		{Title: "Change over time", Words: "Control charts with three-sigma limits: of findings per 100 opportunities (p-chart) and of findings " +
			"per 100 notes (u-chart), with Laney's wider limits where periods differ by more than chance. A point signals by: " +
			strings.Join(words, "; ") + ". With many charts side by side some signal by chance alone: about one judged point in 120.",
			Source: "NIST/SEMATECH e-Handbook of Statistical Methods, section 6.3.3; Laney, Improved control charts for attributes, " +
				"Quality Engineering 14 (2002) 531; " + strings.Join(sources, "; ")},
		{Title: "Units", Words: "Funnel plots hold each unit against the rate of all units, with limits at 95 % and 99.8 %. Units inside the " +
			"limits are not to be told apart, so nothing is ranked. Units whose residents need more help have more that can go wrong.",
			Source: "Spiegelhalter, Funnel plots for comparing institutional performance, Statistics in Medicine 24 (2005) 1185"},
		{Title: "What the figures mean", Words: "They are about wording: what notes say and leave out, as the program reads them. They don't show how " +
			"residents were moved, and the program misses and misreads some wordings. stance audit sample and stance audit agree " +
			"tell how far it can be trusted here."},
	}
}
