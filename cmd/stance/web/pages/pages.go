// Package pages is the local page: five places to write a note, go through a shift, follow a resident, look at an
// audit and learn, and help with each of them.
//
// [New] makes the handler of all of them. Each place is a file here and a template of its own under
// templates; what they have in common is in frame.go. Pages are plain HTML that works without a script;
// static/page.js adds the check while typing. hooks.go answers programs in place of people, as CDS Hooks has it. What is shown comes from package records through package sight,
// which leaves out what the session may not see and has the access log tell of the rest. The package opens no
// port and knows no passwords: the guard around it does.
package pages

import (
	"context"
	"net/http"
	"time"

	"example.com/stance/cmd/stance/web/guard"
	"example.com/stance/cmd/stance/web/pages/records"
)

// Config is what the pages need. Saw, Behalf and Fault may be nil; all else must be set.
type Config struct {
	Records records.Config
	// Session tells on whose behalf a request is answered.
	Session func(context.Context) guard.Session
	// Saw is called with the residents whom a page is about to show, and its error keeps the page from
	// being shown. A nil func takes no note of that.
	Saw func(ctx context.Context, residents ...string) error
	// Fault is told each error that is not the user's, for the messages of the program. It holds no words
	// of a note.
	Fault func(error)
	// Hooks has the services of CDS Hooks answered, for sessions with the role guard.Call.
	Hooks bool
	// Behalf is told for whom a caller of them asks, before it is shown anything. It may be nil.
	Behalf func(ctx context.Context, user string) error
	Now    func() time.Time
}

// New is the handler of all pages. The error says what is wrong with the policy or with the templates.
func New(c Config) (http.Handler, error) {
	rec, err := records.New(c.Records)
	if err != nil {
		return nil, err
	}
	return newSite(c, rec)
}
