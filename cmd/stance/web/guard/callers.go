package guard

import (
	"context"
	"errors"
	"mime"
	"net/http"
	"slices"
	"strings"
	"sync"
	"time"
)

// Callers are programs that are let in by a token in place of a login. They get no cookie and no page, and send no forms:
// what a browser would send along by itself counts for nothing here.
type Callers struct {
	// Path is what they may call, with all that lies below it.
	Path string
	// Admit says who calls, by the token in the request's header. Its error is told to the one who runs the program, and to
	// the caller only that the token was not accepted; it holds nothing of the token but what cannot be a secret.
	Admit func(*http.Request) (name string, err error)
	Units []string // of the residents whom they may see
	// Origins are the sites whose pages may call from a browser, as in "https://records.example.org". None: no site.
	Origins []string
}

// Call is the role of callers. No user has it.
const Call Role = "call"

// covers reports whether a path is one of those that callers call.
func (c *Callers) covers(path string) bool {
	return c != nil && (path == c.Path || strings.HasPrefix(path, c.Path+"/"))
}

// from reports whether a request comes from a page of a site that may call.
func (c *Callers) from(r *http.Request) bool {
	return c.covers(r.URL.Path) && slices.Contains(c.Origins, r.Header.Get("Origin"))
}

// answerCaller answers a request of a caller, whose headers and host were looked at before.
func (g *Guard) answerCaller(w http.ResponseWriter, r *http.Request, h http.Handler) {
	if g.Callers.from(r) {
		w.Header().Add("Vary", "Origin")
		w.Header().Set("Access-Control-Allow-Origin", r.Header.Get("Origin"))
		w.Header().Set("Cross-Origin-Resource-Policy", "cross-origin")
		if r.Method == http.MethodOptions { // a browser asks before it calls, without the token
			w.Header().Set("Access-Control-Allow-Methods", "GET, POST")
			w.Header().Set("Access-Control-Allow-Headers", "Authorization, Content-Type")
			w.Header().Set("Access-Control-Max-Age", "600")
			w.WriteHeader(http.StatusNoContent)
			return
		}
	}
	name, err := g.Callers.Admit(r)
	if err != nil {
		if err := g.tellRefused(err); err != nil {
			g.Say("access log: " + err.Error())
		}
		w.Header().Set("WWW-Authenticate", `Bearer error="invalid_token"`)
		w.Header().Set("Connection", "close") // what it sends is not read
		http.Error(w, "The token was not accepted. Whoever runs this server can see why.", http.StatusUnauthorized)
		return
	}
	kind, _, err := mime.ParseMediaType(r.Header.Get("Content-Type"))
	if !safe(r.Method) && (err != nil || kind != "application/json" || r.Header.Get("Content-Encoding") != "") {
		w.Header().Set("Connection", "close")
		http.Error(w, "Only JSON is taken here, as application/json and not compressed.", http.StatusUnsupportedMediaType)
		return
	}
	if !g.readBody(w, r) {
		return
	}
	v := &visit{place: r.URL.Path, session: Session{User: name, Roles: []Role{Call}, Units: g.Callers.Units}}
	h.ServeHTTP(w, r.WithContext(context.WithValue(r.Context(), sessionKey{}, v)))
}

// OnBehalf has the access log tell for whom a caller asks, who is somebody of the caller's own. The error is that of a
// request that is not the guard's.
func (g *Guard) OnBehalf(ctx context.Context, who string) error {
	v, ok := ctx.Value(sessionKey{}).(*visit)
	if !ok {
		return errors.New("access log: the request did not come through the guard")
	}
	v.mu.Lock()
	defer v.mu.Unlock()
	v.behalf = who
	return nil
}

// refusals remembers when a refused caller was last told: whoever tries again and again must not fill the log.
type refusals struct {
	mu   sync.Mutex
	last time.Time
}

// tellRefused tells a refused caller, once a minute.
func (g *Guard) tellRefused(why error) error {
	now := g.Now()
	g.refused.mu.Lock()
	defer g.refused.mu.Unlock()
	if !g.refused.last.IsZero() && now.Sub(g.refused.last) < sameSight {
		return nil
	}
	g.refused.last = now
	g.Say(g.Callers.Path + ": a caller was refused: " + why.Error())
	if g.AccessLog == nil {
		return nil
	}
	return g.AccessLog.add(Access{Time: now, Did: Refused, Place: g.Callers.Path})
}
