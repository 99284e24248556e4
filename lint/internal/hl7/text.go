package hl7

import (
	"encoding/hex"
	"strconv"
	"strings"
	"unicode/utf8"

	"golang.org/x/text/encoding"
	"golang.org/x/text/encoding/charmap"
)

// A charset is what MSH-18 declares (HL7 table 0211).
type charset struct {
	name string
	enc  encoding.Encoding // nil: UTF-8
	weak bool              // nothing is declared: UTF-8, of which ASCII is a part
}

func (c charset) String() string {
	if c.weak {
		return "UTF-8, or MSH-18 to declare another character set"
	}
	return c.name + ", as MSH-18 declares"
}

func charsetOf(declared string) (charset, bool) {
	name := strings.ToUpper(strings.TrimSpace(declared))
	switch name {
	case "":
		return charset{weak: true}, true
	case "ASCII":
		return charset{name: name}, true
	case "UNICODE UTF-8", "UNICODE", "UTF-8", "UTF8":
		return charset{name: "UTF-8"}, true
	}
	part, ok := strings.CutPrefix(name, "8859/")
	if n, err := strconv.Atoi(part); ok && err == nil {
		for _, c := range charmap.All {
			if cm, is := c.(*charmap.Charmap); is && cm.String() == "ISO 8859-"+strconv.Itoa(n) {
				return charset{name: "ISO 8859-" + part, enc: c}, true
			}
		}
	}
	return charset{}, false
}

// decode is the bytes as UTF-8; false where they are not in the character set.
func (c charset) decode(b []byte) (string, bool) {
	if c.enc != nil {
		text, err := c.enc.NewDecoder().Bytes(b)
		return string(text), err == nil && !strings.ContainsRune(string(text), utf8.RuneError)
	}
	if c.name == "ASCII" {
		for _, x := range b {
			if x >= utf8.RuneSelf {
				return "", false
			}
		}
	}
	return string(b), utf8.Valid(b)
}

// unescape puts the characters and line ends that escape sequences stand for in their place (chapter 2.7 of the
// standard). What is no sequence that is known stays as it is written: people write "w\c" too. False is a sequence whose
// bytes are not in the character set.
func (m *Message) unescape(s string) (string, bool) {
	if strings.IndexByte(s, m.marks.escape) < 0 {
		return s, true
	}
	var b strings.Builder
	sound := true
	for {
		before, rest, found := strings.Cut(s, string(m.marks.escape))
		b.WriteString(before)
		if !found {
			return b.String(), sound
		}
		code, after, closed := strings.Cut(rest, string(m.marks.escape))
		if closed {
			if text, ok, known := m.sequence(code); known {
				b.WriteString(text)
				sound = sound && ok
				s = after
				continue
			}
		}
		b.WriteByte(m.marks.escape)
		s = rest
	}
}

// sequence is what one escape sequence stands for.
func (m *Message) sequence(code string) (text string, ok, known bool) {
	switch code {
	case "F":
		return string(m.marks.field), true, true
	case "S":
		return string(m.marks.component), true, true
	case "T":
		return string(m.marks.part), true, true
	case "R":
		return string(m.marks.repeat), true, true
	case "E":
		return string(m.marks.escape), true, true
	case "P":
		return "#", true, true
	case "H", "N", ".fi", ".nf", ".ce": // shown otherwise; .ce also ends the line before
		if code == ".ce" {
			return "\n", true, true
		}
		return "", true, true
	case ".br":
		return "\n", true, true
	}
	if figures, isHex := strings.CutPrefix(code, "X"); isHex && figures != "" {
		raw, err := hex.DecodeString(figures)
		if err != nil {
			return "", true, false
		}
		text, ok = m.charset.decode(raw)
		return text, ok, true
	}
	return spaced(code)
}

// spaced is a formatting command with a number: .sp and .sk, lines and blanks, and .in and .ti, which only indent.
func spaced(code string) (text string, ok, known bool) {
	if len(code) < 3 || code[0] != '.' {
		return "", true, false
	}
	n := 1
	if figure := strings.TrimSpace(code[3:]); figure != "" {
		var err error
		if n, err = strconv.Atoi(figure); err != nil || n > 99 {
			return "", true, false
		}
	}
	switch code[:3] {
	case ".sp":
		return strings.Repeat("\n", max(n, 0)), true, true
	case ".sk":
		return strings.Repeat(" ", max(n, 0)), true, true
	case ".in", ".ti":
		return "", true, true
	}
	return "", true, false
}
