package guard

import (
	"crypto/rand"
	"crypto/sha256"
	"encoding/base64"
	"sync"
	"time"
)

// idBytes is the length of a session's id: 256 bits. Common practice asks for at least 128.
const idBytes = 32

// newID is a session id that nobody can guess, as it stands in the cookie.
func newID() string {
	b := make([]byte, idBytes)
	rand.Read(b) // never fails: crypto/rand ends the program instead
	return base64.RawURLEncoding.EncodeToString(b)
}

// isID reports whether s has the form of a session id.
func isID(s string) bool {
	b, err := base64.RawURLEncoding.Strict().DecodeString(s)
	return err == nil && len(b) == idBytes
}

// longestLogin is how long a login holds at most, used or not. NIST SP 800-63B-4 (2025), section 2.2.3,
// advises at most 24 hours at its second level; half of that covers a long shift.
const longestLogin = 12 * time.Hour

// perUser is how many logins of one user hold at a time; one more ends the oldest.
const perUser = 8

// logins are the logins that hold. They are kept in memory only, under a hash of their id, so that a
// look into the memory gives no id away. Use newLogins.
type logins struct {
	idle time.Duration

	mu   sync.Mutex
	byID map[[sha256.Size]byte]*login
}

type login struct {
	user, password string // the password as stored at the login: another one ends it
	since, last    time.Time
}

func newLogins(idle time.Duration) *logins {
	return &logins{idle: idle, byID: map[[sha256.Size]byte]*login{}}
}

// begin is the id of a new login of u.
func (l *logins) begin(u User, now time.Time) string {
	l.mu.Lock()
	defer l.mu.Unlock()
	var oldest [sha256.Size]byte
	count := 0
	for key, in := range l.byID {
		if l.over(in, now) {
			delete(l.byID, key)
			continue
		}
		if in.user != u.Name {
			continue
		}
		if count == 0 || in.last.Before(l.byID[oldest].last) {
			oldest = key
		}
		count++
	}
	if count >= perUser {
		delete(l.byID, oldest)
	}
	id := newID()
	l.byID[sha256.Sum256([]byte(id))] = &login{user: u.Name, password: u.Password, since: now, last: now}
	return id
}

// use is the login of that id, if it holds, which thereby stays awake.
func (l *logins) use(id string, now time.Time) (login, bool) {
	l.mu.Lock()
	defer l.mu.Unlock()
	key := sha256.Sum256([]byte(id))
	in, ok := l.byID[key]
	if !ok {
		return login{}, false
	}
	if l.over(in, now) {
		delete(l.byID, key)
		return login{}, false
	}
	in.last = now
	return *in, true
}

// end ends the login of that id, if there is one.
func (l *logins) end(id string) {
	l.mu.Lock()
	defer l.mu.Unlock()
	delete(l.byID, sha256.Sum256([]byte(id)))
}

// over goes by whichever clock has gone on further: the one that counts up stands still while the
// machine sleeps, and the one on the wall can be set back.
func (l *logins) over(in *login, now time.Time) bool {
	since := func(t time.Time) time.Duration { return max(now.Sub(t), now.Round(0).Sub(t)) }
	return since(in.last) >= l.idle || since(in.since) >= longestLogin
}
