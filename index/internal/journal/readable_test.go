package journal

import (
	"bytes"
	"errors"
	"io"
	"testing"
)

// A worn disk cannot read one of its sectors.
type worn struct {
	io.ReaderAt
	at int64
}

func (w worn) ReadAt(b []byte, at int64) (int, error) {
	if at <= w.at && w.at < at+int64(len(b)) {
		return 0, errors.New("input/output error")
	}
	return w.ReaderAt.ReadAt(b, at)
}

func TestReadable(t *testing.T) {
	file := bytes.Repeat([]byte("note"), 3*sector/4+10)
	want := bytes.Clone(file)
	clear(want[sector : 2*sector])
	if got := readable(worn{bytes.NewReader(file), sector + 7}, int64(len(file))); !bytes.Equal(got, want) {
		t.Error("want all but the sector that cannot be read")
	}
	if got := readable(bytes.NewReader(file), int64(len(file))); !bytes.Equal(got, file) {
		t.Error("want all of a file that can be read")
	}
}
