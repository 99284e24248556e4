package report

import (
	"cmp"
	"fmt"
	"strings"
	"time"

	"example.com/stance/lint/finding"
	"example.com/stance/lint/plural"
	"example.com/stance/lint/trade"
)

// chartWords says one cell of the chart in plain words, with the cell as written in brackets so that
// it can be found in the chart.
func chartWords(v finding.ChartValue) string {
	what := cmp.Or(columnWords(v.Field), strings.ReplaceAll(v.Field, "_", " "))
	cell := strings.TrimSpace(v.Value)
	said := cellWords(v.Field, cell)
	switch {
	case cell == "" && said == "":
		return what + ": nothing charted"
	case said == "" || said == cell:
		return what + ": " + cell
	case cell == "":
		return what + ": " + said
	}
	return fmt.Sprintf("%s: %s (%s)", what, said, cell)
}

// Charted says cells of one chart row in a sentence, with the time from which the row holds.
func Charted(cells []finding.ChartValue) string {
	var said []string
	for _, c := range cells {
		said = append(said, chartWords(c))
	}
	s := sentence(strings.Join(said, "; "))
	if len(cells) > 0 && !cells[0].From.IsZero() {
		s += " Charted since " + cells[0].From.Format("2 January 2006, 15:04") + "."
	}
	return s
}

// columnWords names a column of the chart; empty for a column it does not know.
func columnWords(column string) string {
	switch column {
	case "left_leg":
		return "left leg"
	case "right_leg":
		return "right leg"
	case "left_arm":
		return "left arm"
	case "right_arm":
		return "right arm"
	case "transfer":
		return "transfer"
	case "staff":
		return "helpers"
	case "aids":
		return "aids"
	case "walk":
		return "walking"
	case "by":
		return "charted by"
	case "from":
		return "in force from"
	case "until":
		return "in force until"
	case "unit":
		return "unit"
	}
	return ""
}

func cellWords(field, cell string) string {
	lower := strings.ToLower(cell)
	switch field {
	case "left_leg", "right_leg", "left_arm", "right_arm":
		return trade.Weight(lower).Name()
	case "transfer":
		return trade.Way(lower).Name()
	case "staff":
		if cell == "" {
			return "as the way of transfer needs"
		}
	case "aids":
		if cell == "" {
			return "none"
		}
		var names []string
		for aid := range strings.SplitSeq(lower, ";") {
			if aid = strings.TrimSpace(aid); aid != "" {
				names = append(names, trade.Aid(aid).Name())
			}
		}
		return strings.Join(names, ", ")
	case "walk":
		return trade.Walk(lower).Name()
	}
	return ""
}

// shiftWords turns "2026-11-24/evening" into "evening shift of 24 November 2026".
func shiftWords(key string) string {
	date, name, ok := strings.Cut(key, "/")
	if !ok {
		return key
	}
	t, err := time.Parse(time.DateOnly, date)
	if err != nil {
		return key
	}
	return name + " shift of " + t.Format("2 January 2006")
}

// words lists the severities that occur: "2 errors, 1 hint, 3 answered".
func (c counts) words() string {
	var parts []string
	for _, p := range []struct {
		n    int
		noun string
	}{{c.Error, "error"}, {c.Warning, "warning"}, {c.Hint, "hint"}} {
		if p.n > 0 {
			parts = append(parts, plural.Of(p.n, p.noun))
		}
	}
	if c.answered > 0 {
		parts = append(parts, fmt.Sprintf("%d answered", c.answered))
	}
	return strings.Join(parts, ", ")
}
