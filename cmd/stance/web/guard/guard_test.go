package guard_test

import (
	"bufio"
	"crypto/x509"
	"errors"
	"fmt"
	"html/template"
	"io"
	"net"
	"net/http"
	"net/http/cookiejar"
	"net/http/httptest"
	"net/url"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"example.com/stance/cmd/stance/web/guard"
)

func TestNewRefusesWhatIsUnsafe(t *testing.T) {
	users, log := openUsers(t, usersFile(t)), openLog(t, filepath.Join(t.TempDir(), "access.jsonl"))
	cert := new(x509.Certificate)
	for _, tt := range []struct {
		name string
		c    guard.Config
		want string // of the error; empty: none
	}{
		{"loopback", guard.Config{Bind: "127.0.0.1:8420"}, ""},
		{"other loopback", guard.Config{Bind: "127.8.8.8:8420"}, ""},
		{"loopback by name", guard.Config{Bind: "localhost:0"}, ""},
		{"loopback, IPv6", guard.Config{Bind: "[::1]:8420"}, ""},
		{"loopback, IPv4 in IPv6", guard.Config{Bind: "[::ffff:127.0.0.1]:8420"}, ""},
		{"loopback with users", guard.Config{Bind: "127.0.0.1:8420", Users: users, AccessLog: log}, ""},
		{"loopback with users, no log", guard.Config{Bind: "127.0.0.1:8420", Users: users}, "want an access log with a file of users"},
		{"all addresses", guard.Config{Bind: ":8420"}, "want a TLS certificate and its key, a file of users, an access log to listen on :8420, which other machines can reach"},
		{"all addresses, IPv6", guard.Config{Bind: "[::]:8420"}, "want a TLS certificate and its key, a file of users, an access log to listen on [::]:8420"},
		{"other address", guard.Config{Bind: "192.0.2.7:8420", Certificate: cert}, "want a file of users, an access log to listen"},
		{"other address, plain", guard.Config{Bind: "192.0.2.7:8420", Users: users, AccessLog: log}, "want a TLS certificate and its key to listen"},
		{"other address, all given", guard.Config{Bind: "192.0.2.7:8420", Certificate: cert, Users: users, AccessLog: log}, ""},
		{"name of a host", guard.Config{Bind: "ward.example:8420"}, "want an IP address or localhost"},
		{"no port", guard.Config{Bind: "127.0.0.1"}, "want host:port"},
		{"port of letters", guard.Config{Bind: "127.0.0.1:http"}, "want host:port"},
		{"nothing", guard.Config{}, "want host:port"},
	} {
		t.Run(tt.name, func(t *testing.T) {
			_, err := guard.New(tt.c)
			switch {
			case tt.want == "" && err != nil:
				t.Errorf("New(%s): %v, want no error", tt.c.Bind, err)
			case tt.want != "" && (err == nil || !strings.Contains(err.Error(), tt.want)):
				t.Errorf("New(%s): %v, want %q", tt.c.Bind, err, tt.want)
			}
		})
	}
}

// A server is a guarded handler on a listener of its own.
type server struct {
	*httptest.Server
	guard  *guard.Guard
	faults *faults
}

type faults struct {
	mu    sync.Mutex
	lines []string
}

func (f *faults) say(line string) {
	f.mu.Lock()
	defer f.mu.Unlock()
	f.lines = append(f.lines, line)
}

func (f *faults) String() string {
	f.mu.Lock()
	defer f.mu.Unlock()
	return strings.Join(f.lines, "\n")
}

// serve puts what handler makes behind a guard of c, and serves it with the time-outs of set.
func serve(t *testing.T, c guard.Config, handler func(*guard.Guard) http.Handler, set func(*http.Server)) *server {
	t.Helper()
	s := &server{Server: httptest.NewUnstartedServer(nil), faults: &faults{}}
	c.Bind, c.Say = s.Listener.Addr().String(), s.faults.say
	g, err := guard.New(c)
	if err != nil {
		t.Fatal(err)
	}
	s.guard = g
	s.Config.Handler = g.Wrap(handler(g))
	if set != nil {
		set(s.Config)
	}
	if c.Certificate != nil {
		t.Fatal("serve is for plain HTTP")
	}
	s.Start()
	t.Cleanup(s.Close)
	return s
}

// page is a small place: it shows the token, the resident asked for, and what was sent.
func page(g *guard.Guard) http.Handler {
	view := template.Must(template.New("").Parse(`<p id="token">{{.CSRF}}</p><p>user {{.User}}, saw {{.Resident}}, said {{.Text}}</p>`))
	mux := http.NewServeMux()
	mux.HandleFunc("/{$}", func(w http.ResponseWriter, r *http.Request) {
		s := guard.SessionOf(r.Context())
		if err := view.Execute(w, map[string]string{"CSRF": s.CSRF, "User": s.User, "Text": r.PostFormValue("text")}); err != nil {
			http.Error(w, "template", http.StatusInternalServerError)
		}
	})
	mux.HandleFunc("/resident/{id}", func(w http.ResponseWriter, r *http.Request) {
		s := guard.SessionOf(r.Context())
		if !s.May(guard.Review) {
			http.Error(w, "not for your role", http.StatusForbidden)
			return
		}
		if unit := r.FormValue("unit"); !s.Sees(unit) {
			http.NotFound(w, r)
			return
		}
		if err := g.Saw(r.Context(), r.PathValue("id")); err != nil {
			http.Error(w, "not shown", http.StatusInternalServerError)
			return
		}
		if err := view.Execute(w, map[string]string{"CSRF": s.CSRF, "User": s.User, "Resident": r.PathValue("id")}); err != nil {
			http.Error(w, "template", http.StatusInternalServerError)
		}
	})
	return mux
}

// A browser keeps cookies, follows no redirect, and sends what a browser sends with its own pages.
type browser struct {
	t     *testing.T
	s     *server
	c     *http.Client
	token string
}

func (s *server) browser(t *testing.T) *browser {
	t.Helper()
	jar, err := cookiejar.New(nil)
	if err != nil {
		t.Fatal(err)
	}
	c := *s.Client()
	c.Jar = jar
	c.CheckRedirect = func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse }
	return &browser{t: t, s: s, c: &c}
}

// do sends one request and gives the answer with its body.
func (b *browser) do(method, path, body string, header ...string) (*http.Response, string) {
	b.t.Helper()
	r, err := http.NewRequest(method, b.s.URL+path, strings.NewReader(body))
	if err != nil {
		b.t.Fatal(err)
	}
	if method == http.MethodPost {
		r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
		r.Header.Set("Sec-Fetch-Site", "same-origin")
	}
	for i := 0; i < len(header); i += 2 {
		r.Header.Set(header[i], header[i+1])
		if header[i] == "Host" {
			r.Host = header[i+1]
		}
		if header[i+1] == "" {
			r.Header.Del(header[i])
		}
	}
	resp, err := b.c.Do(r)
	if err != nil {
		b.t.Fatalf("%s %s: %v", method, path, err)
	}
	defer resp.Body.Close()
	got, err := io.ReadAll(resp.Body)
	if err != nil {
		b.t.Fatalf("%s %s: %v", method, path, err)
	}
	for _, mark := range []string{`<p id="token">`, `name="csrf" value="`} {
		if _, after, ok := strings.Cut(string(got), mark); ok {
			b.token, _, _ = strings.Cut(strings.NewReplacer(`"`, "<").Replace(after), "<")
		}
	}
	return resp, string(got)
}

func (b *browser) get(path string, header ...string) (*http.Response, string) {
	b.t.Helper()
	return b.do(http.MethodGet, path, "", header...)
}

// post sends a form with the token of the last page.
func (b *browser) post(path string, form url.Values, header ...string) (*http.Response, string) {
	b.t.Helper()
	sent := url.Values{guard.CSRFField: {b.token}}
	for k, v := range form {
		sent[k] = v
	}
	return b.do(http.MethodPost, path, sent.Encode(), header...)
}

// cookie is the value of the browser's cookie of its session.
func (b *browser) cookie() string {
	b.t.Helper()
	return b.cookieNamed("")
}

// cookieNamed is the value of the cookie whose name ends so after the port, empty for none.
func (b *browser) cookieNamed(end string) string {
	b.t.Helper()
	u, err := url.Parse(b.s.URL)
	if err != nil {
		b.t.Fatal(err)
	}
	for _, c := range b.c.Jar.Cookies(u) {
		if c.Name == "stance-"+u.Port()+end {
			return c.Value
		}
	}
	return ""
}

func TestHostHeader(t *testing.T) {
	s := serve(t, guard.Config{}, page, nil)
	_, port, err := net.SplitHostPort(s.Listener.Addr().String())
	if err != nil {
		t.Fatal(err)
	}
	for _, tt := range []struct {
		host string
		want int
	}{
		{"127.0.0.1:" + port, http.StatusOK},
		{"localhost:" + port, http.StatusOK},
		{"LocalHost", http.StatusOK},
		{"[::1]:" + port, http.StatusOK},
		{"[::1]", http.StatusOK},
		{"evil.example", http.StatusMisdirectedRequest},
		{"evil.example:" + port, http.StatusMisdirectedRequest},
		{"127.0.0.1.evil.example", http.StatusMisdirectedRequest},
		{"localhost.evil.example:" + port, http.StatusMisdirectedRequest},
		{"localhost.", http.StatusMisdirectedRequest},
		{"192.0.2.7:" + port, http.StatusMisdirectedRequest},
		{"0.0.0.0:" + port, http.StatusMisdirectedRequest},
		{"localhost:evil", http.StatusMisdirectedRequest},
	} {
		if resp, _ := s.browser(t).get("/", "Host", tt.host); resp.StatusCode != tt.want {
			t.Errorf("Host %s: status %d, want %d", tt.host, resp.StatusCode, tt.want)
		}
	}
}

// Over TLS the certificate says by which names the server goes.
func TestHostsOfTheCertificate(t *testing.T) {
	s := httptest.NewUnstartedServer(nil)
	s.StartTLS() // to have its certificate, which is for example.com and 127.0.0.1
	defer s.Close()
	g, err := guard.New(guard.Config{Bind: "192.0.2.7:8420", Certificate: s.Certificate(), Users: openUsers(t, usersFile(t)), AccessLog: openLog(t, filepath.Join(t.TempDir(), "log"))})
	if err != nil {
		t.Fatal(err)
	}
	h := g.Wrap(page(g))
	for _, tt := range []struct {
		host string
		want int
	}{
		{"example.com:8420", http.StatusOK},
		{"127.0.0.1:8420", http.StatusOK},
		{"localhost:8420", http.StatusMisdirectedRequest},
		{"evil.example", http.StatusMisdirectedRequest},
	} {
		r := httptest.NewRequest(http.MethodGet, guard.EnterPath, nil)
		r.Host = tt.host
		w := httptest.NewRecorder()
		h.ServeHTTP(w, r)
		if w.Code != tt.want {
			t.Errorf("Host %s: status %d, want %d", tt.host, w.Code, tt.want)
		}
		if tt.want != http.StatusOK {
			continue
		}
		if got := w.Header().Get("Strict-Transport-Security"); got == "" {
			t.Errorf("Host %s: no Strict-Transport-Security", tt.host)
		}
		c := w.Result().Cookies()[0]
		if !strings.HasPrefix(c.Name, "__Host-") || !c.Secure || !c.HttpOnly || c.SameSite != http.SameSiteStrictMode || c.Path != "/" || c.Domain != "" {
			t.Errorf("Host %s: cookie %s, want __Host-, Secure, HttpOnly, SameSite=Strict, Path=/ and no Domain", tt.host, c)
		}
	}
}

func TestHeadersOnEveryAnswer(t *testing.T) {
	s := serve(t, guard.Config{MaxBody: 10}, page, nil)
	b := s.browser(t)
	want := map[string]string{
		"Content-Security-Policy": "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data:; connect-src 'self'; " +
			"form-action 'self'; base-uri 'none'; frame-ancestors 'none'",
		"X-Content-Type-Options":       "nosniff",
		"X-Frame-Options":              "DENY",
		"Referrer-Policy":              "same-origin",
		"Cross-Origin-Opener-Policy":   "same-origin",
		"Cross-Origin-Resource-Policy": "same-origin",
		"Cache-Control":                "no-store",
	}
	for _, tt := range []struct {
		method, path, body string
		status             int
	}{
		{"GET", "/", "", 200},
		{"GET", "/no/such", "", 404},
		{"POST", "/", "csrf=x", 403},
		{"POST", "/", "more than ten", 413},
		{"DELETE", "/", "", 405},
	} {
		resp, _ := b.do(tt.method, tt.path, tt.body)
		if resp.StatusCode != tt.status {
			t.Errorf("%s %s: status %d, want %d", tt.method, tt.path, resp.StatusCode, tt.status)
		}
		for name, value := range want {
			if got := resp.Header.Get(name); got != value {
				t.Errorf("%s %s: %s: %q, want %q", tt.method, tt.path, name, got, value)
			}
		}
	}
	resp, _ := b.get("/static/page.css")
	if got := resp.Header.Get("Cache-Control"); got != "no-cache" {
		t.Errorf("static: Cache-Control: %q, want no-cache", got)
	}
}

func TestWhereRequestsComeFrom(t *testing.T) {
	s := serve(t, guard.Config{}, page, nil)
	other := s.browser(t)
	other.get("/")
	for _, tt := range []struct {
		name   string
		token  string // empty: the right one
		header []string
		want   int
	}{
		{"own form", "", nil, 200},
		{"own form, by its origin", "", []string{"Sec-Fetch-Site", "", "Origin", s.URL}, 200},
		{"no browser", "", []string{"Sec-Fetch-Site", ""}, 200},
		{"own script", "none", []string{guard.CSRFHeader, "right"}, 200},
		{"form of another site", "", []string{"Sec-Fetch-Site", "cross-site"}, 403},
		{"form of a neighbour site", "", []string{"Sec-Fetch-Site", "same-site"}, 403},
		{"form of another site, by its origin", "", []string{"Sec-Fetch-Site", "", "Origin", "http://evil.example"}, 403},
		{"form of a hidden site", "", []string{"Sec-Fetch-Site", "", "Origin", "null"}, 403},
		{"form of another port", "", []string{"Sec-Fetch-Site", "", "Origin", "http://127.0.0.1:1"}, 403},
		{"no token", "none", nil, 403},
		{"forged token", strings.Repeat("A", 43), nil, 403},
		{"token of another session", other.token, nil, 403},
		{"forged token of a script", "", []string{guard.CSRFHeader, strings.Repeat("A", 43)}, 403},
		{"token in a body that is no form", "", []string{"Content-Type", "text/plain"}, 403},
		{"no form, from a script", "none", []string{guard.CSRFHeader, "right", "Content-Type", "application/json"}, 415},
		{"form of another kind", "none", []string{guard.CSRFHeader, "right", "Content-Type", "multipart/form-data; boundary=x"}, 415},
		{"nothing said of the kind", "none", []string{guard.CSRFHeader, "right", "Content-Type", ""}, 415},
		{"compressed form", "none", []string{guard.CSRFHeader, "right", "Content-Encoding", "gzip"}, 415},
	} {
		t.Run(tt.name, func(t *testing.T) {
			b := s.browser(t)
			b.get("/")
			token := b.token
			if i := slices.Index(tt.header, "right"); i >= 0 {
				tt.header[i] = token
			}
			form := url.Values{"text": {"sent"}}
			switch tt.token {
			case "":
			case "none":
				form.Set(guard.CSRFField, "")
			default:
				form.Set(guard.CSRFField, tt.token)
			}
			resp, body := b.post("/", form, tt.header...)
			if resp.StatusCode != tt.want {
				t.Errorf("status %d, want %d", resp.StatusCode, tt.want)
			}
			if got := strings.Contains(body, "said sent"); got != (tt.want == 200) {
				t.Errorf("the handler ran: %t, want %t", got, tt.want == 200)
			}
		})
	}
}

// Another site may link here, but load nothing from here.
func TestForeignLoads(t *testing.T) {
	b := serve(t, guard.Config{}, page, nil).browser(t)
	for _, tt := range []struct {
		site, mode string
		want       int
	}{
		{"cross-site", "navigate", 200}, {"none", "navigate", 200}, {"same-origin", "cors", 200},
		{"cross-site", "no-cors", 403}, {"cross-site", "cors", 403}, {"same-site", "no-cors", 403},
	} {
		if resp, _ := b.get("/", "Sec-Fetch-Site", tt.site, "Sec-Fetch-Mode", tt.mode); resp.StatusCode != tt.want {
			t.Errorf("%s %s: status %d, want %d", tt.site, tt.mode, resp.StatusCode, tt.want)
		}
	}
}

func TestPathTraversal(t *testing.T) {
	dir := t.TempDir()
	if err := os.Mkdir(filepath.Join(dir, "static"), 0o700); err != nil {
		t.Fatal(err)
	}
	for name, text := range map[string]string{"secret": "Zebra", "static/page.css": "p{}"} {
		if err := os.WriteFile(filepath.Join(dir, name), []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	// A careless handler, which glues the path to a folder.
	careless := func(*guard.Guard) http.Handler {
		return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
			text, err := os.ReadFile(filepath.Join(dir, "static", strings.TrimPrefix(r.URL.Path, "/static/")))
			if err != nil {
				http.NotFound(w, r)
				return
			}
			w.Write(text)
		})
	}
	s := serve(t, guard.Config{}, careless, nil)
	if _, body := s.browser(t).get("/static/page.css"); body != "p{}" {
		t.Fatalf("the style sheet is %q, want p{}", body)
	}
	for _, path := range []string{
		"/static/../secret", "/static/%2e%2e/secret", "/static/..%2fsecret", "/static/.%2e/secret", "/static/x/../../secret",
		`/static/..\secret`, "/static/..%5csecret", "/static/%00/../secret", "/static/./../secret", "static/../secret",
	} {
		// Straight to the socket, because clients clean paths.
		conn, err := net.Dial("tcp", s.Listener.Addr().String())
		if err != nil {
			t.Fatal(err)
		}
		fmt.Fprintf(conn, "GET %s HTTP/1.1\r\nHost: localhost\r\nConnection: close\r\n\r\n", path)
		answer, err := io.ReadAll(conn)
		conn.Close()
		if err != nil {
			t.Fatal(err)
		}
		if !strings.HasPrefix(string(answer), "HTTP/1.1 400 ") || strings.Contains(string(answer), "Zebra") {
			t.Errorf("GET %s: %.40q, want status 400", path, answer)
		}
	}
}

// Requests that wait for one thing leave their turns to others, and take them again to answer.
func TestAwaitLeavesTheTurn(t *testing.T) {
	done, waiting := make(chan struct{}), make(chan struct{}, 8)
	s := serve(t, guard.Config{MaxRequests: 1, Wait: time.Hour, RequestTime: time.Hour}, func(g *guard.Guard) http.Handler {
		mux := http.NewServeMux()
		mux.HandleFunc("/{$}", func(w http.ResponseWriter, _ *http.Request) { fmt.Fprint(w, "served") })
		mux.HandleFunc("/long", func(w http.ResponseWriter, r *http.Request) {
			waiting <- struct{}{}
			if err := g.Await(r.Context(), done); err != nil {
				http.Error(w, err.Error(), http.StatusServiceUnavailable)
			}
		})
		return mux
	}, nil)
	ended := make(chan int, 8)
	for range 8 {
		go func() {
			resp, err := s.Client().Get(s.URL + "/long")
			if err != nil {
				t.Error(err)
				ended <- 0
				return
			}
			resp.Body.Close()
			ended <- resp.StatusCode
		}()
	}
	for range 8 {
		<-waiting // all eight are past their one turn
	}
	s.browser(t).wantStatus("/", http.StatusOK)
	close(done)
	for range 8 {
		if status := <-ended; status != http.StatusOK {
			t.Errorf("who waited got status %d, want 200", status)
		}
	}
	s.browser(t).wantStatus("/", http.StatusOK)
}

func TestOversizedBody(t *testing.T) {
	called := false
	s := serve(t, guard.Config{MaxBody: 1000}, func(*guard.Guard) http.Handler {
		return http.HandlerFunc(func(http.ResponseWriter, *http.Request) { called = true })
	}, nil)
	for _, tt := range []struct {
		name string
		body io.Reader
	}{
		{"length told", strings.NewReader(strings.Repeat("x", 1001))},
		{"in chunks", io.MultiReader(strings.NewReader(strings.Repeat("x", 1001)))},
	} {
		resp, err := s.Client().Post(s.URL+"/", "text/plain", tt.body)
		if err != nil {
			t.Fatal(err)
		}
		resp.Body.Close()
		if resp.StatusCode != http.StatusRequestEntityTooLarge || called {
			t.Errorf("%s: status %d, handler called %t, want 413 and not called", tt.name, resp.StatusCode, called)
		}
	}
}

// A client that trickles takes no turn from others, and is cut off.
func TestSlowBody(t *testing.T) {
	t.Parallel()
	// Long enough for the header to be read on a busy machine, whose client is not slow.
	s := serve(t, guard.Config{MaxRequests: 1, Wait: time.Millisecond}, page, func(h *http.Server) { h.ReadTimeout = 5 * time.Second })
	slow, err := net.Dial("tcp", s.Listener.Addr().String())
	if err != nil {
		t.Fatal(err)
	}
	defer slow.Close()
	fmt.Fprintf(slow, "POST / HTTP/1.1\r\nHost: localhost\r\nContent-Length: 100\r\n\r\nx")
	if resp, _ := s.browser(t).get("/"); resp.StatusCode != http.StatusOK {
		t.Errorf("beside a slow client: status %d, want 200", resp.StatusCode)
	}
	resp, err := http.ReadResponse(bufio.NewReader(slow), nil)
	if err != nil {
		t.Fatal(err)
	}
	defer resp.Body.Close()
	if resp.StatusCode != http.StatusRequestTimeout || !resp.Close {
		t.Errorf("the slow client: status %d, closed %t, want 408 and closed", resp.StatusCode, resp.Close)
	}
}

func TestTooManyAtOnce(t *testing.T) {
	entered, release := make(chan struct{}), make(chan struct{})
	s := serve(t, guard.Config{MaxRequests: 1, Wait: time.Millisecond}, func(*guard.Guard) http.Handler {
		return http.HandlerFunc(func(_ http.ResponseWriter, r *http.Request) {
			if r.URL.Path == "/long" {
				close(entered)
				<-release
			}
		})
	}, nil)
	var long sync.WaitGroup
	long.Go(func() { s.browser(t).get("/long") })
	<-entered
	resp, _ := s.browser(t).get("/")
	if resp.StatusCode != http.StatusServiceUnavailable || resp.Header.Get("Retry-After") == "" {
		t.Errorf("status %d, Retry-After %q, want 503 and a time", resp.StatusCode, resp.Header.Get("Retry-After"))
	}
	close(release)
	long.Wait()
	if resp, _ := s.browser(t).get("/"); resp.StatusCode != http.StatusOK {
		t.Errorf("afterwards: status %d, want 200", resp.StatusCode)
	}
}

func TestTimeOfARequest(t *testing.T) {
	s := serve(t, guard.Config{RequestTime: 20 * time.Millisecond}, func(*guard.Guard) http.Handler {
		return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
			<-r.Context().Done()
			io.WriteString(w, "Zebra")
		})
	}, nil)
	if resp, body := s.browser(t).get("/"); resp.StatusCode != http.StatusServiceUnavailable || strings.Contains(body, "Zebra") {
		t.Errorf("status %d, body %q, want 503", resp.StatusCode, body)
	}
}

// What a handler panics with could be words of a note.
func TestPanic(t *testing.T) {
	s := serve(t, guard.Config{}, func(*guard.Guard) http.Handler {
		return http.HandlerFunc(func(http.ResponseWriter, *http.Request) { panic("Zebra") })
	}, nil)
	resp, body := s.browser(t).get("/")
	if resp.StatusCode != http.StatusInternalServerError || strings.Contains(body, "Zebra") {
		t.Errorf("status %d, body %q, want 500 without the value", resp.StatusCode, body)
	}
	if got := s.faults.String(); !strings.Contains(got, "panic with a string") || strings.Contains(got, "Zebra") {
		t.Errorf("told: %q, want the fault without the value", got)
	}
}

func TestScriptIsEscaped(t *testing.T) {
	s := serve(t, guard.Config{}, page, nil)
	const script = "<script>alert(1)</script>"
	b := s.browser(t)
	b.get("/")
	if _, body := b.post("/", url.Values{"text": {script}}); strings.Contains(body, "<script") || !strings.Contains(body, "&lt;script") {
		t.Errorf("in a text: %q", body)
	}
	if _, body := b.get("/resident/" + url.PathEscape(script)); strings.Contains(body, "<script") || !strings.Contains(body, "&lt;script") {
		t.Errorf("in a resident's name: %q", body)
	}
}

// What the access log cannot tell of is not shown, even by a handler that looks away.
func TestUnwritableAccessLog(t *testing.T) {
	log := openLog(t, filepath.Join(t.TempDir(), "access.jsonl"))
	s := serve(t, guard.Config{AccessLog: log}, func(g *guard.Guard) http.Handler {
		mux := http.NewServeMux()
		mux.Handle("/", page(g))
		mux.HandleFunc("/careless", func(w http.ResponseWriter, r *http.Request) {
			_ = g.Saw(r.Context(), "R-1")
			io.WriteString(w, "Zebra")
		})
		return mux
	}, nil)
	if resp, _ := s.browser(t).get("/resident/R-1"); resp.StatusCode != http.StatusOK {
		t.Fatalf("status %d, want 200", resp.StatusCode)
	}
	if err := log.Close(); err != nil {
		t.Fatal(err)
	}
	for _, path := range []string{"/resident/R-2", "/careless"} {
		if resp, body := s.browser(t).get(path); resp.StatusCode != http.StatusInternalServerError || strings.Contains(body, "R-2") || strings.Contains(body, "Zebra") {
			t.Errorf("%s: status %d, body %q, want 500", path, resp.StatusCode, body)
		}
	}
	if got := s.faults.String(); !strings.Contains(got, "access log: ") {
		t.Errorf("told: %q, want that the access log cannot be written", got)
	}
}

func openUsers(t testing.TB, file string) *guard.Users {
	t.Helper()
	u, err := guard.OpenUsers(file)
	if err != nil {
		t.Fatal(err)
	}
	return u
}

func openLog(t testing.TB, file string) *guard.AccessLog {
	t.Helper()
	l, err := guard.OpenAccessLog(file)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if err := l.Close(); err != nil && !errors.Is(err, os.ErrClosed) {
			t.Error(err)
		}
	})
	return l
}

// Requests that no browser sends get past neither the check of the Host header nor that of the body.
func TestCraftedRequests(t *testing.T) {
	s := serve(t, guard.Config{}, page, nil)
	const end = "Connection: close\r\n\r\n"
	for _, tt := range []struct{ name, send, want string }{
		{"no Host", "GET / HTTP/1.1\r\n" + end, "HTTP/1.1 400 "},
		{"no Host, as of old", "GET / HTTP/1.0\r\n\r\n", "HTTP/1.0 421 "},
		{"two Hosts", "GET / HTTP/1.1\r\nHost: localhost\r\nHost: evil.example\r\n" + end, "HTTP/1.1 400 "},
		{"another host in the address", "GET http://evil.example/ HTTP/1.1\r\nHost: localhost\r\n" + end, "HTTP/1.1 421 "},
		{"a tunnel", "CONNECT localhost:22 HTTP/1.1\r\nHost: localhost\r\n" + end, "HTTP/1.1 405 "},
		{"two lengths", "POST / HTTP/1.1\r\nHost: localhost\r\nContent-Length: 1\r\nContent-Length: 2\r\n" + end + "xx", "HTTP/1.1 400 "},
		{"a length and chunks", "POST / HTTP/1.1\r\nHost: localhost\r\nContent-Length: 40\r\nTransfer-Encoding: chunked\r\n" + end + "0\r\n\r\nGET / HTTP/1.1\r\nHost: localhost\r\n\r\n", "HTTP/1.1 403 "},
		{"chunks that are none", "POST / HTTP/1.1\r\nHost: localhost\r\nTransfer-Encoding: chunked\r\n" + end + "zebra\r\n", "HTTP/1.1 408 "},
		{"a length beyond the limit", "POST / HTTP/1.1\r\nHost: localhost\r\nContent-Length: 99999999999\r\n" + end, "HTTP/1.1 413 "},
		{"one session and another", "POST / HTTP/1.1\r\nHost: localhost\r\nCookie: stance=" + strings.Repeat("A", 43) + "; stance=" + strings.Repeat("B", 43) + "\r\nContent-Length: 0\r\n" + end, "HTTP/1.1 403 "},
	} {
		t.Run(tt.name, func(t *testing.T) {
			conn, err := net.Dial("tcp", s.Listener.Addr().String())
			if err != nil {
				t.Fatal(err)
			}
			defer conn.Close()
			fmt.Fprint(conn, tt.send)
			answer, err := io.ReadAll(conn)
			if len(answer) == 0 {
				t.Fatalf("no answer: %v", err)
			}
			if !strings.HasPrefix(string(answer), tt.want) || strings.Count(string(answer), "HTTP/1.") != 1 {
				t.Errorf("answered %.200q, want one answer, %s", answer, tt.want)
			}
		})
	}
}
