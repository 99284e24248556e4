package pages

import (
	"cmp"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"net/http"
	"slices"
	"strings"
	"time"
	"unicode/utf8"

	"example.com/stance/cmd/stance/web/pages/records"
	"example.com/stance/cmd/stance/web/pages/says"
	"example.com/stance/cmd/stance/web/pages/sight"
	"example.com/stance/lexicon"
	"example.com/stance/lint/amend"
	"example.com/stance/lint/finding"
	"example.com/stance/lint/note"
	"example.com/stance/lint/plural"
	"example.com/stance/lint/policy"
	"example.com/stance/lint/report"
	"example.com/stance/lint/timeline"
)

// mostText bounds a typed note, in bytes. The longest handover notes have some 5,000.
const mostText = 20_000

// noUnit stands for the unit of residents whose unit is not known.
const noUnit = "No unit"

// clockForm is how a browser sends a date with a time of day.
const clockForm = "2006-01-02T15:04"

// A notePage is the place where a note is written.
type notePage struct {
	CSRF    string
	Units   []unitChoice
	Typed   string // a resident who is not among them
	Roles   []choice
	Draft   typed
	Time    string // of the draft, as a browser wants it; empty for now
	Status  *status
	Before  *before // nil where no resident is chosen
	Result  *result // nil until there is a text
	Drafts  bool    // the browser may keep the draft until the shift ends
	User    string
	Longest int
}

// A unitChoice is the residents of one unit.
type unitChoice struct {
	Name      string
	Residents []choice
}

// A choice is one entry of a list to choose from.
type choice struct {
	Value, Name string
	Chosen      bool
}

// typed is a note as it stands in the form.
type typed struct {
	Resident string
	Sought   string   // a number, room or name that the writer typed, in place of a choice from the list
	Unclear  string   // why nobody is meant by that, where it fits several; see settle
	Fits     []choice // the first of those
	Role     lexicon.Role
	At       time.Time
	Timed    bool // the writer gave the time; else it is now
	Text     string
}

// A status is what is charted for a resident.
type status struct {
	Resident string
	Called   string // see called
	Unit     string
	Known    bool // the resident has notes or a chart, and may be seen
	Lines    []says.Line
	Since    string
	By       string
	Gap      string   // why there are no lines
	Fits     []choice // residents one of whom may be meant
	Warn     string   // what is amiss with what was asked for

	// Unheld says that a note is not held against all that it should be, and what to do; empty where it is.
	Unheld string
}

// A result is what was understood of a text and found in it.
type result struct {
	Summary  string
	State    state
	Shift    string
	Segments []segment
	Findings []view // the worst first
	Errors   string // what may hurt somebody, in short; empty for nothing
}

// short is what is found in a few words, for a line at the edge of a phone.
func (r *result) short() string {
	if len(r.Findings) == 0 {
		return r.Summary
	}
	worst := r.Findings[0]
	return fmt.Sprintf("%d · %s %s: %s", len(r.Findings), worst.Shape, worst.Word, worst.Title)
}

// A state is what the line that sums a result up looks like.
type state string

const (
	allClear state = "clear" // all was understood and held against the chart, and nothing is flagged
	unsure   state = "open"  // something was not understood, or not held against anything
)

// note shows the form, for the resident asked for.
func (s *site) note(r *http.Request, v *sight.Visit) (*reply, error) {
	t := typed{Resident: strings.TrimSpace(r.FormValue("resident")), Role: lexicon.CareWorker, At: s.now().In(s.zone())}
	return s.notePage(r, v, t)
}

// checkNote checks the text sent, after putting in the rewording that was asked for.
func (s *site) checkNote(r *http.Request, v *sight.Visit) (*reply, error) {
	t, look, err := s.settled(r, v)
	if err != nil {
		return nil, err
	}
	if use := r.PostForm.Get("use"); use != "" {
		if t.Text, err = reword(r.Context(), look, t, use); err != nil {
			return nil, err
		}
	}
	return s.notePage(r, v, t)
}

func (s *site) notePage(r *http.Request, v *sight.Visit, t typed) (*reply, error) {
	ctx := r.Context()
	look, err := v.Look(ctx)
	if err != nil {
		return nil, err
	}
	session := s.session(ctx)
	p := notePage{
		CSRF: session.CSRF, User: session.User, Draft: t, Longest: mostText,
		Drafts: s.policy.Drafts == policy.DraftsShift,
	}
	if t.Timed {
		p.Time = t.At.Format(clockForm)
	}
	p.Units = unitChoices(look, t.Resident)
	if t.Resident != "" && !slices.ContainsFunc(p.Units, func(u unitChoice) bool {
		return slices.ContainsFunc(u.Residents, func(c choice) bool { return c.Chosen })
	}) {
		p.Typed = t.Resident
	}
	for _, role := range []lexicon.Role{lexicon.CareWorker, lexicon.Nurse, lexicon.Therapist, lexicon.Doctor, lexicon.OtherRole} {
		p.Roles = append(p.Roles, choice{string(role), report.Capital(string(role)), role == t.Role})
	}
	if p.Status, p.Result, err = s.understand(ctx, look, t, whole); err != nil {
		return nil, err
	}
	if p.Before, err = s.before(ctx, look, t); err != nil {
		return nil, err
	}
	return s.page(r, http.StatusOK, "note", frame{Title: "Write a note", Path: "/note", Body: p})
}

// unitChoices are the residents whom the session may see, by unit.
func unitChoices(look *sight.Sight, chosen string) []unitChoice {
	var out []unitChoice
	for _, res := range look.Residents() {
		name := cmp.Or(res.Unit, noUnit)
		if n := len(out); n == 0 || out[n-1].Name != name {
			out = append(out, unitChoice{Name: name})
		}
		u := &out[len(out)-1]
		u.Residents = append(u.Residents, choice{res.ID, called(res), res.ID == chosen})
	}
	return out
}

// liveAnswer is what the script of the page is sent: parts of the page, ready to be put in.
type liveAnswer struct {
	Resident string  `json:"resident"`         // whom the note is about, once that is settled; else empty
	Called   string  `json:"called"`           // the same with room and name, where the chart has them
	Status   string  `json:"status"`           // HTML of the charted status
	Before   *string `json:"before,omitempty"` // HTML of the last notes before, where that was asked for
	Result   string  `json:"result"`           // HTML of what was understood and found; empty for no text
	Marks    []mark  `json:"marks"`            // the same places, in the text
	Summary  string  `json:"summary"`          // to be read out
	Short    string  `json:"short"`            // for a line at the edge of a phone
	State    state   `json:"state"`            // what the summary looks like
	Errors   string  `json:"errors"`           // what may hurt somebody, in short; empty for nothing
	Left     int64   `json:"left"`             // until the present shift ends, in milliseconds
}

// A mark is a place of the text, in UTF-16 units, as a browser counts, and what it looks like: a severity or "unread".
type mark struct {
	Start int    `json:"start"`
	End   int    `json:"end"`
	Look  string `json:"look"`
}

// marks are the places that the segments mark, in the text that they make up.
func marks(gs []segment) []mark {
	out, at := []mark{}, 0
	for _, g := range gs {
		for _, p := range g.Pieces {
			look, end := string(p.Grade), at+units(p.Text)
			if look == "" && g.Unread {
				look = "unread"
			}
			if look != "" {
				out = append(out, mark{at, end, look})
			}
			at = end
		}
	}
	return out
}

// checkLive checks the text while it is typed. The form says with "ended" that the writer has left the field, and asks
// with "before" for the notes before.
func (s *site) checkLive(r *http.Request, v *sight.Visit) (*reply, error) {
	t, look, err := s.settled(r, v)
	if err != nil {
		return nil, err
	}
	ctx := r.Context()
	at := typing
	if r.PostForm.Get("ended") != "" {
		at = whole
	}
	st, res, err := s.understand(ctx, look, t, at)
	if err != nil {
		return nil, err
	}
	cal, now := s.window.Calendar(), s.now()
	answer := liveAnswer{Left: cal.Start(cal.Next(cal.Key(now, ""))).Sub(now).Milliseconds(), Marks: []mark{}}
	if st.Known {
		answer.Resident, answer.Called = st.Resident, st.Called
	}
	if answer.Status, err = s.part("status", st); err != nil {
		return nil, err
	}
	if r.PostForm.Get("before") != "" {
		b, err := s.before(ctx, look, t)
		if err != nil {
			return nil, err
		}
		part, err := s.part("before", b)
		if err != nil {
			return nil, err
		}
		answer.Before = &part
	}
	if res != nil {
		answer.Summary, answer.Short, answer.State, answer.Errors = res.Summary, res.short(), res.State, res.Errors
		answer.Marks = marks(res.Segments)
		if answer.Result, err = s.part("result", res); err != nil {
			return nil, err
		}
	}
	body, err := json.Marshal(answer)
	if err != nil {
		return nil, err
	}
	return &reply{status: http.StatusOK, header: []string{"Content-Type", "application/json"}, body: body}, nil
}

// settled is the form, with the resident whom the writer means.
func (s *site) settled(r *http.Request, v *sight.Visit) (typed, *sight.Sight, error) {
	t, err := s.typed(r)
	if err != nil {
		return t, nil, err
	}
	look, err := v.Look(r.Context())
	if err != nil {
		return t, nil, err
	}
	settle(look, &t)
	return t, look, nil
}

// typed reads the form. A resident whom the session may not see is refused when the note is judged.
func (s *site) typed(r *http.Request) (typed, error) {
	if err := r.ParseForm(); err != nil {
		return typed{}, formFault(err)
	}
	f := r.PostForm
	t := typed{
		Resident: strings.TrimSpace(f.Get("resident")),
		Role:     lexicon.Role(f.Get("role")),
		Text:     strings.ReplaceAll(f.Get("text"), "\r\n", "\n"), // forms send line ends so; a script does not
	}
	t.Sought = strings.TrimSpace(f.Get("other"))
	if len(t.Text) > mostText {
		return t, &refusal{status: http.StatusRequestEntityTooLarge, title: "The note is too long",
			words: fmt.Sprintf("A note may have %d characters. Split it in two.", mostText)}
	}
	if !utf8.ValidString(t.Text) || !utf8.ValidString(t.Resident) || !utf8.ValidString(t.Sought) {
		return t, &refusal{status: http.StatusBadRequest, title: "The note cannot be read", words: "Type the text again, or paste it as plain text."}
	}
	switch t.Role {
	case lexicon.CareWorker, lexicon.Nurse, lexicon.Therapist, lexicon.Doctor, lexicon.OtherRole:
	default:
		t.Role = lexicon.OtherRole
	}
	t.At = s.now().In(s.zone())
	if v := f.Get("time"); v != "" {
		at, err := time.ParseInLocation(clockForm, v, s.zone())
		if err != nil {
			return t, &refusal{status: http.StatusBadRequest, title: "The time cannot be read", words: "Choose a date and a time of day."}
		}
		t.At, t.Timed = at, true
	}
	return t, nil
}

// formFault tells a form that could not be read from one that is too large.
func formFault(err error) error {
	var tooLarge *http.MaxBytesError
	if errors.As(err, &tooLarge) {
		return err
	}
	return &refusal{status: http.StatusBadRequest, title: "The form cannot be read", words: "Go back and send it again."}
}

// note is the typed note as one to be judged.
func (t typed) note(unit string) note.Note {
	return note.Note{ID: records.TypedID, Resident: t.Resident, Unit: unit, Time: t.At, Role: t.Role, Text: t.Text}
}

// A stage is how far a text has come: what stands last in one that is being typed may be half a sentence.
type stage bool

const (
	whole  stage = false
	typing stage = true
)

// understand says what is charted for the resident and what the rules find in the text. The result is
// nil where there is no text; without a resident the text is read, but held against nothing.
func (s *site) understand(ctx context.Context, look *sight.Sight, t typed, at stage) (*status, *result, error) {
	st := &status{Resident: t.Resident}
	switch {
	case t.Unclear != "":
		st.Gap, st.Fits = t.Unclear, t.Fits
		st.Unheld = "Not held against any chart or earlier note: choose the resident."
	case t.Resident == "":
		st.Gap = "Choose a resident to see what is charted."
		st.Unheld = "Not held against any chart or earlier note: choose the resident."
	case !look.Sees(t.Resident):
		// Nothing of anybody else may bear on the judgement, so the name given goes no further.
		st.Gap = "No notes and no chart for this resident in the units that you may see. Check the number."
		st.Unheld = "Not held against any chart or earlier note: this resident is not known here. Check the number."
	default:
		st = s.charted(look, t.Resident, t.At)
	}
	if strings.TrimSpace(t.Text) == "" {
		return st, nil, nil
	}
	reading, found, err := look.Judge(ctx, t.note(st.Unit))
	if err != nil {
		return nil, nil, err
	}
	if !st.Known { // what the chart lacks is told in the status
		found = withoutRule(found, "chart-missing")
	}
	held := 0
	if at == typing {
		n := len(found)
		reading.Overlooked, found = s.ended(t.Text, reading.Overlooked, found)
		held = n - len(found)
	}
	res := &result{Shift: says.Shift(s.window.Calendar(), s.window.Calendar().Key(t.At, ""))}
	res.Segments, res.Findings = s.segments(t.Text, reading, found, 1)
	res.Summary, res.State = summary(plain(found), len(reading.Statements), len(reading.Overlooked), st.Unheld)
	if held > 0 && res.State == allClear {
		res.Summary, res.State = "Nothing to flag so far.", unsure
	}
	res.Errors = errorsIn(res.Findings)
	return st, res, nil
}

// ended leaves out, of a text that is being typed, what stands in the last sentence as long as that has no end: that
// nothing of it was understood, and that something is missing in it.
func (s *site) ended(text string, overlooked []lexicon.Span, found []sight.Finding) ([]lexicon.Span, []sight.Finding) {
	open := unended(text)
	overlooked = slices.DeleteFunc(slices.Clone(overlooked), func(at lexicon.Span) bool { return at.End > open })
	found = slices.DeleteFunc(slices.Clone(found), func(f sight.Finding) bool { return f.Span.End > open && s.waits[f.Rule] })
	return overlooked, found
}

// unended is where the last sentence begins if it has no end yet; else the end of the text.
func unended(text string) int {
	if t := strings.TrimRight(text, " "); t == "" || strings.HasSuffix(t, "\n") || strings.ContainsAny(t[len(t)-1:], ".!?;") {
		return len(text)
	}
	all := sentences(text, nil)
	return all[len(all)-1].start
}

// A before is what was written on a resident last, on one shift.
type before struct {
	Shift string
	Notes []noteView // the newest first
	Gap   string     // why there are none
}

// mostBefore is how many notes of the last shift are shown.
const mostBefore = 3

// before is the notes of the last shift before the note's time that has any; nil where the session may see no such
// resident.
func (s *site) before(ctx context.Context, look *sight.Sight, t typed) (*before, error) {
	kept, ok := look.Timeline(t.Resident)
	if !ok {
		return nil, nil
	}
	var es []*timeline.Entry
	for _, e := range slices.Backward(kept.Entries) {
		if e.Note.Time.After(t.At) {
			continue
		}
		if len(es) == mostBefore || len(es) > 0 && e.Shift != es[0].Shift {
			break
		}
		es = append(es, e)
	}
	if len(es) == 0 {
		return &before{Gap: "There is no earlier note on this resident."}, nil
	}
	judge, err := s.judge(ctx, look, t.Resident)
	if err != nil {
		return nil, err
	}
	found, err := judge.on(ctx, es...)
	if err != nil {
		return nil, err
	}
	b := &before{Shift: says.Shift(s.window.Calendar(), es[0].Shift)}
	for _, e := range es {
		v := noteView{
			When: s.local(e.Note.Time).Format("Monday 2 January, 15:04"), By: byWhom(e.Note),
			Said: s.said(e.Reading), Unread: len(e.Reading.Overlooked),
		}
		v.Segments, _ = s.segments(e.Note.Text, e.Reading, nil, 1)
		for _, f := range found[e] {
			v.Findings = append(v.Findings, judge.flag(f, s.view(f, 0)))
		}
		b.Notes = append(b.Notes, v)
	}
	return b, nil
}

// errorsIn says in short which findings may hurt somebody.
func errorsIn(found []view) string {
	var titles []string
	for _, f := range found {
		if f.Grade == finding.Error {
			titles = append(titles, f.Title)
		}
	}
	switch len(titles) {
	case 0:
		return ""
	case 1:
		return "1 error is still open: " + titles[0]
	}
	return fmt.Sprintf("%d errors are still open, the first: %s", len(titles), titles[0])
}

func withoutRule(fs []sight.Finding, rule string) []sight.Finding {
	var out []sight.Finding
	for _, f := range fs {
		if f.Rule != rule {
			out = append(out, f)
		}
	}
	return out
}

// charted says what the chart has, at a moment, for a resident whom the session may see.
func (s *site) charted(look *sight.Sight, resident string, at time.Time) *status {
	row, known := look.Row(resident, at)
	st := &status{Resident: resident, Called: called(look.Resident(resident)), Unit: look.Unit(resident), Known: known}
	switch {
	case !look.Charted():
		st.Gap = "No chart was given to stance. Look at the resident's own chart."
		st.Unheld = "Held against earlier notes only: no chart was given to stance."
	case row == nil:
		st.Gap = "Nothing is charted for this time. Ask the nurse or therapist before you move this resident."
		st.Unheld = "Held against earlier notes only: nothing is charted for this time."
	default:
		st.Lines = s.words.Row(row, s.policy.LiftHelpers)
		st.Since, st.By = s.local(row.From).Format("Monday 2 January 2006, 15:04"), row.By
	}
	cal := s.window.Calendar()
	if next := cal.Start(cal.Next(cal.Key(s.now(), ""))); !at.Before(next) {
		st.Warn = "This time is still to come. Check date and time: the chart may have changed by then."
		st.Unheld = "The time of this note is still to come, so it cannot be held against what holds then. Check date and time."
	}
	return st
}

// summary says in one line what was found, for eyes and for a screen reader. It never says that there is nothing to
// flag where something was not understood or not held against what it should be.
func summary(fs []finding.Finding, statements, overlooked int, unheld string) (string, state) {
	var said []string
	st := allClear
	switch {
	case len(fs) > 0:
		said, st = append(said, fmt.Sprintf("%s to look at: %s.", things(len(fs)), counted(fs))), state(worst(fs))
	case unheld != "":
		st = unsure
	case statements == 0 && overlooked == 0:
		return "Nothing about moving understood yet.", unsure
	case overlooked == 0:
		said = append(said, "Nothing to flag in these words.")
	case statements > 0:
		said, st = append(said, "Nothing to flag in what was understood."), unsure
	default:
		st = unsure
	}
	switch {
	case overlooked == 1:
		said = append(said, "1 sentence was not understood: read it again.")
	case overlooked > 1:
		said = append(said, fmt.Sprintf("%d sentences were not understood: read them again.", overlooked))
	}
	if unheld != "" {
		said = append(said, unheld)
	}
	return strings.Join(said, " "), st
}

// worst is the highest severity among findings.
func worst(fs []finding.Finding) finding.Severity {
	return slices.MaxFunc(fs, func(a, b finding.Finding) int { return a.Severity.Rank() - b.Severity.Rank() }).Severity
}

func things(n int) string {
	if n == 1 {
		return "1 thing"
	}
	return fmt.Sprintf("%d things", n)
}

// counted is "2 errors, 1 hint".
func counted(fs []finding.Finding) string {
	var parts []string
	for _, sev := range []finding.Severity{finding.Error, finding.Warning, finding.Hint} {
		n := 0
		for _, f := range fs {
			if f.Severity == sev {
				n++
			}
		}
		if n > 0 {
			parts = append(parts, plural.Of(n, string(sev)))
		}
	}
	return strings.Join(parts, ", ")
}

// reword is the text with the words that the finding of that id proposes.
func reword(ctx context.Context, look *sight.Sight, t typed, id string) (string, error) {
	if !look.Sees(t.Resident) {
		return t.Text, nil
	}
	_, found, err := look.Judge(ctx, t.note(look.Unit(t.Resident)))
	if err != nil {
		return "", err
	}
	for _, f := range found {
		if f.ID == id {
			return amend.Apply(t.Text, amend.Changes(t.Text, []finding.Finding{f.Finding})), nil
		}
	}
	return t.Text, nil // the text has changed since the button was shown
}

// noteText gives the note back as a text file that stance, and people, can read.
func (s *site) noteText(r *http.Request, v *sight.Visit) (*reply, error) {
	t, _, err := s.settled(r, v)
	if err != nil {
		return nil, err
	}
	name := "note-" + t.At.Format("2006-01-02-1504") + ".txt"
	return &reply{
		status: http.StatusOK,
		header: []string{"Content-Type", "text/plain; charset=utf-8", "Content-Disposition", `attachment; filename="` + name + `"`},
		body: fmt.Appendf(nil, "Resident: %s\nTime: %s\nRole: %s\n\n%s\n",
			report.Printable(t.Resident), t.At.Format(time.RFC3339), t.Role, strings.TrimRight(t.Text, "\n")),
	}, nil
}
