// Package vocab reads the vocabulary files: entries, each with its label, codes, fields and wordings.
//
// A file is lines of text. "#" starts a comment. An entry opens with "= ID | label"; the lines below
// it, up to the next entry, are:
//
//	code SYSTEM CODE   a published code for the concept
//	set FIELD VALUE    a field that the entry gives to what it describes
//	FORM> wordings     wordings in one form of a verb: base, s, ed, ing or noun
//	wordings           several on one line are set apart by ";"
//
// In a wording "(a|b c)" is a choice, "[a]" may be left out, "{n}" is a number, "~" between two parts
// forbids a blank between them, and "..." stands for up to three words. Hyphens and case do not matter.
package vocab

import (
	"bufio"
	"fmt"
	"io"
	"io/fs"
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
	return all, nil
}

// Read reads one vocabulary file.
func Read(name string, r io.Reader) ([]Entry, error) {
	var out []Entry
	sc := bufio.NewScanner(r)
	for n := 1; sc.Scan(); n++ {
		line, _, _ := strings.Cut(sc.Text(), "#")
		line = strings.TrimSpace(line)
		if line == "" {
			continue
		}
		if rest, ok := strings.CutPrefix(line, "="); ok {
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
		e := &out[len(out)-1]
		word, rest, _ := strings.Cut(line, " ")
		switch {
		case word == "code":
			e.Codes = append(e.Codes, strings.TrimSpace(rest))
		case word == "set":
			k, v, ok := strings.Cut(strings.TrimSpace(rest), " ")
			if !ok {
				return nil, fmt.Errorf("%s:%d: expected \"set FIELD VALUE\"", name, n)
			}
			e.Set[k] = strings.TrimSpace(v)
		default:
			form := ""
			if f, after, ok := strings.Cut(line, ">"); ok {
				switch f = strings.TrimSpace(f); f {
				case "base", "s", "ed", "ing", "noun":
					form, line = f, after
				default:
					return nil, fmt.Errorf("%s:%d: unknown form %q, expected base, s, ed, ing or noun", name, n, f)
				}
			}
			for _, w := range strings.Split(line, ";") {
				if w = strings.TrimSpace(w); w != "" {
					e.Says = append(e.Says, Wording{Text: w, Form: form, Line: n})
				}
			}
		}
	}
	if err := sc.Err(); err != nil {
		return nil, fmt.Errorf("%s: %w", name, err)
	}
	return out, nil
}

// Part is one element of an expanded wording: a word, a number slot or a gap.
type Part struct {
	Word  string // folded; empty for a slot
	Slot  Slot
	Glued bool // no blank before it
}

// Slot is what may stand in place of a word.
type Slot uint8

const (
	Literal Slot = iota
	Number
	Gap // up to three words
)

// Expand lists the plain sequences of a wording with choices and optional parts.
func Expand(text string) ([][]Part, error) {
	p := parser{in: text}
	seqs, err := p.sequence()
	if err != nil {
		return nil, err
	}
	if p.at < len(p.in) {
		return nil, fmt.Errorf("unexpected %q in wording %q", p.in[p.at], text)
	}
	for _, s := range seqs {
		if len(s) == 0 || s[0].Slot == Gap || s[len(s)-1].Slot == Gap {
			return nil, fmt.Errorf("wording %q must begin and end with a word or number", text)
		}
		s[0].Glued = false
	}
	return seqs, nil
}

type parser struct {
	in string
	at int
}

// sequence reads up to a closing bracket, a bar or the end.
func (p *parser) sequence() ([][]Part, error) {
	seqs := [][]Part{nil}
	glue := false
	add := func(more [][]Part) {
		var next [][]Part
		for _, s := range seqs {
			for _, m := range more {
				joined := append(append([]Part(nil), s...), m...)
				if glue && len(m) > 0 {
					joined[len(s)].Glued = true
				}
				next = append(next, joined)
			}
		}
		seqs, glue = next, false
	}
	for p.at < len(p.in) {
		switch c := p.in[p.at]; {
		case c == ' ' || c == '-':
			p.at++
		case c == '~':
			p.at++
			glue = true
		case c == '(' || c == '[':
			p.at++
			var choices [][]Part
			for {
				s, err := p.sequence()
				if err != nil {
					return nil, err
				}
				choices = append(choices, s...)
				if p.at < len(p.in) && p.in[p.at] == '|' {
					p.at++
					continue
				}
				break
			}
			want := byte(')')
			if c == '[' {
				want = ']'
				choices = append(choices, nil)
			}
			if p.at >= len(p.in) || p.in[p.at] != want {
				return nil, fmt.Errorf("missing %q in wording %q", want, p.in)
			}
			p.at++
			add(choices)
		case c == ')' || c == ']' || c == '|':
			return seqs, nil
		case strings.HasPrefix(p.in[p.at:], "{n}"):
			p.at += len("{n}")
			add([][]Part{{{Slot: Number}}})
		case strings.HasPrefix(p.in[p.at:], "..."):
			p.at += len("...")
			add([][]Part{{{Slot: Gap}}})
		default:
			start := p.at
			for p.at < len(p.in) && !strings.ContainsRune(" -~()[]|{", rune(p.in[p.at])) {
				p.at++
			}
			if p.at == start {
				return nil, fmt.Errorf("unexpected %q in wording %q", c, p.in)
			}
			var parts []Part
			for _, w := range cutWord(strings.ToLower(p.in[start:p.at])) {
				parts = append(parts, Part{Word: w})
			}
			add([][]Part{parts})
		}
	}
	return seqs, nil
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

func letter(b byte) bool { return b >= 'a' && b <= 'z' }
