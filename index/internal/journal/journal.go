// Package journal is a file of records that only grows, so that whatever was appended and synced is
// still there after a crash at any moment.
//
// The file starts with a head: magic, format, a random generation and a checksum. Each record is framed
// by its length and checksum. A frame that a crash cut short at the end of the file is as if it had
// never been written; a bad frame anywhere else is damage, which is told and never cut away.
package journal

import (
	"bufio"
	"crypto/rand"
	"encoding/binary"
	"errors"
	"fmt"
	"hash/crc32"
	"io"
	"os"
)

const (
	magic     = "stancelg"
	headSize  = len(magic) + 4 + 16 + 4 // magic, format, generation, checksum
	frameSize = 8                       // length and checksum of a record

	// MaxAppend is the most bytes that one Append may write. It bounds what a crash can leave half
	// written, and so tells that from damage.
	MaxAppend = 32 << 20
)

// Start is the offset of the first record.
const Start = int64(headSize)

// A Generation tells one file from another that took its place.
type Generation [16]byte

// A DamagedError says that the file does not hold what was written.
type DamagedError struct {
	File string
	At   int64 // offset in bytes
}

func (e *DamagedError) Error() string {
	return fmt.Sprintf("%s: damaged at byte %d: put back a copy of the folder, or keep the notes anew in another one", e.File, e.At)
}

// A Journal is an open file. Reading is safe for concurrent use and beside a process that appends.
type Journal struct {
	file       *os.File
	format     int
	generation Generation
	end        int64 // of the last record, when opened for appending
}

// Create makes a new file of the given format, readable by its owner only, and puts it on the disk.
func Create(name string, format int) (*Journal, error) {
	f, err := os.OpenFile(name, os.O_RDWR|os.O_CREATE|os.O_TRUNC, 0o600)
	if err != nil {
		return nil, err
	}
	j := &Journal{file: f, format: format, end: Start}
	rand.Read(j.generation[:]) // never fails
	head := append(make([]byte, 0, headSize), magic...)
	head = binary.LittleEndian.AppendUint32(head, uint32(format))
	head = append(head, j.generation[:]...)
	head = binary.LittleEndian.AppendUint32(head, checksum(head))
	_, err = f.WriteAt(head, 0)
	if err = errors.Join(err, f.Sync()); err != nil {
		f.Close()
		return nil, err
	}
	return j, nil
}

// Open opens a file for reading.
func Open(name string) (*Journal, error) { return open(name, os.O_RDONLY) }

func open(name string, flag int) (*Journal, error) {
	f, err := os.OpenFile(name, flag, 0)
	if err != nil {
		return nil, err
	}
	j := &Journal{file: f}
	if err := j.readHead(); err != nil {
		f.Close()
		return nil, err
	}
	return j, nil
}

func (j *Journal) readHead() error {
	var head [headSize]byte
	if _, err := j.file.ReadAt(head[:], 0); err != nil && !errors.Is(err, io.EOF) {
		return err
	}
	body, sum := head[:headSize-4], head[headSize-4:]
	if string(body[:len(magic)]) != magic || checksum(body) != binary.LittleEndian.Uint32(sum) {
		return &DamagedError{j.file.Name(), 0}
	}
	j.format = int(binary.LittleEndian.Uint32(body[len(magic):]))
	copy(j.generation[:], body[len(magic)+4:])
	return nil
}

// OpenAppend opens a file for reading and, after a call of Recover, for appending. Only one process may
// do so at a time.
func OpenAppend(name string) (*Journal, error) { return open(name, os.O_RDWR) }

// Recover makes an end, as Scan gave it, the end of the file: a record that was cut short is cut off.
func (j *Journal) Recover(end int64) error {
	j.end = end
	return j.file.Truncate(end)
}

// Close closes the file.
func (j *Journal) Close() error { return j.file.Close() }

// Format is the format that the file was created with.
func (j *Journal) Format() int { return j.format }

// Generation is that of the file.
func (j *Journal) Generation() Generation { return j.generation }

// End is the offset after the last record, where the next will be. It is known to an appender only.
func (j *Journal) End() int64 { return j.end }

// A Batch is records to be appended together. Its zero value is empty.
type Batch struct {
	buf []byte
}

// Add adds a record, which is copied.
func (b *Batch) Add(record []byte) {
	b.buf = binary.LittleEndian.AppendUint32(b.buf, uint32(len(record)))
	b.buf = binary.LittleEndian.AppendUint32(b.buf, checksum(record))
	b.buf = append(b.buf, record...)
}

// Size is the bytes that the records take in the file: the next record added will be that far behind
// the Journal's End.
func (b *Batch) Size() int { return len(b.buf) }

// Reset empties the batch.
func (b *Batch) Reset() { b.buf = b.buf[:0] }

// Append writes a batch at the end of the file. On an error none of it is in the file. It is sure to
// survive a crash of the process; of the machine, after Sync.
func (j *Journal) Append(b *Batch) error {
	if len(b.buf) > MaxAppend {
		return fmt.Errorf("%s: appending %d bytes at once, want at most %d", j.file.Name(), len(b.buf), MaxAppend)
	}
	if _, err := j.file.WriteAt(b.buf, j.end); err != nil {
		return errors.Join(err, j.file.Truncate(j.end))
	}
	j.end += int64(len(b.buf))
	return nil
}

// Sync puts all that was appended on the disk.
func (j *Journal) Sync() error { return j.file.Sync() }

// Read is the record at an offset.
func (j *Journal) Read(at int64) ([]byte, error) {
	var frame [frameSize]byte
	if _, err := j.file.ReadAt(frame[:], at); err != nil {
		return nil, j.fault(err, at)
	}
	length := binary.LittleEndian.Uint32(frame[:])
	if length > MaxAppend {
		return nil, &DamagedError{j.file.Name(), at}
	}
	record := make([]byte, length)
	if _, err := j.file.ReadAt(record, at+frameSize); err != nil {
		return nil, j.fault(err, at)
	}
	if checksum(record) != binary.LittleEndian.Uint32(frame[4:]) {
		return nil, &DamagedError{j.file.Name(), at}
	}
	return record, nil
}

func (j *Journal) fault(err error, at int64) error {
	if errors.Is(err, io.EOF) {
		return &DamagedError{j.file.Name(), at}
	}
	return err
}

// Scan hands each record from an offset on to each, and stops at its first error. The record is each's
// only until it returns. The result is the offset after the last good record.
func (j *Journal) Scan(from int64, each func(at int64, record []byte) error) (int64, error) {
	info, err := j.file.Stat()
	if err != nil {
		return from, err
	}
	size := info.Size()
	if from > size {
		return from, &DamagedError{j.file.Name(), size}
	}
	r := bufio.NewReaderSize(io.NewSectionReader(j.file, from, size-from), 1<<20)
	var record []byte
	at := from
	for {
		var frame [frameSize]byte
		if _, err := io.ReadFull(r, frame[:]); err != nil {
			return at, j.tail(err, at, size)
		}
		length := int64(binary.LittleEndian.Uint32(frame[:]))
		if length > size-at-frameSize {
			return at, j.tail(io.ErrUnexpectedEOF, at, size)
		}
		if int64(cap(record)) < length {
			record = make([]byte, length, 2*length)
		}
		record = record[:length]
		if _, err := io.ReadFull(r, record); err != nil {
			return at, j.tail(err, at, size)
		}
		if checksum(record) != binary.LittleEndian.Uint32(frame[4:]) {
			if _, err := j.Read(at + frameSize + length); err == nil {
				return at, &DamagedError{j.file.Name(), at} // good records follow: no crash did this
			}
			return at, j.tail(io.ErrUnexpectedEOF, at, size)
		}
		if err := each(at, record); err != nil {
			return at, err
		}
		at += frameSize + length
	}
}

// tail is the error of a scan that ended at an offset: none where a crash can have cut the file there.
func (j *Journal) tail(err error, at, size int64) error {
	switch {
	case !errors.Is(err, io.EOF) && !errors.Is(err, io.ErrUnexpectedEOF):
		return err
	case size-at > MaxAppend:
		return &DamagedError{j.file.Name(), at}
	}
	return nil
}

// checksum is CRC-32C (Castagnoli; RFC 3720, 2004, section 12.1), which processors compute by themselves.
func checksum(b []byte) uint32 { return crc32.Checksum(b, crc32.MakeTable(crc32.Castagnoli)) }
