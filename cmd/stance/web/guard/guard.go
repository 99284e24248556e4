// Package guard stands between the network and the pages: it decides which requests reach them, on
// whose behalf, and for how long.
//
// [New] takes what is listened on and refuses what would be unsafe: without accounts and TLS only the
// machine itself is served. [Guard.Wrap] puts a handler behind, in this order,
//
//   - headers that forbid a browser to load or send anything elsewhere, or to keep a page
//   - a check of the Host header, against pages of other sites that point their name here
//   - a check of where a request comes from, against other sites' forms and scripts
//   - limits on the body and on its time, on requests at a time, and on the time of each
//   - the session: who asks, what they may do ([SessionOf]), and the token that forms send back; or the
//     token of a program that calls ([Callers])
//
// It serves the login itself, at [EnterPath] and [LeavePath]. What a role may see is the handler's to
// decide, from the session; for each resident it shows it calls [Guard.Saw].
//
// The package knows nothing of notes.
package guard

import (
	"bytes"
	"context"
	"crypto/hmac"
	"crypto/rand"
	"crypto/sha256"
	"crypto/x509"
	"encoding/base64"
	"errors"
	"fmt"
	"html/template"
	"io"
	"maps"
	"mime"
	"net"
	"net/http"
	"net/netip"
	"net/url"
	"runtime"
	"strconv"
	"strings"
	"time"
)

// Where the guard answers itself.
const (
	EnterPath  = "/enter"   // the login: a form, and what it is sent to
	LeavePath  = "/leave"   // a POST here ends the login
	StaticPath = "/static/" // what lies below is served to anybody: it holds no notes
)

// The limits where a Config sets none.
const (
	DefaultIdle        = 15 * time.Minute // common practice; NIST SP 800-63B-4 (2025), section 2.2.3, advises at most 1 hour
	DefaultMaxBody     = 256 << 10        // bytes; a note of a shift has about 2,000
	DefaultMaxRequests = 32
	DefaultWait        = 2 * time.Second
	DefaultRequestTime = 20 * time.Second
)

// A Config says what is guarded. Only Bind is required, and more where it is not loopback.
type Config struct {
	Bind        string            // host:port listened on, the host an IP address or localhost
	Certificate *x509.Certificate // served over TLS, and names the hosts that may be asked for; nil: plain HTTP
	Users       *Users            // nil: no accounts, and everybody may do and see everything
	AccessLog   *AccessLog        // required with Users and with Callers
	Callers     *Callers          // nil: no program is let in by a token
	Idle        time.Duration     // after which an unused login ends; 0: DefaultIdle
	MaxBody     int64             // bytes of a request; 0: DefaultMaxBody
	MaxRequests int               // answered at a time; 0: DefaultMaxRequests
	Wait        time.Duration     // of a request for its turn, and of a login for its; 0: DefaultWait
	RequestTime time.Duration     // until a request is given up; 0: DefaultRequestTime

	Now func() time.Time   // nil: time.Now
	Say func(fault string) // is told of faults, for the one who runs the program; nil: nobody is
}

// A Guard guards one listener. Make one with [New]. It is safe for concurrent use.
type Guard struct {
	Config
	loopback  bool
	key       []byte // of the tokens that forms send back
	logins    *logins
	users     *throttle
	addresses *throttle
	devices   *throttle
	strikes   *strikes
	refused   refusals
	strangers chan struct{} // one entry for each login from a device that is not known

	hashing, hashingKnown chan struct{} // one entry for each password being hashed

	running   chan struct{} // one entry for each request being answered
	origin    *http.CrossOriginProtection
	enterPage *template.Template
	decoy     string // stored password of users that do not exist
	matches   func(stored, password string) bool
	pause     func(context.Context, time.Duration) error
}

// New is a guard. It refuses a Config that would show notes to strangers, and says what is missing.
func New(c Config) (*Guard, error) {
	loopback, err := Loopback(c.Bind)
	if err != nil {
		return nil, err
	}
	var missing []string
	if !loopback && c.Certificate == nil {
		missing = append(missing, "a TLS certificate and its key")
	}
	if !loopback && c.Users == nil {
		missing = append(missing, "a file of users")
	}
	if (!loopback || c.Users != nil || c.Callers != nil) && c.AccessLog == nil {
		missing = append(missing, "an access log")
	}
	if len(missing) > 0 {
		return nil, &MissingError{Bind: c.Bind, Loopback: loopback, Missing: missing}
	}
	page, err := enterTemplate()
	if err != nil {
		return nil, err
	}
	c.Idle = or(c.Idle, DefaultIdle)
	c.MaxBody = or(c.MaxBody, DefaultMaxBody)
	c.MaxRequests = or(c.MaxRequests, DefaultMaxRequests)
	c.Wait = or(c.Wait, DefaultWait)
	c.RequestTime = or(c.RequestTime, DefaultRequestTime)
	if c.Now == nil {
		c.Now = time.Now
	}
	if c.Say == nil {
		c.Say = func(string) {}
	}
	g := &Guard{
		Config:       c,
		loopback:     loopback,
		key:          make([]byte, sha256.Size),
		logins:       newLogins(c.Idle),
		users:        newThrottle(freePerUser),
		addresses:    newThrottle(freePerAddress),
		devices:      newThrottle(freePerDevice),
		strangers:    make(chan struct{}, mostStrangers),
		hashing:      make(chan struct{}, hashingStrangers),
		hashingKnown: make(chan struct{}, hashingKnown),
		running:      make(chan struct{}, c.MaxRequests),
		matches:      matches,
		pause:        pause,
		strikes:      newStrikes(),
		origin:       http.NewCrossOriginProtection(),
		enterPage:    page,
		decoy:        phcPrefix() + base64.RawStdEncoding.EncodeToString(make([]byte, saltBytes)) + "$" + base64.RawStdEncoding.EncodeToString(make([]byte, tagBytes)),
	}
	rand.Read(g.key) // never fails: crypto/rand ends the program instead
	return g, nil
}

// or is v, or the default where v is not set.
func or[T int | int64 | time.Duration](v, unset T) T {
	if v > 0 {
		return v
	}
	return unset
}

// A MissingError says what a Config lacks before it may be served.
type MissingError struct {
	Bind     string
	Loopback bool
	Missing  []string // in words
}

// Error is "want … to listen on …".
func (e *MissingError) Error() string {
	if e.Loopback {
		return "want " + strings.Join(e.Missing, ", ") + " with a file of users, and with callers"
	}
	return fmt.Sprintf("want %s to listen on %s, which other machines can reach", strings.Join(e.Missing, ", "), e.Bind)
}

// Loopback reports whether only the machine itself can reach an address of the form host:port. The
// error is for one of another form: names other than localhost are refused, because what they stand
// for can change.
func Loopback(bind string) (bool, error) {
	host, port, err := net.SplitHostPort(bind)
	if err == nil {
		_, err = strconv.ParseUint(port, 10, 16)
	}
	if err != nil {
		return false, fmt.Errorf("address %q: want host:port, as in 127.0.0.1:8420", bind)
	}
	if host == "" { // all addresses of the machine
		return false, nil
	}
	if strings.EqualFold(host, "localhost") {
		return true, nil
	}
	ip, err := netip.ParseAddr(host)
	if err != nil {
		return false, fmt.Errorf("address %q: want an IP address or localhost before the port", bind)
	}
	return ip.Unmap().IsLoopback(), nil
}

// Wrap is h behind the guard.
func (g *Guard) Wrap(h http.Handler) http.Handler {
	own := http.NewServeMux()
	own.HandleFunc("GET "+EnterPath, g.enterForm)
	own.HandleFunc("POST "+EnterPath, g.enter)
	own.HandleFunc("POST "+LeavePath, g.leave)
	timed := http.TimeoutHandler(g.inTurn(h), g.RequestTime, "This took too long and was stopped. Try again.\n")
	timedOwn := http.TimeoutHandler(g.inTurn(own), g.RequestTime, "This took too long and was stopped. Try again.\n")
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		static := strings.HasPrefix(r.URL.Path, StaticPath)
		g.headers(w.Header(), static)
		if status, words := g.refuse(r); status != 0 {
			if status == http.StatusMethodNotAllowed {
				w.Header().Set("Allow", "GET, HEAD, POST")
			}
			http.Error(w, words, status)
			return
		}
		if g.Callers.covers(r.URL.Path) {
			g.answerCaller(w, r, timed)
			return
		}
		if !g.readBody(w, r) {
			return
		}
		v := &visit{place: r.URL.Path}
		ctx := context.WithValue(r.Context(), sessionKey{}, v)
		if static {
			timed.ServeHTTP(w, r.WithContext(ctx))
			return
		}
		id := g.session(w, r, v)
		if !safe(r.Method) && !g.tokenFits(id, r) {
			http.Error(w, "This page is too old to send anything. Copy what you wrote, load the page again, and send it once more.", http.StatusForbidden)
			return
		}
		if !safe(r.Method) && !isForm(r) {
			http.Error(w, "Only forms are taken here.", http.StatusUnsupportedMediaType)
			return
		}
		switch {
		case g.Users != nil && (r.URL.Path == EnterPath || r.URL.Path == LeavePath):
			timedOwn.ServeHTTP(w, r.WithContext(ctx))
		case g.Users != nil && v.session.User == "":
			g.sendToLogin(w, r)
		default:
			timed.ServeHTTP(w, r.WithContext(ctx))
		}
	})
}

// headers sets what every answer carries.
func (g *Guard) headers(h http.Header, static bool) {
	h.Set("Content-Security-Policy", "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data:; "+
		"connect-src 'self'; form-action 'self'; base-uri 'none'; frame-ancestors 'none'")
	h.Set("X-Content-Type-Options", "nosniff")
	h.Set("X-Frame-Options", "DENY")
	// Not no-referrer, with which browsers send "Origin: null" with a page's own forms.
	h.Set("Referrer-Policy", "same-origin")
	h.Set("Cross-Origin-Opener-Policy", "same-origin")
	h.Set("Cross-Origin-Resource-Policy", "same-origin")
	h.Set("Cross-Origin-Embedder-Policy", "require-corp")
	h.Set("Permissions-Policy", "camera=(), geolocation=(), microphone=(), payment=(), usb=()")
	// Pages hold words of records; a ward tablet must not keep them.
	h.Set("Cache-Control", "no-store")
	if static {
		h.Set("Cache-Control", "no-cache")
	}
	if g.Certificate != nil {
		h.Set("Strict-Transport-Security", "max-age=31536000")
	}
}

// refuse is the status with which a request is turned away before anything of it is read, or 0.
func (g *Guard) refuse(r *http.Request) (status int, words string) {
	switch {
	case r.Method != http.MethodGet && r.Method != http.MethodHead && r.Method != http.MethodPost && !(r.Method == http.MethodOptions && g.Callers.from(r)):
		return http.StatusMethodNotAllowed, "Only GET, HEAD and POST are answered here."
	case !plainPath(r.URL.Path):
		return http.StatusBadRequest, "This address is not one of a page."
	case !g.serves(r.Host):
		return http.StatusMisdirectedRequest, "This server does not go by that name. Use the address that it was started with."
	case !g.Callers.from(r) && (g.origin.Check(r) != nil || foreignLoad(r)):
		return http.StatusForbidden, "This came from another site and was refused."
	}
	return 0, ""
}

// plainPath reports whether a path leads nowhere but down.
func plainPath(p string) bool {
	if !strings.HasPrefix(p, "/") || strings.ContainsAny(p, "\\\x00") {
		return false
	}
	for part := range strings.SplitSeq(p, "/") {
		if part == "." || part == ".." {
			return false
		}
	}
	return true
}

// serves reports whether the Host header names this server. Any other name was pointed here by
// somebody else, so that a browser takes their pages and these for one site.
func (g *Guard) serves(hostHeader string) bool {
	host := hostHeader
	if h, port, err := net.SplitHostPort(hostHeader); err == nil {
		if _, err := strconv.ParseUint(port, 10, 16); err != nil {
			return false
		}
		host = h
	}
	if g.Certificate != nil {
		return host != "" && g.Certificate.VerifyHostname(host) == nil
	}
	if strings.EqualFold(host, "localhost") {
		return true
	}
	ip, err := netip.ParseAddr(strings.Trim(host, "[]"))
	return err == nil && ip.Unmap().IsLoopback()
}

// foreignLoad reports whether another site's page tries to load something from here. A link that
// somebody follows is let through; it brings no cookie along.
func foreignLoad(r *http.Request) bool {
	site := r.Header.Get("Sec-Fetch-Site")
	return (site == "cross-site" || site == "same-site") && r.Header.Get("Sec-Fetch-Mode") != "navigate"
}

func safe(method string) bool { return method == http.MethodGet || method == http.MethodHead }

// readBody reads the body whole before the request gets a turn, so that one that trickles in holds
// nothing but its own connection. Where that fails, it answers, and reports false.
func (g *Guard) readBody(w http.ResponseWriter, r *http.Request) bool {
	body, status := g.body(w, r)
	if status != 0 {
		w.Header().Set("Connection", "close")
		http.Error(w, "The text sent is too long, or came too slowly.", status)
		return false
	}
	r.Body = &whole{Reader: bytes.NewReader(body), bytes: body}
	return true
}

// A whole is a body that was read before.
type whole struct {
	*bytes.Reader
	bytes []byte
}

func (*whole) Close() error { return nil }

// body is the body, with status 0, or the one to refuse with.
func (g *Guard) body(w http.ResponseWriter, r *http.Request) ([]byte, int) {
	if r.ContentLength > g.MaxBody {
		return nil, http.StatusRequestEntityTooLarge
	}
	body, err := io.ReadAll(http.MaxBytesReader(w, r.Body, g.MaxBody))
	var long *http.MaxBytesError
	switch {
	case errors.As(err, &long):
		return nil, http.StatusRequestEntityTooLarge
	case err != nil:
		return nil, http.StatusRequestTimeout
	}
	return body, 0
}

// inTurn is h, answered when one of MaxRequests turns is free. The turn is held until h ends, even if
// its time is up before. A panic is told without its value, which could hold words of a note.
func (g *Guard) inTurn(h http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if !g.take(r.Context(), g.running) {
			w.Header().Set("Retry-After", "2")
			http.Error(w, "Too many are asking at once. Wait a moment and try again.", http.StatusServiceUnavailable)
			return
		}
		v, _ := r.Context().Value(sessionKey{}).(*visit)
		v.inTurn = true
		defer g.giveBack(v)
		out := &answer{header: http.Header{}}
		defer func() {
			p := recover()
			if p == http.ErrAbortHandler {
				panic(p)
			}
			if p != nil {
				g.Say("internal fault at " + r.Pattern + ": " + fault(p))
				http.Error(w, "Something went wrong inside stance. Nothing was saved. Try again.", http.StatusInternalServerError)
			}
		}()
		h.ServeHTTP(out, r)
		if err := g.tellSights(r.Context()); err != nil {
			g.Say("access log: " + err.Error())
			http.Error(w, "The access log cannot be written, so nothing is shown. Tell whoever runs this server.", http.StatusInternalServerError)
			return
		}
		out.send(w)
	})
}

// An answer holds what a handler answers until it is known that it may be sent.
type answer struct {
	header http.Header
	status int // 0: 200
	body   bytes.Buffer
}

func (a *answer) Header() http.Header         { return a.header }
func (a *answer) Write(b []byte) (int, error) { return a.body.Write(b) }
func (a *answer) WriteHeader(status int) {
	if a.status == 0 {
		a.status = status
	}
}

func (a *answer) send(w http.ResponseWriter) {
	maps.Copy(w.Header(), a.header)
	if a.status != 0 {
		w.WriteHeader(a.status)
	}
	w.Write(a.body.Bytes()) // fails where the client has gone
}

// take takes a turn, and reports whether there was one in time.
func (g *Guard) take(ctx context.Context, turns chan struct{}) bool {
	select {
	case turns <- struct{}{}:
		return true // also where the machine is so busy that the time would be up by now
	default:
	}
	timer := time.NewTimer(g.Wait)
	defer timer.Stop()
	select {
	case turns <- struct{}{}:
		return true
	case <-timer.C:
	case <-ctx.Done():
	}
	return false
}

// giveBack gives the turn of a request back, if it has one.
func (g *Guard) giveBack(v *visit) {
	v.mu.Lock()
	defer v.mu.Unlock()
	if v.inTurn {
		v.inTurn = false
		<-g.running
	}
}

// Await waits for done, on behalf of the request of ctx, or until that is given up. The request has no turn
// meanwhile, so that however many wait for one thing keep nobody else out. An error is that of ctx.
func (g *Guard) Await(ctx context.Context, done <-chan struct{}) error {
	select {
	case <-done:
		return nil // not worth a turn
	default:
	}
	return g.away(ctx, func() error {
		select {
		case <-done:
			return nil
		case <-ctx.Done():
			return ctx.Err()
		}
	})
}

// away does something that only waits while the request of ctx has no turn, and takes a turn again.
func (g *Guard) away(ctx context.Context, wait func() error) error {
	v, ok := ctx.Value(sessionKey{}).(*visit)
	if !ok {
		return wait()
	}
	g.giveBack(v)
	if err := wait(); err != nil {
		return err
	}
	select {
	case g.running <- struct{}{}:
		v.mu.Lock()
		defer v.mu.Unlock()
		v.inTurn = true
		return nil
	case <-ctx.Done():
		return ctx.Err()
	}
}

// fault tells a runtime error; of any other panic value only its type.
func fault(p any) string {
	if err, ok := p.(runtime.Error); ok {
		return err.Error()
	}
	return fmt.Sprintf("panic with a %T", p)
}

// session finds out on whose behalf r comes, and is the id in its cookie. Who brings none is given one.
func (g *Guard) session(w http.ResponseWriter, r *http.Request, v *visit) string {
	id := ""
	if c, err := r.Cookie(g.cookieName(r)); err == nil && isID(c.Value) {
		id = c.Value
	}
	if id == "" {
		id = newID()
		g.setCookie(w, r, id)
	}
	v.session.CSRF = g.token(id)
	if g.Users == nil {
		v.session.Roles, v.session.Units = Roles(), []string{AllUnits}
		return id
	}
	in, ok := g.logins.use(id, g.Now())
	if !ok {
		return id
	}
	u, ok, err := g.Users.find(in.user)
	if err != nil {
		g.Say(err.Error())
	}
	if !ok || u.Password != in.password {
		g.logins.end(id)
		return id
	}
	v.session.User, v.session.Roles, v.session.Units = u.Name, u.Roles, u.Units
	return id
}

// cookieName has the port in it, because browsers keep cookies apart by host only. The prefix makes
// them refuse one that another host or an unencrypted page has set.
func (g *Guard) cookieName(r *http.Request) string {
	name := "stance"
	if _, port, err := net.SplitHostPort(r.Host); err == nil {
		name += "-" + port
	}
	if g.Certificate != nil {
		return "__Host-" + name
	}
	return name
}

func (g *Guard) setCookie(w http.ResponseWriter, r *http.Request, id string) {
	http.SetCookie(w, &http.Cookie{
		Name: g.cookieName(r), Value: id, Path: "/",
		HttpOnly: true, Secure: g.Certificate != nil, SameSite: http.SameSiteStrictMode,
	})
}

// token is what the forms of a session send back. Another site can make a browser send the cookie,
// but cannot read the token.
func (g *Guard) token(id string) string {
	m := hmac.New(sha256.New, g.key)
	m.Write([]byte(id))
	return base64.RawURLEncoding.EncodeToString(m.Sum(nil))
}

// tokenFits reports whether the request carries the token of its session.
func (g *Guard) tokenFits(id string, r *http.Request) bool {
	got := r.Header.Get(CSRFHeader)
	if body, ok := r.Body.(*whole); ok && got == "" && isForm(r) {
		form, err := url.ParseQuery(string(body.bytes))
		if err != nil {
			return false
		}
		got = form.Get(CSRFField)
	}
	return hmac.Equal([]byte(got), []byte(g.token(id)))
}

// isForm reports whether the request brings a form of the one kind that is read here, as it is: one that
// is compressed could grow past the limit on bodies.
func isForm(r *http.Request) bool {
	kind, _, err := mime.ParseMediaType(r.Header.Get("Content-Type"))
	return err == nil && kind == "application/x-www-form-urlencoded" && r.Header.Get("Content-Encoding") == ""
}

// Saw has the access log tell that the residents are shown to the user of the request. It is written
// once the handler is done and before its answer is sent; where that fails, an error is sent instead.
// Without an access log Saw does nothing. The error is that of a request that is not the guard's.
func (g *Guard) Saw(ctx context.Context, residents ...string) error {
	v, ok := ctx.Value(sessionKey{}).(*visit)
	if !ok {
		return errors.New("access log: the request did not come through the guard")
	}
	v.mu.Lock()
	defer v.mu.Unlock()
	v.shown = append(v.shown, residents...)
	return nil
}

// tellSights writes what Saw was told during a request.
func (g *Guard) tellSights(ctx context.Context) error {
	v, ok := ctx.Value(sessionKey{}).(*visit)
	if !ok || g.AccessLog == nil {
		return nil
	}
	v.mu.Lock()
	defer v.mu.Unlock()
	now := g.Now()
	lines := make([]Access, len(v.shown))
	for i, resident := range v.shown {
		lines[i] = Access{Time: now, User: v.session.User, For: v.behalf, Did: Saw, Resident: resident, Place: v.place}
	}
	return g.AccessLog.add(lines...)
}
