package web_test

import (
	"context"
	"crypto/rand"
	"fmt"
	"io"
	"net/http"
	"net/http/cookiejar"
	"net/url"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"example.com/stance/cmd/stance/web"
	"example.com/stance/cmd/stance/web/guard"
	"example.com/stance/cmd/stance/web/pages"
	"example.com/stance/cmd/stance/web/pages/records"
	"example.com/stance/lexicon"
	"example.com/stance/lint/policy"
)

// Words that only pages on a resident of one unit have.
const (
	birchWords = "walked to the fountain with cane"
	rowanWords = "walked to the orchard with cane"
)

// routes are all there are behind the guard, each as somebody of the role may ask for it about Birch.
var routes = []struct {
	pattern string
	role    guard.Role // empty: whoever is logged in
	ask     string
	about   string // the same about Rowan, which none of the users may see
	form    url.Values
	foreign url.Values // the form about Rowan
	public  bool       // also for whoever is not logged in
	status  int        // of an answer to one who may
}{
	{pattern: "GET /static/", ask: "/static/page.css", public: true, status: 200},
	{pattern: "/{$}", ask: "/", status: 303},
	{pattern: "GET /note", role: guard.Write, ask: "/note?resident=B-1", about: "/note?resident=R-1", status: 200},
	{pattern: "POST /note", role: guard.Write, ask: "/note", form: noteOn("B-1"), foreign: noteOn("R-1"), status: 200},
	{pattern: "POST /note/text", role: guard.Write, ask: "/note/text", form: noteOn("B-1"), status: 200},
	{pattern: "POST /check.json", role: guard.Write, ask: "/check.json", form: noteOn("B-1"), foreign: noteOn("R-1"), status: 200},
	{pattern: "GET /shift", role: guard.Review, ask: "/shift?unit=Birch", about: "/shift?unit=Rowan", status: 200},
	{pattern: "GET /shift/handover", role: guard.Review, ask: "/shift/handover?unit=Birch", about: "/shift/handover?unit=Rowan", status: 200},
	{pattern: "POST /shift", role: guard.Review, ask: "/shift", form: answerOn("Birch"), foreign: answerOn("Rowan"), status: 404}, // no such finding
	{pattern: "GET /resident", role: guard.Review, ask: "/resident?id=B-1", about: "/resident?id=R-1", status: 200},
	{pattern: "GET /audit", role: guard.Audit, ask: "/audit?table=resident", about: "/audit?table=unit", status: 200},
	{pattern: "GET /audit/notes", role: guard.Audit, ask: "/audit/notes", about: "/audit/notes?table=unit&value=Rowan", status: 200},
	{pattern: "GET /help", ask: "/help", status: 200},
	{pattern: "GET /learn", ask: "/learn", status: 200},
	{pattern: "GET /learn/all", ask: "/learn/all", status: 200},
	{pattern: "GET /learn/{topic}", ask: "/learn/falls", status: 200},
	{pattern: "GET /audit/report", role: guard.Audit, ask: "/audit/report", status: 200},
}

func noteOn(resident string) url.Values {
	return url.Values{"resident": {resident}, "role": {"nurse"}, "text": {"Walked with cane."}}
}

func answerOn(unit string) url.Values {
	return url.Values{"unit": {unit}, "shift": {"2026-11-24/evening"}, "finding": {"0123456789abcdef"}, "as": {"confirmed"}, "why": {"seen"}}
}

// The table above has every route that the pages register, so that none goes untested.
func TestRoutesAreAllThere(t *testing.T) {
	var want, got []string
	for _, r := range routes {
		want = append(want, r.pattern)
	}
	files, err := filepath.Glob("pages/*.go")
	if err != nil {
		t.Fatal(err)
	}
	for _, name := range files {
		if strings.HasSuffix(name, "_test.go") {
			continue
		}
		text, err := os.ReadFile(name)
		if err != nil {
			t.Fatal(err)
		}
		for _, m := range regexp.MustCompile(`"((?:GET |POST )/[^" ]*|/\{\$\})"`).FindAllStringSubmatch(string(text), -1) {
			got = append(got, m[1])
		}
	}
	slices.Sort(want)
	slices.Sort(got)
	if !slices.Equal(want, got) {
		t.Errorf("routes of the pages:\n%q\nof the table:\n%q", got, want)
	}
}

// A ward is a server with accounts over notes of two units.
type ward struct {
	*running
	users, log string
}

const wardPassword = "two helpers and a belt"

func openWard(t *testing.T) *ward {
	t.Helper()
	dir := t.TempDir()
	w := &ward{users: filepath.Join(dir, "users.jsonl"), log: filepath.Join(dir, "access.jsonl")}
	for _, role := range guard.Roles() {
		if err := guard.AddUser(w.users, guard.User{Name: string(role), Roles: []guard.Role{role}, Units: []string{"Birch"}}, wardPassword, false); err != nil {
			t.Fatal(err)
		}
	}
	users, err := guard.OpenUsers(w.users)
	if err != nil {
		t.Fatal(err)
	}
	log, err := guard.OpenAccessLog(w.log)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { log.Close() })
	g, err := guard.New(guard.Config{Bind: "127.0.0.1:0", Users: users, AccessLog: log, Wait: time.Hour, RequestTime: time.Hour, Say: func(line string) { t.Error(line) }})
	if err != nil {
		t.Fatal(err)
	}
	lex, err := lexicon.New()
	if err != nil {
		t.Fatal(err)
	}
	at := time.Date(2026, 11, 24, 21, 40, 0, 0, time.UTC)
	h, err := pages.New(pages.Config{
		Records: records.Config{Lexicon: lex, Policy: policy.Default(), Answers: filepath.Join(dir, "answers.jsonl"), Source: records.Fixed{
			{ID: "N1", Resident: "B-1", Unit: "Birch", Time: at, Shift: "evening", Role: lexicon.CareWorker, Text: "Lifted by hand x1, then " + birchWords + "."},
			{ID: "N2", Resident: "R-1", Unit: "Rowan", Time: at, Shift: "evening", Role: lexicon.CareWorker, Text: "Lifted by hand x1, then " + rowanWords + "."},
		}},
		Session: guard.SessionOf, Saw: g.Saw, Fault: func(err error) { t.Error(err) }, Now: func() time.Time { return at.Add(time.Hour) },
	})
	if err != nil {
		t.Fatal(err)
	}
	w.running = start(t, web.Config{Handler: g.Wrap(h)})
	return w
}

// While an audit is made, as many as like may wait for it: other pages are served, and who gives up is let go.
func TestOthersAreServedDuringAnAudit(t *testing.T) {
	const asking = 40
	g, err := guard.New(guard.Config{Bind: "127.0.0.1:0", MaxRequests: 4, Wait: time.Hour, RequestTime: time.Hour, Say: func(line string) { t.Error(line) }})
	if err != nil {
		t.Fatal(err)
	}
	lex, err := lexicon.New()
	if err != nil {
		t.Fatal(err)
	}
	at := time.Date(2026, 11, 24, 21, 40, 0, 0, time.UTC)
	entered, finish := make(chan struct{}, 4*asking), make(chan struct{})
	h, err := pages.New(pages.Config{
		Records: records.Config{
			Lexicon: lex, Policy: policy.Default(),
			Source: records.Fixed{{ID: "N1", Resident: "B-1", Unit: "Birch", Time: at, Text: "Lifted by hand x1."}},
			// It takes as long as it takes until finish.
			Wait: func(ctx context.Context, done <-chan struct{}) error {
				if ctx.Value(slow{}) != nil {
					entered <- struct{}{}
					if err := g.Await(ctx, finish); err != nil {
						return err
					}
				}
				return g.Await(ctx, done)
			},
		},
		Session: guard.SessionOf, Saw: g.Saw, Fault: func(err error) { t.Error(err) }, Now: func() time.Time { return at.Add(time.Hour) },
	})
	if err != nil {
		t.Fatal(err)
	}
	marked := http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if r.URL.Path == "/audit" {
			r = r.WithContext(context.WithValue(r.Context(), slow{}, true))
		}
		h.ServeHTTP(w, r)
	})
	w := start(t, web.Config{Handler: g.Wrap(marked)})
	ask := func(ctx context.Context, path string) int {
		r, err := http.NewRequestWithContext(ctx, http.MethodGet, w.url+path, nil)
		if err != nil {
			t.Error(err)
			return 0
		}
		resp, err := http.DefaultClient.Do(r)
		if err != nil {
			return 0
		}
		defer resp.Body.Close()
		io.Copy(io.Discard, resp.Body)
		return resp.StatusCode
	}
	impatient, giveUp := context.WithCancel(t.Context())
	patient, gone := make(chan int, asking), make(chan int, asking)
	for range asking / 2 {
		go func() { patient <- ask(t.Context(), "audit") }()
		go func() { gone <- ask(impatient, "audit") }()
	}
	for range asking {
		<-entered
	}
	for _, path := range []string{"note", "shift", "resident?id=B-1"} {
		if status := ask(t.Context(), path); status != http.StatusOK {
			t.Errorf("/%s while %d wait for an audit: status %d, want 200", path, asking, status)
		}
	}
	giveUp()
	for range asking / 2 {
		if status := <-gone; status != 0 {
			t.Errorf("who gave up got status %d", status)
		}
	}
	close(finish)
	for range asking / 2 {
		if status := <-patient; status != http.StatusOK {
			t.Errorf("who waited got status %d, want 200", status)
		}
	}
}

// slow marks the context of a request for what takes long.
type slow struct{}

// A visitor keeps cookies and follows no redirect.
type visitor struct {
	t     *testing.T
	at    *ward
	c     http.Client
	token string
}

// visit is a visitor logged in as the user; empty for nobody.
func (w *ward) visit(t *testing.T, user string) *visitor {
	t.Helper()
	jar, err := cookiejar.New(nil)
	if err != nil {
		t.Fatal(err)
	}
	v := &visitor{t: t, at: w, c: http.Client{Jar: jar, CheckRedirect: func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse }}}
	v.fetchToken()
	if user != "" {
		if status, body := v.ask(http.MethodPost, "/enter", formKind, url.Values{"user": {user}, "password": {wardPassword}, "csrf": {v.token}}.Encode()); status != http.StatusSeeOther {
			t.Fatalf("login of %s: status %d: %s", user, status, body)
		}
		v.fetchToken()
	}
	return v
}

const formKind = "application/x-www-form-urlencoded"

func (v *visitor) fetchToken() {
	v.t.Helper()
	_, body := v.ask(http.MethodGet, "/enter", "", "")
	_, after, ok := strings.Cut(body, `name="csrf" value="`)
	if !ok {
		v.t.Fatalf("no token in %s", body)
	}
	v.token, _, _ = strings.Cut(after, `"`)
}

// ask sends one request and gives the status, 0 where there was no answer, and the body.
func (v *visitor) ask(method, path, kind, body string, header ...string) (int, string) {
	v.t.Helper()
	r, err := http.NewRequestWithContext(context.Background(), method, strings.TrimSuffix(v.at.url, "/")+path, strings.NewReader(body))
	if err != nil {
		v.t.Error(err)
		return 0, ""
	}
	if kind != "" {
		r.Header.Set("Content-Type", kind)
	}
	for i := 0; i < len(header); i += 2 {
		r.Header.Set(header[i], header[i+1])
	}
	resp, err := v.c.Do(r)
	if err != nil {
		v.t.Errorf("%s %s: %v", method, path, err)
		return 0, ""
	}
	defer resp.Body.Close()
	got, err := io.ReadAll(resp.Body)
	if err != nil {
		v.t.Errorf("%s %s: %v", method, path, err)
		return 0, ""
	}
	return resp.StatusCode, string(got)
}

// sent is the form with the visitor's token.
func (v *visitor) sent(form url.Values) string {
	if form == nil {
		return ""
	}
	with := url.Values{"csrf": {v.token}}
	for k, values := range form {
		with[k] = values
	}
	return with.Encode()
}

// refusedOrHidden asks for what is on another unit, of which the answer must show nothing.
func (v *visitor) refusedOrHidden(method, path, kind, body string) {
	v.t.Helper()
	status, page := v.ask(method, path, kind, body)
	if status != http.StatusOK && status != http.StatusNotFound {
		v.t.Errorf("about another unit: %s %s: status %d, want 200 or 404", method, path, status)
	}
	if strings.Contains(page, rowanWords) {
		v.t.Errorf("about another unit: %s %s: shows its notes", method, path)
	}
}

func (v *visitor) want(status int, why, method, path, kind, body string, header ...string) {
	v.t.Helper()
	got, page := v.ask(method, path, kind, body, header...)
	if got != status {
		v.t.Errorf("%s: %s %s: status %d, want %d", why, method, path, got, status)
	}
	if strings.Contains(page, rowanWords) || strings.Contains(page, "R-1<") {
		v.t.Errorf("%s: %s %s: shows what stands in another unit's notes", why, method, path)
	}
	if got >= 400 && (strings.Contains(page, birchWords) || strings.Contains(page, "Walked with cane")) {
		v.t.Errorf("%s: %s %s: an answer of status %d has words of a note", why, method, path, got)
	}
}

// Each route refuses whoever has not its role or unit, another method, a request of another site, a
// form without its token, and a body that is no form.
func TestEveryRouteRefuses(t *testing.T) {
	w := openWard(t)
	nobody := w.visit(t, "")
	byRole := make(map[guard.Role]*visitor)
	for _, role := range guard.Roles() {
		byRole[role] = w.visit(t, string(role))
	}
	for _, r := range routes {
		t.Run(r.pattern, func(t *testing.T) {
			method, kind := http.MethodGet, ""
			if r.form != nil {
				method, kind = http.MethodPost, formKind
			}
			nobody.t = t
			for _, v := range byRole {
				v.t = t
			}
			switch {
			case r.public:
				nobody.want(r.status, "nobody", method, r.ask, kind, "")
			case method == http.MethodPost:
				nobody.want(http.StatusUnauthorized, "nobody", method, r.ask, kind, nobody.sent(r.form))
			default:
				nobody.want(http.StatusSeeOther, "nobody", method, r.ask, kind, "")
			}
			may := byRole[guard.Write]
			for _, role := range guard.Roles() {
				v, status := byRole[role], http.StatusForbidden
				if r.role == "" || role == r.role {
					may, status = v, r.status
				}
				v.want(status, "role "+string(role), method, r.ask, kind, v.sent(r.form))
			}
			for _, other := range []string{http.MethodPut, http.MethodDelete, http.MethodPatch, http.MethodOptions, "TRACE", "PROPFIND"} {
				may.want(http.StatusMethodNotAllowed, "method", other, r.ask, kind, "")
			}
			may.want(http.StatusForbidden, "another site", method, r.ask, kind, may.sent(r.form), "Sec-Fetch-Site", "cross-site", "Sec-Fetch-Mode", "no-cors")
			if r.about != "" {
				may.refusedOrHidden(method, r.about, kind, "")
			}
			if r.form == nil {
				return
			}
			if r.foreign != nil {
				may.refusedOrHidden(method, r.ask, kind, may.sent(r.foreign))
			}
			may.want(http.StatusForbidden, "no token", method, r.ask, kind, r.form.Encode())
			may.want(http.StatusForbidden, "token of somebody else", method, r.ask, kind, nobody.sent(r.form))
			may.want(http.StatusForbidden, "origin null", method, r.ask, kind, may.sent(r.form), "Origin", "null")
			may.want(http.StatusForbidden, "origin of another site", method, r.ask, kind, may.sent(r.form), "Origin", "http://evil.example")
			for _, wrong := range []string{"application/json", "text/plain", "multipart/form-data; boundary=x", ""} {
				may.want(http.StatusUnsupportedMediaType, "kind "+wrong, method, r.ask, wrong, r.form.Encode(), guard.CSRFHeader, may.token)
			}
			may.want(http.StatusRequestEntityTooLarge, "too large", method, r.ask, kind, may.sent(r.form)+"&more="+strings.Repeat("x", guard.DefaultMaxBody))
		})
	}
	log, err := os.ReadFile(w.log)
	if err != nil {
		t.Fatal(err)
	}
	if strings.Contains(string(log), `"R-1"`) || !strings.Contains(string(log), `"user":"review","did":"saw","resident":"B-1","place":"/resident"`) {
		t.Errorf("the access log tells\n%s\nwant sights of B-1 alone", log)
	}
}

// Many people at once, with logins and logouts between, get what they may see and nothing else.
func TestManyAtOnce(t *testing.T) {
	w := openWard(t)
	var all sync.WaitGroup
	for _, role := range guard.Roles() {
		v := w.visit(t, string(role))
		for range 4 {
			all.Go(func() {
				for _, r := range routes {
					if r.form != nil || r.public {
						continue
					}
					status := http.StatusForbidden
					if r.role == "" || r.role == role {
						status = r.status
					}
					v.want(status, "role "+string(role), http.MethodGet, r.ask, "", "")
				}
				if role == guard.Write {
					v.want(http.StatusOK, "a note", http.MethodPost, "/check.json", formKind, v.sent(url.Values{"resident": {"B-1"}, "text": {fmt.Sprintf("Walked %s.", rand.Text())}}))
				}
			})
		}
	}
	all.Wait()
}
