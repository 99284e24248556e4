package pages

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"net/http"
	"regexp"
	"slices"
	"strings"
	"time"
	"unicode/utf8"

	"example.com/stance/cmd/stance/web/guard"
	"example.com/stance/cmd/stance/web/pages/sight"
	"example.com/stance/lint/plural"
	"example.com/stance/lint/report"
)

// HooksPath is where the services of CDS Hooks 2.0 are found.
const HooksPath = "/cds-services"

// The ids of the services, and the hook of our own. The standard wants such a hook named like a domain, backwards.
const (
	noteService     = "stance-note"
	residentService = "stance-resident"
	noteHook        = "com.example.stance.note-sign"
)

// openSpan is how far back the findings go that are shown when a resident is opened.
const openSpan = 7 * 24 * time.Hour

// mostCards is how many cards are shown at once; what is left is counted in one more.
const mostCards = 10

// A hooked is one service, as discovery describes it.
type hooked struct {
	Hook        string            `json:"hook"`
	Title       string            `json:"title"`
	Description string            `json:"description"`
	ID          string            `json:"id"`
	Prefetch    map[string]string `json:"prefetch"`

	cards func(*site, *http.Request, *sight.Sight, *hookCall) ([]card, error)
}

func hooks() []hooked {
	return []hooked{
		{
			Hook: noteHook, ID: noteService, Title: "stance: a note in hand",
			Description: "Reads a handover note before it is signed and says where its words conflict with the charted mobility status, " +
				"with the shifts before and after, or with safe practice. context has userId, patientId and either note, a " +
				"DocumentReference with its text inline, or noteId, the id of one for the prefetch template. The text is not kept. " + report.Caution,
			Prefetch: map[string]string{
				"patient": "Patient/{{context.patientId}}", "user": "{{context.userId}}", "note": "DocumentReference/{{context.noteId}}",
			},
			cards: (*site).noteCards,
		},
		{
			Hook: "patient-view", ID: residentService, Title: "stance: what is open on a resident",
			Description: "Shows what was found in the resident's notes of the last seven days and has not been settled. " + report.Caution,
			Prefetch:    map[string]string{"patient": "Patient/{{context.patientId}}"},
			cards:       (*site).residentCards,
		},
	}
}

// A hookCall is what a caller sends.
type hookCall struct {
	Hook         string `json:"hook"`
	HookInstance string `json:"hookInstance"`
	Context      struct {
		UserID    string          `json:"userId"`
		PatientID string          `json:"patientId"`
		Note      json.RawMessage `json:"note"`
	} `json:"context"`
	Prefetch map[string]json.RawMessage `json:"prefetch"`

	patient *hookPatient // nil: not sent
}

// The forms of the standard: ids of FHIR R4 (section 2.24), and the users that hooks know.
var (
	fhirID   = regexp.MustCompile(`^[A-Za-z0-9\-.]{1,64}$`)
	fhirUser = regexp.MustCompile(`^(Practitioner|PractitionerRole|Patient|RelatedPerson)/[A-Za-z0-9\-.]{1,64}$`)
	uuidForm = regexp.MustCompile(`^[0-9A-Fa-f]{8}(-[0-9A-Fa-f]{4}){3}-[0-9A-Fa-f]{12}$`)
)

// addHooks adds the services to the routes.
func (s *site) addHooks(mux *http.ServeMux) {
	mux.Handle("GET "+HooksPath, s.hook(func(*http.Request) (any, error) {
		return map[string]any{"services": hooks()}, nil
	}))
	for _, service := range hooks() {
		mux.Handle("POST "+HooksPath+"/"+service.ID, s.hook(func(r *http.Request) (any, error) { return s.called(r, &service) }))
	}
	mux.Handle(HooksPath+"/", s.hook(func(*http.Request) (any, error) {
		return nil, &refusal{status: http.StatusNotFound, words: "There is no such service; GET " + HooksPath + " lists them."}
	}))
}

// hook answers callers, and nobody else, with JSON.
func (s *site) hook(answer func(*http.Request) (any, error)) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if !s.session(r.Context()).May(guard.Call) {
			s.fail(w, r, errUnknown)
			return
		}
		ctx, stop := inTime(r.Context())
		defer stop()
		var body []byte
		said, err := answer(r.WithContext(ctx))
		if err == nil {
			body, err = json.Marshal(said)
		}
		var no *refusal
		switch {
		case err == nil:
			(&reply{status: http.StatusOK, header: []string{"Content-Type", "application/json"}, body: body}).send(w)
			return
		case errors.As(err, &no):
		case errors.Is(err, context.DeadlineExceeded):
			no = errUnready
			w.Header().Set("Retry-After", "60")
		default:
			s.tell(r, err)
			no = &refusal{status: http.StatusInternalServerError, words: "Something is wrong here. The cause is in the messages of stance."}
		}
		http.Error(w, no.words, no.status)
	})
}

// called answers a call of a service.
func (s *site) called(r *http.Request, service *hooked) (any, error) {
	call, err := readCall(r, service)
	if err != nil {
		return nil, err
	}
	ctx := r.Context()
	if s.behalf != nil {
		if err := s.behalf(ctx, call.Context.UserID); err != nil {
			return nil, err
		}
	}
	v := s.window.Visit()
	look, err := v.Look(ctx)
	if err != nil {
		return nil, err
	}
	cards, err := service.cards(s, r, look, call)
	if err == nil {
		err = v.Log(ctx)
	}
	if err != nil {
		return nil, err
	}
	if cards == nil {
		cards = []card{} // the standard wants an empty list
	}
	return map[string]any{"cards": cards}, nil
}

// badCall refuses a call that is not as the standard has it.
func badCall(format string, args ...any) error {
	return &refusal{status: http.StatusBadRequest, words: fmt.Sprintf(format, args...)}
}

// unmet refuses a call that lacks data without which nothing can be said.
func unmet(words string) error {
	return &refusal{status: http.StatusPreconditionFailed, words: words}
}

func readCall(r *http.Request, service *hooked) (*hookCall, error) {
	var raw json.RawMessage
	dec := json.NewDecoder(r.Body)
	if err := dec.Decode(&raw); err != nil || dec.More() || !utf8.Valid(raw) {
		return nil, badCall("want one JSON object in UTF-8")
	}
	call := &hookCall{}
	if err := json.Unmarshal(raw, call); err != nil {
		return nil, badCall("want a request of CDS Hooks 2.0; a field has another type than there")
	}
	switch {
	case call.Hook != service.Hook:
		return nil, badCall("hook: want %s", service.Hook)
	case !uuidForm.MatchString(call.HookInstance):
		return nil, badCall("hookInstance: want a UUID")
	case !fhirUser.MatchString(call.Context.UserID):
		return nil, badCall("context.userId: want a reference such as Practitioner/123")
	case !fhirID.MatchString(call.Context.PatientID):
		return nil, badCall("context.patientId: want an id of FHIR")
	}
	var err error
	call.patient, err = call.readPatient()
	return call, err
}

// A hookPatient is what is read of a Patient.
type hookPatient struct {
	ResourceType string `json:"resourceType"`
	ID           string `json:"id"`
	Identifier   []struct {
		Value string `json:"value"`
	} `json:"identifier"`
}

// given is a prefetched resource; nil where it was not sent, or there is none.
func (c *hookCall) given(key string) json.RawMessage {
	if raw := c.Prefetch[key]; len(raw) > 0 && string(raw) != "null" {
		return raw
	}
	return nil
}

func (c *hookCall) readPatient() (*hookPatient, error) {
	raw := c.given("patient")
	if raw == nil {
		return nil, nil
	}
	p := &hookPatient{}
	if err := json.Unmarshal(raw, p); err != nil || p.ResourceType != "Patient" {
		return nil, badCall("prefetch.patient: want a Patient")
	}
	if p.ID != c.Context.PatientID {
		return nil, badCall("prefetch.patient: want the Patient of context.patientId")
	}
	return p, nil
}

// numbers are what the resident may go by in notes and chart.
func (c *hookCall) numbers() []string {
	all := []string{c.Context.PatientID}
	if c.patient != nil {
		for _, id := range c.patient.Identifier {
			if number := strings.TrimSpace(id.Value); number != "" && !slices.Contains(all, number) {
				all = append(all, number)
			}
		}
	}
	return all
}

// resident is who is meant; empty where there is nobody of that number whom the caller may see.
func (c *hookCall) resident(look *sight.Sight) (string, error) {
	resident := ""
	for _, number := range c.numbers() {
		if !look.Sees(number) {
			continue
		}
		if resident != "" {
			return "", badCall("prefetch.patient: its identifiers are those of more than one resident")
		}
		resident = number
	}
	if resident == "" && c.patient == nil {
		return "", unmet("want prefetch.patient: no resident goes by context.patientId, so the identifiers are needed")
	}
	return resident, nil
}

// residentCards are what is open on a resident.
func (s *site) residentCards(r *http.Request, look *sight.Sight, call *hookCall) ([]card, error) {
	resident, err := call.resident(look)
	if err != nil {
		return nil, err
	}
	if resident == "" {
		return []card{s.remark("No notes and no chart of this resident here", "Nothing was checked. The numbers of the Patient are not those of a resident in the units that may be seen.")}, nil
	}
	now := s.now()
	if _, ok := look.Row(resident, now); !ok { // which also has the access log tell
		return nil, errResident
	}
	found, err := look.FoundOn(r.Context(), resident, now.Add(-openSpan), now)
	if err != nil {
		return nil, err
	}
	book, err := s.window.Answers()
	if err != nil {
		return nil, err
	}
	found = slices.DeleteFunc(found, func(f sight.Finding) bool {
		a, ok := book.Of(f.ID)
		return ok && a.Settles()
	})
	slices.SortStableFunc(found, func(a, b sight.Finding) int { return b.Time.Compare(a.Time) })
	return s.cards(byHarm(found), func(f sight.Finding) card {
		c := s.card(f, s.noteOf(f))
		c.Detail = "Finding: " + literal(f.ID) + "\n\n" + c.Detail
		return c
	}), nil
}

// noteOf says which kept note a finding is on.
func (s *site) noteOf(f sight.Finding) string {
	if f.Note == "" {
		return "The shift has no note"
	}
	return "The note of " + s.local(f.On.Time).Format("2 January 2006, 15:04") + byWhom(f.On) + " says"
}

// noteCards are what is found in a note that is being written.
func (s *site) noteCards(r *http.Request, look *sight.Sight, call *hookCall) ([]card, error) {
	doc, err := s.hookNote(call)
	if err != nil {
		return nil, err
	}
	resident, err := call.resident(look)
	if err != nil {
		return nil, err
	}
	n := doc.note
	n.Resident = resident
	st := &status{Gap: "unknown", Unheld: "Not held against any chart or earlier note: no resident here goes by the numbers of the Patient."}
	if resident != "" {
		st = s.charted(look, resident, n.Time)
		n.Unit = st.Unit
	}
	reading, found, err := look.Judge(r.Context(), n)
	if err != nil {
		return nil, err
	}
	if !st.Known {
		found = withoutRule(found, "chart-missing")
	}
	cards := s.cards(byHarm(found), func(f sight.Finding) card {
		c := s.card(f, "This note says")
		if w := s.view(f, 0).Wording; w != nil {
			c.suggest(doc, f, w)
		}
		return c
	})
	// What was not understood, or not held against anything, is said, so that no card is not taken for approval.
	var left []string
	if len(reading.Overlooked) > 0 {
		left = append(left, plural.Of(len(reading.Overlooked), "sentence")+" about moving not understood: read again.")
	}
	if st.Unheld != "" && (len(reading.Statements) > 0 || len(reading.Overlooked) > 0) {
		left = append(left, st.Unheld)
	}
	if len(left) > 0 {
		cards = append(cards, s.remark("Not all of this note was checked", left...))
	}
	return cards, nil
}

// cards are those of the findings, the worst first, with one more for those that are too many.
func (s *site) cards(found []sight.Finding, of func(sight.Finding) card) []card {
	var out []card
	for i, f := range found {
		if i == mostCards {
			out = append(out, s.remark(fmt.Sprintf("%d more to look at", len(found)-i), "The worst are shown: "+counted(plain(found))+" in all."))
			break
		}
		out = append(out, of(f))
	}
	return out
}
