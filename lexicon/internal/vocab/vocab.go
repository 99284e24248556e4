// Package vocab reads the vocabulary files: entries, each with its label, codes, fields and wordings.
//
// A file is lines of text. One that begins with "#" is a comment. An entry opens with "= ID | label"; the lines below
// it, up to the next entry, are:
//
//	code SYSTEM CODE   a published code for the concept
//	set FIELD VALUE    a field that the entry gives to what it describes
//	FORM> wordings     wordings in one form of a verb: base, s, ed, ing or noun
//	wordings           several on one line are set apart by ";"
//
// Wordings that end in "|" go on in the next line. An entry whose ID begins with "name." only gives its wordings a name: "<helper>" in a wording stands for
// any wording of "name.helper", which must come before. In a wording "(a|b c)" is a choice, "[a]" may be
// left out, "{n}" is a number, "~" between two parts forbids a blank between them, and "..." stands for up
// to three words. Hyphens and case do not matter.
package vocab

import (
	"bufio"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"iter"
	"path"
	"sort"
	"strings"
)

// An Entry is one thing that wordings can mean.
type Entry struct {
	ID    string
	Label string
	Codes []string
	Set   map[string]string
	Says  []Wording

	File string
	Line int
}

// A Wording is one way to say an entry.
type Wording struct {
	Text string
	Form string // base, s, ed, ing, noun or empty
	Line int
}

// Load reads every .txt file of dir in name order.
func Load(fsys fs.FS, dir string) ([]Entry, error) {
	names, err := fs.Glob(fsys, path.Join(dir, "*.txt"))
	if err != nil {
		return nil, err
	}
	sort.Strings(names)
	var all []Entry
	seen := map[string]string{}
	for _, name := range names {
		f, err := fsys.Open(name)
		if err != nil {
			return nil, err
		}
		entries, err := Read(path.Base(name), f)
		f.Close()
		if err != nil {
			return nil, err
		}
		for _, e := range entries {
			where := fmt.Sprintf("%s:%d", e.File, e.Line)
			if was, twice := seen[e.ID]; twice {
				return nil, fmt.Errorf("%s: entry %q stands at %s already", where, e.ID, was)
			}
			seen[e.ID] = where
			all = append(all, e)
		}
	}
	return fillIn(all)
}

// fillIn puts the wordings of named lists where their names stand, and takes the lists out.
func fillIn(all []Entry) ([]Entry, error) {
	lists := map[string]string{} // name → "(a|b)"
	out := all[:0:0]
	for _, e := range all {
		name, ok := strings.CutPrefix(e.ID, "name.")
		if !ok {
			out = append(out, e)
			continue
		}
		said := make([]string, len(e.Says))
		for i, w := range e.Says {
			text, err := expand(w.Text, lists) // a list may use those before it
			if err != nil {
				return nil, fmt.Errorf("%s:%d: %w", e.File, w.Line, err)
			}
			said[i] = text
		}
		lists[name] = "(" + strings.Join(said, "|") + ")"
	}
	for i := range out {
		for k := range out[i].Says {
			w := &out[i].Says[k]
			text, err := expand(w.Text, lists)
			if err != nil {
				return nil, fmt.Errorf("%s:%d: %w", out[i].File, w.Line, err)
			}
			w.Text = text
		}
	}
	return out, nil
}

// expand puts the lists in place of their names.
func expand(text string, lists map[string]string) (string, error) {
	for strings.ContainsRune(text, '<') {
		before, rest, _ := strings.Cut(text, "<")
		name, after, closed := strings.Cut(rest, ">")
		list, known := lists[name]
		if !closed || !known {
			return "", fmt.Errorf("wording %q: no list of wordings has the name %q", text, name)
		}
		text = before + list + after
	}
	return text, nil
}

// Read reads one vocabulary file.
func Read(name string, r io.Reader) ([]Entry, error) {
	var out []Entry
	open, opened := "", 0 // wordings that go on in the next line, and the line where they begin
	sc := bufio.NewScanner(r)
	for n := 1; sc.Scan(); n++ {
		line := strings.TrimSpace(sc.Text())
		if line == "" || strings.HasPrefix(line, "#") {
			continue
		}
		if rest, ok := strings.CutPrefix(line, "="); ok {
			if open != "" {
				return nil, unfinished(name, opened)
			}
			id, label, ok := strings.Cut(rest, "|")
			id, label = strings.TrimSpace(id), strings.TrimSpace(label)
			if !ok || id == "" || label == "" {
				return nil, fmt.Errorf("%s:%d: an entry opens with \"= ID | label\"", name, n)
			}
			out = append(out, Entry{ID: id, Label: label, Set: map[string]string{}, File: name, Line: n})
			continue
		}
		if len(out) == 0 {
			return nil, fmt.Errorf("%s:%d: expected \"= ID | label\" before any wording", name, n)
		}
		if open == "" {
			opened = n
		}
		if open += line; strings.HasSuffix(line, "|") {
			continue
		}
		if err := out[len(out)-1].read(open, opened); err != nil {
			return nil, fmt.Errorf("%s:%d: %w", name, opened, err)
		}
		open = ""
	}
	if err := sc.Err(); err != nil {
		return nil, fmt.Errorf("%s: %w", name, err)
	}
	if open != "" {
		return nil, unfinished(name, opened)
	}
	return out, nil
}

func unfinished(name string, line int) error {
	return fmt.Errorf("%s:%d: wordings end in \"|\" and do not go on", name, line)
}

// read adds what line n below the opening of the entry says.
func (e *Entry) read(line string, n int) error {
	word, rest, _ := strings.Cut(line, " ")
	switch word {
	case "code":
		e.Codes = append(e.Codes, strings.TrimSpace(rest))
		return nil
	case "set":
		k, v, ok := strings.Cut(strings.TrimSpace(rest), " ")
		if !ok {
			return errors.New("expected \"set FIELD VALUE\"")
		}
		e.Set[k] = strings.TrimSpace(v)
		return nil
	}
	form := ""
	if f, after, ok := strings.Cut(line, ">"); ok && !strings.ContainsRune(f, '<') {
		switch f = strings.TrimSpace(f); f {
		case "base", "s", "ed", "ing", "noun":
			form, line = f, after
		default:
			return fmt.Errorf("unknown form %q, expected base, s, ed, ing or noun", f)
		}
	}
	for _, w := range strings.Split(line, ";") {
		if w = strings.TrimSpace(w); w != "" {
			e.Says = append(e.Says, Wording{Text: w, Form: form, Line: n})
		}
	}
	return nil
}

// A Seq is a wording, or one option of a choice: its parts in order.
type Seq []Part

// Part is one element of a wording.
type Part struct {
	Slot    Slot
	Word    string // folded; with Literal only
	Options []Seq  // with Choice only; an empty option may be left out
	Glued   bool   // no blank before it
}

// Slot is what stands in a place of a wording.
type Slot uint8

const (
	Literal Slot = iota
	Number
	Gap    // up to three words
	Choice // one of Options
)

// Parse reads a wording.
func Parse(text string) (Seq, error) {
	p := parser{in: text, room: make([]Part, 0, 1+strings.Count(text, " ")+strings.Count(text, "|"))}
	seq, err := p.sequence()
	if err != nil {
		return nil, err
	}
	if p.at < len(p.in) {
		return nil, fmt.Errorf("unexpected %q in wording %q", p.in[p.at], text)
	}
	if len(seq) == 0 || seq[0].Slot == Gap || seq[len(seq)-1].Slot == Gap || optional(seq) {
		return nil, fmt.Errorf("wording %q must begin and end with a word or number", text)
	}
	return seq, nil
}

// optional reports whether nothing at all satisfies the sequence.
func optional(seq Seq) bool {
	for _, p := range seq {
		if p.Slot != Choice {
			return false
		}
		empty := false
		for _, o := range p.Options {
			empty = empty || optional(o)
		}
		if !empty {
			return false
		}
	}
	return true
}

// Words yields every word of the sequence, once for each time it stands there.
func (s Seq) Words() iter.Seq[string] {
	return func(yield func(string) bool) { s.words(yield) }
}

func (s Seq) words(yield func(string) bool) bool {
	for _, p := range s {
		switch p.Slot {
		case Literal:
			if !yield(p.Word) {
				return false
			}
		case Choice:
			for _, o := range p.Options {
				if !o.words(yield) {
					return false
				}
			}
		}
	}
	return true
}

// Neighbours calls pair for the words that stand side by side in any form of the wording, as Expand would show them but
// without spelling all forms out.
func (s Seq) Neighbours(pair func(before, behind string)) { s.edges(pair) }

// edges calls pair for the neighbours within s and gives the words with which it may begin and end, "" for one that is
// open, and whether all of it may be left out.
func (s Seq) edges(pair func(before, behind string)) (first, last []string, empty bool) {
	empty = true
	for _, p := range s {
		begins, ends, optional := p.edges(pair)
		for _, a := range last {
			for _, b := range begins {
				if a != "" && b != "" {
					pair(a, b)
				}
			}
		}
		if empty {
			first = append(first, begins...)
		}
		if optional {
			ends = append(ends, last...)
		}
		last, empty = ends, empty && optional
	}
	return first, last, empty
}

func (p Part) edges(pair func(before, behind string)) (first, last []string, empty bool) {
	if p.Slot != Choice {
		return []string{p.Word}, []string{p.Word}, false
	}
	for _, o := range p.Options {
		f, l, e := o.edges(pair)
		first, last, empty = append(first, f...), append(last, l...), empty || e
	}
	return first, last, empty
}

// Expand lists every plain sequence that a wording stands for. It is meant for checks of the matcher.
func (s Seq) Expand() []Seq {
	out := []Seq{nil}
	for _, p := range s {
		more := []Seq{{p}}
		if p.Slot == Choice {
			more = nil
			for _, o := range p.Options {
				for _, e := range o.Expand() {
					if len(e) > 0 && p.Glued {
						e[0].Glued = true
					}
					more = append(more, e)
				}
			}
		}
		var next []Seq
		for _, a := range out {
			for _, b := range more {
				next = append(next, append(append(Seq(nil), a...), b...))
			}
		}
		out = next
	}
	return out
}

type parser struct {
	in   string
	at   int
	open []Part // of the sequences that are not at their end yet
	room []Part // of those that are, which share it
}

// close takes the sequence that begins at a place of the open parts.
func (p *parser) close(from int) Seq {
	if from == len(p.open) {
		return nil
	}
	at := len(p.room)
	p.room = append(p.room, p.open[from:]...)
	p.open = p.open[:from]
	return p.room[at:len(p.room):len(p.room)]
}

// sequence reads up to a closing bracket, a bar or the end.
func (p *parser) sequence() (Seq, error) {
	from, glue := len(p.open), false
	add := func(part Part) {
		part.Glued, glue = glue, false
		p.open = append(p.open, part)
	}
	for p.at < len(p.in) {
		switch c := p.in[p.at]; {
		case c == ' ' || c == '-':
			p.at++
		case c == '~':
			p.at++
			glue = true
		case c == '(' || c == '[':
			options, err := p.choice()
			if err != nil {
				return nil, err
			}
			add(Part{Slot: Choice, Options: options})
		case c == ')' || c == ']' || c == '|':
			return p.close(from), nil
		case strings.HasPrefix(p.in[p.at:], "{n}"):
			p.at += len("{n}")
			add(Part{Slot: Number})
		case strings.HasPrefix(p.in[p.at:], "..."):
			p.at += len("...")
			add(Part{Slot: Gap})
		default:
			start := p.at
			for p.at < len(p.in) && strings.IndexByte(" -~()[]|{", p.in[p.at]) < 0 {
				p.at++
			}
			if p.at == start {
				return nil, fmt.Errorf("unexpected %q in wording %q", c, p.in)
			}
			w := strings.ToLower(p.in[start:p.at])
			if plain(w) {
				add(Part{Word: w})
				continue
			}
			for _, w := range cutWord(w) {
				add(Part{Word: w})
			}
		}
	}
	return p.close(from), nil
}

// choice reads from an opening bracket past the one that closes it.
func (p *parser) choice() ([]Seq, error) {
	want := byte(')')
	if p.in[p.at] == '[' {
		want = ']'
	}
	var options []Seq
	for more := true; more; more = p.at < len(p.in) && p.in[p.at] == '|' {
		p.at++
		s, err := p.sequence()
		if err != nil {
			return nil, err
		}
		options = append(options, s)
	}
	if want == ']' {
		options = append(options, nil)
	}
	if p.at >= len(p.in) || p.in[p.at] != want {
		return nil, fmt.Errorf("missing %q in wording %q", want, p.in)
	}
	p.at++
	return options, nil
}

// cutWord parts a wording's word as the tokeniser parts a note's: digits from letters, signs alone, "'s" alone.
func cutWord(w string) []string {
	if w == "w/" || (len(w) == 3 && w[1] == '/' && letter(w[0]) && letter(w[2])) {
		return []string{w}
	}
	if base, ok := strings.CutSuffix(w, "'s"); ok && base != "" {
		return append(cutWord(base), "'s")
	}
	var out []string
	kind := func(b byte) int {
		switch {
		case b >= '0' && b <= '9' || b == '.':
			return 1
		case letter(b) || b >= 0x80 || b == '\'':
			return 2
		}
		return 0
	}
	for i := 0; i < len(w); {
		j := i + 1
		if k := kind(w[i]); k > 0 {
			for j < len(w) && kind(w[j]) == k {
				j++
			}
		}
		out = append(out, w[i:j])
		i = j
	}
	return out
}

// plain reports whether the word is letters alone, as most are: there is nothing to cut.
func plain(w string) bool {
	for i := range len(w) {
		if !letter(w[i]) {
			return false
		}
	}
	return true
}

func letter(b byte) bool { return b >= 'a' && b <= 'z' }
