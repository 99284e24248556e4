package pages

import (
	"strings"
	"unicode"
	"unicode/utf8"

	"example.com/stance/cmd/stance/web/pages/sight"
	"example.com/stance/lint/finding"
	"example.com/stance/lint/report"
)

// A card is one of CDS Hooks 2.0. It has no uuid, which would ask the caller to tell what became of it.
type card struct {
	Summary     string       `json:"summary"` // fewer than 140 characters
	Indicator   string       `json:"indicator"`
	Detail      string       `json:"detail"` // Markdown
	Source      cardSource   `json:"source"`
	Suggestions []suggestion `json:"suggestions,omitempty"`
	Selection   string       `json:"selectionBehavior,omitempty"` // there with suggestions
}

type cardSource struct {
	Label string      `json:"label"`
	Topic *cardCoding `json:"topic,omitempty"`
}

type cardCoding struct {
	System  string `json:"system"`
	Code    string `json:"code"`
	Display string `json:"display"`
}

// A suggestion is words proposed in place of others. Where the note lies with the caller, an action has it amended.
type suggestion struct {
	Label   string       `json:"label"`
	Actions []cardAction `json:"actions,omitempty"`
}

type cardAction struct {
	Type        string `json:"type"`
	Description string `json:"description"`
	Resource    any    `json:"resource"`
}

const mostSummary = 139

// indicator is the urgency of a severity.
func indicator(s finding.Severity) string {
	switch s {
	case finding.Error:
		return "critical"
	case finding.Warning:
		return "warning"
	}
	return "info"
}

// card tells a finding. says stands before the words that it is about.
func (s *site) card(f sight.Finding, says string) card {
	v := s.view(f, 0)
	var lines []string
	add := func(name, text string) {
		if text != "" {
			lines = append(lines, "**"+name+"** "+literal(text))
		}
	}
	quote := ""
	for _, p := range v.Quote {
		if p.Grade != "" {
			quote += "«" + p.Text + "»"
		} else {
			quote += p.Text
		}
	}
	if quote == "" {
		lines = append(lines, literal(report.Sentence(says)))
	} else {
		lines = append(lines, literal(says)+": "+literal(quote))
	}
	add("Problem:", v.Problem)
	for _, c := range v.Chart {
		add("Chart:", c)
	}
	for _, c := range v.Compare {
		add(c.Where+":", "«"+c.Words+"»")
	}
	add("Sum:", v.Sum)
	add("Do:", v.Do)
	lines = append(lines, "*"+literal(report.Caution)+"*")
	return card{
		Summary: short(v.Title), Indicator: indicator(f.Severity), Detail: strings.Join(lines, "\n\n"),
		Source: cardSource{Label: "stance, rule " + f.Rule, Topic: &cardCoding{report.RuleSystem, f.Rule, v.Title}},
	}
}

// remark is a card that is about no finding.
func (s *site) remark(summary string, lines ...string) card {
	var detail []string
	for _, l := range lines {
		detail = append(detail, literal(l))
	}
	detail = append(detail, "*"+literal(report.Caution)+"*")
	return card{Summary: short(summary), Indicator: "info", Detail: strings.Join(detail, "\n\n"), Source: cardSource{Label: "stance"}}
}

// short cuts a summary to what the standard allows.
func short(s string) string {
	if utf8.RuneCountInString(s) <= mostSummary {
		return s
	}
	return string([]rune(s)[:mostSummary-1]) + "…"
}

// literal is a text that stands in Markdown as it is: nothing of a note is taken for a link, an image or HTML. Line ends
// become blanks.
func literal(text string) string {
	var b strings.Builder
	for _, r := range strings.Join(strings.Fields(report.Printable(text)), " ") {
		if r < utf8.RuneSelf && (unicode.IsPunct(r) || unicode.IsSymbol(r)) {
			b.WriteByte('\\')
		}
		b.WriteRune(r)
	}
	return b.String()
}
