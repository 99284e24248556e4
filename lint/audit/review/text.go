package review

import (
	"bufio"
	"cmp"
	"encoding/json"
	"fmt"
	"io"
	"math"
	"strconv"
	"strings"

	"example.com/stance/lint/audit"
	"example.com/stance/lint/report"
)

// JSON writes the agreement as one object.
func JSON(w io.Writer, a *Agreement) error {
	enc := json.NewEncoder(w)
	enc.SetEscapeHTML(false)
	return enc.Encode(a)
}

// Text writes the agreement for people.
func Text(w io.Writer, a *Agreement, opt audit.TextOptions) error {
	out := bufio.NewWriter(w)
	width := cmp.Or(opt.Width, 80)
	para := func(s string) { report.Fill(out, width, "", "", s) }
	item := func(s string) { report.Fill(out, width, "  ", "    ", s) }
	heading := func(s string) {
		if opt.Bold {
			s = "\x1b[1m" + s + "\x1b[0m" // ECMA-48, section 8.3.117 (SGR)
		}
		fmt.Fprintf(out, "\n%s\n", s)
	}
	para(fmt.Sprintf("%d of %d rows marked yes or no, %d unclear, %d not marked.", a.Marked, a.Rows, a.Unclear, a.Blank))
	chart := "with a chart"
	if !a.Charted {
		chart = "without a chart"
	}
	item(fmt.Sprintf("Judged: by stance %s, policy %.12s, %s; seed %s.", a.Version, a.Policy.Digest, chart, report.Printable(a.Seed)))
	if len(a.NotIn) > 0 {
		item("Not drawn from, for want of rows: " + strings.Join(a.NotIn, ", ") + ".")
	}
	if a.Gaps > 0 {
		item(fmt.Sprintf("Left out: %d opportunities in shifts that have no note to mark.", a.Gaps))
	}

	heading("All that was drawn from")
	c := a.All.Cells
	audit.Columns(out, [][]string{
		{"", "person: yes", "person: no"},
		{"flagged", strconv.Itoa(c.BothYes), strconv.Itoa(c.Program)},
		{"not flagged", strconv.Itoa(c.Person), strconv.Itoa(c.BothNo)},
	})
	item(fmt.Sprintf("Weighted back to %d pairs of a note and a rule, with 95 %% intervals:", a.All.Population))
	audit.Columns(out, [][]string{
		{"sensitivity", percent(a.All.Sensitivity)},
		{"specificity", percent(a.All.Specificity)},
		{"positive predictive value", percent(a.All.PPV)},
		{"negative predictive value", percent(a.All.NPV)},
		{"kappa", plain(a.All.Kappa)},
		{"kappa of the marked rows as they are", plain(a.All.SampleKappa)},
	})
	item("Sensitivity: of what a person would flag, the share flagged. Specificity: of what a person would not, the share left alone. " +
		"Predictive values: of what is flagged, and of what is not, the share on which a person agrees.")

	heading("By " + string(a.By))
	lines := [][]string{{string(a.By), "agree", "sensitivity", "pos. predictive"}}
	for _, s := range a.Strata {
		c := s.Cells
		agree := fmt.Sprintf("%d of %d", c.BothYes+c.BothNo, c.BothYes+c.Program+c.Person+c.BothNo)
		lines = append(lines, []string{s.Label, agree, percent(s.Sensitivity), percent(s.PPV)})
	}
	audit.Columns(out, lines)

	heading("Where the two differ")
	for _, d := range a.Disagreements {
		says := "not flagged, the person would"
		if d.Flagged {
			says = "flagged, the person would not"
		}
		if d.Remark != "" {
			says += "; remark: " + d.Remark
		}
		item(report.Printable(fmt.Sprintf("line %d, row %s, %s, resident %s, note %s: %s.", d.Line, d.Row, d.Rule, d.Resident, d.Note, says)))
	}
	if len(a.Disagreements) == 0 {
		item("Nowhere.")
	}

	heading("Method")
	for _, p := range a.Method {
		s := p.Title + ": " + p.Words
		if p.Source != "" {
			s += " Source: " + p.Source + "."
		}
		item(s)
	}
	fmt.Fprintln(out)
	para(a.Caution)
	return out.Flush()
}

// percent writes a share and its interval per 100.
func percent(e *Estimate) string {
	if e == nil {
		return "not known"
	}
	f := func(x float64) string { return strconv.FormatFloat(100*x, 'f', 1, 64) }
	return fmt.Sprintf("%s (%s to %s)", f(e.Value), f(e.Low), f(e.High))
}

func plain(e *Estimate) string {
	if e == nil {
		return "not known"
	}
	f := func(x float64) string { return strconv.FormatFloat(math.Round(100*x)/100+0, 'f', 2, 64) } // + 0: no minus before nought
	return fmt.Sprintf("%s (%s to %s)", f(e.Value), f(e.Low), f(e.High))
}
