package guard

import (
	"bufio"
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"slices"
	"strings"
	"sync"
	"unicode"
	"unicode/utf8"
)

// A User is one line of the file of users.
type User struct {
	Name     string   `json:"user"`
	Password string   `json:"password"` // in the PHC string format, Argon2id
	Roles    []Role   `json:"roles"`
	Units    []string `json:"units"` // AllUnits for every one
}

// Limits of the file of users, far above a group of homes.
const (
	maxUserLine = 16 << 10 // bytes
	maxUsers    = 10_000
	maxName     = 64 // bytes
)

// CheckName says what is wanted of a user's name where this is none.
func CheckName(name string) error {
	if validName(name) {
		return nil
	}
	return fmt.Errorf("want a user's name of 1 to %d letters, digits and . _ - @", maxName)
}

// check says what is wrong with the user, its password aside, as what was wanted.
func (u *User) check() error {
	if err := CheckName(u.Name); err != nil {
		return err
	}
	switch {
	case len(u.Roles) == 0:
		return fmt.Errorf("want roles, out of %s", roleList())
	case len(u.Units) == 0:
		return fmt.Errorf("want units, or %s for every one", AllUnits)
	}
	for i, r := range u.Roles {
		if !slices.Contains(Roles(), r) {
			return fmt.Errorf("want roles out of %s", roleList())
		}
		if slices.Contains(u.Roles[:i], r) {
			return errors.New("want each role once")
		}
	}
	for _, unit := range u.Units {
		if strings.TrimSpace(unit) != unit || unit == "" {
			return errors.New("want units with no blank before or after")
		}
	}
	return nil
}

func roleList() string {
	var names []string
	for _, r := range Roles() {
		names = append(names, string(r))
	}
	return strings.Join(names, ", ")
}

func validName(name string) bool {
	return name != "" && len(name) <= maxName && utf8.ValidString(name) && !strings.ContainsFunc(name, func(r rune) bool {
		return !unicode.IsLetter(r) && !unicode.IsDigit(r) && !strings.ContainsRune("._-@", r)
	})
}

// readUsers reads users, one JSON object a line, from r, which is called file in errors. A line that
// AddUser would not have written is refused with file:line; what stands in it is not repeated.
func readUsers(file string, r io.Reader) ([]User, error) {
	var users []User
	lines := map[string]int{}
	in := bufio.NewScanner(r)
	in.Buffer(nil, maxUserLine)
	number := 0
	for in.Scan() {
		number++
		var u User
		dec := json.NewDecoder(bytes.NewReader(in.Bytes()))
		dec.DisallowUnknownFields()
		if err := dec.Decode(&u); err != nil || dec.More() {
			return nil, fmt.Errorf("%s:%d: want one user as a JSON object with user, password, roles and units", file, number)
		}
		if err := u.check(); err != nil {
			return nil, fmt.Errorf("%s:%d: %w", file, number, err)
		}
		if _, _, ok := parsePHC(u.Password); !ok {
			return nil, fmt.Errorf("%s:%d: want the password as %ssalt$tag", file, number, phcPrefix())
		}
		if first, twice := lines[u.Name]; twice {
			return nil, fmt.Errorf("%s:%d: want each user once; the one of line %d stands here again", file, number, first)
		}
		if number > maxUsers {
			return nil, fmt.Errorf("%s:%d: want at most %d users", file, number, maxUsers)
		}
		lines[u.Name] = number
		users = append(users, u)
	}
	if err := in.Err(); errors.Is(err, bufio.ErrTooLong) {
		return nil, fmt.Errorf("%s:%d: want a line of at most %d bytes", file, number+1, maxUserLine)
	} else if err != nil {
		return nil, fmt.Errorf("%s: reading users: %w", file, err)
	}
	return users, nil
}

// AddUser adds a user to the file, which is made, for its owner alone, where there is none. It
// replaces a user of that name only if told to. The file is written beside and then renamed, so that a
// reader sees the old or the new one, and two who add at once cannot lose one another's user.
func AddUser(file string, u User, password string, replace bool) (err error) {
	if err := checkPassword(u.Name, password); err != nil {
		return err
	}
	if err := u.check(); err != nil {
		return err
	}
	u.Password = hashPassword(password)
	beside := file + ".new"
	out, err := os.OpenFile(beside, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o600)
	if errors.Is(err, fs.ErrExist) {
		return fmt.Errorf("%s: is there already: another user is being added, or was when the machine stopped; remove it if not", beside)
	} else if err != nil {
		return err
	}
	defer func() {
		if err != nil {
			err = errors.Join(err, out.Close(), os.Remove(beside))
		}
	}()
	users, err := loadUsers(file)
	if err != nil && !errors.Is(err, fs.ErrNotExist) {
		return err
	}
	i := slices.IndexFunc(users, func(old User) bool { return old.Name == u.Name })
	switch {
	case i < 0:
		users = append(users, u)
	case replace:
		users[i] = u
	default:
		return ErrUserExists
	}
	enc := json.NewEncoder(out)
	enc.SetEscapeHTML(false)
	for _, u := range users {
		if err := enc.Encode(u); err != nil {
			return err
		}
	}
	if err := out.Sync(); err != nil {
		return err
	}
	// Closed before the rename, which Windows refuses for an open file.
	if err := out.Close(); err != nil {
		return errors.Join(err, os.Remove(beside))
	}
	if err := os.Rename(beside, file); err != nil {
		return errors.Join(err, os.Remove(beside))
	}
	return nil
}

// ErrUserExists is AddUser's where the name is taken and it was not told to replace.
var ErrUserExists = errors.New("there is a user of that name already")

func loadUsers(file string) ([]User, error) {
	f, err := os.Open(file)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	info, err := f.Stat()
	if err != nil {
		return nil, err
	}
	if !Private(info) {
		return nil, fmt.Errorf("%s: want a file that others cannot read or change, as after chmod 600: whoever can may get at the passwords, or let themselves in", file)
	}
	return readUsers(file, f)
}

// Users are the users of a file, which is read again whenever it changes: a user who was taken out of
// it is out at once. Make one with [OpenUsers]. It is safe for concurrent use.
type Users struct {
	file string

	mu     sync.Mutex
	as     fs.FileInfo // when last read; nil before
	byName map[string]User
	err    error // of the last reading
}

// OpenUsers reads the file of users. The error names the line that is wrong.
func OpenUsers(file string) (*Users, error) {
	u := &Users{file: file}
	if _, _, err := u.find(""); err != nil {
		return nil, err
	}
	if len(u.byName) == 0 {
		return nil, fmt.Errorf("%s: no users in it; stance serve adduser adds one", file)
	}
	return u, nil
}

// find is the user of that name. While the file cannot be read there are no users, only the error:
// letting the old ones stay could keep someone in who was taken out.
func (u *Users) find(name string) (User, bool, error) {
	u.mu.Lock()
	defer u.mu.Unlock()
	info, err := os.Stat(u.file)
	if err != nil {
		return User{}, false, err
	}
	if u.as == nil || !unchanged(u.as, info) {
		u.as = info
		var users []User
		users, u.err = loadUsers(u.file)
		u.byName = make(map[string]User, len(users))
		for _, user := range users {
			u.byName[user.Name] = user
		}
	}
	found, ok := u.byName[name]
	return found, ok, u.err
}

// unchanged reports whether a file is as it was. Another file put in its place can have its size, as
// all hashes have one length, and its time, as one brought back from a copy has.
func unchanged(was, is fs.FileInfo) bool {
	return os.SameFile(was, is) && was.ModTime().Equal(is.ModTime()) && was.Size() == is.Size() && was.Mode() == is.Mode()
}
