package guard_test

import (
	"context"
	"encoding/json"
	"fmt"
	"net/http"
	"net/url"
	"os"
	"path/filepath"
	"runtime"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"example.com/stance/cmd/stance/web/guard"
)

const (
	reviewer, writer = "a17", "b22"
	password         = "two helpers and a belt"
)

// usersFile is a new file of two users: one who may review Birch, one who may write everywhere.
func usersFile(t testing.TB) string {
	t.Helper()
	file := filepath.Join(t.TempDir(), "users.jsonl")
	if err := os.WriteFile(file, []byte(twoUsers()), 0o600); err != nil {
		t.Fatal(err)
	}
	return file
}

// Hashing takes time on purpose, so it is done once.
var twoUsers = sync.OnceValue(func() string {
	dir, err := os.MkdirTemp("", "")
	if err != nil {
		panic(err)
	}
	defer os.RemoveAll(dir)
	file := filepath.Join(dir, "users")
	for _, u := range []guard.User{
		{Name: reviewer, Roles: []guard.Role{guard.Review}, Units: []string{"Birch"}},
		{Name: writer, Roles: []guard.Role{guard.Write}, Units: []string{guard.AllUnits}},
	} {
		if err := guard.AddUser(file, u, password, false); err != nil {
			panic(err)
		}
	}
	text, err := os.ReadFile(file)
	if err != nil {
		panic(err)
	}
	return string(text)
})

// accounts is a server with accounts and a clock that stands still until it is moved.
type accounts struct {
	*server
	users, log string
	now        *atomic.Int64
}

func serveAccounts(t *testing.T) *accounts {
	t.Helper()
	a := serveHashed(t)
	a.guard.HashQuickly(password)
	return a
}

// serveHashed hashes passwords as it does outside of tests.
func serveHashed(t *testing.T) *accounts {
	t.Helper()
	a := &accounts{users: usersFile(t), log: filepath.Join(t.TempDir(), "access.jsonl"), now: new(atomic.Int64)}
	a.now.Store(time.Date(2026, 11, 24, 21, 40, 0, 0, time.UTC).Unix())
	a.server = serve(t, guard.Config{
		Users: openUsers(t, a.users), AccessLog: openLog(t, a.log),
		Now: func() time.Time { return time.Unix(a.now.Load(), 0).UTC() },
	}, page, nil)
	return a
}

func (a *accounts) wait(d time.Duration) { a.now.Add(int64(d / time.Second)) }

// enter logs in and gives the status.
func (b *browser) enter(user, password string, more ...string) (*http.Response, string) {
	b.t.Helper()
	b.get(guard.EnterPath)
	form := url.Values{"user": {user}, "password": {password}}
	for i := 0; i < len(more); i += 2 {
		form.Set(more[i], more[i+1])
	}
	return b.post(guard.EnterPath, form)
}

func (b *browser) mustEnter(user string) {
	b.t.Helper()
	if resp, body := b.enter(user, password); resp.StatusCode != http.StatusSeeOther {
		b.t.Fatalf("login of %s: status %d, want 303: %s", user, resp.StatusCode, body)
	}
}

func (b *browser) wantStatus(path string, want int) {
	b.t.Helper()
	if resp, _ := b.get(path); resp.StatusCode != want {
		b.t.Errorf("GET %s: status %d, want %d", path, resp.StatusCode, want)
	}
}

func TestNobodyIsSentToTheLogin(t *testing.T) {
	a := serveAccounts(t)
	b := a.browser(t)
	resp, _ := b.get("/resident/R-1?unit=Birch")
	if got, want := resp.Header.Get("Location"), "/enter?next=%2Fresident%2FR-1%3Funit%3DBirch"; resp.StatusCode != http.StatusSeeOther || got != want {
		t.Errorf("status %d to %q, want 303 to %q", resp.StatusCode, got, want)
	}
	if resp, _ := b.get("/", "Sec-Fetch-Mode", "cors", "Sec-Fetch-Site", "same-origin"); resp.StatusCode != http.StatusUnauthorized {
		t.Errorf("a script: status %d, want 401", resp.StatusCode)
	}
	b.get(guard.EnterPath)
	if resp, body := b.post("/", url.Values{"text": {"sent"}}); resp.StatusCode != http.StatusUnauthorized || strings.Contains(body, "sent") {
		t.Errorf("a form: status %d, want 401", resp.StatusCode)
	}
	b.wantStatus("/static/none.css", http.StatusNotFound) // the login page's style is for anybody
}

func TestLogin(t *testing.T) {
	a := serveHashed(t)
	b := a.browser(t)
	resp, _ := b.enter(reviewer, password, "next", "/resident/R-1?unit=Birch")
	if got, want := resp.Header.Get("Location"), "/resident/R-1?unit=Birch"; resp.StatusCode != http.StatusSeeOther || got != want {
		t.Fatalf("status %d to %q, want 303 to %q", resp.StatusCode, got, want)
	}
	if _, body := b.get("/"); !strings.Contains(body, "user a17") {
		t.Errorf("after the login: %q, want the user's page", body)
	}
	b.wantStatus("/resident/R-1?unit=Birch", http.StatusOK)
	b.wantStatus("/resident/R-1?unit=BIRCH", http.StatusOK)
	b.wantStatus("/resident/R-1?unit=Rowan", http.StatusNotFound)
	b.wantStatus("/resident/R-1", http.StatusNotFound)

	other := a.browser(t)
	other.mustEnter(writer)
	other.wantStatus("/", http.StatusOK)
	other.wantStatus("/resident/R-1?unit=Birch", http.StatusForbidden)

	// Logging out ends the login, not only the cookie.
	old := b.cookie()
	b.get("/")
	resp, _ = b.post(guard.LeavePath, nil)
	if resp.StatusCode != http.StatusSeeOther || resp.Header.Get("Clear-Site-Data") == "" {
		t.Errorf("logging out: status %d, Clear-Site-Data %q, want 303 and what to forget", resp.StatusCode, resp.Header.Get("Clear-Site-Data"))
	}
	b.wantStatus("/", http.StatusSeeOther)
	a.browser(t).wantWithCookie(old, http.StatusSeeOther)
	other.wantStatus("/", http.StatusOK)
}

// wantWithCookie asks for the page with a session id of somebody's choice.
func (b *browser) wantWithCookie(id string, want int) {
	b.t.Helper()
	u, err := url.Parse(b.s.URL)
	if err != nil {
		b.t.Fatal(err)
	}
	b.c.Jar.SetCookies(u, []*http.Cookie{{Name: "stance-" + u.Port(), Value: id, Path: "/"}})
	b.wantStatus("/", want)
}

func TestSessionFixation(t *testing.T) {
	a := serveAccounts(t)
	attacker := a.browser(t)
	attacker.get(guard.EnterPath)
	planted := attacker.cookie()

	victim := a.browser(t)
	victim.wantWithCookie(planted, http.StatusSeeOther)
	victim.mustEnter(reviewer)
	if victim.cookie() == planted {
		t.Error("the login kept the id that the browser came with")
	}
	victim.wantStatus("/", http.StatusOK)
	attacker.wantStatus("/", http.StatusSeeOther)

	// A second login of the same browser ends the first.
	first := victim.cookie()
	victim.post(guard.LeavePath, nil)
	victim.mustEnter(reviewer)
	a.browser(t).wantWithCookie(first, http.StatusSeeOther)
}

// A login needs the token too, so that no other site logs somebody in as somebody else.
func TestForeignLogin(t *testing.T) {
	a := serveAccounts(t)
	b := a.browser(t)
	b.get(guard.EnterPath)
	b.token = ""
	if resp, _ := b.post(guard.EnterPath, url.Values{"user": {reviewer}, "password": {password}}); resp.StatusCode != http.StatusForbidden {
		t.Errorf("status %d, want 403", resp.StatusCode)
	}
	b.wantStatus("/", http.StatusSeeOther)
}

func TestLoginNeverLeadsElsewhere(t *testing.T) {
	a := serveAccounts(t)
	for _, next := range []string{
		"https://evil.example/", "//evil.example/", `/\evil.example`, `\\evil.example`, "javascript:alert(1)", "evil", "", "/%2e%2e//evil", "/\t/evil.example", "//",
	} {
		_, body := a.browser(t).get(guard.EnterPath + "?next=" + url.QueryEscape(next))
		if !strings.Contains(body, `name="next" value="/"`) {
			t.Errorf("next %q is let through: %s", next, body)
		}
	}
}

// A name that is no user's gets the same answer as a wrong password, and neither repeats more than the
// name, escaped.
func TestWrongLogins(t *testing.T) {
	a := serveHashed(t)
	var bodies []string
	for _, name := range []string{reviewer, "nobody"} {
		b := a.browser(t)
		resp, body := b.enter(name, "a password that is wrong")
		if resp.StatusCode != http.StatusUnauthorized || strings.Contains(body, "a password that is wrong") {
			t.Errorf("%s: status %d, want 401 without the password: %s", name, resp.StatusCode, body)
		}
		bodies = append(bodies, strings.NewReplacer(name, "NAME", b.token, "TOKEN").Replace(body))
	}
	if diff := cmp.Diff(bodies[0], bodies[1]); diff != "" {
		t.Errorf("the answers differ (-a user +no user):\n%s", diff)
	}
	if _, body := a.browser(t).enter(`"><script>alert(1)</script>`, "x"); strings.Contains(body, "<script") {
		t.Errorf("a script in the name: %s", body)
	}
}

// One address is put off, longer with each failure, whatever it tries.
func TestBruteForce(t *testing.T) {
	a := serveAccounts(t)
	b := a.browser(t)
	statuses := func(n int, name, password string) (got []int) {
		for range n {
			resp, _ := b.enter(name, password)
			got = append(got, resp.StatusCode)
		}
		return got
	}
	for _, status := range statuses(10, reviewer, "guess") {
		if status != http.StatusUnauthorized {
			t.Errorf("the first ten guesses: status %d, want 401", status)
		}
	}
	resp, body := b.enter(reviewer, password)
	if resp.StatusCode != http.StatusTooManyRequests || resp.Header.Get("Retry-After") != "1" || !strings.Contains(body, "Wait 1 second,") {
		t.Errorf("the right password meanwhile: status %d, Retry-After %q, want 429 after 1 second: %s", resp.StatusCode, resp.Header.Get("Retry-After"), body)
	}
	// Each further failure doubles the delay.
	a.wait(time.Second)
	if diff := cmp.Diff([]int{401, 429}, statuses(2, reviewer, "guess")); diff != "" {
		t.Errorf("after the first delay (-want +got):\n%s", diff)
	}
	a.wait(time.Second)
	if diff := cmp.Diff([]int{429}, statuses(1, reviewer, "guess")); diff != "" {
		t.Errorf("half way through the second delay (-want +got):\n%s", diff)
	}
	a.wait(time.Second)
	if diff := cmp.Diff([]int{303}, statuses(1, reviewer, password)); diff != "" {
		t.Errorf("the right password after it (-want +got):\n%s", diff)
	}
}

// elsewhere is a server on which each browser has an address of its own, which it can change, and which tells how
// long logins were held up.
type elsewhere struct {
	*accounts
	addresses atomic.Int64

	mu   sync.Mutex
	held []time.Duration
}

func serveElsewhere(t *testing.T) *elsewhere {
	t.Helper()
	e := &elsewhere{accounts: serveAccounts(t)}
	behind := e.Config.Handler
	e.Config.Handler = http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		r.RemoteAddr = fmt.Sprintf("10.%d.%d.%d:1", byte(e.addresses.Load()>>16), byte(e.addresses.Load()>>8), byte(e.addresses.Load()))
		behind.ServeHTTP(w, r)
	})
	e.guard.HoldBy(func(_ context.Context, d time.Duration) error {
		e.mu.Lock()
		defer e.mu.Unlock()
		e.held = append(e.held, d)
		return nil
	})
	return e
}

// guess has the name tried so often, each time from another address and device.
func (e *elsewhere) guess(t *testing.T, n int, name string) {
	t.Helper()
	for range n {
		e.addresses.Add(1)
		if resp, _ := e.browser(t).enter(name, "guess"); resp.StatusCode != http.StatusUnauthorized {
			t.Fatalf("a guess: status %d, want 401", resp.StatusCode)
		}
	}
	e.addresses.Add(1)
}

// last is how long the latest login was held up.
func (e *elsewhere) last() time.Duration {
	e.mu.Lock()
	defer e.mu.Unlock()
	return e.held[len(e.held)-1]
}

// Guesses from ever other addresses are held up, longer with each, and keep nobody out who knows the password: not on
// a device that is new, nor, without any delay, on one that has been logged in with.
func TestGuessesFromManyAddresses(t *testing.T) {
	e := serveElsewhere(t)
	known := e.browser(t)
	known.mustEnter(reviewer)
	known.get(guard.EnterPath)
	known.post(guard.LeavePath, nil)
	for _, name := range []string{reviewer, "nobody"} {
		e.held = nil
		e.guess(t, 9, name)
		want := []time.Duration{0, 0, 0, time.Second / 4, time.Second / 2, time.Second, 2 * time.Second, 4 * time.Second, 4 * time.Second}
		if diff := cmp.Diff(want, e.held); diff != "" {
			t.Errorf("guesses at %s are held up (-want +got):\n%s", name, diff)
		}
	}
	e.guess(t, 200, reviewer)
	known.mustEnter(reviewer)
	if e.last() != 0 {
		t.Errorf("on a known device the login was held up by %v", e.last())
	}
	fresh := e.browser(t)
	fresh.mustEnter(reviewer)
	if e.last() != 4*time.Second {
		t.Errorf("on a new device the login was held up by %v, want 4s", e.last())
	}
	// Who has logged in there is known there.
	e.guess(t, 20, reviewer)
	fresh.get(guard.EnterPath)
	fresh.post(guard.LeavePath, nil)
	fresh.mustEnter(reviewer)
	if e.last() != 0 {
		t.Errorf("the second login there was held up by %v", e.last())
	}
	if got := e.faults.String(); !strings.Contains(got, "user a17: 100 wrong passwords in a row") {
		t.Errorf("told %q, want who is guessed at", got)
	}
}

// Logins that are held up, and those that wait for their password to be hashed, keep nobody else waiting.
func TestGuessesHeldUpHoldNobodyElse(t *testing.T) {
	e := serveElsewhere(t)
	b := e.browser(t)
	b.mustEnter(reviewer)
	e.guess(t, 3, reviewer)
	held, release := make(chan struct{}, 100), make(chan struct{})
	e.guard.HoldBy(func(ctx context.Context, d time.Duration) error {
		if d == 0 {
			return nil
		}
		held <- struct{}{}
		<-release
		return nil
	})
	const guessers = guard.DefaultMaxRequests + 8
	ended := make(chan int, guessers)
	for range guessers {
		g := e.browser(t)
		g.get(guard.EnterPath)
		e.addresses.Add(1)
		go func() {
			resp, _ := g.post(guard.EnterPath, url.Values{"user": {reviewer}, "password": {"guess"}})
			ended <- resp.StatusCode
		}()
		<-held
	}
	b.wantStatus("/", http.StatusOK)
	b.get(guard.EnterPath)
	b.post(guard.LeavePath, nil)
	b.mustEnter(reviewer)
	close(release)
	for range guessers {
		if status := <-ended; status != http.StatusUnauthorized {
			t.Errorf("a guess: status %d, want 401", status)
		}
	}
}

// A device is known for those who have logged in with it, as long as their password holds, and by no other cookie
// than its own. Its own wrong tries are counted.
func TestKnownDevices(t *testing.T) {
	e := serveElsewhere(t)
	b := e.browser(t)
	b.mustEnter(reviewer)
	cookie := b.cookieNamed("-device")
	if cookie == "" || strings.Contains(cookie, reviewer) {
		t.Fatalf("the cookie of the device is %q, want one that names nobody", cookie)
	}
	e.guess(t, 20, reviewer)
	e.guess(t, 20, writer)
	enter := func(name, cookie string) time.Duration {
		t.Helper()
		e.addresses.Add(1)
		b := e.browser(t)
		u, err := url.Parse(e.URL)
		if err != nil {
			t.Fatal(err)
		}
		b.c.Jar.SetCookies(u, []*http.Cookie{{Name: "stance-" + u.Port() + "-device", Value: cookie, Path: "/"}})
		b.mustEnter(name)
		return e.last()
	}
	id, mark, _ := strings.Cut(cookie, ".")
	for _, tt := range []struct {
		name, user, cookie string
		known              bool
	}{
		{"its own", reviewer, cookie, true},
		{"another user's", writer, cookie, false},
		{"of another id", writer, id[1:] + "A." + mark, false},
		{"without a mark", writer, id, false},
		{"with an empty mark", writer, id + ".", false},
		{"nothing", writer, "", false},
		{"far too many marks", writer, id + strings.Repeat("."+mark, 100), false},
	} {
		e.guess(t, 20, tt.user)
		if got := enter(tt.user, tt.cookie) == 0; got != tt.known {
			t.Errorf("%s: taken for known: %t, want %t", tt.name, got, tt.known)
		}
	}
	if err := guard.AddUser(e.users, guard.User{Name: reviewer, Roles: []guard.Role{guard.Review}, Units: []string{"Birch"}}, "another password of many words", true); err != nil {
		t.Fatal(err)
	}
	e.guess(t, 20, reviewer)
	if enter(reviewer, cookie) == 0 {
		t.Error("the device is still known after a change of the password")
	}

	own := e.browser(t)
	own.mustEnter(writer)
	got := []int{}
	for range 7 {
		resp, _ := own.enter(writer, "guess")
		got = append(got, resp.StatusCode)
		own.get(guard.EnterPath)
		own.post(guard.LeavePath, nil)
	}
	if diff := cmp.Diff([]int{401, 401, 401, 401, 401, 429, 429}, got); diff != "" {
		t.Errorf("guesses on a known device (-want +got):\n%s", diff)
	}
	e.browser(t).mustEnter(writer) // nobody else is put off by them
}

// What goes wrong in the server is no wrong try.
func TestFailuresOfTheServerAreNoWrongTries(t *testing.T) {
	e := serveElsewhere(t)
	b := e.browser(t)
	enter := func(n, want int) {
		t.Helper()
		for range n {
			if resp, _ := b.enter(reviewer, password); resp.StatusCode != want {
				t.Fatalf("status %d, want %d", resp.StatusCode, want)
			}
		}
	}
	if err := os.WriteFile(e.users, []byte("no users\n"), 0o600); err != nil {
		t.Fatal(err)
	}
	enter(20, http.StatusInternalServerError)
	if err := os.WriteFile(e.users, []byte(twoUsers()), 0o600); err != nil {
		t.Fatal(err)
	}
	if err := os.Remove(e.log); err != nil {
		t.Fatal(err)
	}
	if err := os.Mkdir(e.log, 0o700); err != nil { // no log can be opened in its place
		t.Fatal(err)
	}
	enter(20, http.StatusInternalServerError)
	if err := os.Remove(e.log); err != nil {
		t.Fatal(err)
	}
	enter(1, http.StatusSeeOther)
	if e.last() != 0 {
		t.Errorf("the login was held up by %v, want not at all", e.last())
	}
}

// One address that goes through many names is slowed as well.
func TestBruteForceOfNames(t *testing.T) {
	a := serveAccounts(t)
	b := a.browser(t)
	last := 0
	for i := range 11 {
		resp, _ := b.enter(strings.Repeat("x", i+1), "guess")
		last = resp.StatusCode
	}
	if last != http.StatusTooManyRequests {
		t.Errorf("the eleventh name: status %d, want 429", last)
	}
}

func TestLoginEnds(t *testing.T) {
	a := serveAccounts(t)
	idle := a.browser(t)
	idle.mustEnter(reviewer)
	a.wait(guard.DefaultIdle - time.Second)
	idle.wantStatus("/", http.StatusOK)
	a.wait(guard.DefaultIdle)
	idle.wantStatus("/", http.StatusSeeOther)

	// One that is always in use ends after twelve hours.
	busy := a.browser(t)
	busy.mustEnter(reviewer)
	for range 12*6 - 1 {
		a.wait(10 * time.Minute)
		busy.wantStatus("/", http.StatusOK)
	}
	a.wait(10 * time.Minute)
	busy.wantStatus("/", http.StatusSeeOther)
}

// Who is taken out of the file is out at once, and a change of roles holds at once.
func TestUsersFileChanges(t *testing.T) {
	a := serveAccounts(t)
	b := a.browser(t)
	b.mustEnter(reviewer)
	rewrite := func(text string) {
		t.Helper()
		if err := os.WriteFile(a.users, []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	b.wantStatus("/resident/R-1?unit=Birch", http.StatusOK)
	rewrite(strings.Replace(twoUsers(), `"Birch"`, `"Rowan","Fir"`, 1))
	b.wantStatus("/resident/R-1?unit=Birch", http.StatusNotFound)
	b.wantStatus("/resident/R-1?unit=Rowan", http.StatusOK)

	rewrite("no users\n")
	b.wantStatus("/", http.StatusSeeOther)
	if got, want := a.faults.String(), a.users+":1: want one user"; !strings.Contains(got, want) {
		t.Errorf("told %q, want %q", got, want)
	}
	if resp, _ := b.enter(reviewer, password); resp.StatusCode != http.StatusInternalServerError {
		t.Errorf("login with a broken file: status %d, want 500", resp.StatusCode)
	}
	rewrite(twoUsers())
	b.mustEnter(reviewer)
	_, without, _ := strings.Cut(twoUsers(), "\n")
	rewrite(without)
	b.wantStatus("/", http.StatusSeeOther)
}

func TestAccessLog(t *testing.T) {
	a := serveAccounts(t)
	b := a.browser(t)
	b.enter("a password typed as a name", "x")
	b.enter(reviewer, "wrong")
	b.mustEnter(reviewer)
	b.get("/resident/R-1?unit=Birch")
	b.get("/resident/R-1?unit=Birch") // the same sight within a minute
	b.get("/resident/R-2?unit=Birch")
	b.get("/resident/R-3?unit=Rowan") // not shown
	a.wait(time.Minute)
	b.get("/resident/R-1?unit=Birch")
	b.get("/")
	b.post(guard.LeavePath, nil)

	text, err := os.ReadFile(a.log)
	if err != nil {
		t.Fatal(err)
	}
	var got []guard.Access
	for line := range strings.Lines(string(text)) {
		var entry guard.Access
		if err := json.Unmarshal([]byte(line), &entry); err != nil {
			t.Fatal(err)
		}
		got = append(got, entry)
	}
	start := time.Date(2026, 11, 24, 21, 40, 0, 0, time.UTC)
	later := start.Add(time.Minute)
	want := []guard.Access{
		{Time: start, User: "", Did: guard.Refused, Resident: "", Place: "/enter"},
		{Time: start, User: reviewer, Did: guard.Refused, Resident: "", Place: "/enter"},
		{Time: start, User: reviewer, Did: guard.Entered, Resident: "", Place: "/enter"},
		{Time: start, User: reviewer, Did: guard.Saw, Resident: "R-1", Place: "/resident/R-1"},
		{Time: start, User: reviewer, Did: guard.Saw, Resident: "R-2", Place: "/resident/R-2"},
		{Time: later, User: reviewer, Did: guard.Saw, Resident: "R-1", Place: "/resident/R-1"},
		{Time: later, User: reviewer, Did: guard.Left, Resident: "", Place: "/leave"},
	}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Errorf("access log (-want +got):\n%s", diff)
	}
}

// The log goes on where it stopped, with a line of its own after one that was cut off.
func TestAccessLogOnlyGrows(t *testing.T) {
	file := filepath.Join(t.TempDir(), "access.jsonl")
	if err := os.WriteFile(file, []byte("{\"time\":"), 0o600); err != nil {
		t.Fatal(err)
	}
	s := serve(t, guard.Config{AccessLog: openLog(t, file)}, page, nil)
	s.browser(t).get("/resident/R-1")
	text, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	lines := strings.Split(strings.TrimSuffix(string(text), "\n"), "\n")
	if len(lines) != 2 || lines[0] != `{"time":` || !json.Valid([]byte(lines[1])) {
		t.Errorf("%q, want the cut-off line and a whole one", lines)
	}
	if _, err := guard.OpenAccessLog(t.TempDir()); err == nil {
		t.Error("a folder is taken for an access log")
	}
}

// A log that was renamed, because it has grown long, or removed is gone on with in a new file.
func TestAccessLogIsFollowed(t *testing.T) {
	file := filepath.Join(t.TempDir(), "access.jsonl")
	s := serve(t, guard.Config{AccessLog: openLog(t, file)}, page, nil)
	residents := func(file string) (ids []string) {
		t.Helper()
		text, err := os.ReadFile(file)
		if err != nil {
			t.Fatal(err)
		}
		for line := range strings.Lines(string(text)) {
			var entry guard.Access
			if err := json.Unmarshal([]byte(line), &entry); err != nil {
				entry.Resident = "no JSON"
			}
			ids = append(ids, entry.Resident)
		}
		return ids
	}
	b := s.browser(t)
	b.get("/resident/R-1")
	if runtime.GOOS != "windows" { // which lets nobody rename a file that is open
		if err := os.Rename(file, file+".1"); err != nil {
			t.Fatal(err)
		}
		b.get("/resident/R-2")
		if err := os.Remove(file); err != nil {
			t.Fatal(err)
		}
		b.get("/resident/R-3")
		if diff := cmp.Diff([]string{"R-1"}, residents(file+".1")); diff != "" {
			t.Errorf("the renamed log (-want +got):\n%s", diff)
		}
	}
	// A line cut off while it is served spoils none after it.
	f, err := os.OpenFile(file, os.O_WRONLY|os.O_APPEND, 0)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := f.WriteString(`{"time":`); err != nil {
		t.Fatal(err)
	}
	if err := f.Close(); err != nil {
		t.Fatal(err)
	}
	// Nor can a resident's name bring a line of its own.
	b.get("/resident/" + url.PathEscape("R-4\n{\"time\":\"\u2028x\r"))
	got := residents(file)
	if diff := cmp.Diff([]string{"no JSON", "R-4\n{\"time\":\"\u2028x\r"}, got[1:]); diff != "" {
		t.Errorf("the log (-want +got):\n%s", diff)
	}
}

// Where no new log can be made, nobody is shown anything.
func TestAccessLogCannotBeFollowed(t *testing.T) {
	if runtime.GOOS == "windows" {
		t.Skip("a folder with an open file cannot be renamed")
	}
	dir := filepath.Join(t.TempDir(), "logs")
	if err := os.Mkdir(dir, 0o700); err != nil {
		t.Fatal(err)
	}
	s := serve(t, guard.Config{AccessLog: openLog(t, filepath.Join(dir, "access.jsonl"))}, page, nil)
	if err := os.Rename(dir, dir+".gone"); err != nil {
		t.Fatal(err)
	}
	if resp, body := s.browser(t).get("/resident/R-1"); resp.StatusCode != http.StatusInternalServerError || strings.Contains(body, "R-1") {
		t.Errorf("status %d, body %q, want 500", resp.StatusCode, body)
	}
}

func TestAccessLogOthersCanChange(t *testing.T) {
	if runtime.GOOS == "windows" {
		t.Skip("no mode bits")
	}
	file := filepath.Join(t.TempDir(), "access.jsonl")
	for mode, ok := range map[os.FileMode]bool{0o600: true, 0o644: true, 0o622: false, 0o660: false} {
		if err := os.WriteFile(file, nil, 0o600); err != nil {
			t.Fatal(err)
		}
		if err := os.Chmod(file, mode); err != nil {
			t.Fatal(err)
		}
		l, err := guard.OpenAccessLog(file)
		if (err == nil) != ok {
			t.Errorf("mode %o: %v, want it taken: %t", mode, err, ok)
		}
		if err == nil {
			l.Close()
		}
	}
}
