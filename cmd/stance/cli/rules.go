package cli

import (
	"bufio"
	"encoding/json"
	"fmt"
	"io"
	"strings"

	"github.com/spf13/cobra"

	"example.com/stance/lint/finding"
	"example.com/stance/lint/nearest"
	"example.com/stance/lint/plural"
	"example.com/stance/lint/report"
	"example.com/stance/lint/rules"
)

func (a *app) rulesCommand() *cobra.Command {
	var topic topicFlag
	c := &cobra.Command{
		Use:   "rules [ID] | --topic [TOPIC]",
		Short: "List the rules, explain one, or teach a topic",
		Long: `rules lists what stance check looks for. With the ID of a rule it prints what the rule looks
for, why it matters, what to do, where it comes from, what stance audit divides its findings by,
a note that it flags and a near miss.

With --topic it is a handbook for teaching. Alone, it lists the topics; with the name of one it
prints an introduction, the rules of the topic, and three practice notes with what stance says
of them by its usual policy. Markdown and JSON have all topics where none is named.

` + doneStatuses,
		Example: `  stance rules
  stance rules load-over-limit
  stance rules --format md > rules.md
  stance rules --topic
  stance rules --topic falls
  stance rules --topic --format md > handbook.md`,
		Args: func(c *cobra.Command, args []string) error {
			if topic.given {
				return arguments(0, 1, "at most one topic")(c, args)
			}
			return arguments(0, 1, "at most one rule")(c, args)
		},
	}
	topic.register(c)
	format := formats(c, "text", "json", "md")
	c.RunE = func(_ *cobra.Command, args []string) error {
		if topic.given {
			return a.topics(c.Context(), format.value, topic.value, args)
		}
		return a.rules(format.value, args)
	}
	c.ValidArgsFunction = func(_ *cobra.Command, args []string, _ string) ([]string, cobra.ShellCompDirective) {
		switch {
		case len(args) > 0:
			return nil, cobra.ShellCompDirectiveNoFileComp
		case topic.given:
			return topicNames(), cobra.ShellCompDirectiveNoFileComp | cobra.ShellCompDirectiveKeepOrder
		}
		return ruleNames(), cobra.ShellCompDirectiveNoFileComp
	}
	return c
}

func (a *app) rules(format string, args []string) error {
	all, err := rules.All()
	if err != nil {
		return err
	}
	chosen := all
	if len(args) == 1 {
		r, err := findRule(all, args[0])
		if err != nil {
			return err
		}
		chosen = []rules.Rule{r}
	}
	w := bufio.NewWriter(a.out)
	switch {
	case format == "json" && len(args) == 1:
		err = encode(w, pageOf(&chosen[0]))
	case format == "json":
		pages := make([]rulePage, len(chosen))
		for i := range chosen {
			pages[i] = pageOf(&chosen[i])
		}
		err = encode(w, pages)
	case format == "md":
		for i := range chosen {
			markdownPage(w, &chosen[i])
		}
	case len(args) == 1:
		a.textPage(w, &chosen[0])
	default:
		ruleList(w, chosen)
	}
	if err != nil {
		return err
	}
	return w.Flush()
}

func findRule(all []rules.Rule, id string) (rules.Rule, error) {
	ids := make([]string, len(all))
	for i, r := range all {
		if ids[i] = r.ID; strings.EqualFold(r.ID, id) {
			return r, nil
		}
	}
	if n, ok := nearest.Of(id, ids); ok {
		return rules.Rule{}, usagef("unknown rule %q; did you mean %s?", id, n)
	}
	if n, ok := nearest.Of(id, topicNames()); ok {
		return rules.Rule{}, usagef("unknown rule %q; for the topic: stance rules --topic %s", id, n)
	}
	return rules.Rule{}, usagef("unknown rule %q; stance rules lists them", id)
}

func encode(w io.Writer, v any) error {
	enc := json.NewEncoder(w)
	enc.SetEscapeHTML(false)
	return enc.Encode(v)
}

// A rulePage is the JSON form of a rule.
type rulePage struct {
	ID       string           `json:"id"`
	Severity finding.Severity `json:"severity"`
	Title    string           `json:"title"`
	LooksFor string           `json:"looks_for"`
	Why      string           `json:"why"`
	Do       string           `json:"do"`
	Source   string           `json:"source"`
	Per      string           `json:"per"` // what stance audit divides its findings by
	Trigger  ruleExample      `json:"trigger"`
	NearMiss ruleExample      `json:"near_miss"`
}

// A ruleExample is notes as plain text and, where it matters, the chart as CSV.
type ruleExample struct {
	Says  string `json:"says"`
	Chart string `json:"chart,omitempty"`
	Notes string `json:"notes"`
}

func pageOf(r *rules.Rule) rulePage {
	return rulePage{
		ID: r.ID, Severity: r.Severity, Title: r.Doc.Title, LooksFor: r.Doc.LooksFor, Why: r.Doc.Why,
		Do: r.Doc.Do, Source: r.Doc.Source, Per: r.Per,
		Trigger: ruleExample(r.Doc.Trigger), NearMiss: ruleExample(r.Doc.NearMiss),
	}
}

// sections are the paragraphs of a rule's page, in the order in which they are read.
func sections(r *rules.Rule) []said {
	return []said{
		{"Looks for", r.Doc.LooksFor},
		{"Why it matters", r.Doc.Why},
		{"What to do", r.Doc.Do},
		{"Source", r.Doc.Source},
	}
}

// countedPer says what an opportunity of the rule is, as stance audit counts them.
func countedPer(r *rules.Rule) string { return "Counted per: " + r.Per + "." }

func ruleList(w io.Writer, all []rules.Rule) {
	idWidth := 0
	for _, r := range all {
		idWidth = max(idWidth, len(r.ID))
	}
	for _, r := range all {
		fmt.Fprintf(w, "%-*s  %-7s  %s\n", idWidth, r.ID, r.Severity, r.Doc.Title)
	}
	fmt.Fprintf(w, "\n%s. stance rules ID explains one.\n", plural.Of(len(all), "rule"))
}

func (a *app) textPage(w io.Writer, r *rules.Rule) {
	width := a.width()
	if width == 0 {
		width = 80
	}
	fmt.Fprintf(w, "%s (%s)\n%s\n", r.ID, r.Severity, r.Doc.Title)
	for _, s := range sections(r) {
		fmt.Fprintf(w, "\n%s\n", s.field)
		report.Fill(w, width, "  ", "  ", s.value)
	}
	fmt.Fprintln(w)
	report.Fill(w, width, "", "  ", countedPer(r))
	for _, e := range examples(r) {
		fmt.Fprintf(w, "\n%s\n", e.title)
		report.Fill(w, width, "  ", "  ", e.Says)
		for _, block := range []string{e.Chart, e.Notes} {
			if block = strings.TrimRight(block, "\n"); block != "" {
				fmt.Fprintln(w)
				for line := range strings.SplitSeq(block, "\n") {
					fmt.Fprintln(w, strings.TrimRight("    "+line, " "))
				}
			}
		}
	}
}

type titledExample struct {
	title string
	rules.Example
}

func examples(r *rules.Rule) []titledExample {
	return []titledExample{{"Flagged", r.Doc.Trigger}, {"Not flagged", r.Doc.NearMiss}}
}

func markdownPage(w io.Writer, r *rules.Rule) {
	fmt.Fprintf(w, "## `%s` (%s)\n\n%s\n", r.ID, r.Severity, r.Doc.Title)
	for _, s := range sections(r) {
		fmt.Fprintf(w, "\n**%s.** %s\n", s.field, s.value)
	}
	fmt.Fprintf(w, "\n%s\n", countedPer(r))
	for _, e := range examples(r) {
		fmt.Fprintf(w, "\n**%s.** %s\n", e.title, e.Says)
		for _, block := range []string{e.Chart, e.Notes} {
			if block = strings.TrimRight(block, "\n"); block != "" {
				fmt.Fprintf(w, "\n```\n%s\n```\n", block)
			}
		}
	}
	fmt.Fprintln(w)
}
