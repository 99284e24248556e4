package pages_test

import (
	"context"
	"fmt"
	"html"
	"net/http"
	"net/http/httptest"
	"slices"
	"strings"
	"testing"
	"time"

	"example.com/stance/cmd/stance/web/guard"
	"example.com/stance/cmd/stance/web/pages/records"
	"example.com/stance/lexicon"
	"example.com/stance/lint/chart"
	"example.com/stance/lint/note"
)

// same are words that several residents' notes have, enough of them to count as copied.
const same = "had a quiet evening and ate all of supper, then lifted by hand to the window seat to sit with the others until eight, teeth soaked, bell in reach"

// A doubled is a home in which a resident of Alder has a note copied from one of somebody else.
type doubled struct {
	name  string
	notes []note.Note
}

// evening is a note of one shift, whose first word no other note has.
func evening(resident, unit, id, first string, hour int, rest string) note.Note {
	return note.Note{ID: id, Resident: resident, Unit: unit, Role: lexicon.CareWorker, Text: first + " " + rest + ".",
		Time: time.Date(2026, 11, 24, hour, 0, 0, 0, time.UTC)}
}

// doubledHomes have the note ids meet in every way that they can.
func doubledHomes() []doubled {
	return []doubled{
		{"ids that are all different", []note.Note{
			evening("B-1", "Birch", "9", "Quartz", 17, same), evening("A-1", "Alder", "1", "Amber", 18, same)}},
		{"the copy's own id", []note.Note{
			evening("B-1", "Birch", "1", "Quartz", 17, same), evening("A-1", "Alder", "1", "Amber", 18, same)}},
		{"the id of another note on the copy's resident", []note.Note{
			evening("A-1", "Alder", "1", "Agate", 8, "Slept"), evening("B-1", "Birch", "1", "Quartz", 17, same), evening("A-1", "Alder", "2", "Amber", 18, same)}},
		{"the id of a note on a neighbour", []note.Note{
			evening("B-1", "Birch", "1", "Quartz", 17, same), evening("A-2", "Alder", "1", "Jasper", 17, "Lifted by hand"), evening("A-1", "Alder", "2", "Amber", 18, same)}},
		{"of nobody's unit", []note.Note{
			evening("U-1", "", "1", "Onyx", 17, same), evening("A-1", "Alder", "1", "Amber", 18, same)}},
		{"copied the other way", []note.Note{
			evening("A-1", "Alder", "1", "Amber", 17, same), evening("B-1", "Birch", "1", "Quartz", 18, same)}},
		{"one id for all of a resident's notes", []note.Note{
			evening("A-1", "Alder", "1", "Agate", 8, "Slept until nine, then lifted by hand"), evening("B-1", "Birch", "1", "Quartz", 17, same), evening("A-1", "Alder", "1", "Amber", 18, same)}},
	}
}

// A request is a page that is asked for, in one of the places.
type request struct {
	role guard.Role // empty: any
	path string
	form []string // nil: GET
}

// requests are one of each sort about the residents.
func requests(residents []string) []request {
	out := []request{
		{guard.Write, "/note", nil},
		{guard.Review, "/shift", nil}, {guard.Review, "/shift?shift=2026-11-24/evening", nil},
		{guard.Review, "/shift?unit=Alder&shift=2026-11-24/evening", nil}, {guard.Review, "/shift?unit=Birch&shift=2026-11-24/evening", nil},
		{guard.Review, "/shift/handover?shift=2026-11-24/evening", nil}, {guard.Review, "/shift/handover?unit=Birch", nil},
		{guard.Review, "/resident", nil},
		{guard.Audit, "/audit", nil}, {guard.Audit, "/audit?table=unit", nil}, {guard.Audit, "/audit?table=resident", nil},
		{guard.Audit, "/audit/notes", nil}, {guard.Audit, "/audit/notes?scope=copied-across", nil}, {guard.Audit, "/audit/report", nil},
		{"", "/learn", nil}, {"", "/learn/falls", nil},
	}
	for _, r := range residents {
		typed := []string{"resident", r, "role", "care worker", "time", "2026-11-24T19:00", "text", "Typed " + same + "."}
		out = append(out,
			request{guard.Write, "/note?resident=" + r, nil}, request{guard.Write, "/note", typed},
			request{guard.Write, "/check.json", typed}, request{guard.Write, "/note/text", typed},
			request{guard.Review, "/resident?id=" + r, nil}, request{guard.Review, "/resident?id=" + r + "&old=1&new=2&words=supper", nil},
			request{guard.Audit, "/audit/notes?table=resident&value=" + r, nil})
	}
	return out
}

// units are where the residents of the doubled homes live.
func units() map[string]string {
	return map[string]string{"A-1": "Alder", "A-2": "Alder", "B-1": "Birch", "U-1": ""}
}

// TestSights holds, for each role, choice of units, place and way in which note ids meet, that a page shows
// nothing of a resident whom the session may not see, and that whoever is shown is in the access log, and nobody
// else.
func TestSights(t *testing.T) {
	all := requests([]string{"A-1", "A-2", "B-1", "U-1"})
	// Answers are shown in some of the places only.
	answered := slices.DeleteFunc(slices.Clone(all), func(r request) bool {
		return !strings.HasPrefix(r.path, "/shift") && !strings.HasPrefix(r.path, "/audit/notes")
	})
	for _, d := range doubledHomes() {
		t.Run(d.name, func(t *testing.T) {
			h := homeOf(t, nil, d.notes...)
			h.visitAll(t, d.notes, all)
			h.session = everything()
			h.answerAll(t, "2026-11-24/evening")
			h.visitAll(t, d.notes, answered)
		})
	}
}

// visitAll makes the requests for all roles and units.
func (h *home) visitAll(t *testing.T, notes []note.Note, requests []request) {
	t.Helper()
	compared := 0
	for _, units := range [][]string{{"Alder"}, {"Birch"}, {"Alder", "Birch"}, {guard.AllUnits}, {"Rowan"}, nil} {
		for _, roles := range [][]guard.Role{{guard.Write}, {guard.Review}, {guard.Audit}, nil} {
			h.session = guard.Session{User: "u", Roles: roles, Units: units}
			for _, r := range requests {
				page := h.ask(r)
				what := fmt.Sprintf("%v in %v: %s %v", roles, units, r.path, r.form)
				may := slices.Contains(roles, r.role) || r.role == "" && len(roles) > 0
				if (page.Code == http.StatusOK) != may && page.Code != http.StatusNotFound {
					t.Errorf("%s: status %d", what, page.Code)
				}
				h.checkSight(t, what, r, page.Body.String(), notes)
				if strings.Contains(page.Body.String(), "on another resident says") {
					compared++
				}
			}
		}
	}
	if compared == 0 {
		t.Error("nobody is shown the other note, want whoever may see both residents")
	}
}

// checkSight holds what a page shows, and what was logged of it, against what the session may see.
func (h *home) checkSight(t *testing.T, what string, r request, page string, notes []note.Note) {
	t.Helper()
	for resident, unit := range units() {
		may := h.session.Sees(unit)
		logged := slices.Contains(h.seen, resident)
		shown := slices.ContainsFunc(notes, func(n note.Note) bool {
			first, _, _ := strings.Cut(n.Text, " ")
			return n.Resident == resident && strings.Contains(page, first)
		})
		// A number that somebody asks for may come back in the page that says there is none.
		asked := strings.Contains(r.path, resident) || slices.Contains(r.form, resident)
		switch {
		case shown && !may:
			t.Errorf("%s: shows words of %s", what, resident)
		case !may && !asked && strings.Contains(page, resident):
			t.Errorf("%s: names %s", what, resident)
		case logged && !may:
			t.Errorf("%s: the log tells of %s, who may not be seen", what, resident)
		case shown && !logged:
			t.Errorf("%s: shows words of %s unlogged", what, resident)
		}
	}
}

// homeOf is a site over the notes and the chart alone.
func homeOf(t *testing.T, ch *chart.Chart, notes ...note.Note) *home {
	t.Helper()
	h := newHome(t)
	h.config.Records.Source = records.Fixed(notes)
	h.config.Records.Chart = func() (*chart.Chart, error) { return ch, nil }
	h.config.Records.Policy.Zone = time.UTC
	h.config.Now = func() time.Time { return time.Date(2026, 11, 24, 20, 0, 0, 0, time.UTC) }
	h.reload(t)
	return h
}

// ask sends the request and gives the answer; seen is of it alone.
func (h *home) ask(r request) *httptest.ResponseRecorder {
	h.seen = nil
	if r.form != nil {
		return h.post(r.path, r.form...)
	}
	return h.get(r.path)
}

// answerAll answers all findings of a shift.
func (h *home) answerAll(t *testing.T, shift string) {
	t.Helper()
	for range 20 {
		page := h.get("/shift?shift=" + shift).Body.String()
		if !strings.Contains(page, "<summary>Answer this</summary>") {
			return
		}
		want(t, h.post("/shift", "shift", shift, "finding", firstFinding(t, page), "as", "confirmed", "by", "AB"), http.StatusSeeOther)
	}
	t.Fatal("findings are left after twenty answers")
}

// A resident who has moved, by a row of the chart whose time has come, is in the figures of the unit lived in
// now, also where those were worked out before.
func TestAuditFollowsAMove(t *testing.T) {
	moves := time.Date(2026, 11, 24, 21, 0, 0, 0, time.UTC)
	row := func(unit string, from time.Time) chart.Row {
		return chart.Row{Resident: "A-1", Unit: unit, From: from, Transfer: chart.TwoPersonPivot, Staff: chart.NoStaff, Walk: chart.WalkNo}
	}
	ch, err := chart.New([]chart.Row{row("Alder", moves.AddDate(0, 0, -9)), row("Birch", moves)})
	if err != nil {
		t.Fatal(err)
	}
	h := homeOf(t, ch, evening("A-1", "", "1", "Amber", 18, "lifted by hand x1"), evening("A-2", "Alder", "1", "Agate", 18, "lifted by hand x1"),
		evening("B-1", "Birch", "1", "Quartz", 18, "lifted by hand x1"))
	at := moves.Add(-time.Hour)
	h.config.Now = func() time.Time { return at }
	h.reload(t)
	check := func(when string, units ...string) {
		t.Helper()
		for _, unit := range []string{"Alder", "Birch"} {
			h.session = guard.Session{User: unit, Roles: guard.Roles(), Units: []string{unit}}
			for _, path := range []string{"/audit?table=resident", "/audit/notes", "/audit/report"} {
				page := h.ask(request{path: path})
				shown := strings.Contains(page.Body.String(), "A-1")
				if want := slices.Contains(units, unit); shown != want || slices.Contains(h.seen, "A-1") != want {
					t.Errorf("%s, %s at %s: shown %t and logged %q, want %t", when, unit, path, shown, h.seen, want)
				}
			}
		}
	}
	check("before the move", "Alder")
	at = moves
	check("after it", "Birch")
}

// Where all of a resident's notes have one id, each is still shown, page by page, and any two can be compared.
func TestResidentWithOneIDForAll(t *testing.T) {
	var notes []note.Note
	for i := range 70 {
		n := evening("A-1", "Alder", "1", fmt.Sprintf("Amber%dx", i), 8, "walked with cane x1")
		n.Time = n.Time.AddDate(0, 0, i-70)
		notes = append(notes, n)
	}
	h := homeOf(t, nil, notes...)
	shown := make(map[string]bool)
	path, pages := "/resident?id=A-1", 0
	for ; path != "" && pages < 5; pages++ {
		page := h.get(path).Body.String()
		for _, n := range notes {
			if first, _, _ := strings.Cut(n.Text, " "); strings.Contains(page, first) {
				shown[first] = true
			}
		}
		_, after, ok := strings.Cut(page, `<p><a class="act" href="`)
		path = ""
		if ok {
			path, _, _ = strings.Cut(after, `"`)
			path, _, _ = strings.Cut(html.UnescapeString(path), "#")
		}
	}
	if len(shown) != len(notes) || pages != 3 {
		t.Errorf("%d notes on %d pages, want %d on 3", len(shown), pages, len(notes))
	}
	want(t, h.get("/resident?id=A-1&old=1+(1+of+70)&new=1+(70+of+70)"), http.StatusOK, ">Amber0x<", ">Amber69x<")
	want(t, h.get("/resident?id=A-1&old=1&new=1+(70+of+70)"), http.StatusNotFound, "No such note")
}

// What cannot be logged is not shown, in any place.
func TestNothingIsShownUnlogged(t *testing.T) {
	h := newHome(t)
	h.config.Saw = func(context.Context, ...string) error { return errBroken }
	h.reload(t)
	text := []string{"resident", "R-101", "text", "Walked with cane."}
	for _, r := range []request{
		{path: "/note?resident=R-101"}, {path: "/note", form: text}, {path: "/check.json", form: text}, {path: harbourEvening},
		{path: "/resident?id=R-101"}, {path: "/audit?table=resident"}, {path: "/audit/notes"}, {path: "/audit/report"},
	} {
		w := h.ask(r)
		want(t, w, http.StatusInternalServerError, "Something is wrong here")
		wantNone(t, w, "toe touch", "cane", "R-101", errBroken.Error())
	}
	if len(h.faults) == 0 || h.faults[0] != errBroken {
		t.Errorf("faults %v, want %v", h.faults, errBroken)
	}
}
