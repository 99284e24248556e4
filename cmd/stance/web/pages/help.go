package pages

import (
	"net/http"
	"strings"

	"example.com/stance/cmd/stance/web/pages/sight"
	"example.com/stance/lint/policy"
)

// A helpView is what the page of help depends on.
type helpView struct {
	Note, Shift, Resident, Audit bool // places that the session may enter
	Drafts                       bool // see notePage
	Answers                      bool // findings can be answered
	Accounts                     bool // people log in
}

// help says in a few steps how each place is used, to whoever may enter it.
func (s *site) help(r *http.Request, _ *sight.Visit) (*reply, error) {
	session := s.session(r.Context())
	v := helpView{Drafts: s.policy.Drafts == policy.DraftsShift, Answers: s.window.CanAnswer(), Accounts: session.User != ""}
	for _, p := range s.places() {
		at := map[string]*bool{"/note": &v.Note, "/shift": &v.Shift, "/resident": &v.Resident, "/audit": &v.Audit}[p.path]
		if at != nil {
			*at = p.open(session)
		}
	}
	return s.page(r, http.StatusOK, "help", frame{Title: "Help", Path: "/help", Body: v})
}

// helpPath leads from a place to its part of the help.
func helpPath(place string) string {
	if part := strings.TrimPrefix(place, "/"); part != "" && part != "help" {
		return "/help#" + part
	}
	return "/help"
}
