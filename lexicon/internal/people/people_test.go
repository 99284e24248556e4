package people_test

import (
	"testing"

	"example.com/stance/lexicon/internal/people"
)

// words reads a line of letters: w writer, c colleague, s student, v volunteer, f family, o other resident,
// p person, N name, n nickname, d determiner, m modifier, & joint, , comma, @ what leads to a post, a digit a number,
// anything else no person.
func words(line string) []people.Word {
	roles := map[rune]people.Role{'w': people.Writer, 'c': people.Colleague, 's': people.Student, 'v': people.Volunteer,
		'f': people.Family, 'o': people.Fellow, 'p': people.Person, 'N': people.Name, 'n': people.Nickname,
		'd': people.Determiner, 'm': people.Modifier, '&': people.Joint, ',': people.Comma, '@': people.Post}
	var out []people.Word
	for _, c := range line {
		if c >= '1' && c <= '9' {
			out = append(out, people.Word{Role: people.Number, Count: int(c - '0')})
			continue
		}
		out = append(out, people.Word{Role: roles[c]})
	}
	return out
}

func TestAt(t *testing.T) {
	for _, tt := range []struct {
		line   string
		to     int
		staff  int
		family bool
	}{
		{"w&N.", 3, 2, false},       // me and Kasia
		{"N&w.", 3, 2, false},       // Paul and I
		{"w&dmp.", 5, 2, false},     // I and the agency lady
		{"wN&dmc.", 6, 3, false},    // me Kel and the agency lad
		{"w,N&N.", 5, 3, false},     // me, Jo and Sam
		{"w&n.", 3, 2, false},       // me and grace
		{"w&2s.", 4, 3, false},      // me and two students
		{"df&w.", 4, 1, true},       // her son and I
		{"df&df.", 5, 0, true},      // the daughter and the grandson
		{"cN&w.", 4, 2, false},      // Nurse Bronagh and me
		{"Ndc&w.", 5, 2, false},     // Thomas the nurse and I
		{"N@d.,w@d.,", 9, 2, false}, // Deb on the remote, me on the legs
		{"w@dm&N@d..", 9, 2, false}, // me on the left side and Bev on the sling
		{"w.", 0, 0, false},
		{"N.", 0, 0, false},
		{"p&w.", 0, 0, false}, // nobody said to be of the staff comes first
		{"n&n.", 0, 0, false},
		{"w&m.", 0, 0, false},
		{"w&", 0, 0, false},
		{"", 0, 0, false},
	} {
		g, ok := people.At(words(tt.line), 0)
		if ok != (tt.to > 0) {
			t.Errorf("At(%q) found a group: %v", tt.line, ok)
			continue
		}
		if ok && (g.To != tt.to || g.Staff != tt.staff || g.Kinds.Has(people.Family) != tt.family) {
			t.Errorf("At(%q) = %+v, want to %d, staff %d, family %v", tt.line, g, tt.to, tt.staff, tt.family)
		}
	}
}
