// Package lexicon reads free-text care notes and says what they tell about mobility.
//
// New compiles the vocabulary, which is data under data/, into one matcher; Read turns a note's text
// into statements. The package knows nothing of charts, shifts or rules.
//
// A note passes through five steps: it is cut into tokens; the matcher finds the wordings of the
// vocabulary; wordings with several meanings are settled by their neighbours; sentences are parted
// into clauses and each move is given the helpers, aids, places and times of its clause; and scopes
// (negation, time, person, certainty, mood) are laid over what was found.
package lexicon

import (
	"embed"
	"errors"
	"fmt"
	"io/fs"
	"maps"
	"slices"
	"sort"
	"strings"
	"sync"

	"example.com/stance/lexicon/internal/judge"
	"example.com/stance/lexicon/internal/match"
	"example.com/stance/lexicon/internal/people"
	"example.com/stance/lexicon/internal/spell"
	"example.com/stance/lexicon/internal/token"
	"example.com/stance/lexicon/internal/vocab"
)

//go:embed data/*.txt
var data embed.FS

// A Lexicon is the compiled vocabulary. It is immutable and safe for concurrent use.
type Lexicon struct {
	entries   []entry
	byID      map[string]*entry
	said      []saying // by payload
	matcher   *match.Matcher
	themes    *match.Matcher               // of the wordings that are read beside all others; see theme.go
	respelt   map[string]string            // another spelling → the word
	accent    spell.Accent                 // words written as they are said
	reglued   map[[2]string]string         // another spelling that is cut in two ("b4") → the word
	resplit   map[[2]string]string         // two words as which the name of an aid is heard → the word
	spoken    map[string]map[string]string // a sign as it is dictated: its word, the next or "" → the sign
	speller   *spell.Speller
	heard     heard
	classes   map[string]classes // by word
	steps     []step
	phrases   []phraseSort
	judge     judge.Models
	questions []question
	parts     []chairPart
	scratch   sync.Pool

	content map[string]bool // words that a misspelling may be read as; used while compiling
}

// saying is one wording as the matcher reports it.
type saying struct {
	e    *entry
	form Tense
}

// entry is a vocabulary entry with its fields looked up once.
type entry struct {
	vocab.Entry
	kind   kind
	family string // the part of the id before the dot
	name   string // the part after it
	fields fields
}

// fields are the "set" lines of an entry.
type fields struct {
	concept, limb, side, method, assist, place, posture, to string
	polarity                                                Polarity
	staff                                                   int
	hasStaff, weak, hand, ignore, refusable, fixed          bool
}

// A Word is a home's own term for something that the vocabulary knows.
type Word struct {
	Term    string            // as staff write it
	Concept string            // a concept id, such as "aid.total-lift"
	Fields  map[string]string // fields that the term implies; see the "set" lines of the data files
}

// A ConceptInfo describes one concept for people.
type ConceptInfo struct {
	ID    string
	Label string
	Codes []string // "ICF d450", "ISO-9999 12 03 03"
	Says  []string // wordings, as in the vocabulary
}

// New compiles the vocabulary that comes with the program, and the home's own words.
func New(words ...Word) (*Lexicon, error) {
	return Load(data, "data", words...)
}

// Load compiles the vocabulary files of a directory, and the home's own words.
// Errors name the file and line.
func Load(fsys fs.FS, dir string, words ...Word) (*Lexicon, error) {
	loaded, err := vocab.Load(fsys, dir)
	if err != nil {
		return nil, err
	}
	models, err := judge.Default()
	if err != nil {
		return nil, err
	}
	l := &Lexicon{heard: newHeard(), judge: models, matcher: match.New(), themes: match.New(), respelt: map[string]string{}, reglued: map[[2]string]string{}, spoken: map[string]map[string]string{}, resplit: map[[2]string]string{}, classes: map[string]classes{}, steps: steps(), phrases: phraseSorts(), questions: questions(), parts: chairParts(), content: map[string]bool{}}
	// A home's own words come first: where they meet a wording of ours, theirs holds.
	for i, w := range words {
		loaded, err = addWord(loaded, i, w)
		if err != nil {
			return nil, err
		}
	}
	names := newKindNames()
	for _, e := range loaded {
		en, err := newEntry(e, names)
		if err != nil {
			if e.File == "" {
				return nil, fmt.Errorf("word %q: %w", e.Label, err)
			}
			return nil, fmt.Errorf("%s:%d: %w", e.File, e.Line, err)
		}
		l.entries = append(l.entries, en)
	}
	order := make([]int, 0, len(l.entries))
	for i, e := range l.entries {
		if e.File == "" {
			order = append(order, i)
		}
	}
	for i, e := range l.entries {
		if e.File != "" {
			order = append(order, i)
		}
	}
	for _, i := range order {
		if err := l.compile(i); err != nil {
			return nil, err
		}
	}
	// to seal takes longest of all, and the two have nothing in common
	var themes sync.WaitGroup
	themes.Go(l.themes.Seal)
	l.matcher.Seal()
	l.byID = make(map[string]*entry, len(l.entries))
	for i := range l.entries {
		l.byID[l.entries[i].ID] = &l.entries[i]
	}
	l.speller = spell.New(slices.Sorted(maps.Keys(l.content)))
	l.content = nil
	themes.Wait()
	l.scratch.New = func() any { return &reader{known: make(map[string]known, 1024), given: map[string]bool{}} }
	return l, nil
}

func (l *Lexicon) compile(i int) error {
	e := &l.entries[i]
	if e.kind == kindWords {
		return l.classify(e)
	}
	for _, w := range e.Says {
		if e.family == "spoken" {
			first, next, _ := strings.Cut(w.Text, " ")
			if l.spoken[first] == nil {
				l.spoken[first] = map[string]string{}
			}
			l.spoken[first][next] = e.name
			continue
		}
		if e.kind == kindSpelling {
			if parts := token.Cut(nil, w.Text); len(parts) == 2 && parts[1].Glued {
				l.reglued[[2]string{parts[0].Word, parts[1].Word}] = e.name
				continue
			}
			if first, next, ok := strings.Cut(w.Text, " "); ok {
				l.resplit[[2]string{first, next}] = e.name
				continue
			}
			if e.family == "accent" {
				l.accent.Add(w.Text, e.name)
				continue
			}
			l.respelt[w.Text] = e.name
			continue
		}
		seq, err := vocab.Parse(w.Text)
		if err != nil {
			return fmt.Errorf("%s:%d: %w", e.File, w.Line, err)
		}
		if mendable(e.kind) {
			for w := range seq.Words() {
				l.content[w] = true
			}
		}
		if namedInDictation(e) {
			l.heard.learn(seq)
		}
		payload := len(l.said)
		l.said = append(l.said, saying{e: e, form: Tense(w.Form)})
		// A wording listed under two entries belongs to the first; files are read in name order.
		if e.kind == kindTheme {
			l.themes.Add(seq, payload)
			continue
		}
		l.matcher.Add(seq, payload)
	}
	return nil
}

// namedInDictation reports whether words beside each other in the entry's wordings call for each other.
func namedInDictation(e *entry) bool {
	return e.kind == kindAid && e.name != "none" || e.kind == kindLimb || e.kind == kindBearing
}

// mendable reports whether a misspelt word may be read as one of the kind's. Words of structure and of
// what is no mobility gain nothing by it, and a name one letter away would part a sentence or hide a move.
func mendable(k kind) bool {
	switch k {
	case kindIgnore, kindBreak, kindAnd, kindSubject, kindCare, kindFiller, kindHeader, kindPlanHead, kindStore:
		return false
	}
	return true
}

func addWord(all []vocab.Entry, i int, w Word) ([]vocab.Entry, error) {
	// Told and moved are read from the persons and from the ways off the floor.
	if person, ok := strings.CutPrefix(w.Concept, "told."); ok && person != "form" {
		w.Concept = "person." + person
	}
	if w.Concept == "fall.moved" {
		w.Concept = "fall.up"
	}
	known := false
	for _, e := range all {
		if e.ID == w.Concept || e.Set["concept"] == w.Concept {
			known = true
			break
		}
	}
	if !known || strings.TrimSpace(w.Term) == "" {
		return nil, fmt.Errorf("word %q: unknown concept %q", w.Term, w.Concept)
	}
	e := vocab.Entry{ID: fmt.Sprintf("%s#home%d", w.Concept, i+1), Label: w.Term, Set: map[string]string{}}
	for k, v := range w.Fields {
		e.Set[k] = v
	}
	if strings.HasPrefix(w.Concept, "move.") {
		e.ID = fmt.Sprintf("verb.home%d", i+1)
		e.Set["concept"] = w.Concept
	}
	clean := strings.NewReplacer("(", " ", ")", " ", "[", " ", "]", " ", "|", " ", "~", " ", "{", " ", "}", " ", "...", " ").Replace(w.Term)
	e.Says = []vocab.Wording{{Text: clean}}
	return append(all, e), nil
}

func newEntry(e vocab.Entry, names kindNames) (entry, error) {
	id, _, _ := strings.Cut(e.ID, "#")
	out := entry{Entry: e}
	out.family, out.name, _ = strings.Cut(id, ".")
	for k, v := range e.Set {
		switch k {
		case "concept":
			out.fields.concept = v
		case "limb":
			out.fields.limb = v
		case "side":
			out.fields.side = v
		case "method":
			out.fields.method = v
		case "assist":
			out.fields.assist = v
		case "place":
			out.fields.place = v
		case "posture":
			out.fields.posture = v
		case "to":
			out.fields.to = v
		case "staff":
			if _, err := fmt.Sscan(v, &out.fields.staff); err != nil {
				return out, errors.New("set staff wants a number")
			}
			out.fields.hasStaff = true
		case "weak":
			out.fields.weak = v == "yes"
		case "polarity":
			out.fields.polarity = Polarity(v)
		case "fixed":
			out.fields.fixed = v == "yes"
		case "hand":
			out.fields.hand = v == "yes"
		case "ignore":
			out.fields.ignore = v == "yes"
		case "refusable":
			out.fields.refusable = v == "yes"
		default:
			return out, fmt.Errorf("unknown field %q in a set line", k)
		}
	}
	var ok bool
	if out.kind, ok = names.of(out.family, out.name, out.fields.ignore); !ok {
		return out, fmt.Errorf("unknown family of entry %q", e.ID)
	}
	return out, nil
}

// find is the entry of an id, nil for one that the data lack; a test holds that they lack none used in code.
func (l *Lexicon) find(id string) *entry { return l.byID[id] }

// Concepts lists the concepts that statements can have, with their labels, codes and wordings, by id.
func (l *Lexicon) Concepts() []ConceptInfo {
	at := map[string]int{}
	var out []ConceptInfo
	for _, e := range l.entries {
		id := e.conceptID()
		if id == "" {
			continue
		}
		i, ok := at[id]
		if !ok {
			i = len(out)
			at[id] = i
			out = append(out, ConceptInfo{ID: id, Label: e.conceptLabel()})
		}
		for _, c := range e.Codes {
			out[i].Codes = appendNew(out[i].Codes, c)
		}
		for _, w := range e.Says {
			out[i].Says = append(out[i].Says, w.Text)
		}
	}
	sort.Slice(out, func(i, j int) bool { return out[i].ID < out[j].ID })
	return out
}

// conceptLabel is what people call the concept that the entry's wordings lead to.
func (e *entry) conceptLabel() string {
	if e.kind == kindLevel {
		return "amount of help" // the entry's own label is one of the amounts
	}
	return e.Label
}

// conceptID is the concept that the entry's wordings lead to, or "".
func (e *entry) conceptID() string {
	switch {
	case e.fields.concept != "":
		return e.fields.concept
	case e.kind == kindTheme && e.family != "mended" && e.family != "theme":
		return e.family + "." + e.name
	case e.kind == kindBearing, e.kind == kindSign, e.kind == kindReason, e.kind == kindVitalName, e.kind == kindVitalTaken:
		return e.family + "." + e.name
	case e.kind == kindAid && !e.fields.ignore:
		return "aid." + e.name
	case e.kind == kindFall && e.name == "held":
		return "fall.caught"
	case e.kind == kindFall && (e.name == "follow" || e.name == "going"):
		return ""
	case e.kind == kindFall && e.name == "history":
		return "fall.fell"
	case e.kind == kindFall:
		return "fall." + e.name
	case e.kind == kindOffFloor:
		return "fall.moved"
	case e.kind == kindPerson && e.name != "pt" && e.name != "other":
		return "told." + e.name
	case e.kind == kindForm:
		return "told.form"
	case e.kind == kindFaultWord:
		return "aid.fault"
	case e.kind == kindFit:
		return "aid.fit"
	case e.kind == kindReviewDone, e.kind == kindReviewWord:
		return "review.done"
	case e.kind == kindReviewAsked:
		return "review.asked"
	case e.kind == kindLevel:
		return "assist.level"
	}
	return ""
}

// Read says what the text tells about mobility, written by an author of the given role.
// Spans are byte offsets into text, which may be any string; it is not changed.
func (l *Lexicon) Read(text string, role Role) Reading {
	r := l.scratch.Get().(*reader)
	defer l.scratch.Put(r)
	return r.read(l, text, role)
}

// known is what is found out about a word once.
type known struct {
	id      match.WordID
	theme   match.WordID // its number in the wordings of themes
	word    string       // as read: mended, or in its usual spelling
	mended  bool
	classes classes
	num     float64
	isNum   bool // a number word
	sort    dictionary
}

// maxKnown bounds the words that a reader remembers.
const maxKnown = 1 << 13

// reader holds what one reading needs; it is reused from note to note.
type reader struct {
	lex     *Lexicon
	text    string
	role    Role
	toks    []token.Token
	in      []match.Input
	themeIn []match.Input // the same words, as the wordings of themes number them
	units   []unit
	spare   []unit          // room for another row of units
	hits    []themed        // and for the wordings of themes
	classes []classes       // of the tokens
	sorts   []dictionary    // what dictionaries say of them
	roles   []people.Word   // what they do in naming people
	student bool            // the writer says that they are one
	given   map[string]bool // given names that stand within a sentence
	out     Reading

	known        map[string]known // words met before
	statements   []Statement      // room for the statements of a note
	marks        []Mark           // and for their marks
	terms        []Mark           // and for those of the statement at hand
	sents        []sentence       // and for its sentences
	runs         []stretch        // and for its stretches
	order        []int            // and for the order of its statements
	fell         bool             // the note tells of a fall
	bearingsSeen int              // statements looked through for statuses with a side
	sided        int              // the last of them, -1 for none
	twoSides     bool             // they speak of both
	punctuated   bool             // it has full stops or commas
	saysFrom     bool             // the word "from" stands in it
	by24         int8             // whether it tells hours up to 24: 0 before that was asked, 1, or -1
	fellBefore   bool             // it speaks of one told elsewhere ("after the fall")
	sex          sex              // what the note shows of the resident
	sexFrom      int              // the token that shows it
	list         []anchor         // and for the moves of one
	absent       []absent         // aids told to be elsewhere
	moving       mover            // the move at hand
	building     Statement        // and its statement
	clause       int

	asked *[]answerable // where it is set, what may be asked of the note is put there and not answered
	found *[]unit       // where it is set, what the matcher found is put there before it is settled
}
