package note

import (
	"strings"
	"unicode/utf8"
)

// A scanner reads the fields of one JSON object in one pass, where the object is as nearly all of them are. It stops at
// anything out of the ordinary, and leaves that, with whatever is to be said of it, to parseObject: it need not
// take all that JSON is, but what it takes it must read as parseObject does. The text is UTF-8.
type scanner struct {
	text string
	at   int
}

// scan reads the fields of an object, and what it has under the key of the home, which may be that of a field and is
// empty where nobody asks; false where it is left to parseObject.
func scan(text, homeKey string) (given fields, home string, ok bool) {
	s := scanner{text: text}
	var seen [fieldCount]bool
	seenHome := false
	if s.skipBlank(); !s.take('{') {
		return given, "", false
	}
	if s.skipBlank(); s.take('}') {
		return given, "", s.ended()
	}
	for {
		name, ok := s.plainString()
		if s.skipBlank(); !ok || !s.take(':') {
			return given, "", false
		}
		s.skipBlank()
		f, known := fieldNamed(name)
		isHome := homeKey != "" && name == homeKey
		switch {
		case known && seen[f], isHome && seenHome: // which parseObject tells
			return given, "", false
		case known:
			seen[f] = true
			given[f], ok = s.scalar()
		case isHome:
			home, ok = s.scalar()
		default:
			ok = s.skipValue(0)
		}
		if isHome {
			seenHome = true
		}
		if isHome && known {
			home = given[f]
		}
		if s.skipBlank(); !ok {
			return given, "", false
		}
		if s.take('}') {
			return given, home, s.ended()
		}
		if !s.take(',') {
			return given, "", false
		}
		s.skipBlank()
	}
}

// ended reports whether only blanks follow.
func (s *scanner) ended() bool {
	s.skipBlank()
	return s.at == len(s.text)
}

func (s *scanner) skipBlank() {
	for s.at < len(s.text) {
		switch s.text[s.at] {
		case ' ', '\t', '\n', '\r':
			s.at++
		default:
			return
		}
	}
}

// peek is the next byte; 0, which stands nowhere in JSON, at the end.
func (s *scanner) peek() byte {
	if s.at < len(s.text) {
		return s.text[s.at]
	}
	return 0
}

func (s *scanner) take(b byte) bool {
	if s.peek() != b {
		return false
	}
	s.at++
	return true
}

// word takes a literal.
func (s *scanner) word(w string) bool {
	if !strings.HasPrefix(s.text[s.at:], w) {
		return false
	}
	s.at += len(w)
	return true
}

// scalar reads the value of a field: a string, a number as written, or null, which is empty.
func (s *scanner) scalar() (string, bool) {
	switch b := s.peek(); {
	case b == '"':
		return s.string()
	case b == 'n':
		return "", s.word("null")
	case b == '-', isDigit(b):
		from := s.at
		ok := s.skipNumber()
		return s.text[from:s.at], ok
	}
	return "", false
}

// plainString reads a string without escapes, which is a part of the text.
func (s *scanner) plainString() (string, bool) {
	if !s.take('"') {
		return "", false
	}
	from := s.at
	if s.skipPlain(); !s.take('"') {
		return "", false
	}
	return s.text[from : s.at-1], true
}

// skipPlain passes over what stands for itself in a string.
func (s *scanner) skipPlain() {
	for ; s.at < len(s.text); s.at++ {
		if b := s.text[s.at]; b == '"' || b == '\\' || b < ' ' {
			return
		}
	}
}

// string reads a string.
func (s *scanner) string() (string, bool) {
	if s.peek() != '"' {
		return "", false
	}
	from := s.at + 1
	if plain, ok := s.plainString(); ok || s.peek() != '\\' {
		return plain, ok
	}
	var out strings.Builder
	out.Grow(len(s.text) - from)
	for {
		out.WriteString(s.text[from:s.at])
		switch {
		case s.take('"'):
			return out.String(), true
		case !s.take('\\'):
			return "", false
		}
		r, ok := s.escape()
		if !ok {
			return "", false
		}
		out.WriteRune(r)
		from = s.at
		s.skipPlain()
	}
}

// escape reads what stands behind a backslash, unless it is half of a character.
func (s *scanner) escape() (rune, bool) {
	b := s.peek()
	s.at++
	switch b {
	case '"', '\\', '/':
		return rune(b), true
	case 'n':
		return '\n', true
	case 't':
		return '\t', true
	case 'r':
		return '\r', true
	case 'b':
		return '\b', true
	case 'f':
		return '\f', true
	case 'u':
		return s.codePoint()
	}
	return 0, false
}

// codePoint reads four hexadecimal digits.
func (s *scanner) codePoint() (rune, bool) {
	const digits = 4
	if len(s.text)-s.at < digits {
		return 0, false
	}
	var r rune
	for _, b := range []byte(s.text[s.at : s.at+digits]) {
		switch {
		case isDigit(b):
			r = r<<4 | rune(b-'0')
		case 'a' <= b|0x20 && b|0x20 <= 'f':
			r = r<<4 | rune(b|0x20-'a'+10)
		default:
			return 0, false
		}
	}
	s.at += digits
	return r, utf8.ValidRune(r)
}

func isDigit(b byte) bool { return '0' <= b && b <= '9' }

// skipNumber passes over a number.
func (s *scanner) skipNumber() bool {
	s.take('-')
	if !s.take('0') && !s.digits() {
		return false
	}
	if s.take('.') && !s.digits() {
		return false
	}
	if s.take('e') || s.take('E') {
		if !s.take('+') {
			s.take('-')
		}
		return s.digits()
	}
	return true
}

// digits passes over digits, of which there must be one.
func (s *scanner) digits() bool {
	from := s.at
	for isDigit(s.peek()) {
		s.at++
	}
	return s.at > from
}

// mostDeep is how deep the values of fields that are none of a note's may lie in one another.
const mostDeep = 32

// skipValue passes over any value.
func (s *scanner) skipValue(deep int) bool {
	switch b := s.peek(); {
	case b == '"':
		_, ok := s.string()
		return ok
	case b == '{' && deep < mostDeep:
		return s.skipList('}', func() bool {
			if _, ok := s.string(); !ok {
				return false
			}
			if s.skipBlank(); !s.take(':') {
				return false
			}
			s.skipBlank()
			return s.skipValue(deep + 1)
		})
	case b == '[' && deep < mostDeep:
		return s.skipList(']', func() bool { return s.skipValue(deep + 1) })
	case b == 't':
		return s.word("true")
	case b == 'f':
		return s.word("false")
	case b == 'n':
		return s.word("null")
	}
	return s.skipNumber()
}

// skipList passes over an opening bracket and what stands between it and the closing one.
func (s *scanner) skipList(closing byte, one func() bool) bool {
	s.at++
	if s.skipBlank(); s.take(closing) {
		return true
	}
	for {
		if !one() {
			return false
		}
		if s.skipBlank(); s.take(closing) {
			return true
		}
		if !s.take(',') {
			return false
		}
		s.skipBlank()
	}
}
