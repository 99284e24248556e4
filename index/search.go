package index

import (
	"crypto/sha256"
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"time"

	"github.com/blevesearch/bleve/v2"
	"github.com/blevesearch/bleve/v2/document"
	"github.com/blevesearch/bleve/v2/index/scorch"
	bolterrors "go.etcd.io/bbolt/errors"

	"example.com/stance/index/internal/journal"
)

const searchName = "search" // folder of the bleve index

// searchFormat is the number of the fields and terms under which notes are found. It goes up with any
// change of them that an older index must be made anew for.
const searchFormat = 3

// A mark is what the search part knows of itself. It is written together with each batch, so that it
// always says what is in there.
type mark struct {
	Format     int    `json:"format"`
	Generation []byte `json:"generation"` // of the journal
	Applied    int64  `json:"applied"`    // offset in the journal up to which all is in
	Vocabulary []byte `json:"vocabulary"` // digest of the words that notes were read with
}

var markKey = []byte("stance")

// A searchPart is the bleve index of the notes in the journal. It can be made anew from them at any time.
type searchPart struct {
	index bleve.Index
	mark  mark
}

// errNoSearch says that there is no search part for the journal as it is.
var errNoSearch = errors.New("the search part is missing")

// openSearch opens the search part of the journal's generation, waiting for others that shut it out. The
// error is errNoSearch where it has to be made anew, or a *FormatError or *LockedError.
func openSearch(dir string, generation journal.Generation, readOnly bool, wait time.Duration) (*searchPart, error) {
	path := filepath.Join(dir, searchName)
	if _, err := os.Stat(path); errors.Is(err, fs.ErrNotExist) {
		return nil, errNoSearch
	}
	index, err := bleve.OpenUsing(path, map[string]any{"read_only": readOnly, "bolt_timeout": wait.String()})
	switch {
	case errors.Is(err, bolterrors.ErrTimeout) && readOnly:
		return nil, &LockedError{dir, "written"}
	case errors.Is(err, bolterrors.ErrTimeout):
		return nil, &LockedError{dir, "read"}
	case errors.Is(err, fs.ErrPermission):
		return nil, err
	case err != nil:
		return nil, fmt.Errorf("%w: %v", errNoSearch, err) // a crash while it was being made, or damage
	}
	s := &searchPart{index: index}
	if err := s.readMark(dir, generation); err != nil {
		return nil, errors.Join(err, index.Close())
	}
	return s, nil
}

func (s *searchPart) readMark(dir string, generation journal.Generation) error {
	value, err := s.index.GetInternal(markKey)
	if err != nil {
		return err
	}
	if err := json.Unmarshal(value, &s.mark); err != nil {
		return errNoSearch
	}
	if s.mark.Format != searchFormat {
		return &FormatError{Dir: dir, Have: s.mark.Format, Want: searchFormat}
	}
	if string(s.mark.Generation) != string(generation[:]) {
		return errNoSearch
	}
	return nil
}

// createSearch makes an empty search part in place of any that is there.
func createSearch(dir string, generation journal.Generation, lex Reader) (*searchPart, error) {
	path := filepath.Join(dir, searchName)
	if err := os.RemoveAll(path); err != nil {
		return nil, err
	}
	// Documents are made here and not by a mapping, so the mapping says nothing.
	index, err := bleve.NewUsing(path, bleve.NewIndexMapping(), scorch.Name, scorch.Name, nil)
	if err != nil {
		return nil, err
	}
	s := &searchPart{index: index, mark: mark{
		Format:     searchFormat,
		Generation: generation[:],
		Applied:    journal.Start,
		Vocabulary: vocabulary(lex),
	}}
	// bleve leaves the mode of this one file to the umask.
	err = os.Chmod(filepath.Join(path, "index_meta.json"), 0o600)
	if err == nil {
		err = s.write(nil, journal.Start)
	}
	if err != nil {
		return nil, errors.Join(err, index.Close())
	}
	return s, nil
}

// write puts documents in, in place of those with the same id, and that all up to an offset of the
// journal is in. Both are on the disk when it returns, or neither.
func (s *searchPart) write(docs []*document.Document, applied int64) error {
	next := s.mark
	next.Applied = max(next.Applied, applied)
	value, err := json.Marshal(next)
	if err != nil {
		return err
	}
	batch := s.index.NewBatch()
	for _, d := range docs {
		if err := batch.IndexAdvanced(d); err != nil {
			return err
		}
	}
	batch.SetInternal(markKey, value)
	if err := s.index.Batch(batch); err != nil {
		return err
	}
	s.mark = next
	return nil
}

func (s *searchPart) close() error { return s.index.Close() }

// stale reports whether notes were read with other words than those of the lexicon.
func (s *searchPart) stale(lex Reader) bool {
	return string(s.mark.Vocabulary) != string(vocabulary(lex))
}

// vocabulary is a digest of the words that a lexicon knows.
func vocabulary(lex Reader) []byte {
	h := sha256.New()
	for _, c := range lex.Concepts() {
		fmt.Fprintf(h, "%q %q\n", c.ID, c.Says)
	}
	return h.Sum(nil)
}
