package report

import (
	"bufio"
	"cmp"
	"fmt"
	"io"
	"slices"
	"strings"
	"time"
	"unicode/utf8"

	"example.com/stance/lexicon"
	"example.com/stance/lint/finding"
	"example.com/stance/lint/plural"
)

// TextOptions say how the text report is laid out.
type TextOptions struct {
	Width  int            // columns to fill, 0 for 80; less than 40 is taken as 40
	Color  bool           // mark severities and places with colour too; never instead of words
	IDs    bool           // show the id of each finding, by which it is answered
	Unread bool           // list the sentences about moving that were not understood; else they are only counted
	Zone   *time.Location // for the times shown; nil shows each in its own zone
}

// Text writes the run for a person: one part per resident, the resident with the worst findings first,
// in each part the note with the worst finding first and answered ones last, then a tally and the caution.
func Text(w io.Writer, run *Run, opt TextOptions) error {
	t := newTextWriter(w, run, opt)
	flagged := t.groups()
	if opt.Unread {
		t.overlooked()
	}
	t.closing(flagged)
	return t.w.Flush() // a bufio.Writer keeps its first error
}

// Findings writes the findings alone, as [Text] does, for a text of which they are a part: the caution is left to it.
func Findings(w io.Writer, run *Run, opt TextOptions) error {
	t := newTextWriter(w, run, opt)
	t.groups()
	return t.w.Flush()
}

func newTextWriter(w io.Writer, run *Run, opt TextOptions) *textWriter {
	if opt.Width == 0 {
		opt.Width = 80
	}
	opt.Width = max(opt.Width, 40)
	return &textWriter{w: bufio.NewWriter(w), run: run, opt: opt}
}

// groups writes all findings and says on how many residents they are.
func (t *textWriter) groups() int {
	groups := byResident(t.run.Findings)
	for _, g := range groups {
		t.group(g)
	}
	return len(groups)
}

// A group is the findings on one resident, worst first.
type group struct {
	resident, unit string
	findings       []finding.Finding
	counts         counts
}

func byResident(fs []finding.Finding) []group {
	var groups []group
	at := map[string]int{}
	for _, f := range fs {
		i, ok := at[f.Resident]
		if !ok {
			i = len(groups)
			at[f.Resident] = i
			groups = append(groups, group{resident: f.Resident})
		}
		g := &groups[i]
		g.findings = append(g.findings, f)
		g.counts.add(&f)
		g.unit = cmp.Or(g.unit, f.Unit)
	}
	for _, g := range groups {
		slices.SortStableFunc(g.findings, func(a, b finding.Finding) int {
			return cmp.Or(answered(a)-answered(b), b.Severity.Rank()-a.Severity.Rank(), a.Time.Compare(b.Time))
		})
	}
	slices.SortStableFunc(groups, func(a, b group) int {
		return cmp.Or(b.counts.Error-a.counts.Error, b.counts.Warning-a.counts.Warning,
			b.counts.Hint-a.counts.Hint, strings.Compare(a.resident, b.resident))
	})
	return groups
}

// answered is 1 for a finding that has been answered, else 0.
func answered(f finding.Finding) int {
	if f.Answer.Settles() {
		return 1
	}
	return 0
}

type textWriter struct {
	w   *bufio.Writer
	run *Run
	opt TextOptions
}

// Escape sequences of ECMA-48, section 8.3.117 (SGR).
const (
	bold      = "1"
	underline = "4"
	red       = "1;31"
	yellow    = "1;33"
	blue      = "1;34"
)

// paint wraps s, where the report is in colour.
func (t *textWriter) paint(code, s string) string {
	if !t.opt.Color {
		return s
	}
	return "\x1b[" + code + "m" + s + plain
}

func (t *textWriter) group(g group) {
	name := "Resident " + Printable(g.resident)
	if g.unit != "" {
		name += ", " + Printable(g.unit)
	}
	fmt.Fprintf(t.w, "%s: %s\n\n", t.paint(bold, name), g.counts.words())
	for _, fs := range byNote(g.findings) {
		t.note(fs)
	}
}

// byNote parts the findings on one resident by their notes, the note with the worst finding first, and in a note
// those on the same words together.
func byNote(fs []finding.Finding) [][]finding.Finding {
	var out [][]finding.Finding
	type place struct {
		note string
		at   int64 // which tells notes of one id apart, and silent shifts
	}
	at := map[place]int{}
	for _, f := range fs {
		key := place{f.Note, f.Time.UnixNano()}
		i, ok := at[key]
		if !ok {
			i = len(out)
			at[key] = i
			out = append(out, nil)
		}
		out[i] = append(out[i], f)
	}
	for _, fs := range out {
		first := map[lexicon.Span]int{} // where the worst finding on those words stands
		for i, f := range fs {
			if _, ok := first[f.Span]; !ok {
				first[f.Span] = i
			}
		}
		slices.SortStableFunc(fs, func(a, b finding.Finding) int {
			return cmp.Or(answered(a)-answered(b), first[a.Span]-first[b.Span])
		})
	}
	return out
}

// note writes the findings on one note: where it stands is said once.
func (t *textWriter) note(fs []finding.Finding) {
	where := Capital(t.where(&fs[0])) + "."
	if len(fs) == 1 {
		t.finding(&fs[0], where, false)
		return
	}
	var c counts
	for i := range fs {
		c.add(&fs[i])
	}
	t.lines("  ", "  ", where+" "+Capital(c.words())+".")
	fmt.Fprintln(t.w)
	for i := range fs {
		same := i > 0 && fs[i].Span == fs[i-1].Span
		head := ""
		if same {
			head = "On the same words."
		}
		t.finding(&fs[i], head, same)
	}
}

// overlooked lists the sentences about moving of which nothing was understood.
func (t *textWriter) overlooked() {
	if len(t.run.Overlooked) == 0 {
		return
	}
	fmt.Fprintf(t.w, "%s\n\n", t.paint(bold, "Not understood: read again before you rely on this report"))
	for i := range t.run.Overlooked {
		o := &t.run.Overlooked[i]
		where := "Resident " + Printable(o.Resident)
		if o.Unit != "" {
			where += ", " + Printable(o.Unit)
		}
		t.lines("  ", "  ", fmt.Sprintf("%s. %s, %s, note %s.", where, Capital(shiftWords(o.Shift)), t.clock(o.Shift, o.Time), Printable(o.Note)))
		t.field("Written", open+t.paint(underline, Printable(o.Text))+shut)
		fmt.Fprintln(t.w)
	}
}

// finding writes one finding, its head after the severity. The words of the note are left out where they stand
// above.
func (t *textWriter) finding(f *finding.Finding, after string, quoted bool) {
	code, head := blue, Capital(string(f.Severity))+"."
	switch f.Severity {
	case finding.Error:
		code = red
	case finding.Warning:
		code = yellow
	}
	if f.Answer.Settles() {
		code, head = bold, Capital(string(f.Severity))+", answered."
	}
	t.lines("  ", "  ", t.paint(code, head)+" "+after)
	if n, ok := t.run.on(f); quoted {
		// it stands above
	} else if ok {
		t.field("Written", t.quote(n.Text, f.Span))
	} else if f.Text != "" {
		t.field("Written", open+Printable(f.Text)+shut)
	}
	t.field("Problem", sentence(f.Message))
	t.field("Sum", sentence(f.Sum))
	for _, line := range t.chartLines(f.Evidence) {
		t.field("Chart", line)
	}
	for _, e := range f.Evidence {
		if e.Chart == nil && e.Text != "" {
			t.field("Compare", t.compare(f, e))
		}
	}
	t.field("Do", sentence(f.Advice))
	if r := f.Rewrite; r != nil {
		t.field("Wording", t.wording(f))
	}
	rule := f.Rule
	if len(f.Covers) > 0 {
		rule += "; it stands for " + strings.Join(f.Covers, " and ") + " too"
	}
	t.field("Rule", rule)
	if t.opt.IDs {
		t.field("Finding", f.ID)
	}
	if a := f.Answer; a != nil {
		t.field("Answer", fmt.Sprintf("%s by %s on %s. %s", Capital(a.As.Said()), Printable(a.By),
			t.in(a.Time).Format("2 January 2006, 15:04"), sentence(a.Why)))
	}
	fmt.Fprintln(t.w)
}

// where says on which shift, when and by whom the note was written.
func (t *textWriter) where(f *finding.Finding) string {
	s := shiftWords(f.Shift)
	if f.Note == "" {
		return s + ", no note"
	}
	if !f.Time.IsZero() {
		s += ", " + t.clock(f.Shift, f.Time)
	}
	s += ", note " + Printable(f.Note)
	if n, ok := t.run.on(f); ok && n.Role != "" && n.Role != lexicon.OtherRole {
		s += " by a " + string(n.Role)
	}
	return s
}

// chartLines says the charted values, one line for each row of the chart.
func (t *textWriter) chartLines(evidence []finding.Evidence) []string {
	var lines []string
	var since []time.Time
	for _, e := range evidence {
		if e.Chart == nil {
			continue
		}
		if n := len(lines); n > 0 && e.Chart.From.Equal(since[n-1]) {
			lines[n-1] += "; " + chartWords(*e.Chart)
			continue
		}
		lines, since = append(lines, chartWords(*e.Chart)), append(since, e.Chart.From)
	}
	for i := range lines {
		lines[i] = sentence(lines[i])
		if !since[i].IsZero() {
			lines[i] += " Charted since " + t.in(since[i]).Format("2 January 2006, 15:04") + "."
		}
	}
	return lines
}

func (t *textWriter) compare(f *finding.Finding, e finding.Evidence) string {
	said := open + t.paint(underline, Printable(e.Text)) + shut
	if f.Within(e) {
		return "The same note says " + said + "."
	}
	s := "Note " + Printable(e.Note)
	if e.Resident != "" {
		s += " on resident " + Printable(e.Resident)
	}
	if n, ok := t.run.evidence(f, e); ok {
		s += " of " + t.in(n.Time).Format("2 January 2006, 15:04")
	}
	return s + " says " + said + "."
}

func (t *textWriter) wording(f *finding.Finding) string {
	r := f.Rewrite
	if n, ok := t.run.on(f); ok && 0 <= r.Start && r.Start < r.End && r.End <= len(n.Text) {
		return "“" + Printable(r.Text) + "” in place of “" + Printable(n.Text[r.Start:r.End]) + "”."
	}
	return "“" + Printable(r.Text) + "”."
}

// clock is the time of day of a note, with the date where that is not the one on which its shift began.
func (t *textWriter) clock(shift string, at time.Time) string {
	date, _, _ := strings.Cut(shift, "/")
	if _, err := time.Parse(time.DateOnly, date); err == nil && t.in(at).Format(time.DateOnly) != date {
		return t.in(at).Format("15:04 on 2 January")
	}
	return t.in(at).Format("15:04")
}

func (t *textWriter) in(at time.Time) time.Time {
	if t.opt.Zone == nil {
		return at
	}
	return at.In(t.opt.Zone)
}

// said tells what was checked, how many findings there are and what was left out, with findings on that many residents.
func (t *textWriter) said(flagged int) []string {
	c, n := count(t.run.Findings), t.run.Tally
	var said []string
	switch {
	case n.Notes == 0:
		said = append(said, "No note was checked, so nothing can be said.")
	case len(t.run.Findings) == 0:
		said = append(said, fmt.Sprintf("%s in %s on %s.", nothing(n.Answered > 0), plural.Of(n.Notes, "note"), plural.Of(n.Residents, "resident")))
	default:
		s := fmt.Sprintf("%s on %s checked: %s.", plural.Of(n.Notes, "note"), plural.Of(n.Residents, "resident"), c.words())
		if rest := n.Residents - flagged; rest > 0 {
			s += fmt.Sprintf(" %s on %s.", nothing(n.Answered > c.answered), plural.Of(rest, "resident"))
		}
		said = append(said, s)
	}
	if out := n.Answered - c.answered; out > 0 {
		said = append(said, fmt.Sprintf("%s left out because %s been answered; --all shows what.", plural.Of(out, "finding"), has(out)))
	}
	if n := len(t.run.Overlooked); n > 0 {
		s := fmt.Sprintf("%s about moving %s not understood, so nothing is said of %s", plural.Of(n, "sentence"), were(n), them(n))
		if !t.opt.Unread {
			s += "; --unread shows " + them(n)
		}
		said = append(said, s+".")
	}
	if n.Unread > 0 {
		said = append(said, fmt.Sprintf("%s could not be read and %s left out.", plural.Of(n.Unread, "record"), were(n.Unread)))
	}
	if !n.Charted && n.Notes > 0 {
		said = append(said, "No chart was given, so nothing was held against one.")
	}
	return said
}

func (t *textWriter) closing(flagged int) {
	for _, s := range append(t.said(flagged), Caution) {
		t.lines("", "", s)
	}
}

// nothing says that there is no finding to show: none at all, or none but answered ones left out.
func nothing(leftOut bool) string {
	if leftOut {
		return "Nothing left to flag"
	}
	return "Nothing to flag"
}

func has(n int) string {
	if n == 1 {
		return "it has"
	}
	return "they have"
}

func them(n int) string {
	if n == 1 {
		return "it"
	}
	return "them"
}

func were(n int) string {
	if n == 1 {
		return "was"
	}
	return "were"
}

// labelWidth holds the longest label, its colon and a space.
const labelWidth = 10

// field writes one labelled paragraph under a finding.
func (t *textWriter) field(label, s string) {
	if s == "" {
		return
	}
	const indent = "    "
	t.lines(fmt.Sprintf("%s%-*s", indent, labelWidth, label+":"), indent+strings.Repeat(" ", labelWidth), s)
}

// lines writes s filled to the report's width, the first line after first, the others after rest.
func (t *textWriter) lines(first, rest, s string) {
	Fill(t.w, t.opt.Width, first, rest, s)
}

// Fill writes s in lines of at most width characters, where its words allow, the first line after
// first, the others after rest. A style (SGR of ECMA-48) that spans a line end stops there and goes on after rest.
// Errors are left to w, which is best a bufio.Writer.
func Fill(w io.Writer, width int, first, rest, s string) {
	line, filled := first, utf8.RuneCountInString(first)
	empty, style := true, ""
	for word := range strings.FieldsSeq(s) {
		n := shown(word)
		if !empty && filled+1+n > width {
			if style != "" {
				line += plain
			}
			fmt.Fprintln(w, strings.TrimRight(line, " "))
			line, filled, empty = rest+style, utf8.RuneCountInString(rest), true
		}
		if !empty {
			line, filled = line+" ", filled+1
		}
		line, filled, empty = line+word, filled+n, false
		style = styleAfter(word, style)
	}
	fmt.Fprintln(w, strings.TrimRight(line, " "))
}

// plain ends every style.
const plain = "\x1b[0m"

// styleAfter is the style in force after a word that began in one; empty for none.
func styleAfter(word, style string) string {
	for {
		i := strings.IndexByte(word, '\x1b')
		if i < 0 {
			return style
		}
		end := strings.IndexByte(word[i:], 'm')
		if end < 0 {
			return style
		}
		if style = word[i : i+end+1]; style == plain {
			style = ""
		}
		word = word[i+end+1:]
	}
}

// shown is how many columns a word takes: its characters less its escape sequences.
func shown(word string) int {
	n, escape := 0, false
	for _, r := range word {
		switch {
		case r == '\x1b':
			escape = true
		case escape:
			escape = r != 'm'
		default:
			n++
		}
	}
	return n
}

// open and shut mark the place in a note: they survive a pipe, a printer and a screen reader.
const open, shut = "«", "»"

// contextBytes is about how much of the note is shown on each side of the place.
const contextBytes = 70

// quote is the note's own words around the place, the place marked.
func (t *textWriter) quote(text string, at lexicon.Span) string {
	if at.Start < 0 || at.End > len(text) || at.Start >= at.End {
		return ""
	}
	before, after := text[:at.Start], text[at.End:]
	if i := strings.LastIndexAny(before, "\n\r"); i >= 0 {
		before = before[i+1:]
	}
	if i := strings.IndexAny(after, "\n\r"); i >= 0 {
		after = after[:i]
	}
	if len(before) > contextBytes {
		cut := before[len(before)-contextBytes:]
		if i := strings.IndexByte(cut, ' '); i >= 0 {
			cut = cut[i:]
		}
		before = "… " + strings.ToValidUTF8(cut, "")
	}
	if len(after) > contextBytes {
		cut := after[:contextBytes]
		if i := strings.LastIndexByte(cut, ' '); i >= 0 {
			cut = cut[:i]
		}
		after = strings.ToValidUTF8(cut, "") + " …"
	}
	return Printable(before) + open + t.paint(underline, Printable(text[at.Start:at.End])) + shut + Printable(after)
}

// Printable makes text of a note safe to print: a control character in it, which could drive a terminal,
// becomes a space.
func Printable(s string) string {
	return strings.Map(func(r rune) rune {
		if Drives(r) {
			return ' '
		}
		return r
	}, s)
}

// Drives reports whether a character does something to a terminal, or to the order in which others are
// shown, in place of being shown itself.
func Drives(r rune) bool {
	return r < 0x20 || 0x7f <= r && r < 0xa0 || r == '\u2028' || r == '\u2029' || 0x202a <= r && r <= 0x202e || 0x2066 <= r && r <= 0x2069
}

// Capital gives s with its first letter as a capital.
func Capital(s string) string {
	r, n := utf8.DecodeRuneInString(s)
	if n == 0 {
		return s
	}
	return strings.ToUpper(string(r)) + s[n:]
}

// Sentence gives s, without the space around it, a capital and a full stop.
func Sentence(s string) string {
	s = strings.TrimSpace(s)
	if s == "" {
		return ""
	}
	s = Capital(s)
	if !strings.HasSuffix(s, ".") && !strings.HasSuffix(s, "?") && !strings.HasSuffix(s, "!") {
		s += "."
	}
	return s
}

// sentence is a Sentence that is safe to print.
func sentence(s string) string { return Sentence(Printable(s)) }
