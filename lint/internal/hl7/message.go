// Package hl7 reads what stance uses of HL7 v2 (2.3 to 2.8) in its ER7 encoding, the one with bars: the notes in
// documents (MDM^T02, T06, T10 and T11) and in observations (ORU^R01). A [Reader] gives the messages of a file, with or
// without batch headers; [Parse] takes a single one; [Message.Notes] is what was written in it.
package hl7

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"strconv"
	"strings"

	"example.com/stance/lint/internal/decode"
)

// MaxMessage is the most bytes that one message may have.
const MaxMessage = 4 << 20

// A Message is one message.
type Message struct {
	Line int    // of the file, on which it starts
	ID   string // MSH-10, the control id
	Kind string // MSH-9, as "MDM^T02"

	marks    marks
	charset  charset
	segments []segment
}

// marks are the characters that divide a message.
type marks struct{ field, component, repeat, escape, part byte }

type segment struct {
	name   string
	line   int
	fields []string // from field 1
}

// field is field n, from 1, as it stands; empty where there is none.
func (s *segment) field(n int) string {
	if n > len(s.fields) {
		return ""
	}
	return s.fields[n-1]
}

// Is reports whether a text that starts with the sample is HL7 v2: its first segment is a header.
func Is(sample []byte) bool {
	sample = bytes.TrimLeft(sample, "\x0b\r\n ")
	for _, name := range []string{"MSH", "FHS", "BHS"} {
		if bytes.HasPrefix(sample, []byte(name)) && len(sample) > 3 && isMark(sample[3]) {
			return true
		}
	}
	return false
}

// isMark reports whether a byte may divide: printable, and no letter, digit or blank.
func isMark(b byte) bool {
	return b > ' ' && b < 0x7f && !isAlnum(b)
}

func isAlnum(b byte) bool {
	return b >= '0' && b <= '9' || b >= 'A' && b <= 'Z' || b >= 'a' && b <= 'z'
}

// A Reader gives the messages of one file. It is not safe for concurrent use.
type Reader struct {
	text  *decode.Text
	next  *line // read ahead: the header of the next message
	batch int   // messages since the batch began
	ended bool
}

// A line is one segment as it stands.
type line struct {
	number int
	bytes  []byte
	fault  *decode.Fault // why it could not be read
}

// NewReader reads the rest of a text.
func NewReader(text *decode.Text) *Reader { return &Reader{text: text} }

// Next reads the next message; io.EOF after the last. A *decode.Fault is one that cannot be read, after which Next may be
// called again.
func (r *Reader) Next() (*Message, error) {
	for {
		head, err := r.take()
		if err != nil {
			return nil, err
		}
		switch name := nameOf(head.bytes); {
		case head.fault != nil:
			return nil, r.skip(&decode.Fault{Line: head.number, Want: head.fault.Want + ", in a segment"})
		case name == "MSH":
			r.batch++
			return r.message(head)
		case name == "BTS":
			if err := r.count(head); err != nil {
				return nil, err
			}
		case name == "FHS", name == "BHS":
			r.batch = 0
		case name == "FTS":
		default:
			return nil, r.skip(&decode.Fault{Line: head.number, Want: "a message that starts with MSH"})
		}
	}
}

// count holds the number of messages against what the end of a batch says, since the end of a file may be lost.
func (r *Reader) count(trailer line) error {
	fields := strings.Split(string(trailer.bytes), string(trailer.bytes[min(3, len(trailer.bytes)-1)]))
	got := r.batch
	r.batch = 0
	if len(fields) < 2 || fields[1] == "" {
		return nil
	}
	if want, err := strconv.Atoi(fields[1]); err == nil && want != got {
		return &decode.Fault{Line: trailer.number, Want: fmt.Sprintf("%d messages in the batch, as BTS-1 says, but there are %d", want, got)}
	}
	return nil
}

// take is the next segment that is not empty.
func (r *Reader) take() (line, error) {
	if l := r.next; l != nil {
		r.next = nil
		return *l, nil
	}
	for {
		if r.ended {
			return line{}, io.EOF
		}
		l, err := r.text.Line(MaxMessage)
		var f *decode.Fault
		switch {
		case errors.As(err, &f):
			return line{number: f.Line, fault: f}, nil
		case err != nil:
			r.ended = true
			return line{}, err
		}
		// Files that were taken down from a connection have its frames around messages.
		b := bytes.Trim(l.Bytes, "\x0b\x1c")
		if len(bytes.TrimSpace(b)) > 0 {
			return line{number: l.Number, bytes: bytes.Clone(b)}, nil
		}
	}
}

// skip reads on to the next header and gives the fault back.
func (r *Reader) skip(f *decode.Fault) error {
	for {
		l, err := r.take()
		if err != nil {
			return f // the end, or an error that comes again
		}
		if isHeader(nameOf(l.bytes)) {
			r.next = &l
			return f
		}
	}
}

func isHeader(name string) bool {
	return name == "MSH" || name == "FHS" || name == "BHS" || name == "BTS" || name == "FTS"
}

func nameOf(b []byte) string {
	if len(b) < 3 {
		return ""
	}
	return string(b[:3])
}

// message reads the segments that belong to the header.
func (r *Reader) message(head line) (*Message, error) {
	lines := []line{head}
	size := len(head.bytes)
	for {
		l, err := r.take()
		if err == io.EOF {
			break
		}
		if err != nil {
			return nil, err
		}
		if isHeader(nameOf(l.bytes)) {
			r.next = &l
			break
		}
		if l.fault != nil {
			return nil, r.skip(&decode.Fault{Line: l.number, Want: l.fault.Want + ", in a segment"})
		}
		if size += len(l.bytes); size > MaxMessage {
			return nil, r.skip(&decode.Fault{Line: head.number, Want: fmt.Sprintf("a message of at most %d MiB", MaxMessage>>20)})
		}
		lines = append(lines, l)
	}
	return parse(lines)
}

// Parse reads one message, whose segments end in \r, \n or both. The fault's line counts its segments. Of a message that
// cannot be read, what could be read of its header is given too, so that it can be answered.
func Parse(data []byte) (*Message, error) {
	var lines []line
	number := 0
	for raw := range bytes.SplitSeq(bytes.ReplaceAll(data, []byte("\r\n"), []byte("\r")), []byte("\r")) {
		for b := range bytes.SplitSeq(raw, []byte("\n")) {
			number++
			if len(bytes.TrimSpace(b)) > 0 {
				lines = append(lines, line{number: number, bytes: b})
			}
		}
	}
	if len(lines) == 0 || nameOf(lines[0].bytes) != "MSH" {
		return &Message{Line: 1}, &decode.Fault{Line: 1, Want: "a message that starts with MSH"}
	}
	return parse(lines)
}

// parse takes the segments of one message apart.
func parse(lines []line) (*Message, error) {
	m := &Message{Line: lines[0].number}
	fault := func(l line, want string) (*Message, error) {
		if m.ID != "" {
			want += fmt.Sprintf(" (message %s)", printable(m.ID))
		}
		return m, &decode.Fault{Line: l.number, Want: want}
	}
	var ok bool
	if m.marks, ok = marksOf(lines[0].bytes); !ok {
		return fault(lines[0], `MSH with a field separator and four other delimiters, as in "MSH|^~\&|"`)
	}
	head := m.split(lines[0], string(lines[0].bytes))
	m.ID = m.component(head.field(10), 1)
	m.Kind = m.component(head.field(9), 1)
	if event := m.component(head.field(9), 2); event != "" {
		m.Kind += "^" + event
	}
	if m.charset, ok = charsetOf(m.repeats(head.field(18))[0]); !ok {
		return fault(lines[0], "a character set that is read in MSH-18: ASCII, 8859/1 to 8859/15 or UNICODE UTF-8")
	}
	for _, l := range lines {
		text, ok := m.charset.decode(l.bytes)
		if !ok {
			return fault(l, fmt.Sprintf("segment %s in %s", printable(nameOf(l.bytes)), m.charset))
		}
		if !isSegment(l.bytes, m.marks.field) {
			return fault(l, "a segment: three capital letters or digits and the field separator")
		}
		m.segments = append(m.segments, m.split(l, text))
	}
	if m.Kind == "" {
		return fault(lines[0], "the type of the message in MSH-9")
	}
	return m, nil
}

func isSegment(b []byte, field byte) bool {
	if len(b) < 3 || len(b) > 3 && b[3] != field || b[0] < 'A' || b[0] > 'Z' {
		return false
	}
	for _, c := range b[1:3] {
		if !isAlnum(c) || c >= 'a' {
			return false
		}
	}
	return true
}

// printable keeps ids that a sender made up from breaking a line of a log.
func printable(s string) string {
	const most = 40
	clean := strings.Map(func(r rune) rune {
		if r < ' ' || r > '~' {
			return '?'
		}
		return r
	}, s)
	return clean[:min(len(clean), most)]
}

// marksOf reads the delimiters that a header states.
func marksOf(head []byte) (marks, bool) {
	if len(head) < 8 || !isMark(head[3]) {
		return marks{}, false
	}
	m := marks{field: head[3]}
	stated, _, _ := bytes.Cut(head[4:], []byte{m.field})
	if len(stated) < 4 || len(stated) > 5 { // a fifth marks what was cut off
		return marks{}, false
	}
	m.component, m.repeat, m.escape, m.part = stated[0], stated[1], stated[2], stated[3]
	seen := map[byte]bool{m.field: true}
	for _, b := range stated {
		if !isMark(b) || seen[b] {
			return marks{}, false
		}
		seen[b] = true
	}
	return m, true
}

// split takes a segment apart. MSH-1 is the separator itself, so that its other fields keep their numbers.
func (m *Message) split(l line, text string) segment {
	parts := strings.Split(text, string(m.marks.field))
	s := segment{name: parts[0], line: l.number, fields: parts[1:]}
	if s.name == "MSH" {
		s.fields = append([]string{string(m.marks.field)}, s.fields...)
	}
	return s
}

// repeats are the repetitions of a field; one empty one of an empty field.
func (m *Message) repeats(field string) []string { return strings.Split(field, string(m.marks.repeat)) }

// component is component n, from 1, of a repetition, its subcomponents joined by blanks, in plain words.
func (m *Message) component(repeat string, n int) string {
	parts := strings.Split(repeat, string(m.marks.component))
	if n > len(parts) {
		return ""
	}
	text, _ := m.unescape(strings.ReplaceAll(parts[n-1], string(m.marks.part), " "))
	return strings.TrimSpace(text)
}

func (m *Message) find(name string) *segment {
	for i := range m.segments {
		if m.segments[i].name == name {
			return &m.segments[i]
		}
	}
	return nil
}
