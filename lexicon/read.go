package lexicon

import (
	"sort"
	"unicode/utf8"

	"example.com/stance/lexicon/internal/match"
	"example.com/stance/lexicon/internal/spell"
	"example.com/stance/lexicon/internal/token"
)

// unit is a wording found, or a sign that parts clauses.
type unit struct {
	from, to int // tokens, to exclusive
	kind     kind
	e        *entry // nil for a sign
	form     Tense
	sign     byte // ',' ';' '.' '\n' '?' ':' '(' ')' '-' '>' for signs
	used     bool // taken as an attribute
	neg      bool // governed by a negation of its own, as in a list of places or aids
}

func (u *unit) is(k kind) bool { return u.kind == k }

// read runs the steps of a reading.
func (r *reader) read(l *Lexicon, text string, role Role) Reading {
	r.lex, r.text, r.role, r.clause = l, text, role, 0
	r.out = Reading{}
	r.toks = token.Cut(r.toks[:0], text)
	r.lookUp()
	r.mark()
	r.settle()
	r.assemble()
	r.finish()
	return r.out
}

// lookUp numbers the words, mending misspellings.
func (r *reader) lookUp() {
	r.in = r.in[:0]
	for i := range r.toks {
		t := &r.toks[i]
		id := r.lex.matcher.Word(t.Word)
		if as, ok := r.lex.respelt[t.Word]; ok {
			id, t.Word = r.lex.matcher.Word(as), as
		}
		if id == 0 && t.Kind == token.Word && len(t.Word) >= spell.MinLetters {
			if c := r.lex.speller.Correct(t.Word); c != "" {
				id = r.lex.matcher.Word(c)
			}
		}
		r.in = append(r.in, match.Input{Word: id, IsNum: t.IsNum, Glued: t.Glued,
			Stop: t.Kind == token.Newline || (t.Kind == token.Sign && (t.Word == "." || t.Word == "," || t.Word == ";" || t.Word == "!"))})
	}
}

// mark turns hits and signs into one row of units in text order.
func (r *reader) mark() {
	r.units = r.units[:0]
	for i := 0; i < len(r.toks); {
		if hit, ok := r.lex.matcher.At(r.in, i); ok {
			s := &r.lex.said[hit.Payload]
			e := &r.lex.entries[s.entry]
			if e.kind == kindStaff && e.name == "plain" {
				// "with 4WW" and "with two canes" count wheels and aids, not helpers
				if next, ok := r.lex.matcher.At(r.in, hit.To-1); ok && next.To > hit.To {
					i = hit.To - 1
					continue
				}
			}
			i = hit.To
			r.units = append(r.units, unit{from: hit.From, to: hit.To, kind: e.kind, e: e, form: s.form})
			continue
		}
		if sign := r.signAt(i); sign != 0 {
			r.units = append(r.units, unit{from: i, to: i + 1, sign: sign})
		}
		i++
	}
}

// signAt classes the sign or line end at token i, 0 for one without meaning.
func (r *reader) signAt(i int) byte {
	t := &r.toks[i]
	if t.Kind == token.Newline {
		return '\n'
	}
	if t.Kind != token.Sign {
		return 0
	}
	switch t.Word {
	case ".", "!":
		// "w/ walker.then" ends a sentence too; a decimal never reaches here.
		return '.'
	case "?":
		// A query mark stands before what it doubts; a question mark closes a sentence.
		if i+1 < len(r.toks) && r.toks[i+1].Kind != token.Newline && (!t.Glued || r.toks[i+1].Glued) {
			return '?'
		}
		return '.'
	case ",", ";", ":", "(", ")", "-", "|":
		return t.Word[0]
	case "…":
		return ','
	}
	return 0
}

// word is the folded token i, or "".
func (r *reader) word(i int) string {
	if i < 0 || i >= len(r.toks) {
		return ""
	}
	return r.toks[i].Word
}

// drop makes a unit a plain word.
func drop(u *unit) { u.kind, u.e = kindNone, nil }

// span is the place of tokens from to to (exclusive); line and column are set at the end.
func (r *reader) span(from, to int) Span {
	return Span{Start: r.toks[from].Start, End: r.toks[to-1].End}
}

// add appends a statement about the tokens from to to.
func (r *reader) add(s Statement, from, to int) *Statement {
	s.Span = r.span(from, to)
	r.out.Statements = append(r.out.Statements, s)
	return &r.out.Statements[len(r.out.Statements)-1]
}

// finish sorts what was found and fills in texts, lines, columns and defaults.
func (r *reader) finish() {
	st := r.out.Statements
	sort.SliceStable(st, func(i, j int) bool {
		if st[i].Span.Start != st[j].Span.Start {
			return st[i].Span.Start < st[j].Span.Start
		}
		return st[i].Span.End < st[j].Span.End
	})
	rm := r.out.Remarks
	sort.SliceStable(rm, func(i, j int) bool { return rm[i].Span.Start < rm[j].Span.Start })
	at := places{text: r.text, line: 1}
	for i := range st {
		s := &st[i]
		s.Text = r.text[s.Span.Start:s.Span.End]
		at.fill(&s.Span)
	}
	for i := range st {
		at = places{text: r.text, line: 1}
		at.fill(&st[i].Detail.Head)
		if !st[i].Detail.Vague.IsZero() {
			at = places{text: r.text, line: 1}
			at.fill(&st[i].Detail.Vague)
		}
		for k := range st[i].Detail.Terms {
			at = places{text: r.text, line: 1}
			at.fill(&st[i].Detail.Terms[k].Span)
		}
	}
	at = places{text: r.text, line: 1}
	for i := range rm {
		at.fill(&rm[i].Span)
	}
}

// places counts lines and columns from left to right.
type places struct {
	text           string
	at, line, from int
}

func (p *places) fill(s *Span) {
	for p.at < s.Start {
		switch {
		case p.text[p.at] == '\n', p.text[p.at] == '\r' && !(p.at+1 < len(p.text) && p.text[p.at+1] == '\n'):
			p.line++
			p.from = p.at + 1
		}
		p.at++
	}
	s.Line = p.line
	s.Column = utf8.RuneCountInString(p.text[p.from:s.Start]) + 1
}
