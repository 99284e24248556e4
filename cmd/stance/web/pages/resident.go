package pages

import (
	"bytes"
	"context"
	"fmt"
	"html/template"
	"net/http"
	"slices"
	"strings"
	"time"

	"example.com/stance/cmd/stance/web/guard"
	"example.com/stance/cmd/stance/web/pages/says"
	"example.com/stance/cmd/stance/web/pages/sight"
	"example.com/stance/index/course"
	"example.com/stance/lexicon"
	"example.com/stance/lint/amend"
	"example.com/stance/lint/answers"
	"example.com/stance/lint/note"
	"example.com/stance/lint/report"
	"example.com/stance/lint/timeline"
)

// A residentPage is the place where a resident is followed.
type residentPage struct {
	Units  []unitChoice
	Chosen string
	Status *status
	Course *courseView

	Words        string // searched for
	Found        int
	Total        int
	Notes        []noteView // newest first; those found, where words are searched for
	More         string     // path to the older ones, or empty
	Older, Newer []choice   // notes to compare
	Diff         *diff
}

// A noteView is one kept note.
type noteView struct {
	name     string // see line
	When     string
	By       string
	Segments []segment
	Said     []says.Said // in all of it
	Unread   int         // sentences about moving of which nothing was understood
	Findings []flagged   // the worst first
	Compare  string      // path of the comparison with the note of the shift before, or empty
	Before   string      // when that one was written
}

// A flagged is a finding on a kept note, with what was made of it.
type flagged struct {
	view
	Answer *answered
	Path   string // of the shift, where it can be answered; empty for nobody who may
}

// A diff is two notes set against one another.
type diff struct {
	Old, New string // when and by whom they were written
	Hunks    []amend.Hunk
	Same     bool        // word for word
	Gone     []says.Said // what only the earlier one says
	Come     []says.Said // what only the later one says

	OldFound, NewFound []flagged // in each of them
}

// A courseView is the drawn course and the same in words.
type courseView struct {
	Drawing template.HTML
	Span    string // what is drawn, in words
	Other   link   // to draw more, or less; zero for neither
	Marks   []markView
	Changes []changeView
}

// A link leads somewhere.
type link struct{ Path, Name string }

// A markView is a note to look at, by its number in the drawing.
type markView struct {
	Number int
	When   string
	Said   []string
}

// A changeView is where what is written changed.
type changeView struct {
	When  string
	Lanes []string
	Path  string // of the comparison of the two notes; empty for a change of the chart
}

// recent is how much of a course is drawn at first: what fits one sheet in print.
const recent = 28 * 24 * time.Hour

// pageOfNotes is how many notes are shown at once.
const pageOfNotes = 30

// resident shows the list of residents or, where one is asked for, what is known of that one.
func (s *site) resident(r *http.Request, v *sight.Visit) (*reply, error) {
	look, err := v.Look(r.Context())
	if err != nil {
		return nil, err
	}
	q := r.URL.Query()
	id := strings.TrimSpace(q.Get("id"))
	p := residentPage{Units: unitChoices(look, id), Chosen: id}
	if id == "" {
		return s.page(r, http.StatusOK, "resident", frame{Title: "Follow a resident", Path: "/resident", Body: p})
	}
	kept, ok := look.Timeline(id)
	if !ok {
		return nil, errResident
	}
	line := name(kept)
	p.Status = s.charted(look, id, s.now())
	if p.Course, err = s.course(line, q.Get("span") == "all"); err != nil {
		return nil, err
	}
	p.Words = strings.TrimSpace(q.Get("words"))
	p.Total = len(line.Entries)
	judge, err := s.judge(r.Context(), look, id)
	if err != nil {
		return nil, err
	}
	if err := s.listNotes(r.Context(), &p, newSearch(look, p.Words), line, q.Get("before"), judge); err != nil {
		return nil, err
	}
	if p.Diff, err = s.diff(r.Context(), line, q.Get("old"), q.Get("new"), judge); err != nil {
		return nil, err
	}
	for _, e := range slices.Backward(line.Entries) {
		name := s.local(e.Note.Time).Format("Mon 2 January 2006, 15:04") + byWhom(e.Note)
		p.Older = append(p.Older, choice{line.names[e], name, line.names[e] == q.Get("old")})
		p.Newer = append(p.Newer, choice{line.names[e], name, line.names[e] == q.Get("new")})
	}
	return s.page(r, http.StatusOK, "resident", frame{Title: "Resident " + id, Path: "/resident", Body: p})
}

// A line is a resident's notes in order, each with the name that it goes by in an address: its id or, where
// several have that id, the id with the note's place among them.
type line struct {
	*timeline.Timeline
	names map[*timeline.Entry]string
	by    map[string]*timeline.Entry
}

func name(t *timeline.Timeline) *line {
	of := make(map[string]int)
	for _, e := range t.Entries {
		of[e.Note.ID]++
	}
	l := &line{t, make(map[*timeline.Entry]string), make(map[string]*timeline.Entry)}
	at := make(map[string]int)
	for _, e := range t.Entries {
		name := e.Note.ID
		if n := of[name]; n > 1 {
			at[name]++
			name = fmt.Sprintf("%s (%d of %d)", name, at[name], n)
		}
		l.names[e], l.by[name] = name, e
	}
	return l
}

// refer is the name of the note that a course refers to.
func (l *line) refer(n course.NoteRef) string {
	for _, e := range l.Entries {
		if e.Note.ID == n.ID && e.Note.Time.Equal(n.Time) {
			return l.names[e]
		}
	}
	return n.ID
}

// course draws the last weeks of the resident's course, or all of it; nil where there is nothing to draw.
func (s *site) course(line *line, all bool) (*courseView, error) {
	if len(line.Entries) == 0 {
		return nil, nil
	}
	opt := course.Options{LiftHelpers: s.policy.LiftHelpers, Labels: s.words.Labels()}
	first, last := line.Entries[0].Note.Time, line.Entries[len(line.Entries)-1].Note.Time
	v := &courseView{Span: "All notes."}
	if longer := last.Sub(first) > recent; longer && !all {
		opt.Since = last.Add(-recent)
		v.Span = "The four weeks up to the last note."
		v.Other = link{Path: to("/resident", "id", line.Resident, "span", "all"), Name: "Draw all of it"}
	} else if longer {
		v.Other = link{Path: to("/resident", "id", line.Resident), Name: "Draw the last four weeks"}
	}
	c := course.Build(line.Timeline, opt)
	if len(c.Lanes) == 0 {
		return nil, nil
	}
	draw := course.DrawOptions{Calendar: s.window.Calendar()}
	if z := s.zone(); z != time.Local {
		draw.Zone = z
	}
	var buf bytes.Buffer
	if err := course.SVG(&buf, c, draw); err != nil {
		return nil, err
	}
	v.Drawing = template.HTML(buf.String()) // made of escaped parts by the package that draws
	for _, m := range c.Marks {
		mark := markView{Number: m.Number, When: s.moment(m.Note)}
		for _, d := range m.Differences {
			mark.Said = append(mark.Said, fmt.Sprintf("%s: charted %s, written %s", d.Name, d.Charted.Words, d.Written.Words))
		}
		for _, e := range m.Events {
			mark.Said = append(mark.Said, fmt.Sprintf("%s: %s", e.Kind, e.Words))
		}
		v.Marks = append(v.Marks, mark)
	}
	for _, turn := range slices.Backward(c.Turns(draw.Zone)) {
		change := changeView{When: report.Capital(turn.What) + ", " + turn.When}
		if turn.After.ID != "" {
			change.When = "Written " + s.moment(turn.After)
			change.Path = to("/resident", "id", line.Resident, "old", line.refer(turn.Before), "new", line.refer(turn.After)) + "#diff"
		}
		for _, l := range turn.Lanes {
			change.Lanes = append(change.Lanes, fmt.Sprintf("%s: %s → %s", l.Name, l.From.Said(), l.To.Said()))
		}
		v.Changes = append(v.Changes, change)
	}
	return v, nil
}

// moment says when and by whom a note was written.
func (s *site) moment(n course.NoteRef) string {
	return s.local(n.Time).Format("Mon 2 January 2006, 15:04") + byWhom(note.Note{Role: n.Role})
}

// A judge holds a resident's notes against the rules, no more of them than are shown.
type judge struct {
	site     *site
	look     *sight.Sight
	resident string
	book     *answers.Book
	may      bool // the session may answer findings
}

func (s *site) judge(ctx context.Context, look *sight.Sight, resident string) (*judge, error) {
	book, err := s.window.Answers()
	if err != nil {
		return nil, err
	}
	return &judge{s, look, resident, book, s.session(ctx).May(guard.Review) && s.window.CanAnswer()}, nil
}

// on is what was found on some of the resident's notes, in the order of harm.
func (j *judge) on(ctx context.Context, es ...*timeline.Entry) (map[*timeline.Entry][]sight.Finding, error) {
	out := make(map[*timeline.Entry][]sight.Finding)
	if len(es) == 0 {
		return out, nil
	}
	byTime := func(a, b *timeline.Entry) int { return a.Note.Time.Compare(b.Note.Time) }
	since, until := slices.MinFunc(es, byTime).Note.Time, slices.MaxFunc(es, byTime).Note.Time
	found, err := j.look.FoundOn(ctx, j.resident, since, until)
	if err != nil {
		return nil, err
	}
	for _, f := range byHarm(found) {
		for _, e := range es {
			if f.Note == e.Note.ID && f.Note != "" && f.On.Time.Equal(e.Note.Time) && f.On.Text == e.Note.Text {
				out[e] = append(out[e], f)
			}
		}
	}
	return out, nil
}

// flag is a finding with what was made of it.
func (j *judge) flag(f sight.Finding, v view) flagged {
	out := flagged{view: v, Answer: j.site.answered(j.book, f.ID)}
	if j.may {
		out.Path = to("/shift", "unit", sight.AllUnits, "shift", f.Shift) + "#f" + f.ID + "-name"
	}
	return out
}

// flags are the findings on one note, by themselves.
func (j *judge) flags(ctx context.Context, e *timeline.Entry) ([]flagged, error) {
	found, err := j.on(ctx, e)
	var out []flagged
	for _, f := range found[e] {
		out = append(out, j.flag(f, j.site.view(f, 0)))
	}
	return out, err
}

// listNotes puts the notes on the page, the newest first, from the one after that of the id before.
func (s *site) listNotes(ctx context.Context, p *residentPage, find search, line *line, before string, judge *judge) error {
	type listed struct {
		entry *timeline.Entry
		at    int
		hits  []lexicon.Span
	}
	var shown []listed
	last := line.by[before] // a note that is gone leads to the newest
	for i, e := range slices.Backward(line.Entries) {
		hits, ok := find.in(e)
		if !ok {
			continue
		}
		p.Found++
		if last != nil {
			if e == last {
				last = nil
			}
			continue
		}
		if len(shown) == pageOfNotes {
			if p.More == "" {
				p.More = to("/resident", "id", p.Chosen, "words", p.Words, "before", line.names[shown[pageOfNotes-1].entry])
			}
			continue
		}
		shown = append(shown, listed{e, i, hits})
	}
	entries := make([]*timeline.Entry, len(shown))
	for i, l := range shown {
		entries[i] = l.entry
	}
	found, err := judge.on(ctx, entries...)
	if err != nil {
		return err
	}
	number := 1
	for _, l := range shown {
		e := l.entry
		v := noteView{
			name: line.names[e], When: s.local(e.Note.Time).Format("Monday 2 January 2006, 15:04"), By: byWhom(e.Note),
		}
		var views []view
		v.Segments, views = s.segments(e.Note.Text, e.Reading, found[e], number)
		number += len(views)
		v.Said, v.Unread = s.said(e.Reading), len(e.Reading.Overlooked)
		for i := range views {
			v.Findings = append(v.Findings, judge.flag(found[e][i], views[i]))
		}
		markHits(v.Segments, l.hits)
		if prev := previous(line.Timeline, l.at); prev != nil {
			v.Compare = to("/resident", "id", p.Chosen, "words", p.Words, "old", line.names[prev], "new", line.names[e]) + "#diff"
			v.Before = s.local(prev.Note.Time).Format("2 January, 15:04")
		}
		p.Notes = append(p.Notes, v)
	}
	return nil
}

// previous is the last note of an earlier shift than that of the i-th, or nil.
func previous(line *timeline.Timeline, i int) *timeline.Entry {
	for _, e := range slices.Backward(line.Entries[:i]) {
		if e.Shift.Before(line.Entries[i].Shift) {
			return e
		}
	}
	return nil
}

func byWhom(n note.Note) string {
	if n.Role == "" || n.Role == lexicon.OtherRole {
		return ""
	}
	return ", " + string(n.Role)
}

// diff sets two of the resident's notes against one another; nil where none are asked for.
func (s *site) diff(ctx context.Context, line *line, old, new string, judge *judge) (*diff, error) {
	if old == "" || new == "" {
		return nil, nil
	}
	a, b := line.by[old], line.by[new]
	if a == nil || b == nil {
		return nil, &refusal{status: http.StatusNotFound, title: "No such note", words: "Choose two of the resident's notes from the lists."}
	}
	if a.Note.Time.After(b.Note.Time) {
		a, b = b, a
	}
	name := func(n note.Note) string {
		return s.local(n.Time).Format("Monday 2 January 2006, 15:04") + byWhom(n)
	}
	oldFound, err := judge.flags(ctx, a)
	if err != nil {
		return nil, err
	}
	newFound, err := judge.flags(ctx, b)
	if err != nil {
		return nil, err
	}
	was, is := s.said(a.Reading), s.said(b.Reading)
	return &diff{
		OldFound: oldFound, NewFound: newFound,
		Old: name(a.Note), New: name(b.Note), Hunks: amend.Diff(a.Note.Text, b.Note.Text), Same: a.Note.Text == b.Note.Text,
		Gone: without(was, is), Come: without(is, was),
	}, nil
}

// said is what a note says, each thing once.
func (s *site) said(r lexicon.Reading) []says.Said {
	var out []says.Said
	for i := range r.Statements {
		if said := s.words.Statement(&r.Statements[i]); !slices.ContainsFunc(out, said.Equal) {
			out = append(out, said)
		}
	}
	return out
}

// without is what is in all and not in others.
func without(all, others []says.Said) []says.Said {
	return slices.DeleteFunc(slices.Clone(all), func(said says.Said) bool { return slices.ContainsFunc(others, said.Equal) })
}

// A search finds notes by words or by what they mean: "walker" finds "2WW" too, "two helpers" finds "x2" and
// "bathroom" finds "BR".
type search struct {
	words    []string // in lower case; each must be in the note, short ones whole and others from the start of a word
	concepts []lexicon.Statement
	part     part // of a move, where the words mean no more
}

// A part is what words give to a move that they do not name. The zero value gives nothing.
type part struct {
	field string // "staff" or "to"
	staff int
	place string
}

// newSearch takes the words as somebody types them. Where the lexicon understands them, they are
// looked for by meaning as well.
func newSearch(look *sight.Sight, words string) search {
	f := search{words: strings.Fields(strings.ToLower(words))}
	if len(f.words) == 0 {
		return f
	}
	f.concepts = look.Read(words, lexicon.OtherRole).Statements
	if len(f.concepts) == 0 {
		f.part = newPart(look, words)
	}
	return f
}

// newPart reads the words behind a verb, as they would stand in a note. They must be nothing else than the part.
func newPart(look *sight.Sight, words string) part {
	words = strings.TrimSpace(words)
	for field, before := range map[string]string{"staff": "transferred ", "to": "transferred to "} {
		for _, s := range look.Read(before+words, lexicon.OtherRole).Statements {
			all := lexicon.Span{Start: len(before), End: len(before) + len(words)}
			is := func(m lexicon.Mark) bool {
				return m.Field == field && m.Span.Start == all.Start && m.Span.End == all.End
			}
			if s.Concept != "move.transfer" || !slices.ContainsFunc(s.Detail.Terms, is) {
				continue
			}
			if n, ok := s.Staff.Get(); field == "staff" && ok {
				return part{field: field, staff: n}
			}
			if field == "to" && s.To != "" {
				return part{field: field, place: s.To}
			}
		}
	}
	return part{}
}

// in gives the places of a statement that give the part, none where it does not.
func (p part) in(s *lexicon.Statement) []lexicon.Span {
	n, counted := s.Staff.Get()
	var out []lexicon.Span
	for _, m := range s.Detail.Terms {
		switch {
		case p.field == "staff" && m.Field == "staff" && counted && n == p.staff,
			p.field == "to" && (m.Field == "to" && s.To == p.place || m.Field == "from" && s.From == p.place):
			out = append(out, m.Span)
		}
	}
	return out
}

// in reports whether the note has what is searched for, and where. No words find every note.
func (f search) in(e *timeline.Entry) ([]lexicon.Span, bool) {
	if len(f.words) == 0 {
		return nil, true
	}
	var hits []lexicon.Span
	meant := len(f.concepts) > 0
	for _, want := range f.concepts {
		found := false
		for _, s := range e.Reading.Statements {
			if means(&want, &s) {
				hits, found = append(hits, s.Span), true
			}
		}
		meant = meant && found
	}
	if f.part.field != "" {
		for i := range e.Reading.Statements {
			hits = append(hits, f.part.in(&e.Reading.Statements[i])...)
		}
		meant = len(hits) > 0
	}
	written, ok := f.written(e.Note.Text)
	if !meant && !ok {
		return nil, false
	}
	if ok {
		hits = append(hits, written...)
	}
	return hits, true
}

// written finds each of the words in the text; all must be there.
func (f search) written(text string) ([]lexicon.Span, bool) {
	lower := strings.ToLower(text)
	if len(lower) != len(text) {
		lower = text // a letter whose lower case is longer; then only what is written alike is found
	}
	var hits []lexicon.Span
	for _, w := range f.words {
		found := false
		for at := 0; ; {
			i := strings.Index(lower[at:], w)
			if i < 0 {
				break
			}
			start := at + i
			at = start + len(w)
			ends := at == len(lower) || !isWordByte(lower[at])
			if (start == 0 || !isWordByte(lower[start-1])) && (ends || len(w) > mostShort) {
				hits, found = append(hits, lexicon.Span{Start: start, End: at}), true
			}
		}
		if !found {
			return nil, false
		}
	}
	return hits, true
}

// mostShort is how many letters a word has that is only found whole: "BR" is no beginning of "brief".
const mostShort = 3

// isWordByte reports whether a word goes on over this byte; bytes above ASCII are letters for this purpose.
func isWordByte(b byte) bool {
	return 'a' <= b && b <= 'z' || 'A' <= b && b <= 'Z' || '0' <= b && b <= '9' || b >= 0x80
}

// means reports whether a statement tells of what is wanted: the same concept or an aid that is
// wanted, with the sides, methods and amounts of help that the wish names.
func means(want, s *lexicon.Statement) bool {
	if aid, ok := strings.CutPrefix(want.Concept, "aid."); ok {
		used := slices.ContainsFunc(s.Aids, func(a string) bool { return isKind(a, aid) })
		if said, ok := strings.CutPrefix(s.Concept, "aid."); used || ok && isKind(said, aid) {
			return true
		}
	}
	if want.Concept != s.Concept || want.Side != "" && want.Side != s.Side && s.Side != "both" {
		return false
	}
	if want.To != "" && want.To != s.To && want.To != s.From {
		return false
	}
	staff, counted := want.Staff.Get()
	if n, ok := s.Staff.Get(); counted && (!ok || n != staff) {
		return false
	}
	return (want.Method == "" || want.Method == s.Method) && (want.Assist == "" || want.Assist == s.Assist) &&
		!slices.ContainsFunc(want.Aids, func(a string) bool {
			return !slices.ContainsFunc(s.Aids, func(b string) bool { return isKind(b, a) })
		}) &&
		(want.Polarity == lexicon.Affirmed || s.Polarity == lexicon.Negated)
}

// isKind reports whether an aid is one of the kind that is wanted: "walker-2w" is a "walker", and
// "total-lift" a "lift".
func isKind(aid, wanted string) bool {
	return aid == wanted || strings.HasPrefix(aid, wanted+"-") || wanted == "lift" && strings.HasSuffix(aid, "-lift")
}

// markHits marks the places that a search found in the sentences of a note.
func markHits(segments []segment, hits []lexicon.Span) {
	at := 0
	for i := range segments {
		var out []piece
		for _, p := range segments[i].Pieces {
			out = append(out, cutAt(p, at, hits)...)
			at += len(p.Text)
		}
		segments[i].Pieces = out
	}
}

// cutAt parts a piece, which begins at that byte of its note, where hits begin and end.
func cutAt(p piece, start int, hits []lexicon.Span) []piece {
	cuts := []int{0, len(p.Text)}
	for _, h := range hits {
		for _, c := range []int{h.Start - start, h.End - start} {
			if 0 < c && c < len(p.Text) {
				cuts = append(cuts, c)
			}
		}
	}
	slices.Sort(cuts)
	cuts = slices.Compact(cuts)
	var out []piece
	for i := 0; i+1 < len(cuts); i++ {
		part := piece{Text: p.Text[cuts[i]:cuts[i+1]], Grade: p.Grade}
		here := lexicon.Span{Start: start + cuts[i], End: start + cuts[i+1]}
		part.Hit = slices.ContainsFunc(hits, here.Overlaps)
		if i+2 == len(cuts) {
			part.Numbers = p.Numbers
		}
		out = append(out, part)
	}
	return out
}
