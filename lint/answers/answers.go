// Package answers keeps what people say of findings, in a file that only grows.
//
// Each line of the file is one [Entry] in JSON. It carries the hash of the line before it and its own,
// so that [Read] shows where a line among others was edited, removed or moved. What no file can show by
// itself is that its last lines are gone, or that all of it was made anew: for that, [Book.Seal] is kept
// elsewhere and later given to [Book.Since]. [Append] adds one answer, safely beside other writers. The
// last answer to a finding is the one that counts.
package answers

import (
	"bufio"
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"example.com/stance/lint/filelock"
	"example.com/stance/lint/finding"
)

// maxLine is the most bytes that one line may have.
const maxLine = 1 << 20

// An Entry is one line of the file.
type Entry struct {
	Finding string          `json:"finding"` // the finding's id
	As      finding.Verdict `json:"as"`
	Why     string          `json:"why"`
	By      string          `json:"by"`
	Time    time.Time       `json:"time"`
	Prev    string          `json:"prev"` // hash of the line before, empty in the first
	Hash    string          `json:"hash"` // SHA-256, in hex, of this line up to the comma before "hash"
}

// A Book is the answers of one file. It does not change and is safe for concurrent use.
type Book struct {
	entries []Entry
	last    map[string]int // of each finding, its last entry
	good    int64          // bytes up to the end of the last good line
	torn    int            // number of an unfinished last line, or 0
	open    bool           // the last good line has no line end
}

// Of is the last answer to a finding.
func (b *Book) Of(id string) (finding.Answer, bool) {
	i, ok := b.last[id]
	if !ok {
		return finding.Answer{}, false
	}
	e := &b.entries[i]
	return finding.Answer{As: e.As, Why: e.Why, By: e.By, Time: e.Time}, true
}

// Entries are all answers, in the order given.
func (b *Book) Entries() []Entry { return slices.Clone(b.entries) }

// Seal stands for all answers as they are now: the hash of the last; empty where there is none. Kept where
// whoever writes the file cannot change it, it shows later what Since says.
func (b *Book) Seal() string {
	if len(b.entries) == 0 {
		return ""
	}
	return b.entries[len(b.entries)-1].Hash
}

// Since is how many answers were given after those that a seal stands for. Where they are no longer in the
// file as they were, which includes that their last was taken out, it is false.
func (b *Book) Since(seal string) (int, bool) {
	i := slices.IndexFunc(b.entries, func(e Entry) bool { return e.Hash == seal })
	return len(b.entries) - 1 - i, i >= 0
}

// IsSeal reports whether s may be a Seal: a SHA-256 in hex.
func IsSeal(s string) bool {
	b, err := hex.DecodeString(s)
	return err == nil && len(b) == sha256.Size && strings.ToLower(s) == s
}

// Torn is the number of the last line where its writer was stopped half way, else 0. Nobody was told
// that this answer had been taken, and the next Append cuts it off.
func (b *Book) Torn() int { return b.torn }

// A BrokenError says where a file is not as it was written.
type BrokenError struct {
	File string
	Line int    // 1-based
	Want string // what was expected; never what stands there
}

// Error is "file:line: want …".
func (e *BrokenError) Error() string { return fmt.Sprintf("%s:%d: want %s", e.File, e.Line, e.Want) }

// Read reads the answers of r, which is called name in errors, and holds each line against the one
// before. The error is a *BrokenError at the first line that does not fit, or one of reading.
func Read(name string, r io.Reader) (*Book, error) {
	b := &Book{last: make(map[string]int)}
	in := bufio.NewReader(r)
	prev := ""
	for number := 1; ; number++ {
		line, err := readLine(in)
		if err != nil && err != io.EOF {
			return nil, fmt.Errorf("%s: reading answers: %w", name, err)
		}
		ended := err == nil
		if len(line) == 0 && !ended {
			return b, nil
		}
		if len(line) > maxLine {
			return nil, &BrokenError{name, number, fmt.Sprintf("a line of at most %d bytes", maxLine)}
		}
		if !ended && !json.Valid(line) {
			b.torn = number
			return b, nil
		}
		e, want := parse(line)
		switch {
		case want != "":
		case e.Prev != prev && number == 1:
			want = "the first line of the file; one or more lines before this one are gone"
		case e.Prev != prev:
			want = "the line that followed the one before; a line was edited, moved or removed here"
		}
		if want != "" {
			return nil, &BrokenError{name, number, want}
		}
		b.last[e.Finding] = len(b.entries)
		b.entries = append(b.entries, e)
		b.good += int64(len(line))
		prev = e.Hash
		if !ended {
			b.open = true
			return b, nil
		}
		b.good++
	}
}

// readLine reads a line without its end; io.EOF where it has none. Of a line that is too long it
// gives the first bytes only.
func readLine(in *bufio.Reader) ([]byte, error) {
	var line []byte
	for {
		part, err := in.ReadSlice('\n')
		line = append(line, part...)
		switch {
		case err == nil:
			return line[:len(line)-1], nil
		case err != bufio.ErrBufferFull || len(line) > maxLine:
			if err == bufio.ErrBufferFull {
				err = nil
			}
			return line, err
		}
	}
}

// parse reads one line. The string says what was wanted where the line was not written by Append.
func parse(line []byte) (Entry, string) {
	var e Entry
	dec := json.NewDecoder(bytes.NewReader(line))
	dec.DisallowUnknownFields()
	if err := dec.Decode(&e); err != nil {
		return Entry{}, "one answer as a JSON object"
	}
	if err := e.check(); err != nil {
		return Entry{}, err.Error()
	}
	written, err := e.encode()
	if err != nil || !bytes.Equal(written, line) {
		return Entry{}, "the line as it was written; its hash does not fit"
	}
	return e, ""
}

// check says what is wrong with the parts that a person gives.
func (e *Entry) check() error {
	switch {
	case !finding.IsID(e.Finding):
		return errors.New("a finding's id, 16 digits of 0-9 and a-f")
	case !slices.Contains(finding.Verdicts(), e.As):
		return errors.New("an answer as confirmed, amended, mistaken or looking")
	case strings.TrimSpace(e.Why) == "":
		return errors.New("a reason for the answer")
	case strings.TrimSpace(e.By) == "":
		return errors.New("who gives the answer")
	case e.Time.IsZero():
		return errors.New("the time of the answer")
	}
	return nil
}

// encode writes the line, without its end and with the hash that the other fields give.
func (e *Entry) encode() ([]byte, error) {
	bare := *e
	bare.Hash = ""
	var buf bytes.Buffer
	enc := json.NewEncoder(&buf)
	enc.SetEscapeHTML(false)
	if err := enc.Encode(bare); err != nil {
		return nil, err
	}
	head, ok := bytes.CutSuffix(buf.Bytes(), []byte(",\"hash\":\"\"}\n"))
	if !ok {
		return nil, errors.New("an answer's last field is not its hash")
	}
	sum := sha256.Sum256(head)
	return fmt.Appendf(head, `,"hash":"%s"}`, hex.EncodeToString(sum[:])), nil
}

// Append adds an answer to the finding of that id to the file, which is made where there is none, and
// returns once it is on the disk. It waits for other writers, and adds nothing to a file that Read
// refuses. The time of the answer is kept to the second.
func Append(file, id string, a finding.Answer) (err error) {
	e := Entry{Finding: id, As: a.As, Why: strings.TrimSpace(a.Why), By: strings.TrimSpace(a.By), Time: a.Time.Truncate(time.Second)}
	if err := e.check(); err != nil {
		return fmt.Errorf("want %w", err)
	}
	f, made, err := openFile(file)
	if err != nil {
		return err
	}
	// Closing gives the lock back.
	defer func() { err = errors.Join(err, f.Close()) }()
	if err := filelock.Wait(f); err != nil {
		return fmt.Errorf("%s: waiting for other writers: %w", file, err)
	}
	b, err := Read(file, f)
	if err != nil {
		return err
	}
	if n := len(b.entries); n > 0 {
		e.Prev = b.entries[n-1].Hash
	}
	line, err := e.encode()
	if err != nil {
		return err
	}
	if len(line) > maxLine {
		return fmt.Errorf("want an answer of at most %d bytes", maxLine)
	}
	if b.open {
		line = append([]byte("\n"), line...)
	}
	if err := f.Truncate(b.good); err != nil { // a torn line
		return err
	}
	if _, err := f.WriteAt(append(line, '\n'), b.good); err != nil {
		return err
	}
	if err := f.Sync(); err != nil || !made {
		return err
	}
	return filelock.SyncFolder(filepath.Dir(file))
}

// openFile opens the file for its owner alone, because reasons may repeat words of notes, and tells
// whether it made it.
func openFile(file string) (*os.File, bool, error) {
	f, err := os.OpenFile(file, os.O_RDWR|os.O_CREATE|os.O_EXCL, 0o600)
	if !errors.Is(err, os.ErrExist) {
		return f, true, err
	}
	f, err = os.OpenFile(file, os.O_RDWR, 0)
	return f, false, err
}
