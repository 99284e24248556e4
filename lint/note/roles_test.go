package note

import "testing"

func TestParseRoles(t *testing.T) {
	tests := []struct{ in, want string }{
		{"# titles\n\nnurse: rn, R.P.N. # both\ncare worker: psw\n", ""},
		{"nurse: rn\nnurses: rpn\n", "roles.txt:2: want a role, a colon and titles"},
		{"nurse rn\n", "roles.txt:1: want a role, a colon and titles"},
		{"nurse: rn\n\ndoctor: r.n.\n", `roles.txt:3: title "rn": want each title once, and none empty`},
		{"nurse: rn,\n", `roles.txt:1: title "": want each title once, and none empty`},
	}
	for _, tt := range tests {
		_, err := parseRoles("roles.txt", tt.in)
		if got := message(err); got != tt.want {
			t.Errorf("parseRoles(%q): error %q, want %q", tt.in, got, tt.want)
		}
	}
}

func message(err error) string {
	if err == nil {
		return ""
	}
	return err.Error()
}
