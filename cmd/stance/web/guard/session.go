package guard

import (
	"context"
	"slices"
	"strings"
	"sync"
)

// A Role is what a user may do.
type Role string

// The roles.
const (
	Write  Role = "write"  // write notes and have them checked
	Review Role = "review" // see the findings of a unit, answer them, read residents' notes
	Audit  Role = "audit"  // see rates over many notes, and the notes behind them
)

// Roles are all roles.
func Roles() []Role { return []Role{Write, Review, Audit} }

// AllUnits stands in a user's units for every unit, and for residents whose unit is not known.
const AllUnits = "all"

// A Session is on whose behalf a request is answered. The zero Session may do and see nothing.
type Session struct {
	User  string // the name given at the login; empty where there are no accounts
	Roles []Role
	Units []string // the units whose residents may be seen; AllUnits for every one
	CSRF  string   // the token that a form sends back as CSRFField, a script as CSRFHeader
}

// Where the token of Session.CSRF is expected in a request that changes something.
const (
	CSRFField  = "csrf" // of an application/x-www-form-urlencoded form
	CSRFHeader = "X-CSRF-Token"
)

// May reports whether the user has the role.
func (s Session) May(r Role) bool { return slices.Contains(s.Roles, r) }

// Sees reports whether the user may see residents of the unit. Capitals do not matter. The empty
// unit, of a resident whose unit is not known, is only seen by those who see all.
func (s Session) Sees(unit string) bool {
	return slices.ContainsFunc(s.Units, func(u string) bool {
		return strings.EqualFold(u, AllUnits) || unit != "" && strings.EqualFold(u, unit)
	})
}

// sessionKey is the context's key for a *visit.
type sessionKey struct{}

// A visit is one request on its way through the handlers.
type visit struct {
	session Session
	place   string // the path asked for

	mu     sync.Mutex
	shown  []string // residents, for the access log
	behalf string   // for whom a caller asks
	inTurn bool     // it is one of the requests being answered
}

// SessionOf is the session of a request that came through [Guard.Wrap], else the zero Session.
func SessionOf(ctx context.Context) Session {
	if v, ok := ctx.Value(sessionKey{}).(*visit); ok {
		return v.session
	}
	return Session{}
}
