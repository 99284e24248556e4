package report

import (
	"fmt"
	"io"
	"strings"

	"example.com/stance/lint/finding"
)

// Markdown writes the run as [Text] does, in CommonMark: a heading for each resident, and for each finding a list of what
// is to be known of it. The ids of findings are always there; what was not understood is listed where opt says so.
func Markdown(w io.Writer, run *Run, opt TextOptions) error {
	opt.Color = false
	m := &markdown{newTextWriter(w, run, opt)}
	fmt.Fprint(m.w, "# Handover notes held against the chart\n\n")
	groups := byResident(run.Findings)
	for _, s := range m.said(len(groups)) {
		fmt.Fprintf(m.w, "%s\n", plainWords(s))
	}
	fmt.Fprintf(m.w, "\n**%s**\n", Caution)
	for _, g := range groups {
		name := "Resident " + Printable(g.resident)
		if g.unit != "" {
			name += ", " + Printable(g.unit)
		}
		fmt.Fprintf(m.w, "\n## %s: %s\n", plainWords(name), g.counts.words())
		for _, fs := range byNote(g.findings) {
			for i := range fs {
				m.finding(&fs[i])
			}
		}
	}
	if opt.Unread && len(run.Overlooked) > 0 {
		fmt.Fprint(m.w, "\n## Not understood: read again before you rely on this report\n\n")
		for i := range run.Overlooked {
			o := &run.Overlooked[i]
			fmt.Fprintf(m.w, "- %s\n", plainWords(fmt.Sprintf("Resident %s, %s, %s, note %s: %s%s%s", o.Resident, shiftWords(o.Shift), m.clock(o.Shift, o.Time), o.Note, open, oneLine(o.Text), shut)))
		}
	}
	return m.w.Flush()
}

type markdown struct{ *textWriter }

func (m *markdown) finding(f *finding.Finding) {
	head := Capital(string(f.Severity))
	if f.Answer.Settles() {
		head += ", answered"
	}
	fmt.Fprintf(m.w, "\n### %s\n\n%s.\n\n", plainWords(head+": "+strings.TrimRight(oneLine(sentence(f.Message)), ".")), plainWords(Capital(oneLine(m.where(f)))))
	if n, ok := m.run.on(f); ok {
		m.item("Written", m.quote(n.Text, f.Span))
	} else if f.Text != "" {
		m.item("Written", open+f.Text+shut)
	}
	m.item("Sum", sentence(f.Sum))
	for _, line := range m.chartLines(f.Evidence) {
		m.item("Chart", line)
	}
	for _, e := range f.Evidence {
		if e.Chart == nil && e.Text != "" {
			m.item("Compare", m.compare(f, e))
		}
	}
	m.item("Do", sentence(f.Advice))
	if f.Rewrite != nil {
		m.item("Wording", m.wording(f))
	}
	rule := f.Rule
	if len(f.Covers) > 0 {
		rule += "; it stands for " + strings.Join(f.Covers, " and ") + " too"
	}
	m.item("Rule", rule)
	m.item("Finding", f.ID)
	if a := f.Answer; a != nil {
		m.item("Answer", fmt.Sprintf("%s by %s on %s. %s", Capital(a.As.Said()), a.By, m.in(a.Time).Format("2 January 2006, 15:04"), sentence(a.Why)))
	}
}

func (m *markdown) item(label, s string) {
	if s != "" {
		fmt.Fprintf(m.w, "- **%s:** %s\n", label, plainWords(oneLine(s)))
	}
}

// plainWords is text in which Markdown finds nothing to format, no link and no HTML.
func plainWords(s string) string {
	return strings.NewReplacer(`\`, `\\`, "`", "\\`", "*", `\*`, "_", `\_`, "[", `\[`, "]", `\]`, "<", `\<`, ">", `\>`, "#", `\#`,
		"|", `\|`, "~", `\~`, "&", `\&`, "!", `\!`, "$", `\$`, "://", `\://`, "@", `\@`).Replace(s)
}
