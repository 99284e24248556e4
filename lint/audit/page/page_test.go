package page_test

import (
	"bytes"
	"encoding/xml"
	"errors"
	"fmt"
	"io"
	"regexp"
	"strings"
	"testing"
	"time"

	"example.com/stance/lint/audit"
	"example.com/stance/lint/audit/page"
	"example.com/stance/lint/audit/stat"
	"example.com/stance/lint/report"
)

// hostile is a name that would break out of the page if it weren't escaped.
const hostile = `<script>alert("x")</script>&'`

// sample is a report with every part that a page can have. scale makes its counts larger.
func sample(scale int) *audit.Report {
	rules := []audit.Rule{
		{ID: "helpers-unstated", Group: "gaps", Severity: "hint", Title: "transfer without the number of helpers", Per: "a note with a transfer"},
		{ID: "aid-unstated", Group: "gaps", Severity: "hint", Title: "walk without the aid", Per: "a note with a walk"},
		{ID: "fall-not-told", Group: "falls", Severity: "error", Title: "fall that nobody was told of", Per: "a fall"},
	}
	scopes := []string{audit.ScopeAll, "gaps", "falls", "helpers-unstated", "aid-unstated", "fall-not-told"}
	table := func(by string, values ...string) audit.Table {
		t := audit.Table{By: by}
		for i, v := range values {
			for j, s := range scopes {
				row := audit.Row{Value: v, Scope: s, All: 40 * scale, Notes: 30 * scale, Flagged: 3 * scale,
					Opportunities: (30 + 7*i) * scale / (j + 1), Findings: (2 + (i+j)%3) * scale / (j + 1)}
				if s == "fall-not-told" && i == 0 {
					row.Opportunities, row.Findings = 0, 0
				}
				if s == "aid-unstated" && v == "Birch" {
					row.Opportunities, row.Findings = 2, 1 // too few for a rate
				}
				if row.Opportunities > 0 {
					iv := stat.Wilson(row.Findings, row.Opportunities, audit.Level)
					row.Rate = &audit.Rate{Value: float64(row.Findings) / float64(row.Opportunities), Low: iv.Low, High: iv.High}
				}
				t.Rows = append(t.Rows, row)
			}
		}
		return t
	}
	events := func(t audit.Table, values ...string) audit.Table {
		for i, v := range values {
			fixed := i
			t.Events = append(t.Events, audit.EventRow{Value: v, Event: "fall", Told: 2 * i}, audit.EventRow{Value: v, Event: "cause", Told: i},
				audit.EventRow{Value: v, Event: "hazard", Told: 2 * i, Fixed: &fixed}, audit.EventRow{Value: v, Event: "hurt"})
		}
		return t
	}
	var labels []string
	var points []stat.Point
	for i := range 26 {
		p := stat.Point{Label: fmt.Sprintf("2026-W%02d", i+20), Events: (6 + i*5%7) * scale, N: (90 + i*11%17) * scale}
		switch {
		case i == 8:
			p.Events, p.N = 0, 0
		case i > 22:
			p.Events += 14 * scale
		}
		labels, points = append(labels, p.Label), append(points, p)
	}
	chart := func(scope, measure string, c stat.Chart) audit.Chart {
		return audit.Chart{Scope: scope, Measure: measure, Chart: c, Words: c.Words()}
	}
	calm := []stat.Point{{Label: "2026-W20", Events: 9, N: 60}, {Label: "2026-W21", Events: 10, N: 60}, {Label: "2026-W22", Events: 1, N: 7}}
	f := stat.Funnel([]stat.Point{{Label: "Birch", Events: 90, N: 500}, {Label: hostile, Events: 60, N: 520}, {Label: "Oak", Events: 2, N: 3}, {Label: "Yew"}})
	quiet := stat.Funnel([]stat.Point{{Label: "Birch", Events: 50, N: 500}, {Label: "Oak", Events: 48, N: 490}})
	return &audit.Report{
		Made: time.Date(2026, 11, 24, 9, 30, 0, 0, time.UTC), Version: "1.2", From: "2026-05-11", To: "2026-11-08", By: audit.Week,
		Notes: 4000 * scale, Residents: 3, LeftOut: []audit.LeftOut{{N: 3, What: "records of notes", Why: "could not be read"}}, Charted: true,
		Policy: audit.Policy{Digest: strings.Repeat("0a1b", 16), Settings: []audit.Setting{{Key: "lift_helpers", Value: "1"}}},
		Rules:  rules,
		Events: []audit.Event{{ID: "fall", Words: "notes that tell of a fall"}, {ID: "cause", Of: "fall", Words: "the cause told"},
			{ID: "hazard", Words: "hazards"}, {ID: "hurt", Words: "notes in which staff were hurt or strained"}},
		Tables: []audit.Table{events(table(audit.ByAll, ""), "x", ""), events(table(audit.ByUnit, "Birch", hostile, ""), "Birch", hostile, ""), table(audit.ByShift, "day", "evening", "night"),
			table(audit.ByRole, "care worker", "nurse"), table(audit.ByResident, "R-1", "R-2", hostile), table(string(audit.Week), labels...)},
		Charts: []audit.Chart{
			chart(audit.ScopeAll, audit.PerNote, stat.Counts(points)), chart(audit.ScopeAll, audit.PerOpportunity, stat.Proportions(points)),
			chart("gaps", audit.PerOpportunity, stat.PChart(calm)), chart("fall-not-told", audit.PerOpportunity, stat.PChart(calm[2:])),
		},
		Funnels:   []audit.Funnel{{Scope: audit.ScopeAll, Plot: f, Words: f.Words()}, {Scope: "gaps", Plot: quiet, Words: quiet.Words()}},
		Method:    []audit.Paragraph{{Title: "Rates", Words: "Findings per 100 opportunities.", Source: "a paper"}},
		StandsOut: []string{"Findings are 4.7 times as frequent in notes of one shift."},
		Caution:   report.Caution,
	}
}

func empty() *audit.Report {
	return &audit.Report{By: audit.Month, Tables: []audit.Table{{By: audit.ByAll}, {By: audit.ByUnit}, {By: audit.ByResident}, {By: string(audit.Month)}},
		Names: audit.Names{Hidden: true, Key: "abcd"}, Caution: report.Caution}
}

func html(t *testing.T, r *audit.Report) string {
	t.Helper()
	var b bytes.Buffer
	if err := page.HTML(&b, r); err != nil {
		t.Fatal(err)
	}
	return b.String()
}

// The page is well-formed, its ids are unique and lead somewhere, its headings are in steps, every table
// has a caption and scopes, every drawing a name, and nothing is fetched or run.
func TestStructure(t *testing.T) {
	for name, r := range map[string]*audit.Report{"full": sample(1), "large": sample(900), "empty": empty()} {
		t.Run(name, func(t *testing.T) { structure(t, html(t, r)) })
	}
}

func structure(t *testing.T, doc string) {
	t.Helper()
	ids, wanted := map[string]bool{}, map[string]string{}
	level, captions, tables, drawings, names := 0, 0, 0, 0, 0
	d := xml.NewDecoder(strings.NewReader(doc))
	d.Strict, d.AutoClose, d.Entity = false, xml.HTMLAutoClose, xml.HTMLEntity
	for {
		tok, err := d.Token()
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			t.Fatalf("not well-formed: %v", err)
		}
		e, ok := tok.(xml.StartElement)
		if !ok {
			continue
		}
		attr := map[string]string{}
		for _, a := range e.Attr {
			attr[a.Name.Local] = a.Value
			if strings.HasPrefix(a.Name.Local, "on") || strings.HasPrefix(a.Value, "http") && a.Name.Local != "xmlns" {
				t.Errorf("%s has %s=%q", e.Name.Local, a.Name.Local, a.Value)
			}
		}
		if id, ok := attr["id"]; ok {
			if ids[id] {
				t.Errorf("the id %s is there twice", id)
			}
			ids[id] = true
		}
		for id := range strings.FieldsSeq(attr["aria-labelledby"]) {
			wanted[id] = "aria-labelledby"
		}
		if to, ok := strings.CutPrefix(attr["href"], "#"); ok {
			wanted[to] = "href"
		}
		switch e.Name.Local {
		case "script", "link", "img", "iframe", "object":
			t.Errorf("has the element %s", e.Name.Local)
		case "h1", "h2", "h3", "h4":
			h := int(e.Name.Local[1] - '0')
			if h > level+1 {
				t.Errorf("a heading %d follows a heading %d", h, level)
			}
			level = h
		case "th":
			if attr["scope"] == "" {
				t.Error("a th has no scope")
			}
		case "table":
			tables++
		case "caption":
			captions++
		case "svg":
			drawings++
			if attr["role"] == "img" && attr["aria-labelledby"] != "" {
				names++
			}
		}
	}
	for id, from := range wanted {
		if !ids[id] {
			t.Errorf("%s leads to %q, which isn't there", from, id)
		}
	}
	if tables == 0 || captions != tables || names != drawings {
		t.Errorf("%d tables, %d captions, %d drawings, %d of them named", tables, captions, drawings, names)
	}
	if got := strings.Count(doc, report.Caution); got != 2 {
		t.Errorf("the caution is there %d times, want at the top and at the end", got)
	}
	if strings.Contains(doc, "<script") {
		t.Error("a name broke out")
	}
}

// text is what a reader gets of the page.
func text(doc string) string {
	doc = regexp.MustCompile(`(?s)<(svg|style).*?</(svg|style)>`).ReplaceAllString(doc, " ")
	doc = regexp.MustCompile(`<[^>]*>`).ReplaceAllString(doc, " ")
	return strings.Join(strings.Fields(doc), " ")
}

func TestContents(t *testing.T) {
	full := text(html(t, sample(1)))
	for _, want := range []string{
		"4000 notes on 3 residents. Shifts of 11 May 2026 to 8 November 2026.",
		"24 November 2026, 09:30 UTC by stance 1.2.",
		"3 records of notes that could not be read.",
		"lift_helpers 1",
		"Residents are named as in the notes. Keep this page as safe as the notes.",
		"Fall that nobody was told of , error 0 of 0 nothing to judge 30", // a rate without opportunities is none, not zero
		"(not stated)",
		"What Told Put right notes that tell of a fall 2 the cause told 1 hazards 2 1",
		"None told: notes in which staff were hurt or strained.",
		"what was not told in a unit is left out What Told Put right &lt;script&gt;alert(&#34;x&#34;)&lt;/script&gt;&amp;&#39; notes that tell of a fall 2 " +
			"the cause told 1 hazards 2 1 (not stated) notes that tell of a fall 4 the cause told 2 hazards 4 2",
		"Gaps, findings per 100 opportunities no point signals",
		"Fall that nobody was told of, findings per 100 opportunities too few to tell",
		"week of 6 July 2026 0 in 0 notes none nothing to count", "week of 6 July 2026 0 of 0 none nothing to count",
		"◆ week of 19 October 2026",
		"Above the upper limit.",
		"Gaps, units side by side no unit beyond the 99.8 % limits",
		"a note with a transfer",
		"Source: a paper.",
		"Findings are 4.7 times as frequent", "3 rules with no finding", "1 of 2 too few",
	} {
		if !strings.Contains(full, want) {
			t.Errorf("the page lacks %q", want)
		}
	}
	none := text(html(t, empty()))
	for _, want := range []string{
		"0 notes on 0 residents. No shift was counted.", "Left out Nothing.", "None, so the rules against the chart are silent.",
		"Every setting is the one that stance comes with.", "hidden; mark of the key: abcd", "There is nothing to draw.", "fewer than two units",
	} {
		if !strings.Contains(none, want) {
			t.Errorf("the page of no notes lacks %q", want)
		}
	}
}

// Every chart and funnel has the figures of each of its points in a table.
func TestTwins(t *testing.T) {
	r := sample(1)
	doc := html(t, r)
	for i, c := range r.Charts {
		rows := strings.Count(between(t, doc, fmt.Sprintf(`<caption id="chart-%d-table">`, i+1), "</table>"), "<tr")
		if rows != len(c.Chart.Points)+1 {
			t.Errorf("chart %d has %d points and %d rows with the head", i+1, len(c.Chart.Points), rows)
		}
	}
	for i, f := range r.Funnels {
		rows := strings.Count(between(t, doc, fmt.Sprintf(`<caption id="funnel-%d-table">`, i+1), "</table>"), "<tr")
		if rows != len(f.Plot.Units)+1 {
			t.Errorf("funnel %d has %d units and %d rows with the head", i+1, len(f.Plot.Units), rows)
		}
	}
}

func between(t *testing.T, s, from, to string) string {
	t.Helper()
	_, s, ok := strings.Cut(s, from)
	if !ok {
		t.Fatalf("no %s", from)
	}
	s, _, _ = strings.Cut(s, to)
	return s
}

type failing struct{}

func (failing) Write([]byte) (int, error) { return 0, io.ErrClosedPipe }

func TestWriteFails(t *testing.T) {
	if err := page.HTML(failing{}, sample(1)); !errors.Is(err, io.ErrClosedPipe) {
		t.Errorf("error %v, want that of the writer", err)
	}
}

func BenchmarkHTML(b *testing.B) {
	r := sample(900)
	for b.Loop() {
		if err := page.HTML(io.Discard, r); err != nil {
			b.Fatal(err)
		}
	}
}
