package guard_test

import (
	"errors"
	"io"
	"net/http"
	"os"
	"path/filepath"
	"strings"
	"sync/atomic"
	"testing"
	"time"

	"example.com/stance/cmd/stance/web/guard"
)

// A callable is a server that a program may call.
type callable struct {
	*server
	log string
	now *atomic.Int64
}

// serveCallers serves a handler that says who asks, and shows R-1. Only the token "good" is one.
func serveCallers(t *testing.T, change func(*guard.Config)) *callable {
	t.Helper()
	c := &callable{log: filepath.Join(t.TempDir(), "access.jsonl"), now: new(atomic.Int64)}
	c.now.Store(time.Date(2026, 11, 24, 21, 40, 0, 0, time.UTC).Unix())
	config := guard.Config{
		AccessLog: openLog(t, c.log), Now: func() time.Time { return time.Unix(c.now.Load(), 0).UTC() },
		Callers: &guard.Callers{
			Path: "/calls", Units: []string{"Fir"}, Origins: []string{"https://records.example.org"},
			Admit: func(r *http.Request) (string, error) {
				if r.Header.Get("Authorization") != "Bearer good" {
					return "", errors.New("no good")
				}
				return "records", nil
			},
		},
	}
	if change != nil {
		change(&config)
	}
	c.server = serve(t, config, func(g *guard.Guard) http.Handler {
		return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
			s := guard.SessionOf(r.Context())
			body, err := io.ReadAll(r.Body)
			if who := r.URL.Query().Get("for"); err == nil && who != "" {
				err = g.OnBehalf(r.Context(), who)
			}
			if err == nil && r.URL.Query().Has("show") {
				err = g.Saw(r.Context(), "R-1")
			}
			if err != nil {
				http.Error(w, "not shown", http.StatusInternalServerError)
				return
			}
			io.WriteString(w, strings.Join([]string{s.User, string(body)}, " "))
			for _, may := range []guard.Role{guard.Call, guard.Write, guard.Review, guard.Audit} {
				if s.May(may) {
					io.WriteString(w, " "+string(may))
				}
			}
			for _, unit := range []string{"Fir", "Oak"} {
				if s.Sees(unit) {
					io.WriteString(w, " "+unit)
				}
			}
		})
	}, nil)
	return c
}

// ask sends a request; header is pairs of name and value.
func (c *callable) ask(t *testing.T, method, path, body string, header ...string) (*http.Response, string) {
	t.Helper()
	r, err := http.NewRequest(method, c.URL+path, strings.NewReader(body))
	if err != nil {
		t.Fatal(err)
	}
	for i := 0; i+1 < len(header); i += 2 {
		if header[i] == "Host" {
			r.Host = header[i+1]
			continue
		}
		r.Header.Set(header[i], header[i+1])
	}
	resp, err := c.Client().Do(r)
	if err != nil {
		t.Fatal(err)
	}
	defer resp.Body.Close()
	text, err := io.ReadAll(resp.Body)
	if err != nil {
		t.Fatal(err)
	}
	return resp, string(text)
}

func TestCallers(t *testing.T) {
	c := serveCallers(t, func(c *guard.Config) { c.MaxBody = 100 })
	good := []string{"Authorization", "Bearer good", "Content-Type", "application/json"}
	with := func(more ...string) []string { return append(append([]string{}, good...), more...) }
	for _, tt := range []struct {
		name, method, path, body string
		header                   []string
		status                   int
		want                     string
	}{
		{"a call", "POST", "/calls/x", "{}", good, 200, "records {} call Fir"},
		{"a question", "GET", "/calls", "", good[:2], 200, "records  call Fir"},
		{"JSON with its charset", "POST", "/calls/x", "{}", with("Content-Type", "application/json; charset=utf-8"), 200, "records"},
		{"no token", "POST", "/calls/x", "{}", good[2:], 401, "The token was not accepted"},
		{"a wrong token", "GET", "/calls", "", []string{"Authorization", "Bearer bad"}, 401, "The token was not accepted"},
		{"a form", "POST", "/calls/x", "a=b", with("Content-Type", "application/x-www-form-urlencoded"), 415, "Only JSON"},
		{"compressed", "POST", "/calls/x", "{}", with("Content-Encoding", "gzip"), 415, "Only JSON"},
		{"too long", "POST", "/calls/x", strings.Repeat("x", 101), good, 413, "too long"},
		{"another method", "DELETE", "/calls/x", "", good, 405, ""},
		{"another name for this server", "POST", "/calls/x", "{}", with("Host", "evil.example"), 421, ""},
		{"from another site", "POST", "/calls/x", "{}", with("Origin", "https://evil.example", "Sec-Fetch-Site", "cross-site"), 403, ""},
		{"up and down", "GET", "/calls/%2e%2e/x", "", good, 400, ""},
		{"a path that only begins so", "GET", "/callsign", "", good, 200, " write review audit Fir Oak"}, // that of the pages, on this machine
		{"the pages, with a token", "POST", "/", "{}", good, 403, "This page is too old"},
		{"a site that asks before it calls, unasked for", "OPTIONS", "/calls/x", "", []string{"Origin", "https://evil.example"}, 405, ""},
		{"the same beside the calls", "OPTIONS", "/", "", []string{"Origin", "https://records.example.org"}, 405, ""},
	} {
		t.Run(tt.name, func(t *testing.T) {
			resp, text := c.ask(t, tt.method, tt.path, tt.body, tt.header...)
			if resp.StatusCode != tt.status || !strings.Contains(text, tt.want) {
				t.Errorf("status %d, %q; want %d, %q", resp.StatusCode, text, tt.status, tt.want)
			}
			if strings.HasPrefix(tt.path, "/calls/") && len(resp.Cookies()) > 0 {
				t.Error("a caller was given a cookie")
			}
			if resp.Header.Get("Access-Control-Allow-Origin") != "" || resp.Header.Get("Cache-Control") != "no-store" {
				t.Errorf("headers %v", resp.Header)
			}
			if (tt.status == 401) != (resp.Header.Get("WWW-Authenticate") != "") {
				t.Errorf("WWW-Authenticate: %q", resp.Header.Get("WWW-Authenticate"))
			}
		})
	}
}

// Pages of a site that was named may call, and read the answers.
func TestCallersFromASite(t *testing.T) {
	c := serveCallers(t, nil)
	from := []string{"Origin", "https://records.example.org", "Sec-Fetch-Site", "cross-site", "Sec-Fetch-Mode", "cors"}
	resp, _ := c.ask(t, "OPTIONS", "/calls/x", "", append(from, "Access-Control-Request-Method", "POST", "Access-Control-Request-Headers", "authorization,content-type")...)
	h := resp.Header
	if resp.StatusCode != 204 || h.Get("Access-Control-Allow-Origin") != from[1] || h.Get("Access-Control-Allow-Methods") != "GET, POST" ||
		h.Get("Access-Control-Allow-Headers") != "Authorization, Content-Type" || h.Get("Access-Control-Allow-Credentials") != "" || h.Get("Vary") != "Origin" {
		t.Errorf("asked before: status %d, %v", resp.StatusCode, h)
	}
	resp, text := c.ask(t, "POST", "/calls/x", "{}", append(from, "Authorization", "Bearer good", "Content-Type", "application/json")...)
	if resp.StatusCode != 200 || text != "records {} call Fir" || resp.Header.Get("Access-Control-Allow-Origin") != from[1] {
		t.Errorf("status %d, %q, %v", resp.StatusCode, text, resp.Header)
	}
	if resp, _ := c.ask(t, "POST", "/calls/x", "{}", from...); resp.StatusCode != 401 || resp.Header.Get("Access-Control-Allow-Origin") != from[1] {
		t.Errorf("without a token: status %d, %v", resp.StatusCode, resp.Header)
	}
	if resp, _ := c.ask(t, "GET", "/", "", from...); resp.StatusCode != 403 {
		t.Errorf("its pages at the pages here: status %d", resp.StatusCode)
	}
}

// The access log tells who saw whom on whose behalf, and of refused callers once a minute.
func TestCallersAccessLog(t *testing.T) {
	c := serveCallers(t, nil)
	for range 3 {
		c.ask(t, "GET", "/calls/x?show", "", "Authorization", "Bearer bad")
	}
	c.now.Add(30)
	for range 2 {
		c.ask(t, "GET", "/calls/x?show&for=Practitioner/a17", "", "Authorization", "Bearer good")
	}
	c.ask(t, "GET", "/calls/x?show&for=Practitioner/b18", "", "Authorization", "Bearer good")
	c.now.Add(30)
	c.ask(t, "GET", "/calls/x?show", "", "Authorization", "Bearer bad")
	text, err := os.ReadFile(c.log)
	want := `{"time":"2026-11-24T21:40:00Z","user":"","did":"refused","place":"/calls"}
{"time":"2026-11-24T21:40:30Z","user":"records","for":"Practitioner/a17","did":"saw","resident":"R-1","place":"/calls/x"}
{"time":"2026-11-24T21:40:30Z","user":"records","for":"Practitioner/b18","did":"saw","resident":"R-1","place":"/calls/x"}
{"time":"2026-11-24T21:41:00Z","user":"","did":"refused","place":"/calls"}
`
	if err != nil || string(text) != want {
		t.Errorf("access log, %v:\n%s\nwant\n%s", err, text, want)
	}
	if got, want := c.faults.String(), "/calls: a caller was refused: no good\n/calls: a caller was refused: no good"; got != want {
		t.Errorf("told %q, want %q", got, want)
	}
	if _, err := guard.New(guard.Config{Bind: "127.0.0.1:0", Callers: &guard.Callers{Path: "/calls"}}); err == nil || !strings.Contains(err.Error(), "want an access log") {
		t.Errorf("without an access log: %v", err)
	}
}

// Where the access log cannot be written, a caller is shown nothing.
func TestCallersUnwritableLog(t *testing.T) {
	log := openLog(t, filepath.Join(t.TempDir(), "access.jsonl"))
	c := serveCallers(t, func(c *guard.Config) { c.AccessLog = log })
	if err := log.Close(); err != nil {
		t.Fatal(err)
	}
	if resp, text := c.ask(t, "GET", "/calls/x?show", "", "Authorization", "Bearer good"); resp.StatusCode != 500 || strings.Contains(text, "records") {
		t.Errorf("status %d, %q", resp.StatusCode, text)
	}
}

// Callers have the same limits as people: where no turn is free, they are told to come again.
func TestCallersTurns(t *testing.T) {
	held, free := make(chan struct{}), make(chan struct{})
	s := serve(t, guard.Config{
		MaxRequests: 1, Wait: time.Millisecond, AccessLog: openLog(t, filepath.Join(t.TempDir(), "access.jsonl")),
		Callers: &guard.Callers{Path: "/calls", Admit: func(*http.Request) (string, error) { return "records", nil }},
	}, func(*guard.Guard) http.Handler {
		return http.HandlerFunc(func(http.ResponseWriter, *http.Request) {
			held <- struct{}{}
			<-free
		})
	}, nil)
	c := &callable{server: s}
	done := make(chan struct{})
	go func() {
		defer close(done)
		resp, err := c.Client().Get(c.URL + "/calls")
		if err == nil {
			resp.Body.Close()
		}
	}()
	<-held
	if resp, _ := c.ask(t, "GET", "/calls", ""); resp.StatusCode != http.StatusServiceUnavailable || resp.Header.Get("Retry-After") == "" {
		t.Errorf("status %d, %v", resp.StatusCode, resp.Header)
	}
	close(free)
	<-done
}
