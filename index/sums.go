package index

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"hash/crc32"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"strings"

	"example.com/stance/lint/filelock"
)

const (
	sumsName    = "sums"     // file in the search part
	newSumsName = "sums.new" // what is about to take its place
)

// Sums are what the search part's files were when it was closed, and what was in them. The library that
// reads these files notices no more than some of the damage to them, and answers wrongly or panics over the
// rest, so they are held against their sums before it is let at them. While a writer has the part open there
// are none: what it leaves when it is killed is taken for nothing.
type sums struct {
	Mark  mark      `json:"mark"`
	Files []fileSum `json:"files"`
}

type fileSum struct {
	Name string `json:"name"` // within the search part, with slashes
	Size int64  `json:"size"`
	Sum  uint32 `json:"sum"` // CRC-32C
}

// errSums says that the files of the search part are not what they were when it was closed.
var errSums = errors.New("the files are not as they were written")

// readSums reads the sums of a search part, and gives their bytes too. The error is fs.ErrNotExist where
// there are none.
func readSums(search string) (sums, []byte, error) {
	var s sums
	b, err := os.ReadFile(filepath.Join(search, sumsName))
	if err != nil {
		return s, nil, err
	}
	// The first line is the sum of the rest.
	sum, body, ok := bytes.Cut(b, []byte("\n"))
	if !ok || string(sum) != sumLine(body) || json.Unmarshal(body, &s) != nil {
		return sums{}, nil, errSums
	}
	return s, b, nil
}

func sumLine(body []byte) string {
	return fmt.Sprintf("%08x", crc32.Checksum(body, castagnoli()))
}

func castagnoli() *crc32.Table { return crc32.MakeTable(crc32.Castagnoli) }

// A knownSum is the sum of a file as it was when it was looked at.
type knownSum struct {
	fileSum
	info os.FileInfo
}

// segmentSuffix ends the names of the files that the library writes once and never changes.
const segmentSuffix = ".zap"

// segments are what the system says of the files that never change, for writeSums.
func (s *sums) segments(search string) map[string]knownSum {
	known := map[string]knownSum{}
	for _, f := range s.Files {
		if !strings.HasSuffix(f.Name, segmentSuffix) {
			continue
		}
		if info, err := os.Stat(filepath.Join(search, filepath.FromSlash(f.Name))); err == nil {
			known[f.Name] = knownSum{f, info}
		}
	}
	return known
}

// check holds the files of a search part against their sums.
func (s *sums) check(search string) error {
	for _, want := range s.Files {
		got, err := sumOf(search, want.Name)
		switch {
		case errors.Is(err, fs.ErrPermission):
			return err
		case err != nil || got != want:
			return fmt.Errorf("%s: %w", want.Name, errSums)
		}
	}
	return nil
}

// writeSums writes the sums of a search part whose files will not change any more. Segments that are as they were when
// they were held against their sums are not read again.
func writeSums(search string, m mark, known map[string]knownSum) error {
	s := sums{Mark: m}
	err := filepath.WalkDir(search, func(path string, d fs.DirEntry, err error) error {
		if err != nil || !d.Type().IsRegular() {
			return err
		}
		name, err := filepath.Rel(search, path)
		if err != nil || name == newSumsName {
			return err
		}
		name = filepath.ToSlash(name)
		info, err := d.Info()
		if err != nil {
			return err
		}
		f := known[name].fileSum
		if !unchanged(info, known[name].info) {
			f, err = sumOf(search, name)
		}
		s.Files = append(s.Files, f)
		return err
	})
	if err != nil {
		return err
	}
	body, err := json.Marshal(s)
	if err != nil {
		return err
	}
	return replaceFile(search, sumsName, newSumsName, append([]byte(sumLine(body)+"\n"), body...))
}

func sumOf(search, name string) (fileSum, error) {
	f, err := os.Open(filepath.Join(search, filepath.FromSlash(name)))
	if err != nil {
		return fileSum{}, err
	}
	h := crc32.New(castagnoli())
	size, err := io.Copy(h, f)
	return fileSum{name, size, h.Sum32()}, errors.Join(err, f.Close())
}

// replaceFile puts a file in the place of any that is there, all at once.
func replaceFile(dir, name, newName string, b []byte) error {
	path := filepath.Join(dir, newName)
	f, err := os.OpenFile(path, os.O_WRONLY|os.O_CREATE|os.O_TRUNC, 0o600)
	if err != nil {
		return err
	}
	_, err = f.Write(b)
	if err == nil {
		err = f.Sync()
	}
	if err = errors.Join(err, f.Close()); err != nil {
		return errors.Join(err, os.Remove(path))
	}
	if err := os.Rename(path, filepath.Join(dir, name)); err != nil {
		return err
	}
	return filelock.SyncFolder(dir)
}
