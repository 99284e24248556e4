package pages

import (
	"cmp"
	"slices"
	"strings"
	"unicode/utf16"
	"unicode/utf8"

	"example.com/stance/cmd/stance/web/pages/says"
	"example.com/stance/cmd/stance/web/pages/sight"
	"example.com/stance/lexicon"
	"example.com/stance/lint/amend"
	"example.com/stance/lint/finding"
	"example.com/stance/lint/report"
)

// A segment is a sentence of a note, with what was understood of it.
type segment struct {
	Pieces []piece
	Said   []says.Said
	Unread bool // it names a move, and nothing was understood of it
}

// A piece is a run of text, marked or not.
type piece struct {
	Text    string
	Grade   finding.Severity // of the worst finding on it; empty for none
	Hit     bool             // a place that a search found
	Numbers []int            // of the findings that end here
}

// A view is one finding for a template.
type view struct {
	ID      string
	Number  int // in the note, from 1
	Grade   finding.Severity
	Word    string // the severity with a capital
	Shape   string // stands for it where there is no colour
	Title   string // of the rule
	Rule    string
	Words   string // of the note, that it is about
	Problem string
	Quote   []piece
	Chart   []string
	Compare []compare
	Do      string
	Why     string
	Sum     string // the figures behind the problem
	Wording *wording
}

// A compare is another place that bears on a finding.
type compare struct {
	Where string
	Words string
}

// A wording is words proposed in place of others. The place is counted in UTF-16 units, as a browser
// counts.
type wording struct {
	ID         string // of the finding
	Old, New   string
	Start, End int
}

// segments cuts a note's text into sentences, each with what was understood of it, and gives the findings in the
// order of harm. They are numbered in that order from first, which is more than 1 where notes share a page.
func (s *site) segments(text string, reading lexicon.Reading, found []sight.Finding, first int) ([]segment, []view) {
	found = byHarm(found)
	var spans []lexicon.Span
	for _, statement := range reading.Statements {
		spans = append(spans, statement.Span)
	}
	for _, f := range found {
		spans = append(spans, f.Span)
	}
	bounds := sentences(text, append(spans, reading.Overlooked...))
	out := make([]segment, len(bounds))
	of := func(at lexicon.Span) *segment {
		i := slices.IndexFunc(bounds, func(b bound) bool { return at.Start < b.end })
		if i < 0 {
			i = len(bounds) - 1
		}
		return &out[i]
	}
	for i := range reading.Statements {
		statement := &reading.Statements[i]
		g := of(statement.Span)
		said := s.words.Statement(statement)
		if !slices.ContainsFunc(g.Said, said.Equal) {
			g.Said = append(g.Said, said)
		}
	}
	for _, at := range reading.Overlooked {
		of(at).Unread = true
	}
	for i, b := range bounds {
		out[i].Pieces = pieces(text, b.start, b.end, plain(found), first)
	}
	views := make([]view, len(found))
	for i, f := range found {
		views[i] = s.view(f, i+first)
	}
	return joined(out), views
}

// byHarm orders findings by what they may do, and those alike by their place.
func byHarm(fs []sight.Finding) []sight.Finding {
	return slices.SortedStableFunc(slices.Values(fs), func(a, b sight.Finding) int {
		return cmp.Or(b.Severity.Rank()-a.Severity.Rank(), a.Span.Start-b.Span.Start)
	})
}

// joined puts sentences together of which there is nothing to say, so that those that matter are close.
func joined(gs []segment) []segment {
	var out []segment
	plain := func(g segment) bool { return len(g.Said) == 0 && !g.Unread }
	for _, g := range gs {
		if n := len(out); n > 0 && plain(g) && plain(out[n-1]) {
			out[n-1].Pieces = append(out[n-1].Pieces, g.Pieces...)
			continue
		}
		out = append(out, g)
	}
	return out
}

// A bound is the place of a sentence, in bytes.
type bound struct{ start, end int }

// sentences cuts a text after line ends and after full stops, but not through any of the spans. Blank
// lines belong to the sentence before them. There is at least one.
func sentences(text string, spans []lexicon.Span) []bound {
	within := func(at int) bool {
		return slices.ContainsFunc(spans, func(s lexicon.Span) bool { return s.Start < at && at < s.End })
	}
	var out []bound
	start := 0
	for i := 0; i < len(text); i++ {
		var at int
		switch c := text[i]; {
		case c == '\n':
			at = i + 1
		case (c == '.' || c == '!' || c == '?' || c == ';') && i+1 < len(text) && text[i+1] == ' ':
			at = i + 2
		default:
			continue
		}
		if within(at) {
			continue
		}
		if strings.TrimSpace(text[start:at]) == "" {
			if len(out) > 0 {
				out[len(out)-1].end, start = at, at
			}
			continue
		}
		out = append(out, bound{start, at})
		start = at
	}
	if start < len(text) || len(out) == 0 {
		out = append(out, bound{start, len(text)})
	}
	return out
}

// pieces marks the findings, numbered from first, on the text from start to end. A finding's number
// stands after its last word.
func pieces(text string, start, end int, found []finding.Finding, first int) []piece {
	cuts := []int{start, end}
	for _, f := range found {
		for _, c := range []int{f.Span.Start, f.Span.End} {
			if start < c && c < end {
				cuts = append(cuts, c)
			}
		}
	}
	slices.Sort(cuts)
	cuts = slices.Compact(cuts)
	var out []piece
	for i := 0; i+1 < len(cuts); i++ {
		p := piece{Text: text[cuts[i]:cuts[i+1]]}
		for n, f := range found {
			if f.Span.Start <= cuts[i] && cuts[i+1] <= f.Span.End {
				if f.Severity.Rank() > p.Grade.Rank() {
					p.Grade = f.Severity
				}
				if cuts[i+1] == f.Span.End {
					p.Numbers = append(p.Numbers, n+first)
				}
			}
		}
		out = append(out, p)
	}
	return out
}

// view is the finding, which is the number-th shown.
func (s *site) view(f sight.Finding, number int) view {
	doc := s.rules[f.Rule]
	out := view{
		ID: f.ID, Number: number, Grade: f.Severity, Word: report.Capital(string(f.Severity)), Shape: shape(f.Severity),
		Title: report.Capital(doc.Title), Rule: f.Rule, Problem: report.Sentence(f.Message), Do: report.Sentence(f.Advice), Why: report.Sentence(doc.Why),
		Sum: report.Sentence(f.Sum),
	}
	if f.Note != "" {
		out.Words = f.Text
		out.Quote = excerpt(f.On.Text, []finding.Finding{f.Finding}, 0)
	}
	out.Chart = s.chart(f.Evidence)
	if f.Hidden {
		out.Sum = ""
		out.Problem = out.Title + "; the other note is on a resident whom you may not see."
		return out
	}
	for _, c := range f.Compared {
		out.Compare = append(out.Compare, compare{s.where(c), c.Text})
	}
	if f.Rewrite != nil {
		for _, c := range amend.Changes(f.On.Text, []finding.Finding{f.Finding}) {
			out.Wording = &wording{f.ID, c.Original, c.Proposed, units(f.On.Text[:c.Start]), units(f.On.Text[:c.End])}
		}
	}
	return out
}

// plain are the findings by themselves.
func plain(fs []sight.Finding) []finding.Finding {
	out := make([]finding.Finding, len(fs))
	for i, f := range fs {
		out[i] = f.Finding
	}
	return out
}

// chart says the charted values, those of one row in one line, with the time from which it holds.
func (s *site) chart(evidence []finding.Evidence) []string {
	var out []string
	var cells []string
	for i, e := range evidence {
		if e.Chart == nil {
			continue
		}
		cells = append(cells, s.words.Cell(e.Chart.Field, e.Chart.Value))
		if i+1 < len(evidence) && evidence[i+1].Chart != nil && evidence[i+1].Chart.From.Equal(e.Chart.From) {
			continue
		}
		line := report.Capital(strings.Join(cells, "; ")) + "."
		if !e.Chart.From.IsZero() {
			line += " Since " + s.local(e.Chart.From).Format("2 January 2006, 15:04") + "."
		}
		out, cells = append(out, line), nil
	}
	return out
}

// where says in which note a finding is held against words.
func (s *site) where(c sight.Compared) string {
	switch {
	case c.Own:
		return "This note also says"
	case c.Other:
		return "Note " + c.Note + " on another resident says"
	case c.Time.IsZero():
		return "Note " + c.Note + " says"
	}
	return "The note of " + s.local(c.Time).Format("2 January 2006, 15:04") + " says"
}

// context is about how many bytes of a note are shown on each side of a place.
const contextBytes = 90

// excerpt is the note's words around what was found, which is marked and numbered from first; 0 is for
// no numbers. What is left out between them is shown by an ellipsis. It is nil where nothing found has
// a place in the text.
func excerpt(text string, found []finding.Finding, first int) []piece {
	var around []bound
	for _, f := range found {
		if 0 <= f.Span.Start && f.Span.Start < f.Span.End && f.Span.End <= len(text) {
			around = append(around, bound{wordBefore(text, f.Span.Start-contextBytes), wordAfter(text, f.Span.End+contextBytes)})
		}
	}
	slices.SortFunc(around, func(a, b bound) int { return cmp.Compare(a.start, b.start) })
	var out []piece
	for i := 0; i < len(around); {
		b := around[i]
		for i++; i < len(around) && around[i].start <= b.end; i++ {
			b.end = max(b.end, around[i].end)
		}
		if b.start > 0 {
			out = append(out, piece{Text: "… "})
		}
		out = append(out, pieces(text, b.start, b.end, found, first)...)
		if b.end < len(text) && i == len(around) {
			out = append(out, piece{Text: " …"})
		} else if b.end < len(text) {
			out = append(out, piece{Text: " "})
		}
	}
	if first == 0 {
		for i := range out {
			out[i].Numbers = nil
		}
	}
	return out
}

// wordBefore is the start of the first whole word from at on, or 0 before the text.
func wordBefore(text string, at int) int {
	if at <= 0 {
		return 0
	}
	if i := strings.IndexAny(text[at:], " \n"); i >= 0 && i < contextBytes {
		return at + i + 1
	}
	for !utf8.RuneStart(text[at]) {
		at--
	}
	return at
}

// wordAfter is the end of the last whole word up to at, or that of the text.
func wordAfter(text string, at int) int {
	if at >= len(text) {
		return len(text)
	}
	if i := strings.LastIndexAny(text[at-contextBytes:at], " \n"); i >= 0 {
		return at - contextBytes + i
	}
	for at < len(text) && !utf8.RuneStart(text[at]) {
		at++
	}
	return at
}

// units counts UTF-16 units.
func units(s string) int {
	n := 0
	for _, r := range s {
		n += utf16.RuneLen(r)
	}
	return n
}

func shape(s finding.Severity) string {
	switch s {
	case finding.Error:
		return "■"
	case finding.Warning:
		return "▲"
	}
	return "●"
}

// byNote puts together what was found in one note, or on one resident's shift with no note: the note
// with the worst finding first, and in a note the worst finding first.
func byNote(fs []sight.Finding) [][]sight.Finding {
	fs = slices.Clone(fs)
	slices.SortStableFunc(fs, func(a, b sight.Finding) int {
		return cmp.Or(b.Severity.Rank()-a.Severity.Rank(), strings.Compare(a.Resident, b.Resident), a.Time.Compare(b.Time), a.Span.Start-b.Span.Start)
	})
	var out [][]sight.Finding
	for _, f := range fs {
		i := slices.IndexFunc(out, func(o []sight.Finding) bool {
			return o[0].Resident == f.Resident && o[0].Note == f.Note && o[0].Time.Equal(f.Time)
		})
		if i < 0 {
			out = append(out, []sight.Finding{f})
			continue
		}
		out[i] = append(out[i], f)
	}
	return out
}
