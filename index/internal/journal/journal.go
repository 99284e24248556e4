// Package journal is a file of records that only grows, so that whatever was appended and synced is
// still there after a crash at any moment, and what is no longer there is noticed.
//
// The file starts with a head: magic, format, a random generation and a checksum. Two slots follow, which
// take turns in telling up to where the file was synced; each lies in a sector of its own, so that a write
// that a power cut spoils spoils nothing else. Then come the records, each behind a frame of a marker, its
// length, its offset in the file and checksums, so that a good record is found again behind a bad one and
// one that was moved, left out or put in twice is seen.
//
// What stands behind the last slot's offset and is no whole record is what a crash left: it is as if it
// had never been written. Anything else that is missing or spoilt is damage, which is told and never cut
// away. Salvage gives what can still be read.
package journal

import (
	"bufio"
	"bytes"
	"crypto/rand"
	"encoding/binary"
	"errors"
	"fmt"
	"hash/crc32"
	"io"
	"os"
)

const (
	magic    = "stancelg"
	headSize = len(magic) + 4 + 16 + 4 // magic, format, generation, checksum
	sector   = 4096                    // what a disk writes at once
	slots    = 2
	slotSize = 8 + 4 // offset, checksum

	// MaxAppend is the most bytes that one Append may write. It bounds what a crash can leave half
	// written, and so tells that from damage.
	MaxAppend = 32 << 20
)

// Start is the offset of the first record.
const Start = int64((1 + slots) * sector)

// A frame stands before each record.
const (
	marker    = "\xffrec" // its first byte is in no text of UTF-8
	frameSize = len(marker) + 4 + 8 + 4 + 4
)

// A Generation tells one file from another that took its place.
type Generation [16]byte

// A Journal is an open file. Reading is safe for concurrent use and beside a process that appends.
type Journal struct {
	file       *os.File
	format     int
	generation Generation
	end        int64 // of the last record, when opened for appending
	synced     int64 // up to here all was on the disk, and so has to be there
	turn       int   // slot that is written next
	unsure     bool  // a slot was written that may not be on the disk yet
}

// Create makes a new file of the given format, readable by its owner only, and puts it on the disk.
func Create(name string, format int) (*Journal, error) {
	f, err := os.OpenFile(name, os.O_RDWR|os.O_CREATE|os.O_TRUNC, 0o600)
	if err != nil {
		return nil, err
	}
	j := &Journal{file: f, format: format, end: Start, synced: Start}
	rand.Read(j.generation[:]) // never fails
	top := make([]byte, Start)
	copy(top, j.head())
	for i := range slots {
		copy(top[slotAt(i):], slot(Start))
	}
	_, err = f.WriteAt(top, 0)
	if err = errors.Join(err, f.Sync()); err != nil {
		return nil, errors.Join(err, f.Close())
	}
	return j, nil
}

// head is what the file starts with.
func (j *Journal) head() []byte {
	head := append(make([]byte, 0, headSize), magic...)
	head = binary.LittleEndian.AppendUint32(head, uint32(j.format))
	head = append(head, j.generation[:]...)
	return binary.LittleEndian.AppendUint32(head, checksum(head))
}

// Raise gives the file a later format, whose records its own are too, and puts that on the disk. All that changes is a
// few bytes of one sector, which a disk writes at once.
func (j *Journal) Raise(format int) error {
	if format <= j.format {
		return nil
	}
	before := j.format
	j.format = format
	_, err := j.file.WriteAt(j.head(), 0)
	if err = errors.Join(err, j.file.Sync()); err != nil {
		j.format = before
	}
	return err
}

// Open opens a file for reading.
func Open(name string) (*Journal, error) { return open(name, os.O_RDONLY) }

func open(name string, flag int) (*Journal, error) {
	f, err := os.OpenFile(name, flag, 0)
	if err != nil {
		return nil, err
	}
	j := &Journal{file: f}
	err = j.readHead()
	if err == nil && j.format > Unmarked {
		err = j.readSlots()
	}
	if err != nil {
		return nil, errors.Join(err, f.Close())
	}
	return j, nil
}

func (j *Journal) readHead() error {
	head := make([]byte, headSize)
	if _, err := j.file.ReadAt(head, 0); err != nil && !errors.Is(err, io.EOF) {
		return err
	}
	var ok bool
	if j.format, j.generation, ok = parseHead(head); !ok {
		return j.damage(0)
	}
	return nil
}

func parseHead(head []byte) (format int, g Generation, ok bool) {
	body, sum := head[:headSize-4], head[headSize-4:]
	if string(body[:len(magic)]) != magic || checksum(body) != binary.LittleEndian.Uint32(sum) {
		return 0, g, false
	}
	copy(g[:], body[len(magic)+4:])
	return int(binary.LittleEndian.Uint32(body[len(magic):])), g, true
}

func slotAt(i int) int64 { return int64((1 + i) * sector) }

func slot(synced int64) []byte {
	b := binary.LittleEndian.AppendUint64(make([]byte, 0, slotSize), uint64(synced))
	return binary.LittleEndian.AppendUint32(b, checksum(b))
}

func parseSlot(b []byte) (synced int64, ok bool) {
	synced = int64(binary.LittleEndian.Uint64(b))
	return synced, synced >= Start && checksum(b[:8]) == binary.LittleEndian.Uint32(b[8:])
}

// readSlots reads up to where the file was synced. One slot may be spoilt by the crash of a writer, or be
// half written by one that is at work.
func (j *Journal) readSlots() error {
	for i := range slots {
		var b [slotSize]byte
		if _, err := j.file.ReadAt(b[:], slotAt(i)); err != nil && !errors.Is(err, io.EOF) {
			return err
		}
		if synced, ok := parseSlot(b[:]); ok && synced > j.synced {
			j.synced, j.turn = synced, (i+1)%slots
		}
	}
	size, err := j.size()
	switch {
	case err != nil:
		return err
	case j.synced == 0:
		return j.damage(slotAt(0))
	case size < j.synced:
		return j.damage(size)
	}
	return nil
}

func (j *Journal) size() (int64, error) {
	info, err := j.file.Stat()
	if err != nil {
		return 0, err
	}
	return info.Size(), nil
}

// OpenAppend opens a file for reading and, after a call of Recover, for appending. Only one process may
// do so at a time.
func OpenAppend(name string) (*Journal, error) { return open(name, os.O_RDWR) }

// Recover makes an end, as Scan gave it, the end of the file: a record that was cut short is cut off. An
// end before what was synced is refused.
func (j *Journal) Recover(end int64) error {
	if end < j.synced {
		return j.damage(end)
	}
	j.end = end
	size, err := j.size()
	if err != nil || size == end {
		return err
	}
	return j.file.Truncate(end)
}

// Close closes the file. An appender's last slot is on the disk then.
func (j *Journal) Close() error {
	var err error
	if j.unsure {
		err = j.file.Sync()
	}
	return errors.Join(err, j.file.Close())
}

// Format is the format that the file was created with, or raised to.
func (j *Journal) Format() int { return j.format }

// Stat is what the system says of the file.
func (j *Journal) Stat() (os.FileInfo, error) { return j.file.Stat() }

// Generation is that of the file.
func (j *Journal) Generation() Generation { return j.generation }

// End is the offset after the last record, where the next will be. It is known to an appender only.
func (j *Journal) End() int64 { return j.end }

// A Batch is records to be appended together. Its zero value is empty.
type Batch struct {
	buf    []byte
	frames []int // where they start in buf
}

// Add adds a record, which is copied. It must not be empty.
func (b *Batch) Add(record []byte) {
	b.frames = append(b.frames, len(b.buf))
	b.buf = append(b.buf, make([]byte, frameSize)...)
	b.buf = append(b.buf, record...)
}

// Size is the bytes that the records take in the file: the next record added will be that far behind
// the Journal's End.
func (b *Batch) Size() int { return len(b.buf) }

// Reset empties the batch.
func (b *Batch) Reset() { b.buf, b.frames = b.buf[:0], b.frames[:0] }

// seal writes the frames of a batch that will stand at an offset.
func (b *Batch) seal(at int64) {
	for i, from := range b.frames {
		to := len(b.buf)
		if i+1 < len(b.frames) {
			to = b.frames[i+1]
		}
		record := b.buf[from+frameSize : to]
		frame := append(b.buf[from:from], marker...)
		frame = binary.LittleEndian.AppendUint32(frame, uint32(len(record)))
		frame = binary.LittleEndian.AppendUint64(frame, uint64(at+int64(from)))
		frame = binary.LittleEndian.AppendUint32(frame, checksum(record))
		binary.LittleEndian.AppendUint32(frame, checksum(frame))
	}
}

// Append writes a batch at the end of the file. On an error none of it is in the file. It is sure to
// survive a crash of the process; of the machine, after Sync.
func (j *Journal) Append(b *Batch) error {
	if len(b.buf) > MaxAppend {
		return fmt.Errorf("%s: appending %d bytes at once, want at most %d", j.file.Name(), len(b.buf), MaxAppend)
	}
	b.seal(j.end)
	if _, err := j.file.WriteAt(b.buf, j.end); err != nil {
		return errors.Join(err, j.file.Truncate(j.end))
	}
	j.end += int64(len(b.buf))
	return nil
}

// Sync puts all that was appended on the disk. From then on, its lack is damage.
func (j *Journal) Sync() error {
	if err := j.file.Sync(); err != nil || j.end <= j.synced {
		return err
	}
	if _, err := j.file.WriteAt(slot(j.end), slotAt(j.turn)); err != nil {
		return err
	}
	j.synced, j.turn, j.unsure = j.end, (j.turn+1)%slots, true
	return nil
}

// A frame is where a record lies.
type frame struct {
	length int64  // of the record
	offset int64  // at which it was written
	sum    uint32 // of the record
}

func (f frame) end() int64 { return f.offset + int64(frameSize) + f.length }

// parseFrame reads a frame, and reports whether it is as it was written.
func parseFrame(b []byte) (frame, bool) {
	rest := b[len(marker):]
	f := frame{
		length: int64(binary.LittleEndian.Uint32(rest)),
		offset: int64(binary.LittleEndian.Uint64(rest[4:])),
		sum:    binary.LittleEndian.Uint32(rest[12:]),
	}
	return f, string(b[:len(marker)]) == marker && f.length > 0 && f.length <= MaxAppend && f.offset >= Start &&
		checksum(b[:frameSize-4]) == binary.LittleEndian.Uint32(rest[16:])
}

// Read is the record at an offset.
func (j *Journal) Read(at int64) ([]byte, error) {
	record, ok, err := j.readAt(at)
	if err == nil && !ok {
		err = j.damage(at)
	}
	return record, err
}

// readAt reads the record at an offset, and reports whether there is one.
func (j *Journal) readAt(at int64) (record []byte, ok bool, err error) {
	var b [frameSize]byte
	if _, err := j.file.ReadAt(b[:], at); err != nil {
		return nil, false, notEnd(err)
	}
	f, ok := parseFrame(b[:])
	if !ok || f.offset != at {
		return nil, false, nil
	}
	record = make([]byte, f.length)
	if _, err := j.file.ReadAt(record, at+int64(frameSize)); err != nil {
		return nil, false, notEnd(err)
	}
	return record, checksum(record) == f.sum, nil
}

// notEnd leaves out that a file has ended.
func notEnd(err error) error {
	if errors.Is(err, io.EOF) || errors.Is(err, io.ErrUnexpectedEOF) {
		return nil
	}
	return err
}

// Scan hands each record from an offset on to each, and stops at its first error. The record is each's
// only until it returns. The result is the offset after the last good record. Where the file has less
// than was synced, or than from, or holds more behind what cannot be read, the error is a *DamagedError.
func (j *Journal) Scan(from int64, each func(at int64, record []byte) error) (int64, error) {
	size, err := j.size()
	if err != nil {
		return from, err
	}
	if from > size {
		return from, j.damage(size)
	}
	r := bufio.NewReaderSize(io.NewSectionReader(j.file, from, size-from), int(min(size-from, 1<<20)))
	var record []byte
	for at := from; ; {
		f, ok, err := next(r, at, size, &record)
		switch {
		case err != nil:
			return at, err
		case !ok:
			again, err := j.tail(at, size)
			if again {
				return j.Scan(at, each)
			}
			return at, err
		}
		if err := each(at, record); err != nil {
			return at, err
		}
		at = f.end()
	}
}

// next reads the record at an offset, and reports whether there is one.
func next(r io.Reader, at, size int64, record *[]byte) (frame, bool, error) {
	var b [frameSize]byte
	if _, err := io.ReadFull(r, b[:]); err != nil {
		return frame{}, false, notEnd(err)
	}
	f, ok := parseFrame(b[:])
	if !ok || f.offset != at || f.end() > size {
		return f, false, nil
	}
	if int64(cap(*record)) < f.length {
		*record = make([]byte, f.length, 2*f.length)
	}
	*record = (*record)[:f.length]
	if _, err := io.ReadFull(r, *record); err != nil {
		return f, false, notEnd(err)
	}
	return f, checksum(*record) == f.sum, nil
}

// tail looks at what stands from an offset on, where no record is: none, where a crash can have left that.
// again says that a record is there by now.
func (j *Journal) tail(at, size int64) (again bool, err error) {
	if at < j.synced {
		return false, j.damage(at)
	}
	rest := io.NewSectionReader(j.file, at, size-at)
	if size-at > MaxAppend {
		if zero, err := allZero(rest); err != nil || zero {
			return false, err
		}
		return false, j.damage(at)
	}
	b, err := io.ReadAll(rest)
	if err != nil {
		return false, err
	}
	if found, _ := frames(b); len(found) == 0 {
		return false, nil
	}
	// Records follow, so no crash did this; but a writer at work may have come on meanwhile.
	if _, ok, err := j.readAt(at); ok || err != nil {
		return ok, err
	}
	return false, j.damage(at)
}

// allZero reports whether there is nothing but zero bytes, as a power cut leaves them where a file had
// grown.
func allZero(r io.Reader) (bool, error) {
	b := make([]byte, 1<<20)
	for {
		n, err := r.Read(b)
		if len(bytes.Trim(b[:n], "\x00")) > 0 {
			return false, nil
		}
		if err != nil {
			return notEnd(err) == nil, notEnd(err)
		}
	}
}

// checksum is CRC-32C (Castagnoli; RFC 3720, 2004, section 12.1), which processors compute by themselves.
func checksum(b []byte) uint32 { return crc32.Checksum(b, crc32.MakeTable(crc32.Castagnoli)) }
