package fleet

import (
	"cmp"
	"encoding/binary"
	"encoding/json"
	"errors"
	"math"
	"slices"
	"strings"
	"time"

	"example.com/stance/lexicon"
	"example.com/stance/lint/chart"
	"example.com/stance/lint/note"
)

// What travels between workers is packed closely, since every byte of it is sent, stored and sorted: strings have their
// length before them, numbers are varints.

// An origin is where a record stands. Origins order the notes as stance check would read them, given the files in
// the order of their names.
type origin struct {
	file string
	at   int // place among the records of the file
	line int
}

func (o origin) compare(p origin) int {
	return cmp.Or(strings.Compare(o.file, p.file), cmp.Compare(o.at, p.at))
}

// A sent note is one on its way.
type sent struct {
	origin
	note note.Note // with its Home and without its Source
}

type packer struct{ b []byte }

func (p *packer) string(s string) {
	p.b = binary.AppendUvarint(p.b, uint64(len(s)))
	p.b = append(p.b, s...)
}

func (p *packer) int(n int) { p.b = binary.AppendVarint(p.b, int64(n)) }

// time packs a moment with its offset from UTC or, where it is in the zone of the policy, with a mark of that: what is
// worked out from it may lie beyond a change of the clocks.
func (p *packer) time(t time.Time, zone *time.Location) {
	_, offset := t.Zone()
	in := 0
	if t.Location() == zone {
		in = 1
	}
	p.int(in)
	p.b = binary.AppendVarint(p.b, t.Unix())
	p.int(t.Nanosecond())
	p.int(offset)
}

func (p *packer) origin(o origin) {
	p.string(o.file)
	p.int(o.at)
	p.int(o.line)
}

// note packs all but the home and the source.
func (p *packer) note(n *note.Note, zone *time.Location) {
	for _, s := range []string{n.ID, n.Resident, n.Unit, n.Shift, string(n.Role), n.Author, n.Text} {
		p.string(s)
	}
	p.time(n.Time, zone)
}

// errWire says that what came in is not what was sent.
var errWire = errors.New("a record between workers is broken, want one that this version of stance-fleet made")

// An unpacker takes apart what a packer made. After the first fault, bad is set and all it gives is empty.
type unpacker struct {
	b   []byte
	bad bool
}

func (u *unpacker) string() string {
	n, size := binary.Uvarint(u.b)
	if size <= 0 || n > uint64(len(u.b)-size) {
		u.bad, u.b = true, nil
		return ""
	}
	s := string(u.b[size : size+int(n)])
	u.b = u.b[size+int(n):]
	return s
}

func (u *unpacker) int64() int64 {
	n, size := binary.Varint(u.b)
	if size <= 0 {
		u.bad, u.b = true, nil
		return 0
	}
	u.b = u.b[size:]
	return n
}

func (u *unpacker) int() int { return int(u.int64()) }

func (u *unpacker) time(zone *time.Location) time.Time {
	in, seconds, nanos, offset := u.int(), u.int64(), u.int64(), u.int()
	t := time.Unix(seconds, nanos)
	switch {
	case in == 1:
		return t.In(zone)
	case offset == 0:
		return t.UTC()
	}
	return t.In(time.FixedZone("", offset))
}

func (u *unpacker) origin() origin { return origin{u.string(), u.int(), u.int()} }

func (u *unpacker) note(zone *time.Location) note.Note {
	n := note.Note{ID: u.string(), Resident: u.string(), Unit: u.string(), Shift: u.string(), Role: lexicon.Role(u.string()),
		Author: u.string(), Text: u.string()}
	n.Time = u.time(zone)
	return n
}

func (u *unpacker) err() error {
	if u.bad || len(u.b) > 0 {
		return errWire
	}
	return nil
}

// key is the key of one home's resident or of one of its shifts.
func key(home, of string) string {
	var p packer
	p.string(home)
	p.string(of)
	return string(p.b)
}

func unkey(k string) (home, of string, err error) {
	u := unpacker{b: []byte(k)}
	home, of = u.string(), u.string()
	return home, of, u.err()
}

func packNote(o origin, n *note.Note, zone *time.Location) []byte {
	var p packer
	p.origin(o)
	p.note(n, zone)
	return p.b
}

func unpackNote(b []byte, zone *time.Location) (sent, error) {
	u := unpacker{b: b}
	s := sent{origin: u.origin(), note: u.note(zone)}
	s.note.Source = note.Source{File: s.file, Line: s.line}
	return s, u.err()
}

// A mark is what a shift says to one of its residents: that others have notes there too, or that a note is a copy.
type mark struct {
	day, slot int // of the shift; where copy is nil
	copy      *copied
}

type copied struct {
	origin // of the later note
	of     note.Note
	share  float64
}

const (
	sharedMark = 1
	copyMark   = 2
)

func packShared(day, slot int) []byte {
	var p packer
	p.int(sharedMark)
	p.int(day)
	p.int(slot)
	return p.b
}

func packCopy(c *copied, zone *time.Location) []byte {
	var p packer
	p.int(copyMark)
	p.origin(c.origin)
	p.note(&c.of, zone)
	p.b = binary.BigEndian.AppendUint64(p.b, math.Float64bits(c.share))
	return p.b
}

func unpackMark(b []byte, zone *time.Location) (mark, error) {
	u := unpacker{b: b}
	if u.int() == sharedMark {
		m := mark{day: u.int(), slot: u.int()}
		return m, u.err()
	}
	c := &copied{origin: u.origin(), of: u.note(zone)}
	if len(u.b) != 8 {
		return mark{}, errWire
	}
	c.share = math.Float64frombits(binary.BigEndian.Uint64(u.b))
	u.b = nil
	return mark{copy: c}, u.err()
}

// A sentRow is a row of a chart on its way. There are few, so they go as JSON.
type sentRow struct {
	File string
	At   int
	Row  chart.Row
}

func packRow(r *sentRow) ([]byte, error) { return json.Marshal(r) }

// unpackRows gives rows in the order of their files.
func unpackRows(next func(*[]byte) bool) ([]sentRow, error) {
	var rows []sentRow
	for b := []byte(nil); next(&b); {
		var r sentRow
		if err := json.Unmarshal(b, &r); err != nil {
			return nil, errWire
		}
		rows = append(rows, r)
	}
	slices.SortFunc(rows, func(a, b sentRow) int { return cmp.Or(strings.Compare(a.File, b.File), cmp.Compare(a.At, b.At)) })
	return rows, nil
}

// An item is a part of an output file: the bytes, and what they are sorted by there.
type item struct {
	sort  string
	bytes []byte
}

func packItem(sort string, b []byte) []byte {
	var p packer
	p.string(sort)
	p.b = append(p.b, b...)
	return p.b
}

func unpackItem(b []byte) (item, error) {
	u := unpacker{b: b}
	sort := u.string()
	if u.bad {
		return item{}, errWire
	}
	return item{sort, slices.Clone(u.b)}, nil
}

// ordered is a number as a string that sorts as it does.
func ordered(n int) string { return string(binary.BigEndian.AppendUint64(nil, uint64(n))) }
