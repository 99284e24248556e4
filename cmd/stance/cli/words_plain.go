package cli

import (
	"fmt"
	"io"
	"slices"
	"strings"

	"example.com/stance/cmd/stance/web/pages/says"
	"example.com/stance/lexicon"
	"example.com/stance/lint/plural"
	"example.com/stance/lint/report"
)

// printPlainly says what was understood as the page does, with the words that each part comes from.
func (u *understanding) printPlainly(w io.Writer, words *says.Words) {
	if u.nothing(w) {
		u.aside(w, false)
		return
	}
	for i := range u.Statements {
		e := &u.Statements[i]
		if i > 0 {
			fmt.Fprintln(w)
		}
		said := words.Statement(&e.Statement)
		head := report.Capital(said.What)
		if len(said.Apart) > 0 {
			head += " (" + strings.Join(said.Apart, ", ") + ")"
		}
		fmt.Fprintf(w, "%s\n  said in «%s»\n", head, report.Printable(e.Text))
		e.fromWords(w)
		if e.Judged != "" {
			fmt.Fprintf(w, "    judged by what stands about it: %s\n", e.Judged)
		}
	}
	for i, r := range u.Remarks {
		if i > 0 || len(u.Statements) > 0 {
			fmt.Fprintln(w)
		}
		fmt.Fprintf(w, "%s\n  said in «%s»\n", report.Capital(remarkWords(r.Kind)), report.Printable(r.Text))
	}
	u.aside(w, false)
}

// fromWords writes each of the words, in their order, with what they tell.
func (e *explained) fromWords(w io.Writer) {
	for i, t := range e.Terms {
		if i > 0 && e.Terms[i-1].Span == t.Span {
			continue
		}
		var tell []string
		for _, same := range e.Terms[i:] {
			if p := part(same.Field, &e.Statement); same.Span == t.Span && !slices.Contains(tell, p) {
				tell = append(tell, p)
			}
		}
		fmt.Fprintf(w, "    «%s» says %s\n", report.Printable(t.Text), strings.Join(tell, ", and "))
	}
}

// part is what a field of a statement tells, for somebody who knows no fields.
func part(field string, s *lexicon.Statement) string {
	switch field {
	case "concept":
		return "what"
	case "polarity":
		if s.Polarity == lexicon.Negated {
			return "that it is not so"
		}
		return "that it is so"
	case "time":
		return "when"
	case "who":
		return "about whom"
	case "certainty":
		return "how sure"
	case "mood":
		return "that it is an instruction"
	case "percent":
		return "how much weight"
	case "staff":
		return "how many helpers"
	case "helpers":
		return "who helped"
	case "assist":
		return "how much help"
	case "method":
		return "how"
	case "aids":
		return "with what"
	case "from":
		return "from where"
	case "to":
		return "to where"
	case "distance_m":
		return "how far"
	case "systolic", "diastolic", "value":
		return "the figure"
	case "limb":
		return "which limb"
	case "side":
		return "which side"
	case "posture":
		return "in which posture"
	case "fit":
		return "how it fits"
	case "clock":
		return "at what time"
	case "fixed":
		return "that it was put right"
	}
	return strings.ReplaceAll(field, "_", " ")
}

// sayings is how many of the ways to say a thing are listed.
const sayings = 4

// listPlainly lists what can be understood, each with some of the ways to say it.
func (a *app) listPlainly(w io.Writer, all []lexicon.ConceptInfo) {
	labels, ways := says.New(all).Labels(), 0
	width := a.width()
	if width == 0 {
		width = 80
	}
	for _, c := range all {
		ways += len(c.Says)
		var said []string
		for _, s := range c.Says {
			if !strings.ContainsAny(s, "([{<|~") && !strings.Contains(s, "...") && len(said) < sayings {
				said = append(said, "«"+s+"»")
			}
		}
		line := report.Capital(labels[c.ID])
		if more := len(c.Says) - len(said); more > 0 {
			said = append(said, fmt.Sprintf("%d more", more))
		}
		if len(said) > 0 {
			line += ": " + strings.Join(said, ", ")
		}
		report.Fill(w, width, "", "  ", line)
	}
	fmt.Fprintln(w)
	report.Fill(w, width, "", "", fmt.Sprintf("%s, said in %s. stance words TERM shows how a term is understood; with --ids the ids stand here, as stance find and a policy take them.",
		plural.Of(len(all), "thing"), plural.Of(ways, "way")))
}
