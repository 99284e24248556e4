// Package sheet reads one sheet of an XLSX workbook (ISO/IEC 29500, of either conformance class) as a table: a header,
// then records, one row at a time.
//
// It reads the parts itself, because excelize's own reading of rows ends without an error where a part is damaged or is no
// XML, and gives no types of cells; what would be lost then are notes. excelize reads the styles, and shows numbers as
// their formats say.
package sheet

import (
	"archive/zip"
	"bufio"
	"bytes"
	"encoding/xml"
	"errors"
	"fmt"
	"io"
	"path"
	"slices"
	"strconv"
	"strings"

	"example.com/stance/lint/bounded"
	"example.com/stance/lint/internal/decode"
)

// Bounds of a workbook. Each is far more than a home's notes of years have.
const (
	mostFile    = 64 * bounded.MiB  // bytes of the file
	mostParts   = 256 * bounded.MiB // bytes of all that is read of it, unpacked
	mostSmall   = 16 * bounded.MiB  // bytes of a part that is held whole
	mostEntries = 10000             // parts
	mostStrings = 4 << 20           // texts that cells share
	mostColumns = 1024
	mostTitles  = 20 // rows with anything in them in which the header is looked for
)

// Is reports whether a file that starts so is an archive, as a workbook is.
func Is(start []byte) bool { return bytes.HasPrefix(start, []byte("PK\x03\x04")) }

// Options say what is read of a workbook.
type Options struct {
	Sheet  string                    // its name, or its number from 1; empty is the first that is not hidden
	Limit  int                       // bytes of one record; a longer one is a fault
	Wanted func(header []string) int // how many of the columns that the caller needs a header has
}

// A Table is the rows of one sheet. It is not safe for concurrent use.
type Table struct {
	book   *book
	name   string
	rows   *rows
	header []string
	times  map[int]bool
	queue  []entry // read while the header was looked for
}

// An entry is a row, or what came in the place of one.
type entry struct {
	row row
	err error
}

// Open reads a workbook up to the header of its sheet: of the first rows the one with most of the columns wanted, since
// many sheets have titles above. The error is a *decode.Fault, whose line is the row or 0, or io.EOF where the sheet has
// no rows.
func Open(r io.Reader, opt Options) (*Table, error) { return open(r, opt, mostParts) }

// open is Open with at most that many bytes unpacked.
func open(r io.Reader, opt Options, most int64) (*Table, error) {
	b, err := openBook(r, most)
	if err != nil {
		return nil, err
	}
	name, part, err := b.choose(opt.Sheet)
	if err != nil {
		return nil, err
	}
	if err := b.readStyles(); err != nil {
		return nil, err
	}
	if err := b.readStrings(); err != nil {
		return nil, err
	}
	in, err := b.open(part)
	if err != nil {
		return nil, err
	}
	t := &Table{book: b, name: name, rows: newRows(in, opt.Limit), times: map[int]bool{}}
	return t, t.findHeader(opt.Wanted)
}

// Name is that of the sheet.
func (t *Table) Name() string { return t.name }

// Header is the names of the columns, as written.
func (t *Table) Header() []string { return t.header }

// TimesIn says which columns hold times: a number there is a serial date, even where its format does not say so.
func (t *Table) TimesIn(columns ...int) {
	for _, c := range columns {
		t.times[c] = true
	}
}

// Next reads the next row that is not empty, with as many fields as the header has; io.EOF after the last. A
// *decode.Fault is a row that cannot be read, after which Next goes on.
func (t *Table) Next() (decode.Record, error) {
	for {
		e := t.take()
		if e.err != nil {
			return decode.Record{}, e.err
		}
		fields, err := t.fields(e.row, t.header)
		if err != nil {
			return decode.Record{}, err
		}
		if slices.ContainsFunc(fields, isFilled) {
			return decode.Record{Line: e.row.number, Fields: fields}, nil
		}
	}
}

func (t *Table) take() entry {
	if len(t.queue) > 0 {
		e := t.queue[0]
		t.queue = t.queue[1:]
		return e
	}
	r, err := t.rows.next()
	return entry{r, err}
}

func isFilled(s string) bool { return strings.TrimSpace(s) != "" }

// findHeader sets the header and leaves the rows below it to be read.
func (t *Table) findHeader(wanted func([]string) int) error {
	var read []entry
	best, most, titles := -1, -1, 0
	for titles < mostTitles {
		r, err := t.rows.next()
		read = append(read, entry{r, err})
		if err == io.EOF {
			break
		}
		if err != nil {
			continue
		}
		header, err := t.fields(r, make([]string, r.width()))
		if err != nil || !slices.ContainsFunc(header, isFilled) {
			continue
		}
		titles++
		if n := wanted(header); n > most {
			best, most, t.header = len(read)-1, n, header
		}
	}
	if best < 0 {
		if i := slices.IndexFunc(read, func(e entry) bool { return e.err != nil && e.err != io.EOF }); i >= 0 {
			return read[i].err
		}
		return io.EOF
	}
	for len(t.header) > 0 && !isFilled(t.header[len(t.header)-1]) {
		t.header = t.header[:len(t.header)-1]
	}
	t.queue = read[best+1:]
	return nil
}

// fields are the texts of a row's cells below a header; what stands beside it is no part of the table.
func (t *Table) fields(r row, header []string) ([]string, error) {
	out := make([]string, len(header))
	size := 0
	for _, c := range r.cells {
		if c.column >= len(header) {
			break
		}
		text, ok := t.book.text(c, t.times[c.column])
		if !ok {
			return nil, &decode.Fault{Line: r.number, Want: "cells whose texts are in the workbook"}
		}
		if size += len(text); size > t.rows.limit { // texts that cells share are not in the row itself
			return nil, tooLong(r.number, t.rows.limit)
		}
		out[c.column] = text
	}
	return out, nil
}

func tooLong(row, limit int) *decode.Fault {
	return &decode.Fault{Line: row, Want: fmt.Sprintf("a record of at most %d bytes", limit)}
}

// A book is a workbook with what is needed to read its sheets.
type book struct {
	parts    map[string]*zip.File // by their names in small letters
	left     int64                // bytes that may still be unpacked
	sheets   []sheetOf
	related  map[string]relation // of the workbook, by id
	from1904 bool
	strings  []string
	styles   *styles
}

type sheetOf struct {
	Name  string `xml:"name,attr"`
	State string `xml:"state,attr"`
	ID    string `xml:"id,attr"` // of its relation
}

type relation struct {
	ID     string `xml:"Id,attr"`
	Type   string `xml:"Type,attr"`
	Target string `xml:"Target,attr"`
}

func (r relation) is(kind string) bool { return strings.HasSuffix(r.Type, "/"+kind) }

func broken(what string) error { return &decode.Fault{Want: "a workbook that is whole, but " + what} }

func openBook(r io.Reader, most int64) (*book, error) {
	data, err := bounded.All(r, mostFile)
	var long *bounded.TooLongError
	if errors.As(err, &long) {
		return nil, &decode.Fault{Want: fmt.Sprintf("a workbook of at most %d MiB", mostFile/bounded.MiB)}
	}
	if err != nil {
		return nil, err
	}
	archive, err := zip.NewReader(bytes.NewReader(data), int64(len(data)))
	if err != nil {
		return nil, broken("its archive cannot be read")
	}
	if len(archive.File) > mostEntries {
		return nil, &decode.Fault{Want: fmt.Sprintf("a workbook of at most %d parts", mostEntries)}
	}
	b := &book{parts: map[string]*zip.File{}, left: most}
	for _, f := range archive.File {
		b.parts[strings.ToLower(strings.ReplaceAll(f.Name, `\`, "/"))] = f
	}
	if err := b.isWorkbook(); err != nil {
		return nil, err
	}
	main := "xl/workbook.xml"
	if top, err := b.relations("_rels/.rels", ""); err == nil {
		for _, rel := range top {
			if rel.is("officeDocument") {
				main = rel.Target
			}
		}
	}
	var workbook struct {
		Properties struct {
			Date1904 string `xml:"date1904,attr"`
		} `xml:"workbookPr"`
		Sheets []sheetOf `xml:"sheets>sheet"`
	}
	if err := b.whole(main, &workbook); err != nil {
		return nil, err
	}
	b.from1904 = workbook.Properties.Date1904 == "1" || strings.EqualFold(workbook.Properties.Date1904, "true")
	b.sheets = workbook.Sheets
	folder, file := path.Split(main)
	if b.related, err = b.relations(folder+"_rels/"+file+".rels", folder); err != nil {
		return nil, err
	}
	return b, nil
}

// isWorkbook tells what else the archive is where it is no workbook.
func (b *book) isWorkbook() error {
	const want = "an XLSX workbook, but this is "
	if f := b.parts["mimetype"]; f != nil && f.UncompressedSize64 < 200 {
		if kind, err := b.read(f.Name); err == nil && bytes.Contains(kind, []byte("opendocument")) {
			return &decode.Fault{Want: want + "an OpenDocument file: save the sheet as XLSX or CSV"}
		}
	}
	switch {
	case b.parts["xl/workbook.bin"] != nil:
		return &decode.Fault{Want: want + "a binary one (XLSB): save it as XLSX or CSV"}
	case b.parts["word/document.xml"] != nil:
		return &decode.Fault{Want: want + "a text document: save it as plain text"}
	case b.parts["xl/workbook.xml"] == nil && b.parts["_rels/.rels"] == nil:
		return &decode.Fault{Want: want + "another archive"}
	}
	return nil
}

// relations are those of a part, by id. Their targets are made names of parts.
func (b *book) relations(part, folder string) (map[string]relation, error) {
	var list struct {
		All []relation `xml:"Relationship"`
	}
	if err := b.whole(part, &list); err != nil {
		return nil, err
	}
	out := make(map[string]relation, len(list.All))
	for _, r := range list.All {
		if strings.HasPrefix(r.Target, "/") {
			r.Target = strings.TrimPrefix(path.Clean(r.Target), "/")
		} else {
			r.Target = path.Join(folder, r.Target)
		}
		out[r.ID] = r
	}
	return out, nil
}

// choose finds a sheet by its name or its number.
func (b *book) choose(which string) (name, part string, err error) {
	var names []string
	at := -1
	for i, s := range b.sheets {
		names = append(names, strconv.Quote(s.Name))
		hidden := s.State == "hidden" || s.State == "veryHidden"
		if which == "" && at < 0 && !hidden && b.related[s.ID].is("worksheet") || which != "" && strings.EqualFold(s.Name, which) {
			at = i
		}
	}
	if n, err := strconv.Atoi(which); at < 0 && err == nil && 1 <= n && n <= len(b.sheets) {
		at = n - 1
	}
	switch {
	case len(b.sheets) == 0:
		return "", "", broken("it has no sheets")
	case at < 0 && which == "":
		at = 0 // all are hidden
	case at < 0:
		return "", "", &decode.Fault{Want: fmt.Sprintf("a sheet %q; the workbook has %s", which, strings.Join(names, ", "))}
	}
	rel := b.related[b.sheets[at].ID]
	if !rel.is("worksheet") {
		return "", "", &decode.Fault{Want: fmt.Sprintf("rows of cells in sheet '%s', but it is of another kind or is missing", b.sheets[at].Name)}
	}
	return b.sheets[at].Name, rel.Target, nil
}

// related part of a kind; empty where there is none.
func (b *book) partOf(kind string) string {
	for _, rel := range b.related {
		if rel.is(kind) {
			return rel.Target
		}
	}
	return ""
}

// open gives a part, unpacked. It fails once more has been unpacked of the workbook than mostParts.
func (b *book) open(name string) (io.Reader, error) {
	f := b.parts[strings.ToLower(name)]
	if f == nil {
		return nil, broken("a part of it is missing")
	}
	in, err := f.Open()
	if err != nil {
		return nil, broken("a part of it cannot be unpacked")
	}
	return bufio.NewReaderSize(&unpacked{in, &b.left}, 64<<10), nil
}

// errBomb is more than mostParts, unpacked.
var errBomb = errors.New("too much, unpacked")

type unpacked struct {
	in   io.Reader
	left *int64
}

func (u *unpacked) Read(p []byte) (int, error) {
	n, err := u.in.Read(p)
	if *u.left -= int64(n); *u.left < 0 {
		return 0, errBomb
	}
	return n, err
}

// fault is what an error in reading a part is to the user, on a row or on none.
func fault(err error, row int) error {
	want := "XML of a sheet to its end; what follows cannot be read"
	if row == 0 {
		want = "a workbook that is whole, but a part of it is damaged or no XML"
	}
	if errors.Is(err, errBomb) {
		want = fmt.Sprintf("a workbook of at most %d MiB, unpacked", mostParts/bounded.MiB)
	}
	return &decode.Fault{Line: row, Want: want}
}

// read reads a small part.
func (b *book) read(name string) ([]byte, error) {
	in, err := b.open(name)
	if err != nil {
		return nil, err
	}
	data, err := bounded.All(in, mostSmall)
	if err != nil {
		return nil, fault(err, 0)
	}
	return data, nil
}

// whole reads a small part into a structure.
func (b *book) whole(name string, into any) error {
	data, err := b.read(name)
	if err != nil {
		return err
	}
	if err := xml.Unmarshal(data, into); err != nil {
		return fault(err, 0)
	}
	return nil
}
