package guard

import (
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"sync"
	"time"
)

// An AccessLog is a file that only grows, with one JSON object a line: who saw which resident where,
// and who came and went. Make one with [OpenAccessLog]. It is safe for concurrent use.
type AccessLog struct {
	file string

	mu     sync.Mutex
	f      *os.File
	recent map[seen]time.Time // when a line was last written
}

// An Access is one line of the access log.
type Access struct {
	Time     time.Time `json:"time"`
	User     string    `json:"user"`          // empty where there are no accounts, and for a name that is no user's
	For      string    `json:"for,omitempty"` // on whose behalf a program that is the user asks, as it says
	Did      Deed      `json:"did"`
	Resident string    `json:"resident,omitempty"` // of saw
	Place    string    `json:"place"`              // the path of the page
}

// A Deed is what an [Access] tells of.
type Deed string

// The deeds.
const (
	Saw     Deed = "saw"     // was shown words, findings or the history of a resident
	Entered Deed = "entered" // logged in
	Refused Deed = "refused" // gave a wrong password, or a name that is no user's
	Left    Deed = "left"    // logged out
)

// seen is what makes two sights of a resident the same.
type seen struct{ user, behalf, resident, place string }

// While a note is typed, its resident is shown again with every key; once in so long is told.
const (
	sameSight = time.Minute
	maxRecent = 4096 // sights remembered; beyond it one may be told twice
)

// OpenAccessLog opens the file to add to it, and makes it, for its owner alone, where there is none.
func OpenAccessLog(file string) (*AccessLog, error) {
	f, err := openLog(file)
	if err != nil {
		return nil, err
	}
	l := &AccessLog{file: file, f: f, recent: map[seen]time.Time{}}
	if err := l.endLine(); err != nil {
		f.Close()
		return nil, fmt.Errorf("%s: %w", file, err)
	}
	return l, nil
}

func openLog(file string) (*os.File, error) {
	f, err := os.OpenFile(file, os.O_RDWR|os.O_CREATE|os.O_APPEND, 0o600)
	if err != nil {
		return nil, err
	}
	info, err := f.Stat()
	switch {
	case err != nil:
	case !info.Mode().IsRegular():
		err = &fs.PathError{Op: "open", Path: file, Err: errors.New("want a regular file")}
	case !barred(info, toChange):
		err = &fs.PathError{Op: "open", Path: file, Err: errors.New("want a file that others cannot change, as after chmod 600")}
	}
	if err != nil {
		f.Close()
		return nil, err
	}
	return f, nil
}

// follow goes on in a new file where the one written to was renamed, as logs are that have grown
// long, or removed; else its lines would be lost without a word.
func (l *AccessLog) follow() error {
	now, err := os.Stat(l.file)
	if err != nil && !errors.Is(err, fs.ErrNotExist) {
		return err
	}
	if err == nil {
		was, err := l.f.Stat()
		if err != nil {
			return err
		}
		if os.SameFile(was, now) {
			return nil
		}
	}
	f, err := openLog(l.file)
	if err != nil {
		return err
	}
	err = l.f.Close()
	l.f = f
	return err
}

// endLine ends a last line that was cut off, as on a full disk, so that the next one is not lost with it.
func (l *AccessLog) endLine() error {
	info, err := l.f.Stat()
	if err != nil {
		return err
	}
	if info.Size() == 0 {
		return nil
	}
	last := make([]byte, 1)
	if _, err := l.f.ReadAt(last, info.Size()-1); err != nil && err != io.EOF {
		return err
	}
	if last[0] == '\n' {
		return nil
	}
	_, err = l.f.Write([]byte("\n"))
	return err
}

// add writes the lines in one go and returns once they are on the disk. Sights told within the last
// minute are left out.
func (l *AccessLog) add(lines ...Access) error {
	l.mu.Lock()
	defer l.mu.Unlock()
	var buf []byte
	fresh := map[seen]time.Time{}
	for _, a := range lines {
		if a.Did == Saw {
			key := seen{a.User, a.For, a.Resident, a.Place}
			if last, ok := l.recent[key]; ok && a.Time.Sub(last) < sameSight {
				continue
			}
			if _, twice := fresh[key]; twice {
				continue
			}
			fresh[key] = a.Time
		}
		line, err := json.Marshal(a)
		if err != nil {
			return err
		}
		buf = append(append(buf, line...), '\n')
	}
	if len(buf) == 0 {
		return nil
	}
	if err := l.follow(); err != nil {
		return err
	}
	if err := l.endLine(); err != nil {
		return err
	}
	if _, err := l.f.Write(buf); err != nil {
		return err
	}
	if err := l.f.Sync(); err != nil {
		return err
	}
	if len(l.recent)+len(fresh) > maxRecent {
		clear(l.recent)
	}
	for key, t := range fresh {
		l.recent[key] = t
	}
	return nil
}

// Close closes the file.
func (l *AccessLog) Close() error {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.f.Close()
}
