package guard

import (
	_ "embed"
	"errors"
	"fmt"
	"html/template"
	"math"
	"net"
	"net/http"
	"net/netip"
	"net/url"
	"strconv"
	"strings"
	"time"

	"golang.org/x/text/unicode/norm"

	"example.com/stance/lint/plural"
	"example.com/stance/lint/report"
)

//go:embed enter.html
var enterHTML string

func enterTemplate() (*template.Template, error) {
	return template.New("enter").Parse(enterHTML)
}

// enterData is what the login page shows.
type enterData struct {
	CSRF, Next  string
	Name        string // as typed
	Problem     string // in words; empty at first
	User        string // who is logged in; empty: nobody
	IdleMinutes int
	Caution     string
}

// sendToLogin answers a request of nobody: a page is shown the login, a script told.
func (g *Guard) sendToLogin(w http.ResponseWriter, r *http.Request) {
	mode := r.Header.Get("Sec-Fetch-Mode")
	if !safe(r.Method) || mode != "" && mode != "navigate" {
		http.Error(w, "You are logged out. Copy what you wrote, then log in.", http.StatusUnauthorized)
		return
	}
	to := EnterPath
	if next := r.URL.RequestURI(); next != "/" {
		to += "?next=" + url.QueryEscape(next)
	}
	http.Redirect(w, r, to, http.StatusSeeOther)
}

func (g *Guard) enterForm(w http.ResponseWriter, r *http.Request) {
	g.showEnter(w, r, http.StatusOK, enterData{Next: localPath(r.URL.Query().Get("next"))})
}

func (g *Guard) showEnter(w http.ResponseWriter, r *http.Request, status int, d enterData) {
	s := SessionOf(r.Context())
	d.CSRF, d.User = s.CSRF, s.User
	d.IdleMinutes = int(math.Round(g.Idle.Minutes()))
	d.Caution = report.Caution
	w.Header().Set("Content-Type", "text/html; charset=utf-8")
	w.WriteHeader(status)
	if err := g.enterPage.Execute(w, d); err != nil {
		g.Say("login page: " + err.Error())
	}
}

// localPath is next where it leads to a page of this server, else "/".
func localPath(next string) string {
	u, err := url.Parse(next)
	if err != nil || u.Scheme != "" || u.Host != "" || u.Opaque != "" || !plainPath(u.Path) || strings.HasPrefix(next, "//") ||
		strings.ContainsFunc(next, func(r rune) bool { return r < ' ' || r == '\\' }) {
		return "/"
	}
	return u.RequestURI()
}

// enter takes a login. The answer and its time are the same for a wrong password and for a name that
// is no user's.
func (g *Guard) enter(w http.ResponseWriter, r *http.Request) {
	if err := r.ParseForm(); err != nil {
		http.Error(w, "The form could not be read.", http.StatusBadRequest)
		return
	}
	name, password := norm.NFC.String(strings.TrimSpace(r.PostForm.Get("user"))), r.PostForm.Get("password")
	page := enterData{Name: name, Next: localPath(r.PostForm.Get("next"))}
	user, known, err := g.Users.find(name)
	if err != nil {
		g.Say(err.Error())
		page.Problem = "The list of users cannot be read. Tell whoever runs this server."
		g.showEnter(w, r, http.StatusInternalServerError, page)
		return
	}
	stored := user.Password
	if !known {
		stored = g.decoy
	}
	from := g.device(r)
	try, err := g.admit(r.Context(), r, name, stored, from)
	if err != nil {
		g.putOff(w, r, err, page)
		return
	}
	right := len(password) <= maxPassword && g.matches(stored, password)
	try.done()
	if !known || !right {
		g.wrong(user, known)
		page.Problem = "That name and password do not go together. Try again."
		g.showEnter(w, r, http.StatusUnauthorized, page)
		return
	}
	now := g.Now()
	if err := g.tell(Access{Time: now, User: user.Name, Did: Entered, Place: EnterPath}); err != nil {
		try.dropped()
		g.Say(err.Error())
		page.Problem = "The access log cannot be written, so nobody can log in. Tell whoever runs this server."
		g.showEnter(w, r, http.StatusInternalServerError, page)
		return
	}
	try.right()
	g.strikes.forget(stored)
	if c, err := r.Cookie(g.cookieName(r)); err == nil {
		g.logins.end(c.Value)
	}
	// Never the id that the browser came with, which somebody else may have put there.
	g.setCookie(w, r, g.logins.begin(user, now))
	g.remember(w, r, from, stored)
	http.Redirect(w, r, page.Next, http.StatusSeeOther)
}

// putOff answers a login that is not looked at now.
func (g *Guard) putOff(w http.ResponseWriter, r *http.Request, err error, page enterData) {
	var d *delayed
	if !errors.As(err, &d) {
		w.Header().Set("Retry-After", "2")
		page.Problem = "Too many are logging in at once. Wait a moment, then try again."
		g.showEnter(w, r, http.StatusServiceUnavailable, page)
		return
	}
	seconds := int(math.Ceil(d.wait.Seconds()))
	w.Header().Set("Retry-After", strconv.Itoa(seconds))
	page.Problem = "Too many wrong tries. Wait " + inWords(seconds) + ", then try again."
	g.showEnter(w, r, http.StatusTooManyRequests, page)
}

// wrong tells of a login that failed. A name that is no user's is left out: it may be a password in the wrong field.
func (g *Guard) wrong(user User, known bool) {
	if known {
		if n := g.strikes.add(user.Password); n > 0 {
			g.Say(fmt.Sprintf("user %s: %d wrong passwords in a row; somebody may be guessing, and the access log says when", user.Name, n))
		}
	}
	if err := g.tell(Access{Time: g.Now(), User: user.Name, Did: Refused, Place: EnterPath}); err != nil {
		g.Say(err.Error())
	}
}

// leave ends the login, and has the browser forget what the pages kept in it.
func (g *Guard) leave(w http.ResponseWriter, r *http.Request) {
	if c, err := r.Cookie(g.cookieName(r)); err == nil {
		g.logins.end(c.Value)
	}
	if user := SessionOf(r.Context()).User; user != "" {
		if err := g.tell(Access{Time: g.Now(), User: user, Did: Left, Place: LeavePath}); err != nil {
			g.Say(err.Error())
		}
	}
	w.Header().Set("Clear-Site-Data", `"cache", "storage"`)
	g.setCookie(w, r, newID())
	http.Redirect(w, r, EnterPath, http.StatusSeeOther)
}

func (g *Guard) tell(a Access) error { return g.AccessLog.add(a) }

// addressKey is the address a request came from. Of IPv6 it is the network of 64 bits, all of which
// one machine may use.
func addressKey(remote string) string {
	at, err := netip.ParseAddrPort(remote)
	if err != nil {
		host, _, _ := net.SplitHostPort(remote)
		return host
	}
	ip := at.Addr().Unmap()
	if ip.Is4() {
		return ip.String()
	}
	network, err := ip.WithZone("").Prefix(64)
	if err != nil {
		return ip.String()
	}
	return network.String()
}

// inWords is a number of seconds as one says it.
func inWords(seconds int) string {
	unit, n := "second", seconds
	if seconds > 90 {
		unit, n = "minute", int(math.Ceil((time.Duration(seconds) * time.Second).Minutes()))
	}
	return plural.Of(n, unit)
}
