package note

import (
	"bufio"
	_ "embed"
	"fmt"
	"strings"
	"unicode"

	"example.com/stance/lexicon"
)

//go:embed roles.txt
var rolesText string

// roles maps folded job titles to roles.
type roles map[string]lexicon.Role

// newRoles is the common titles and over them the home's own.
func newRoles(own map[string]lexicon.Role) (roles, error) {
	titles, err := parseRoles("roles.txt", rolesText)
	if err != nil {
		return nil, err
	}
	for title, role := range own {
		titles[foldTitle(title)] = role
	}
	return titles, nil
}

// parseRoles reads lines "role: title, title"; # starts a comment. A title that stands twice is an error.
func parseRoles(name, text string) (roles, error) {
	titles := make(roles)
	scan := bufio.NewScanner(strings.NewReader(text))
	for line := 1; scan.Scan(); line++ {
		entry, _, _ := strings.Cut(scan.Text(), "#")
		if strings.TrimSpace(entry) == "" {
			continue
		}
		role, list, ok := strings.Cut(entry, ":")
		switch lexicon.Role(role) {
		case lexicon.CareWorker, lexicon.Nurse, lexicon.Therapist, lexicon.Doctor, lexicon.OtherRole:
		default:
			ok = false
		}
		if !ok {
			return nil, fmt.Errorf("%s:%d: want a role, a colon and titles", name, line)
		}
		for title := range strings.SplitSeq(list, ",") {
			title = foldTitle(title)
			if _, again := titles[title]; again || title == "" {
				return nil, fmt.Errorf("%s:%d: title %q: want each title once, and none empty", name, line, title)
			}
			titles[title] = lexicon.Role(role)
		}
	}
	return titles, scan.Err()
}

// role is the role that a job title stands for: as a whole or, as in "RN (charge)" or "CNA/PSW", the
// first known part of it. An unknown title, and none at all, is the other role, and then it is false.
func (r roles) role(title string) (lexicon.Role, bool) {
	if role, ok := r[foldTitle(title)]; ok {
		return role, true
	}
	for part := range strings.FieldsFuncSeq(title, func(c rune) bool { return strings.ContainsRune("(),;/&-–—", c) }) {
		if role, ok := r[foldTitle(part)]; ok {
			return role, true
		}
	}
	return lexicon.OtherRole, false
}

// foldTitle is the title in lower case, its words apart by one space, without punctuation: "R.N. " is "rn".
func foldTitle(title string) string {
	var b strings.Builder
	gap := false
	for _, c := range strings.ToLower(title) {
		switch {
		case unicode.IsLetter(c) || unicode.IsDigit(c):
			if gap && b.Len() > 0 {
				b.WriteByte(' ')
			}
			gap = false
			b.WriteRune(c)
		case c != '.' && c != '\'':
			gap = true
		}
	}
	return b.String()
}
