package pages

import (
	"cmp"
	"context"
	"fmt"
	"net/http"
	"slices"
	"strings"

	"example.com/stance/cmd/stance/web/pages/records"
	"example.com/stance/cmd/stance/web/pages/says"
	"example.com/stance/lint/answers"
	"example.com/stance/lint/finding"
	"example.com/stance/lint/note"
	"example.com/stance/lint/report"
	"example.com/stance/lint/shift"
)

// mostWhy bounds the reason for an answer, in bytes.
const mostWhy = 2_000

// allUnits is the choice of every unit that may be seen.
const allUnits = "all"

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
	Charted       bool
}

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
func (s *site) shift(w http.ResponseWriter, r *http.Request) error {
	ctx := r.Context()
	snap, err := s.records.Snapshot(ctx)
	if err != nil {
		return err
	}
	book, err := s.records.Book()
	if err != nil {
		return err
	}
	session := s.config.Session(ctx)
	q := r.URL.Query()
	p := shiftPage{CSRF: session.CSRF, CanAnswer: s.records.CanAnswer(), NeedsBy: session.User == "", By: q.Get("by"), Charted: snap.Charted()}
	p.Unit = cmp.Or(q.Get("unit"), allUnits)
	p.Units = s.unitsSeen(ctx, snap, p.Unit)
	if !slices.ContainsFunc(p.Units, func(c choice) bool { return c.Chosen }) {
		return errUnit
	}
	shifts := s.shiftsSeen(ctx, snap, p.Unit)
	if len(shifts) == 0 {
		p.Silent = true
		s.render(w, r, http.StatusOK, "shift", frame{Title: "Go through a shift", Path: "/shift", Body: p})
		return nil
	}
	at := len(shifts) - 1
	if asked := q.Get("shift"); asked != "" {
		if at = slices.IndexFunc(shifts, func(k shift.Key) bool { return k.String() == asked }); at < 0 {
			return errShift
		}
	}
	k := shifts[at]
	p.Shift, p.Name = k.String(), report.Capital(says.Shift(s.records.Calendar(), k))
	if p.Unit != allUnits {
		p.Name += ", " + p.Unit
	}
	for _, o := range slices.Backward(shifts[max(0, at-listedShifts):min(len(shifts), at+listedShifts)]) {
		p.Shifts = append(p.Shifts, choice{o.String(), report.Capital(o.Name) + ", " + s.records.Calendar().Start(o).Format("Mon 2 January 2006"), o == k})
	}
	if at > 0 {
		p.Earlier = to("/shift", "unit", p.Unit, "shift", shifts[at-1].String(), "by", p.By)
	}
	if at+1 < len(shifts) {
		p.Later = to("/shift", "unit", p.Unit, "shift", shifts[at+1].String(), "by", p.By)
	}
	notes, residents := 0, make(map[string]bool)
	for _, n := range snap.OnShift(k) {
		if s.inUnit(ctx, snap, p.Unit, n.Resident, n.Unit) {
			notes++
			residents[n.Resident] = true
		}
	}
	p.Noted = plural(notes, "note") + " on " + plural(len(residents), "resident")
	found, err := s.foundOn(ctx, snap, p.Unit, k)
	if err != nil {
		return err
	}
	var shown []string
	var left []finding.Finding
	for _, f := range found {
		shown = append(shown, f.Resident)
		if _, done := book.Of(f.ID); done {
			p.Done = append(p.Done, s.open(ctx, snap, f, book))
			continue
		}
		left = append(left, f)
	}
	for _, fs := range byNote(left) {
		first := s.open(ctx, snap, fs[0], book)
		n, _ := snap.Note(fs[0].Resident, fs[0].Note) // a zero note where the shift has none
		sh := sheet{
			Resident: first.Resident, Path: first.Path, Where: first.Where,
			Quote: excerpt(n.Text, fs, p.Left+1),
		}
		for _, f := range fs {
			p.Left++
			o := s.open(ctx, snap, f, book)
			o.Number = p.Left
			o.CSRF, o.Unit, o.Shift, o.NeedsBy, o.By, o.CanAnswer = p.CSRF, p.Unit, p.Shift, p.NeedsBy, p.By, p.CanAnswer
			sh.Findings = append(sh.Findings, o)
		}
		p.Open = append(p.Open, sh)
	}
	p.Counted = counted(left)
	if err := s.saw(ctx, shown...); err != nil {
		return err
	}
	if did := finding.Verdict(q.Get("did")); slices.Contains(finding.Verdicts(), did) {
		p.Said = fmt.Sprintf("Answered as %s. %s.", did, leftWords(p.Left))
	}
	s.render(w, r, http.StatusOK, "shift", frame{Title: "Go through a shift", Path: "/shift", Body: p})
	return nil
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

// inUnit reports whether a note, or a finding, of that resident and unit belongs on the page: the
// session may see both where the resident lives now and where the note was written.
func (s *site) inUnit(ctx context.Context, snap *records.Snapshot, chosen, resident, unit string) bool {
	if !s.visible(ctx, snap, resident) || unit != "" && !s.config.Session(ctx).Sees(unit) {
		return false
	}
	return chosen == allUnits || strings.EqualFold(cmp.Or(unit, snap.Unit(resident, s.config.Now())), chosen)
}

// unitsSeen are the units with residents whom the session may see.
func (s *site) unitsSeen(ctx context.Context, snap *records.Snapshot, chosen string) []choice {
	out := []choice{{allUnits, "All units", chosen == allUnits}}
	for _, u := range s.unitChoices(ctx, snap, "") {
		if u.Name != noUnit {
			out = append(out, choice{u.Name, u.Name, strings.EqualFold(u.Name, chosen)})
		}
	}
	return out
}

// shiftsSeen are the shifts with notes of the unit, by time.
func (s *site) shiftsSeen(ctx context.Context, snap *records.Snapshot, unit string) []shift.Key {
	return slices.DeleteFunc(snap.Shifts(), func(k shift.Key) bool {
		return !slices.ContainsFunc(snap.OnShift(k), func(n note.Note) bool {
			return s.inUnit(ctx, snap, unit, n.Resident, n.Unit)
		})
	})
}

// foundOn are the findings of the unit on the shift.
func (s *site) foundOn(ctx context.Context, snap *records.Snapshot, unit string, k shift.Key) ([]finding.Finding, error) {
	all, err := snap.Found(ctx, k)
	if err != nil {
		return nil, err
	}
	var out []finding.Finding
	for _, f := range all {
		if s.inUnit(ctx, snap, unit, f.Resident, f.Unit) {
			out = append(out, f)
		}
	}
	return out, nil
}

// open is the finding with all that is needed to answer it.
func (s *site) open(ctx context.Context, snap *records.Snapshot, f finding.Finding, book *answers.Book) open {
	n, ok := snap.Note(f.Resident, f.Note)
	if !ok {
		n = note.Note{Resident: f.Resident}
	}
	v := viewer{site: s, snap: snap, note: n, show: func(resident string) bool { return s.visible(ctx, snap, resident) }}
	o := open{view: v.view(f, 0), Resident: f.Resident, Path: to("/resident", "id", f.Resident), Where: s.written(f, n)}
	for _, v := range finding.Verdicts() {
		o.Verdicts = append(o.Verdicts, choice{Value: string(v), Name: report.Capital(string(v)) + ": " + meaning(v)})
	}
	if a, ok := book.Of(f.ID); ok {
		o.Answer = &answered{report.Capital(string(a.As)), a.Why, a.By, s.local(a.Time).Format("2 January 2006, 15:04")}
	}
	return o
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
func (s *site) written(f finding.Finding, n note.Note) string {
	if f.Note == "" {
		return "No note on this shift"
	}
	said := "Written " + s.local(f.Time).Format("Mon 2 January, 15:04")
	if n.Role != "" && n.Role != "other" {
		said += " by a " + string(n.Role)
	}
	return said
}

// answer keeps the answer to a finding that the shift asked for shows, and leads back to the shift.
func (s *site) answer(w http.ResponseWriter, r *http.Request) error {
	if err := r.ParseForm(); err != nil {
		return formFault(err)
	}
	ctx := r.Context()
	f := r.PostForm
	if !s.records.CanAnswer() {
		return &refusal{status: http.StatusConflict, title: "Answers cannot be kept", words: "stance was started without a file for answers. Ask the person who runs it."}
	}
	snap, err := s.records.Snapshot(ctx)
	if err != nil {
		return err
	}
	unit := cmp.Or(f.Get("unit"), allUnits)
	shifts := s.shiftsSeen(ctx, snap, unit)
	at := slices.IndexFunc(shifts, func(k shift.Key) bool { return k.String() == f.Get("shift") })
	if at < 0 {
		return errShift
	}
	found, err := s.foundOn(ctx, snap, unit, shifts[at])
	if err != nil {
		return err
	}
	if !slices.ContainsFunc(found, func(o finding.Finding) bool { return o.ID == f.Get("finding") }) {
		return errFinding
	}
	a := finding.Answer{As: finding.Verdict(f.Get("as")), Why: strings.TrimSpace(f.Get("why")), By: s.config.Session(ctx).User, Time: s.config.Now()}
	if a.By == "" {
		a.By = strings.TrimSpace(f.Get("by"))
	}
	switch {
	case !slices.Contains(finding.Verdicts(), a.As):
		return &refusal{status: http.StatusBadRequest, title: "Your answer is not complete", words: "Go back and choose confirmed, amended or mistaken."}
	case a.Why == "" && a.As == finding.Mistaken:
		return &refusal{status: http.StatusBadRequest, title: "Your answer is not complete", words: "Go back and write why the finding is mistaken."}
	case a.By == "":
		return &refusal{status: http.StatusBadRequest, title: "Your answer is not complete", words: "Go back and write who gives the answer."}
	case len(a.Why) > mostWhy || len(a.By) > mostBy:
		return &refusal{status: http.StatusBadRequest, title: "Your answer is too long", words: fmt.Sprintf("Go back and keep the reason under %d characters.", mostWhy)}
	}
	if a.Why == "" {
		a.Why = report.Capital(meaning(a.As)) + "." // what the answer that was chosen says by itself
	}
	if err := s.records.Answer(f.Get("finding"), a); err != nil {
		return &refusal{
			status: http.StatusInternalServerError, title: "Your answer was not kept",
			words: "The file of answers cannot be written. Go back: your words are still in the form. Tell the person who runs stance; the cause is in its messages.",
			cause: err,
		}
	}
	back := to("/shift", "unit", unit, "shift", f.Get("shift"), "did", string(a.As), "by", f.Get("by"))
	http.Redirect(w, r, back+"#said", http.StatusSeeOther)
	return nil
}

// mostBy bounds the name of who answers, in bytes.
const mostBy = 100
