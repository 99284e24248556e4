package decode

import (
	"bufio"
	"bytes"
	"fmt"
	"io"
	"slices"
	"strings"
	"unicode/utf8"
)

// A Table reads comma-separated values and their kin (RFC 4180, with any delimiter and line end):
// a header, then records of as many fields. A field in double quotes may hold delimiters, line ends
// and doubled quotes. It is not safe for concurrent use.
type Table struct {
	text   *Text
	delim  byte
	limit  int
	header []string

	buf  []byte // the fields of one record, end to end
	ends []int  // where each field ends in buf
}

// A Record is one record of a table.
type Record struct {
	Line   int // on which it starts, from 1
	Fields []string
}

// NewTable reads the header of t. wanted reports how many of the columns that the caller needs a
// header has; the delimiter (comma, semicolon, tab or bar) that gives most of them is taken, unless
// a first line "sep=;", which some spreadsheets write, states it. Records of more than limit bytes
// are refused. The error is io.EOF where there is no header.
func NewTable(t *Text, limit int, wanted func(header []string) int) (*Table, error) {
	table := &Table{text: t, limit: limit}
	if sample := t.Sample(); len(sample) > 5 && strings.EqualFold(string(sample[:4]), "sep=") &&
		(sample[5] == '\n' || sample[5] == '\r') {
		table.delim = sample[4]
		if _, err := t.Line(limit); err != nil {
			return nil, err
		}
	} else {
		table.delim = sniff(sample, wanted)
	}
	rec, err := table.record()
	if err != nil {
		return nil, err
	}
	table.header = rec.Fields
	for len(table.header) > 0 && strings.TrimSpace(table.header[len(table.header)-1]) == "" {
		table.header = table.header[:len(table.header)-1] // empty columns that a spreadsheet pads with
	}
	return table, nil
}

// sniff tells the delimiter from the first record of the sample.
func sniff(sample []byte, wanted func([]string) int) byte {
	best, most, fields := byte(','), -1, 0
	for _, delim := range []byte(",;\t|") {
		try := &Table{text: &Text{in: bufio.NewReader(bytes.NewReader(sample)), line: 1}, delim: delim, limit: sampleSize}
		rec, err := try.record()
		if err != nil {
			continue
		}
		if n := wanted(rec.Fields); n > most || n == most && len(rec.Fields) > fields {
			best, most, fields = delim, n, len(rec.Fields)
		}
	}
	return best
}

// Header is the names of the columns, as written.
func (t *Table) Header() []string { return t.header }

// Next reads the next record that is not empty; io.EOF after the last. A *Fault is a record that
// cannot be read, after which Next goes on with the one that follows.
func (t *Table) Next() (Record, error) {
	rec, err := t.record()
	if err != nil {
		return Record{}, err
	}
	if extra := rec.Fields[min(len(rec.Fields), len(t.header)):]; !slices.ContainsFunc(extra, isFilled) {
		rec.Fields = rec.Fields[:len(rec.Fields)-len(extra)]
	}
	if len(rec.Fields) != len(t.header) {
		return Record{}, &Fault{Line: rec.Line, Want: fmt.Sprintf(
			"%d fields as in the header, but there are %d", len(t.header), len(rec.Fields))}
	}
	return rec, nil
}

func isFilled(s string) bool { return strings.TrimSpace(s) != "" }

// record reads the next record with anything in it.
func (t *Table) record() (Record, error) {
	for {
		line := t.text.line
		if err := t.scan(line); err != nil {
			return Record{}, err
		}
		fields, err := t.fields(line)
		if err != nil {
			return Record{}, err
		}
		if slices.ContainsFunc(fields, isFilled) {
			return Record{Line: line, Fields: fields}, nil
		}
	}
}

// fields are the fields of the record that was scanned, as UTF-8.
func (t *Table) fields(line int) ([]string, error) {
	if t.text.charset != windows1252 && utf8.Valid(t.buf) && t.apart() {
		whole, err := t.text.Decode(line, t.buf)
		if err != nil {
			return nil, err
		}
		fields := make([]string, len(t.ends))
		start := 0
		for i, end := range t.ends {
			fields[i] = whole[0][start:end] // one string for all
			start = end
		}
		return fields, nil
	}
	parts := make([][]byte, len(t.ends))
	start := 0
	for i, end := range t.ends {
		parts[i] = t.buf[start:end]
		start = end
	}
	return t.text.Decode(line, parts...)
}

// apart reports whether no character lies in two fields, as bytes that are no UTF-8 may seem to.
func (t *Table) apart() bool {
	return !slices.ContainsFunc(t.ends, func(end int) bool { return end < len(t.buf) && !utf8.RuneStart(t.buf[end]) })
}

// scan reads the bytes of one record into buf and ends. What is over the limit is read, so that the
// next record is found, but not held.
func (t *Table) scan(line int) error {
	t.buf, t.ends = t.buf[:0], t.ends[:0]
	size, nul, first, quoted := 0, false, true, false // first: no byte of the field read yet
	keep := func(b byte) {
		if size++; size <= t.limit {
			t.buf = append(t.buf, b)
		}
	}
	endField := func() {
		if size++; size <= t.limit+1 { // a field counts as its delimiter, so empty ones are bounded too
			t.ends = append(t.ends, len(t.buf))
		}
		first = true
	}
	finish := func() error {
		endField()
		switch {
		case size > t.limit+1:
			return tooLong(line, t.limit)
		case nul:
			return binary(line)
		}
		return nil
	}
	for {
		b, err := t.text.readByte()
		switch {
		case err == io.EOF && quoted:
			return &Fault{Line: line, Want: "a closing quote before the end of the file" + leftOut(line, t.text.line)}
		case err == io.EOF && (size > 0 || !first):
			return finish()
		case err != nil:
			return t.text.torn(err, line)
		}
		nul = nul || b == 0
		switch {
		case quoted && b == '"':
			next, err := t.text.in.Peek(1)
			switch {
			case err == nil && next[0] == '"':
				_, _ = t.text.in.Discard(1) // cannot fail: the byte is in the buffer
				keep('"')
			case err != nil || next[0] == t.delim || next[0] == '\n' || next[0] == '\r':
				quoted = false
			default:
				return t.skipLine(line)
			}
		case quoted:
			if b == '\n' || b == '\r' {
				for _, e := range []byte(t.text.lineEnd(b)) {
					keep(e)
				}
				continue
			}
			keep(b)
		case b == '"' && first:
			first, quoted = false, true
		case b == t.delim:
			endField()
		case b == '\n' || b == '\r':
			t.text.lineEnd(b)
			return finish()
		default:
			first = false
			keep(b)
		}
	}
}

// skipLine passes over the rest of the line in which a quoted field goes wrong: where the next
// record starts cannot be told from quotes any more, so it is taken to be the next line.
func (t *Table) skipLine(line int) error {
	last := t.text.line
	if _, err := t.text.Line(0); err != nil {
		if _, ok := err.(*Fault); !ok && err != io.EOF {
			return err
		}
	}
	return &Fault{Line: line, Want: "quotes doubled within a quoted field" + leftOut(line, last)}
}

// leftOut says which lines a broken record costs.
func leftOut(first, last int) string {
	if first == last {
		return fmt.Sprintf(" (line %d is left out)", first)
	}
	return fmt.Sprintf(" (lines %d to %d are left out)", first, last)
}
