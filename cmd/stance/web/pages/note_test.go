package pages_test

import (
	"encoding/json"
	"fmt"
	"net/http"
	"net/http/httptest"
	"net/url"
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

func TestNoteWithoutScript(t *testing.T) {
	h := newHome(t)
	want(t, h.get("/note"), http.StatusOK, "Choose a resident to see what is charted", `<option value="R-101">`, `action="/note#summary"`, "decide how a resident is moved")
	want(t, h.get("/note?resident=R-101"), http.StatusOK, "toe touch only", "pivot with one helper", `<option value="R-101" selected>`)

	const text = "Lifted to chair x1, pivot with belt, took steps.\r\nWalked to bathroom with cane."
	w := h.post("/note", "resident", "R-101", "role", "care worker", "text", text)
	want(t, w, http.StatusOK, "things to look at: 1 error", `<mark class="error">Walked to bathroom with cane</mark>`, "Use these words", "evening shift of Monday 23 November 2026")

	_, after, _ := strings.Cut(w.Body.String(), `name="use" value="`)
	id, _, _ := strings.Cut(after, `"`)
	w = h.post("/note", "resident", "R-101", "role", "care worker", "text", text, "use", id)
	want(t, w, http.StatusOK, ">Transferred to chair x1, pivot with belt, took steps.\nWalked")
	if !slices.Contains(h.seen, "R-101") {
		t.Errorf("seen %q, want R-101", h.seen)
	}
}

func TestNoteIsHeldAgainstKeptNotes(t *testing.T) {
	at := time.Date(2026, 11, 23, 14, 0, 0, 0, time.UTC).Add(5 * time.Hour) // 14:00 in the home's zone
	day := note.Note{ID: "day", Resident: "R-900", Unit: "Mill", Time: at, Role: lexicon.CareWorker, Text: "Transferred bed to chair with total lift x2."}
	h := newHome(t, day)
	form := []string{"resident", "R-900", "role", "care worker", "text", "Transferred bed to chair by self, independent.", "time", "2026-11-23T20:00"}
	want(t, h.post("/check.json", form...), http.StatusOK, "nothing between them tells of a change", "The note of 23 November 2026, 14:00 says")

	// A note copied from that of another resident is told, but not whose it is to one who may not see that resident.
	long := "Slept well until six, then up to the chair with the sit-stand lift and two helpers, washed and dressed, ate all of breakfast and went to the music hour."
	other := note.Note{ID: "copied", Resident: "R-901", Unit: "Harbour", Time: at.Add(6 * time.Hour), Role: lexicon.CareWorker, Text: long}
	h = newHome(t, day, other)
	form = []string{"resident", "R-900", "role", "care worker", "text", long, "time", "2026-11-23T21:00"}
	want(t, h.post("/check.json", form...), http.StatusOK, "R-901")
	h.session = guard.Session{Roles: []guard.Role{guard.Write}, Units: []string{"Mill"}}
	wantNone(t, h.post("/check.json", form...), "R-901", "copied")
}

func TestCheckLive(t *testing.T) {
	h := newHome(t)
	var got struct {
		Status, Result, Summary string
		Left                    int64
	}
	check := func(pairs ...string) {
		t.Helper()
		w := h.post("/check.json", pairs...)
		want(t, w, http.StatusOK)
		if err := json.Unmarshal(w.Body.Bytes(), &got); err != nil {
			t.Fatal(err)
		}
	}
	check("resident", "R-101", "role", "care worker", "text", " ")
	if got.Result != "" || got.Summary != "" || !strings.Contains(got.Status, "toe touch only") {
		t.Errorf("for no text: %+v", got)
	}
	if want := (80 * time.Minute).Milliseconds(); got.Left != want { // from 21:40 to 23:00
		t.Errorf("left %d, want %d", got.Left, want)
	}
	check("resident", "R-101", "role", "care worker", "text", "Ate lunch.")
	if got.Summary != "Nothing about moving understood yet." {
		t.Errorf("summary %q", got.Summary)
	}
	// Places are counted as a browser counts: the bird takes two units, the letter one.
	check("resident", "R-101", "role", "care worker", "text", "🐦é Lifted to chair x1, pivot with belt, took steps.")
	if !strings.Contains(got.Result, `data-start="4" data-end="10" data-old="Lifted" data-new="Transferred"`) {
		t.Errorf("result %s", got.Result)
	}
	// Sentences that tell of no move stand together; many findings are listed above them, the worst first.
	check("resident", "R-101", "role", "care worker", "text", "Ate lunch. Slept well. Walked to bathroom with walker. Read a book.")
	if n := strings.Count(got.Result, `<div class="line">`); n != 3 {
		t.Errorf("%d lines, want 3: %s", n, got.Result)
	}
	check("resident", "R-101", "role", "care worker", "text", "Dizzy on standing. Walked to bathroom with cane.")
	_, list, _ := strings.Cut(got.Result, "What to look at, the worst first")
	if list, _, _ = strings.Cut(list, "</section>"); !strings.Contains(list, `id="finding-1"`) || !strings.Contains(list, "1. Error:") || strings.Index(list, "Error:") > strings.Index(list, "Warning:") {
		t.Errorf("listed above the note: %s", list)
	}
	check("other", "R-101", "text", "NWB.")
	if !strings.Contains(got.Status, "toe touch only") {
		t.Errorf("the resident typed by hand is not taken: %s", got.Status)
	}
}

// A number, a room or a name may be typed loosely, but what fits several residents means none.
func TestWhom(t *testing.T) {
	h := namedHome(t)
	at := time.Date(2026, 11, 23, 12, 0, 0, 0, time.UTC)
	for _, id := range []string{"R-0412", "7", "R-0101"} {
		h.config.Records.Source = append(h.config.Records.Source.(records.Fixed), note.Note{ID: id, Resident: id, Unit: "Mill", Time: at, Role: lexicon.Nurse, Text: "Slept."})
	}
	h.reload(t)
	for typed, want := range map[string]string{
		"R-102": "R-102", " r 102 ": "R-102", "r102": "R-102", "102": "R-102", "412": "R-0412", "0412": "R-0412", "r412": "R-0412",
		"room 3": "R-103", "3": "R-103", "Ash": "R-101", "fern ash": "R-101", "ASH FERN": "R-101", "a": "", "ash f ern": "",
		"7": "", "101": "", "fern": "", "02": "", "999": "", "r": "", "-": "", "R-10": "",
	} {
		var got struct{ Resident, Called, Status string }
		if err := json.Unmarshal(h.post("/check.json", "resident", "R-303", "other", typed, "text", "NWB.").Body.Bytes(), &got); err != nil {
			t.Fatal(err)
		}
		if got.Resident != want {
			t.Errorf("%q means %q, want %q", typed, got.Resident, want)
		}
		if want == "" && strings.Contains(got.Status, `class="chart"`) {
			t.Errorf("%q: a chart is shown: %s", typed, got.Status)
		}
	}
	// Of several each can be chosen. They are those whom the session may see.
	want(t, h.post("/check.json", "other", "101"), http.StatusOK, "2 residents fit what you typed", `data-pick=\"R-101\"`, `data-pick=\"R-0101\"`)
	want(t, h.post("/note", "other", "fern", "text", "NWB."), http.StatusOK, "24 residents fit", `value="fern"`, "choose the resident")
	want(t, h.post("/note/text", "other", "102", "text", "NWB."), http.StatusOK, "Resident: R-102\n")
	h.session.Units = []string{"Mill"}
	want(t, h.post("/check.json", "other", "101"), http.StatusOK, `"resident":"R-0101"`)
	wantNone(t, h.post("/check.json", "other", "ash"), "R-101")
	h.session = everything()
	want(t, h.get("/shift?unit=Harbour&shift=2026-11-16/night"), http.StatusOK, `<strong>R-101</strong> <span class="quiet">room 1 · Ash Fern</span>`)
	want(t, h.get("/shift/handover?unit=Harbour&shift=2026-11-16/night"), http.StatusOK, "<strong>R-101</strong><br>room 1 · Ash Fern")
	for _, id := range h.seen {
		if strings.Contains(id, "Fern") {
			t.Errorf("the access log was told %q", id)
		}
	}
}

// What was written last is shown with what was found in it and what came of that, of the shift before the note's time.
func TestWrittenLast(t *testing.T) {
	h := newHome(t)
	get := func(pairs ...string) string {
		t.Helper()
		var got struct{ Before *string }
		if err := json.Unmarshal(h.post("/check.json", append(pairs, "before", "yes")...).Body.Bytes(), &got); err != nil {
			t.Fatal(err)
		}
		return *got.Before
	}
	got := get("resident", "R-101", "time", "2026-11-17T08:00")
	for _, words := range []string{"night shift of Monday 16 November 2026", "Tuesday 17 November, 05:30, care worker", "commode 0230", "Error: Fewer helpers than charted", "Not answered yet", "pivot"} {
		if !strings.Contains(got, words) {
			t.Errorf("no %q in %s", words, got)
		}
	}
	if got := get("resident", "R-101", "time", "2026-11-01T08:00"); !strings.Contains(got, "no earlier note") {
		t.Errorf("before all notes: %s", got)
	}
	h.session.Units = []string{"Mill"}
	if got := get("resident", "R-101"); !strings.Contains(got, "Choose a resident") {
		t.Errorf("of a resident who may not be seen: %s", got)
	}
	if w := h.post("/check.json", "resident", "R-303"); strings.Contains(w.Body.String(), `"before"`) {
		t.Errorf("not asked for: %s", w.Body)
	}
}

// What is missing in a sentence is not told before it ends, or before the writer leaves the field.
func TestHeldBack(t *testing.T) {
	h := newHome(t)
	const half = "Walked 5 m x1 with two-wheeled walker. Transferred bed to wheelchair with transfer belt"
	for _, tt := range []struct {
		name, text, ended, summary string
	}{
		{"half", half, "", "Nothing to flag so far."},
		{"with a blank", half + " ", "", "Nothing to flag so far."},
		{"with an end", half + ".", "", "1 thing to look at: 1 hint."},
		{"with a line end", half + "\n", "", "1 thing to look at: 1 hint."},
		{"goes on", half + ". Then", "", "1 thing to look at: 1 hint."},
		{"left", half, "yes", "1 thing to look at: 1 hint."},
		{"an error waits for nothing", "Walked with cane", "", "2 things to look at: 1 error, 1 warning."},
	} {
		var got struct{ Summary, State string }
		if err := json.Unmarshal(h.post("/check.json", "resident", "R-101", "text", tt.text, "ended", tt.ended).Body.Bytes(), &got); err != nil {
			t.Fatal(err)
		}
		if got.Summary != tt.summary || got.State == "clear" {
			t.Errorf("%s: %q, %s; want %q", tt.name, got.Summary, got.State, tt.summary)
		}
	}
}

// The page never says that there is nothing to flag where it cannot know.
func TestNoFalseAllClear(t *testing.T) {
	h := newHome(t, note.Note{ID: "uncharted", Resident: "R-900", Unit: "Mill", Time: time.Date(2026, 11, 23, 12, 0, 0, 0, time.UTC), Role: lexicon.Nurse, Text: "Slept."})
	const clean = "Transferred bed to wheelchair, pivot x1 with transfer belt."
	const overlooked = clean + " Quorvel x2 to the commode at 0900. Slept."
	for name, tt := range map[string]struct {
		pairs []string
		state string
		words string // the summary begins with them
	}{
		"all held":      {[]string{"resident", "R-101", "text", clean}, "clear", "Nothing to flag in these words."},
		"no resident":   {[]string{"text", clean}, "open", "Not held against any chart or earlier note: choose the resident."},
		"unknown":       {[]string{"resident", "R-000", "text", clean}, "open", "Not held against any chart or earlier note: this resident is not known here."},
		"no row":        {[]string{"resident", "R-900", "text", clean}, "open", "Held against earlier notes only: nothing is charted for this time."},
		"still to come": {[]string{"resident", "R-101", "text", clean, "time", "2027-11-23T20:15"}, "open", "The time of this note is still to come"},
		"in the shift":  {[]string{"resident", "R-101", "text", clean, "time", "2026-11-23T22:50"}, "clear", "Nothing to flag in these words."},
		"overlooked":    {[]string{"resident", "R-101", "text", overlooked}, "open", "Nothing to flag in what was understood. 1 sentence was not understood: read it again."},
		"only that":     {[]string{"resident", "R-101", "text", "Quorvel x2 to the commode.\nSlept."}, "open", "1 sentence was not understood"},
		"half typed":    {[]string{"resident", "R-101", "text", "Quorvel x2 to the commode"}, "open", "Nothing about moving understood yet."},
		"nothing moved": {[]string{"resident", "R-101", "text", "Slept well."}, "open", "Nothing about moving understood yet."},
	} {
		var got struct{ Summary, State, Result string }
		if err := json.Unmarshal(h.post("/check.json", tt.pairs...).Body.Bytes(), &got); err != nil {
			t.Fatal(err)
		}
		if got.State != tt.state || !strings.HasPrefix(got.Summary, tt.words) {
			t.Errorf("%s: %s, %q; want %s, %q", name, got.State, got.Summary, tt.state, tt.words)
		}
		if tt.state != "clear" && strings.Contains(got.Summary, "Nothing to flag in these words") {
			t.Errorf("%s: an all-clear: %q", name, got.Summary)
		}
		if name == "overlooked" && strings.Count(got.Result, "Not understood:") != 1 {
			t.Errorf("what was not understood is not marked: %s", got.Result)
		}
	}
	// Sent whole, the last sentence is as good as any.
	want(t, h.post("/note", "resident", "R-101", "text", "Quorvel x2 to the commode"), http.StatusOK, "1 sentence was not understood", "Not understood:")
	c := h.config
	h.config.Records.Chart = func() (*chart.Chart, error) { return nil, nil }
	h.reload(t)
	want(t, h.post("/note", "resident", "R-101", "text", clean), http.StatusOK, "Held against earlier notes only: no chart was given to stance.")
	h.config = c
}

func TestNoteIsRefused(t *testing.T) {
	h := newHome(t)
	for name, tt := range map[string]struct {
		pairs  []string
		status int
		words  string
	}{
		"too long":  {[]string{"text", strings.Repeat("a ", 10_001)}, http.StatusRequestEntityTooLarge, "may have 20000 characters"},
		"no text":   {[]string{"text", "\xff"}, http.StatusBadRequest, "cannot be read"},
		"no time":   {[]string{"time", "yesterday"}, http.StatusBadRequest, "Choose a date"},
		"not there": {[]string{"resident", "R-000", "text", "NWB."}, http.StatusOK, "No notes and no chart for this resident"},
	} {
		t.Run(name, func(t *testing.T) { want(t, h.post("/note", tt.pairs...), tt.status, tt.words) })
	}
	r := httptest.NewRequest(http.MethodPost, "/note", http.MaxBytesReader(nil, http.NoBody, 0))
	r.Body = http.MaxBytesReader(httptest.NewRecorder(), &endless{}, 1000)
	r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	w := httptest.NewRecorder()
	h.ServeHTTP(w, r)
	want(t, w, http.StatusRequestEntityTooLarge, "too long")
}

// endless is a body that never ends.
type endless struct{}

func (*endless) Read(b []byte) (int, error) {
	for i := range b {
		b[i] = 'a'
	}
	return len(b), nil
}
func (*endless) Close() error { return nil }

func TestNoteText(t *testing.T) {
	h := newHome(t)
	w := h.post("/note/text", "resident", "R-101\r\nRole: doctor", "role", "nurse", "text", "Walked.\r\nSlept.", "time", "2026-11-23T20:15")
	want(t, w, http.StatusOK)
	const text = "Resident: R-101  Role: doctor\nTime: 2026-11-23T20:15:00-05:00\nRole: nurse\n\nWalked.\nSlept.\n"
	if got := w.Body.String(); got != text {
		t.Errorf("got %q, want %q", got, text)
	}
	if got, want := w.Header().Get("Content-Disposition"), `attachment; filename="note-2026-11-23-2015.txt"`; got != want {
		t.Errorf("Content-Disposition %q, want %q", got, want)
	}
	// What is given back can be read again.
	r, err := note.NewReader("note.txt", strings.NewReader(text), note.Options{})
	if err != nil {
		t.Fatal(err)
	}
	n, err := r.Next()
	if err != nil || n.Text != "Walked.\nSlept." || n.Role != lexicon.Nurse {
		t.Errorf("read again: %+v, %v", n, err)
	}
}

// BenchmarkCheckLive is one keystroke in a note of 2,000 characters about a resident with two weeks of
// notes, in the demo home and in one where 120 others have a note on the same shift.
func BenchmarkCheckLive(b *testing.B) {
	for name, others := range map[string]int{"demo": 0, "120 others": 120} {
		b.Run(name, func(b *testing.B) {
			h := newHome(b)
			notes := demoNotes(b, h.config.Records.Policy)
			var text strings.Builder
			for _, n := range notes {
				if n.Resident == "R-101" && text.Len() < 2000 {
					text.WriteString(n.Text + "\n")
				}
			}
			for i := range others {
				n := notes[i]
				n.ID, n.Resident, n.Time, n.Shift = fmt.Sprintf("other-%d", i), fmt.Sprintf("O-%d", i), h.config.Now().Add(-time.Hour), ""
				notes = append(notes, n)
			}
			h.config.Records.Source = notes
			h.reload(b)
			body := url.Values{"resident": {"R-101"}, "role": {"care worker"}, "text": {text.String()[:2000]}}.Encode()
			for b.Loop() {
				r := httptest.NewRequest(http.MethodPost, "/check.json", strings.NewReader(body))
				r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
				w := httptest.NewRecorder()
				h.ServeHTTP(w, r)
				if w.Code != http.StatusOK {
					b.Fatal(w.Code)
				}
			}
		})
	}
}
