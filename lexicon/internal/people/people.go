// Package people finds where several persons are named together, as in "me and the agency girl" or "Kel, Sam and I",
// and counts the staff among them.
//
// It is the noun-group pass of cascaded finite-state parsing (Hobbs et al., "FASTUS", 1997) for persons alone: a
// determiner, up to three words that say what sort of person, a head, and what joins one person to the next.
package people

// A Role is what one word of a note can do in naming people.
type Role uint8

// The roles of words.
const (
	None      Role = iota // ends a group
	Writer                // "I", "me", "writer"
	Colleague             // a member of staff
	Therapist             // staff who assess more often than they help: a helper only beside the writer or a student
	Student
	Volunteer
	Family
	Fellow // another resident
	Person // a noun for a person who is none of the above
	Name
	Nickname // a word that is a name only beside the writer: "me and grace"
	Number   // a number that may count people
	Determiner
	Modifier // says what sort of person: "agency", "young"
	Joint    // "and", "&"
	Comma
	Post // leads to what somebody minds: "Deb on the remote"
)

// Word is one word of a note: its role, and its number where that is Number.
type Word struct {
	Role  Role
	Count int
}

// Kinds are the people in a group who are no staff on duty, one bit for each of Student, Volunteer, Family, Fellow.
type Kinds uint16

// Has reports whether somebody of the role is in the group.
func (k Kinds) Has(r Role) bool { return k&(1<<r) != 0 }

// A Group is two persons or more, named together in the words from From to To, exclusive.
type Group struct {
	From, To int
	Staff    int   // staff and students among them
	Kinds    Kinds // the roles met
}

// One is the one member of staff, by name or by trade, who is named at word i, and whether there is one.
func One(words []Word, i int) (Group, bool) {
	g := Group{From: i, To: i}
	end, ok := g.member(words, i, false)
	if _, joined := joint(words, end); !ok || joined || g.Staff != 1 || g.Kinds.Has(Writer) {
		return Group{}, false
	}
	g.To = end
	return g, true
}

// mostModifiers is how many words may stand between a determiner and the person: "the new agency night girl".
const mostModifiers = 3

// At is the group that begins at word i, and whether there is one.
func At(words []Word, i int) (Group, bool) {
	g := Group{From: i, To: i}
	members := 0
	for at := i; ; members++ {
		end, ok := g.member(words, at, members > 0)
		if !ok {
			break
		}
		g.To = end
		next, ok := joint(words, end)
		if !ok {
			members++
			break
		}
		at = next
	}
	if g.Kinds.Has(Therapist) && !g.Kinds.Has(Writer) && !g.Kinds.Has(Student) {
		return Group{}, false
	}
	return g, members > 1 && (g.Staff > 0 && !g.Kinds.Has(Family) || g.Kinds.Has(Writer) || g.Staff == 0)
}

// member reads one person, or a number of people, from word i into the group and gives the word behind.
func (g *Group) member(words []Word, i int, joined bool) (int, bool) {
	at := func(k int) Role {
		if k < len(words) {
			return words[k].Role
		}
		return None
	}
	determined := at(i) == Determiner
	for at(i) == Determiner {
		i++
	}
	count := 1
	switch at(i) {
	case Writer:
		g.count(Writer, 1)
		return posted(at, i+1), true
	case Number:
		count = words[i].Count
		i++
	}
	for n := 0; at(i) == Modifier && n < mostModifiers; n++ {
		i++
	}
	head := at(i)
	switch head {
	case Nickname, Person:
		if head == Nickname && determined {
			return 0, false // "her quad stick"
		}
		minds := head == Nickname && at(i+1) == Post
		if !minds && (!joined || !g.Kinds.Has(Writer) && !g.Kinds.Has(Colleague)) {
			return 0, false
		}
	case Colleague, Therapist, Student, Volunteer, Family, Fellow, Name:
	default:
		return 0, false
	}
	i = g.apposed(at, i+1, &head)
	g.count(head, count)
	return posted(at, i), true
}

// posted passes over what somebody mentioned before word i minds: "Deb on the remote, me on his legs".
func posted(at func(int) Role, i int) int {
	if at(i) != Post {
		return i
	}
	k := i + 1
	for at(k) == Determiner || at(k) == Modifier && k < i+1+mostModifiers {
		k++
	}
	if k == i+1 {
		return i
	}
	if at(k-1) == Determiner {
		k++ // what it is may be no noun that can stand among people
	}
	return k
}

// apposed passes over what names the same person once more: "nurse Biju", "Thomas the nurse", "the two college students".
func (g *Group) apposed(at func(int) Role, i int, head *Role) int {
	for {
		next := i
		if at(next) == Determiner && *head == Name {
			for next++; next < i+3 && (at(next) == Modifier || at(next) == Nickname || at(next) == Person || at(next) == Therapist); next++ {
			}
		}
		switch r := at(next); {
		case r == Comma && *head != Name && at(next+1) == Name && at(next+2) == Comma:
			i = next + 3 // "the other student, Meera, and I"
			continue
		case r == Name && next == i, r == Colleague, r == Student && (*head != Name || next > i), r == Person && *head == Student:
			if *head == Name || r == Student {
				*head = r
			}
			i = next + 1
		default:
			return i
		}
	}
}

func (g *Group) count(r Role, n int) {
	g.Kinds |= 1 << r
	switch r {
	case Family, Fellow, Volunteer:
	default:
		g.Staff += n
	}
}

// joint is the word behind what joins one person to the next at word i: "and", ", and", ",", or nothing where a name
// follows the writer ("me Kel and the agency lad").
func joint(words []Word, i int) (int, bool) {
	switch {
	case i >= len(words):
		return 0, false
	case words[i].Role == Joint:
		return i + 1, true
	case words[i].Role == Comma && i+1 < len(words):
		if words[i+1].Role == Joint {
			return i + 2, true
		}
		if i+2 < len(words) && (words[i+1].Role == Writer || words[i+1].Role == Name) && words[i+2].Role == Post {
			return i + 1, true // "Deb on the remote, me on his legs"
		}
		return i + 1, listGoesOn(words, i+1)
	case words[i].Role == Name && i > 0 && words[i-1].Role == Writer:
		return i, listGoesOn(words, i)
	}
	return 0, false
}

// listGoesOn reports whether a list that word i is in ends with "and" a few words on.
func listGoesOn(words []Word, i int) bool {
	for k := i; k < len(words) && k < i+5; k++ {
		switch words[k].Role {
		case Joint:
			return true
		case None:
			return false
		}
	}
	return false
}
