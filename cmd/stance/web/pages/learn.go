package pages

import (
	"context"
	"fmt"
	"net/http"
	"slices"

	"example.com/stance/cmd/stance/web/pages/says"
	"example.com/stance/cmd/stance/web/pages/sight"
	"example.com/stance/lexicon"
	"example.com/stance/lint/finding"
	"example.com/stance/lint/handbook"
	"example.com/stance/lint/note"
	"example.com/stance/lint/policy"
	"example.com/stance/lint/report"
)

// A learnView is the list of topics or, where Topics has them whole, lessons to read or to print.
type learnView struct {
	Contents []lessonLink
	Topics   []lessonView
	All      bool // every topic is on the page
}

// A lessonLink leads to a topic.
type lessonLink struct {
	Path, Title, Learn string
}

// A lessonView is one topic.
type lessonView struct {
	handbook.Topic
	Among    bool // it shares the page with others, so its headings are a level lower
	Rules    []ruleView
	Practice []practiceView
	Next     *lessonLink // nil after the last one, and where all are on the page

	findings int
}

// A ruleView is a rule as it is taught.
type ruleView struct {
	Title, Do, Word, Shape string
	Grade                  finding.Severity
}

// A practiceView is a practice note, and apart from it what stance says.
type practiceView struct {
	Number  int
	Shows   string
	Asks    string
	Chart   []says.Line
	Since   string
	Notes   []practiceNote
	Summary string
	Whole   []view // the findings on no note: a shift without one
}

// A practiceNote is one note as written, and as read.
type practiceNote struct {
	When     string
	Text     string
	Segments []segment
	Findings []view
}

var errTopic = &refusal{status: http.StatusNotFound, title: "There is no such topic", words: "Choose Learn above, and a topic there."}

// learn lists the topics.
func (s *site) learn(r *http.Request, _ *sight.Visit) (*reply, error) {
	return s.page(r, http.StatusOK, "learn", frame{Title: "Learn", Path: "/learn", Body: learnView{Contents: lessonLinks(s.topics)}})
}

// learnAll shows every topic, to be printed.
func (s *site) learnAll(r *http.Request, _ *sight.Visit) (*reply, error) {
	v := learnView{All: true}
	first := 1
	for i := range s.topics {
		l, err := s.lesson(r.Context(), &s.topics[i], first)
		if err != nil {
			return nil, err
		}
		l.Among, first = true, first+l.findings
		v.Topics = append(v.Topics, *l)
	}
	return s.page(r, http.StatusOK, "learn", frame{Title: "All topics", Path: "/learn", Body: v})
}

// learnTopic shows one topic.
func (s *site) learnTopic(r *http.Request, _ *sight.Visit) (*reply, error) {
	i := slices.IndexFunc(s.topics, func(t handbook.Topic) bool { return t.ID == r.PathValue("topic") })
	if i < 0 {
		return nil, errTopic
	}
	l, err := s.lesson(r.Context(), &s.topics[i], 1)
	if err != nil {
		return nil, err
	}
	if i+1 < len(s.topics) {
		l.Next = &lessonLinks(s.topics[i+1 : i+2])[0]
	}
	return s.page(r, http.StatusOK, "learn", frame{Title: l.Title, Path: "/learn", Body: learnView{Topics: []lessonView{*l}}})
}

func lessonLinks(topics []handbook.Topic) []lessonLink {
	out := make([]lessonLink, len(topics))
	for i, t := range topics {
		out[i] = lessonLink{"/learn/" + t.ID, t.Title, t.Learn}
	}
	return out
}

// lesson has what stance says of the practice notes worked out, so that it is what the rules say now. Findings are
// numbered through the page, here from first.
func (s *site) lesson(ctx context.Context, t *handbook.Topic, first int) (*lessonView, error) {
	l := &lessonView{Topic: *t}
	for i := range t.Rules {
		r := &t.Rules[i]
		l.Rules = append(l.Rules, ruleView{
			Title: report.Capital(r.Doc.Title), Do: r.Doc.Do,
			Word: report.Capital(string(r.Severity)), Shape: shape(r.Severity), Grade: r.Severity,
		})
	}
	for i := range t.Practice {
		p, n, err := s.practice(ctx, &t.Practice[i], first+l.findings)
		if err != nil {
			return nil, fmt.Errorf("topic %s, practice note %d: %w", t.ID, i+1, err)
		}
		p.Number = i + 1
		l.findings += n
		l.Practice = append(l.Practice, *p)
	}
	return l, nil
}

// practice is a practice note worked out, its findings numbered from first, and how many there are.
func (s *site) practice(ctx context.Context, p *handbook.Practice, first int) (*practiceView, int, error) {
	w, err := p.Work(ctx, s.lexicon)
	if err != nil {
		return nil, 0, err
	}
	v := &practiceView{Shows: p.Shows, Asks: p.Asks, Summary: "Nothing to flag: this is written well."}
	if len(w.Findings) > 0 {
		v.Summary = counted(w.Findings) + "."
	}
	if row := w.Row(&w.Notes[0]); row != nil {
		v.Chart = s.words.Row(row, policy.Default().LiftHelpers)
		v.Since = row.From.Format("2 January 2006, 15:04")
	}
	for i := range w.Notes {
		n := &w.Notes[i]
		found := practiceFindings(w, n.ID)
		// A class looks at what was found, not at how each sentence was read.
		segments, views := s.segments(n.Text, lexicon.Reading{}, found, first)
		first += len(found)
		v.Notes = append(v.Notes, practiceNote{
			When: fmt.Sprintf("%s, by a %s", n.Time.Format("2 January 2006, 15:04"), n.Role), Text: n.Text, Segments: segments, Findings: views,
		})
	}
	for _, f := range practiceFindings(w, "") {
		v.Whole = append(v.Whole, s.view(f, first))
		first++
	}
	return v, len(w.Findings), nil
}

// practiceFindings are those on the note of that id, "" for those on none. Practice notes are nobody's record, so
// they need no leave to be seen.
func practiceFindings(w *handbook.Worked, id string) []sight.Finding {
	byID := func(id string) (note.Note, bool) {
		i := slices.IndexFunc(w.Notes, func(n note.Note) bool { return n.ID == id })
		if i < 0 {
			return note.Note{}, false
		}
		return w.Notes[i], true
	}
	var out []sight.Finding
	for _, f := range w.Findings {
		if f.Note != id {
			continue
		}
		on, _ := byID(f.Note)
		one := sight.Finding{Finding: f, On: on}
		for _, e := range f.Evidence {
			if e.Chart != nil || e.Text == "" {
				continue
			}
			other, _ := byID(e.Note)
			one.Compared = append(one.Compared, sight.Compared{Evidence: e, Own: f.Within(e), Time: other.Time})
		}
		out = append(out, one)
	}
	return out
}
