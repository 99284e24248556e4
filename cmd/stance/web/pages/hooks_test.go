package pages_test

import (
	"encoding/base64"
	"encoding/json"
	"fmt"
	"net/http"
	"net/http/httptest"
	"os"
	"slices"
	"strings"
	"testing"
	"time"
	"unicode/utf8"

	"github.com/santhosh-tekuri/jsonschema/v6"

	"example.com/stance/cmd/stance/web/guard"
	"example.com/stance/lexicon"
	"example.com/stance/lint/answers"
	"example.com/stance/lint/finding"
	"example.com/stance/lint/note"
	"example.com/stance/lint/report"
	"example.com/stance/lint/rules"
)

const (
	notePath     = "/cds-services/stance-note"
	residentPath = "/cds-services/stance-resident"
)

// newHooks is a home that a program may ask for all residents.
func newHooks(t testing.TB, more ...note.Note) *home {
	t.Helper()
	h := newHome(t, more...)
	h.session = guard.Session{User: "https://records.example.org", Roles: []guard.Role{guard.Call}, Units: []string{guard.AllUnits}}
	h.config.Hooks = true
	h.reload(t)
	return h
}

func (h *home) postJSON(path, body string) *httptest.ResponseRecorder {
	w := httptest.NewRecorder()
	r := httptest.NewRequest(http.MethodPost, path, strings.NewReader(body))
	r.Header.Set("Content-Type", "application/json")
	h.ServeHTTP(w, r)
	return w
}

// An object is one of JSON.
type object = map[string]any

// hookCall is a call on a resident, changed.
func hookCall(hook, patient string, change func(call, context object)) string {
	context := object{"userId": "Practitioner/a17", "patientId": patient}
	c := object{"hook": hook, "hookInstance": "d1577c69-dfbe-44ad-ba6d-3e05e953b2ea", "context": context}
	if change != nil {
		change(c, context)
	}
	b, err := json.Marshal(c)
	if err != nil {
		panic(err)
	}
	return string(b)
}

func viewCall(patient string, change func(call, context object)) string {
	return hookCall("patient-view", patient, change)
}

// noteCall is a call on a note with that text.
func noteCall(patient, text string, change func(call, context, doc object)) string {
	return hookCall("com.example.stance.note-sign", patient, func(c, context object) {
		doc := reference(patient, text)
		context["note"] = doc
		if change != nil {
			change(c, context, doc)
		}
	})
}

func reference(patient, text string) object {
	return object{
		"resourceType": "DocumentReference", "id": "n7", "status": "current", "subject": object{"reference": "Patient/" + patient},
		"date":    "2026-11-23T21:30:00-05:00",
		"content": []any{object{"attachment": object{"contentType": "text/plain", "data": base64.StdEncoding.EncodeToString([]byte(text))}}},
	}
}

type gotCard struct {
	Summary, Indicator, Detail string
	Source                     struct {
		Label string
		Topic struct{ System, Code, Display string }
	}
	Suggestions []struct {
		Label   string
		Actions []struct {
			Type     string
			Resource json.RawMessage
		}
	}
}

// schemaOf is a JSON schema of testdata; its README says where each is from.
func schemaOf(t *testing.T, file string) *jsonschema.Schema {
	t.Helper()
	f, err := os.Open("testdata/" + file)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	doc, err := jsonschema.UnmarshalJSON(f)
	if err != nil {
		t.Fatal(err)
	}
	c := jsonschema.NewCompiler()
	c.AssertFormat()
	if err := c.AddResource(file, doc); err != nil {
		t.Fatal(err)
	}
	s, err := c.Compile(file)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

func validate(t *testing.T, s *jsonschema.Schema, text string) {
	t.Helper()
	doc, err := jsonschema.UnmarshalJSON(strings.NewReader(text))
	if err == nil {
		err = s.Validate(doc)
	}
	if err != nil {
		t.Errorf("%s: %v", text, err)
	}
}

// cardsOf are those of an answer, which is as the standard has it.
func cardsOf(t *testing.T, w *httptest.ResponseRecorder) []gotCard {
	t.Helper()
	if w.Code != http.StatusOK || w.Header().Get("Content-Type") != "application/json" {
		t.Fatalf("status %d, %s: %s", w.Code, w.Header().Get("Content-Type"), w.Body)
	}
	validate(t, schemaOf(t, "cds-hooks-2.0.schema.json"), w.Body.String())
	var got struct{ Cards []gotCard }
	if err := json.Unmarshal(w.Body.Bytes(), &got); err != nil {
		t.Fatal(err)
	}
	for _, c := range got.Cards {
		if !strings.Contains(strings.ReplaceAll(c.Detail, "\\", ""), report.Caution) {
			t.Errorf("no caution in %s", c.Detail)
		}
	}
	return got.Cards
}

func summaries(cards []gotCard) string {
	var all []string
	for _, c := range cards {
		all = append(all, c.Indicator+" "+c.Summary)
	}
	return strings.Join(all, "; ")
}

func TestHooksSchema(t *testing.T) {
	s := schemaOf(t, "cds-hooks-2.0.schema.json")
	for _, bad := range []string{
		`{}`, `{"cards":null}`, `{"cards":[{"summary":"x","indicator":"hard-stop","source":{"label":"x"}}]}`,
		`{"cards":[{"summary":"x","indicator":"info","source":{}}]}`, `{"cards":[{"summary":"","indicator":"info","source":{"label":"x"}}]}`,
		`{"cards":[{"summary":"` + strings.Repeat("x", 140) + `","indicator":"info","source":{"label":"x"}}]}`,
		`{"cards":[{"summary":"x","indicator":"info","source":{"label":"x"},"suggestions":[{"label":"x"}]}]}`,
		`{"cards":[{"summary":"x","indicator":"info","source":{"label":"x"},"selectionBehavior":"any","suggestions":[{"label":"x","actions":[{"type":"update","description":"x","resource":{"resourceType":"Patient"}}]}]}]}`,
		`{"services":[{"id":"x","description":"x","hook":"Patient View"}]}`,
	} {
		doc, err := jsonschema.UnmarshalJSON(strings.NewReader(bad))
		if err != nil {
			t.Fatal(err)
		}
		if s.Validate(doc) == nil {
			t.Errorf("the schema lets %s pass", bad)
		}
	}
	all, err := rules.All()
	if err != nil {
		t.Fatal(err)
	}
	for _, r := range all {
		if utf8.RuneCountInString(r.Doc.Title) >= 140 {
			t.Errorf("the title of %s is cut in a summary", r.ID)
		}
	}
}

func TestHooksDiscovery(t *testing.T) {
	h := newHooks(t)
	w := h.get("/cds-services")
	want(t, w, http.StatusOK, `"id":"stance-note"`, `"hook":"patient-view"`, `Patient/{{context.patientId}}`)
	validate(t, schemaOf(t, "cds-hooks-2.0.schema.json"), w.Body.String())
	want(t, h.get("/cds-services/stance-none"), http.StatusNotFound, "no such service")
	want(t, h.postJSON("/cds-services/stance-note/feedback", "{}"), http.StatusNotFound, "no such service")
	want(t, h.get(notePath), http.StatusNotFound, "no such service")

	// Neither people nor anybody else comes here, and callers come nowhere else.
	for _, path := range []string{"/", "/note", "/shift", "/resident?id=R-101", "/audit", "/learn"} {
		if w := h.get(path); w.Code != http.StatusForbidden {
			t.Errorf("%s: status %d to a caller", path, w.Code)
		}
	}
	h.session = everything()
	want(t, h.get("/cds-services"), http.StatusNotFound)
	want(t, h.postJSON(residentPath, viewCall("R-101", nil)), http.StatusNotFound)
	h.session.Roles = append(h.session.Roles, guard.Call)
	h.config.Hooks = false
	h.reload(t)
	want(t, h.get("/cds-services"), http.StatusNotFound)
}

func TestHooksNote(t *testing.T) {
	h := newHooks(t)
	const text = "Lifted to chair x1, pivot with belt, took steps. Walked to bathroom with cane."
	w := h.postJSON(notePath, noteCall("R-101", text, nil))
	cards := cardsOf(t, w)
	if len(cards) < 2 || cards[0].Indicator != "critical" || !slices.Contains(h.seen, "R-101") {
		t.Fatalf("cards %s, seen %v", summaries(cards), h.seen)
	}
	first := cards[0]
	if first.Source.Label != "stance, rule load-over-limit" || first.Source.Topic.Code != "load-over-limit" || first.Source.Topic.Display != first.Summary {
		t.Errorf("source %+v", first.Source)
	}
	for _, in := range []string{"This note says: ", "«Walked to bathroom with cane»", "**Problem:** ", "**Chart:** ", "**Do:** "} {
		if !strings.Contains(first.Detail, in) {
			t.Errorf("want %s in %s", in, first.Detail)
		}
	}
	i := slices.IndexFunc(cards, func(c gotCard) bool { return len(c.Suggestions) > 0 })
	if i < 0 {
		t.Fatalf("nothing is suggested: %s", summaries(cards))
	}
	s := cards[i].Suggestions[0]
	if s.Label != "Write “Transferred” in place of “Lifted”" || len(s.Actions) != 1 || s.Actions[0].Type != "update" {
		t.Fatalf("suggested %+v", s)
	}
	validate(t, schemaOf(t, "documentreference-4.0.1.schema.json"), string(s.Actions[0].Resource))
	var amended struct {
		ID      string
		Content []struct{ Attachment struct{ Data []byte } }
	}
	if err := json.Unmarshal(s.Actions[0].Resource, &amended); err != nil || amended.ID != "n7" || string(amended.Content[0].Attachment.Data) != strings.Replace(text, "Lifted", "Transferred", 1) {
		t.Errorf("amended %+v, %v", amended, err)
	}

	// The same by prefetch, and with what a draft has not been given yet.
	byPrefetch := cardsOf(t, h.postJSON(notePath, noteCall("R-101", text, func(c, context, doc object) {
		delete(context, "note")
		c["prefetch"] = object{"note": doc, "patient": object{"resourceType": "Patient", "id": "R-101"}}
	})))
	draft := cardsOf(t, h.postJSON(notePath, noteCall("R-101", text, func(_, _, doc object) { delete(doc, "date"); delete(doc, "subject") })))
	if summaries(byPrefetch) != summaries(cards) || summaries(draft) != summaries(cards) {
		t.Errorf("by prefetch %s; draft %s; want %s", summaries(byPrefetch), summaries(draft), summaries(cards))
	}
	// What cannot be amended whole is suggested in words.
	for name, change := range map[string]func(doc object){
		"no id":   func(doc object) { delete(doc, "id") },
		"HTML":    func(doc object) { attach(doc, "text/html", "<p>"+text+"</p>") },
		"latin":   func(doc object) { attach(doc, "text/plain; charset=iso-8859-1", text) },
		"twofold": func(doc object) { doc["content"] = append(doc["content"].([]any), doc["content"].([]any)...) },
	} {
		cards := cardsOf(t, h.postJSON(notePath, noteCall("R-101", text, func(_, _, doc object) { change(doc) })))
		i := slices.IndexFunc(cards, func(c gotCard) bool { return len(c.Suggestions) > 0 })
		if i < 0 || len(cards[i].Suggestions[0].Actions) != 0 {
			t.Errorf("%s: %s", name, summaries(cards))
		}
	}
}

func attach(doc object, kind, data string) {
	doc["content"] = []any{object{"attachment": object{"contentType": kind, "data": base64.StdEncoding.EncodeToString([]byte(data))}}}
}

// A note that says nothing to look at brings no card; what was not understood or not held against anything is told.
func TestHooksNoteQuiet(t *testing.T) {
	h := newHooks(t)
	if cards := cardsOf(t, h.postJSON(notePath, noteCall("R-101", "Ate all of supper. Watched the hockey.", nil))); len(cards) != 0 {
		t.Errorf("cards %s", summaries(cards))
	}
	unknown := func(c, _, _ object) {
		c["prefetch"] = object{"patient": object{"resourceType": "Patient", "id": "R-999", "identifier": []any{object{"value": "77"}}}}
	}
	cards := cardsOf(t, h.postJSON(notePath, noteCall("R-999", "Walked to bathroom with walker, one helper.", unknown)))
	if i := len(cards) - 1; i < 0 || cards[i].Summary != "Not all of this note was checked" || !strings.Contains(cards[i].Detail, "Not held against any chart") || cards[i].Indicator != "info" {
		t.Errorf("unknown resident: %s", summaries(cards))
	}
	// One in a unit that may not be seen is like one who is not there, down to the last byte.
	h.session.Units = []string{"Mill"}
	asked := func(resident string) string {
		w := h.postJSON(notePath, strings.ReplaceAll(noteCall(resident, "Walked to bathroom with walker, one helper.", unknown), "R-999", resident))
		return fmt.Sprint(w.Code, w.Body)
	}
	if got, want := asked("R-101"), asked("R-999"); got != want {
		t.Errorf("hidden:\n%s\nunknown:\n%s", got, want)
	}
	viewed := func(resident string) string {
		w := h.postJSON(residentPath, viewCall(resident, func(c, _ object) {
			c["prefetch"] = object{"patient": object{"resourceType": "Patient", "id": resident}}
		}))
		bare := h.postJSON(residentPath, viewCall(resident, nil))
		return fmt.Sprint(w.Code, w.Body, bare.Code, bare.Body)
	}
	if got, want := viewed("R-101"), viewed("R-999"); got != want {
		t.Errorf("hidden:\n%s\nunknown:\n%s", got, want)
	}
	if len(h.faults) > 0 {
		t.Errorf("faults %v", h.faults)
	}
}

// A version of the note that is kept already is none that it could be copied from.
func TestHooksNoteKeptBefore(t *testing.T) {
	long := "Slept well until six, then up to the chair with the sit-stand lift and two helpers, washed and dressed, ate all of breakfast and went to the music hour."
	kept := note.Note{ID: "n7", Resident: "R-900", Unit: "Mill", Time: time.Date(2026, 11, 23, 12, 0, 0, 0, time.UTC), Role: lexicon.CareWorker, Text: long}
	h := newHooks(t, kept)
	copied := func(cards []gotCard) bool { return strings.Contains(summaries(cards), "repeats an earlier one") }
	if cards := cardsOf(t, h.postJSON(notePath, noteCall("R-900", long+" Tired.", nil))); copied(cards) {
		t.Errorf("its own version: %s", summaries(cards))
	}
	if cards := cardsOf(t, h.postJSON(notePath, noteCall("R-900", long+" Tired.", func(_, _, doc object) { doc["id"] = "n8" }))); !copied(cards) {
		t.Errorf("another note, which proves the first: %s", summaries(cards))
	}
}

func TestHooksResident(t *testing.T) {
	h := newHooks(t)
	cards := cardsOf(t, h.postJSON(residentPath, viewCall("R-101", nil)))
	if len(cards) == 0 || !slices.Contains(h.seen, "R-101") {
		t.Fatalf("cards %s, seen %v", summaries(cards), h.seen)
	}
	if !strings.Contains(cards[0].Detail, "The note of ") || !strings.Contains(cards[0].Detail, "Finding: ") {
		t.Errorf("detail %s", cards[0].Detail)
	}
	rank := map[string]int{"critical": 0, "warning": 1, "info": 2}
	if !slices.IsSortedFunc(cards, func(a, b gotCard) int { return rank[a.Indicator] - rank[b.Indicator] }) {
		t.Errorf("not by harm: %s", summaries(cards))
	}
	// By an identifier of the Patient, too; one that is settled is left out.
	byNumber := cardsOf(t, h.postJSON(residentPath, viewCall("p1", func(c, _ object) {
		c["prefetch"] = object{"patient": object{"resourceType": "Patient", "id": "p1", "identifier": []any{object{"value": "1"}, object{"value": "R-101"}}}}
	})))
	if summaries(byNumber) != summaries(cards) {
		t.Errorf("by number %s, want %s", summaries(byNumber), summaries(cards))
	}
	_, id, _ := strings.Cut(cards[0].Detail, "Finding: ")
	id, _, _ = strings.Cut(id, "\n")
	if err := answers.Append(h.answers, id, finding.Answer{As: finding.Confirmed, Why: "seen to", By: "nurse", Time: h.config.Now()}); err != nil {
		t.Fatal(err)
	}
	if left := cardsOf(t, h.postJSON(residentPath, viewCall("R-101", nil))); len(left) != len(cards)-1 && len(cards) <= 10 {
		t.Errorf("after an answer: %s, before: %s", summaries(left), summaries(cards))
	}
	// Long ago is not open any more.
	now := h.config.Now()
	h.config.Now = func() time.Time { return now.AddDate(0, 1, 0) }
	h.reload(t)
	if cards := cardsOf(t, h.postJSON(residentPath, viewCall("R-101", nil))); len(cards) != 0 {
		t.Errorf("a month later: %s", summaries(cards))
	}
}

// More than fit are counted.
func TestHooksManyCards(t *testing.T) {
	h := newHooks(t)
	cards := cardsOf(t, h.postJSON(notePath, noteCall("R-101", strings.Repeat("Lifted to chair x1, took steps. Walked to bathroom with cane. ", 20), nil)))
	if len(cards) < 11 || !strings.HasSuffix(cards[10].Summary, " more to look at") {
		t.Errorf("%d cards: %s", len(cards), summaries(cards))
	}
}

// What stands in a note is no Markdown.
func TestHooksMarkdown(t *testing.T) {
	h := newHooks(t)
	const evil = "Walked to bathroom with cane ![x](https://example.com/x.png) <img src=x> [a](b) `c` *d* |e| # f &amp; www.example.com"
	w := h.postJSON(notePath, noteCall("R-101", evil, nil))
	cards := cardsOf(t, w)
	if len(cards) == 0 {
		t.Fatal("no cards")
	}
	for _, c := range cards {
		plain := strings.NewReplacer("**", "", "\n\n*", "").Replace(c.Detail)
		for _, is := range []string{"![", "](", "<img", "`c`", " *d*", "|e|", "# f", "&amp;", "www.", "https:"} {
			if i := strings.Index(plain, is); i > 0 && plain[i-1] != '\\' {
				t.Errorf("%s stands in %s", is, c.Detail)
			}
		}
	}
}

func TestHooksRefused(t *testing.T) {
	const text = "Secretword walked to bathroom with cane."
	patient := func(id string, numbers ...string) object {
		var all []any
		for _, n := range numbers {
			all = append(all, object{"value": n})
		}
		return object{"resourceType": "Patient", "id": id, "identifier": all}
	}
	doc := func(change func(doc object)) string {
		return noteCall("R-101", text, func(_, _, doc object) { change(doc) })
	}
	for _, tt := range []struct {
		name, path, body string
		status           int
		want             string
	}{
		{"nothing", notePath, "", 400, "want one JSON object"},
		{"no JSON", notePath, "Secretword", 400, "want one JSON object"},
		{"cut off", notePath, noteCall("R-101", text, nil)[:400], 400, "want one JSON object"},
		{"two", notePath, noteCall("R-101", text, nil) + "{}", 400, "want one JSON object"},
		{"not UTF-8", notePath, strings.Replace(viewCall("R-101", nil), "a17", "a\xff", 1), 400, "in UTF-8"},
		{"a list", notePath, "[]", 400, "another type"},
		{"deep", notePath, strings.Repeat("[", 100_000), 400, "want one JSON object"},
		{"hook of another service", notePath, viewCall("R-101", nil), 400, "hook: want com.example.stance.note-sign"},
		{"no instance", residentPath, viewCall("R-101", func(c, _ object) { delete(c, "hookInstance") }), 400, "hookInstance: want a UUID"},
		{"no context", residentPath, viewCall("R-101", func(c, _ object) { delete(c, "context") }), 400, "context.userId"},
		{"no user", residentPath, viewCall("R-101", func(_, x object) { delete(x, "userId") }), 400, "context.userId"},
		{"a user who is no reference", residentPath, viewCall("R-101", func(_, x object) { x["userId"] = "Practitioner/a\n{}" }), 400, "context.userId"},
		{"no patient", residentPath, viewCall("", nil), 400, "context.patientId"},
		{"a number for a patient", residentPath, viewCall("", func(_, x object) { x["patientId"] = 7 }), 400, "another type"},
		{"a patient who is no id", residentPath, viewCall("../R-101", nil), 400, "context.patientId"},
		{"another's Patient", residentPath, viewCall("R-101", func(c, _ object) { c["prefetch"] = object{"patient": patient("R-102")} }), 400, "want the Patient of context.patientId"},
		{"no Patient", residentPath, viewCall("R-101", func(c, _ object) { c["prefetch"] = object{"patient": object{"resourceType": "Person"}} }), 400, "want a Patient"},
		{"two residents", residentPath, viewCall("R-101", func(c, _ object) { c["prefetch"] = object{"patient": patient("R-101", "R-102")} }), 400, "more than one resident"},
		{"nobody of that id", residentPath, viewCall("p1", nil), 412, "want prefetch.patient"},
		{"a Patient that is null", residentPath, viewCall("p1", func(c, _ object) { c["prefetch"] = object{"patient": nil} }), 412, "want prefetch.patient"},
		{"no note", notePath, noteCall("R-101", text, func(_, x, _ object) { delete(x, "note") }), 412, "want the note"},
		{"a note that is null", notePath, noteCall("R-101", text, func(_, x, _ object) { x["note"] = nil }), 412, "want the note"},
		{"a note that is text", notePath, noteCall("R-101", text, func(_, x, _ object) { x["note"] = text }), 400, "want a DocumentReference"},
		{"another resource", notePath, doc(func(d object) { d["resourceType"] = "Composition" }), 400, "want a DocumentReference"},
		{"on another patient", notePath, doc(func(d object) {
			d["subject"] = object{"reference": "https://fhir.example.org/Patient/R-102/_history/1"}
		}), 400, "want the note of the Patient"},
		{"on another number", notePath, doc(func(d object) { d["subject"] = object{"identifier": object{"value": "R-102"}} }), 400, "want the note of the Patient"},
		{"a link in place of text", notePath, doc(func(d object) {
			d["content"] = []any{object{"attachment": object{"contentType": "text/plain", "url": "https://example.com/n7"}}}
		}), 412, "with text inline"},
		{"a PDF", notePath, doc(func(d object) { attach(d, "application/pdf", "%PDF-1.7") }), 412, "with text inline"},
		{"withdrawn", notePath, doc(func(d object) { d["status"] = "entered-in-error" }), 412, "not withdrawn"},
		{"no base64", notePath, doc(func(d object) {
			d["content"] = []any{object{"attachment": object{"contentType": "text/plain", "data": "Secretword!"}}}
		}), 400, "context.note: want "},
		{"a date that is none", notePath, doc(func(d object) { d["date"] = "yesterday" }), 400, `"time" as`},
		{"content that is no list", notePath, doc(func(d object) { d["content"] = "Secretword" }), 400, "want "},
		{"too long", notePath, noteCall("R-101", strings.Repeat("Secretword ", 4000), nil), 413, "too long"},
	} {
		t.Run(tt.name, func(t *testing.T) {
			h := newHooks(t)
			w := h.postJSON(tt.path, tt.body)
			want(t, w, tt.status, tt.want)
			if strings.Contains(w.Body.String(), "Secretword") {
				t.Errorf("words of the note in %s", w.Body)
			}
			if len(h.seen) > 0 || len(h.faults) > 0 {
				t.Errorf("seen %v, faults %v", h.seen, h.faults)
			}
		})
	}
}

// Whatever a caller sends is answered, and without a fault.
func FuzzHooks(f *testing.F) {
	f.Add(noteCall("R-101", "Walked to bathroom with cane.", nil), true)
	f.Add(viewCall("R-101", func(c, _ object) { c["prefetch"] = object{"patient": nil} }), false)
	h := newHooks(f)
	f.Fuzz(func(t *testing.T, body string, ofNote bool) {
		path := residentPath
		if ofNote {
			path = notePath
		}
		if w := h.postJSON(path, body); w.Code >= 500 {
			t.Errorf("status %d: %s, %v", w.Code, w.Body, h.faults)
		}
	})
}

// Who wrote a draft is the user, whose role is that of the resource prefetched.
func TestHooksNoteRole(t *testing.T) {
	h := newHooks(t)
	for _, tt := range []struct {
		user object
		want string
	}{
		{object{"resourceType": "PractitionerRole", "id": "p7", "code": []any{object{"text": "physiotherapist"}}}, "no chart row"},
		{object{"resourceType": "Practitioner", "id": "p7", "qualification": []any{object{"code": object{"text": "RN"}}}}, "no chart row"},
		{object{"resourceType": "PractitionerRole", "id": "p7", "code": []any{object{"text": "care aide"}}}, ""},
		{nil, ""},
	} {
		cards := cardsOf(t, h.postJSON(notePath, noteCall("R-101", "Order: NWB left leg from today.", func(c, context, doc object) {
			doc["date"] = "2026-11-22T10:00:00-05:00"
			if tt.user != nil {
				context["userId"] = fmt.Sprint(tt.user["resourceType"], "/p7")
				c["prefetch"] = object{"user": tt.user}
			}
		})))
		if got := summaries(cards); !strings.Contains(got, tt.want) || tt.want == "" && got != "" {
			t.Errorf("by %v: %s, want %q", tt.user, got, tt.want)
		}
	}
}
