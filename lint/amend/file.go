package amend

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"path/filepath"
	"reflect"
	"slices"
	"strings"
	"unicode/utf8"

	"golang.org/x/text/encoding"
	"golang.org/x/text/encoding/charmap"
	"golang.org/x/text/encoding/unicode"

	"example.com/stance/lint/internal/sheet"
	"example.com/stance/lint/note"
)

// File is the content of a file of notes with the texts changed and every other byte as it was, in
// the same form and encoding. name and opt are those with which the notes were read; texts are in the
// order of their lines. The outcome is read again and held against the original: where anything but
// those texts would differ, the error is a *PlaceError and there is no outcome.
func File(name string, content []byte, texts []Text, opt note.Options) ([]byte, error) {
	if sheet.Is(content) {
		if len(texts) > 0 {
			return nil, &PlaceError{File: name}
		}
		return content, nil
	}
	enc := encodingOf(content)
	text, err := enc.NewDecoder().Bytes(content)
	if err != nil {
		return nil, fmt.Errorf("%s: decoding notes: %w", name, err)
	}
	var out []byte
	copied, at, line := 0, 0, 1 // bytes copied, and where the line starts
	for _, t := range texts {
		for ; line < t.Line && at < len(text); line++ {
			at += lineLength(text[at:])
		}
		p, ok := place(name, text[at:], t)
		if !ok || at+p.from < copied {
			return nil, &PlaceError{name, t.Line, t.Note}
		}
		out = append(append(out, text[copied:at+p.from]...), p.put...)
		copied = at + p.to
	}
	out = append(out, text[copied:]...)
	if out, err = enc.NewEncoder().Bytes(out); err != nil {
		return nil, fmt.Errorf("%s: encoding the proposed words: %w", name, err)
	}
	if err := compare(name, content, out, texts, opt); err != nil {
		return nil, err
	}
	return out, nil
}

// encodingOf tells the encoding as reading notes does, but for UTF-16 without a byte order mark, in
// which no text will be found.
func encodingOf(content []byte) encoding.Encoding {
	switch {
	case bytes.HasPrefix(content, []byte{0xFF, 0xFE}):
		return unicode.UTF16(unicode.LittleEndian, unicode.UseBOM)
	case bytes.HasPrefix(content, []byte{0xFE, 0xFF}):
		return unicode.UTF16(unicode.BigEndian, unicode.UseBOM)
	case utf8.Valid(content):
		return encoding.Nop
	}
	return charmap.Windows1252
}

// lineLength is the length of the first line with its end: \n, \r\n or \r.
func lineLength(text []byte) int {
	i := bytes.IndexAny(text, "\r\n")
	switch {
	case i < 0:
		return len(text)
	case text[i] == '\r' && i+1 < len(text) && text[i+1] == '\n':
		return i + 2
	}
	return i + 1
}

// A patch is bytes to put in place of others.
type patch struct {
	from, to int
	put      []byte
}

// place finds the text of a note in its record, which rest starts with.
func place(name string, rest []byte, t Text) (patch, bool) {
	first := bytes.TrimPrefix(rest[:lineLength(rest)], []byte("\uFEFF"))
	ext := strings.ToLower(filepath.Ext(name))
	switch {
	case ext == ".csv" || ext == ".tsv":
		return inTable(rest, t)
	case bytes.HasPrefix(bytes.TrimSpace(first), []byte("{")):
		return inObject(rest[:lineLength(rest)], t)
	case startsPlain(first):
		return inPlain(rest, t)
	}
	return inTable(rest, t)
}

// inObject finds the value of "text" in a line that is a JSON object.
func inObject(line []byte, t Text) (patch, bool) {
	skip := len(line) - len(bytes.TrimPrefix(line, []byte("\uFEFF")))
	dec := json.NewDecoder(bytes.NewReader(line[skip:]))
	if _, err := dec.Token(); err != nil {
		return patch{}, false
	}
	var p patch
	found := false
	for dec.More() {
		key, err := dec.Token()
		if err != nil {
			return patch{}, false
		}
		var value json.RawMessage
		if err := dec.Decode(&value); err != nil {
			return patch{}, false
		}
		if key == "text" { // of two, the last counts
			to := skip + int(dec.InputOffset())
			p, found = patch{from: to - len(value), to: to}, true
		}
	}
	var buf bytes.Buffer
	enc := json.NewEncoder(&buf)
	enc.SetEscapeHTML(false)
	if err := enc.Encode(t.Proposed); err != nil {
		return patch{}, false
	}
	p.put = bytes.TrimRight(buf.Bytes(), "\n")
	return p, found
}

// startsPlain reports whether a line is a header line of plain text.
func startsPlain(line []byte) bool {
	key, _, ok := bytes.Cut(line, []byte(":"))
	return ok && slices.Contains([]string{"resident", "time", "note", "unit", "shift", "role", "author"},
		strings.ToLower(string(bytes.TrimSpace(key))))
}

// inPlain finds the text after the blank line that ends the header lines.
func inPlain(rest []byte, t Text) (patch, bool) {
	at := 0
	for at < len(rest) {
		n := lineLength(rest[at:])
		blank := len(bytes.TrimSpace(rest[at:at+n])) == 0
		if at += n; blank {
			break
		}
	}
	i := bytes.Index(rest[at:], []byte(t.Original))
	if i < 0 {
		return patch{}, false
	}
	return patch{at + i, at + i + len(t.Original), []byte(t.Proposed)}, true
}

// inTable finds the field that is the text, quoted or bare. A field is told by what stands around
// it; that it is in the right column shows when the outcome is read.
func inTable(rest []byte, t Text) (patch, bool) {
	quoted, put := quote(t.Original), quote(t.Proposed)
	best, found := patch{}, false
	for _, field := range []string{quoted, t.Original} {
		for from := 0; ; {
			i := bytes.Index(rest[from:], []byte(field))
			if i < 0 {
				break
			}
			start := from + i
			end := start + len(field)
			if bounds(rest, start, end) {
				if !found || start < best.from {
					best, found = patch{start, end, []byte(put)}, true
				}
				break
			}
			from = start + 1
		}
	}
	return best, found
}

func quote(s string) string { return `"` + strings.ReplaceAll(s, `"`, `""`) + `"` }

// bounds reports whether a field can start and end there: at a delimiter or a line end.
func bounds(text []byte, start, end int) bool {
	const delimiters = ",;\t|\r\n"
	before := start == 0 || strings.IndexByte(delimiters, text[start-1]) >= 0
	after := end == len(text) || strings.IndexByte(delimiters, text[end]) >= 0
	return before && after
}

// compare reads both contents and returns an error unless they have the same records but for the texts.
func compare(name string, before, after []byte, texts []Text, opt note.Options) error {
	a, err := note.NewReader(name, bytes.NewReader(before), opt)
	if err != nil {
		return err
	}
	b, err := note.NewReader(name, bytes.NewReader(after), opt)
	if err != nil {
		return err
	}
	left := texts
	for {
		want, errA := a.Next()
		got, errB := b.Next()
		if errA == io.EOF && errB == io.EOF {
			if len(left) > 0 {
				return &PlaceError{name, left[0].Line, left[0].Note}
			}
			return nil
		}
		fault := &PlaceError{name, want.Source.Line, want.ID}
		var bad *note.BadRecord
		switch {
		case errors.As(errA, &bad):
			if errB == nil || errB.Error() != errA.Error() {
				return &PlaceError{name, bad.Line, ""}
			}
			continue
		case errA != nil && errA != io.EOF:
			return errA
		case errA != nil || errB != nil:
			return fault
		}
		if len(left) > 0 && left[0].Line == want.Source.Line {
			if left[0].Note != want.ID || left[0].Original != want.Text {
				return fault
			}
			if strings.HasPrefix(want.ID, "c-") {
				got.ID = want.ID // an id made from the content changes with it
			}
			want.Text, left = left[0].Proposed, left[1:]
		}
		if !got.Time.Equal(want.Time) {
			return fault
		}
		if got.Time = want.Time; !reflect.DeepEqual(got, want) { // zones that are equal have places of their own
			return fault
		}
	}
}
