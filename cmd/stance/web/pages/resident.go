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
	At       int    // its number among all of the resident's notes, from 1 for the oldest
	When     string
	By       string
	Segments []segment
	Said     []says.Said // in all of it
	Unread   int         // sentences about moving of which nothing was understood
	Findings []flagged   // the worst first
	Compare  string      // path of the comparison with an earlier note, or empty
	Before   string      // which one that is, and when it was written
}

// A flagged is a finding on a kept note, with what was made of it.
type flagged struct {
	view
	Answer *answered
	Path   string // of the shift, where it can be answered; empty for nobody who may
}

// A diff is two notes set against one another.
type diff struct {
	Old, New         string // when and by whom they were written
	OldText, NewText string
	Hunks            []amend.Hunk // word by word; nil for notes that have too little in common
	Same             bool         // word for word
	Facts            []factView   // of moving, those that differ
	Alike            []string     // of what both say the same
	Gone             []says.Said  // what only the earlier one says
	Come             []says.Said  // what only the later one says

	OldFound, NewFound []flagged // in each of them
}

// A factView is what two notes say of one thing, in words; empty for nothing.
type factView struct{ Name, Old, New string }

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
	Path   string // of the note
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
	p.Words = strings.TrimSpace(q.Get("words"))
	p.Total = len(line.Entries)
	judge, err := s.judge(r.Context(), look, id)
	if err != nil {
		return nil, err
	}
	if err := s.listNotes(r.Context(), &p, newSearch(look, p.Words), line, q.Get("before"), judge); err != nil {
		return nil, err
	}
	if p.Course, err = s.course(&p, line, q.Get("span") == "all"); err != nil {
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
func (s *site) course(p *residentPage, line *line, all bool) (*courseView, error) {
	if len(line.Entries) == 0 {
		return nil, nil
	}
	opt := s.courseOptions()
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
	draw := course.DrawOptions{Calendar: s.window.Calendar(), Link: func(m course.Mark) string { return p.toNote(line, m.Note) }}
	if z := s.zone(); z != time.Local {
		draw.Zone = z
	}
	var buf bytes.Buffer
	if err := course.Figure(&buf, c, draw); err != nil {
		return nil, err
	}
	v.Drawing = template.HTML(buf.String()) // made of escaped parts by the package that draws
	for _, m := range c.Marks {
		mark := markView{Number: m.Number, When: s.moment(m.Note), Path: p.toNote(line, m.Note)}
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

func (s *site) courseOptions() course.Options {
	return course.Options{LiftHelpers: s.policy.LiftHelpers, Labels: s.words.Labels()}
}

// toNote is where a note is to be read: on the page, or on the one that begins with it.
func (p *residentPage) toNote(line *line, n course.NoteRef) string {
	at := slices.IndexFunc(line.Entries, func(e *timeline.Entry) bool { return e.Note.ID == n.ID && e.Note.Time.Equal(n.Time) })
	if at < 0 {
		return ""
	}
	there := fmt.Sprintf("#note-%d", at+1)
	if slices.ContainsFunc(p.Notes, func(v noteView) bool { return v.At == at+1 }) {
		return there
	}
	before := ""
	if at+1 < len(line.Entries) {
		before = line.names[line.Entries[at+1]]
	}
	return to("/resident", "id", p.Chosen, "before", before) + there
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
			name: line.names[e], At: l.at + 1, When: s.local(e.Note.Time).Format("Monday 2 January 2006, 15:04"), By: byWhom(e.Note),
		}
		var views []view
		v.Segments, views = s.segments(e.Note.Text, e.Reading, found[e], number)
		number += len(views)
		v.Said, v.Unread = s.said(e.Reading), len(e.Reading.Overlooked)
		for i := range views {
			v.Findings = append(v.Findings, judge.flag(found[e][i], views[i]))
		}
		markHits(v.Segments, l.hits)
		if prev, which := s.previous(line.Timeline, l.at); prev != nil {
			v.Compare = to("/resident", "id", p.Chosen, "words", p.Words, "old", line.names[prev], "new", line.names[e]) + "#diff"
			v.Before = which + " (" + s.local(prev.Note.Time).Format("2 January, 15:04") + ")"
		}
		p.Notes = append(p.Notes, v)
	}
	return nil
}

// previous is the last note of an earlier shift than that of the i-th and what it is, or nil.
func (s *site) previous(line *timeline.Timeline, i int) (prev *timeline.Entry, which string) {
	for j, e := range slices.Backward(line.Entries[:i]) {
		switch {
		case !e.Shift.Before(line.Entries[i].Shift):
			continue
		case s.window.Calendar().Next(e.Shift) == line.Entries[i].Shift:
			return e, "the shift before"
		case j == i-1:
			return e, "the note before"
		}
		return e, "the last note of an earlier shift"
	}
	return nil, ""
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
	d := &diff{
		OldFound: oldFound, NewFound: newFound, Old: name(a.Note), New: name(b.Note), OldText: a.Note.Text, NewText: b.Note.Text,
		Same: a.Note.Text == b.Note.Text, Gone: without(was, is), Come: without(is, was),
	}
	if course.NearCopies(a.Note.Text, b.Note.Text) {
		d.Hunks = amend.Diff(a.Note.Text, b.Note.Text)
	}
	for _, f := range course.Facts(line.Timeline, s.courseOptions(), a, b) {
		if f.Same {
			d.Alike = append(d.Alike, f.Name+": "+strings.Join(f.After, ", "))
		} else {
			d.Facts = append(d.Facts, factView{f.Name, strings.Join(f.Before, ", "), strings.Join(f.After, ", ")})
		}
	}
	return d, nil
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
