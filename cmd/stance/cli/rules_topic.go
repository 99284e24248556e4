package cli

import (
	"bufio"
	"context"
	"fmt"
	"io"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"example.com/stance/lexicon"
	"example.com/stance/lint/finding"
	"example.com/stance/lint/handbook"
	"example.com/stance/lint/nearest"
	"example.com/stance/lint/note"
	"example.com/stance/lint/plural"
	"example.com/stance/lint/report"
	"example.com/stance/lint/rules"
)

// allTopics in place of a topic's name is the same as none.
const allTopics = "all"

// A topicFlag is --topic, which may stand alone: its value then comes as an argument, or not at all.
type topicFlag struct {
	value string
	given bool
}

func (t *topicFlag) String() string { return t.value }
func (t *topicFlag) Type() string   { return "topic" }
func (t *topicFlag) Set(s string) error {
	t.value, t.given = s, true
	return nil
}

func (t *topicFlag) register(c *cobra.Command) {
	c.Flags().Var(t, "topic", "teach by topic: list the topics, or print the `topic` named")
	c.Flags().Lookup("topic").NoOptDefVal = allTopics
	names := cobra.FixedCompletions(topicNames(), cobra.ShellCompDirectiveNoFileComp|cobra.ShellCompDirectiveKeepOrder)
	if err := c.RegisterFlagCompletionFunc("topic", names); err != nil {
		panic(err) // the flag is there
	}
}

// topicNames are for completion and for a mistyped name. A broken handbook is told by what reads it whole.
func topicNames() []string {
	all, err := handbook.All()
	if err != nil {
		return nil
	}
	names := make([]string, len(all))
	for i, t := range all {
		names[i] = t.ID
	}
	return names
}

func ruleNames() []string {
	all, err := rules.All()
	if err != nil {
		return nil
	}
	names := make([]string, len(all))
	for i, r := range all {
		names[i] = r.ID
	}
	return names
}

// topics lists the topics or prints those chosen. The name is the flag's own value or the argument.
func (a *app) topics(ctx context.Context, format, name string, args []string) error {
	if len(args) == 1 {
		if name != allTopics {
			return usagef("want one topic, got %q and %q", name, args[0])
		}
		name = args[0]
	}
	all, err := handbook.All()
	if err != nil {
		return err
	}
	one := !strings.EqualFold(name, allTopics)
	if one {
		t, err := findTopic(all, name)
		if err != nil {
			return err
		}
		all = []handbook.Topic{t}
	}
	w := bufio.NewWriter(a.out)
	if format == "text" && !one {
		a.topicList(w, all)
		return w.Flush()
	}
	lessons, err := a.lessons(ctx, all)
	if err != nil {
		return err
	}
	switch {
	case format == "json" && one:
		err = encode(w, lessonJSON(&lessons[0]))
	case format == "json":
		pages := make([]topicPage, len(lessons))
		for i := range lessons {
			pages[i] = lessonJSON(&lessons[i])
		}
		err = encode(w, pages)
	case format == "md":
		for i := range lessons {
			markdownTopic(w, &lessons[i])
		}
		fmt.Fprintf(w, "%s\n", report.Caution)
	default:
		err = a.textTopic(w, &lessons[0])
	}
	if err != nil {
		return err
	}
	return w.Flush()
}

func findTopic(all []handbook.Topic, name string) (handbook.Topic, error) {
	for _, t := range all {
		if strings.EqualFold(t.ID, name) {
			return t, nil
		}
	}
	for _, t := range all {
		for _, r := range t.Rules {
			if strings.EqualFold(r.ID, name) {
				return handbook.Topic{}, usagef("%q is a rule and no topic; it is taught in %s", name, t.ID)
			}
		}
	}
	if n, ok := nearest.Of(name, topicNames()); ok {
		return handbook.Topic{}, usagef("unknown topic %q; did you mean %s?", name, n)
	}
	return handbook.Topic{}, usagef("unknown topic %q, want %s", name, list(topicNames()))
}

// A lesson is a topic with what stance says of each of its practice notes.
type lesson struct {
	handbook.Topic
	worked []*handbook.Worked
}

func (a *app) lessons(ctx context.Context, topics []handbook.Topic) ([]lesson, error) {
	lex, err := a.compile()
	if err != nil {
		return nil, err
	}
	out := make([]lesson, len(topics))
	for i, t := range topics {
		out[i].Topic = t
		for j := range t.Practice {
			w, err := t.Practice[j].Work(ctx, lex)
			if err != nil {
				return nil, fmt.Errorf("topic %s, practice note %d: %w", t.ID, j+1, err)
			}
			out[i].worked = append(out[i].worked, w)
		}
	}
	return out, nil
}

// columns is how many characters text that is not a report's fills.
func (a *app) columns() int {
	if w := a.width(); w > 0 {
		return max(w, 40)
	}
	return 80
}

func (a *app) topicList(w io.Writer, all []handbook.Topic) {
	idWidth, n := 0, 0
	for _, t := range all {
		idWidth, n = max(idWidth, len(t.ID)), n+len(t.Rules)
	}
	for _, t := range all {
		report.Fill(w, a.columns(), fmt.Sprintf("%-*s  ", idWidth, t.ID), strings.Repeat(" ", idWidth+2), t.Title+". "+t.Learn)
	}
	fmt.Fprintf(w, "\n%s with %s. stance rules --topic TOPIC shows one.\n", plural.Of(len(all), "topic"), plural.Of(n, "rule"))
}

func (a *app) textTopic(w io.Writer, l *lesson) error {
	width := a.columns()
	fmt.Fprintf(w, "%s\n", l.Title)
	report.Fill(w, width, "", "", l.Learn)
	for _, p := range l.Introduction {
		fmt.Fprintln(w)
		report.Fill(w, width, "  ", "  ", p)
	}
	fmt.Fprintln(w)
	report.Fill(w, width, "  ", "  ", "Sources: "+l.Sources)
	fmt.Fprint(w, "\nRules\n")
	for i := range l.Rules {
		r := &l.Rules[i]
		report.Fill(w, width, "  ", "    ", fmt.Sprintf("%s (%s, %s)", report.Capital(r.Doc.Title), r.Severity, r.ID))
		report.Fill(w, width, "    Do: ", "        ", r.Doc.Do)
	}
	fmt.Fprintln(w)
	for i := range l.Practice {
		if err := a.textPractice(w, i+1, &l.Practice[i], l.worked[i]); err != nil {
			return err
		}
	}
	report.Fill(w, width, "", "", report.Caution)
	return nil
}

func (a *app) textPractice(w io.Writer, number int, p *handbook.Practice, worked *handbook.Worked) error {
	width := a.columns()
	fmt.Fprintf(w, "Practice note %d\n", number)
	report.Fill(w, width, "  ", "  ", p.Shows)
	fmt.Fprintln(w)
	for i := range worked.Notes {
		n := &worked.Notes[i]
		if cells := worked.Charted(n); i == 0 && len(cells) > 0 {
			report.Fill(w, width, "    Chart:    ", "              ", report.Charted(cells))
		}
		report.Fill(w, width, "    Note:     ", "              ", written(n)+": "+report.Printable(n.Text))
	}
	fmt.Fprintln(w)
	report.Fill(w, width, "  ", "  ", "Ask the class: "+p.Asks)
	fmt.Fprint(w, "\n  What stance says:\n\n")
	if len(worked.Findings) == 0 {
		fmt.Fprintf(w, "  %s\n\n", nothingToFlag)
		return nil
	}
	run := &report.Run{Findings: worked.Findings, Notes: func(_, id string) []note.Note {
		for _, n := range worked.Notes {
			if n.ID == id {
				return []note.Note{n}
			}
		}
		return nil
	}}
	return report.Findings(w, run, report.TextOptions{Width: a.width(), Color: a.color()})
}

// nothingToFlag is said of a practice note that is written well.
const nothingToFlag = "Nothing to flag: this is written well."

// written says when and by whom a practice note was.
func written(n *note.Note) string {
	return fmt.Sprintf("%s, by a %s", n.Time.Format("2 January 2006, 15:04"), n.Role)
}

func markdownTopic(w io.Writer, l *lesson) {
	fmt.Fprintf(w, "## %s\n\n%s\n", l.Title, l.Learn)
	for _, p := range l.Introduction {
		fmt.Fprintf(w, "\n%s\n", p)
	}
	fmt.Fprintf(w, "\n**Sources.** %s\n\n### %s: rules\n\n", l.Sources, l.Title)
	for i := range l.Rules {
		r := &l.Rules[i]
		fmt.Fprintf(w, "- **%s** (%s, `%s`). %s\n", report.Capital(r.Doc.Title), r.Severity, r.ID, r.Doc.Do)
	}
	for i := range l.Practice {
		p, worked := &l.Practice[i], l.worked[i]
		fmt.Fprintf(w, "\n### %s: practice note %d\n\n%s\n", l.Title, i+1, p.Shows)
		for j := range worked.Notes {
			n := &worked.Notes[j]
			if cells := worked.Charted(n); j == 0 && len(cells) > 0 {
				fmt.Fprintf(w, "\n**Chart.** %s\n", report.Charted(cells))
			}
			fmt.Fprintf(w, "\n%s:\n\n> %s\n", written(n), n.Text)
		}
		fmt.Fprintf(w, "\n**Ask the class.** %s\n\n**What stance says.**", p.Asks)
		if len(worked.Findings) == 0 {
			fmt.Fprintf(w, " %s\n", nothingToFlag)
			continue
		}
		fmt.Fprint(w, "\n\n")
		for _, f := range worked.Findings {
			fmt.Fprintf(w, "- **%s**%s: %s %s (`%s`)\n", report.Capital(string(f.Severity)), onWords(&f), report.Sentence(f.Message), report.Sentence(f.Advice), f.Rule)
		}
	}
	fmt.Fprintln(w)
}

// onWords names the words that a finding is on, where it is on any.
func onWords(f *finding.Finding) string {
	if f.Text == "" {
		return ""
	}
	return " on “" + f.Text + "”"
}

// A topicPage is the JSON form of a topic.
type topicPage struct {
	Topic        string         `json:"topic"`
	Title        string         `json:"title"`
	Learn        string         `json:"learn"`
	Introduction []string       `json:"introduction"`
	Sources      string         `json:"sources"`
	Rules        []topicRule    `json:"rules"`
	Practice     []practicePage `json:"practice"`
	Caution      string         `json:"caution"`
}

type topicRule struct {
	ID       string           `json:"id"`
	Severity finding.Severity `json:"severity"`
	Title    string           `json:"title"`
	Do       string           `json:"do"`
}

// A practicePage has the chart as CSV, the notes in the form that stance check reads, and its findings in them.
type practicePage struct {
	Shows    string            `json:"shows"`
	Asks     string            `json:"asks"`
	Chart    string            `json:"chart,omitempty"`
	Notes    []practiceNote    `json:"notes"`
	Findings []finding.Finding `json:"findings"`
}

type practiceNote struct {
	Note     string       `json:"note"`
	Resident string       `json:"resident"`
	Time     time.Time    `json:"time"`
	Role     lexicon.Role `json:"role"`
	Text     string       `json:"text"`
}

func lessonJSON(l *lesson) topicPage {
	out := topicPage{Topic: l.ID, Title: l.Title, Learn: l.Learn, Introduction: l.Introduction, Sources: l.Sources, Caution: report.Caution}
	for _, r := range l.Rules {
		out.Rules = append(out.Rules, topicRule{r.ID, r.Severity, r.Doc.Title, r.Doc.Do})
	}
	for i, p := range l.Practice {
		page := practicePage{Shows: p.Shows, Asks: p.Asks, Chart: p.Chart, Findings: append([]finding.Finding{}, l.worked[i].Findings...)}
		for _, n := range l.worked[i].Notes {
			page.Notes = append(page.Notes, practiceNote{n.ID, n.Resident, n.Time, n.Role, n.Text})
		}
		out.Practice = append(out.Practice, page)
	}
	return out
}
