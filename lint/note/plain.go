package note

import (
	"bytes"
	"fmt"
	"io"
	"strings"

	"example.com/stance/lint/internal/decode"
)

// plain reads notes in plain text: header lines, a blank line, the text; "---" alone on a line
// starts the next note.
type plain struct {
	text *decode.Text
}

func isDivider(line []byte) bool { return string(bytes.TrimSpace(line)) == "---" }

// isPlain reports whether a file that starts with that line is plain text.
func isPlain(first []byte) bool {
	key, _, ok := bytes.Cut(first, []byte(":"))
	return ok && isHeader(string(key)) || isDivider(first)
}

// isHeader reports whether key, in any case, is the name of a header line.
func isHeader(key string) bool {
	f, ok := fieldNamed(headerKey(key))
	return ok && f != textField
}

func headerKey(key string) string { return strings.ToLower(strings.TrimSpace(key)) }

func (p *plain) next() (record, error) {
	for {
		rec, err := p.note()
		if err != nil || !rec.empty {
			return rec, err
		}
	}
}

// note reads up to the next divider. The record of a part with nothing in it is empty.
func (p *plain) note() (record, error) {
	var rec record
	var seen [fieldCount]bool
	var bad *decode.Fault // the first, reported once the note has been passed over
	fail := func(line int, want string) {
		if bad == nil {
			bad = &decode.Fault{Line: line, Want: want}
		}
	}
	var body []byte
	inText, started, size := false, false, 0
	for {
		line, err := p.text.Line(MaxRecord)
		if f, ok := err.(*decode.Fault); ok {
			started = true
			fail(f.Line, f.Want)
			continue
		}
		if err == io.EOF && started {
			break
		}
		if err != nil {
			return record{}, err
		}
		if isDivider(line.Bytes) {
			break
		}
		if !started && line.Blank() {
			continue
		}
		if !started {
			started, rec.line = true, line.Number
		}
		if size += len(line.Bytes) + len(line.End); size > MaxRecord {
			fail(rec.line, fmt.Sprintf("a record of at most %d bytes", MaxRecord))
		}
		switch {
		case bad != nil: // the rest of the note is passed over
		case inText:
			body = append(append(body, line.Bytes...), line.End...)
		case line.Blank():
			inText = true
		default:
			head, err := p.text.Decode(line.Number, line.Bytes)
			if err != nil {
				fail(line.Number, err.(*decode.Fault).Want)
				continue
			}
			key, value, ok := strings.Cut(head[0], ":")
			if !ok || !isHeader(key) {
				fail(line.Number, `"Resident:", "Time:" or another header line, and a blank line before the text`)
				continue
			}
			f, _ := fieldNamed(headerKey(key))
			if seen[f] {
				fail(line.Number, fmt.Sprintf("one header line %q in a note, and --- between notes", strings.TrimSpace(key)+":"))
				continue
			}
			seen[f] = true
			rec.fields[f] = strings.TrimSpace(value)
		}
	}
	if bad != nil {
		return record{}, bad
	}
	if !started {
		rec.empty = true
		return rec, nil
	}
	text, err := p.text.Decode(rec.line, bytes.TrimRight(body, "\r\n \t"))
	if err != nil {
		return record{}, err
	}
	rec.fields[textField] = text[0]
	return rec, nil
}
