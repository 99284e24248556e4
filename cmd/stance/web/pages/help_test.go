package pages_test

import (
	"net/http"
	"testing"

	"example.com/stance/cmd/stance/web/guard"
)

// Help speaks of the places that one may enter, and is for everybody with an account.
func TestHelp(t *testing.T) {
	h := newHome(t)
	want(t, h.get("/help"), http.StatusOK, `id="note"`, `id="shift"`, `id="resident"`, `id="audit"`, "until the shift ends", "decide how a resident is moved")
	h.session = guard.Session{User: "w", Roles: []guard.Role{guard.Write}, Units: []string{"Mill"}}
	w := h.get("/help")
	want(t, w, http.StatusOK, `id="note"`, "tell the charge nurse", "your own units")
	wantNone(t, w, `id="shift"`, `id="resident"`, `id="audit"`)
	h.config.Records.Policy.Drafts = "off"
	h.reload(t)
	want(t, h.get("/help"), http.StatusOK, "gone when you leave the page")
	for _, path := range []string{"/note", "/learn", "/help", "/resident?id=nobody"} {
		h.session = everything()
		if w := h.get(path); w.Code == http.StatusOK || w.Code == http.StatusNotFound {
			want(t, w, w.Code, `<p class="help"><a href="/help`)
		}
	}
	h.session.Roles = nil
	want(t, h.get("/help"), http.StatusForbidden, "may not come here")
}
