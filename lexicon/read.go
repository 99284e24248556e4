package lexicon

import (
	"cmp"
	"slices"
	"sort"
	"strings"
	"unicode/utf8"

	"example.com/stance/lexicon/internal/match"
	"example.com/stance/lexicon/internal/token"
)

// unit is a wording found, or a sign that parts clauses.
type unit struct {
	from, to int // tokens, to exclusive
	kind     kind
	e        *entry // nil for a sign
	form     Tense
	sign     byte // ',' ';' '.' '?' ':' '(' ')' '-' for signs; a line end is '.'
	part     int8 // how strongly it parts clauses; see parts
	used     bool // taken as an attribute
}

// read runs the steps of a reading.
func (r *reader) read(l *Lexicon, text string, role Role) Reading {
	r.lex, r.text, r.role, r.clause, r.fellBefore = l, text, role, 0, false
	r.out = Reading{Statements: r.statements[:0]}
	r.marks = r.marks[:0]
	r.toks = token.Cut(r.toks[:0], text)
	r.joinLines()
	r.lookUp()
	r.mark()
	if r.found != nil {
		*r.found = append(*r.found, r.units...)
	}
	r.settle()
	r.assemble()
	r.finish()
	return r.out
}

// lookUp numbers the words, mending misspellings. What it finds out about a word is remembered.
func (r *reader) lookUp() {
	r.in, r.classes, r.saysFrom = r.in[:0], r.classes[:0], false
	for i := range r.toks {
		t := &r.toks[i]
		k, ok := r.known[t.Word]
		if !ok {
			k = r.find(t)
			k.classes = r.lex.classes[cmp.Or(k.word, t.Word)]
			if len(r.known) >= maxKnown {
				clear(r.known)
			}
			// the key must not hold on to the note
			r.known[strings.Clone(t.Word)] = k
		}
		if k.word != "" {
			t.Word = k.word
		}
		r.saysFrom = r.saysFrom || t.Word == "from"
		if k.isNum {
			t.Num, t.IsNum = k.num, true
		}
		r.classes = append(r.classes, k.classes)
		r.in = append(r.in, match.Input{Word: k.id, IsNum: t.IsNum, Glued: t.Glued,
			Stop: t.Kind == token.Newline || (t.Kind == token.Sign && (t.Word == "." || t.Word == "," || t.Word == ";" || t.Word == "!"))})
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
	if t.Kind == token.Word {
		if c := r.lex.speller.Correct(t.Word); c != "" {
			return known{id: r.lex.matcher.Word(c), word: c}
		}
	}
	return known{}
}

// mark turns hits and signs into one row of units in text order.
func (r *reader) mark() {
	r.units = r.units[:0]
	for i := 0; i < len(r.toks); {
		if r.numbersItem(i) {
			r.units = append(r.units, unit{from: i, to: i + 2, sign: '.'})
			i += 2
			continue
		}
		if r.word(i) == "?" && r.signAt(i) == '.' {
			r.units = append(r.units, unit{from: i, to: i + 1, sign: '.'}) // a question, not a query before a word
			i++
			continue
		}
		if hit, ok := r.hitAt(i); ok {
			s := &r.lex.said[hit.Payload]
			e := &r.lex.entries[s.entry]
			if e.name == "year" && e.kind == kindPast && !r.yearGone(hit.To-1) {
				i++ // "in 2 minutes"
				continue
			}
			if e.name == "spoken" && e.kind == kindClock && !r.spokenClock(hit) {
				i++
				continue
			}
			if e.kind == kindIgnore && r.onThe(hit.From) {
				// "NWB on the right after a fracture" names the side
				r.units = append(r.units, unit{from: i, to: i + 1, kind: kindSide, e: r.lex.find("side." + r.word(i))})
				i++
				continue
			}
			if e.kind == kindNegPre && hit.To-hit.From == 2 {
				// "is not holding" is a fault, not a denied one
				if next, ok := r.lex.matcher.At(r.in, hit.To-1); ok && next.To > hit.To && r.kindOf(next) == kindFaultWord {
					i = hit.To - 1
					continue
				}
			}
			if e.kind == kindLimb && hit.To-hit.From > 1 {
				// "R knee gave way" is a sign, with a side before it
				if next, ok := r.lex.matcher.At(r.in, hit.To-1); ok && next.To > hit.To && r.kindOf(next) == kindSign {
					i = hit.To - 1
					continue
				}
			}
			if clock := e.kind == kindClock && hit.To-hit.From == 2; clock || e.kind == kindStaff && (e.name == "plain" || e.name == "of") {
				// "with 4WW" and "with two canes" count wheels and aids, not helpers; "at 130/85" is no time
				if next, ok := r.lex.matcher.At(r.in, hit.To-1); ok && next.To > hit.To && (!clock || r.kindOf(next) == kindVitalPair) {
					i = hit.To - 1
					continue
				}
			}
			if e.kind == kindFiller {
				i = r.passOver(hit.To)
				continue
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

func (r *reader) kindOf(h match.Hit) kind { return r.lex.entries[r.lex.said[h.Payload].entry].kind }

// yearGone reports whether token i is a year in four digits.
func (r *reader) yearGone(i int) bool {
	t := &r.toks[i]
	return t.Kind == token.Number && len(t.Word) == 4 && t.Num >= 1930 && t.Num < 2100
}

// spokenClock reports whether both numbers of "at two fifteen" are words that make a time of day.
func (r *reader) spokenClock(h match.Hit) bool {
	hour, minute := &r.toks[h.To-2], &r.toks[h.To-1]
	return hour.Kind == token.Word && minute.Kind == token.Word && hour.Num >= 1 && hour.Num <= 12 && minute.Num >= 10 && minute.Num < 60
}

// onThe reports whether token i is a side after "on the".
func (r *reader) onThe(i int) bool {
	return (r.word(i) == "left" || r.word(i) == "right") && r.word(i-1) == "the" && (r.word(i-2) == "on" || r.word(i-2) == "through")
}

// passOver takes out the comma before a hesitation that ends at token i, and gives the token to go on
// from, past a comma behind it: "did not, you know, walk" is one clause.
func (r *reader) passOver(i int) int {
	if n := len(r.units); n > 0 && r.units[n-1].sign == ',' {
		r.units = r.units[:n-1]
	}
	if r.word(i) == "," {
		i++
	}
	return i
}

// hitAt is the longest wording that begins at token i.
func (r *reader) hitAt(i int) (match.Hit, bool) {
	if !r.lex.matcher.Opens(&r.in[i]) {
		return match.Hit{}, false
	}
	return r.lex.matcher.At(r.in, i)
}

// signAt classes the sign or line end at token i, 0 for one without meaning.
func (r *reader) signAt(i int) byte {
	t := &r.toks[i]
	if t.Kind == token.Newline {
		return '.'
	}
	if t.Kind != token.Sign {
		return 0
	}
	switch t.Word {
	case ".", "!":
		if r.is(i-1, title) {
			return 0 // "Dr. Roy"
		}
		if t.Word == "." && i+1 < len(r.toks) && r.toks[i+1].Kind == token.Word && !r.toks[i+1].Capital && r.is(i-1, shortened) {
			return 0
		}
		// "w/ walker.then" ends a sentence too; a decimal never reaches here.
		return '.'
	case "?":
		// A query mark stands before what it doubts; a question mark closes a sentence.
		if i+1 < len(r.toks) && r.toks[i+1].Kind != token.Newline && (!t.Glued || r.toks[i+1].Glued) {
			return '?'
		}
		return '.'
	case "|":
		if r.cellOfRow(i) {
			return ','
		}
		return '.'
	case "/":
		if !t.Glued && i+1 < len(r.toks) && !r.toks[i+1].Glued {
			return ',' // "PWB 50% / CGA x1 / FWW"
		}
		return 0
	case ",", ";", ":", "(", ")", "-":
		return t.Word[0]
	case "…":
		return ','
	}
	return 0
}

// cellOfRow reports whether the bar at token i parts the cells of one row of a table, not items that each
// have a heading of their own ("XFER: A2 | WALK: nil").
func (r *reader) cellOfRow(i int) bool {
	for k := i - 1; k >= 0 && r.toks[k].Kind != token.Newline; k-- {
		if r.word(k) == ":" {
			return false
		}
	}
	for k := i + 1; k < len(r.toks) && r.toks[k].Kind != token.Newline; k++ {
		if r.word(k) == ":" {
			return false
		}
	}
	return true
}

// numbersItem reports whether token i is the number of a list item, as in "2) Falls: none".
func (r *reader) numbersItem(i int) bool {
	t := &r.toks[i]
	return t.Kind == token.Number && t.Num < 20 && !t.Glued && r.word(i+1) == ")" && r.toks[i+1].Glued && r.word(i-1) != "("
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
}

// places knows where the lines of a text begin.
type places struct {
	text  string
	lines []int // start of each line after the first
	ascii bool
}

func newPlaces(text string) places {
	p := places{text: text, ascii: true}
	for i := range len(text) {
		switch b := text[i]; {
		case b == '\n', b == '\r' && !(i+1 < len(text) && text[i+1] == '\n'):
			p.lines = append(p.lines, i+1)
		case b >= utf8.RuneSelf:
			p.ascii = false
		}
	}
	return p
}

// fill sets the line and column of a place that is one.
func (p *places) fill(s *Span) {
	if s.End == 0 {
		return
	}
	n := sort.SearchInts(p.lines, s.Start+1)
	from := 0
	if n > 0 {
		from = p.lines[n-1]
	}
	s.Line = n + 1
	if p.ascii {
		s.Column = s.Start - from + 1
		return
	}
	s.Column = utf8.RuneCountInString(p.text[from:s.Start]) + 1
}
