// Package names hides residents and authors behind pseudonyms that stay the same as long as the key
// does, so that an audit can leave the home and still be followed from one year to the next.
package names

import (
	"cmp"
	"crypto/hmac"
	"crypto/rand"
	"crypto/sha256"
	"encoding/base32"
	"encoding/hex"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"slices"
	"strings"
	"unicode"

	"golang.org/x/text/cases"
	"golang.org/x/text/unicode/norm"

	"example.com/stance/lint/bounded"
)

// keySize is the bytes of a key: as many as the hash gives, as RFC 2104, section 3, advises.
const keySize = sha256.Size

// mostKey bounds a file of a key, in bytes, with what an editor may put around the digits.
const mostKey = 4 * bounded.KiB

// ReadKey reads the key in a file, 64 hexadecimal digits. Where there is no file it makes one with a
// new key that only its owner may read, and reports that. Errors name the file and never the key.
func ReadKey(name string) (key []byte, made bool, err error) {
	b, err := bounded.File(name, mostKey)
	switch {
	case errors.Is(err, fs.ErrNotExist):
		key, err = makeKey(name)
		return key, err == nil, err
	case errors.As(err, new(*bounded.TooLongError)):
		return nil, false, fmt.Errorf("%s: %w", name, err)
	case err != nil:
		return nil, false, err
	}
	key, err = hex.DecodeString(strings.TrimSpace(string(b)))
	if err != nil || len(key) != keySize {
		return nil, false, fmt.Errorf("%s: is no key, want a line of %d hexadecimal digits", name, 2*keySize)
	}
	return key, false, nil
}

func makeKey(name string) ([]byte, error) {
	key := make([]byte, keySize)
	rand.Read(key) // never fails
	f, err := os.OpenFile(name, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o600)
	if err != nil {
		return nil, err
	}
	_, err = fmt.Fprintln(f, hex.EncodeToString(key))
	return key, errors.Join(err, f.Close())
}

// A Hider gives pseudonyms. It is not safe for concurrent use.
type Hider struct {
	key   []byte
	fold  cases.Caser
	known map[string][]known // by the first word, folded
	seen  map[string]bool
}

// A known is a name to look for in texts.
type known struct {
	words     []string // folded
	pseudonym string
}

// NewHider is a hider that knows no names yet.
func NewHider(key []byte) *Hider {
	return &Hider{key: key, fold: cases.Fold(), known: make(map[string][]known), seen: make(map[string]bool)}
}

// Mark tells keys apart and does not give the key away.
func (h *Hider) Mark() string { return h.code("mark", "") }

// Resident is the pseudonym of a resident, "resident-k4w2…"; none for no name.
func (h *Hider) Resident(name string) string { return h.pseudonym("resident", name) }

// Author is the pseudonym of an author.
func (h *Hider) Author(name string) string { return h.pseudonym("author", name) }

func (h *Hider) pseudonym(kind, name string) string {
	if name == "" {
		return ""
	}
	return kind + "-" + h.code(kind, name)
}

// code is 50 bits of the keyed hash of a name (HMAC-SHA-256, RFC 2104): among 10,000 residents two
// share one with a chance of one in twenty million.
func (h *Hider) code(kind, name string) string {
	mac := hmac.New(sha256.New, h.key)
	mac.Write([]byte(kind + "\x00" + name)) // never fails
	return strings.ToLower(base32.StdEncoding.EncodeToString(mac.Sum(nil))[:10])
}

// Know has Text look for the names.
func (h *Hider) Know(resident, author string) {
	h.know("resident", resident)
	h.know("author", author)
}

func (h *Hider) know(kind, name string) {
	if h.seen[kind+"\x00"+name] {
		return
	}
	h.seen[kind+"\x00"+name] = true
	var words []string
	for _, w := range split(name) {
		words = append(words, h.folded(name[w.start:w.end]))
	}
	if len(words) > 0 {
		h.known[words[0]] = append(h.known[words[0]], known{words, h.pseudonym(kind, name)})
	}
}

// Text is s with every known name, in any case and as whole words, replaced by its pseudonym. What
// stands between the words of a name may differ: "R 101" and "r.101" are R-101 too.
func (h *Hider) Text(s string) string {
	words := split(s)
	var b strings.Builder
	done := 0
	for i := 0; i < len(words); {
		k, ok := h.at(s, words[i:])
		if !ok {
			i++
			continue
		}
		b.WriteString(s[done:words[i].start])
		b.WriteString(k.pseudonym)
		i += len(k.words)
		done = words[i-1].end
	}
	b.WriteString(s[done:])
	return b.String()
}

// at is the longest known name that starts with the first of the words.
func (h *Hider) at(s string, words []word) (known, bool) {
	var fits []known
	for _, k := range h.known[h.folded(s[words[0].start:words[0].end])] {
		if h.matches(s, words, k) {
			fits = append(fits, k)
		}
	}
	if len(fits) == 0 {
		return known{}, false
	}
	return slices.MinFunc(fits, func(a, b known) int {
		return cmp.Or(cmp.Compare(len(b.words), len(a.words)), cmp.Compare(b.pseudonym, a.pseudonym))
	}), true
}

// betweenWords is how many bytes may stand between two words of one name.
const betweenWords = 3

func (h *Hider) matches(s string, words []word, k known) bool {
	if len(k.words) > len(words) {
		return false
	}
	for i, want := range k.words {
		w := words[i]
		if i > 0 && w.start-words[i-1].end > betweenWords || h.folded(s[w.start:w.end]) != want {
			return false
		}
	}
	return true
}

func (h *Hider) folded(s string) string { return h.fold.String(norm.NFC.String(s)) }

// A word is a run of letters, marks and digits.
type word struct{ start, end int }

func split(s string) []word {
	var words []word
	start := -1
	for i, r := range s {
		inWord := unicode.IsLetter(r) || unicode.IsDigit(r) || unicode.IsMark(r)
		switch {
		case inWord && start < 0:
			start = i
		case !inWord && start >= 0:
			words = append(words, word{start, i})
			start = -1
		}
	}
	if start >= 0 {
		words = append(words, word{start, len(s)})
	}
	return words
}
