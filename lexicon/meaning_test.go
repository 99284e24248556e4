package lexicon_test

import (
	"bufio"
	"bytes"
	"encoding/json"
	"os"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"example.com/stance/lexicon"
)

// sample is a note of testdata/notes.jsonl. Prose may be wrapped anywhere; other notes live by their lines.
type sample struct {
	Name  string
	Role  lexicon.Role
	Prose bool
	Text  string
}

func samples(t testing.TB) []sample {
	t.Helper()
	f, err := os.Open("testdata/notes.jsonl")
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	var out []sample
	sc := bufio.NewScanner(f)
	for n := 1; sc.Scan(); n++ {
		dec := json.NewDecoder(bytes.NewReader(sc.Bytes()))
		dec.DisallowUnknownFields()
		var s sample
		if err := dec.Decode(&s); err != nil {
			t.Fatalf("notes.jsonl:%d: %v", n, err)
		}
		out = append(out, s)
	}
	if err := sc.Err(); err != nil {
		t.Fatal(err)
	}
	return out
}

func newLexicon(t testing.TB, words ...lexicon.Word) *lexicon.Lexicon {
	t.Helper()
	l, err := lexicon.New(words...)
	if err != nil {
		t.Fatal(err)
	}
	return l
}

// facts is what the statements say, without where they say it: one JSON object each.
func facts(t testing.TB, statements []lexicon.Statement) []string {
	t.Helper()
	var out []string
	for _, s := range statements {
		s.Span, s.Text = lexicon.Span{}, ""
		b, err := json.Marshal(s)
		if err != nil {
			t.Fatal(err)
		}
		out = append(out, string(b))
	}
	return out
}

// wrap breaks text at blanks so that lines stay under width where words allow.
func wrap(text string, width int) string {
	var b strings.Builder
	col := 0
	for i, w := range strings.Split(text, " ") {
		switch {
		case i == 0:
		case col+1+len(w) > width:
			b.WriteByte('\n')
			col = 0
		default:
			b.WriteByte(' ')
			col++
		}
		b.WriteString(w)
		col += len(w)
	}
	return b.String()
}

func TestMeaningStays(t *testing.T) {
	changes := []struct {
		name  string
		prose bool // for prose only
		do    func(string) string
	}{
		{"upper case", false, strings.ToUpper},
		{"lower case", false, strings.ToLower},
		{"double blanks", false, func(s string) string { return strings.ReplaceAll(s, " ", "  ") }},
		{"no-break spaces", false, func(s string) string { return strings.ReplaceAll(s, " ", "\u00a0") }},
		{"tabs", false, func(s string) string { return strings.ReplaceAll(s, " ", "\t") }},
		{"a line a sentence", true, func(s string) string { return strings.ReplaceAll(s, ". ", ".\n") }},
		{"wrapped at 40", true, func(s string) string { return wrap(s, 40) }},
		{"wrapped at 20", true, func(s string) string { return wrap(s, 20) }},
		{"a word a line", true, func(s string) string { return wrap(s, 1) }},
		{"a line a clause", true, func(s string) string { return strings.NewReplacer(". ", ".\n", ", ", ",\n").Replace(s) }},
		{"carriage returns", false, func(s string) string { return strings.ReplaceAll(s, "\n", "\r\n") }},
		{"carriage returns after sentences", true, func(s string) string { return strings.ReplaceAll(s, ". ", ".\r\n") }},
		{"curly quotes", false, func(s string) string { return strings.ReplaceAll(s, "'", "’") }},
		{"quoted", false, func(s string) string { return "“" + s + "”" }},
		{"no full stop at the end", false, func(s string) string { return strings.TrimRight(s, ".") }},
		{"blank lines around", false, func(s string) string { return "\n\n  " + s + "  \n\n" }},
		{"ends with an exclamation mark", false, func(s string) string { return strings.TrimRight(s, ".") + "!" }},
		{"line before", false, func(s string) string { return "Ate well at lunch.\n" + s }},
		{"sentence before", true, func(s string) string { return "Ate well at lunch. " + s }},
		{"sentence after", true, func(s string) string { return s + " Enjoyed the music afterwards." }},
		{"line after", false, func(s string) string { return s + "\nEnjoyed the music afterwards." }},
		{"emphasis", true, func(s string) string { return "*" + s + "*" }},
		{"byte order mark", false, func(s string) string { return "\ufeff" + s }},
	}
	lex := newLexicon(t)
	for _, c := range changes {
		t.Run(c.name, func(t *testing.T) {
			for _, n := range samples(t) {
				if c.prose && !n.Prose {
					continue
				}
				want := facts(t, lex.Read(n.Text, n.Role).Statements)
				changed := c.do(n.Text)
				got := facts(t, lex.Read(changed, n.Role).Statements)
				if diff := cmp.Diff(want, got); diff != "" {
					t.Errorf("%s: Read(%q) (-as written +changed):\n%s", n.Name, changed, diff)
				}
			}
		})
	}
}

func TestMeaningStaysInTheDemoHome(t *testing.T) {
	changes := map[string]func(string) string{
		"upper case":       strings.ToUpper,
		"lower case":       strings.ToLower,
		"double blanks":    func(s string) string { return strings.ReplaceAll(s, " ", "  ") },
		"no-break spaces":  func(s string) string { return strings.ReplaceAll(s, " ", "\u00a0") },
		"tabs":             func(s string) string { return strings.ReplaceAll(s, " ", "\t") },
		"carriage returns": func(s string) string { return strings.ReplaceAll(s, "\n", "\r\n") },
		"curly quotes":     func(s string) string { return strings.ReplaceAll(s, "'", "’") },
		"line after":       func(s string) string { return s + "\nEnjoyed the music afterwards." },
	}
	lex := newLexicon(t)
	for name, do := range changes {
		t.Run(name, func(t *testing.T) {
			for _, text := range demoNotes(t) {
				want := facts(t, lex.Read(text, lexicon.Nurse).Statements)
				got := facts(t, lex.Read(do(text), lexicon.Nurse).Statements)
				if diff := cmp.Diff(want, got); diff != "" {
					t.Errorf("Read(%q) (-as written +changed):\n%s", text, diff)
				}
			}
		})
	}
}

// Who writes decides two things. Whether a line is an order, and with that its time: "may walk" is an order of
// today from a therapist and a condition from a care worker. And whether somebody examined: "I examined her on the
// floor" is no examination where a care worker writes it, "Reviewed in gym" is a review where a therapist does.
// It decides nothing else.
func TestRoleDecidesOrdersAndExaminations(t *testing.T) {
	lex := newLexicon(t)
	orders, examinations := 0, 0
	for _, text := range projectTexts(t) {
		read := func(role lexicon.Role) (examined []string, rest []lexicon.Statement) {
			for _, s := range lex.Read(text.Text, role).Statements {
				if s.Group() == "review" || s.Concept == "fall.assessed" {
					examined = append(examined, s.Concept)
				} else {
					rest = append(rest, s)
				}
			}
			return examined, rest
		}
		for _, role := range []lexicon.Role{lexicon.Nurse, lexicon.Therapist, lexicon.Doctor, lexicon.OtherRole} {
			examined, want := read(lexicon.CareWorker)
			byRole, got := read(role)
			if !slices.Equal(examined, byRole) {
				examinations++
			}
			for i := range min(len(want), len(got)) {
				if want[i].Mood != got[i].Mood {
					orders++
					got[i].Mood, got[i].Time = want[i].Mood, want[i].Time
				}
			}
			if diff := cmp.Diff(facts(t, want), facts(t, got)); diff != "" {
				t.Errorf("%s: Read(%q) (-care worker +%s):\n%s", text.Name, text.Text, role, diff)
			}
		}
	}
	if orders == 0 || examinations == 0 {
		t.Errorf("the role made a difference to %d orders and %d examinations, want some of both", orders, examinations)
	}
}

// Two pieces of prose say together what they say apart, but for an injury, which is looked for after any fall.
func TestNotesReadOneAfterAnother(t *testing.T) {
	lex := newLexicon(t)
	read := func(text string) []string {
		st := lex.Read(text, lexicon.CareWorker).Statements
		return facts(t, slices.DeleteFunc(st, func(s lexicon.Statement) bool { return s.Concept == "fall.injury" }))
	}
	for _, a := range samples(t) {
		for _, b := range samples(t) {
			if !a.Prose || !b.Prose {
				continue
			}
			together := a.Text + " " + b.Text
			if diff := cmp.Diff(append(read(a.Text), read(b.Text)...), read(together)); diff != "" {
				t.Errorf("Read(%q) (-apart +together):\n%s", together, diff)
			}
		}
	}
}

func TestSamplesSaySomething(t *testing.T) {
	lex := newLexicon(t)
	for _, n := range samples(t) {
		if len(lex.Read(n.Text, n.Role).Statements) == 0 {
			t.Errorf("%s: Read(%q) gives no statements, so that nothing is tested by it", n.Name, n.Text)
		}
	}
}

func TestSignListsReadAlike(t *testing.T) {
	lists := [][]string{
		{"No dizziness, weakness on standing.", "No dizziness or weakness on standing.", "No dizziness and weakness on standing."},
		{"Dizziness, blurred vision on standing.", "Dizziness and blurred vision on standing."},
		{"Denies dizziness, blurred vision.", "Denies dizziness or blurred vision.", "Denies dizziness and blurred vision."},
		{"Dizzy, unsteady.", "Dizzy and unsteady.", "Dizzy & unsteady."},
	}
	lex := newLexicon(t)
	type said struct {
		Concept  string
		Polarity lexicon.Polarity
	}
	read := func(text string) []said {
		var out []said
		for _, s := range lex.Read(text, lexicon.Nurse).Statements {
			out = append(out, said{s.Concept, s.Polarity})
		}
		return out
	}
	for _, l := range lists {
		want := read(l[0])
		if len(want) != 2 {
			t.Errorf("Read(%q) gives %v, want two signs", l[0], want)
		}
		for _, text := range l[1:] {
			if diff := cmp.Diff(want, read(text)); diff != "" {
				t.Errorf("Read(%q) differs from Read(%q) (-first +this):\n%s", text, l[0], diff)
			}
		}
	}
}

func TestSwappingSidesSwapsSidesOnly(t *testing.T) {
	swap := strings.NewReplacer("left", "right", "right", "left", "LLE", "RLE", "RLE", "LLE", "L leg", "R leg", "R leg", "L leg",
		"LUE", "RUE", "RUE", "LUE", "(L)", "(R)", "(R)", "(L)")
	other := map[string]string{"left": "right", "right": "left", "both": "both", "": ""}
	texts := []sample{
		{Name: "side in brackets", Text: "NWB (L) leg, WBAT (R) leg. Up with standard walker x1.", Role: lexicon.Nurse},
		{Name: "arms", Text: "NWB LUE, FWB RUE. Transferred x1 with belt.", Role: lexicon.CareWorker},
	}
	lex := newLexicon(t)
	sided := 0
	for _, n := range append(texts, samples(t)...) {
		changed := swap.Replace(n.Text)
		if changed == n.Text {
			continue
		}
		want := lex.Read(n.Text, n.Role).Statements
		for i := range want {
			if want[i].Side != "" {
				sided++
			}
			want[i].Side = other[want[i].Side]
		}
		got := lex.Read(changed, n.Role).Statements
		if diff := cmp.Diff(facts(t, want), facts(t, got)); diff != "" {
			t.Errorf("%s: Read(%q) (-sides swapped +got):\n%s", n.Name, changed, diff)
		}
	}
	if sided < 8 {
		t.Errorf("only %d statements with a side were looked at", sided)
	}
}
