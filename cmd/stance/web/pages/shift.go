package pages

import (
	"cmp"
	"fmt"
	"net/http"
	"slices"
	"strings"

	"example.com/stance/cmd/stance/web/pages/says"
	"example.com/stance/cmd/stance/web/pages/sight"
	"example.com/stance/lexicon"
	"example.com/stance/lint/answers"
	"example.com/stance/lint/finding"
	"example.com/stance/lint/plural"
	"example.com/stance/lint/report"
	"example.com/stance/lint/shift"
)

// mostWhy bounds the reason for an answer, in bytes.
const mostWhy = 2_000

// listedShifts is how many shifts before, and after, the one shown can be chosen from the list: two weeks
// of three a day. Links lead to the shifts beyond.
const listedShifts = 42

// A shiftPage is the place where the findings of a shift are gone through.
type shiftPage struct {
	CSRF          string
	Units, Shifts []choice
	Unit, Shift   string // as chosen
	Name          string // of the shift, in words
	Earlier       string // path of the shift before that has notes, or empty
	Later         string
	Noted         string // "11 notes on 9 residents"
	Silent        bool   // no shift has any note
	Open          []sheet
	Left          int // findings in Open
	Done          []open
	Said          string // what the last answer did
	CanAnswer     bool
	NeedsBy       bool // there are no accounts, so a person signs by hand
	By            string
	Counted       string
	Overlooked    []unread
	Charted       bool
}

// An unread is a sentence about moving of which nothing was understood.
type unread struct{ Resident, Path, When, Words string }

// A sheet is a note with the findings on it that are to be answered.
type sheet struct {
	Resident string
	Path     string // of the resident
	Where    string
	Quote    []piece
	Findings []open
}

// An open is a finding to be answered, or one that has been.
type open struct {
	view
	CSRF      string
	Resident  string
	Path      string // of the resident
	Where     string // "Evening shift …, 21:40, by a nurse"
	Verdicts  []choice
	Unit      string
	Shift     string
	NeedsBy   bool
	CanAnswer bool
	By        string
	Answer    *answered
}

// An answered is what was made of a finding.
type answered struct {
	As, Why, By, When string
}

// shift shows the findings of a unit on a shift: the latest one with notes, unless one is asked for.
func (s *site) shift(r *http.Request, v *sight.Visit) (*reply, error) {
	ctx := r.Context()
	look, err := v.Look(ctx)
	if err != nil {
		return nil, err
	}
	book, err := s.window.Answers()
	if err != nil {
		return nil, err
	}
	session := s.session(ctx)
	q := r.URL.Query()
	p := shiftPage{CSRF: session.CSRF, CanAnswer: s.window.CanAnswer(), NeedsBy: session.User == "", By: q.Get("by"), Charted: look.Charted()}
	p.Unit = cmp.Or(q.Get("unit"), sight.AllUnits)
	p.Units = unitsSeen(look, p.Unit)
	if !slices.ContainsFunc(p.Units, func(c choice) bool { return c.Chosen }) {
		return nil, errUnit
	}
	shifts := look.Shifts(p.Unit)
	if len(shifts) == 0 {
		p.Silent = true
		return s.page(r, http.StatusOK, "shift", frame{Title: "Go through a shift", Path: "/shift", Body: p})
	}
	at := len(shifts) - 1
	if asked := q.Get("shift"); asked != "" {
		if at = slices.IndexFunc(shifts, func(k shift.Key) bool { return k.String() == asked }); at < 0 {
			return nil, errShift
		}
	}
	k := shifts[at]
	p.Shift, p.Name = k.String(), report.Capital(says.Shift(s.window.Calendar(), k))
	if p.Unit != sight.AllUnits {
		p.Name += ", " + p.Unit
	}
	for _, o := range slices.Backward(shifts[max(0, at-listedShifts):min(len(shifts), at+listedShifts)]) {
		p.Shifts = append(p.Shifts, choice{o.String(), report.Capital(o.Name) + ", " + s.window.Calendar().Start(o).Format("Mon 2 January 2006"), o == k})
	}
	if at > 0 {
		p.Earlier = to("/shift", "unit", p.Unit, "shift", shifts[at-1].String(), "by", p.By)
	}
	if at+1 < len(shifts) {
		p.Later = to("/shift", "unit", p.Unit, "shift", shifts[at+1].String(), "by", p.By)
	}
	notes, residents := look.Noted(p.Unit, k)
	p.Noted = plural.Of(notes, "note") + " on " + plural.Of(residents, "resident")
	for _, o := range look.Overlooked(p.Unit, k) {
		p.Overlooked = append(p.Overlooked, unread{o.Resident, to("/resident", "id", o.Resident), s.local(o.Time).Format("Mon 2 January, 15:04"), o.Text})
	}
	found, err := look.Found(ctx, p.Unit, k)
	if err != nil {
		return nil, err
	}
	var left []sight.Finding
	for _, f := range found {
		if _, done := book.Of(f.ID); done {
			p.Done = append(p.Done, s.open(f, book))
			continue
		}
		left = append(left, f)
	}
	for _, fs := range byNote(left) {
		first := s.open(fs[0], book)
		sh := sheet{
			Resident: first.Resident, Path: first.Path, Where: first.Where,
			Quote: excerpt(fs[0].On.Text, plain(fs), p.Left+1),
		}
		for _, f := range fs {
			p.Left++
			o := s.open(f, book)
			o.Number = p.Left
			o.CSRF, o.Unit, o.Shift, o.NeedsBy, o.By, o.CanAnswer = p.CSRF, p.Unit, p.Shift, p.NeedsBy, p.By, p.CanAnswer
			sh.Findings = append(sh.Findings, o)
		}
		p.Open = append(p.Open, sh)
	}
	p.Counted = counted(plain(left))
	if did := finding.Verdict(q.Get("did")); slices.Contains(finding.Verdicts(), did) {
		p.Said = fmt.Sprintf("Answered as %s. %s.", did, leftWords(p.Left))
	}
	return s.page(r, http.StatusOK, "shift", frame{Title: "Go through a shift", Path: "/shift", Body: p})
}

func leftWords(n int) string {
	if n == 0 {
		return "None left on this shift"
	}
	return fmt.Sprintf("%d left on this shift", n)
}

var (
	errUnit  = &refusal{status: http.StatusNotFound, title: "No such unit", words: "There are no notes of that unit among those that you may see. Choose one from the list."}
	errShift = &refusal{status: http.StatusNotFound, title: "No such shift", words: "There are no notes of that shift in the units that you may see. Choose one from the list."}
)

// unitsSeen are the units with residents whom the session may see.
func unitsSeen(look *sight.Sight, chosen string) []choice {
	out := []choice{{sight.AllUnits, "All units", chosen == sight.AllUnits}}
	for _, u := range unitChoices(look, "") {
		if u.Name != noUnit {
			out = append(out, choice{u.Name, u.Name, strings.EqualFold(u.Name, chosen)})
		}
	}
	return out
}

// open is the finding with all that is needed to answer it.
func (s *site) open(f sight.Finding, book *answers.Book) open {
	o := open{view: s.view(f, 0), Resident: f.Resident, Path: to("/resident", "id", f.Resident), Where: s.written(f)}
	for _, v := range finding.Verdicts() {
		o.Verdicts = append(o.Verdicts, choice{Value: string(v), Name: report.Capital(string(v)) + ": " + meaning(v)})
	}
	o.Answer = s.answered(book, f.ID)
	return o
}

// answered is what was made of the finding of that id, nil for nothing yet.
func (s *site) answered(book *answers.Book, id string) *answered {
	a, ok := book.Of(id)
	if !ok {
		return nil
	}
	return &answered{report.Capital(string(a.As)), a.Why, a.By, s.local(a.Time).Format("2 January 2006, 15:04")}
}

// meaning says what an answer means.
func meaning(v finding.Verdict) string {
	switch v {
	case finding.Confirmed:
		return "it is so and was seen to"
	case finding.Amended:
		return "the record is put right"
	}
	return "the finding is wrong"
}

// written says when and by whom the words of a finding were written.
func (s *site) written(f sight.Finding) string {
	if f.Note == "" {
		return "No note on this shift"
	}
	said := "Written " + s.local(f.Time).Format("Mon 2 January, 15:04")
	if role := f.On.Role; role != "" && role != lexicon.OtherRole {
		said += " by a " + string(role)
	}
	return said
}

// answer keeps the answer to a finding that the shift asked for shows, and leads back to the shift.
func (s *site) answer(r *http.Request, v *sight.Visit) (*reply, error) {
	if err := r.ParseForm(); err != nil {
		return nil, formFault(err)
	}
	ctx := r.Context()
	f := r.PostForm
	if !s.window.CanAnswer() {
		return nil, &refusal{status: http.StatusConflict, title: "Answers cannot be kept", words: "stance was started without a file for answers. Ask the person who runs it."}
	}
	look, err := v.Look(ctx)
	if err != nil {
		return nil, err
	}
	unit := cmp.Or(f.Get("unit"), sight.AllUnits)
	shifts := look.Shifts(unit)
	at := slices.IndexFunc(shifts, func(k shift.Key) bool { return k.String() == f.Get("shift") })
	if at < 0 {
		return nil, errShift
	}
	has, err := look.Has(ctx, unit, shifts[at], f.Get("finding"))
	if err != nil {
		return nil, err
	}
	if !has {
		return nil, errFinding
	}
	a := finding.Answer{As: finding.Verdict(f.Get("as")), Why: strings.TrimSpace(f.Get("why")), By: s.session(ctx).User, Time: s.now()}
	if a.By == "" {
		a.By = strings.TrimSpace(f.Get("by"))
	}
	switch {
	case !slices.Contains(finding.Verdicts(), a.As):
		return nil, &refusal{status: http.StatusBadRequest, title: "Your answer is not complete", words: "Go back and choose confirmed, amended or mistaken."}
	case a.Why == "" && a.As == finding.Mistaken:
		return nil, &refusal{status: http.StatusBadRequest, title: "Your answer is not complete", words: "Go back and write why the finding is mistaken."}
	case a.By == "":
		return nil, &refusal{status: http.StatusBadRequest, title: "Your answer is not complete", words: "Go back and write who gives the answer."}
	case len(a.Why) > mostWhy || len(a.By) > mostBy:
		return nil, &refusal{status: http.StatusBadRequest, title: "Your answer is too long", words: fmt.Sprintf("Go back and keep the reason under %d characters.", mostWhy)}
	}
	if a.Why == "" {
		a.Why = report.Capital(meaning(a.As)) + "." // what the answer that was chosen says by itself
	}
	if err := s.window.Answer(f.Get("finding"), a); err != nil {
		return nil, &refusal{
			status: http.StatusInternalServerError, title: "Your answer was not kept",
			words: "The file of answers cannot be written. Go back: your words are still in the form. Tell the person who runs stance; the cause is in its messages.",
			cause: err,
		}
	}
	back := to("/shift", "unit", unit, "shift", f.Get("shift"), "did", string(a.As), "by", f.Get("by"))
	return seeOther(back + "#said"), nil
}

// mostBy bounds the name of who answers, in bytes.
const mostBy = 100
