package pages_test

import (
	"context"
	"errors"
	"fmt"
	"io"
	"net/http"
	"net/http/httptest"
	"net/url"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"example.com/stance/cmd/stance/web/guard"
	"example.com/stance/cmd/stance/web/pages"
	"example.com/stance/cmd/stance/web/pages/records"
	"example.com/stance/lexicon"
	"example.com/stance/lint/chart"
	"example.com/stance/lint/note"
	"example.com/stance/lint/policy"
	"example.com/stance/testdata"
)

// A home is a site over notes, with the session that the next request is answered for.
type home struct {
	http.Handler
	session guard.Session
	seen    []string // residents whom Saw was called with
	faults  []error
	answers string
	config  pages.Config
}

// everything is a session that may do and see all.
func everything() guard.Session {
	return guard.Session{Roles: guard.Roles(), Units: []string{guard.AllUnits}, CSRF: "token"}
}

// usual is the vocabulary, compiled for all tests together: it cannot be changed.
var usual = sync.OnceValues(func() (*lexicon.Lexicon, error) { return lexicon.New() })

// newHome is a site over the demo home's chart and notes and, if any, more notes.
func newHome(t testing.TB, more ...note.Note) *home {
	t.Helper()
	h := &home{session: everything(), answers: filepath.Join(t.TempDir(), "answers.jsonl")}
	lex, err := usual()
	if err != nil {
		t.Fatal(err)
	}
	p := policy.Default()
	if p.Zone, err = time.LoadLocation("America/Toronto"); err != nil {
		t.Fatal(err)
	}
	ch := demoChart(t, p)
	h.config = pages.Config{
		Records: records.Config{
			Lexicon: lex, Policy: p, Source: append(demoNotes(t, p), more...), Answers: h.answers,
			Chart: func() (*chart.Chart, error) { return ch, nil },
		},
		Session: func(context.Context) guard.Session { return h.session },
		Saw: func(_ context.Context, residents ...string) error {
			h.seen = append(h.seen, residents...)
			return nil
		},
		Fault: func(err error) { h.faults = append(h.faults, err) },
		// An evening of the demo home, after its last note.
		Now: func() time.Time { return time.Date(2026, 11, 23, 21, 40, 0, 0, p.Zone) },
	}
	h.reload(t)
	return h
}

// reload makes the site anew, after a change of the config.
func (h *home) reload(t testing.TB) {
	t.Helper()
	var err error
	if h.Handler, err = pages.New(h.config); err != nil {
		t.Fatal(err)
	}
}

// A page that needs what takes longer than a request may says so, before the request's time is up.
func TestStillBeingWorkedOut(t *testing.T) {
	h := newHome(t)
	h.config.Records.Wait = func(ctx context.Context, _ <-chan struct{}) error {
		<-ctx.Done()
		return ctx.Err()
	}
	h.reload(t)
	for _, path := range []string{"/audit", "/audit/notes", "/shift", "/note"} {
		ctx, stop := context.WithTimeout(t.Context(), 1010*time.Millisecond)
		w := httptest.NewRecorder()
		h.ServeHTTP(w, httptest.NewRequestWithContext(ctx, http.MethodGet, path, nil))
		stop()
		want(t, w, http.StatusServiceUnavailable, "This is still being worked out", "Look again in a minute")
	}
	if len(h.faults) > 0 {
		t.Errorf("faults %v, want none", h.faults)
	}
}

func demoChart(t testing.TB, p *policy.Policy) *chart.Chart {
	t.Helper()
	f, err := testdata.Demo.Open("demo/chart.csv")
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	ch, bad, err := chart.Read("chart.csv", f, p.Zone)
	if err != nil || len(bad) > 0 {
		t.Fatal(err, bad)
	}
	return ch
}

// namedHome is a site over the demo home, whose residents have rooms and invented names.
func namedHome(t testing.TB) *home {
	t.Helper()
	h := newHome(t)
	first := strings.Fields("Ash Birch Cedar Dill Elder Flax Gorse Hazel Iris Juniper Kale Lilac Maple Nettle Olive Poppy Quince Reed Sorrel Thyme Umber Violet Willow Yew")
	file, err := testdata.Demo.ReadFile("demo/chart.csv")
	if err != nil {
		t.Fatal(err)
	}
	var out strings.Builder
	names := make(map[string]string)
	for i, line := range strings.Split(strings.TrimSpace(string(file)), "\n") {
		if i == 0 {
			fmt.Fprintln(&out, line+",name,room")
			continue
		}
		id, _, _ := strings.Cut(line, ",")
		if names[id] == "" {
			n := len(names)
			names[id] = fmt.Sprintf("%s Fern,%d", first[n%len(first)], n+1)
		}
		fmt.Fprintln(&out, line+","+names[id])
	}
	ch, bad, err := chart.Read("chart.csv", strings.NewReader(out.String()), h.config.Records.Policy.Zone)
	if err != nil || len(bad) > 0 {
		t.Fatal(err, bad)
	}
	h.config.Records.Chart = func() (*chart.Chart, error) { return ch, nil }
	h.reload(t)
	return h
}

func demoNotes(t testing.TB, p *policy.Policy) records.Fixed {
	t.Helper()
	f, err := testdata.Demo.Open("demo/notes.jsonl")
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	r, err := note.NewReader("notes.jsonl", f, note.Options{Zone: p.Zone})
	if err != nil {
		t.Fatal(err)
	}
	var all records.Fixed
	for {
		n, err := r.Next()
		if err == io.EOF {
			return all
		}
		if err != nil {
			t.Fatal(err)
		}
		all = append(all, n)
	}
}

func (h *home) get(path string) *httptest.ResponseRecorder {
	w := httptest.NewRecorder()
	h.ServeHTTP(w, httptest.NewRequest(http.MethodGet, path, nil))
	return w
}

// post sends a form: pairs of name and value.
func (h *home) post(path string, pairs ...string) *httptest.ResponseRecorder {
	form := url.Values{}
	for i := 0; i+1 < len(pairs); i += 2 {
		form.Set(pairs[i], pairs[i+1])
	}
	r := httptest.NewRequest(http.MethodPost, path, strings.NewReader(form.Encode()))
	r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	w := httptest.NewRecorder()
	h.ServeHTTP(w, r)
	return w
}

// want fails unless the answer has the status, and its body all of the words.
func want(t *testing.T, w *httptest.ResponseRecorder, status int, words ...string) {
	t.Helper()
	if w.Code != status {
		t.Errorf("status %d, want %d", w.Code, status)
	}
	for _, s := range words {
		if !strings.Contains(w.Body.String(), s) {
			t.Errorf("the page has no %q", s)
		}
	}
	if t.Failed() {
		t.Logf("page: %.6000s", w.Body)
	}
}

// wantNone fails if the body has any of the words.
func wantNone(t *testing.T, w *httptest.ResponseRecorder, words ...string) {
	t.Helper()
	for _, s := range words {
		if strings.Contains(w.Body.String(), s) {
			t.Errorf("the page has %q", s)
		}
	}
}

var errBroken = errors.New("disk is gone")

func exists(name string) bool {
	_, err := os.Stat(name)
	return err == nil
}
