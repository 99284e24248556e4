package index

import (
	"crypto/sha256"
	"encoding/binary"
	"errors"
	"time"

	"example.com/stance/lexicon"
	"example.com/stance/lint/note"
)

// The items of the ledger. Each starts with its kind; strings have their length before them.
const (
	noteKind   byte = 1 // one version of a note
	rulesKind  byte = 2 // the rules of a note, which replace those it had
	judgedKind byte = 3 // a resident whose notes all have their rules
	goneKind   byte = 4 // a note that was withdrawn; its versions stay
	alsoKind   byte = 5 // a number that a note goes by besides its id, as of a document that replaced it
)

// A version is one version of a note as it is kept.
type version struct {
	note  note.Note
	shift string    // the note's, or the one that its time gave
	kept  time.Time // when
}

// A content is what tells whether two versions are the same: a digest of all that the note says.
type content [16]byte

// appendVersion appends the item of a version to b and gives the digest of its content.
func appendVersion(b []byte, v *version) ([]byte, content, error) {
	b = append(b, noteKind)
	b, err := appendTime(b, v.kept)
	if err != nil {
		return nil, content{}, err
	}
	b = appendString(b, v.shift)
	from := len(b)
	b = appendString(b, v.note.Resident)
	b = appendString(b, v.note.ID)
	if b, err = appendTime(b, v.note.Time); err != nil {
		return nil, content{}, err
	}
	for _, s := range []string{v.note.Unit, v.note.Shift, string(v.note.Role), v.note.Author, v.note.Text} {
		b = appendString(b, s)
	}
	return b, digest(b[from:]), nil
}

func digest(b []byte) content {
	sum := sha256.Sum256(b)
	return content(sum[:len(content{})])
}

func appendString(b []byte, s string) []byte {
	b = binary.AppendUvarint(b, uint64(len(s)))
	return append(b, s...)
}

// appendTime appends a time with its offset from UTC, as its length and the form that package time gives.
func appendTime(b []byte, t time.Time) ([]byte, error) {
	form, err := t.MarshalBinary()
	if err != nil {
		return nil, err
	}
	return appendString(b, string(form)), nil
}

func appendRules(b []byte, resident, id string, rules []string) []byte {
	b = append(b, rulesKind)
	b = appendString(b, resident)
	b = appendString(b, id)
	b = binary.AppendUvarint(b, uint64(len(rules)))
	for _, r := range rules {
		b = appendString(b, r)
	}
	return b
}

func appendJudged(b []byte, resident string) []byte {
	return appendString(append(b, judgedKind), resident)
}

func appendGone(b []byte, resident, id string, at time.Time) ([]byte, error) {
	b = append(b, goneKind)
	b = appendString(b, resident)
	b = appendString(b, id)
	return appendTime(b, at)
}

func appendAlso(b []byte, resident, id, number string) []byte {
	b = append(b, alsoKind)
	b = appendString(b, resident)
	b = appendString(b, id)
	return appendString(b, number)
}

// errRecord is a part of the ledger that is whole but not as this package writes it.
var errRecord = errors.New("a record of the notes has an unknown form")

// A decoder takes an item apart. After the first fault, bad is set and all it gives is empty.
type decoder struct {
	rest []byte
	bad  bool
}

func (d *decoder) bytes() []byte {
	n, size := binary.Uvarint(d.rest)
	if size <= 0 || n > uint64(len(d.rest)-size) {
		d.bad, d.rest = true, nil
		return nil
	}
	b := d.rest[size : size+int(n)]
	d.rest = d.rest[size+int(n):]
	return b
}

func (d *decoder) string() string { return string(d.bytes()) }

func (d *decoder) time() time.Time {
	var t time.Time
	if err := t.UnmarshalBinary(d.bytes()); err != nil {
		d.bad = true
	}
	return t
}

func (d *decoder) err() error {
	if d.bad || len(d.rest) > 0 {
		return errRecord
	}
	return nil
}

func kindOf(item []byte) byte {
	if len(item) == 0 {
		return 0
	}
	return item[0]
}

// parseVersion reads the item of a version.
func parseVersion(item []byte) (version, error) {
	if kindOf(item) != noteKind {
		return version{}, errRecord
	}
	d := decoder{rest: item[1:]}
	var v version
	v.kept = d.time()
	v.shift = d.string()
	v.note.Resident = d.string()
	v.note.ID = d.string()
	v.note.Time = d.time()
	v.note.Unit = d.string()
	v.note.Shift = d.string()
	v.note.Role = lexicon.Role(d.string())
	v.note.Author = d.string()
	v.note.Text = d.string()
	return v, d.err()
}

// A heading is what of a version can be read without its text. The slices are the item's.
type heading struct {
	kept         time.Time
	resident, id []byte
	time         time.Time
	unit         []byte
	content      []byte // what digest is taken of
}

func parseHeading(item []byte) (heading, error) {
	d := decoder{rest: item[1:]}
	var h heading
	h.kept = d.time()
	d.bytes() // shift
	h.content = d.rest
	h.resident = d.bytes()
	h.id = d.bytes()
	h.time = d.time()
	h.unit = d.bytes()
	if d.bad {
		return h, errRecord
	}
	return h, nil
}

func parseRules(item []byte) (resident, id string, rules []string, err error) {
	d := decoder{rest: item[1:]}
	resident, id = d.string(), d.string()
	n, size := binary.Uvarint(d.rest)
	if size <= 0 || n > uint64(len(d.rest)) {
		return "", "", nil, errRecord
	}
	d.rest = d.rest[size:]
	for range n {
		rules = append(rules, d.string())
	}
	return resident, id, rules, d.err()
}

func parseJudged(item []byte) (resident string, err error) {
	d := decoder{rest: item[1:]}
	resident = d.string()
	return resident, d.err()
}

func parseGone(item []byte) (resident, id string, at time.Time, err error) {
	d := decoder{rest: item[1:]}
	resident, id, at = d.string(), d.string(), d.time()
	return resident, id, at, d.err()
}

func parseAlso(item []byte) (resident, id, number string, err error) {
	d := decoder{rest: item[1:]}
	resident, id, number = d.string(), d.string(), d.string()
	return resident, id, number, d.err()
}

// residentOf is the resident that an item is about.
func residentOf(item []byte) (string, error) {
	switch kindOf(item) {
	case noteKind:
		h, err := parseHeading(item)
		return string(h.resident), err
	case rulesKind, judgedKind, goneKind, alsoKind:
		d := decoder{rest: item[1:]}
		resident := d.string()
		if d.bad {
			return "", errRecord
		}
		return resident, nil
	}
	return "", errRecord
}
