package lexicon

import (
	"bufio"
	"encoding/json"
	"flag"
	"fmt"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"

	"example.com/stance/lexicon/internal/judge"
	"example.com/stance/lexicon/internal/judge/learn"
)

// An annotated note says which of its words answer which question.
type annotated struct {
	file    string
	role    Role
	text    string
	answers map[string][]Span // by question; a question that is not there was not annotated
}

// weightsFile holds what TestWeights learns.
const weightsFile = "internal/judge/weights.tsv"

const weightsHead = `# What the judge has learnt: decision, trait of a clause, weight in hundredths of the logarithm of the odds.
# "go test ./lexicon -run TestWeights -update" learns them anew from testdata/judge and testdata/gold.
`

func settings() learn.Settings { return learn.Settings{Rare: 2, Penalty: 1, Rounds: 300} }

// TestWeights holds the committed weights to the annotated notes: those learnt anew choose as they do. A few choices may
// differ, for machines differ in the last digit, and what the grammar reads of a note is among what the judge goes by.
func TestWeights(t *testing.T) {
	l := compiled(t)
	notes := annotatedNotes(t, l)
	lessons := taught(l, notes)
	if flag.Lookup("update").Value.String() == "true" {
		if err := os.WriteFile(weightsFile, []byte(learn.Text(weightsHead, lessons)), 0o644); err != nil {
			t.Fatal(err)
		}
		return
	}
	for _, q := range l.questions {
		asked, differ := 0, 0
		for i := range notes {
			clauses := asks(l, &notes[i])
			clauses = slices.DeleteFunc(clauses, func(a answerable) bool { return a.question != q.name })
			if len(clauses) == 0 {
				continue
			}
			asked++
			if choice(l.judge[q.name], clauses, q.least) != choice(lessons[q.name], clauses, q.least) {
				differ++
			}
		}
		if asked == 0 || 25*differ > asked {
			t.Errorf("%s: the weights choose otherwise than those learnt anew in %d of %d notes; run with -update", q.name, differ, asked)
		}
	}
}

// choice is the clause that a model takes, -1 for none.
func choice(m judge.Model, clauses []answerable, least int) int {
	best, most := -1, least
	for k := range clauses {
		if score := m.Score(clauses[k].traits); score >= most {
			best, most = k, score+1
		}
	}
	return best
}

// TestLeftOut holds the judge to reading more than the grammar alone, on each file of notes when it has learnt from all
// others, gold cases and notes written for it apart. It learns some twenty times over, so it is only run where it is asked for.
func TestLeftOut(t *testing.T) {
	if os.Getenv("STANCE_JUDGE") == "" {
		t.Skip("STANCE_JUDGE=1 runs it")
	}
	l := compiled(t)
	notes := annotatedNotes(t, l)
	var files []string
	for _, n := range notes {
		if !slices.Contains(files, n.file) {
			files = append(files, n.file)
		}
	}
	alone, judged := newTallies(l), newTallies(l)
	for _, file := range files {
		var rest, left []annotated
		for _, n := range notes {
			if n.file == file {
				left = append(left, n)
			} else {
				rest = append(rest, n)
			}
		}
		l.judge = nil
		for i := range left {
			alone.count(t, l, &left[i])
		}
		l.judge = taught(l, rest)
		for i := range left {
			judged.count(t, l, &left[i])
		}
	}
	for k, without := range alone {
		with := judged[k]
		t.Logf("%s\n  grammar alone %s\n  and judge     %s", k, without, with)
		if with.f1() <= without.f1() {
			t.Errorf("%s: the judge gains nothing", k)
		}
		for _, m := range with.misses {
			t.Log("  ", m)
		}
	}
}

// tallies are kept by sort of file and question.
type tallies map[string]*tally

func newTallies(l *Lexicon) tallies {
	all := tallies{}
	for _, q := range l.questions {
		all[".txt "+q.name], all[".jsonl "+q.name] = &tally{}, &tally{}
	}
	return all
}

// A tally counts what was read right, missed and overread.
type tally struct {
	right, missed, extra int
	misses               []string
}

func (c *tally) f1() float64 {
	return 2 * float64(c.right) / float64(max(1, 2*c.right+c.missed+c.extra))
}

func (c *tally) String() string {
	return fmt.Sprintf("right %3d missed %3d overread %3d F1 %.3f", c.right, c.missed, c.extra, c.f1())
}

// count reads the note and counts its statements against the annotated ones.
func (c tallies) count(t *testing.T, l *Lexicon, n *annotated) {
	t.Helper()
	read := l.Read(n.text, n.role)
	for _, q := range l.questions {
		want, ok := n.answers[q.name]
		if !ok {
			continue
		}
		to := c[filepath.Ext(n.file)+" "+q.name]
		found := make([]bool, len(want))
		for _, s := range read.Statements {
			if s.Concept != q.concept {
				continue
			}
			k := slices.IndexFunc(want, s.Span.Overlaps)
			if k < 0 {
				to.extra++
				to.misses = append(to.misses, fmt.Sprintf("overread %q of %q", s.Text, n.text))
			} else if !found[k] {
				found[k] = true
				to.right++
			}
		}
		for k, ok := range found {
			if !ok {
				to.missed++
				to.misses = append(to.misses, fmt.Sprintf("missed %q of %q", n.text[want[k].Start:want[k].End], n.text))
			}
		}
	}
}

func compiled(t *testing.T) *Lexicon {
	t.Helper()
	l, err := New()
	if err != nil {
		t.Fatal(err)
	}
	return l
}

// taught fits a model for each question to the notes.
func taught(l *Lexicon, notes []annotated) judge.Models {
	by := map[string][]learn.Example{}
	for i := range notes {
		n := &notes[i]
		clauses := map[string][]learn.Clause{}
		for _, a := range asks(l, n) {
			if want, ok := n.answers[a.question]; ok {
				clauses[a.question] = append(clauses[a.question], learn.Clause{Traits: a.traits, Yes: answers(a.span, want)})
			}
		}
		for name, c := range clauses {
			by[name] = append(by[name], learn.Example{Clauses: c})
		}
	}
	all := judge.Models{}
	for name, examples := range by {
		all[name] = learn.Model(examples, settings())
	}
	return all
}

// asks is what may be asked of the stretches of a note.
func asks(l *Lexicon, n *annotated) []answerable {
	var all []answerable
	r := l.scratch.Get().(*reader)
	r.asked = &all
	r.read(l, n.text, n.role)
	r.asked = nil
	l.scratch.Put(r)
	return all
}

// answers reports whether the words at a place answer: whether more than half of them, or of an answer, do.
func answers(at Span, want []Span) bool {
	for _, w := range want {
		shared := min(at.End, w.End) - max(at.Start, w.Start)
		if 2*shared > at.End-at.Start || 2*shared > w.End-w.Start {
			return true
		}
	}
	return false
}

// annotatedNotes are those written for the judge and those of the gold cases.
func annotatedNotes(t *testing.T, l *Lexicon) []annotated {
	t.Helper()
	var all []annotated
	for _, file := range matching(t, "testdata/judge/*.txt") {
		all = append(all, bracketed(t, l, file)...)
	}
	causes := causesOfEdition1(t)
	for _, file := range matching(t, "../testdata/gold/*.jsonl") {
		all = append(all, goldNotes(t, l, file, causes)...)
	}
	return all
}

func matching(t *testing.T, pattern string) []string {
	t.Helper()
	files, err := filepath.Glob(pattern)
	if err != nil || len(files) == 0 {
		t.Fatalf("no files %s: %v", pattern, err)
	}
	return files
}

// bracketed reads notes in which "[cause …]" marks an answer.
func bracketed(t *testing.T, l *Lexicon, file string) []annotated {
	t.Helper()
	data, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	mark := regexp.MustCompile(`\[([a-z-]+) ([^]]*)\]`)
	var all []annotated
	for line := range strings.Lines(string(data)) {
		line = strings.TrimSpace(line)
		if line == "" || line[0] == '#' {
			continue
		}
		n := annotated{file: filepath.Base(file), role: CareWorker, answers: map[string][]Span{}}
		if role, text, ok := strings.Cut(line, " | "); ok {
			n.role, line = Role(role), text
		}
		for _, q := range l.questions {
			n.answers[q.name] = nil
		}
		at := 0
		for _, m := range mark.FindAllStringSubmatchIndex(line, -1) {
			n.text += line[at:m[0]]
			name, start := line[m[2]:m[3]], len(n.text)
			n.text += line[m[4]:m[5]]
			if _, ok := n.answers[name]; !ok {
				t.Fatalf("%s: nobody asks for %q", file, name)
			}
			n.answers[name] = append(n.answers[name], Span{Start: start, End: len(n.text)})
			at = m[1]
		}
		n.text += line[at:]
		all = append(all, n)
	}
	return all
}

// causesOfEdition1 gives, by case and note, the words that tell the cause of a fall.
func causesOfEdition1(t *testing.T) map[string]string {
	t.Helper()
	data, err := os.ReadFile("testdata/judge/causes-edition-1.tsv")
	if err != nil {
		t.Fatal(err)
	}
	causes := map[string]string{}
	for line := range strings.Lines(string(data)) {
		if f := strings.Split(strings.TrimSpace(line), "\t"); len(f) == 3 {
			causes[f[0]+" "+f[1]] = f[2]
		}
	}
	return causes
}

// A quoted is a statement as gold cases write it.
type quoted struct{ Concept, Quote string }

// placesOf gives the places of the statements of a concept, which are in text order.
func placesOf(text string, said []quoted, concept string) []Span {
	var all []Span
	at := 0
	for _, s := range said {
		k := strings.Index(text[at:], s.Quote)
		if k < 0 {
			k, at = strings.Index(text, s.Quote), 0
		}
		if at += max(k, 0); s.Concept == concept {
			all = append(all, Span{Start: at, End: at + len(s.Quote)})
		}
	}
	return all
}

// goldNotes reads the notes of gold cases whose statements are annotated.
func goldNotes(t *testing.T, l *Lexicon, file string, causes map[string]string) []annotated {
	t.Helper()
	f, err := os.Open(file)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	var all []annotated
	lines := bufio.NewScanner(f)
	lines.Buffer(nil, 1<<20)
	for lines.Scan() {
		var c struct {
			Case  string
			Spec  int
			Notes []struct {
				Note, Text string
				Role       Role
			}
			Expect struct {
				Statements map[string][]quoted
			}
		}
		if err := json.Unmarshal(lines.Bytes(), &c); err != nil {
			t.Fatalf("%s: %v", file, err)
		}
		for _, g := range c.Notes {
			said, ok := c.Expect.Statements[g.Note]
			if !ok {
				continue
			}
			n := annotated{file: filepath.Base(file), role: g.Role, text: g.Text, answers: map[string][]Span{}}
			if words, ok := causes[c.Case+" "+g.Note]; ok {
				said = append(said, quoted{"fall.cause", words})
			}
			for _, q := range l.questions {
				n.answers[q.name] = placesOf(g.Text, said, q.concept)
			}
			all = append(all, n)
		}
	}
	if err := lines.Err(); err != nil {
		t.Fatal(err)
	}
	return all
}
