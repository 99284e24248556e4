package index

import (
	"encoding/binary"
	"time"
)

// A slip is what of an item of the ledger has to be known to find notes again and to judge them: all but
// their words. Slips lie by resident, in the order of the ledger, in a roster and in the file of places.
type slip struct {
	kind    byte
	at      address
	id      []byte    // of the note; none for judgedKind
	time    time.Time // of a version
	kept    time.Time // when the version was, or when the note was withdrawn
	unit    []byte
	content content
	size    int      // of the version's item
	rules   []string // for rulesKind
	number  []byte   // for alsoKind
}

// appendSlip appends the slip of an item and gives the resident that it is about.
func appendSlip(b []byte, at address, item []byte) (slips []byte, resident string, err error) {
	from := len(b)
	b = append(b, 0, 0, 0, 0) // room for its length
	b = append(b, kindOf(item))
	b = binary.AppendUvarint(b, uint64(at))
	switch kindOf(item) {
	case noteKind:
		h, err := parseHeading(item)
		if err != nil {
			return nil, "", err
		}
		resident = string(h.resident)
		b = appendMoment(b, h.time)
		b = appendMoment(b, h.kept)
		b = binary.AppendUvarint(b, uint64(len(item)))
		c := digest(h.content)
		b = append(b, c[:]...)
		b = appendBytes(b, h.id)
		b = appendBytes(b, h.unit)
	case rulesKind:
		r, id, rules, err := parseRules(item)
		if err != nil {
			return nil, "", err
		}
		resident = r
		b = appendString(b, id)
		b = binary.AppendUvarint(b, uint64(len(rules)))
		for _, r := range rules {
			b = appendString(b, r)
		}
	case judgedKind:
		if resident, err = parseJudged(item); err != nil {
			return nil, "", err
		}
	case goneKind:
		r, id, gone, err := parseGone(item)
		if err != nil {
			return nil, "", err
		}
		resident = r
		b = appendString(b, id)
		b = appendMoment(b, gone)
	case alsoKind:
		r, id, number, err := parseAlso(item)
		if err != nil {
			return nil, "", err
		}
		resident = r
		b = appendString(b, id)
		b = appendString(b, number)
	default:
		return nil, "", errRecord
	}
	binary.LittleEndian.PutUint32(b[from:], uint32(len(b)-from-4))
	return b, resident, nil
}

func appendBytes(b, s []byte) []byte {
	b = binary.AppendUvarint(b, uint64(len(s)))
	return append(b, s...)
}

// appendMoment appends a time without its zone: slips are only compared.
func appendMoment(b []byte, t time.Time) []byte {
	b = binary.AppendVarint(b, t.Unix())
	return binary.AppendUvarint(b, uint64(t.Nanosecond()))
}

// nextSlip parts the first of some slips from the rest.
func nextSlip(slips []byte) (first, rest []byte) {
	n := 4 + int(binary.LittleEndian.Uint32(slips))
	return slips[4:n], slips[n:]
}

// parseSlip reads a slip, whose bytes are its own. Slips are made here and come with a checksum, so that they
// need no second look.
func parseSlip(b []byte) slip {
	d := decoder{rest: b[1:]}
	s := slip{kind: b[0], at: address(d.uvarint())}
	switch s.kind {
	case noteKind:
		s.time, s.kept = d.moment(), d.moment()
		s.size = int(d.uvarint())
		s.content = content(d.rest[:len(s.content)])
		d.rest = d.rest[len(s.content):]
		s.id, s.unit = d.bytes(), d.bytes()
	case rulesKind:
		s.id = d.bytes()
		for range d.uvarint() {
			s.rules = append(s.rules, d.string())
		}
	case goneKind:
		s.id, s.kept = d.bytes(), d.moment()
	case alsoKind:
		s.id, s.number = d.bytes(), d.bytes()
	}
	return s
}

func (d *decoder) uvarint() uint64 { return number(d, binary.Uvarint) }

func (d *decoder) varint() int64 { return number(d, binary.Varint) }

// number takes the next number off; 0 where there is none whole, from which on d is bad.
func number[T int64 | uint64](d *decoder, take func([]byte) (T, int)) T {
	n, size := take(d.rest)
	if size <= 0 {
		d.bad, d.rest = true, nil
		return 0
	}
	d.rest = d.rest[size:]
	return n
}

func (d *decoder) moment() time.Time {
	seconds := d.varint()
	return time.Unix(seconds, int64(d.uvarint()))
}
