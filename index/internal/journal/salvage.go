package journal

import (
	"bytes"
	"cmp"
	"encoding/binary"
	"errors"
	"fmt"
	"io"
	"os"
	"slices"
	"strings"
)

// Unmarked is the last format whose records had only a length and a checksum before them, and no marker and
// no offset. Such a file is read by Salvage alone.
const Unmarked = 2

// unmarkedFrame is the size of such a frame, and unmarkedLongest what is taken for a length where one is
// looked for behind damage.
const (
	unmarkedFrame   = 8
	unmarkedLongest = 1 << 20
)

// A Span is a stretch of a file, in bytes from its beginning.
type Span struct{ From, To int64 }

// A DamagedError says that a file does not hold what was written.
type DamagedError struct {
	File    string
	At      int64  // first byte that is not as it should be
	Written int64  // up to here the file had been written, as far as can be told
	Lost    []Span // what cannot be read of that
	Records int    // that can be read
}

func (e *DamagedError) Error() string {
	return fmt.Sprintf("%s: damaged at byte %d: %s", e.File, e.At, e.loss())
}

func (e *DamagedError) loss() string {
	const shown = 3
	switch {
	case e.Records == 0:
		return "nothing in it can be read"
	case len(e.Lost) == 0:
		return "all records can still be read"
	}
	var words []string
	for _, s := range e.Lost[:min(shown, len(e.Lost))] {
		words = append(words, fmt.Sprintf("%d to %d", s.From, s.To))
	}
	if more := len(e.Lost) - shown; more > 0 {
		words = append(words, fmt.Sprintf("and %d more stretches", more))
	}
	return fmt.Sprintf("of %d bytes written, %s cannot be read", e.Written, strings.Join(words, ", "))
}

// damage is the error for damage that was met at an offset, with what is lost in the whole file. Where
// that cannot be found out, it says why.
func (j *Journal) damage(at int64) error {
	e := &DamagedError{File: j.file.Name(), At: at}
	s, err := salvage(j.file, j.synced)
	if err != nil {
		return errors.Join(e, err)
	}
	e.Lost, e.Written, e.Records = s.Lost, s.Written, len(s.Records)
	if len(e.Lost) > 0 { // a file that is too short is known to be before the place is
		e.At = min(e.At, e.Lost[0].From)
	}
	return e
}

// A Record is one that Salvage found.
type Record struct {
	At, End int64 // offsets at which its frame was written and at which it ended
	Data    []byte
}

// Salvaged is what can be read of a file.
type Salvaged struct {
	Format     int // 0: the head cannot be read
	Generation Generation
	Records    []Record
	Lost       []Span
	Written    int64
}

// Salvage reads what can be read of a file, damaged or not, in the order in which it was written. written is
// up to where the file is known to have been written; what the file itself knows of that need not be told.
func Salvage(name string, written int64) (*Salvaged, error) {
	f, err := os.Open(name)
	if err != nil {
		return nil, err
	}
	s, err := salvage(f, written)
	return s, errors.Join(err, f.Close())
}

func salvage(f *os.File, written int64) (*Salvaged, error) {
	info, err := f.Stat()
	if err != nil {
		return nil, err
	}
	b := readable(f, info.Size())
	s := &Salvaged{}
	if len(b) >= headSize {
		s.Format, s.Generation, _ = parseHead(b)
	}
	var found []Record
	if s.Format == 0 || s.Format > Unmarked {
		for i := range slots {
			if at := slotAt(i); int64(len(b)) >= at+slotSize {
				if synced, ok := parseSlot(b[at : at+slotSize]); ok {
					written = max(written, synced)
				}
			}
		}
		found, s.Written = frames(b)
	}
	from := Start
	if s.Format != 0 && s.Format <= Unmarked || s.Format == 0 && len(found) == 0 && written == 0 {
		from = int64(headSize)
		found, s.Written = unmarked(b)
	}
	s.Written = max(s.Written, written)
	s.settle(found, from)
	return s, nil
}

// settle puts records in the order in which they were written, one of each, and finds what is missing
// between them.
func (s *Salvaged) settle(found []Record, from int64) {
	slices.SortStableFunc(found, func(a, b Record) int { return cmp.Compare(a.At, b.At) })
	at := from
	for _, r := range found {
		if r.At < at {
			continue // one that was put in twice
		}
		if r.At > at {
			s.Lost = append(s.Lost, Span{at, r.At})
		}
		s.Records = append(s.Records, r)
		at = r.End
	}
	if at < s.Written {
		s.Lost = append(s.Lost, Span{at, s.Written})
	}
}

// readable reads a file in which some sectors may be unreadable; these are as zero.
func readable(r io.ReaderAt, size int64) []byte {
	b := make([]byte, size)
	if n, err := r.ReadAt(b, 0); notEnd(err) == nil {
		return b[:n]
	}
	for at := int64(0); at < size; at += sector {
		part := b[at:min(at+sector, size)]
		if _, err := r.ReadAt(part, at); notEnd(err) != nil {
			clear(part)
		}
	}
	return b
}

// frames finds the records in a part of a file, wherever they lie, and the end of the last.
func frames(b []byte) (found []Record, end int64) {
	for at := 0; ; {
		i := bytes.Index(b[at:], []byte(marker))
		if i < 0 || len(b)-at-i < frameSize {
			return found, end
		}
		at += i
		f, ok := parseFrame(b[at:])
		if body := b[at+frameSize:]; ok && f.length <= int64(len(body)) && checksum(body[:f.length]) == f.sum {
			found = append(found, Record{f.offset, f.end(), body[:f.length]})
			end = max(end, f.end())
			at += frameSize + int(f.length)
			continue
		}
		at++
	}
}

// unmarked finds the records of a file of the format Unmarked. It knows no other end than the file's, where a
// power cut may have left zero bytes.
func unmarked(b []byte) (found []Record, end int64) {
	longest := MaxAppend // while the records before are whole
	for at := headSize; len(b)-at > unmarkedFrame; {
		body := b[at+unmarkedFrame:]
		length, sum := int(binary.LittleEndian.Uint32(b[at:])), binary.LittleEndian.Uint32(b[at+4:])
		if length > 0 && length <= min(longest, len(body)) && checksum(body[:length]) == sum {
			end = int64(at + unmarkedFrame + length)
			found = append(found, Record{int64(at), end, body[:length]})
			at = int(end)
			longest = MaxAppend
			continue
		}
		at++
		longest = unmarkedLongest
	}
	rest := b[max(int(end), min(headSize, len(b))):]
	if len(bytes.Trim(rest, "\x00")) > 0 {
		end = int64(len(b))
	}
	return found, end
}
