package note

import (
	"bufio"
	"bytes"
	"crypto/sha256"
	"encoding/binary"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"maps"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"example.com/stance/lexicon"
	"example.com/stance/lint/internal/decode"
	"example.com/stance/lint/internal/fhir"
	"example.com/stance/lint/internal/hl7"
	"example.com/stance/lint/internal/sheet"
	"example.com/stance/lint/internal/when"
	"example.com/stance/lint/nearest"
)

// MaxRecord is the most bytes that one note with all its fields may have in a file. A longer record
// is passed over without being held in memory.
const MaxRecord = 4 << 20

// MaxText is the most bytes that the text of one note may have. The longest handover notes have some
// 5,000; a text beyond this is a whole file in one field, and would be read, and judged, for minutes.
const MaxText = 64 << 10

// Options say how notes are to be read. The zero value is good.
type Options struct {
	Zone    *time.Location          // of times written without an offset; nil is the machine's
	Columns map[string]string       // field → name of its column, in CSV, where the header has another name than the field
	Roles   map[string]lexicon.Role // the home's own job titles
	Sheet   string                  // of a workbook: its name, or its number from 1; empty is the first
	Survey  *Survey                 // where not nil, what is seen on the way is put down there

	// Home is the field, or column, that names each note's home in files of several; such a file is JSON Lines, a
	// table or a workbook, and must have it. Empty: the file is of one home.
	Home string
}

// A BadRecord is a record that could not be read; the reader can go on after it.
type BadRecord struct {
	File  string
	Sheet string // of a workbook, else empty
	Line  int    // 1-based, on which the record starts, or the row of the sheet; 0 where it is the file that is no good
	Want  string // what was expected; never what stands there
}

// Error is "file:line: want …", or "file, sheet 'Notes', row 7: want …".
func (b *BadRecord) Error() string {
	return fmt.Sprintf("%s: want %s", Source{File: b.File, Sheet: b.Sheet, Line: b.Line}, b.Want)
}

// A Reader reads the notes of one file. It holds one record at a time and is not safe for concurrent use.
type Reader struct {
	name    string
	sheet   string // of a workbook
	zone    *time.Location
	roles   roles
	titles  map[string]lexicon.Role // those met so far
	survey  *Survey                 // or nil
	records source
	home    string // Options.Home
}

// A source gives the records of a file one by one; io.EOF after the last. A *decode.Fault is a bad
// record, after which next may be called again.
type source interface {
	next() (record, error)
}

// A record is one note as its file has it.
type record struct {
	line    int
	fields  fields
	empty   bool     // nothing stands there
	ref     string   // where the file's form has names for its records
	numbers []string // see Note.Numbers
	home    string   // where that is asked for
}

// A field is a field of a note.
type field int

const (
	residentField field = iota
	timeField
	textField
	idField
	unitField
	shiftField
	roleField
	authorField
	fieldCount
)

// fields are the values of a note's fields; one that is not given is empty.
type fields [fieldCount]string

// fieldNames are the names of a note's fields in files. The first three are required.
func fieldNames() []string {
	return []string{"resident", "time", "text", "note", "unit", "shift", "role", "author"}
}

func (f field) String() string { return fieldNames()[f] }

// required are the fields that a note must have.
const required = textField + 1

// fieldNamed is the field of a name.
func fieldNamed(name string) (field, bool) {
	switch name {
	case "resident":
		return residentField, true
	case "time":
		return timeField, true
	case "text":
		return textField, true
	case "note":
		return idField, true
	case "unit":
		return unitField, true
	case "shift":
		return shiftField, true
	case "role":
		return roleField, true
	case "author":
		return authorField, true
	}
	return 0, false
}

// NewReader makes a reader of r. name is the file's, "-" for standard input: .jsonl, .ndjson and
// .json are read as JSON Lines or, where an object has a "resourceType", as FHIR R4, .csv and .tsv as a
// table, an archive as an XLSX workbook, what starts with an MSH, FHS or BHS segment as HL7 v2, and any
// other by what it holds, so that plain text, whose notes start with lines such as "Resident:", may have any name. A file without any
// text has no notes. The error says, with file and line, why the file as a whole cannot be read.
func NewReader(name string, r io.Reader, opt Options) (*Reader, error) {
	for field := range opt.Columns {
		if !slices.Contains(fieldNames(), field) {
			return nil, fmt.Errorf("column for %q: want one of the fields %s%s",
				field, strings.Join(fieldNames(), ", "), nearest.Hint(field, fieldNames()))
		}
	}
	titles, err := newRoles(opt.Roles)
	if err != nil {
		return nil, err
	}
	reader := &Reader{name: name, zone: opt.Zone, roles: titles, titles: make(map[string]lexicon.Role), survey: opt.Survey, home: opt.Home}
	start := bufio.NewReader(r)
	if sample, _ := start.Peek(4); sheet.Is(sample) { // an error comes again when more is read
		book, err := openBook(start, opt)
		if err != nil {
			return nil, reader.place(err)
		}
		reader.sheet, reader.records = book.name, book.records
		return reader, nil
	}
	text, err := decode.Open(start)
	if err != nil {
		return nil, reader.place(err)
	}
	if reader.records, err = open(name, text, opt); err != nil {
		return nil, reader.place(err)
	}
	return reader, nil
}

// open chooses the form of the text.
func open(name string, text *decode.Text, opt Options) (source, error) {
	sample := bytes.TrimSpace(text.Sample())
	if len(sample) == 0 {
		return none{}, nil
	}
	if sample[0] == '{' && fhir.Is(sample) {
		return &resources{in: fhir.NewReader(text), passed: map[string]int{}}, nil
	}
	if hl7.Is(sample) {
		return &messages{in: hl7.NewReader(text), passed: map[string]int{}}, nil
	}
	switch strings.ToLower(filepath.Ext(name)) {
	case ".jsonl", ".ndjson", ".json":
		return newLines(text, sample, opt.Home, opt.Survey)
	case ".csv", ".tsv":
		return newTable(text, opt)
	}
	first, _, _ := bytes.Cut(sample, []byte("\n"))
	first, _, _ = bytes.Cut(first, []byte("\r"))
	switch {
	case sample[0] == '{', sample[0] == '[':
		return newLines(text, sample, opt.Home, opt.Survey)
	case isPlain(first):
		return &plain{text: text}, nil
	case bytes.ContainsAny(first, ",;\t|"):
		return newTable(text, opt)
	}
	return nil, &decode.Fault{Line: 1, Want: `JSON Lines, a table with a header, or text that starts with "Resident:"`}
}

// none is the source of an empty file.
type none struct{}

func (none) next() (record, error) { return record{}, io.EOF }

// Next reads the next note; io.EOF after the last. A *BadRecord is a record that could not be read:
// Next may be called again and goes on with the one after it. Any other error is final.
func (r *Reader) Next() (Note, error) {
	rec, err := r.records.next()
	if err != nil {
		return Note{}, r.place(err)
	}
	for f := range required {
		if strings.TrimSpace(rec.fields[f]) == "" {
			return Note{}, &BadRecord{r.name, r.sheet, rec.line, fmt.Sprintf("%q, which is missing or empty", f.String())}
		}
	}
	home := strings.TrimSpace(rec.home)
	if r.home != "" && home == "" {
		return Note{}, &BadRecord{r.name, r.sheet, rec.line, fmt.Sprintf("%q, the home, which is missing or empty", r.home)}
	}
	if len(rec.fields[textField]) > MaxText {
		return Note{}, &BadRecord{r.name, r.sheet, rec.line, fmt.Sprintf("%q of at most %d bytes, as one note has", "text", MaxText)}
	}
	t, err := when.Parse(rec.fields[timeField], r.zone)
	if err != nil {
		return Note{}, &BadRecord{r.name, r.sheet, rec.line, `"time" as ` + err.Error()}
	}
	if r.survey != nil {
		_, known := r.roles.role(rec.fields[roleField])
		r.survey.note(rec.fields[timeField], rec.fields[roleField], known)
	}
	given := func(f field) string { return strings.TrimSpace(rec.fields[f]) }
	n := Note{
		ID:       given(idField),
		Resident: given(residentField),
		Unit:     given(unitField),
		Time:     t,
		Shift:    given(shiftField),
		Role:     r.roleOf(rec.fields[roleField]),
		Author:   given(authorField),
		Text:     rec.fields[textField],
		Home:     home,
		Source:   Source{File: r.name, Sheet: r.sheet, Line: rec.line, Ref: rec.ref},
		Numbers:  rec.numbers,
	}
	if n.ID == "" {
		n.ID = contentID(&n)
	}
	return n, nil
}

// mostTitles bounds the job titles that are remembered: a file whose titles are all different is none of a home's.
const mostTitles = 1000

// roleOf is the role of a job title. A home has few titles, and each costs more to look up than to remember.
func (r *Reader) roleOf(title string) lexicon.Role {
	role, ok := r.titles[title]
	if !ok {
		role, _ = r.roles.role(title)
		if len(r.titles) < mostTitles {
			r.titles[strings.Clone(title)] = role
		}
	}
	return role
}

// Passed counts what the reader has passed over so far because no note is in it, by type: resources of FHIR, such as
// "Immunization" or "DocumentReference (application/pdf)", and messages of HL7 v2, such as "ADT^A01".
func (r *Reader) Passed() map[string]int {
	switch s := r.records.(type) {
	case *resources:
		return maps.Clone(s.passed)
	case *messages:
		return maps.Clone(s.passed)
	}
	return nil
}

// A Withdrawal takes back a document (MDM^T11 of HL7 v2).
type Withdrawal struct {
	Resident string   // empty where it is not said
	Numbers  []string // of the document, and of those that it had replaced
	Line     int
	Here     bool // the document came before it in the same file, so that no note of it was given
}

// Withdrawn are the documents that the file takes back and does not send anew behind that. They are known once Next has
// given io.EOF.
func (r *Reader) Withdrawn() []Withdrawal {
	if s, ok := r.records.(*messages); ok {
		return s.withdrawn
	}
	return nil
}

// place puts the file's name into an error of its content.
func (r *Reader) place(err error) error {
	var f *decode.Fault
	switch {
	case err == io.EOF:
		return err
	case errors.As(err, &f):
		return &BadRecord{r.name, r.sheet, f.Line, f.Want}
	}
	return fmt.Errorf("%s: reading notes: %w", r.name, err)
}

// contentID is the id of a note that has none: the same for the same resident, moment and text, in
// whatever file and zone, so that a note read again is known again.
func contentID(n *Note) string {
	h := sha256.New()
	for _, part := range []string{n.Resident, n.Time.UTC().Format(time.RFC3339Nano), n.Text} {
		var size [8]byte
		binary.BigEndian.PutUint64(size[:], uint64(len(part)))
		h.Write(size[:]) // so that the ends of the parts count
		h.Write([]byte(part))
	}
	return "c-" + hex.EncodeToString(h.Sum(nil)[:8])
}
