package guard

import (
	"encoding/json"
	"fmt"
	"io"
	"os"
	"sync"
	"time"
)

// An AccessLog is a file that only grows, with one JSON object a line: who saw which resident where,
// and who came and went. Make one with [OpenAccessLog]. It is safe for concurrent use.
type AccessLog struct {
	mu     sync.Mutex
	f      *os.File
	recent map[seen]time.Time // when a line was last written
}

// An Access is one line of the access log.
type Access struct {
	Time     time.Time `json:"time"`
	User     string    `json:"user"` // empty where there are no accounts, and for a name that is no user's
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
type seen struct{ user, resident, place string }

// While a note is typed, its resident is shown again with every key; once in so long is told.
const (
	sameSight = time.Minute
	maxRecent = 4096 // sights remembered; beyond it one may be told twice
)

// OpenAccessLog opens the file to add to it, and makes it, for its owner alone, where there is none.
func OpenAccessLog(file string) (*AccessLog, error) {
	f, err := os.OpenFile(file, os.O_RDWR|os.O_CREATE|os.O_APPEND, 0o600)
	if err != nil {
		return nil, err
	}
	l := &AccessLog{f: f, recent: map[seen]time.Time{}}
	if err := l.endLine(); err != nil {
		f.Close()
		return nil, fmt.Errorf("%s: %w", file, err)
	}
	return l, nil
}

// endLine ends a last line that was cut off, so that the next one is not lost with it.
func (l *AccessLog) endLine() error {
	info, err := l.f.Stat()
	if err != nil {
		return err
	}
	if !info.Mode().IsRegular() {
		return fmt.Errorf("want a regular file")
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
			key := seen{a.User, a.Resident, a.Place}
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
