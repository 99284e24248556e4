package guard

import (
	"crypto/rand"
	"crypto/subtle"
	"encoding/base64"
	"errors"
	"fmt"
	"strings"
	"unicode/utf8"

	"golang.org/x/crypto/argon2"
	"golang.org/x/text/unicode/norm"
)

// The second recommended option of RFC 9106 (2021), section 4: Argon2id with three passes, four
// lanes, 64 MiB, a salt of 128 bits and a tag of 256.
const (
	passes    = 3
	lanes     = 4
	memoryKiB = 64 * 1024
	saltBytes = 16
	tagBytes  = 32
)

// MinPassword is the fewest characters of a password where it is the only proof of who somebody is:
// NIST SP 800-63B-4 (2025), section 3.1.1.2. Characters are Unicode code points.
const MinPassword = 15

// maxPassword bounds the work of one login. The same section asks for at least 64 characters.
const maxPassword = 1024 // bytes

// fewestDistinct is how many different characters a password needs, so that one key held down is
// none. Common practice: no list of known passwords comes with stance.
const fewestDistinct = 5

// checkPassword says what is wrong with a new password. Beyond the length there are no rules on its
// make-up, as NIST SP 800-63B-4 section 3.1.1.2 asks; what is easily guessed is refused.
func checkPassword(user, password string) error {
	folded := strings.ToLower(password)
	distinct := map[rune]bool{}
	for _, r := range folded {
		distinct[r] = true
	}
	switch {
	case !utf8.ValidString(password):
		return errors.New("want a password in UTF-8")
	case utf8.RuneCountInString(password) < MinPassword:
		return fmt.Errorf("want a password of at least %d characters; several words are easiest to remember", MinPassword)
	case len(password) > maxPassword:
		return fmt.Errorf("want a password of at most %d bytes", maxPassword)
	case len(distinct) < fewestDistinct:
		return fmt.Errorf("want a password of at least %d different characters", fewestDistinct)
	case strings.Contains(folded, strings.ToLower(user)) && utf8.RuneCountInString(password)-utf8.RuneCountInString(user) < MinPassword:
		return fmt.Errorf("want a password that does not rest on the user's name: %d characters beside it", MinPassword)
	}
	return nil
}

// hashPassword is the password in the PHC string format, $argon2id$v=19$m=65536,t=3,p=4$salt$tag, with
// a new salt.
func hashPassword(password string) string {
	salt := make([]byte, saltBytes)
	rand.Read(salt) // never fails: crypto/rand ends the program instead
	return phcPrefix() + base64.RawStdEncoding.EncodeToString(salt) + "$" + base64.RawStdEncoding.EncodeToString(tag(password, salt))
}

func phcPrefix() string {
	return fmt.Sprintf("$argon2id$v=%d$m=%d,t=%d,p=%d$", argon2.Version, memoryKiB, passes, lanes)
}

// tag hashes a password. Its characters are composed first, because keyboards differ in how they send
// an accented letter.
func tag(password string, salt []byte) []byte {
	return argon2.IDKey(norm.NFC.Bytes([]byte(password)), salt, passes, memoryKiB, lanes, tagBytes)
}

// parsePHC takes a stored password apart. Only the parameters above are taken, so that a file cannot
// ask for less work, or for more memory than there is.
func parsePHC(s string) (salt, want []byte, ok bool) {
	rest, ok := strings.CutPrefix(s, phcPrefix())
	if !ok {
		return nil, nil, false
	}
	saltText, tagText, ok := strings.Cut(rest, "$")
	if !ok {
		return nil, nil, false
	}
	strict := base64.RawStdEncoding.Strict()
	salt, saltErr := strict.DecodeString(saltText)
	want, tagErr := strict.DecodeString(tagText)
	return salt, want, saltErr == nil && tagErr == nil && len(salt) == saltBytes && len(want) == tagBytes
}

// matches reports whether password is the one that was stored. It takes the same time for every
// password, and 64 MiB.
func matches(stored, password string) bool {
	salt, want, ok := parsePHC(stored)
	if !ok {
		return false
	}
	return subtle.ConstantTimeCompare(tag(password, salt), want) == 1
}
