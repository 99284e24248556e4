package hl7

import (
	"strings"
	"time"
)

// Ack answers a message (chapter 2.9 of the standard): code is AA, AE or AR, reason is in words. What could not be read
// of the header is left empty, and the delimiters are then the usual ones.
func (m *Message) Ack(code, reason string, at time.Time) []byte {
	marks := m.marks
	if marks.field == 0 || marks.component == 0 || marks.escape == 0 {
		marks = struct{ field, component, repeat, escape, part byte }{'|', '^', '~', '\\', '&'}
	}
	f := string(marks.field)
	var head segment
	if len(m.segments) > 0 {
		head = m.segments[0]
	}
	event := ""
	if _, e, ok := strings.Cut(m.Kind, "^"); ok {
		event = string(marks.component) + e
	}
	version := head.field(12)
	if version == "" {
		version = "2.5"
	}
	delimiters := string([]byte{marks.component, marks.repeat, marks.escape, marks.part})
	var b strings.Builder
	b.WriteString("MSH" + f + delimiters + f + head.field(5) + f + head.field(6) + f + head.field(3) + f + head.field(4) + f +
		at.Format("20060102150405-0700") + f + f + "ACK" + event + f + "A" + strings.Map(plainID, m.ID) + f + mode(head.field(11)) + f + version + "\r")
	b.WriteString("MSA" + f + code + f + strings.Map(plainID, m.ID) + f + marks.escaped(reason) + "\r")
	return []byte(b.String())
}

// mode is the processing id, which an answer repeats; production where there is none.
func mode(given string) string {
	if given == "" {
		return "P"
	}
	return given
}

// plainID keeps delimiters and line ends out of an id that is repeated.
func plainID(r rune) rune {
	if r > ' ' && r < 0x7f && (isAlnum(byte(r)) || strings.ContainsRune("-_.:", r)) {
		return r
	}
	return -1
}

// escaped is text as a field has it.
func (m marks) escaped(text string) string {
	e := string(m.escape)
	return strings.NewReplacer(
		string(m.field), e+"F"+e, string(m.component), e+"S"+e, string(m.part), e+"T"+e, string(m.repeat), e+"R"+e, e, e+"E"+e,
		"\r", " ", "\n", " ").Replace(text)
}
