package lexicon_test

import (
	"bufio"
	"bytes"
	"cmp"
	"encoding/json"
	"fmt"
	"math"
	"slices"
	"sort"
	"strings"
	"sync"
	"testing"
	"testing/fstest"
	"unicode/utf8"

	gocmp "github.com/google/go-cmp/cmp"

	"example.com/stance/lexicon"
	"example.com/stance/testdata"
)

// published gives the codes of concepts that classifications have a class for.
//
// Codes of letters: World Health Organization, International Classification of Functioning, Disability
// and Health (2001), chapters b2 to b7 and d4; d451 from the later updates of the classification.
// Codes of numbers: ISO 9999:2022, Assistive products: Classification and terminology, classes 12 03
// (walking with one arm), 12 06 (with both arms), 12 22 and 12 23 (wheelchairs), 12 31 (transfer) and
// 12 36 (lifting); in that standard two-wheeled frames are rollators too, and forearm crutches are the
// gutter ones while elbow crutches are what notes call forearm crutches.
func published() map[string]string {
	return map[string]string{
		"move.walk":       "ICF d450",  // Walking
		"move.stand":      "ICF d4104", // Standing
		"move.transfer":   "ICF d420",  // Transferring oneself
		"move.reposition": "ICF d410",  // Changing basic body position
		"move.sit-up":     "ICF d4103", // Sitting
		"move.stairs":     "ICF d451",  // Going up and down stairs
		"move.wheel":      "ICF d465",  // Moving around using equipment

		"bearing.none":      "ICF b7603", // Supportive functions of arm or leg
		"bearing.toe-touch": "ICF b7603",
		"bearing.partial":   "ICF b7603",
		"bearing.tolerated": "ICF b7603",
		"bearing.full":      "ICF b7603",
		"bearing.able":      "ICF b7603",

		"sign.dizzy":    "ICF b2401", // Dizziness
		"sign.unsteady": "ICF b2351", // Vestibular function of balance

		"aid.cane":             "ISO-9999 12 03 03", // Walking sticks
		"aid.cane-quad":        "ISO-9999 12 03 16", // Walking sticks with three or more legs
		"aid.crutch-axillary":  "ISO-9999 12 03 12", // Axillary crutches
		"aid.crutch-forearm":   "ISO-9999 12 03 06", // Elbow crutches
		"aid.crutch-platform":  "ISO-9999 12 03 09", // Forearm crutches
		"aid.walker-standard":  "ISO-9999 12 06 03", // Walking frames
		"aid.walker-2w":        "ISO-9999 12 06 06", // Rollators
		"aid.walker-4w":        "ISO-9999 12 06 06", // Rollators
		"aid.walker-platform":  "ISO-9999 12 06 12", // Walking tables
		"aid.belt":             "ISO-9999 12 31 15", // Lifting belts and harnesses
		"aid.board":            "ISO-9999 12 31 03", // Sliding and turning products
		"aid.slide-sheet":      "ISO-9999 12 31 03", // Sliding and turning products
		"aid.disc":             "ISO-9999 12 31 06", // Turntables
		"aid.sling":            "ISO-9999 12 36 21", // Body-support units for hoists
		"aid.sit-stand-lift":   "ISO-9999 12 36 04", // Mobile hoists, person standing
		"aid.total-lift":       "ISO-9999 12 36 03", // Mobile hoists, person sitting, sling seat
		"aid.wheelchair":       "ISO-9999 12 22",    // Manual wheelchairs
		"aid.wheelchair-power": "ISO-9999 12 23",    // Powered wheelchairs
	}
}

func TestConceptsHavePublishedCodes(t *testing.T) {
	codes := map[string][]string{}
	for _, c := range newLexicon(t).Concepts() {
		codes[c.ID] = c.Codes
	}
	for id, want := range published() {
		if !slices.Contains(codes[id], want) {
			t.Errorf("%s has the codes %q, want %q among them", id, codes[id], want)
		}
	}
}

// concepts are the ids that statements can have, as the contract of the engine's output lists them.
func concepts() []string {
	return strings.Fields(`
		bearing.none bearing.toe-touch bearing.partial bearing.tolerated bearing.full bearing.able
		move.walk move.stand move.transfer move.lift move.reposition move.sit-up move.stairs move.wheel move.up move.refused
		aid.cane aid.cane-quad aid.crutch aid.crutch-axillary aid.crutch-forearm aid.crutch-platform aid.walker
		aid.walker-standard aid.walker-2w aid.walker-4w aid.walker-platform aid.wheelchair aid.wheelchair-power aid.belt
		aid.board aid.disc aid.slide-sheet aid.sling aid.sit-stand-lift aid.total-lift aid.lift aid.none aid.fit aid.fault
		assist.level
		sign.dizzy sign.faint sign.weak sign.vision sign.nausea sign.unsteady
		fall.fell fall.found fall.eased fall.collapse fall.near fall.caught fall.head fall.injury fall.assessed fall.moved
		told.nurse told.therapy told.doctor told.family told.form
		vital.pressure vital.pulse vital.breaths vital.temperature vital.saturation vital.taken
		reason.no-time reason.no-equipment reason.no-staff
		review.done review.asked
		rise.raised rise.paused rise.asked rise.exercised rise.returned
		hazard.floor hazard.clutter hazard.mat hazard.footwear hazard.light
		fall.cause fall.fracture fall.spine told.emergency told.office staff.hurt
		wheel.brakes wheel.footrests wheel.told wheel.fast posted.way`)
}

func TestConceptsAreTheContract(t *testing.T) {
	var got []string
	for _, c := range newLexicon(t).Concepts() {
		got = append(got, c.ID)
		if c.Label == "" || len(c.Says) == 0 {
			t.Errorf("%s has the label %q and %d wordings, want some of both", c.ID, c.Label, len(c.Says))
		}
	}
	want := concepts()
	sort.Strings(want)
	if diff := gocmp.Diff(want, got); diff != "" {
		t.Errorf("Concepts (-contract +got):\n%s", diff)
	}
}

func TestLoadRefuses(t *testing.T) {
	tests := []struct{ name, file, want string }{
		{"wording with an open bracket", "= bearing.none | none\nnwb\nnon (weight|wt bearing\n", "a.txt:3: "},
		{"wording of nothing", "= bearing.none | none\n[nwb]\n", "a.txt:2: "},
		{"unknown class of words", "= words.moon | moons\nmoon\n", "a.txt:1: "},
		{"two words in a class", "= words.title | titles\nmr; mr and mrs\n", "a.txt:2: "},
		{"unknown family", "= moon.full | full moon\nmoon\n", "a.txt:1: "},
		{"unknown field", "= bearing.none | none\nset colour red\nnwb\n", "a.txt:1: "},
		{"staff no number", "= staff.two | two\nset staff two\nx2\n", "a.txt:1: "},
		{"wording before any entry", "nwb\n", "a.txt:1: "},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			fsys := fstest.MapFS{"words/a.txt": {Data: []byte(tt.file)}}
			_, err := lexicon.Load(fsys, "words")
			if err == nil || !strings.HasPrefix(err.Error(), tt.want) {
				t.Errorf("Load(%q): error %v, want it to begin with %q", tt.file, err, tt.want)
			}
		})
	}
}

func TestHomeWords(t *testing.T) {
	tests := []struct {
		name    string
		word    lexicon.Word
		text    string
		concept string
		check   func(lexicon.Statement) bool
	}{
		{"an aid used in a move", lexicon.Word{Term: "zimmie", Concept: "aid.walker-standard"}, "Walked to toilet with zimmie x1.", "move.walk",
			func(s lexicon.Statement) bool { return gocmp.Equal(s.Aids, []string{"walker-standard"}) }},
		{"an aid alone", lexicon.Word{Term: "zimmie", Concept: "aid.walker-standard"}, "Zimmie at the bedside.", "aid.walker-standard", nil},
		{"a lift as the means", lexicon.Word{Term: "big blue", Concept: "aid.total-lift"}, "Transferred to bed with big blue x2.", "move.transfer",
			func(s lexicon.Statement) bool { return s.Method == "total-lift" }},
		{"a status", lexicon.Word{Term: "flamingo", Concept: "bearing.none"}, "Flamingo left leg.", "bearing.none",
			func(s lexicon.Statement) bool { return s.Side == "left" }},
		{"a move with its method", lexicon.Word{Term: "waltzed", Concept: "move.transfer", Fields: map[string]string{"method": "pivot"}},
			"Waltzed to chair x2.", "move.transfer",
			func(s lexicon.Statement) bool { return s.Method == "pivot" && s.To == "chair" }},
		{"a sign", lexicon.Word{Term: "whirly", Concept: "sign.dizzy"}, "Not whirly.", "sign.dizzy",
			func(s lexicon.Statement) bool { return s.Polarity == lexicon.Negated }},
		{"a term of ours with another meaning", lexicon.Word{Term: "stick", Concept: "aid.cane-quad"}, "Walked with stick.", "move.walk",
			func(s lexicon.Statement) bool { return gocmp.Equal(s.Aids, []string{"cane-quad"}) }},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			got := newLexicon(t, tt.word).Read(tt.text, lexicon.CareWorker).Statements
			if len(got) != 1 || got[0].Concept != tt.concept || tt.check != nil && !tt.check(got[0]) {
				t.Errorf("with the word %+v, Read(%q) = %q, want one %s", tt.word, tt.text, facts(t, got), tt.concept)
			}
			if before := newLexicon(t).Read(tt.text, lexicon.CareWorker).Statements; gocmp.Equal(facts(t, before), facts(t, got)) {
				t.Errorf("Read(%q) is the same without the word %+v", tt.text, tt.word)
			}
		})
	}
}

// A home may have a word of its own for anything that moves, bears, helps or is felt.
func TestHomeWordsForEveryConcept(t *testing.T) {
	frames := map[string]string{ // where a word alone is not enough
		"sign.nausea":         "%s on standing.",
		"fall.injury":         "Fell. %s.",
		"vital.pressure":      "%s 120/80.",
		"vital.pulse":         "%s 88.",
		"vital.breaths":       "%s 16.",
		"vital.temperature":   "%s 36.8.",
		"vital.saturation":    "%s 97%%.",
		"reason.no-time":      "Not walked as %s.",
		"reason.no-equipment": "Not walked as %s.",
		"reason.no-staff":     "Not walked as %s.",
	}
	var words []lexicon.Word
	for i, id := range concepts() {
		switch group, _, _ := strings.Cut(id, "."); {
		case id == "aid.fit", id == "aid.fault": // made of two words: the aid and what is wrong with it
		case group == "bearing", group == "move", group == "aid", group == "sign", group == "vital", group == "reason",
			id == "fall.fell", id == "fall.found", id == "fall.near", id == "fall.injury":
			words = append(words, lexicon.Word{Term: fmt.Sprintf("zq%c%c", 'a'+i/26, 'a'+i%26), Concept: id})
		}
	}
	lex := newLexicon(t, words...)
	for _, w := range words {
		frame := cmp.Or(frames[w.Concept], "%s.")
		text := fmt.Sprintf(frame, w.Term)
		st := lex.Read(text, lexicon.Nurse).Statements
		if !slices.ContainsFunc(st, func(s lexicon.Statement) bool { return s.Concept == w.Concept }) {
			t.Errorf("with the word %+v, Read(%q) = %q", w, text, facts(t, st))
		}
	}
}

func TestHomeWordsRefused(t *testing.T) {
	for _, w := range []lexicon.Word{
		{Term: "moonwalk", Concept: "move.moon"},
		{Term: "", Concept: "move.walk"},
		{Term: "  ", Concept: "move.walk"},
		{Term: "moonwalk", Concept: ""},
		{Term: "moonwalk", Concept: "move.walk", Fields: map[string]string{"colour": "red"}},
		{Term: "moonwalk", Concept: "move.walk", Fields: map[string]string{"staff": "two"}},
	} {
		if _, err := lexicon.New(w); err == nil {
			t.Errorf("New(%+v) gives no error", w)
		}
	}
}

// Lengths: 1 ft = 0.3048 m exactly (international yard and pound agreement of 1959).
func TestFeetAreMetres(t *testing.T) {
	tests := []struct {
		text string
		want float64
	}{
		{"Walked 10 m with cane.", 10},
		{"Walked 7.5 metres with cane.", 7.5},
		{"Walked 1 ft with cane.", 0.3048},
		{"Walked 30 feet with cane.", 9.144},
		{"Walked 100ft with cane.", 30.48},
		{"Walked 5 m x 2 with cane.", 5}, // repetitions add up to no length
		{"Wheeled himself 50 feet.", 15.24},
	}
	lex := newLexicon(t)
	for _, tt := range tests {
		st := lex.Read(tt.text, lexicon.CareWorker).Statements
		if len(st) != 1 {
			t.Errorf("Read(%q) gives %d statements, want 1", tt.text, len(st))
			continue
		}
		if got, ok := st[0].DistanceM.Get(); !ok || math.Abs(got-tt.want) > 1e-9 {
			t.Errorf("Read(%q): distance_m %v (given: %v), want %v", tt.text, got, ok, tt.want)
		}
	}
}

// A stated load and a stated body weight give the percentage; one pound is 0.45359237 kg exactly
// (international yard and pound agreement of 1959).
func TestLoadIsAPercentageOfBodyWeight(t *testing.T) {
	tests := []struct {
		text  string
		want  float64
		given bool
	}{
		{"PWB 50% left leg.", 50, true},
		{"PWB 20 kg left leg, weight 80 kg.", 25, true},
		{"PWB 40 lb left leg, weight 160 lb.", 25, true},
		{"PWB 20 kg left leg, weight 176.37 lb.", 25, true}, // 176.37 lb = 80.00 kg
		{"PWB 20 kg left leg.", 0, false},
		{"PWB left leg.", 0, false},
	}
	lex := newLexicon(t)
	for _, tt := range tests {
		var got float64
		var given bool
		for _, s := range lex.Read(tt.text, lexicon.Nurse).Statements {
			if s.Concept == "bearing.partial" {
				got, given = s.Percent.Get()
			}
		}
		if given != tt.given || math.Abs(got-tt.want) > 0.01 {
			t.Errorf("Read(%q): percent %v (given: %v), want %v (%v)", tt.text, got, given, tt.want, tt.given)
		}
	}
}

// A misspelling of a word of five letters and more is read as the word; an English word is not.
func TestMisspellings(t *testing.T) {
	tests := []struct {
		text     string
		concepts []string
	}{
		{"Tranferred to bed x2.", []string{"move.transfer"}},
		{"Walked with rolator.", []string{"move.walk"}},
		{"Dizzyness on standing.", []string{"sign.dizzy"}},
		{"DIZZYNESS on standing.", []string{"sign.dizzy"}},
		{"Waking at night.", nil},
		{"Listed in the book.", nil},
		{"Talked with staff.", nil},
	}
	lex := newLexicon(t)
	for _, tt := range tests {
		var got []string
		for _, s := range lex.Read(tt.text, lexicon.CareWorker).Statements {
			got = append(got, s.Concept)
		}
		if diff := gocmp.Diff(tt.concepts, got); diff != "" {
			t.Errorf("Read(%q) (-want +got):\n%s", tt.text, diff)
		}
	}
}

func TestReadIsSafeForConcurrentUse(t *testing.T) {
	lex := newLexicon(t)
	notes := samples(t)
	want := make([]lexicon.Reading, len(notes))
	for i, n := range notes {
		want[i] = lex.Read(n.Text, n.Role)
	}
	var wg sync.WaitGroup
	for g := range 8 {
		wg.Go(func() {
			for k := range 2 * len(notes) {
				i := (k*7 + g) % len(notes) // each in an order of its own
				if got := lex.Read(notes[i].Text, notes[i].Role); !equal(got, want[i]) {
					t.Errorf("goroutine %d: Read(%q) differs from a reading alone", g, notes[i].Text)
					return
				}
			}
		})
	}
	wg.Wait()
}

func equal(a, b lexicon.Reading) bool { return fmt.Sprintf("%+v", a) == fmt.Sprintf("%+v", b) }

// A reading that was handed out stays as it is when the lexicon reads on.
func TestReadingsAreTheCallers(t *testing.T) {
	lex := newLexicon(t)
	notes := samples(t)
	first := lex.Read(notes[0].Text, notes[0].Role)
	was := fmt.Sprintf("%+v", first)
	for _, n := range notes {
		lex.Read(n.Text, n.Role)
	}
	if now := fmt.Sprintf("%+v", first); now != was {
		t.Errorf("Read(%q) changed afterwards:\nwas %s\nnow %s", notes[0].Text, was, now)
	}
}

// lineColumn counts the line and column (in characters) of a byte the slow way.
func lineColumn(text string, at int) (line, column int) {
	line, start := 1, 0
	for i := 0; i < at; i++ {
		if text[i] == '\n' || text[i] == '\r' && (i+1 == len(text) || text[i+1] != '\n') {
			line, start = line+1, i+1
		}
	}
	return line, utf8.RuneCountInString(text[start:at]) + 1
}

// checkReading holds what is so of every reading, whatever the text.
func checkReading(t *testing.T, text string, r lexicon.Reading) {
	t.Helper()
	place := func(what string, s lexicon.Span) {
		if s.Start < 0 || s.End <= s.Start || s.End > len(text) {
			t.Fatalf("Read(%q): %s spans %d to %d", text, what, s.Start, s.End)
		}
		if line, column := lineColumn(text, s.Start); s.Line != line || s.Column != column {
			t.Fatalf("Read(%q): %s at byte %d is at %d:%d, want %d:%d", text, what, s.Start, s.Line, s.Column, line, column)
		}
	}
	last := lexicon.Span{}
	for i, s := range r.Statements {
		what := fmt.Sprintf("statement %d (%s)", i, s.Concept)
		place(what, s.Span)
		if !s.Detail.Head.IsZero() {
			place(what+" head", s.Detail.Head)
		}
		if !s.Detail.Vague.IsZero() {
			place(what+" vague", s.Detail.Vague)
		}
		for _, m := range s.Detail.Terms {
			place(what+" "+m.Field, m.Span)
		}
		if got := text[s.Span.Start:s.Span.End]; got != s.Text {
			t.Fatalf("Read(%q): %s has the text %q, its span %q", text, what, s.Text, got)
		}
		if s.Span.Start < last.Start || s.Span.Start == last.Start && s.Span.End < last.End {
			t.Fatalf("Read(%q): %s stands before the statement that it follows", text, what)
		}
		last = s.Span
		if s.Concept == "" || s.Polarity == "" || s.Time == "" || s.Who == "" || s.Certainty == "" || s.Mood == "" {
			t.Fatalf("Read(%q): %s leaves a default unsaid: %+v", text, what, s)
		}
		b, err := json.Marshal(s)
		if err != nil {
			t.Fatalf("Read(%q): %s has no JSON form: %v", text, what, err)
		}
		var back lexicon.Statement
		if err := json.Unmarshal(b, &back); err != nil {
			t.Fatalf("Read(%q): %s cannot be read back: %v", text, what, err)
		}
	}
	at := 0
	for i, m := range r.Remarks {
		place(fmt.Sprintf("remark %d (%s)", i, m.Kind), m.Span)
		if m.Span.Start < at {
			t.Fatalf("Read(%q): remark %d stands before the remark that it follows", text, i)
		}
		at = m.Span.Start
	}
}

func TestReadPlaces(t *testing.T) {
	lex := newLexicon(t)
	for _, n := range samples(t) {
		for _, text := range []string{n.Text, "é\r\n\r\n" + n.Text, strings.ReplaceAll(n.Text, "\n", "\r"), wrap(n.Text, 30), wrap(n.Text, 1)} {
			checkReading(t, text, lex.Read(text, n.Role))
		}
	}
}

// demoNotes are the texts of the demo home's notes.
func demoNotes(t testing.TB) []string {
	t.Helper()
	b, err := testdata.Demo.ReadFile("demo/notes.jsonl")
	if err != nil {
		t.Fatal(err)
	}
	var out []string
	sc := bufio.NewScanner(bytes.NewReader(b))
	for n := 1; sc.Scan(); n++ {
		var rec struct {
			Text string `json:"text"`
		}
		if err := json.Unmarshal(sc.Bytes(), &rec); err != nil {
			t.Fatalf("notes.jsonl:%d: %v", n, err)
		}
		out = append(out, rec.Text)
	}
	if err := sc.Err(); err != nil {
		t.Fatal(err)
	}
	return out
}

func TestReadPlacesInTheDemoHome(t *testing.T) {
	lex := newLexicon(t)
	known := map[string]bool{}
	for _, id := range concepts() {
		known[id] = true
	}
	for _, text := range demoNotes(t) {
		r := lex.Read(text, lexicon.Nurse)
		checkReading(t, text, r)
		for _, s := range r.Statements {
			if !known[s.Concept] {
				t.Errorf("Read(%q) gives the concept %q, which is not in the contract", text, s.Concept)
			}
		}
	}
}

func FuzzRead(f *testing.F) {
	lex := newLexicon(f)
	for _, n := range samples(f) {
		f.Add(n.Text)
	}
	for _, text := range demoNotes(f)[:40] {
		f.Add(text)
	}
	f.Add("\xff\xfe NWB \x00 (L) → PWB 50% “R leg”\r\r\n-x2")
	f.Fuzz(func(t *testing.T, text string) {
		for _, role := range []lexicon.Role{lexicon.CareWorker, lexicon.Therapist} {
			checkReading(t, text, lex.Read(text, role))
		}
	})
}

func BenchmarkRead(b *testing.B) {
	lex := newLexicon(b)
	notes := demoNotes(b)
	size := 0
	for _, text := range notes {
		size += len(text)
	}
	b.SetBytes(int64(size))
	b.ReportAllocs()
	for b.Loop() {
		for _, text := range notes {
			lex.Read(text, lexicon.Nurse)
		}
	}
	b.ReportMetric(float64(b.N*len(notes))/b.Elapsed().Seconds(), "notes/s")
}

// One long note costs what its length costs, if nothing is counted anew for every statement.
func BenchmarkReadLong(b *testing.B) {
	lex := newLexicon(b)
	all := strings.Join(demoNotes(b), "\n\n")
	for _, size := range []int{4 << 10, 16 << 10, 64 << 10} {
		b.Run(fmt.Sprintf("%dK", size>>10), func(b *testing.B) {
			text := all[:size]
			b.SetBytes(int64(len(text)))
			b.ReportAllocs()
			for b.Loop() {
				lex.Read(text, lexicon.Nurse)
			}
		})
	}
}

// A note of one word over and over, or of one sentence without an end, is the worst for what looks about in a sentence
// or through all statements; it must cost its length too.
func BenchmarkReadMonotonous(b *testing.B) {
	lex := newLexicon(b)
	for _, words := range []string{"nwb ", "fell ", "walking ", "walking with the frame ", "Bill said he fell. "} {
		for _, size := range []int{16 << 10, 64 << 10, 256 << 10} {
			b.Run(fmt.Sprintf("%s/%dK", strings.TrimSpace(words), size>>10), func(b *testing.B) {
				text := strings.Repeat(words, size/len(words))
				b.SetBytes(int64(len(text)))
				for b.Loop() {
					lex.Read(text, lexicon.Nurse)
				}
			})
		}
	}
}

func BenchmarkNew(b *testing.B) {
	b.ReportAllocs()
	for b.Loop() {
		if _, err := lexicon.New(); err != nil {
			b.Fatal(err)
		}
	}
}

// TestLongSentence holds that a text without a full stop is read to its end, and that cutting it loses nothing.
func TestLongSentence(t *testing.T) {
	lex := newLexicon(t)
	const times = 700
	r := lex.Read(strings.Repeat("no dizziness, walked 10 m x1, ", times), lexicon.CareWorker)
	walks, signs := 0, 0
	for _, s := range r.Statements {
		switch {
		case s.Concept == "move.walk" && s.Polarity == lexicon.Affirmed:
			walks++
		case s.Concept == "sign.dizzy" && s.Polarity == lexicon.Negated:
			signs++
		}
	}
	if walks != times || signs != times {
		t.Errorf("%d walks and %d denied signs in a long sentence, want %d of each", walks, signs, times)
	}
}
