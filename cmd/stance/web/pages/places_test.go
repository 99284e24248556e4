package pages_test

import (
	"bytes"
	"fmt"
	"html"
	"net/http"
	"net/http/httptest"
	"net/url"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"
	"time"

	"example.com/stance/cmd/stance/web/guard"
	"example.com/stance/lexicon"
	"example.com/stance/lint/chart"
	"example.com/stance/lint/note"
)

const harbourEvening = "/shift?unit=Harbour&shift=2026-11-12%2Fevening"

// firstFinding is the id of the first finding with a form to answer it.
func firstFinding(t *testing.T, page string) string {
	t.Helper()
	_, after, ok := strings.Cut(page, "<summary>Answer this</summary>")
	_, after, has := strings.Cut(after, `name="finding" value="`)
	if !ok || !has {
		t.Fatal("no finding to answer")
	}
	id, _, _ := strings.Cut(after, `"`)
	return id
}

func TestShift(t *testing.T) {
	h := newHome(t)
	// The newest shift with something open, what is open on each, and on those before.
	want(t, h.get("/shift"), http.StatusOK, "Shift before", " open on earlier shifts", ": 1 open</option>")
	w := h.get(harbourEvening)
	want(t, w, http.StatusOK, "4 left", "1 error, 3 warnings", "4 notes on 4 residents of 8", "No note on this shift", "Left leg: no weight NWB", `<mark class="error">walked to BR with cane x1</mark>`,
		"1. Error", "2. Warning", "4. Warning", "Left leg: no weight (NWB). Since 5 November 2026, 10:00.", "Shift after")
	if got := strings.Count(w.Body.String(), "<blockquote>"); got != 2+4 {
		t.Errorf("%d quotes, want one for each of 2 notes with findings, and 4 notes whole", got)
	}
	if !slices.Contains(h.seen, "R-101") {
		t.Errorf("seen %q, want R-101 among them", h.seen)
	}
	id := firstFinding(t, w.Body.String())
	answer := []string{"unit", "Harbour", "shift", "2026-11-12/evening", "finding", id, "as", "amended", "why", "Late entry <made>", "by", "AB"}
	w = h.post("/shift", answer...)
	want(t, w, http.StatusSeeOther)
	w = h.get(strings.TrimSuffix(w.Header().Get("Location"), "#said"))
	want(t, w, http.StatusOK, "Answered as amended. 3 left on this shift.", "3 left", "1 answered", "Late entry &lt;made&gt;", `value="AB"`,
		"1. Error", "2. Warning", "4. Warning", "Change the answer") // a number stays with its finding

	h.session.User = "nurse-1" // who has an account signs with it, whatever the form says
	h.post("/shift", append(answer, "by", "somebody")...)
	want(t, h.get(harbourEvening), http.StatusOK, "by nurse-1 on")
}

// An answer can be changed, one that is being looked into stays open, and one answer may be for all findings of a note.
func TestShiftAnswersChange(t *testing.T) {
	h := newHome(t)
	page := h.get(harbourEvening).Body.String()
	id := firstFinding(t, page)
	answer := func(as string, ids ...string) {
		t.Helper()
		pairs := url.Values{"unit": {"Harbour"}, "shift": {"2026-11-12/evening"}, "as": {as}, "why": {"because"}, "by": {"AB"}, "finding": ids}
		r := httptest.NewRequest(http.MethodPost, "/shift", strings.NewReader(pairs.Encode()))
		r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
		w := httptest.NewRecorder()
		h.ServeHTTP(w, r)
		want(t, w, http.StatusSeeOther)
	}
	answer("looking", id)
	want(t, h.get(harbourEvening), http.StatusOK, "4 left", "0 answered", "<strong>Being looked into</strong> by AB")
	answer("confirmed", id)
	want(t, h.get(harbourEvening), http.StatusOK, "3 left", "1 answered", "<strong>Confirmed</strong> by AB")
	answer("mistaken", id)
	want(t, h.get(harbourEvening), http.StatusOK, "3 left", "1 answered", "<strong>Mistaken</strong> by AB")
	lines, err := os.ReadFile(h.answers)
	if err != nil || strings.Count(string(lines), "\n") != 3 {
		t.Errorf("the file has %d lines, want all 3 answers; %v", strings.Count(string(lines), "\n"), err)
	}

	form := regexp.MustCompile(`Answer all 2 of this note at once</summary>(?s:.*?)</form>`).FindString(page)
	var ids []string
	for _, m := range regexp.MustCompile(`name="finding" value="([0-9a-f]{16})"`).FindAllStringSubmatch(form, -1) {
		ids = append(ids, m[1])
	}
	if len(ids) != 2 {
		t.Fatalf("the form for all of a note has the findings %q", ids)
	}
	answer("amended", ids...)
	want(t, h.get(harbourEvening), http.StatusOK, "2 left", "2 answered")
}

func TestHandover(t *testing.T) {
	h := newHome(t)
	w := h.get("/shift/handover?unit=Harbour&shift=2026-11-12/evening")
	want(t, w, http.StatusOK, "Evening shift of Thursday 12 November 2026, Harbour", "Made Monday 23 November 2026, 21:40", "R-108", "No note on this shift",
		"A move puts more weight on a leg than the chart allows", "decide how a resident is moved")
	for _, id := range []string{"R-101", "R-108"} {
		if !slices.Contains(h.seen, id) {
			t.Errorf("seen %q, want %s", h.seen, id)
		}
	}
}

func TestShiftRefuses(t *testing.T) {
	h := newHome(t)
	id := firstFinding(t, h.get(harbourEvening).Body.String())
	good := func(change ...string) []string {
		return append([]string{"unit", "Harbour", "shift", "2026-11-12/evening", "finding", id, "as", "confirmed", "why", "seen", "by", "AB"}, change...)
	}
	for name, tt := range map[string]struct {
		pairs  []string
		status int
	}{
		"no reason":      {good("as", "mistaken", "why", " "), http.StatusBadRequest},
		"no name":        {good("by", ""), http.StatusBadRequest},
		"no verdict":     {good("as", "maybe"), http.StatusBadRequest},
		"long reason":    {good("why", strings.Repeat("a", 2001)), http.StatusBadRequest},
		"other finding":  {good("finding", "0123456789abcdef"), http.StatusNotFound},
		"other unit":     {good("unit", "Mill"), http.StatusNotFound},
		"no such shift":  {good("shift", "2026-01-01/day"), http.StatusNotFound},
		"shift not read": {good("shift", "../../etc/passwd"), http.StatusNotFound},
	} {
		t.Run(name, func(t *testing.T) { want(t, h.post("/shift", tt.pairs...), tt.status) })
	}
	if exists(h.answers) {
		t.Error("an answer was kept")
	}
	want(t, h.get("/shift?unit=Nowhere"), http.StatusNotFound)
	want(t, h.get("/shift?shift=2026-01-01/day"), http.StatusNotFound, "No such shift")
	h.config.Records.Answers = ""
	h.reload(t)
	want(t, h.post("/shift", good()...), http.StatusConflict, "without a file for answers")
	want(t, h.get(harbourEvening), http.StatusOK, "Answers cannot be kept")
}

// An answer that says enough by itself needs no words; one that cannot be kept is told as such.
func TestShiftKeepsAnswers(t *testing.T) {
	h := newHome(t)
	id := firstFinding(t, h.get(harbourEvening).Body.String())
	answer := []string{"unit", "Harbour", "shift", "2026-11-12/evening", "finding", id, "as", "confirmed", "why", "", "by", "AB"}
	want(t, h.post("/shift", answer...), http.StatusSeeOther)
	want(t, h.get(harbourEvening), http.StatusOK, "It is so and was seen to.")

	h.config.Records.Answers = t.TempDir() // a folder takes no lines
	h.reload(t)
	want(t, h.get("/shift"), http.StatusInternalServerError, "Something is wrong here")
	h.config.Records.Answers = filepath.Join(t.TempDir(), "gone", "answers.jsonl")
	h.reload(t)
	h.faults = nil
	want(t, h.post("/shift", answer...), http.StatusInternalServerError, "Your answer was not kept", "still in the form")
	if len(h.faults) != 1 {
		t.Errorf("faults %v, want the one that kept the answer from being kept", h.faults)
	}
}

func TestResidentWithoutNotes(t *testing.T) {
	h := newHome(t)
	ch, err := chart.New([]chart.Row{{Resident: "R-new", Unit: "Mill", From: h.config.Now().Add(-time.Hour), Transfer: chart.TwoPersonPivot, Staff: chart.NoStaff, Walk: chart.WalkNo}})
	if err != nil {
		t.Fatal(err)
	}
	h.config.Records.Chart = func() (*chart.Chart, error) { return ch, nil }
	h.reload(t)
	want(t, h.get("/note"), http.StatusOK, `<option value="R-new">`)
	want(t, h.get("/resident?id=R-new"), http.StatusOK, "pivot with two helpers", "There are no notes on this resident yet.")
}

func TestResident(t *testing.T) {
	h := newHome(t)
	want(t, h.get("/resident"), http.StatusOK, `href="/resident?id=R-101"`, "Harbour", "Mill", "Orchard")
	want(t, h.get("/resident?id=R-101"), http.StatusOK, "Resident R-101", "toe touch only", "<svg", "19 notes, the newest first", "Compare with the shift before")
	for words, found := range map[string]string{
		"walker":         "12 of 19", // "2WW", "rollator", "two-wheeled frame"
		"2ww":            "12 of 19",
		"cane":           "3 of 19",
		"walked cane x1": "1 of 19", // with one helper, as understood
		"belt walker":    "12 of 19",
		"daughter":       "5 of 19",
		"DAUGHT":         "5 of 19",
		"aughter":        "0 of 19", // words are found from their start
		"zebra":          "0 of 19",
		"dau":            "0 of 19", // and short ones whole
	} {
		w := h.get("/resident?id=R-101&words=" + strings.ReplaceAll(words, " ", "+"))
		want(t, w, http.StatusOK)
		if !strings.Contains(w.Body.String(), found+" notes found") {
			_, after, _ := strings.Cut(w.Body.String(), `<p role="status">`)
			t.Errorf("%q: want %s, got %.40s", words, found, after)
		}
	}
	// What the page gives as examples.
	_, hint, _ := strings.Cut(h.get("/resident?id=R-101").Body.String(), `id="words-hint">`)
	hint, _, _ = strings.Cut(hint, "</p>")
	for _, tt := range []struct{ words, hit, not string }{
		{"walker", "2WW", ""}, {"two helpers", "x2", ""}, {"bathroom", "BR", ""}, {"BR", "BR", "<mark class=\"hit\">br"}, {"x2", "Two of us", ""},
	} {
		if tt.words != "BR" && tt.words != "x2" && !strings.Contains(hint, "“"+tt.words+"”") {
			t.Errorf("the page does not give %q as an example: %s", tt.words, hint)
		}
		body := h.get("/resident?id=R-101&words=" + strings.ReplaceAll(tt.words, " ", "+")).Body.String()
		if !regexp.MustCompile(`<mark class="[a-z ]*hit">[^<]*`+tt.hit).MatchString(body) || tt.not != "" && strings.Contains(body, tt.not) {
			t.Errorf("%q does not mark %q, or does mark %q", tt.words, tt.hit, tt.not)
		}
	}
	briefs := newHome(t, note.Note{ID: "B", Resident: "R-900", Unit: "Mill", Time: h.config.Now(), Text: "Brief changed. Walked to BR x1."}).get("/resident?id=R-900&words=BR")
	want(t, briefs, http.StatusOK, `hit">BR</mark>`, "1 of 1 notes found")
	wantNone(t, briefs, `hit">Br</mark>ief`)

	// Nothing that is read is shown as if it were approved: what was found of a note stands beside it, with its answer.
	w := h.get("/resident?id=R-101")
	want(t, w, http.StatusOK, `<mark class="error">walked to BR with cane x1</mark>`, "Answer it on its shift", "Not answered yet.")
	id := firstFinding(t, h.get(harbourEvening).Body.String())
	h.post("/shift", "unit", "Harbour", "shift", "2026-11-12/evening", "finding", id, "as", "confirmed", "why", "Seen by the therapist", "by", "AB")
	want(t, h.get("/resident?id=R-101"), http.StatusOK, "Seen by the therapist")
	want(t, h.get("/resident?id=R-101&old=N0100&new=N0107"), http.StatusOK, "Seen by the therapist")

	w = h.get("/resident?id=R-101&old=N0107&new=N0246")
	want(t, w, http.StatusOK, "What changed between two notes", `<th scope="row">Walking aid</th><td>cane</td><td>two-wheeled walker</td>`,
		`<th scope="row">Helpers</th><td class="unsaid">not said</td><td>1 helper</td>`, "walks: 1 helper, with cane, to toilet")
	wantNone(t, w, "<del>", "<ins>") // they have too little in common to be read word by word
	want(t, h.get("/resident?id=R-101&old=N0107&new=N0107"), http.StatusOK, "the same, word for word")
	want(t, h.get("/resident?id=R-101&old=N0107&new=N0001"), http.StatusNotFound, "No such note") // of another resident
}

// Notes that are nearly copies are set against one another word by word; what is compared goes by what it is; and the
// marks of the drawing lead to their notes, also to those that are further back.
func TestResidentComparesAndLeads(t *testing.T) {
	at := func(day, hour int) time.Time { return time.Date(2026, 11, day, hour, 0, 0, 0, time.UTC) }
	notes := []note.Note{
		{ID: "C1", Resident: "R-900", Unit: "Mill", Time: at(1, 15), Role: lexicon.CareWorker, Text: "Pivot x2 with belt to chair, NWB left leg, ate well and slept."},
		{ID: "C2", Resident: "R-900", Unit: "Mill", Time: at(1, 21), Role: lexicon.CareWorker, Text: "Pivot x1 with belt to chair, NWB left leg, ate well and slept."},
		{ID: "C3", Resident: "R-900", Unit: "Mill", Time: at(4, 15), Role: lexicon.CareWorker, Text: "Found on floor at 1400, no injury, hoisted x2."},
		{ID: "C4", Resident: "R-900", Unit: "Mill", Time: at(4, 16), Role: lexicon.CareWorker, Text: "Resting."},
	}
	for i := range 40 {
		notes = append(notes, note.Note{ID: fmt.Sprintf("D%d", i), Resident: "R-900", Unit: "Mill", Time: at(5, 1).Add(time.Duration(i) * time.Hour), Text: "Ate well."})
	}
	h := newHome(t, notes...)
	page := h.get("/resident?id=R-900&before=D0")
	want(t, page, http.StatusOK, "Compare with the shift before (1 November, 10:00)", "Compare with the note before (1 November, 16:00)",
		"Compare with the last note of an earlier shift (1 November, 16:00)", `href="#note-3"`)
	want(t, h.get("/resident?id=R-900"), http.StatusOK, `href="/resident?before=C4&amp;id=R-900#note-3"`)
	want(t, h.get("/resident?before=C4&id=R-900"), http.StatusOK, `<li id="note-3">`)
	want(t, h.get("/resident?id=R-900&old=C1&new=C2"), http.StatusOK, `<th scope="row">Helpers</th><td>2 helpers</td><td>1 helper</td>`, "The same in both: ", "<del>", "<ins>")
}

func TestResidentPagesAndSpans(t *testing.T) {
	var many []note.Note
	first := time.Date(2026, 9, 1, 15, 0, 0, 0, time.UTC)
	for i := range 70 {
		many = append(many, note.Note{ID: "M" + string(rune('A'+i)), Resident: "R-900", Unit: "Mill", Time: first.AddDate(0, 0, i), Role: lexicon.Nurse, Text: "Walked with cane x1."})
	}
	h := newHome(t, many...)
	shown := 0
	for path := "/resident?id=R-900"; path != ""; {
		page := h.get(path).Body.String()
		shown += strings.Count(page, `<li id="note-`)
		_, after, ok := strings.Cut(page, `<p><a class="act" href="`)
		path = ""
		if ok {
			path, _, _ = strings.Cut(after, `"`)
			path, _, _ = strings.Cut(strings.ReplaceAll(path, "&amp;", "&"), "#")
		}
	}
	if shown != len(many) {
		t.Errorf("%d notes on all pages, want %d", shown, len(many))
	}
	want(t, h.get("/resident?id=R-900"), http.StatusOK, "The four weeks up to the last note.", "Draw all of it")
	want(t, h.get("/resident?id=R-900&span=all"), http.StatusOK, "All notes.", "Draw the last four weeks")
}

func TestAudit(t *testing.T) {
	h := newHome(t)
	want(t, h.get("/audit"), http.StatusOK, "441 notes on 24 residents", "Shifts of 9 November 2026 to 22 November 2026", "Over time", "Units side by side", "<svg",
		" opportunities: ", " per 100, 95 % interval ", "From 0 to 100")
	w := h.get("/audit?table=unit&scope=load-over-limit")
	want(t, w, http.StatusOK, "Harbour", "Counted per:")
	w = h.get("/audit/notes?table=unit&value=Harbour&scope=load-over-limit")
	want(t, w, http.StatusOK, `<mark class="error">walked to BR with cane x1</mark>`, `href="/resident?id=R-101"`, "Shown: 1 to 1")
	want(t, h.get("/audit/notes?table=unit&value=Mill&scope=load-over-limit"), http.StatusOK, "No findings.")

	// Each table, added up over its values, has the same findings behind it.
	for table, values := range map[string][]string{
		"unit": {"Harbour", "Mill", "Orchard"}, "shift": {"day", "evening", "night"}, "week": {"2026-W46", "2026-W47"},
	} {
		sum := 0
		for _, v := range values {
			sum += total(t, h, "/audit/notes?table="+table+"&value="+v)
		}
		if all := total(t, h, "/audit/notes"); sum != all {
			t.Errorf("by %s there are %d findings, want %d", table, sum, all)
		}
	}
	for _, path := range []string{"/audit?table=nothing", "/audit?scope=nothing", "/audit?by=day", "/audit/notes?table=nothing"} {
		want(t, h.get(path), http.StatusNotFound, "No such figure")
	}
	w = h.get("/audit/report?by=month")
	want(t, w, http.StatusOK, "Audit of mobility notes")
	if got, want := w.Header().Get("Content-Disposition"), `attachment; filename="audit-2026-11-22.html"`; got != want {
		t.Errorf("Content-Disposition %q, want %q", got, want)
	}
	h.session.Roles = []guard.Role{guard.Audit} // who may not follow residents gets no link to them
	wantNone(t, h.get("/audit/notes"), "/resident")
}

// rowsOf are the labels of the rows of the table of rates, from the top.
func rowsOf(t *testing.T, w *httptest.ResponseRecorder) []string {
	t.Helper()
	_, table, ok := strings.Cut(w.Body.String(), `<table class="rates">`)
	if !ok {
		t.Fatal("no table of rates")
	}
	table, _, _ = strings.Cut(table, "</table>")
	var out []string
	for _, m := range regexp.MustCompile(`(?s)<th scope="row">(.*?)</th>`).FindAllStringSubmatch(table, -1) {
		label := regexp.MustCompile(`<span class="(?:shape|hide)[^>]*>[^<]*</span>`).ReplaceAllString(m[1], "")
		out = append(out, strings.TrimSpace(label))
	}
	return out
}

// The audit begins with what stands out, shows what was found with the worst first, and folds the rest; its rows can be put
// in another order.
func TestAuditOrder(t *testing.T) {
	h := newHome(t)
	w := h.get("/audit")
	want(t, w, http.StatusOK, `<p class="headline">Findings are 4.7 times as frequent in notes of the evening shift as in notes of the day shift: 1.6 per 100`,
		"25 rules with no finding", "read them</span></a> of 3</td>", ">too few<", `<span class="range">0.2 to 6.7</span>`)
	if strings.Contains(w.Body.String(), "100.0 <span") {
		t.Error("one of one is written as 100.0")
	}
	grade := map[string]int{"error": 2, "warning": 1, "hint": 0}
	last := 3
	body, _, _ := strings.Cut(w.Body.String(), "rules with no finding")
	for _, m := range regexp.MustCompile(`</span> [^<]*<span class="hide">, (error|warning|hint)</span></th>`).FindAllStringSubmatch(body, -1) {
		if grade[m[1]] > last {
			t.Fatalf("a rule of grade %s stands below a lesser one", m[1])
		}
		last = grade[m[1]]
	}
	if last != 0 {
		t.Error("no hint among the rules with findings")
	}
	if got := rowsOf(t, w)[0]; got != "All rules" {
		t.Errorf("the first row is %q", got)
	}
	want(t, h.get("/audit?sort=name"), http.StatusOK, `aria-sort="ascending"`, "Put the worst first", "Between shifts")
	for sort, first := range map[string]string{"findings": "evening", "rate": "evening", "name": "day", "": "day"} {
		if got := rowsOf(t, h.get("/audit?table=shift&sort="+sort)); got[0] != first || len(got) != 3 {
			t.Errorf("by %q the rows are %q, want %s first", sort, got, first)
		}
	}
	for _, path := range []string{"/audit?table=shift&sort=harm", "/audit?sort=luck"} {
		want(t, h.get(path), http.StatusNotFound, "No such figure")
	}
}

// What counts can be narrowed down to a unit and to days, and all that the page leads to stays within them.
func TestAuditFilters(t *testing.T) {
	h := newHome(t)
	all := total(t, h, "/audit/notes")
	early, late := total(t, h, "/audit/notes?until_day=2026-11-15"), total(t, h, "/audit/notes?from_day=2026-11-16")
	if early == 0 || late == 0 || early+late != all {
		t.Errorf("%d findings up to the 15th and %d after it, want %d together", early, late, all)
	}
	sum := 0
	for _, unit := range []string{"Harbour", "Mill", "Orchard"} {
		sum += total(t, h, "/audit/notes?unit="+unit)
	}
	if sum != all {
		t.Errorf("the units have %d findings, want %d", sum, all)
	}
	w := h.get("/audit?table=shift&unit=Mill&from_day=2026-11-16&until_day=2026-11-20")
	want(t, w, http.StatusOK, "Shifts of 16 November 2026 to 20 November 2026", `value="2026-11-16"`, "Count all notes",
		"/audit/notes?by=week&amp;from_day=2026-11-16&amp;of=all&#43;rules&amp;scope=all&#43;rules&amp;table=shift&amp;unit=Mill&amp;until_day=2026-11-20&amp;value=")
	wantNone(t, w, ">Harbour</th>")
	if a, b := h.get("/audit?from_day=2026-11-20&until_day=2026-11-16"), h.get("/audit?from_day=2026-11-16&until_day=2026-11-20"); a.Body.String() != b.Body.String() {
		t.Error("days the wrong way round are not turned")
	}
	want(t, h.get("/audit?from_day=2027-01-01"), http.StatusOK, "There are no notes of that unit and those days.")
	want(t, h.get("/audit?from_day=yesterday"), http.StatusBadRequest, "That is no day")
	want(t, h.get("/audit?unit=Nowhere"), http.StatusNotFound, "No such unit")
	want(t, h.get("/audit/report?from_day=2026-11-16"), http.StatusOK, "Shifts of 16 November 2026 to 22 November 2026")
	h.session = guard.Session{User: "u", Roles: guard.Roles(), Units: []string{"Mill"}}
	want(t, h.get("/audit?unit=Harbour"), http.StatusNotFound, "No such unit")
}

// Findings behind a figure come in the order of harm and can be answered there; the answers are counted, and what share of
// them held is told with its interval.
func TestAuditAnswers(t *testing.T) {
	h := newHome(t)
	want(t, h.get("/audit"), http.StatusOK, "None of 33 findings is answered yet.")
	w := h.get("/audit/notes")
	want(t, w, http.StatusOK, "33 findings in", "the worst first. Shown: 1 to 25")
	grades := regexp.MustCompile(`<article class="finding (error|warning|hint)"`).FindAllStringSubmatch(w.Body.String()+h.get("/audit/notes?from=26").Body.String(), -1)
	order := ""
	for _, m := range grades {
		order += m[1][:1]
	}
	if !regexp.MustCompile(`^e+w+h+$`).MatchString(order) || len(order) != 33 {
		t.Errorf("the grades of the findings are %s, want errors before warnings before hints", order)
	}
	forms := regexp.MustCompile(`(?s)<form method="post" action="/shift">.*?</form>`).FindAllString(w.Body.String(), -1)
	if len(forms) < 6 {
		t.Fatalf("%d forms to answer, want one for each finding on a note", len(forms))
	}
	answer := func(form, as string) *httptest.ResponseRecorder {
		t.Helper()
		pairs := []string{"as", as, "why", "Looked at", "by", "AB"}
		for _, m := range regexp.MustCompile(`type="hidden" name="([a-z]+)" value="([^"]*)"`).FindAllStringSubmatch(form, -1) {
			pairs = append(pairs, m[1], html.UnescapeString(m[2]))
		}
		return h.post("/shift", pairs...)
	}
	done := answer(forms[0], "confirmed")
	want(t, done, http.StatusSeeOther)
	back := done.Header().Get("Location")
	if !strings.HasPrefix(back, "/audit/notes?") || !strings.HasSuffix(back, "#said") {
		t.Fatalf("an answer leads to %q", back)
	}
	want(t, h.get(strings.TrimSuffix(back, "#said")), http.StatusOK, "Answered as confirmed.", "<strong>Confirmed</strong> by AB", "Change the answer", `value="AB"`)
	answer(forms[1], "mistaken")
	answer(forms[2], "looking")
	want(t, h.get("/audit"), http.StatusOK, "Of 33 findings 31 are open, 1 confirmed or put right and 1 mistaken.", "Of those answered, 1 of 2 held: too few for a rate.")
	for _, form := range forms[2:5] {
		answer(form, "amended")
	}
	// Wilson's interval of 4 of 5 at 95 %, by hand: (0.8+0.3842±1.96√(0.032+0.0384))/1.7683.
	want(t, h.get("/audit"), http.StatusOK, "Of 33 findings 28 are open, 4 confirmed or put right and 1 mistaken.", "Of 100 answered, 80.0 held (95 % interval 37.6 to 96.4, by Wilson&#39;s score method).")

	// An answer leads nowhere else, whatever the form says.
	for _, bad := range []string{"https://example.org/audit/notes", "//example.org/audit/notes", "/note", "javascript:alert(1)"} {
		form := regexp.MustCompile(`name="back" value="[^"]*"`).ReplaceAllString(forms[0], `name="back" value="`+bad+`"`)
		if to := answer(form, "confirmed").Header().Get("Location"); !strings.HasPrefix(to, "/shift?") {
			t.Errorf("with %q an answer leads to %q", bad, to)
		}
	}
	h.session.Roles = []guard.Role{guard.Audit} // who may not go through shifts may not answer
	wantNone(t, h.get("/audit/notes"), `action="/shift"`)
}

// What notes tell of stands on the audit in plain words: all of it, and by what the rows are about. What was
// not told is one line.
func TestAuditTold(t *testing.T) {
	h := newHome(t, note.Note{
		ID: "E1", Resident: "R-101", Unit: "Harbour", Time: time.Date(2026, 11, 20, 15, 0, 0, 0, time.UTC), Role: lexicon.CareWorker,
		Text: "Wet floor beside the bed, mopped. Felt my back go, told the nurse.",
	})
	whole := []string{"What notes tell of", `<th scope="row">the cause told</th><td class="number">2</td>`,
		`<th scope="row">a wet, slippery or uneven floor</th><td class="number">1</td><td class="number">1</td>`,
		`<th scope="row">notes in which staff were hurt or strained</th><td class="number">1</td>`,
		"None told: posted signs held against the chart."}
	w := h.get("/audit")
	want(t, w, http.StatusOK, whole...)
	wantNone(t, w, "things in the way", "By unit as well")
	w = h.get("/audit?table=unit")
	want(t, w, http.StatusOK, append(whole, "By unit as well", `<th scope="rowgroup" colspan="3">Harbour</th>`)...)
	w = h.get("/audit?table=resident")
	want(t, w, http.StatusOK, whole...)
	wantNone(t, w, "By resident as well")
	want(t, h.get("/audit/report"), http.StatusOK, "What notes tell of", "notes in which staff were hurt or strained")
}

// total is the number of findings that the page says there are.
func total(t *testing.T, h *home, path string) int {
	t.Helper()
	page := h.get(path).Body.String()
	_, after, _ := strings.Cut(page, `<p role="status">`)
	n := 0
	for _, r := range after {
		if r < '0' || r > '9' {
			break
		}
		n = 10*n + int(r-'0')
	}
	return n
}

func TestRolesAndUnits(t *testing.T) {
	h := newHome(t)
	all := []string{"/note", "/shift", "/resident", "/audit", "/audit/notes", "/audit/report", "/learn", "/learn/all", "/learn/aids"}
	for role, may := range map[guard.Role][]string{
		guard.Write: {"/note"}, guard.Review: {"/shift", "/resident"}, guard.Audit: {"/audit", "/audit/notes", "/audit/report"},
	} {
		h.session = guard.Session{User: "u", Roles: []guard.Role{role}, Units: []string{guard.AllUnits}}
		for _, path := range all {
			status := http.StatusForbidden
			if slices.Contains(may, path) || strings.HasPrefix(path, "/learn") { // lessons are for everybody
				status = http.StatusOK
			}
			if got := h.get(path).Code; got != status {
				t.Errorf("%s at %s: status %d, want %d", role, path, got, status)
			}
		}
		w := h.get("/")
		if got := w.Header().Get("Location"); w.Code != http.StatusSeeOther || got != may[0] {
			t.Errorf("%s is led to %q, want %q", role, got, may[0])
		}
	}
	h.session.Roles = nil
	want(t, h.get("/"), http.StatusForbidden)
	want(t, h.get("/learn"), http.StatusForbidden)

	h.session = guard.Session{User: "u", Roles: guard.Roles(), Units: []string{"Mill"}}
	h.seen = nil
	want(t, h.get("/resident?id=R-301"), http.StatusOK)
	unknown := h.get("/resident?id=R-000").Body.String()
	if hidden := h.get("/resident?id=R-101").Body.String(); hidden != unknown {
		t.Error("a resident of another unit is told from one who is not there")
	}
	for _, path := range []string{"/note", "/resident", "/shift", "/shift?unit=Mill", "/audit?table=resident", "/audit?table=unit", "/audit/notes", "/audit/report"} {
		wantNone(t, h.get(path), "Harbour", "Orchard", `R-101<`, `R-201<`)
	}
	want(t, h.get(harbourEvening), http.StatusNotFound)
	want(t, h.post("/check.json", "resident", "R-101", "text", "NWB left leg"), http.StatusOK, "No notes and no chart for this resident")
	for _, id := range h.seen {
		if !strings.HasPrefix(id, "R-3") {
			t.Errorf("seen %s, who lives in another unit", id)
		}
	}
}

func TestNothingIsRun(t *testing.T) {
	const script = `<script>alert(1)</script>"'><img src=x onerror=alert(1)>`
	bad := note.Note{
		ID: script, Resident: script, Unit: script, Time: time.Date(2026, 11, 23, 20, 0, 0, 0, time.UTC), Role: lexicon.CareWorker,
		Author: script, Text: script + " Found on floor, lifted x1 by hand. " + script + " Walked with cane.",
		Source: note.Source{File: script},
	}
	again := bad
	again.ID, again.Time = script+"2", bad.Time.Add(-24*time.Hour)
	h := newHome(t, bad, again)
	id := strings.NewReplacer("<", "%3C", ">", "%3E", `"`, "%22", "'", "%27", " ", "+", "=", "%3D", "/", "%2F", "(", "%28", ")", "%29").Replace(script)
	for _, path := range []string{"/note?resident=" + id, "/shift", "/shift?unit=" + id, "/shift?by=" + id, "/resident", "/resident?id=" + id,
		"/resident?id=" + id + "&words=" + id, "/resident?id=" + id + "&old=" + id + "&new=" + id + "2", "/audit?table=unit", "/audit?table=resident",
		"/audit/notes?table=unit&value=" + id, "/audit/report", "/learn/" + id, "/" + id} {
		w := h.get(path)
		wantNone(t, w, "<script>alert", "<img src=x")
		if w.Code == http.StatusInternalServerError {
			t.Errorf("%s: status %d", path, w.Code)
		}
	}
	for _, path := range []string{"/note", "/check.json"} {
		w := h.post(path, "resident", script, "role", script, "text", bad.Text, "use", script)
		want(t, w, http.StatusOK)
		wantNone(t, w, "<script>alert", "<img src=x")
	}
}

func TestAssets(t *testing.T) {
	h := newHome(t)
	for path, kind := range map[string]string{
		"/static/page.css": "text/css; charset=utf-8", "/static/page.js": "text/javascript; charset=utf-8",
		"/static/icon.svg": "image/svg+xml", "/static/course.css": "text/css; charset=utf-8",
	} {
		w := h.get(path)
		want(t, w, http.StatusOK)
		if got := w.Header().Get("Content-Type"); got != kind {
			t.Errorf("%s: %s, want %s", path, got, kind)
		}
		// Nothing in the pages leads out; the name of the SVG namespace is none that is loaded.
		for _, out := range []string{"http:", "https:", "//cdn", "@import", "url("} {
			if body := strings.ReplaceAll(w.Body.String(), "http://www.w3.org/2000/svg", ""); strings.Contains(body, out) {
				t.Errorf("%s has %q", path, out)
			}
		}
	}
	for _, path := range []string{"/static/", "/static/../pages.go", "/static/%2e%2e/pages.go", "/static/..%2f..%2fgo.mod", "/static/page.css/", "/static//etc/passwd", "/static"} {
		if w := h.get(path); w.Code == http.StatusOK {
			t.Errorf("%s: status %d with %d bytes", path, w.Code, w.Body.Len())
		}
	}
}

// TestStrictPolicy holds that no page needs what its content security policy forbids.
func TestStrictPolicy(t *testing.T) {
	h := newHome(t)
	for _, path := range []string{"/note?resident=R-101", harbourEvening, "/resident?id=R-101", "/audit", "/audit?table=unit", "/audit/notes", "/learn", "/learn/all"} {
		w := h.get(path)
		w.Body = bytes.NewBufferString(strings.ReplaceAll(w.Body.String(), "http://www.w3.org/2000/svg", ""))
		wantNone(t, w, " style=", "<style", " onclick", "javascript:", "<script>", "http:", "https:")
	}
}
