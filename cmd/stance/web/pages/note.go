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
	Role     lexicon.Role
	At       time.Time
	Timed    bool // the writer gave the time; else it is now
	Text     string
}

// A status is what is charted for a resident.
type status struct {
	Resident string
	Unit     string
	Known    bool // the resident has notes or a chart, and may be seen
	Lines    []says.Line
	Since    string
	By       string
	Gap      string // why there are no lines
	Warn     string // what is amiss with what was asked for

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
	t, err := s.typed(r)
	if err != nil {
		return nil, err
	}
	if use := r.PostForm.Get("use"); use != "" {
		look, err := v.Look(r.Context())
		if err != nil {
			return nil, err
		}
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
	if !slices.ContainsFunc(p.Units, func(u unitChoice) bool {
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
		u.Residents = append(u.Residents, choice{res.ID, res.ID, res.ID == chosen})
	}
	return out
}

// liveAnswer is what the script of the page is sent: parts of the page, ready to be put in.
type liveAnswer struct {
	Status  string `json:"status"`  // HTML of the charted status
	Result  string `json:"result"`  // HTML of what was understood and found; empty for no text
	Summary string `json:"summary"` // to be read out
	State   state  `json:"state"`   // what the summary looks like
	Errors  string `json:"errors"`  // what may hurt somebody, in short; empty for nothing
	Left    int64  `json:"left"`    // until the present shift ends, in milliseconds
}

// checkLive checks the text while it is typed.
func (s *site) checkLive(r *http.Request, v *sight.Visit) (*reply, error) {
	t, err := s.typed(r)
	if err != nil {
		return nil, err
	}
	ctx := r.Context()
	look, err := v.Look(ctx)
	if err != nil {
		return nil, err
	}
	st, res, err := s.understand(ctx, look, t, typing)
	if err != nil {
		return nil, err
	}
	cal, now := s.window.Calendar(), s.now()
	answer := liveAnswer{Left: cal.Start(cal.Next(cal.Key(now, ""))).Sub(now).Milliseconds()}
	if answer.Status, err = s.part("status", st); err != nil {
		return nil, err
	}
	if res != nil {
		answer.Summary, answer.State, answer.Errors = res.Summary, res.State, res.Errors
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
	if other := strings.TrimSpace(f.Get("other")); other != "" {
		t.Resident = other
	}
	if len(t.Text) > mostText {
		return t, &refusal{status: http.StatusRequestEntityTooLarge, title: "The note is too long",
			words: fmt.Sprintf("A note may have %d characters. Split it in two.", mostText)}
	}
	if !utf8.ValidString(t.Text) || !utf8.ValidString(t.Resident) {
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
	if at == typing {
		reading.Overlooked = ended(t.Text, reading.Overlooked)
	}
	res := &result{Shift: says.Shift(s.window.Calendar(), s.window.Calendar().Key(t.At, ""))}
	res.Segments, res.Findings = s.segments(t.Text, reading, found, 1)
	res.Summary, res.State = summary(plain(found), len(reading.Statements), len(reading.Overlooked), st.Unheld)
	res.Errors = errorsIn(res.Findings)
	return st, res, nil
}

// ended are the places of a text that is being typed after which something stands: a full stop, or the next line.
func ended(text string, all []lexicon.Span) []lexicon.Span {
	var out []lexicon.Span
	for _, at := range all {
		if strings.TrimLeft(text[at.End:], " ") != "" {
			out = append(out, at)
		}
	}
	return out
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
	st := &status{Resident: resident, Unit: look.Unit(resident), Known: known}
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
func (s *site) noteText(r *http.Request, _ *sight.Visit) (*reply, error) {
	t, err := s.typed(r)
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
