package lexicon

import (
	"cmp"
	"slices"
	"strings"

	"example.com/stance/lexicon/internal/english"
	"example.com/stance/lexicon/internal/match"
	"example.com/stance/lexicon/internal/people"
	"example.com/stance/lexicon/internal/spell"
	"example.com/stance/lexicon/internal/token"
)

// unit is a wording found, or a sign that parts clauses.
type unit struct {
	from, to int // tokens, to exclusive
	kind     kind
	e        *entry // nil for a sign
	form     Tense
	sign     byte         // ',' ';' '.' '?' ':' '(' ')' '-' for signs; a line end is '.'
	part     int8         // how strongly it parts clauses; see parts
	used     bool         // taken as an attribute
	count    int8         // helpers of a group named together
	helpers  people.Kinds // and of what sorts they are
	doer     doer         // who else it is told of
	story    int          // one more than the unit that opens the story in which it is told
}

// read runs the steps of a reading.
func (r *reader) read(l *Lexicon, text string, role Role) Reading {
	r.lex, r.text, r.role, r.clause, r.fellBefore, r.by24 = l, text, role, 0, false, 0
	r.out = Reading{Statements: r.statements[:0]}
	r.bearingsSeen, r.sided, r.twoSides = 0, -1, false
	r.marks = r.marks[:0]
	r.toks = token.Cut(r.toks[:0], text)
	r.toks = token.JoinSpoken(r.toks)
	r.spokenSigns()
	r.tickBoxes()
	r.joinLines()
	r.joinAbbreviations()
	r.joinSplit()
	r.droppedHs()
	r.lookUp()
	r.misheard()
	r.soundAlikes()
	r.clippedIs()
	r.doubledSubjects()
	r.people()
	r.mark()
	if r.found != nil {
		*r.found = append(*r.found, r.units...)
	}
	r.settle()
	r.whoDoes()
	r.sex = r.residentSex()
	r.stories()
	r.posted()
	r.assemble()
	r.themes()
	r.judged()
	r.finish()
	return r.out
}

// lookUp numbers the words, mending misspellings. What it finds out about a word is remembered.
func (r *reader) lookUp() {
	r.in, r.themeIn, r.classes, r.sorts, r.saysFrom = r.in[:0], r.themeIn[:0], r.classes[:0], r.sorts[:0], false
	clear(r.given)
	for i := range r.toks {
		t := &r.toks[i]
		k, ok := r.known[t.Word]
		if !ok {
			k = r.find(t)
			k.classes = r.lex.classes[cmp.Or(k.word, t.Word)]
			k.theme = r.lex.themes.Word(cmp.Or(k.word, t.Word))
			if t.Kind == token.Word {
				k.sort = lookInDictionary(t.Word, k.id != 0 && k.word == "")
			}
			if len(r.known) >= maxKnown {
				clear(r.known)
			}
			// the key must not hold on to the note
			r.known[strings.Clone(t.Word)] = k
		}
		switch {
		case k.word == "":
		case k.mended && (k.sort.given || t.Capital && !t.Upper && (!r.opens(i) || r.joinsWriter(i+1))):
			k = known{sort: k.sort, theme: r.lex.themes.Word(t.Word)} // a name is never mended into a word
		default:
			t.Word = k.word
		}
		r.saysFrom = r.saysFrom || t.Word == "from"
		if k.sort.given && t.Capital && !t.Upper && !r.opens(i) {
			r.given[t.Word] = true
		}
		if k.isNum {
			t.Num, t.IsNum, t.Said = k.num, true, true
		}
		r.classes, r.sorts = append(r.classes, k.classes), append(r.sorts, k.sort)
		in := match.Input{Word: k.id, IsNum: t.IsNum, Glued: t.Glued,
			Stop: t.Kind == token.Newline || (t.Kind == token.Sign && (t.Word == "." || t.Word == "," || t.Word == ";" || t.Word == "!"))}
		r.in = append(r.in, in)
		in.Word = k.theme
		r.themeIn = append(r.themeIn, in)
	}
}

// find numbers a word met for the first time.
func (r *reader) find(t *token.Token) known {
	id := r.lex.matcher.Word(t.Word)
	if t.Kind == token.Word {
		if n, ok := token.NumberWord(t.Word); ok {
			return known{id: id, num: n, isNum: true}
		}
	}
	if id != 0 {
		return known{id: id}
	}
	if as, ok := r.lex.respelt[t.Word]; ok {
		return known{id: r.lex.matcher.Word(as), word: as}
	}
	if t.Kind == token.Word && r.lex.classes[t.Word] == (classes{}) && r.lex.themes.Word(t.Word) == 0 {
		if m := r.lex.inAccent(t.Word); m != "" {
			return known{id: r.lex.matcher.Word(m), word: m, mended: true}
		}
		if c := r.lex.speller.Correct(t.Word); c != "" {
			return known{id: r.lex.matcher.Word(c), word: c, mended: true}
		}
	}
	return known{}
}

// word is the folded token i, or "".
func (r *reader) word(i int) string {
	if i < 0 || i >= len(r.toks) {
		return ""
	}
	return r.toks[i].Word
}

// startOf is the token at which unit k begins, the end of the note past the last unit.
func (r *reader) startOf(k int) int {
	if k < len(r.units) {
		return r.units[k].from
	}
	return len(r.toks)
}

// drop makes a unit a plain word.
func drop(u *unit) { u.kind, u.e = kindNone, nil }

// span is the place of tokens from to to (exclusive); line and column are set at the end.
func (r *reader) span(from, to int) Span {
	return Span{Start: r.toks[from].Start, End: r.toks[to-1].End}
}

// begin is an empty statement of a concept. Only one is built at a time.
func (r *reader) begin(concept string) Statement {
	return Statement{Concept: concept, Detail: Detail{Terms: r.terms[:0]}}
}

// add appends a statement about the tokens from to to.
func (r *reader) add(s Statement, from, to int) *Statement {
	s.Span = r.span(from, to)
	// the marks move to the store of the note, and their place is free for the next statement
	r.terms = s.Detail.Terms[:0]
	at := len(r.marks)
	r.marks = append(r.marks, s.Detail.Terms...)
	s.Detail.Terms = r.marks[at:len(r.marks):len(r.marks)]
	r.out.Statements = append(r.out.Statements, s)
	return &r.out.Statements[len(r.out.Statements)-1]
}

// finish sorts what was found and fills in texts, lines, columns and defaults.
func (r *reader) finish() {
	// Statements are large, so their order is found first and each is copied once. What is handed out
	// must not share memory with the next note.
	found := r.out.Statements
	r.statements = found[:0]
	r.order = r.order[:0]
	for i := range found {
		r.order = append(r.order, i)
	}
	slices.SortStableFunc(r.order, func(a, b int) int {
		return cmp.Or(cmp.Compare(found[a].Span.Start, found[b].Span.Start), cmp.Compare(found[a].Span.End, found[b].Span.End))
	})
	st := make([]Statement, len(found))
	marks := make([]Mark, 0, len(r.marks))
	for i, k := range r.order {
		st[i] = found[k]
		at := len(marks)
		marks = append(marks, st[i].Detail.Terms...)
		st[i].Detail.Terms = marks[at:len(marks):len(marks)]
	}
	r.closeClocks(st)
	r.out.Statements = st
	rm := r.out.Remarks
	slices.SortStableFunc(rm, func(a, b Remark) int { return cmp.Compare(a.Span.Start, b.Span.Start) })
	at := newPlaces(r.text)
	for i := range st {
		s := &st[i]
		s.Text = r.text[s.Span.Start:s.Span.End]
		at.fill(&s.Span)
		at.fill(&s.Detail.Head)
		at.fill(&s.Detail.Vague)
		for k := range s.Detail.Terms {
			at.fill(&s.Detail.Terms[k].Span)
		}
	}
	for i := range rm {
		at.fill(&rm[i].Span)
	}
	r.out.Overlooked = r.overlooked()
	for i := range r.out.Overlooked {
		at.fill(&r.out.Overlooked[i])
	}
}

// inAccent is the word of the vocabulary that w writes as it is said, or "" where w is a word of its own.
func (l *Lexicon) inAccent(w string) string {
	if english.Look(w) != (english.Word{}) || spell.IsEnglish(w) {
		return ""
	}
	return l.accent.Meant(w, func(m string) bool { return l.matcher.Word(m) != 0 || l.classes[m] != (classes{}) })
}
