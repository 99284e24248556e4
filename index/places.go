package index

import (
	"bufio"
	"encoding/binary"
	"errors"
	"hash/crc32"
	"io"
	"maps"
	"os"
	"path/filepath"
	"slices"

	"example.com/stance/index/internal/journal"
)

const (
	placesName    = "places"
	newPlacesName = "places.new" // what is about to take its place

	placesMagic  = "stancepl"
	placesFormat = 1
	placesHead   = len(placesMagic) + 4 + len(journal.Generation{}) + 8 + 4 + 8 + 8 + 4 + 4
)

// Places are the slips of the ledger up to an offset, by resident, in a file that is a cache: it says which
// ledger it was made from and how much of it, with a checksum of that and of itself. Where any of it does not
// fit, it counts for nothing. The file never changes; another takes its place.
type places struct {
	path    string
	info    os.FileInfo
	applied int64  // offset of the ledger up to which all is in
	chain   uint32 // of the blocks up to there, see chained
	items   int64
	of      map[string]stretch
}

// A stretch is where one resident's slips lie in the file.
type stretch struct {
	offset   int64
	length   int
	versions int
	unjudged bool
}

// errPlaces says that there is no file of places, or none that fits.
var errPlaces = errors.New("the places of notes are to be made anew")

// readPlaces reads where slips lie. The error is errPlaces where the file is no help.
func readPlaces(dir string, generation journal.Generation) (*places, error) {
	p := &places{path: filepath.Join(dir, placesName), of: map[string]stretch{}}
	f, err := os.Open(p.path)
	if err != nil {
		return nil, errPlaces
	}
	defer f.Close()
	if p.info, err = f.Stat(); err != nil {
		return nil, errPlaces
	}
	head := make([]byte, placesHead)
	if _, err := io.ReadFull(f, head); err != nil {
		return nil, errPlaces
	}
	var total uint32
	var listAt int64
	d := head[len(placesMagic):]
	format := binary.LittleEndian.Uint32(d)
	of := journal.Generation(d[4 : 4+len(generation)])
	d = d[4+len(generation):]
	p.applied = int64(binary.LittleEndian.Uint64(d))
	p.chain = binary.LittleEndian.Uint32(d[8:])
	p.items = int64(binary.LittleEndian.Uint64(d[12:]))
	listAt = int64(binary.LittleEndian.Uint64(d[20:]))
	total = binary.LittleEndian.Uint32(d[28:])
	if string(head[:len(placesMagic)]) != placesMagic || format != placesFormat || of != generation {
		return nil, errPlaces
	}
	if crc32.Checksum(head[:placesHead-4], castagnoli()) != binary.LittleEndian.Uint32(head[placesHead-4:]) {
		return nil, errPlaces
	}
	sum := crc32.New(castagnoli())
	if _, err := io.Copy(sum, f); err != nil || sum.Sum32() != total {
		return nil, errPlaces
	}
	list := make([]byte, p.info.Size()-listAt)
	if _, err := f.ReadAt(list, listAt); err != nil {
		return nil, errPlaces
	}
	l := decoder{rest: list}
	for len(l.rest) > 0 {
		name := l.string()
		p.of[name] = stretch{
			offset: int64(l.uvarint()), length: int(l.uvarint()), versions: int(l.uvarint()), unjudged: l.uvarint() == 1,
		}
	}
	if l.bad {
		return nil, errPlaces
	}
	return p, nil
}

// open opens the file for its slips. The error is errPlaces where another has taken its place.
func (p *places) open() (*os.File, error) {
	f, err := os.Open(p.path)
	if err != nil {
		return nil, errPlaces
	}
	if info, err := f.Stat(); err != nil || !unchanged(info, p.info) {
		return nil, errors.Join(errPlaces, f.Close())
	}
	return f, nil
}

// unchanged reports whether a file is the one that was looked at before, and as it was.
func unchanged(now, before os.FileInfo) bool {
	return before != nil && os.SameFile(now, before) && now.Size() == before.Size() && now.ModTime().Equal(before.ModTime())
}

// chained is the checksum of blocks that were met so far, with one more. What it is equal for is the same
// ledger, however whole each block of another may be.
func chained(chain uint32, block []byte) uint32 { return crc32.Update(chain, castagnoli(), block) }

// writePlaces writes the slips of a roster to a new file. Slips that lie in the old one are copied as they
// are. It need not be on the disk: what a crash leaves of it does not fit its sum.
func writePlaces(dir string, generation journal.Generation, r *roster) (err error) {
	path := filepath.Join(dir, newPlacesName)
	f, err := os.OpenFile(path, os.O_RDWR|os.O_CREATE|os.O_TRUNC, 0o600)
	if err != nil {
		return err
	}
	err = errors.Join(fillPlaces(f, generation, r), f.Close())
	if err != nil {
		return errors.Join(err, os.Remove(path))
	}
	return os.Rename(path, filepath.Join(dir, placesName))
}

func fillPlaces(f *os.File, generation journal.Generation, r *roster) error {
	w := bufio.NewWriterSize(f, 1<<20)
	sum := crc32.New(castagnoli())
	out := io.MultiWriter(w, sum)
	at := int64(placesHead)
	if _, err := w.Write(make([]byte, placesHead)); err != nil {
		return err
	}
	var list []byte
	err := r.reading(func(read reader) error {
		for _, resident := range slices.Sorted(maps.Keys(r.known)) {
			slips, err := read(resident)
			if err != nil {
				return err
			}
			if _, err := out.Write(slips); err != nil {
				return err
			}
			k := r.known[resident]
			list = appendString(list, resident)
			list = binary.AppendUvarint(list, uint64(at))
			list = binary.AppendUvarint(list, uint64(len(slips)))
			list = binary.AppendUvarint(list, uint64(k.versions))
			list = binary.AppendUvarint(list, map[bool]uint64{true: 1}[k.unjudged])
			at += int64(len(slips))
		}
		return nil
	})
	if err != nil {
		return err
	}
	if _, err := out.Write(list); err != nil {
		return err
	}
	if err := w.Flush(); err != nil {
		return err
	}
	head := append(make([]byte, 0, placesHead), placesMagic...)
	head = binary.LittleEndian.AppendUint32(head, placesFormat)
	head = append(head, generation[:]...)
	head = binary.LittleEndian.AppendUint64(head, uint64(r.end))
	head = binary.LittleEndian.AppendUint32(head, r.chain)
	head = binary.LittleEndian.AppendUint64(head, uint64(r.items))
	head = binary.LittleEndian.AppendUint64(head, uint64(at))
	head = binary.LittleEndian.AppendUint32(head, sum.Sum32())
	head = binary.LittleEndian.AppendUint32(head, crc32.Checksum(head, castagnoli()))
	_, err = f.WriteAt(head, 0)
	return err
}

// dropCaches removes what is known of notes beside the ledger and the search part, and what a crash left of writing it.
func (w *Writer) dropCaches() error {
	var err error
	for _, name := range []string{placesName, newPlacesName, judgedName, newJudgedName} {
		err = errors.Join(err, removeIfThere(filepath.Join(w.dir, name)))
	}
	return err
}
