// Package spool keeps notes in a temporary file, so that a run over very many of them holds little
// more than their places in memory.
package spool

import (
	"bufio"
	"encoding/binary"
	"errors"
	"fmt"
	"os"
	"time"

	"example.com/stance/lexicon"
	"example.com/stance/lint/note"
)

// A Spool is notes in a file that only this process's user may read and that is gone when the spool is
// closed or, where the system allows it, has no name from the start. Add from one goroutine; once
// Flush has been called and until the next Add, Get may be called from several.
type Spool struct {
	file  *os.File
	named bool // the file still has its name
	w     *bufio.Writer
	ends  []int64 // where each note ends
	buf   []byte

	zones  []*time.Location
	zoneAt map[zone]int
}

// A zone tells locations apart: one read with each note is a value of its own each time.
type zone struct {
	name   string
	offset int // seconds east of UTC
}

// New is an empty spool in a folder; "" stands for the system's folder for temporary files.
func New(dir string) (*Spool, error) {
	f, err := os.CreateTemp(dir, "stance-*.notes") // mode 0600
	if err != nil {
		return nil, fmt.Errorf("temporary file for notes: %w", err)
	}
	s := &Spool{file: f, w: bufio.NewWriterSize(f, 1<<16), zoneAt: make(map[zone]int)}
	s.named = os.Remove(f.Name()) != nil // Windows removes no open file
	return s, nil
}

// Close gives the file up.
func (s *Spool) Close() error {
	err := s.file.Close()
	if s.named {
		err = errors.Join(err, os.Remove(s.file.Name()))
	}
	return err
}

// Add appends a note; the first is note 0.
func (s *Spool) Add(n note.Note) error {
	_, offset := n.Time.Zone()
	z := zone{n.Time.Location().String(), offset}
	at, ok := s.zoneAt[z]
	if !ok {
		at = len(s.zones)
		s.zones = append(s.zones, n.Time.Location())
		s.zoneAt[z] = at
	}
	b := binary.AppendVarint(s.buf[:0], n.Time.Unix())
	b = binary.AppendUvarint(b, uint64(n.Time.Nanosecond()))
	b = binary.AppendUvarint(b, uint64(at))
	b = binary.AppendUvarint(b, uint64(n.Source.Line))
	for _, field := range []string{n.ID, n.Resident, n.Unit, n.Shift, string(n.Role), n.Author, n.Source.File, n.Source.Ref, n.Source.Sheet, n.Text} {
		b = binary.AppendUvarint(b, uint64(len(field)))
		b = append(b, field...)
	}
	s.buf = b
	if _, err := s.w.Write(b); err != nil {
		return fmt.Errorf("temporary file for notes: %w", err)
	}
	s.ends = append(s.ends, s.start(len(s.ends))+int64(len(b)))
	return nil
}

// Flush makes the notes added so far ready for Get.
func (s *Spool) Flush() error {
	if err := s.w.Flush(); err != nil {
		return fmt.Errorf("temporary file for notes: %w", err)
	}
	return nil
}

// Get is note i as it was added.
func (s *Spool) Get(i int) (note.Note, error) {
	b := make([]byte, s.ends[i]-s.start(i))
	if _, err := s.file.ReadAt(b, s.start(i)); err != nil {
		return note.Note{}, fmt.Errorf("temporary file for notes: %w", err)
	}
	r := record{b: b}
	var n note.Note
	sec, nsec, at := r.varint(), r.uvarint(), r.uvarint()
	n.Source.Line = int(r.uvarint())
	n.ID, n.Resident, n.Unit, n.Shift = r.string(), r.string(), r.string(), r.string()
	n.Role, n.Author, n.Source.File, n.Source.Ref, n.Source.Sheet, n.Text = lexicon.Role(r.string()), r.string(), r.string(), r.string(), r.string(), r.string()
	if r.bad || at >= uint64(len(s.zones)) {
		return note.Note{}, errors.New("temporary file for notes: was changed meanwhile")
	}
	n.Time = time.Unix(sec, int64(nsec)).In(s.zones[at])
	return n, nil
}

func (s *Spool) start(i int) int64 {
	if i == 0 {
		return 0
	}
	return s.ends[i-1]
}

// A record is what is left to read of a note.
type record struct {
	b   []byte
	bad bool
}

func (r *record) varint() int64 {
	x, n := binary.Varint(r.b)
	r.skip(n)
	return x
}

func (r *record) uvarint() uint64 {
	x, n := binary.Uvarint(r.b)
	r.skip(n)
	return x
}

func (r *record) string() string {
	n := r.uvarint()
	if n > uint64(len(r.b)) {
		r.bad = true
		return ""
	}
	s := string(r.b[:n])
	r.skip(int(n))
	return s
}

// skip passes n bytes over; n below 0, or 0 for a number, means that none could be read.
func (r *record) skip(n int) {
	if n < 0 || n > len(r.b) {
		r.bad = true
		return
	}
	r.b = r.b[n:]
}
