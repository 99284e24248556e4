package course

import (
	"cmp"
	"slices"
	"strings"

	"example.com/stance/lexicon"
	"example.com/stance/lint/timeline"
)

// Kind is the sort of an event.
type Kind string

const (
	Fall      Kind = "fall"       // that reached the floor
	NearFall  Kind = "near fall"  // stumbled, or was caught
	AfterFall Kind = "after fall" // what was seen or done afterwards, in a note that tells no fall
	Hazard    Kind = "hazard"     // on the floor, on the feet or in the light
	Sign      Kind = "sign"       // on rising or moving
	Order     Kind = "order"      // of a bearing status
	Review    Kind = "review"     // reassessed, or asked to be
)

// An Event is what one note tells of one kind.
type Event struct {
	Kind     Kind     `json:"kind"`
	Concepts []string `json:"concepts"` // each once, in text order
	Words    string   `json:"words"`    // the concepts in words
	Text     string   `json:"text"`     // the words of the note, those of several statements joined by " … "
}

// kinds are all kinds, in the order in which they are shown.
func kinds() []Kind { return []Kind{Fall, NearFall, AfterFall, Hazard, Sign, Order, Review} }

// kindOf is the kind of event that a statement tells of, or "".
func kindOf(s *lexicon.Statement) Kind {
	if s.Polarity != lexicon.Affirmed || s.Time != lexicon.Now || s.Who != lexicon.Resident || s.Certainty != lexicon.Certain {
		return ""
	}
	if s.Mood == lexicon.Order {
		if s.Group() == "bearing" && s.Concept != "bearing.able" {
			return Order
		}
		return ""
	}
	if s.IsFall() {
		return Fall
	}
	switch s.Concept {
	case "fall.near", "fall.caught":
		return NearFall
	case "review.done", "review.asked":
		return Review
	}
	switch s.Group() {
	case "fall":
		return AfterFall
	case "hazard":
		return Hazard
	case "sign":
		return Sign
	}
	return ""
}

// events are what a note tells, by kind. What is told of a fall beside it belongs to the fall.
func (b *builder) events(e *timeline.Entry) []Event {
	of := map[Kind][]*lexicon.Statement{}
	for i := range e.Reading.Statements {
		s := &e.Reading.Statements[i]
		if k := kindOf(s); k != "" {
			of[k] = append(of[k], s)
		}
	}
	for _, k := range []Kind{Fall, NearFall} {
		if len(of[k]) > 0 && len(of[AfterFall]) > 0 {
			of[k] = append(of[k], of[AfterFall]...)
			delete(of, AfterFall)
		}
	}
	events := []Event{}
	for _, k := range kinds() {
		statements := of[k]
		if len(statements) == 0 {
			continue
		}
		slices.SortStableFunc(statements, func(a, b *lexicon.Statement) int { return a.Span.Start - b.Span.Start })
		ev := Event{Kind: k}
		var words, texts []string
		for _, s := range statements {
			if !slices.Contains(ev.Concepts, s.Concept) {
				ev.Concepts = append(ev.Concepts, s.Concept)
			}
			if w := b.eventWords(s); !slices.Contains(words, w) {
				words = append(words, w)
			}
			if !slices.Contains(texts, s.Text) {
				texts = append(texts, s.Text)
			}
		}
		ev.Words, ev.Text = strings.Join(words, ", "), strings.Join(texts, " … ")
		events = append(events, ev)
	}
	return events
}

func (b *builder) eventWords(s *lexicon.Statement) string {
	switch {
	case s.Mood == lexicon.Order:
		limb := cmp.Or(s.Limb, "leg")
		status := statusOf(s, limb, s.Side)[0].Words
		switch s.Side {
		case "":
			limb += ", side not written"
		case "both":
			limb = "both " + limb + "s"
		default:
			limb = s.Side + " " + limb
		}
		return limb + ": " + status
	case s.Concept == "fall.cause":
		return "cause told: " + s.Text
	case s.Group() == "hazard" && s.Fixed:
		return b.label(s.Concept) + ", put right"
	case s.Concept == "review.done":
		return "reassessed"
	case s.Concept == "fall.moved":
		return "got up off the floor"
	case s.Concept == "fall.injury":
		return "injury found after a fall"
	}
	return b.label(s.Concept)
}

// marks are the notes to look at: those that differ from the chart or tell of an event.
func (b *builder) marks(entries []*timeline.Entry, lanes []Lane) []Mark {
	differences := map[NoteRef][]Difference{}
	for _, l := range lanes {
		s := &b.aspects[slices.IndexFunc(b.aspects, func(s aspect) bool { return s.id == l.ID })]
		for _, p := range l.Points {
			if p.Fit == Differs {
				charted, _ := s.compare(b.at(p.Note.Time), p.Value.Key)
				differences[p.Note] = append(differences[p.Note], Difference{l.ID, l.Name, charted, p.Value, p.Text})
			}
		}
	}
	marks := []Mark{}
	for _, e := range entries {
		n := ref(e)
		events := b.events(e)
		diffs := differences[n]
		delete(differences, n) // of two notes with one name the first carries them
		if len(events) == 0 && len(diffs) == 0 {
			continue
		}
		if diffs == nil {
			diffs = []Difference{}
		}
		marks = append(marks, Mark{len(marks) + 1, n, diffs, events})
	}
	return marks
}

// An Aside is what notes deny or are unsure of: "no dizziness", "may have fallen". It draws no point.
type Aside struct {
	Concept string  `json:"concept"`
	Words   string  `json:"words"`
	Why     string  `json:"why"` // "said not" or "unsure"
	First   NoteRef `json:"first"`
	Last    NoteRef `json:"last"`
	Notes   int     `json:"notes"`
}

const (
	saidNot = "said not"
	unsure  = "unsure"
)

// asides gathers what is denied or unsure, one line for each concept.
func (b *builder) asides(entries []*timeline.Entry) []Aside {
	type key struct{ concept, why string }
	found := map[key]*Aside{}
	all := []*Aside{}
	for _, e := range entries {
		for i := range e.Reading.Statements {
			s := &e.Reading.Statements[i]
			if s.Time != lexicon.Now || s.Who != lexicon.Resident || s.Mood != lexicon.Report {
				continue
			}
			switch s.Group() {
			case "bearing", "move", "sign", "fall":
			default:
				continue
			}
			why := unsure
			switch {
			case s.Polarity == lexicon.Negated:
				why = saidNot
			case s.Certainty != lexicon.Possible:
				continue
			}
			k := key{s.Concept, why}
			a := found[k]
			if a == nil {
				a = &Aside{Concept: s.Concept, Words: b.eventWords(s), Why: why, First: ref(e)}
				found[k] = a
				all = append(all, a)
			}
			if a.Notes == 0 || a.Last != ref(e) {
				a.Notes++
			}
			a.Last = ref(e)
		}
	}
	slices.SortStableFunc(all, func(a, b *Aside) int {
		return strings.Compare(a.Concept+a.Why, b.Concept+b.Why)
	})
	out := make([]Aside, len(all))
	for i, a := range all {
		out[i] = *a
	}
	return out
}
