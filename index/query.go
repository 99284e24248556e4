package index

import (
	"slices"
	"time"

	"example.com/stance/lexicon"
	"example.com/stance/lint/note"
)

// A Reader says what a text tells about mobility, and which concepts it knows. *lexicon.Lexicon is one.
type Reader interface {
	Read(text string, role lexicon.Role) lexicon.Reading
	Concepts() []lexicon.ConceptInfo
}

// Polarities of a Query.
const (
	Affirmed    = "affirmed"
	Negated     = "negated"
	AnyPolarity = "any"
)

// Orders of a Query.
const (
	ByRelevance = "relevance"
	ByTime      = "time"   // oldest first
	ByNewest    = "newest" // newest first
)

// A Query says which notes to find: those that meet all of it. The zero Query finds every note.
//
// Concepts, Fields, Aid, Polarity, Anyone, AnyTime and Planned ask for facts, and one and the same
// statement of a note has to meet them all.
type Query struct {
	// Words are looked for in the text, all of them: a plain word in any of its forms, or whatever else
	// the lexicon knows to say the same; "a phrase"; prefix*; nearly~, which is one letter off. A word
	// that no note has is taken as one letter off.
	Words string

	Resident string
	Unit     string
	Shift    string // name, "night"
	Role     string

	Concepts []string          // any of these; "bearing" or "aid.walker" stands for all below it, an aid also for moves with it
	Fields   map[string]string // side, limb, method, assist, staff and aid, as statements have them; "left" finds "both" too, "lift" all lifts
	Aid      string            // an aid with or without "aid.", in a move or by itself; with all below it; instead of Fields["aid"]
	Polarity string            // Affirmed (also if empty), Negated or AnyPolarity
	Anyone   bool              // what is said of others too
	AnyTime  bool              // what is past, planned or under a condition too
	Planned  bool              // what is planned or under a condition too

	Rule    string    // a rule that was set for the note
	Since   time.Time // event time from here on; zero: no bound
	Until   time.Time // event time before this; zero: no bound
	Earlier bool      // versions that were replaced, and withdrawn notes, too

	Order string // ByRelevance (also if empty), ByTime or ByNewest
	Limit int    // most hits of a page; 0: 20
	After string // Next of the page before
}

// A Page is one page of what was found.
type Page struct {
	Total  int // notes found, on all pages
	Hits   []Hit
	Facets map[string][]Count // of all found, by resident, unit, role, shift, concept and rule; most first
	Next   string             // for Query.After; empty on the last page

	start after  // of the page
	timed bool   // in an order of time
	given string // Query.After
	steps []step // of Hits
}

// A step is where a hit stands in the order of what was found.
type step struct {
	at   address
	sort []string
}

// After is the mark for Query.After behind the first n of the hits, for who shows fewer of them than there are.
func (p *Page) After(n int) string {
	if n == 0 {
		return p.given
	}
	next := p.start
	if p.timed {
		next.Last = p.steps[n-1].sort
		return next.String()
	}
	next.Shown = slices.Clone(next.Shown)
	for _, s := range p.steps[:n] {
		next.Shown = append(next.Shown, s.at)
	}
	return next.String()
}

// A Count is how many of the found notes have a value.
type Count struct {
	Value string `json:"value"`
	Notes int    `json:"notes"`
}

// A Hit is one found note.
type Hit struct {
	Note       note.Note
	Score      float64             // comparable within one page only
	Spans      []lexicon.Span      // what of the text was looked for, in text order, none overlapping
	Statements []lexicon.Statement // those that answer the facts asked for; all, where none were
	Rules      []string            // as set by the Writer, sorted
	Replaced   bool                // a later version is kept
	Withdrawn  bool                // the note was withdrawn; this is what it said last
	Kept       time.Time           // when this version was kept
}

// A Range selects notes for Index.Notes.
type Range struct {
	Residents []string  // nil: all
	Unit      string    // empty: all
	Since     time.Time // event time from here on; zero: no bound
	Until     time.Time // event time before this; zero: no bound
	KeptBy    time.Time // the versions that were the latest at this moment; zero: now

	// Choose, where it is set, says which notes of a resident, by time and id, are wanted of those that all else
	// here takes in. What is left out is not read.
	Choose func(resident string, notes []Moment) []bool
}

// A Moment is what Range.Choose has to go by.
type Moment struct {
	ID   string
	Unit string
	Time time.Time
}

// KeepOptions say how notes are kept. The zero value is good.
type KeepOptions struct {
	Progress func(Kept)              // called after each batch, from one goroutine at a time
	Shift    func(*note.Note) string // name of the shift of a note that states none; nil: none
	At       time.Time               // the time to put down as that of keeping; zero: the clock's
	PutBack  bool                    // a note whose content is that of an earlier version takes the place of the later one
}

// Kept counts what Writer.Keep did. What is counted as added or replaced survives a crash.
type Kept struct {
	Read     int   // notes read
	Added    int   // notes that were not in the index
	Replaced int   // notes whose content had changed
	Skipped  int   // notes that were in the index as they are, or as they once were
	Earlier  int   // of those skipped, notes that have since been amended or withdrawn
	Bytes    int64 // of the texts read
}
