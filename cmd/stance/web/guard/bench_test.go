package guard_test

import (
	"net/http"
	"net/http/httptest"
	"path/filepath"
	"strings"
	"testing"

	"example.com/stance/cmd/stance/web/guard"
)

// BenchmarkWrap is what the guard adds to a keystroke's check: a form of 2,000 characters with its
// token, and a line of the access log, which is written once a minute.
func BenchmarkWrap(b *testing.B) {
	g, err := guard.New(guard.Config{Bind: "127.0.0.1:8420", AccessLog: openLog(b, filepath.Join(b.TempDir(), "access.jsonl"))})
	if err != nil {
		b.Fatal(err)
	}
	token := ""
	h := g.Wrap(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		token = guard.SessionOf(r.Context()).CSRF
		if err := g.Saw(r.Context(), "R-1"); err != nil {
			b.Error(err)
		}
	}))
	ask := func(method string, cookies []*http.Cookie) *httptest.ResponseRecorder {
		r := httptest.NewRequest(method, "http://127.0.0.1:8420/check.json", strings.NewReader(strings.Repeat("x", 2000)))
		r.Header.Set(guard.CSRFHeader, token)
		r.Header.Set("Sec-Fetch-Site", "same-origin")
		r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
		for _, c := range cookies {
			r.AddCookie(c)
		}
		w := httptest.NewRecorder()
		h.ServeHTTP(w, r)
		return w
	}
	cookies := ask(http.MethodGet, nil).Result().Cookies()
	b.ReportAllocs()
	for b.Loop() {
		if w := ask(http.MethodPost, cookies); w.Code != http.StatusOK {
			b.Fatalf("status %d, want 200", w.Code)
		}
	}
}

// BenchmarkLogin is one login, nearly all of it the hash of the password.
func BenchmarkLogin(b *testing.B) {
	users := openUsers(b, usersFile(b))
	log := openLog(b, filepath.Join(b.TempDir(), "access.jsonl"))
	g, err := guard.New(guard.Config{Bind: "127.0.0.1:8420", Users: users, AccessLog: log})
	if err != nil {
		b.Fatal(err)
	}
	h := g.Wrap(http.NotFoundHandler())
	w := httptest.NewRecorder()
	h.ServeHTTP(w, httptest.NewRequest(http.MethodGet, "http://127.0.0.1:8420"+guard.EnterPath, nil))
	cookies := w.Result().Cookies()
	_, after, _ := strings.Cut(w.Body.String(), `name="csrf" value="`)
	token, _, _ := strings.Cut(after, `"`)
	for b.Loop() {
		r := httptest.NewRequest(http.MethodPost, "http://127.0.0.1:8420"+guard.EnterPath, strings.NewReader("user="+writer+"&password="+strings.ReplaceAll(password, " ", "+")))
		r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
		r.Header.Set(guard.CSRFHeader, token)
		r.AddCookie(cookies[0])
		w := httptest.NewRecorder()
		if h.ServeHTTP(w, r); w.Code != http.StatusSeeOther {
			b.Fatalf("status %d, want 303", w.Code)
		}
	}
}
