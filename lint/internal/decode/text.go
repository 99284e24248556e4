// Package decode turns the bytes of a file that a spreadsheet, an export or an editor saved into
// UTF-8 lines ([Text]) and table records ([Table]), one at a time and in bounded memory.
//
// It knows UTF-8 with or without a byte order mark, UTF-16 of either order with or without one, and
// Windows-1252 for text that is no UTF-8; line ends \n, \r\n and \r.
package decode

import (
	"bufio"
	"bytes"
	stdbinary "encoding/binary"
	"errors"
	"fmt"
	"io"
	"unicode/utf8"

	"golang.org/x/text/encoding"
	"golang.org/x/text/encoding/charmap"
	"golang.org/x/text/encoding/unicode"
	"golang.org/x/text/transform"
)

// sampleSize is how much of a file is looked at to tell its encoding and form, in bytes.
const sampleSize = 64 << 10

// A Fault is a part of the input that could not be read. Reading can go on after it.
type Fault struct {
	Line int    // on which the line or record starts, from 1
	Want string // what was expected; never the text itself
}

func (f *Fault) Error() string { return fmt.Sprintf("line %d: want %s", f.Line, f.Want) }

// A Text reads one input. It is not safe for concurrent use.
type Text struct {
	in      *bufio.Reader
	line    int // of the next byte
	charset charset
	buf     []byte
	err     error // final, once met
}

// charset is what is known so far of the encoding of 8-bit text. Plain ASCII leaves it open, so that
// a long file need not be read through before its first record.
type charset int

const (
	open charset = iota
	utf8Text
	windows1252
)

// errTorn is the end of UTF-16 text after half a unit.
var errTorn = errors.New("UTF-16 ends within a character")

// Open looks at the start of r and tells its encoding. The error is a *Fault where r holds no text.
func Open(r io.Reader) (*Text, error) {
	t := &Text{in: bufio.NewReaderSize(r, sampleSize), line: 1}
	sample, err := t.in.Peek(sampleSize)
	if err != nil && err != io.EOF {
		return nil, err
	}
	if bom := []byte("\xEF\xBB\xBF"); bytes.HasPrefix(sample, bom) {
		t.charset = utf8Text
		if _, err := t.in.Discard(len(bom)); err != nil {
			return nil, err
		}
		return t, nil
	}
	if enc := utf16(sample); enc != nil {
		t.charset = utf8Text
		t.in = bufio.NewReaderSize(transform.NewReader(&whole{in: t.in}, enc.NewDecoder()), sampleSize)
		return t, nil
	}
	if bytes.HasPrefix(sample, []byte("PK\x03\x04")) {
		return nil, &Fault{Line: 1, Want: "text, but this is a workbook or an archive: save the sheet as CSV"}
	}
	if bytes.HasPrefix(sample, []byte("\xD0\xCF\x11\xE0\xA1\xB1\x1A\xE1")) { // a compound file
		return nil, &Fault{Line: 1, Want: "text, but this is a workbook of the old form (XLS), or one with a password: save it as XLSX without one, or the sheet as CSV"}
	}
	if bytes.IndexByte(sample, 0) >= 0 {
		return nil, &Fault{Line: 1, Want: "text, but this is a binary file (it has NUL bytes)"}
	}
	return t, nil
}

// utf16 is the UTF-16 form that the sample is in; nil where it is in none. Without a byte order mark
// it is told by the zero bytes: in text of a Latin script nearly every second byte is one.
func utf16(sample []byte) encoding.Encoding {
	switch {
	case bytes.HasPrefix(sample, []byte{0xFF, 0xFE}):
		return unicode.UTF16(unicode.LittleEndian, unicode.ExpectBOM)
	case bytes.HasPrefix(sample, []byte{0xFE, 0xFF}):
		return unicode.UTF16(unicode.BigEndian, unicode.ExpectBOM)
	}
	var zeros [2]int // at even and at odd offsets
	for i, b := range sample {
		if b == 0 {
			zeros[i%2]++
		}
	}
	units := len(sample) / 2
	switch many, few := units*3/4, units/20; {
	case units < 2:
		return nil
	case zeros[1] > many && zeros[0] <= few:
		return unicode.UTF16(unicode.LittleEndian, unicode.IgnoreBOM)
	case zeros[0] > many && zeros[1] <= few:
		return unicode.UTF16(unicode.BigEndian, unicode.IgnoreBOM)
	}
	return nil
}

// whole passes bytes on and, at the end, errTorn where their number was odd.
type whole struct {
	in  io.Reader
	odd bool
}

func (w *whole) Read(p []byte) (int, error) {
	n, err := w.in.Read(p)
	w.odd = w.odd != (n%2 == 1)
	if err == io.EOF && w.odd {
		err = errTorn
	}
	return n, err
}

// Sample is the start of the text that is still to be read, in UTF-8 or, where that is not known
// yet, as it is. It is good until the next call of another method.
func (t *Text) Sample() []byte {
	sample, _ := t.in.Peek(sampleSize) // an error comes again when the bytes are read
	return sample
}

// A Line is one line of the text.
type Line struct {
	Number int    // from 1
	Bytes  []byte // without the line end, as in the file but for UTF-16; good until the next call
	End    string // "\n" or "\r\n"; "\n" for \r; empty at the end of the file
}

// Line reads the next line; io.EOF after the last. A line of more than limit bytes is passed over,
// not held, and is a *Fault, as is one with a NUL byte.
func (t *Text) Line(limit int) (Line, error) {
	l := Line{Number: t.line}
	t.buf = t.buf[:0]
	size, nul := 0, false
	for l.End == "" {
		part, err := t.upToEnd()
		if size += len(part); size <= limit {
			t.buf = append(t.buf, part...)
		}
		nul = nul || bytes.IndexByte(part, 0) >= 0
		if _, lost := t.in.Discard(len(part)); lost != nil { // cannot be: they are in the buffer
			return Line{}, lost
		}
		if err == io.EOF && size > 0 {
			break
		}
		if err != nil {
			return Line{}, t.torn(err, l.Number)
		}
		if b, err := t.in.Peek(1); err == nil && (b[0] == '\n' || b[0] == '\r') {
			end, _ := t.readByte()
			l.End = t.lineEnd(end)
		}
	}
	switch {
	case size > limit:
		return Line{}, tooLong(l.Number, limit)
	case nul:
		return Line{}, binary(l.Number)
	}
	l.Bytes = t.buf
	return l, nil
}

// upToEnd is as much of the line as is in the buffer, which it fills where it is empty. It stays there.
func (t *Text) upToEnd() ([]byte, error) {
	if t.err == nil {
		_, t.err = t.in.Peek(1)
	}
	if t.err != nil {
		return nil, t.err
	}
	part, _ := t.in.Peek(t.in.Buffered()) // cannot fail
	if end := bytes.IndexByte(part, '\n'); end >= 0 {
		part = part[:end]
	}
	if end := bytes.IndexByte(part, '\r'); end >= 0 {
		part = part[:end]
	}
	return part, nil
}

func tooLong(line, limit int) *Fault {
	return &Fault{Line: line, Want: fmt.Sprintf("a record of at most %d bytes", limit)}
}

func binary(line int) *Fault {
	return &Fault{Line: line, Want: "text, but there is a NUL byte"}
}

// torn makes a Fault of the one error of the input that is about its content.
func (t *Text) torn(err error, line int) error {
	if errors.Is(err, errTorn) {
		t.err = io.EOF
		return &Fault{Line: line, Want: "UTF-16 in units of two bytes, but the file ends within one"}
	}
	return err
}

func (t *Text) readByte() (byte, error) {
	if t.err != nil {
		return 0, t.err
	}
	b, err := t.in.ReadByte()
	t.err = err
	return b, err
}

// lineEnd counts the line that b, a \n or \r, ends and reads the \n of a \r\n.
func (t *Text) lineEnd(b byte) string {
	t.line++
	if b == '\r' {
		if next, err := t.in.Peek(1); err == nil && next[0] == '\n' {
			_, _ = t.in.Discard(1) // cannot fail: the byte is in the buffer
			return "\r\n"
		}
	}
	return "\n"
}

// Decode gives the parts of one record, which starts on that line, as UTF-8. The first record that
// is more than ASCII settles whether the text is UTF-8 or Windows-1252; a record that does not fit
// UTF-8 after that is a *Fault.
func (t *Text) Decode(line int, parts ...[]byte) ([]string, error) {
	ascii, valid := true, true
	for _, p := range parts {
		ascii = ascii && isASCII(p)
		valid = valid && utf8.Valid(p)
	}
	if t.charset == open && !ascii {
		t.charset = windows1252
		if valid {
			t.charset = utf8Text
		}
	}
	texts := make([]string, len(parts))
	for i, p := range parts {
		switch {
		case t.charset == windows1252:
			p, err := charmap.Windows1252.NewDecoder().Bytes(p)
			if err != nil || bytes.ContainsRune(p, utf8.RuneError) {
				return nil, &Fault{Line: line, Want: "text in UTF-8, UTF-16 or Windows-1252"}
			}
			texts[i] = string(p)
		case !valid:
			return nil, &Fault{Line: line, Want: "UTF-8, as the text before this line is"}
		default:
			texts[i] = string(p)
		}
	}
	return texts, nil
}

func isASCII(p []byte) bool {
	const high = 0x8080808080808080 // the bit that no byte of ASCII has, of eight at once
	for ; len(p) >= 8; p = p[8:] {
		if stdbinary.LittleEndian.Uint64(p)&high != 0 {
			return false
		}
	}
	for _, b := range p {
		if b >= utf8.RuneSelf {
			return false
		}
	}
	return true
}

// Blank reports whether the line has nothing but white space.
func (l Line) Blank() bool { return len(bytes.TrimSpace(l.Bytes)) == 0 }
