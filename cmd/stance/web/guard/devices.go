package guard

import (
	"crypto/hmac"
	"crypto/sha256"
	"encoding/base64"
	"net/http"
	"slices"
	"strings"
	"time"
)

// A device is a browser by its cookie, which says who has logged in with it before: strangers' guesses keep those
// out no more (NIST SP 800-63B-4 (2025), section 3.2.2, names what is known of a subscriber's earlier logins
// among the ways to spare them a lockout). The cookie names nobody. Beside an id it has a mark for each
// user, which only whoever knows the stored password can make: it needs no memory here, holds after a restart, and is
// worth nothing once the user has another password.
type device struct {
	id    string
	marks []string // the latest first
}

const (
	markBytes   = 16                   // of a mark
	mostMarks   = 24                   // users of one device: those who share a ward's tablet
	keptDevices = 180 * 24 * time.Hour // common practice: twice a quarter, renewed by each login
)

// device is the one that a request comes from; a new one where it brings no cookie.
func (g *Guard) device(r *http.Request) device {
	c, err := r.Cookie(g.deviceCookie(r))
	if err != nil {
		return device{id: newID()}
	}
	parts := strings.Split(c.Value, ".")
	if !isID(parts[0]) || len(parts) > 1+mostMarks {
		return device{id: newID()}
	}
	return device{parts[0], parts[1:]}
}

func (g *Guard) deviceCookie(r *http.Request) string { return g.cookieName(r) + "-device" }

// mark is that of the user with this stored password.
func (d device) mark(stored string) string {
	m := hmac.New(sha256.New, []byte(stored))
	m.Write([]byte("device " + d.id))
	return base64.RawURLEncoding.EncodeToString(m.Sum(nil)[:markBytes])
}

// knows reports whether the user with this stored password has logged in with the device.
func (d device) knows(stored string) bool {
	want := []byte(d.mark(stored))
	return slices.ContainsFunc(d.marks, func(m string) bool { return hmac.Equal([]byte(m), want) })
}

// remember has the browser keep that the user with this stored password has logged in with it.
func (g *Guard) remember(w http.ResponseWriter, r *http.Request, d device, stored string) {
	mark := d.mark(stored)
	marks := append([]string{mark}, slices.DeleteFunc(slices.Clone(d.marks), func(m string) bool { return m == mark })...)
	marks = marks[:min(len(marks), mostMarks)]
	http.SetCookie(w, &http.Cookie{
		Name: g.deviceCookie(r), Value: d.id + "." + strings.Join(marks, "."), Path: "/", MaxAge: int(keptDevices / time.Second),
		HttpOnly: true, Secure: g.Certificate != nil, SameSite: http.SameSiteStrictMode,
	})
}
