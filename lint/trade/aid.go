// Package trade is the values that charts and notes share, and the one name that each has in findings,
// charts and pages: whole words, which nobody new to care work has to look up.
package trade

import "strings"

// An Aid is an aid by its concept id without "aid.", such as "walker-2w".
type Aid string

// The mechanical lifts, which are methods of a transfer too. Lift is one of unsaid kind.
const (
	Lift         = "lift"
	SitStandLift = "sit-stand-lift"
	TotalLift    = "total-lift"
)

// Name is what the aid is called, with no article; crutches are two.
func (a Aid) Name() string {
	if n := a.own(); n != "" {
		return n
	}
	return strings.ReplaceAll(string(a), "-", " ")
}

// own is the name of an aid whose id does not give it.
func (a Aid) own() string {
	switch a {
	case "cane":
		return "cane"
	case "cane-quad":
		return "quad cane"
	case "crutch":
		return "crutches"
	case "crutch-axillary":
		return "underarm crutches"
	case "crutch-forearm":
		return "forearm crutches"
	case "crutch-platform":
		return "platform crutches"
	case "walker-standard":
		return "walker without wheels"
	case "walker-2w":
		return "two-wheeled walker"
	case "walker-4w":
		return "four-wheeled walker"
	case "walker-platform":
		return "platform walker"
	case "wheelchair-power":
		return "power wheelchair"
	case "belt":
		return "transfer belt"
	case "board":
		return "transfer board"
	case "disc":
		return "transfer disc"
	case Lift:
		return "mechanical lift"
	case SitStandLift:
		return "sit-stand lift"
	case TotalLift:
		return "full sling lift"
	}
	return ""
}

// Label is what a concept is called in a list: its label in the vocabulary or, for an aid that has one here, its
// name. Where the kind is unsaid the label says that it is.
func Label(concept, label string) string {
	id, isAid := strings.CutPrefix(concept, "aid.")
	if !isAid || id == "crutch" || id == Lift {
		return label
	}
	if n := Aid(id).own(); n != "" {
		return n
	}
	return label
}

// One is the name with its article: "a quad cane", "forearm crutches".
func (a Aid) One() string {
	if a == "crutch" || Aid("crutch").Covers(a) {
		return a.Name()
	}
	return "a " + a.Name()
}

// Covers reports whether a is the unsaid kind of which the other is one: a walker, crutches.
func (a Aid) Covers(kind Aid) bool {
	return (a == "walker" || a == "crutch") && strings.HasPrefix(string(kind), string(a)+"-")
}

// IsLift reports whether an aid, or a method of a transfer, is a mechanical lift.
func IsLift(id string) bool { return id == Lift || id == SitStandLift || id == TotalLift }
