package pages

import (
	"bytes"
	"cmp"
	"fmt"
	"html/template"
	"net/http"
	"slices"
	"strings"
	"time"

	"example.com/stance/cmd/stance/web/pages/says"
	"example.com/stance/cmd/stance/web/pages/sight"
	"example.com/stance/index/course"
	"example.com/stance/lexicon"
	"example.com/stance/lint/amend"
	"example.com/stance/lint/note"
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
	name    string // see line
	When    string
	By      string
	Pieces  []piece
	Said    []says.Said
	Compare string // path of the comparison with the note of the shift before, or empty
	Before  string // when that one was written
}

// A diff is two notes set against one another.
type diff struct {
	Old, New string // when and by whom they were written
	Hunks    []amend.Hunk
	Same     bool        // word for word
	Gone     []says.Said // what only the earlier one says
	Come     []says.Said // what only the later one says
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
	Path  string // of the comparison of the two notes
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
	s.listNotes(&p, newSearch(look, p.Words), line, q.Get("before"))
	if p.Diff, err = s.diff(line, q.Get("old"), q.Get("new")); err != nil {
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
	for _, ch := range slices.Backward(c.Changes) {
		change := changeView{When: s.moment(ch.After), Path: to("/resident", "id", line.Resident, "old", line.refer(ch.Before), "new", line.refer(ch.After)) + "#diff"}
		for _, l := range ch.Lanes {
			change.Lanes = append(change.Lanes, fmt.Sprintf("%s: %s → %s", l.Name, l.From.Words, l.To.Words))
		}
		v.Changes = append(v.Changes, change)
	}
	return v, nil
}

// moment says when and by whom a note was written.
func (s *site) moment(n course.NoteRef) string {
	return s.local(n.Time).Format("Mon 2 January 2006, 15:04") + byWhom(note.Note{Role: n.Role})
}

// listNotes puts the notes on the page, the newest first, from the one after that of the id before.
func (s *site) listNotes(p *residentPage, find search, line *line, before string) {
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
		if len(p.Notes) == pageOfNotes {
			if p.More == "" {
				p.More = to("/resident", "id", p.Chosen, "words", p.Words, "before", p.Notes[pageOfNotes-1].name)
			}
			continue
		}
		v := noteView{
			name: line.names[e], When: s.local(e.Note.Time).Format("Monday 2 January 2006, 15:04"), By: byWhom(e.Note),
			Pieces: highlighted(e.Note.Text, hits),
		}
		v.Said = s.said(e.Reading)
		if prev := previous(line.Timeline, i); prev != nil {
			v.Compare = to("/resident", "id", p.Chosen, "words", p.Words, "old", line.names[prev], "new", line.names[e]) + "#diff"
			v.Before = s.local(prev.Note.Time).Format("2 January, 15:04")
		}
		p.Notes = append(p.Notes, v)
	}
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
func (s *site) diff(line *line, old, new string) (*diff, error) {
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
	was, is := s.said(a.Reading), s.said(b.Reading)
	return &diff{
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

// A search finds notes by words or by what they mean: "walker" finds "2WW" too.
type search struct {
	words    []string // in lower case; each must be in the note, from the start of a word
	concepts []lexicon.Statement
}

// newSearch takes the words as somebody types them. Where the lexicon understands them, they are
// looked for by meaning as well.
func newSearch(look *sight.Sight, words string) search {
	f := search{words: strings.Fields(strings.ToLower(words))}
	if len(f.words) > 0 {
		f.concepts = look.Read(words, lexicon.OtherRole).Statements
	}
	return f
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
			if start == 0 || !isWordByte(lower[start-1]) {
				hits, found = append(hits, lexicon.Span{Start: start, End: at}), true
			}
		}
		if !found {
			return nil, false
		}
	}
	return hits, true
}

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

// highlighted marks the places that a search found.
func highlighted(text string, hits []lexicon.Span) []piece {
	slices.SortFunc(hits, func(a, b lexicon.Span) int { return cmp.Or(a.Start-b.Start, b.End-a.End) })
	var out []piece
	at := 0
	for _, h := range hits {
		if h.Start < at {
			continue
		}
		if h.Start > at {
			out = append(out, piece{Text: text[at:h.Start]})
		}
		out = append(out, piece{Text: text[h.Start:h.End], Hit: true})
		at = h.End
	}
	return append(out, piece{Text: text[at:]})
}
