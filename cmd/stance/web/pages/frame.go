package pages

import (
	"bytes"
	"context"
	"crypto/sha256"
	"embed"
	"encoding/hex"
	"errors"
	"html/template"
	"io/fs"
	"net/http"
	"net/url"
	"path"
	"slices"
	"time"

	"example.com/stance/cmd/stance/web/guard"
	"example.com/stance/cmd/stance/web/pages/records"
	"example.com/stance/cmd/stance/web/pages/says"
	"example.com/stance/cmd/stance/web/pages/sight"
	"example.com/stance/index/course"
	"example.com/stance/lexicon"
	"example.com/stance/lint/handbook"
	"example.com/stance/lint/policy"
	"example.com/stance/lint/report"
	"example.com/stance/lint/report/look"
	"example.com/stance/lint/rules"
)

//go:embed templates/*.html
var templates embed.FS

//go:embed static
var static embed.FS

// A site answers requests for the pages. It does not change. It has no hold of the records but by its window.
type site struct {
	window    *sight.Window
	policy    *policy.Policy
	session   func(context.Context) guard.Session
	now       func() time.Time
	fault     func(error) // may be nil
	hooks     bool
	behalf    func(ctx context.Context, user string) error // may be nil
	words     *says.Words
	lexicon   *lexicon.Lexicon
	topics    []handbook.Topic
	rules     map[string]rules.Doc // by id
	waits     map[string]bool      // the rules that have no say before a sentence ends; by id
	templates *template.Template
	assets    map[string]asset // by path
}

// An asset is a file that pages refer to.
type asset struct {
	body []byte
	kind string // media type
	tag  string // changes with the body
}

func newSite(c Config, rec *records.Records) (http.Handler, error) {
	s := &site{
		window:  sight.New(sight.Config{Records: rec, Session: c.Session, Saw: c.Saw, Now: c.Now}),
		policy:  c.Records.Policy,
		session: c.Session, now: c.Now, fault: c.Fault, hooks: c.Hooks, behalf: c.Behalf,
		words: says.New(c.Records.Lexicon.Concepts()), lexicon: c.Records.Lexicon,
		rules: make(map[string]rules.Doc), waits: make(map[string]bool), assets: make(map[string]asset),
	}
	all, err := rules.All()
	if err != nil {
		return nil, err
	}
	for _, r := range all {
		s.rules[r.ID], s.waits[r.ID] = r.Doc, r.Waits
	}
	if s.topics, err = handbook.All(); err != nil {
		return nil, err
	}
	if s.templates, err = template.ParseFS(templates, "templates/*.html"); err != nil {
		return nil, err
	}
	if err := s.readAssets(); err != nil {
		return nil, err
	}
	return s.routes(), nil
}

func (s *site) routes() http.Handler {
	mux := http.NewServeMux()
	mux.HandleFunc("GET /static/", s.asset)
	mux.HandleFunc("/{$}", s.home)
	for _, p := range s.places() {
		for pattern, answer := range p.answers {
			mux.Handle(pattern, s.only(p, answer))
		}
	}
	if s.hooks {
		s.addHooks(mux)
	}
	mux.HandleFunc("/", func(w http.ResponseWriter, r *http.Request) { s.fail(w, r, errUnknown) })
	return mux
}

// A place is one of the things that people come for.
type place struct {
	path    string
	name    string             // in the list of places; empty: it is not there
	short   string             // the same on a phone, where all five are to fit one line
	role    guard.Role         // empty: whoever has any
	answers map[string]handler // by pattern
}

func (s *site) places() []place {
	return []place{
		{"/note", "Write a note", "Note", guard.Write, map[string]handler{
			"GET /note": s.note, "POST /note": s.checkNote, "POST /note/text": s.noteText, "POST /check.json": s.checkLive,
		}},
		{"/shift", "Go through a shift", "Shift", guard.Review, map[string]handler{
			"GET /shift": s.shift, "GET /shift/handover": s.handover, "POST /shift": s.answer,
		}},
		{"/resident", "Follow a resident", "Resident", guard.Review, map[string]handler{
			"GET /resident": s.resident,
		}},
		{"/audit", "Audit", "Audit", guard.Audit, map[string]handler{
			"GET /audit": s.audit, "GET /audit/notes": s.auditNotes, "GET /audit/report": s.auditReport,
		}},
		{"/learn", "Learn", "Learn", "", map[string]handler{
			"GET /learn": s.learn, "GET /learn/all": s.learnAll, "GET /learn/{topic}": s.learnTopic,
		}},
		{"/help", "", "", "", map[string]handler{"GET /help": s.help}}, // has a link of its own on every page
	}
}

// open reports whether the session may enter.
func (p *place) open(session guard.Session) bool {
	if p.role == "" {
		return slices.ContainsFunc(guard.Roles(), session.May)
	}
	return session.May(p.role)
}

// A handler makes the answer to one request. It writes nothing itself, so that nothing is sent before the access
// log has been told whom the visit was shown.
type handler func(r *http.Request, v *sight.Visit) (*reply, error)

// A reply is an answer ready to be sent.
type reply struct {
	status int
	header []string // pairs of name and value
	body   []byte
}

func (a *reply) send(w http.ResponseWriter) {
	for i := 0; i+1 < len(a.header); i += 2 {
		w.Header().Set(a.header[i], a.header[i+1])
	}
	w.WriteHeader(a.status)
	w.Write(a.body) // fails where the client has gone
}

// seeOther leads to another page.
func seeOther(path string) *reply {
	return &reply{status: http.StatusSeeOther, header: []string{"Location", path}}
}

// only lets the handler answer those to whom the place is open.
func (s *site) only(p place, h handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if !p.open(s.session(r.Context())) {
			s.fail(w, r, errRole)
			return
		}
		ctx, stop := inTime(r.Context())
		defer stop()
		v := s.window.Visit()
		answer, err := h(r.WithContext(ctx), v)
		if err == nil {
			err = v.Log(ctx)
		}
		if err != nil {
			s.fail(w, r, err)
			return
		}
		answer.send(w)
	})
}

// timeToTell is what is left of a request's time to say that what it waits for takes longer.
const timeToTell = time.Second

// inTime ends so long before ctx does, where that has an end.
func inTime(ctx context.Context) (context.Context, context.CancelFunc) {
	if end, ok := ctx.Deadline(); ok {
		return context.WithDeadline(ctx, end.Add(-timeToTell))
	}
	return context.WithCancel(ctx)
}

// home leads to the first place that the session may enter.
func (s *site) home(w http.ResponseWriter, r *http.Request) {
	session := s.session(r.Context())
	for _, p := range s.places() {
		if p.open(session) {
			http.Redirect(w, r, p.path, http.StatusSeeOther)
			return
		}
	}
	s.fail(w, r, errRole)
}

// A refusal is an error that people are told in words.
type refusal struct {
	status int
	title  string
	words  string // what was expected, and what to do; never words of a note
	cause  error  // for the messages of the program, where it is no fault of the user's
}

func (e *refusal) Error() string { return e.words }

// The refusals that say no more than what they are. A resident whom one may not see is told exactly
// like one who is not there, so that nobody learns who lives elsewhere.
var (
	errUnknown  = &refusal{status: http.StatusNotFound, title: "There is no such page", words: "Go back, or choose a place above."}
	errResident = &refusal{status: http.StatusNotFound, title: "No such resident", words: "There are no notes and no chart of that resident in the units that you may see. Check the number."}
	errFinding  = &refusal{status: http.StatusNotFound, title: "No such finding", words: "The note may have been changed since. Look at the shift again."}
	errUnready  = &refusal{status: http.StatusServiceUnavailable, title: "This is still being worked out", words: "With many notes that takes a while, the first time. Look again in a minute."}
	errRole     = &refusal{status: http.StatusForbidden, title: "Your account may not come here", words: "Ask the person who made your account if you need to."}
)

// fail tells what went wrong. Of a fault that is not the user's, it says only that there is one.
func (s *site) fail(w http.ResponseWriter, r *http.Request, err error) {
	var no *refusal
	var tooLarge *http.MaxBytesError
	switch {
	case errors.As(err, &no):
		if no.cause != nil {
			s.tell(r, no.cause)
		}
	case errors.Is(err, context.DeadlineExceeded):
		no = errUnready // what was asked for goes on being worked out
	case errors.As(err, &tooLarge):
		no = &refusal{status: http.StatusRequestEntityTooLarge, title: "That is too long", words: "Make the text shorter and try again."}
	default:
		s.tell(r, err)
		no = &refusal{status: http.StatusInternalServerError, title: "Something is wrong here",
			words: "The page could not be made. Tell the person who runs stance; the cause is in its messages."}
	}
	answer, err := s.page(r, no.status, "refused", frame{Title: no.title, Body: no})
	if err != nil {
		s.tell(r, err)
		http.Error(w, "the page could not be made", http.StatusInternalServerError)
		return
	}
	answer.send(w)
}

// tell hands an error to the messages of the program, unless it is only that the user went away.
func (s *site) tell(r *http.Request, err error) {
	if s.fault != nil && r.Context().Err() == nil {
		s.fault(err)
	}
}

// A frame is what stands around each page.
type frame struct {
	Title   string // heading of the page
	Path    string // of the place; empty for none
	Places  []tab
	Help    string // path of the help with this place
	User    string
	CSRF    string
	Caution string
	Body    any
}

// A tab leads to a place.
type tab struct {
	Path, Name, Short string
	Here              bool
}

// page is a page whole.
func (s *site) page(r *http.Request, status int, name string, f frame) (*reply, error) {
	session := s.session(r.Context())
	f.User, f.CSRF, f.Caution, f.Help = session.User, session.CSRF, report.Caution, helpPath(f.Path)
	for _, p := range s.places() {
		if p.name != "" && p.open(session) {
			f.Places = append(f.Places, tab{p.path, p.name, p.short, p.path == f.Path})
		}
	}
	var buf bytes.Buffer
	if err := s.templates.ExecuteTemplate(&buf, name+".html", f); err != nil {
		return nil, err
	}
	return &reply{status: status, header: []string{"Content-Type", "text/html; charset=utf-8"}, body: buf.Bytes()}, nil
}

// part is one template on its own, for a script to put in its place.
func (s *site) part(name string, data any) (string, error) {
	var buf bytes.Buffer
	err := s.templates.ExecuteTemplate(&buf, name, data)
	return buf.String(), err
}

func (s *site) readAssets() error {
	kinds := map[string]string{".css": "text/css; charset=utf-8", ".js": "text/javascript; charset=utf-8", ".svg": "image/svg+xml"}
	s.addAsset("/static/course.css", []byte(course.Style()), kinds[".css"])
	return fs.WalkDir(static, "static", func(name string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() {
			return err
		}
		body, err := static.ReadFile(name)
		if err != nil {
			return err
		}
		if name == "static/page.css" {
			body = append([]byte(look.Sheet()), body...)
		}
		s.addAsset("/"+name, body, kinds[path.Ext(name)])
		return nil
	})
}

func (s *site) addAsset(path string, body []byte, kind string) {
	sum := sha256.Sum256(body)
	s.assets[path] = asset{body, kind, `"` + hex.EncodeToString(sum[:8]) + `"`}
}

// asset serves a file by its exact name; nothing on the disk can be reached.
func (s *site) asset(w http.ResponseWriter, r *http.Request) {
	a, ok := s.assets[r.URL.Path]
	if !ok {
		s.fail(w, r, errUnknown)
		return
	}
	w.Header().Set("Content-Type", a.kind)
	w.Header().Set("ETag", a.tag)
	w.Header().Set("Cache-Control", "no-cache") // ask each time; the tag makes that cheap
	http.ServeContent(w, r, "", time.Time{}, bytes.NewReader(a.body))
}

// local is the time on the home's clock or, where the policy names no zone, as it was written.
func (s *site) local(t time.Time) time.Time {
	if z := s.policy.Zone; z != nil && z != time.Local {
		return t.In(z)
	}
	return t
}

// zone is the home's, for times that people type.
func (s *site) zone() *time.Location {
	if z := s.policy.Zone; z != nil {
		return z
	}
	return time.Local
}

// to is a path with a query: pairs of name and value, those without a value left out.
func to(path string, pairs ...string) string {
	q := url.Values{}
	for i := 0; i+1 < len(pairs); i += 2 {
		if pairs[i+1] != "" {
			q.Set(pairs[i], pairs[i+1])
		}
	}
	if len(q) == 0 {
		return path
	}
	return path + "?" + q.Encode()
}
