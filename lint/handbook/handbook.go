// Package handbook is a teaching path through the rules: what a new care worker learns, topic by topic, each with
// a plain introduction, the rules that belong to it and three practice notes.
//
// [All] lists the topics in the order in which they are taught. A topic is a txtar archive, falls.txt, so that
// an instructor's words change without code; to add one, write the archive and name it in order. What stance says
// of a practice note is never written down: [Practice.Work] puts the note through the lexicon and the rules when
// it is asked for, by the usual policy, so that one class sees what the next one sees.
package handbook

import (
	"embed"
	"fmt"
	"slices"
	"strings"

	"golang.org/x/tools/txtar"

	"example.com/stance/lint/rules"
)

// A Topic is one lesson.
type Topic struct {
	ID           string
	Title        string   // one line, with a capital and no full stop
	Learn        string   // one sentence: what is learnt
	Introduction []string // paragraphs
	Sources      string   // of what the introduction says
	Rules        []rules.Rule
	Practice     []Practice
}

// A Practice is a note to discuss, or several notes on one resident.
type Practice struct {
	Shows string   // one sentence: what happened
	Asks  string   // one question for the class
	Chart string   // CSV with a header, as a chart file has it; empty for none
	Notes string   // plain text, as a notes file has it
	Finds []string // ids of rules that find something in it, at least; none: nothing is found at all
}

// practices is how many notes each topic has.
const practices = 3

//go:embed *.txt
var archives embed.FS

// order is the topics as they are taught: what the chart means before how it is kept, and the notes last.
func order() []string {
	return []string{"weight-bearing", "aids", "transfers", "rising", "falls", "wheelchairs", "writing-notes"}
}

// All is every topic with its rules, in the order in which they are taught.
func All() ([]Topic, error) {
	known, err := rules.All()
	if err != nil {
		return nil, err
	}
	var out []Topic
	for _, id := range order() {
		name := id + ".txt"
		b, err := archives.ReadFile(name)
		if err != nil {
			return nil, fmt.Errorf("topic %s: want its text in %s", id, name)
		}
		t, err := parse(name, b, known)
		if err != nil {
			return nil, err
		}
		t.ID = id
		out = append(out, t)
	}
	return out, nil
}

// A section is one file of an archive.
type section struct {
	line int // of its marker
	text string
}

// parse reads a topic. The form is a txtar archive with the files title, learn, introduction (paragraphs, a blank
// line between), sources and rules (an id a line), and for each of note 1 to 3: shows, asks, chart, notes and
// finds, which is ids of rules or "nothing". A chart may be left out; anything else that is missing, empty, repeated
// or unknown is an error that names the file and the line.
func parse(name string, b []byte, known []rules.Rule) (Topic, error) {
	p := parser{name: name, sections: map[string]section{}, known: known}
	p.cut(b)
	t := Topic{
		Title: p.joined("title"), Learn: p.joined("learn"),
		Introduction: p.paragraphs("introduction"), Sources: p.joined("sources"), Rules: p.rules("rules"),
	}
	for n := 1; n <= practices; n++ {
		part := func(s string) string { return fmt.Sprintf("note %d %s", n, s) }
		t.Practice = append(t.Practice, Practice{
			Shows: p.joined(part("shows")), Asks: p.joined(part("asks")),
			Chart: p.take(part("chart"), true).text, Notes: p.take(part("notes"), false).text, Finds: p.finds(part("finds")),
		})
	}
	p.rest()
	if p.err != nil {
		return Topic{}, p.err
	}
	return t, nil
}

// A parser takes sections out of an archive, and keeps the first error.
type parser struct {
	name     string
	sections map[string]section
	known    []rules.Rule
	err      error
}

func (p *parser) fail(line int, format string, args ...any) {
	if p.err == nil {
		p.err = fmt.Errorf("%s:%d: %s", p.name, line, fmt.Sprintf(format, args...))
	}
}

func (p *parser) cut(b []byte) {
	arc := txtar.Parse(b)
	line := 1 + strings.Count(string(arc.Comment), "\n")
	for _, f := range arc.Files {
		text := string(f.Data)
		if _, twice := p.sections[f.Name]; twice {
			p.fail(line, "section %q stands twice", f.Name)
		}
		if strings.TrimSpace(text) == "" {
			p.fail(line, "section %q is empty", f.Name)
		}
		p.sections[f.Name] = section{line, text}
		line += 1 + strings.Count(text, "\n")
	}
}

// take gives a section once.
func (p *parser) take(name string, optional bool) section {
	s, ok := p.sections[name]
	if !ok && !optional {
		p.fail(1, "section %q is missing", name)
	}
	delete(p.sections, name)
	return s
}

// rest refuses what nobody has taken, the first in the file.
func (p *parser) rest() {
	first, name := 0, ""
	for n, s := range p.sections {
		if first == 0 || s.line < first {
			first, name = s.line, n
		}
	}
	if first > 0 {
		p.fail(first, "section %q is unknown", name)
	}
}

func (p *parser) joined(name string) string {
	return strings.Join(strings.Fields(p.take(name, false).text), " ")
}

func (p *parser) paragraphs(name string) []string {
	var out []string
	for s := range strings.SplitSeq(p.take(name, false).text, "\n\n") {
		if words := strings.Fields(s); len(words) > 0 {
			out = append(out, strings.Join(words, " "))
		}
	}
	return out
}

func (p *parser) rules(name string) []rules.Rule {
	s := p.take(name, false)
	var out []rules.Rule
	for i, id := range strings.Split(strings.TrimRight(s.text, "\n"), "\n") {
		n := slices.IndexFunc(p.known, func(r rules.Rule) bool { return r.ID == id })
		if n < 0 {
			p.fail(s.line+1+i, "%q is no rule, want the id of one on each line", id)
			continue
		}
		out = append(out, p.known[n])
	}
	return out
}

// nothing in place of rules says that a practice note is written well.
const nothing = "nothing"

func (p *parser) finds(name string) []string {
	if s, ok := p.sections[name]; ok && strings.TrimSpace(s.text) == nothing {
		p.take(name, false)
		return nil
	}
	var out []string
	for _, r := range p.rules(name) {
		out = append(out, r.ID)
	}
	return out
}
