package finding

import (
	"crypto/sha256"
	"encoding/binary"
	"encoding/hex"
	"strings"
)

// idBytes of a SHA-256 hash make an id: of a million findings, two share one with a chance of about
// 1 in 37 million.
const idBytes = 8

// Identify sets the ids of all findings on one resident, given in their order. An id comes from the
// rule, the resident, the note (or the shift that has none), the words flagged, and how many findings
// before it have all of these in common. It names no place, so it stays when the notes are checked
// again or when the note is edited elsewhere; it also leaves out the severity and the sentences, which
// policy and later versions may change.
func Identify(fs []Finding) {
	type key struct{ rule, resident, note, words string }
	before := make(map[key]uint64)
	for i := range fs {
		f := &fs[i]
		k := key{f.Rule, f.Resident, "note " + f.Note, strings.Join(strings.Fields(f.Text), " ")}
		if f.Note == "" {
			k.note = "shift " + f.Shift
		}
		f.ID = id(before[k], k.rule, k.resident, k.note, k.words)
		before[k]++
	}
}

func id(ordinal uint64, parts ...string) string {
	h := sha256.New()
	number := func(n uint64) {
		var b [8]byte
		binary.BigEndian.PutUint64(b[:], n)
		h.Write(b[:])
	}
	for _, p := range parts {
		number(uint64(len(p))) // so that the ends of the parts count
		h.Write([]byte(p))
	}
	number(ordinal)
	return hex.EncodeToString(h.Sum(nil)[:idBytes])
}

// IsID reports whether s has the form of an id.
func IsID(s string) bool {
	if len(s) != 2*idBytes {
		return false
	}
	for _, r := range s {
		if !strings.ContainsRune("0123456789abcdef", r) {
			return false
		}
	}
	return true
}
