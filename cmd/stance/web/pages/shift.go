package pages

import (
	"cmp"
	"context"
	"fmt"
	"maps"
	"net/http"
	"net/url"
	"slices"
	"strings"
	"time"

	"example.com/stance/cmd/stance/web/pages/says"
	"example.com/stance/cmd/stance/web/pages/sight"
	"example.com/stance/lexicon"
	"example.com/stance/lint/answers"
	"example.com/stance/lint/finding"
	"example.com/stance/lint/note"
	"example.com/stance/lint/plural"
	"example.com/stance/lint/report"
	"example.com/stance/lint/shift"
)

// mostWhy bounds the reason for an answer, in bytes.
const mostWhy = 2_000

// listedShifts is how many shifts before, and after, the one shown can be chosen from the list: two weeks
// of three a day. Links lead to the shifts beyond.
const listedShifts = 42

// A shiftPage is the place where a shift is gone through.
type shiftPage struct {
	CSRF          string
	Units, Shifts []choice
	Unit, Shift   string // as chosen
	Name          string // of the shift, in words
	Earlier       string // path of the shift before that has notes, or empty
	Later         string
	Handover      string // path of the sheet to print
	Open          link   // to the newest earlier shift with open findings, and how many there are on all; zero for none
	Noted         string // "11 notes on 9 residents"
	Silent        bool   // no shift has any note
	Rows          []resident
	Left          int // findings that no answer settles
	Answered      int
	Said          string // what the last answer did
	CanAnswer     bool
	Counted       string
	Overlooked    []unread
	Charted       bool
	Printed       string // when the sheet was made
}

// A resident is one row of the shift.
type resident struct {
	Resident string
	Also     string // see also
	Path     string
	Limits   []says.Line // charted
	Charted  []says.Line // the limits, and what else is charted that is not as with anybody
	Status   *status     // all that is charted
	Grade    finding.Severity
	Shape    string
	State    string // "1 error, 2 warnings", "No note on this shift"
	Silent   bool   // there is no note
	Open     bool   // a finding is left
	Sheets   []sheet
	Notes    []wholeNote
}

// A wholeNote is a note of the shift as it was written.
type wholeNote struct {
	When, Text string
}

// An unread is a sentence about moving of which nothing was understood.
type unread struct{ Resident, Path, When, Words string }

// A sheet is a note with the findings on it.
type sheet struct {
	Where    string
	Quote    []piece
	Findings []open
	All      *answerForm // to answer all of them at once; nil for one or none
}

// An open is a finding with the answer to it, or the form for one.
type open struct {
	view
	Resident string
	Path     string // of the resident
	Where    string // "Evening shift …, 21:40, by a nurse"
	Reply    *answerForm
	Answer   *answered
}

// A answerForm is the form of an answer to one finding or more.
type answerForm struct {
	Name     string // of the form among those of the page
	Label    string
	CSRF     string
	IDs      []string
	Verdicts []choice
	Unit     string
	Shift    string
	Back     string // path of a figure's findings, where they are answered there; empty for the shift
	NeedsBy  bool   // there are no accounts, so a person signs by hand
	By       string
}

// An answered is what was made of a finding.
type answered struct {
	As, Why, By, When string
	Settled           bool
}

// shift shows the residents of a unit on a shift and what was found: the newest shift with something open, unless one
// is asked for.
func (s *site) shift(r *http.Request, v *sight.Visit) (*reply, error) {
	p, err := s.shiftOf(r, v)
	if err != nil {
		return nil, err
	}
	return s.page(r, http.StatusOK, "shift", frame{Title: "Go through a shift", Path: "/shift", Body: p})
}

// handover is the same as a sheet to be printed.
func (s *site) handover(r *http.Request, v *sight.Visit) (*reply, error) {
	p, err := s.shiftOf(r, v)
	if err != nil {
		return nil, err
	}
	p.Printed = s.now().In(s.zone()).Format("Monday 2 January 2006, 15:04")
	slices.SortStableFunc(p.Rows, func(a, b resident) int { return strings.Compare(a.Resident, b.Resident) })
	return s.page(r, http.StatusOK, "handover", frame{Title: "Handover", Path: "/shift", Body: p})
}

func (s *site) shiftOf(r *http.Request, v *sight.Visit) (*shiftPage, error) {
	ctx := r.Context()
	look, err := v.Look(ctx)
	if err != nil {
		return nil, err
	}
	book, err := s.window.Answers()
	if err != nil {
		return nil, err
	}
	q := r.URL.Query()
	p := &shiftPage{CSRF: s.session(ctx).CSRF, CanAnswer: s.window.CanAnswer(), Charted: look.Charted(), Unit: cmp.Or(q.Get("unit"), sight.AllUnits)}
	p.Units = unitsSeen(look, p.Unit)
	if !slices.ContainsFunc(p.Units, func(c choice) bool { return c.Chosen }) {
		return nil, errUnit
	}
	shifts := look.Shifts(p.Unit)
	if len(shifts) == 0 {
		p.Silent = true
		return p, nil
	}
	left, err := look.Unsettled(ctx, p.Unit, shifts[max(0, len(shifts)-listedShifts)], book)
	if err != nil {
		return nil, err
	}
	at, err := chosenShift(shifts, left, q.Get("shift"))
	if err != nil {
		return nil, err
	}
	s.nameShift(p, shifts, at, left, q.Get("by"))
	if did := finding.Verdict(q.Get("did")); slices.Contains(finding.Verdicts(), did) {
		p.Said = "Answered as " + did.Said() + "."
	}
	if err := s.rows(ctx, p, look, book, shifts[at], q.Get("by")); err != nil {
		return nil, err
	}
	if p.Said != "" {
		p.Said += " " + leftWords(p.Left) + "."
	}
	return p, nil
}

// chosenShift is the place of the shift asked for or, where none is, of the newest with something left, else of the
// newest.
func chosenShift(shifts []shift.Key, left map[string]int, asked string) (int, error) {
	if asked != "" {
		at := slices.IndexFunc(shifts, func(k shift.Key) bool { return k.String() == asked })
		if at < 0 {
			return 0, errShift
		}
		return at, nil
	}
	for i, k := range slices.Backward(shifts) {
		if left[k.String()] > 0 {
			return i, nil
		}
	}
	return len(shifts) - 1, nil
}

// nameShift puts on the page which shift it shows and which others there are, with what is left on each.
func (s *site) nameShift(p *shiftPage, shifts []shift.Key, at int, left map[string]int, by string) {
	k, cal := shifts[at], s.window.Calendar()
	p.Shift, p.Name = k.String(), report.Capital(says.Shift(cal, k))
	if p.Unit != sight.AllUnits {
		p.Name += ", " + p.Unit
	}
	path := func(k shift.Key) string { return to("/shift", "unit", p.Unit, "shift", k.String(), "by", by) }
	for _, o := range slices.Backward(shifts[max(0, at-listedShifts):min(len(shifts), at+listedShifts)]) {
		name := report.Capital(o.Name) + ", " + cal.Start(o).Format("Mon 2 Jan 2006")
		if n := left[o.String()]; n > 0 {
			name += fmt.Sprintf(": %d open", n)
		}
		p.Shifts = append(p.Shifts, choice{o.String(), name, o == k})
	}
	earlier := 0
	for _, o := range slices.Backward(shifts[:at]) {
		n := left[o.String()]
		if earlier += n; n > 0 && p.Open.Path == "" {
			p.Open.Path = path(o)
		}
	}
	if earlier > 0 {
		p.Open.Name = fmt.Sprintf("%d open on earlier shifts", earlier)
	}
	if at > 0 {
		p.Earlier = path(shifts[at-1])
	}
	if at+1 < len(shifts) {
		p.Later = path(shifts[at+1])
	}
	p.Handover = to("/shift/handover", "unit", p.Unit, "shift", k.String())
}

// rows puts the residents on the page, those with something left first and of these the worst.
func (s *site) rows(ctx context.Context, p *shiftPage, look *sight.Sight, book *answers.Book, k shift.Key, by string) error {
	found, err := look.Found(ctx, p.Unit, k)
	if err != nil {
		return err
	}
	for _, o := range look.Overlooked(p.Unit, k) {
		p.Overlooked = append(p.Overlooked, unread{o.Resident, to("/resident", "id", o.Resident), s.local(o.Time).Format("Mon 2 January, 15:04"), o.Text})
	}
	form := answerForm{CSRF: p.CSRF, Unit: p.Unit, Shift: p.Shift, NeedsBy: s.session(ctx).User == "", By: by}
	if p.CanAnswer {
		form.Verdicts = verdictChoices()
	}
	sheets, left := s.sheets(p, found, book, form)
	p.Counted, p.Left = counted(plain(left)), len(left)
	p.Answered = len(found) - len(left)
	notes := look.NotesOn(p.Unit, k)
	count := 0
	for _, id := range s.onUnit(look, p.Unit, notes, sheets) {
		count += len(notes[id])
		of := slices.DeleteFunc(slices.Clone(left), func(f sight.Finding) bool { return f.Resident != id })
		overlooked := slices.ContainsFunc(p.Overlooked, func(u unread) bool { return u.Resident == id })
		p.Rows = append(p.Rows, s.row(look, id, k, notes[id], sheets[id], of, overlooked))
	}
	p.Noted = plural.Of(count, "note") + " on " + plural.Of(len(notes), "resident") + " of " + fmt.Sprint(len(p.Rows))
	slices.SortStableFunc(p.Rows, func(a, b resident) int { return b.Grade.Rank() - a.Grade.Rank() })
	return nil
}

// verdictChoices are the answers that may be given, with what each means.
func verdictChoices() []choice {
	var out []choice
	for _, v := range finding.Verdicts() {
		out = append(out, choice{Value: string(v), Name: report.Capital(v.Said()) + ": " + meaning(v)})
	}
	return out
}

// onUnit are the residents of the unit, and others whom its notes or findings are about, by id.
func (s *site) onUnit(look *sight.Sight, unit string, notes map[string][]note.Note, sheets map[string][]sheet) []string {
	ids := make(map[string]bool)
	for _, res := range look.Residents() {
		if unit == sight.AllUnits || strings.EqualFold(res.Unit, unit) {
			ids[res.ID] = true
		}
	}
	for id := range notes {
		ids[id] = true
	}
	for id := range sheets {
		ids[id] = true
	}
	return slices.Sorted(maps.Keys(ids))
}

// sheets are the findings by resident and note, numbered through the page. A number stays with its finding when that is
// answered. It also gives the findings that no answer settles.
func (s *site) sheets(p *shiftPage, found []sight.Finding, book *answers.Book, form answerForm) (map[string][]sheet, []sight.Finding) {
	out := make(map[string][]sheet)
	var left []sight.Finding
	number := 1
	for _, fs := range byNote(found) {
		sh := sheet{Where: s.written(fs[0]), Quote: excerpt(fs[0].On.Text, plain(fs), number)}
		var ids []string
		for _, f := range fs {
			o := s.open(f, book)
			o.Number = number
			number++
			if o.Answer == nil || !o.Answer.Settled {
				left, ids = append(left, f), append(ids, f.ID)
			}
			if form.Verdicts != nil {
				one := form
				one.Name, one.Label, one.IDs = f.ID, "Answer this", []string{f.ID}
				if o.Answer != nil {
					one.Label = "Change the answer"
				}
				o.Reply = &one
			}
			sh.Findings = append(sh.Findings, o)
		}
		if len(ids) > 1 && form.Verdicts != nil {
			all := form
			all.Name, all.Label, all.IDs = "all-"+ids[0], fmt.Sprintf("Answer all %d of this note at once", len(ids)), ids
			sh.All = &all
		}
		out[fs[0].Resident] = append(out[fs[0].Resident], sh)
	}
	return out, left
}

// row is one resident on the shift, by the chart as it stands at the shift's end, or now.
func (s *site) row(look *sight.Sight, id string, k shift.Key, notes []note.Note, sheets []sheet, left []sight.Finding, overlooked bool) resident {
	end := s.window.Calendar().Start(s.window.Calendar().Next(k)).Add(-time.Minute)
	if now := s.now(); now.Before(end) {
		end = now
	}
	out := resident{Resident: id, Also: also(look.Resident(id)), Path: to("/resident", "id", id), Status: s.charted(look, id, end), Sheets: sheets, Silent: len(notes) == 0, Open: len(left) > 0}
	for _, l := range out.Status.Lines {
		if l.Tight {
			out.Limits = append(out.Limits, l)
		}
		if l.Tight || l.Cell != "" || !strings.HasSuffix(l.Label, "leg") {
			out.Charted = append(out.Charted, l)
		}
	}
	for _, n := range notes {
		out.Notes = append(out.Notes, wholeNote{s.local(n.Time).Format("Mon 2 January, 15:04") + byWhom(n), n.Text})
	}
	switch {
	case len(left) > 0:
		out.Grade, out.State = worst(plain(left)), counted(plain(left))
		out.Shape = shape(out.Grade)
	case out.Silent:
		out.State = "No note on this shift"
	case len(sheets) > 0:
		out.State = "All answered"
	case overlooked:
		out.State = "Not all understood"
	default:
		out.State = "Nothing flagged"
	}
	return out
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

// open is the finding with what was made of it.
func (s *site) open(f sight.Finding, book *answers.Book) open {
	return open{view: s.view(f, 0), Resident: f.Resident, Path: to("/resident", "id", f.Resident), Where: s.written(f), Answer: s.answered(book, f.ID)}
}

// answered is what was made of the finding of that id, nil for nothing yet.
func (s *site) answered(book *answers.Book, id string) *answered {
	a, ok := book.Of(id)
	if !ok {
		return nil
	}
	return &answered{report.Capital(a.As.Said()), a.Why, a.By, s.local(a.Time).Format("2 January 2006, 15:04"), a.Settles()}
}

// meaning says what an answer means.
func meaning(v finding.Verdict) string {
	switch v {
	case finding.Confirmed:
		return "it is so and was seen to"
	case finding.Amended:
		return "the record is put right"
	case finding.Looking:
		return "it stays open until it is known"
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

// answer keeps the answer to findings that the shift asked for shows, one or all of a note, and leads back to the shift.
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
	for _, id := range f["finding"] {
		has, err := look.Has(ctx, unit, shifts[at], id)
		if err != nil {
			return nil, err
		}
		if !has {
			return nil, errFinding
		}
	}
	if len(f["finding"]) == 0 {
		return nil, errFinding
	}
	a := finding.Answer{As: finding.Verdict(f.Get("as")), Why: strings.TrimSpace(f.Get("why")), By: s.session(ctx).User, Time: s.now()}
	if a.By == "" {
		a.By = strings.TrimSpace(f.Get("by"))
	}
	switch {
	case !slices.Contains(finding.Verdicts(), a.As):
		return nil, &refusal{status: http.StatusBadRequest, title: "Your answer is not complete", words: "Go back and choose one of the answers."}
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
	for _, id := range f["finding"] {
		if err := s.window.Answer(id, a); err != nil {
			return nil, &refusal{
				status: http.StatusInternalServerError, title: "Your answer was not kept",
				words: "The file of answers cannot be written. Go back: your words are still in the form. Tell the person who runs stance; the cause is in its messages.",
				cause: err,
			}
		}
	}
	if back, err := url.Parse(f.Get("back")); err == nil && back.Scheme == "" && back.Host == "" && back.Path == "/audit/notes" {
		q := back.Query()
		q.Set("did", string(a.As))
		q.Set("did_by", f.Get("by"))
		return seeOther(back.Path + "?" + q.Encode() + "#said"), nil
	}
	back := to("/shift", "unit", unit, "shift", f.Get("shift"), "did", string(a.As), "by", f.Get("by"))
	return seeOther(back + "#said"), nil
}

// mostBy bounds the name of who answers, in bytes.
const mostBy = 100
