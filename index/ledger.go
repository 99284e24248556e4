package index

import (
	"bytes"
	"compress/flate"
	"encoding/binary"
	"errors"
	"fmt"
	"io"
	"path/filepath"
	"sync"

	"example.com/stance/index/internal/journal"
)

// A ledger is the journal with its records taken for blocks: each is a number of items, compressed
// together, because notes are short and like each other. Reading is safe for concurrent use.
type ledger struct {
	*journal.Journal
	dir string

	unpackers sync.Pool // of *unpacker

	mu     sync.Mutex
	blocks map[int64][][]byte // a few of those read last, by offset
}

// An item is addressed by the offset of its block and its number in it, so that addresses go up with the ledger.
const (
	blockItems = 1 << itemBits
	itemBits   = 5        // larger blocks pack better, but a page of hits unpacks one for each hit
	blockBytes = 16 << 10 // at most, unless a single item is longer
)

// An address is where an item of the ledger is.
type address int64

func addressOf(block int64, item int) address { return address(block<<itemBits | int64(item)) }

func (a address) block() int64 { return int64(a) >> itemBits }
func (a address) item() int    { return int(a) & (blockItems - 1) }

func newLedger(dir string, j *journal.Journal) *ledger {
	return &ledger{Journal: j, dir: dir, blocks: map[int64][][]byte{}}
}

// A batch is items to be appended together. Its zero value is not ready; see newBatch.
type batch struct {
	sealed journal.Batch
	raw    []byte // items of the block that is open, each with its length before it
	items  int    // in it
	packed bytes.Buffer
	packer *flate.Writer
}

func newBatch() *batch {
	packer, err := flate.NewWriter(nil, flate.BestSpeed)
	if err != nil {
		panic(err) // a constant level
	}
	return &batch{packer: packer}
}

// add adds an item and gives its address, if the batch is appended at an offset.
func (b *batch) add(item []byte, end int64) (address, error) {
	if b.items == blockItems || b.items > 0 && len(b.raw)+len(item) > blockBytes {
		if err := b.seal(); err != nil {
			return 0, err
		}
	}
	at := addressOf(end+int64(b.sealed.Size()), b.items)
	b.raw = binary.AppendUvarint(b.raw, uint64(len(item)))
	b.raw = append(b.raw, item...)
	b.items++
	return at, nil
}

// seal closes the block that is open.
func (b *batch) seal() error {
	if b.items == 0 {
		return nil
	}
	b.packed.Reset()
	b.packer.Reset(&b.packed)
	if _, err := b.packer.Write(b.raw); err != nil {
		return err
	}
	if err := b.packer.Close(); err != nil {
		return err
	}
	b.sealed.Add(b.packed.Bytes())
	b.raw, b.items = b.raw[:0], 0
	return nil
}

// size is about the bytes that the batch will take in the file.
func (b *batch) size() int { return b.sealed.Size() + len(b.raw) }

// append writes a batch at the end and empties it. On an error none of it is in the ledger.
func (l *ledger) append(b *batch) error {
	if err := b.seal(); err != nil {
		return err
	}
	if b.sealed.Size() == 0 {
		return nil
	}
	err := l.Append(&b.sealed)
	b.sealed.Reset()
	return err
}

// An unpacker takes blocks apart, one after another. What it needs for that, some 50 KB, is made once.
type unpacker struct {
	in    bytes.Reader
	out   bytes.Buffer
	flate io.ReadCloser
}

// unpack takes a block apart. The items are good until the next call.
func (u *unpacker) unpack(block []byte) ([][]byte, error) {
	u.in.Reset(block)
	u.out.Reset()
	if u.flate == nil {
		u.flate = flate.NewReader(&u.in)
	} else if err := u.flate.(flate.Resetter).Reset(&u.in, nil); err != nil {
		return nil, err
	}
	if _, err := u.out.ReadFrom(u.flate); err != nil {
		return nil, errRecord
	}
	return itemsOf(u.out.Bytes())
}

// unpackWhole takes a block apart. The items are its own.
func (u *unpacker) unpackWhole(block []byte) ([][]byte, error) {
	if _, err := u.unpack(block); err != nil {
		return nil, err
	}
	return itemsOf(bytes.Clone(u.out.Bytes()))
}

// itemsOf are the items of a block once it is unpacked.
func itemsOf(raw []byte) ([][]byte, error) {
	items := make([][]byte, 0, blockItems)
	d := decoder{rest: raw}
	for len(d.rest) > 0 {
		items = append(items, d.bytes())
	}
	if d.bad || len(items) > blockItems {
		return nil, errRecord
	}
	return items, nil
}

// scan hands each item on, from a block's offset, and gives the offset of the end.
func (l *ledger) scan(from int64, each func(at address, item []byte) error) (int64, error) {
	var u unpacker
	return l.blocksFrom(from, func(offset int64, block []byte) error {
		items, err := u.unpack(block)
		if err != nil {
			return l.odd(offset, err)
		}
		for i, item := range items {
			if err := each(addressOf(offset, i), item); err != nil {
				return l.odd(offset, err)
			}
		}
		return nil
	})
}

// odd says where a block stands that is whole and yet not as this package writes it.
func (l *ledger) odd(offset int64, err error) error {
	if !errors.Is(err, errRecord) {
		return err
	}
	return &DamagedError{l.dir, fmt.Errorf("%s: byte %d: %w", filepath.Join(l.dir, journalName), offset, err)}
}

// blocksFrom hands each block on as it is in the file, from an offset, and gives the offset of the end. The
// error is a *DamagedError where the file is not as it was written.
func (l *ledger) blocksFrom(from int64, each func(offset int64, block []byte) error) (int64, error) {
	end, err := l.Scan(from, each)
	return end, damaged(l.dir, err)
}

// read is the item at an address. The caller must not change it.
func (l *ledger) read(at address) ([]byte, error) {
	items, err := l.blockAt(at.block())
	if err != nil {
		return nil, err
	}
	if at.item() >= len(items) {
		return nil, errRecord
	}
	return items[at.item()], nil
}

// keptBlocks is how many blocks are remembered: what is read after one item is mostly near it.
const keptBlocks = 16

func (l *ledger) blockAt(offset int64) ([][]byte, error) {
	l.mu.Lock()
	items, ok := l.blocks[offset]
	l.mu.Unlock()
	if ok {
		return items, nil
	}
	block, err := l.Read(offset)
	if err != nil {
		return nil, damaged(l.dir, err)
	}
	u, _ := l.unpackers.Get().(*unpacker)
	if u == nil {
		u = &unpacker{}
	}
	defer l.unpackers.Put(u)
	if items, err = u.unpackWhole(block); err != nil {
		return nil, l.odd(offset, err)
	}
	l.mu.Lock()
	defer l.mu.Unlock()
	if len(l.blocks) >= keptBlocks {
		clear(l.blocks)
	}
	l.blocks[offset] = items
	return items, nil
}
