// Package token cuts a note into words, numbers and signs, keeping byte offsets into the note as written.
//
// Folding happens on the side: a token's Word is lower case with plain quotes, while Start and End
// point at the untouched bytes. Hyphens between letters join nothing and stand for nothing
// ("side-by-side" is three words); letters set apart by full stops or slashes are put together
// ("n.w.b.", "N/W/B"), except that two letters about a slash stay one word with it ("w/c").
package token

import (
	"strconv"
	"strings"
	"unicode"
	"unicode/utf8"
)

// Kind is the class of a token.
type Kind uint8

const (
	Word    Kind = iota
	Number       // digits, with a decimal point or thousands comma
	Sign         // one punctuation mark or symbol; arrows of any form are "→"
	Newline      // a run of line ends
)

// A Token is a piece of the note.
type Token struct {
	Start, End int     // byte offsets into the note
	Word       string  // folded form
	Num        float64 // of digits; a number word such as "two" is left to NumberWord
	Kind       Kind
	IsNum      bool // Num is meaningful
	Said       bool // Num is told in words
	Glued      bool // no blank before it
	Capital    bool // starts with an upper-case letter
	Upper      bool // all letters upper case
}

// Cut appends the tokens of text to dst and returns it.
func Cut(dst []Token, text string) []Token {
	c := cutter{text: text, out: dst}
	for c.at < len(text) {
		c.step()
	}
	return c.out
}

type cutter struct {
	text string
	at   int
	out  []Token
	last int // end of the last token
}

func (c *cutter) add(t Token) {
	t.Glued = len(c.out) > 0 && t.Start == c.last
	c.last = t.End
	c.out = append(c.out, t)
}

func (c *cutter) step() {
	b := c.text[c.at]
	switch {
	case b == '\n' || b == '\r':
		start := c.at
		for c.at < len(c.text) && (isBlank(c.text[c.at]) || c.text[c.at] == '\n' || c.text[c.at] == '\r') {
			c.at++
		}
		c.add(Token{Start: start, End: c.at, Word: "\n", Kind: Newline})
	case isBlank(b):
		c.at++
	case isLetter(b):
		c.word()
	case isDigit(b):
		c.number()
	case b < utf8.RuneSelf:
		c.sign()
	default:
		r, n := utf8.DecodeRuneInString(c.text[c.at:])
		switch {
		case unicode.IsSpace(r) || r == '\u200b' || r == '\ufeff':
			c.at += n
		case unicode.IsLetter(r):
			c.word()
		default:
			c.sign()
		}
	}
}

func isBlank(b byte) bool  { return b == ' ' || b == '\t' || b == '\v' || b == '\f' }
func isLetter(b byte) bool { return b|0x20 >= 'a' && b|0x20 <= 'z' }
func isDigit(b byte) bool  { return b >= '0' && b <= '9' }

// letter reports the size of the letter at i, or of a mark that goes with the one before ("c̄"), or 0.
func (c *cutter) letter(i int) int {
	if i >= len(c.text) {
		return 0
	}
	if isLetter(c.text[i]) {
		return 1
	}
	if c.text[i] < utf8.RuneSelf {
		return 0
	}
	if r, n := utf8.DecodeRuneInString(c.text[i:]); unicode.IsLetter(r) || unicode.Is(unicode.Mn, r) {
		return n
	}
	return 0
}

// quote reports the size of an apostrophe at i, straight or curly, or 0.
func (c *cutter) quote(i int) int {
	switch {
	case i >= len(c.text):
		return 0
	case c.text[i] == '\'' || c.text[i] == '`':
		return 1
	case c.text[i] >= utf8.RuneSelf && (strings.HasPrefix(c.text[i:], "’") || strings.HasPrefix(c.text[i:], "‘")):
		return len("’")
	}
	return 0
}

func (c *cutter) word() {
	start := c.at
	if end, word := c.spelled(start); end > 0 {
		c.at = end
		c.add(Token{Start: start, End: end, Word: word, Capital: isUpper(c.text[start]), Upper: isUpper(c.text[start])})
		return
	}
	if n := c.article(start); n > 0 {
		c.add(Token{Start: start, End: start + n, Word: "the"})
		c.at = start + n
		return
	}
	i, curly := start, false
	for {
		for i < len(c.text) && isLetter(c.text[i]) {
			i++
		}
		if n := c.letter(i); n > 0 {
			i += n
			continue
		}
		if n := c.quote(i); n > 0 && c.letter(i+n) > 0 {
			// "'s", "'d", "'ll", "'ve", "'re" and "'m" are words of their own; "didn't" is one word.
			if rest := c.suffix(i + n); rest > 0 {
				c.emit(start, i, curly)
				c.at = rest
				c.add(Token{Start: i, End: rest, Word: "'" + strings.ToLower(c.text[i+n:rest])})
				return
			}
			curly = curly || n > 1
			i += n
			continue
		}
		break
	}
	c.emit(start, i, curly)
	c.at = i
	// "w/" is "with", "w/o" and "w/c" come out of spelled; a possessive after an s ("nurses'") is dropped.
	if i-start == 1 && i < len(c.text) && c.text[i] == '/' && c.text[start]|0x20 == 'w' && c.letter(i+1) == 0 {
		t := &c.out[len(c.out)-1]
		t.End, t.Word, c.at, c.last = i+1, "w/", i+1, i+1
		return
	}
	if n := c.quote(i); n > 0 && c.text[i-1]|0x20 == 's' {
		c.at += n
	}
}

// article is the size of the article that northern English runs into the word behind it ("t'lounge"), or 0.
func (c *cutter) article(i int) int {
	if c.text[i]|0x20 != 't' || i > 0 && c.letter(i-1) > 0 {
		return 0
	}
	q := c.quote(i + 1)
	if q == 0 || c.letter(i+1+q) == 0 || c.letter(i+2+q) == 0 || c.letter(i+3+q) == 0 {
		return 0
	}
	return 1 + q
}

// suffix returns the end of an English clitic that starts at i, or 0.
func (c *cutter) suffix(i int) int {
	j := i
	for j < len(c.text) && isLetter(c.text[j]) {
		j++
	}
	switch strings.ToLower(c.text[i:j]) {
	case "s", "d", "ll", "ve", "re", "m":
		return j
	}
	return 0
}

func (c *cutter) emit(start, end int, curly bool) {
	raw := c.text[start:end]
	t := Token{Start: start, End: end, Word: raw, Capital: isUpper(raw[0])}
	t.Upper = t.Capital
	plain := true // lower-case ASCII already
	for i := range len(raw) {
		switch b := raw[i]; {
		case b >= utf8.RuneSelf:
			plain = false
		case isUpper(b):
			plain = false
		case isLetter(b):
			t.Upper = false
		}
	}
	if !plain {
		t.Word = fold(raw)
	}
	if curly {
		t.Word = strings.NewReplacer("’", "'", "‘", "'").Replace(t.Word)
	}
	c.add(t)
}

func isUpper(b byte) bool { return b >= 'A' && b <= 'Z' }

// fold is strings.ToLower, without work for what is lower case already.
func fold(s string) string { return strings.ToLower(s) }

// spelled reads letters set apart by dots or slashes. Two letters about a slash keep it.
func (c *cutter) spelled(start int) (end int, word string) {
	t := c.text
	if start+2 >= len(t) || !isLetter(t[start]) || (t[start+1] != '.' && t[start+1] != '/') || !isLetter(t[start+2]) {
		return 0, ""
	}
	sep := t[start+1]
	i, letters := start, make([]byte, 0, 8)
	for i < len(t) && isLetter(t[i]) && (i+1 >= len(t) || !isLetter(t[i+1])) {
		letters = append(letters, t[i]|0x20)
		i++
		if i+1 < len(t) && t[i] == sep && isLetter(t[i+1]) && (i+2 >= len(t) || !isLetter(t[i+2])) {
			i++
			continue
		}
		break
	}
	if len(letters) < 2 || (i < len(t) && isDigit(t[i])) {
		return 0, ""
	}
	if sep == '/' {
		if len(letters) == 2 {
			return i, strings.ToLower(t[start:i])
		}
		return i, string(letters)
	}
	// A full stop that closes the abbreviation is part of it when the sentence goes on.
	if i < len(t) && t[i] == '.' && c.goesOn(i+1) {
		i++
	}
	return i, string(letters)
}

// goesOn reports whether the text after a full stop at i-1 continues in lower case or with a sign.
func (c *cutter) goesOn(i int) bool {
	for i < len(c.text) && isBlank(c.text[i]) {
		i++
	}
	if i >= len(c.text) || c.text[i] == '\n' || c.text[i] == '\r' {
		return false
	}
	// "N.W.B. LLE": a short run of capitals belongs to the abbreviation before it
	j := i
	for j < len(c.text) && isUpper(c.text[j]) {
		j++
	}
	short := j-i <= 3 && (j >= len(c.text) || !isLetter(c.text[j]))
	return !isUpper(c.text[i]) || short
}

func (c *cutter) number() {
	start, i := c.at, c.at
	for i < len(c.text) && isDigit(c.text[i]) {
		i++
	}
	for i+1 < len(c.text) && c.text[i] == ',' && i-start <= 3 && i+3 < len(c.text) && isDigit(c.text[i+1]) && isDigit(c.text[i+2]) && isDigit(c.text[i+3]) && (i+4 >= len(c.text) || !isDigit(c.text[i+4])) {
		i += 4
	}
	if i+1 < len(c.text) && c.text[i] == '.' && isDigit(c.text[i+1]) {
		i++
		for i < len(c.text) && isDigit(c.text[i]) {
			i++
		}
	}
	raw := c.text[start:i]
	v, err := strconv.ParseFloat(strings.ReplaceAll(raw, ",", ""), 64)
	c.at = i
	c.add(Token{Start: start, End: i, Word: raw, Kind: Number, Num: v, IsNum: err == nil})
}

func (c *cutter) sign() {
	t, start := c.text, c.at
	if b := t[start]; b == '-' || b == '=' || b == '>' || b == '<' || b >= utf8.RuneSelf {
		for _, arrow := range [...]string{"<-->", "<->", "<=>", "<>", "↔", "⇔", "-->", "->", "=>", "→", "➔", "➜", "⇒", "›", ">>", ">"} {
			if strings.HasPrefix(t[start:], arrow) {
				c.at += len(arrow)
				c.add(Token{Start: start, End: c.at, Word: "→", Kind: Sign})
				return
			}
		}
	}
	// "(L)" and "(R)" are the letters, and so are amounts of help: "min(A)", "(S)".
	if start+2 < len(t) && t[start] == '(' && t[start+2] == ')' && strings.IndexByte("lrLRASID", t[start+1]) >= 0 {
		c.at += 3
		c.add(Token{Start: start, End: c.at, Word: fold(t[start+1 : start+2]), Capital: isUpper(t[start+1]), Upper: isUpper(t[start+1])})
		return
	}
	r, n := utf8.DecodeRuneInString(t[start:])
	c.at += n
	word := t[start:c.at]
	switch r {
	case '×', '✕':
		word = "x"
		c.add(Token{Start: start, End: c.at, Word: word, Kind: Word})
		return
	case '-', '‐', '‑', '–', '—', '−':
		// Between letters or digits without blanks it only joins; after a line end it is a list mark.
		if r != '—' && start > 0 && c.last == start && c.at < len(t) && !isBlank(t[c.at]) && t[c.at] != '\n' {
			c.last = c.at
			return
		}
		word = "-"
	case '\'', '’', '′':
		// "150'" is feet, but not in "5'4".
		if n := len(c.out); n > 0 && c.out[n-1].Kind == Number && c.last == start && (c.at >= len(t) || !isDigit(t[c.at])) {
			c.add(Token{Start: start, End: c.at, Word: "ft", Kind: Word})
		}
		return
	case '“', '”', '"', '‘', '`', '*', '_':
		return // quotation and emphasis carry no meaning here
	case '•', '·', '‣', '◦', '●':
		word = "-"
	case '½':
		c.add(Token{Start: start, End: c.at, Word: "½", Kind: Number, Num: 0.5, IsNum: true})
		return
	}
	c.add(Token{Start: start, End: c.at, Word: word, Kind: Sign})
}

// NumberWord is the value of an English number word, in lower case. Cut leaves number words to its
// caller, which may remember them.
func NumberWord(w string) (float64, bool) {
	switch w {
	case "zero":
		return 0, true
	case "one":
		return 1, true
	case "two":
		return 2, true
	case "three":
		return 3, true
	case "four":
		return 4, true
	case "five":
		return 5, true
	case "six":
		return 6, true
	case "seven":
		return 7, true
	case "eight":
		return 8, true
	case "nine":
		return 9, true
	case "ten":
		return 10, true
	case "eleven":
		return 11, true
	case "twelve":
		return 12, true
	case "thirteen":
		return 13, true
	case "fourteen":
		return 14, true
	case "fifteen":
		return 15, true
	case "sixteen":
		return 16, true
	case "seventeen":
		return 17, true
	case "eighteen":
		return 18, true
	case "nineteen":
		return 19, true
	case "twenty":
		return 20, true
	case "thirty":
		return 30, true
	case "forty":
		return 40, true
	case "fifty":
		return 50, true
	case "sixty":
		return 60, true
	case "seventy":
		return 70, true
	case "eighty":
		return 80, true
	case "ninety":
		return 90, true
	}
	return 0, false
}
