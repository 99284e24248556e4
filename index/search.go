package index

import (
	"crypto/sha256"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"sync"
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
const searchFormat = 5

// A mark is what is known of a search part. It is put down when the part is closed, with the sums of its
// files.
type mark struct {
	Format     int    `json:"format"`
	Generation []byte `json:"generation"` // of the journal
	Applied    int64  `json:"applied"`    // offset in the journal up to which all is in
	Vocabulary []byte `json:"vocabulary"` // digest of the words that notes were read with
}

// readMark reads the mark of a folder's search part, if it has one that was written for the journal's
// generation.
func readMark(dir string, generation journal.Generation) (mark, bool) {
	s, _, err := readSums(filepath.Join(dir, searchName))
	return s.Mark, err == nil && string(s.Mark.Generation) == string(generation[:])
}

// A searchPart is the bleve index of the notes in the journal. It can be made anew from them at any time.
type searchPart struct {
	path     string
	index    bleve.Index
	mark     mark
	readOnly bool
	known    map[string]knownSum // sums of its files when it was opened to be written
	spoilt   bool                // a write failed, so that the mark may not say what is in there
}

// errNoSearch says that there is no search part for the journal as it is. A noSearchError says why.
var errNoSearch = errors.New("there is no search part for these notes")

type noSearchError struct{ why string }

func (e *noSearchError) Error() string { return "the search part " + e.why }

func (e *noSearchError) Is(err error) bool { return err == errNoSearch }

// sound is what was found to be as it was written, so that it is looked at only once.
type sound struct {
	mu   sync.Mutex
	sums string
}

// check holds the files of a search part against their sums.
func (c *sound) check(search string, s *sums, text []byte) error {
	c.mu.Lock()
	defer c.mu.Unlock()
	if c.sums == string(text) {
		return nil
	}
	if err := s.check(search); err != nil {
		return err
	}
	c.sums = string(text)
	return nil
}

// openSearch opens the search part of the journal's generation, waiting for others that shut it out. The
// error is errNoSearch where it has to be made anew, or a *FormatError or *LockedError.
func openSearch(dir string, generation journal.Generation, readOnly bool, wait time.Duration, checked *sound) (*searchPart, error) {
	path := filepath.Join(dir, searchName)
	s, text, err := soundSums(dir, generation, checked)
	if err != nil {
		return nil, err
	}
	known := s.segments(path)
	index, err := bleve.OpenUsing(path, map[string]any{"read_only": readOnly, "bolt_timeout": wait.String()})
	switch {
	case errors.Is(err, bolterrors.ErrTimeout) && readOnly:
		return nil, &LockedError{dir, "written"}
	case errors.Is(err, bolterrors.ErrTimeout):
		return nil, &LockedError{dir, "read"}
	case errors.Is(err, fs.ErrPermission):
		return nil, err
	case err != nil:
		return nil, &noSearchError{fmt.Sprintf("cannot be opened (%v)", err)}
	}
	part := &searchPart{path: path, index: index, mark: s.Mark, readOnly: readOnly, known: known}
	if !readOnly {
		// From here on the files are not what the sums say.
		err = os.Remove(filepath.Join(path, sumsName))
	} else if _, now, again := readSums(path); again != nil || string(now) != string(text) {
		err = &LockedError{dir, "written"} // a writer came before the library had them open
	}
	if err != nil {
		return nil, errors.Join(err, index.Close())
	}
	return part, nil
}

// soundSums reads the sums of the search part of the journal's generation, and holds its files against them.
func soundSums(dir string, generation journal.Generation, checked *sound) (sums, []byte, error) {
	path := filepath.Join(dir, searchName)
	s, text, err := readSums(path)
	if errors.Is(err, fs.ErrNotExist) {
		why := "is missing"
		if _, err := os.Stat(path); err == nil {
			why = "was left unfinished by a run that was stopped, or by an older stance"
		}
		return s, nil, &noSearchError{why}
	}
	switch {
	case errors.Is(err, fs.ErrPermission):
		return s, nil, err
	case err != nil:
		return s, nil, &noSearchError{"is damaged"}
	case s.Mark.Format != searchFormat:
		return s, nil, &FormatError{Dir: dir, Have: s.Mark.Format, Want: searchFormat}
	case string(s.Mark.Generation) != string(generation[:]):
		return s, nil, &noSearchError{"is of other notes"}
	}
	switch err := checked.check(path, &s, text); {
	case errors.Is(err, errSums):
		return s, nil, &noSearchError{"is damaged"}
	case err != nil:
		return s, nil, err
	}
	return s, text, nil
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
	s := &searchPart{path: path, index: index, mark: mark{
		Format:     searchFormat,
		Generation: generation[:],
		Applied:    journal.Start,
		Vocabulary: vocabulary(lex),
	}}
	// bleve leaves the mode of this one file to the umask.
	if err := os.Chmod(filepath.Join(path, "index_meta.json"), 0o600); err != nil {
		return nil, errors.Join(err, index.Close())
	}
	return s, nil
}

// write puts documents in, in place of those with the same id, and notes that all up to an offset of the
// journal is in.
func (s *searchPart) write(docs []*document.Document, applied int64) error {
	if len(docs) > 0 {
		batch := s.index.NewBatch()
		for _, d := range docs {
			if err := batch.IndexAdvanced(d); err != nil {
				return err
			}
		}
		if err := s.index.Batch(batch); err != nil {
			s.spoilt = true
			return err
		}
	}
	s.mark.Applied = max(s.mark.Applied, applied)
	return nil
}

// close closes the part. What was written is put down with its sums, or it counts as nothing.
func (s *searchPart) close() error {
	err := s.index.Close()
	if err != nil || s.readOnly || s.spoilt {
		return err
	}
	return writeSums(s.path, s.mark, s.known)
}

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
