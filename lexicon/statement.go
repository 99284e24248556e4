package lexicon

import (
	"encoding/json"
	"strings"
)

// A Statement is one thing that a note says about the mobility of a person.
// The JSON form is the published one; a field that the words do not give is absent.
type Statement struct {
	Concept   string            `json:"concept"`
	Span      Span              `json:"span"`
	Text      string            `json:"text"`
	Polarity  Polarity          `json:"polarity"`
	Time      Time              `json:"time"`
	Who       Who               `json:"who"`
	Certainty Certainty         `json:"certainty"`
	Mood      Mood              `json:"mood"`
	Limb      string            `json:"limb,omitempty"`      // leg or arm, on bearing statements
	Side      string            `json:"side,omitempty"`      // left, right or both
	Percent   Optional[float64] `json:"percent,omitzero"`    // share of body weight, 0 to 100
	Staff     Optional[int]     `json:"staff,omitzero"`      // number of helpers, 0 for none
	Assist    string            `json:"assist,omitempty"`    // independent … dependent
	Method    string            `json:"method,omitempty"`    // pivot, side-by-side, board, sit-stand-lift, total-lift or lift
	Aids      []string          `json:"aids,omitempty"`      // concept ids without "aid.", in text order
	From      string            `json:"from,omitempty"`      // place left
	To        string            `json:"to,omitempty"`        // place reached
	DistanceM Optional[float64] `json:"distance_m,omitzero"` // metres
	Systolic  Optional[float64] `json:"systolic,omitzero"`   // mmHg
	Diastolic Optional[float64] `json:"diastolic,omitzero"`  // mmHg
	Posture   string            `json:"posture,omitempty"`   // lying, sitting or standing
	Fit       string            `json:"fit,omitempty"`       // right, wrong or altered
	Value     Optional[float64] `json:"value,omitzero"`      // /min, °C or %; degrees or minutes in rising
	Clock     string            `json:"clock,omitempty"`     // HH:MM
	ClockFace bool              `json:"-"`                   // Clock may be 12 hours later: see Reading.WrittenAt
	Helpers   []string          `json:"helpers,omitempty"`   // who other than staff moved the resident, with staff where named beside them
	Fixed     bool              `json:"fixed,omitempty"`     // a hazard that was put right

	// Detail is what the rules need beyond the published fields.
	Detail Detail `json:"-"`
}

// Detail tells how a statement came about.
type Detail struct {
	Head   Span   // the word or words that name the concept, such as "lifted"
	Tense  Tense  // of the head, where it is a verb
	Clause int    // statements and remarks with one number stand in one clause
	Vague  Span   // help given in words that tell no amount ("some help"); zero if none
	Helped bool   // the verb tells that somebody helped the resident, or did it to them
	ByHand bool   // staff lifted, carried or picked up with no equipment named
	Expert bool   // an aid altered by a therapist or nurse, who is named as who did it
	Rising bool   // a sign tied to rising or sitting up, posture said or not
	Mended bool   // brakes that were off or a sign that was gone, put right in the same sentence
	Caught bool   // a foot that was caught or hurt, where the feet were not on the rests
	Nobody bool   // a hazard of nobody in particular, which nobody is said to have met
	Judged string // where the judge read it: what spoke for it, for explaining; see judged.go
	Terms  []Mark // what each field was read from, for explaining
}

// A Mark names the words that gave one field of a statement.
type Mark struct {
	Field string // "concept", "staff", "polarity" …
	Span  Span
	Term  string // id of the vocabulary entry
}

// Tense is the grammatical form of a verb, for proposing another in the same form.
type Tense string

const (
	NoTense  Tense = ""     // not a verb
	Base     Tense = "base" // lift, transfer
	Third    Tense = "s"    // lifts, transfers
	Past     Tense = "ed"   // lifted, transferred (participle too)
	Gerund   Tense = "ing"  // lifting, transferring
	NounForm Tense = "noun" // a lift, a transfer
)

// A Remark is a wording that is no statement of its own but bears on the judgement of others.
type Remark struct {
	Kind   RemarkKind
	Span   Span
	Clause int
}

// RemarkKind says what a Remark tells.
type RemarkKind string

const (
	NoPart   RemarkKind = "no-part"   // the resident took no part: dead weight, limp, fully dependent
	Unable   RemarkKind = "unable"    // the resident could not bear weight or stand
	TookPart RemarkKind = "took-part" // the resident helped, held on, stepped
	Vague    RemarkKind = "vague"     // help in words that tell no amount, outside any move
	InBed    RemarkKind = "in-bed"    // the resident stayed in bed
	Repair   RemarkKind = "repair"    // those who put the building right were told
	Watched  RemarkKind = "watched"   // what came of a fall told elsewhere: neurological observations, a bruise
)

// A Reading is all that one note says.
type Reading struct {
	Statements []Statement // in text order
	Remarks    []Remark    // in text order

	// Late is the time of day, HH:MM, of the events of a note that calls itself a late entry and says
	// for when; empty for any other note.
	Late string

	// Overlooked are sentences that name a move and from which nothing was read, in text order. Silence on them is
	// no approval.
	Overlooked []Span
}

// Span is a place in a note: byte offsets into the text as given, and the line and column (in
// characters) of its start, both counted from 1.
type Span struct {
	Start  int `json:"start"`
	End    int `json:"end"`
	Line   int `json:"line"`
	Column int `json:"column"`
}

// IsZero reports whether s marks no place.
func (s Span) IsZero() bool { return s.End == 0 }

// Overlaps reports whether the two places share a byte.
func (s Span) Overlaps(o Span) bool { return s.Start < o.End && o.Start < s.End }

type (
	// Polarity tells whether the thing is said to be so.
	Polarity string
	// Time tells when, seen from the shift that writes.
	Time string
	// Who is the person meant.
	Who string
	// Certainty tells how sure the writer is.
	Certainty string
	// Mood tells a report from an instruction.
	Mood string
)

const (
	Affirmed Polarity = "affirmed"
	Negated  Polarity = "negated"

	Now         Time = "now"
	Before      Time = "past"
	Planned     Time = "planned"
	Conditional Time = "conditional"

	Resident Who = "resident"
	Other    Who = "other"

	Certain  Certainty = "certain"
	Possible Certainty = "possible"

	Report Mood = "report"
	Order  Mood = "order"
)

// Role is the author's part in care. It decides how plan lines are read.
type Role string

const (
	CareWorker Role = "care worker"
	Nurse      Role = "nurse"
	Therapist  Role = "therapist"
	Doctor     Role = "doctor"
	OtherRole  Role = "other"
)

// Group is the part of the concept before the dot: "move" of "move.walk".
func (s *Statement) Group() string {
	g, _, _ := strings.Cut(s.Concept, ".")
	return g
}

// Done reports whether the statement says that something of the resident happened or is so in this
// shift, however sure the writer is: affirmed, now, of the resident, a report.
func (s *Statement) Done() bool {
	return s.Polarity == Affirmed && s.Time == Now && s.Who == Resident && s.Mood == Report
}

// IsFall reports whether the statement tells of somebody who came to be on the floor, of either polarity and any time.
func (s *Statement) IsFall() bool {
	switch s.Concept {
	case "fall.fell", "fall.found", "fall.eased", "fall.collapse":
		return true
	}
	return false
}

// HasAid reports whether the move names the aid (an id without "aid.").
func (s *Statement) HasAid(id string) bool {
	for _, a := range s.Aids {
		if a == id {
			return true
		}
	}
	return false
}

// Optional is a number that a note may or may not give. The zero value gives none.
type Optional[T int | float64] struct {
	value T
	given bool
}

// Some is the Optional that gives v.
func Some[T int | float64](v T) Optional[T] { return Optional[T]{value: v, given: true} }

// Get returns the number and whether there is one.
func (o Optional[T]) Get() (T, bool) { return o.value, o.given }

// IsZero reports whether no number is given; encoding/json leaves such a field out.
func (o Optional[T]) IsZero() bool { return !o.given }

// MarshalJSON writes the number, or null.
func (o Optional[T]) MarshalJSON() ([]byte, error) {
	if !o.given {
		return []byte("null"), nil
	}
	return json.Marshal(o.value)
}

// UnmarshalJSON reads a number, or null for none.
func (o *Optional[T]) UnmarshalJSON(b []byte) error {
	if string(b) == "null" {
		*o = Optional[T]{}
		return nil
	}
	if err := json.Unmarshal(b, &o.value); err != nil {
		return err
	}
	o.given = true
	return nil
}
