package guard_test

import (
	"errors"
	"net/http"
	"os"
	"path/filepath"
	"runtime"
	"strings"
	"testing"

	"example.com/stance/cmd/stance/web/guard"
)

func TestAddUser(t *testing.T) {
	file := filepath.Join(t.TempDir(), "users.jsonl")
	u := guard.User{Name: "a17", Roles: []guard.Role{guard.Write, guard.Audit}, Units: []string{"Birch", "East wing, ground"}}
	if err := guard.AddUser(file, u, password, false); err != nil {
		t.Fatal(err)
	}
	first, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	if !strings.HasPrefix(string(first), `{"user":"a17","password":"$argon2id$v=19$m=65536,t=3,p=4$`) || strings.Contains(string(first), password) {
		t.Errorf("the file holds %s, want the password hashed", first)
	}
	if info, err := os.Stat(file); err != nil || runtime.GOOS != "windows" && info.Mode().Perm() != 0o600 {
		t.Errorf("mode %v, %v, want 0600", info.Mode(), err)
	}
	if err := guard.AddUser(file, u, password, false); !errors.Is(err, guard.ErrUserExists) {
		t.Errorf("the same name again: %v, want ErrUserExists", err)
	}
	if err := guard.AddUser(file, u, password, true); err != nil {
		t.Errorf("replacing: %v", err)
	}
	second, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	if string(second) == string(first) || strings.Count(string(second), "\n") != 1 {
		t.Errorf("replaced: %s, want one user with a new salt", second)
	}
	if _, err := os.Stat(file + ".new"); !errors.Is(err, os.ErrNotExist) {
		t.Errorf("the file written beside is still there: %v", err)
	}

	// Another who adds at the same time, or a leftover, is told and nothing is lost.
	if err := os.WriteFile(file+".new", nil, 0o600); err != nil {
		t.Fatal(err)
	}
	if err := guard.AddUser(file, guard.User{Name: "b22", Roles: u.Roles, Units: u.Units}, password, false); err == nil || !strings.Contains(err.Error(), "is there already") {
		t.Errorf("beside another: %v, want that the file is there", err)
	}
	if _, err := os.Stat(file + ".new"); err != nil {
		t.Errorf("another's file was taken away: %v", err)
	}
	if after, err := os.ReadFile(file); err != nil || string(after) != string(second) {
		t.Errorf("the users changed: %s, %v", after, err)
	}
}

// A file that cannot be read is not overwritten.
func TestAddUserToABrokenFile(t *testing.T) {
	file := filepath.Join(t.TempDir(), "users.jsonl")
	if err := os.WriteFile(file, []byte("Zebra\n"), 0o600); err != nil {
		t.Fatal(err)
	}
	err := guard.AddUser(file, guard.User{Name: "a17", Roles: guard.Roles(), Units: []string{guard.AllUnits}}, password, true)
	if err == nil || !strings.HasPrefix(err.Error(), file+":1: want ") {
		t.Errorf("%v, want the line", err)
	}
	if text, err := os.ReadFile(file); err != nil || string(text) != "Zebra\n" {
		t.Errorf("the file is now %q, %v", text, err)
	}
}

func TestAddUserRefuses(t *testing.T) {
	good := guard.User{Name: "a17", Roles: []guard.Role{guard.Write}, Units: []string{"Birch"}}
	for _, tt := range []struct {
		name, password string
		change         func(*guard.User)
		want           string
	}{
		{"short password", "two helpers 14", nil, "at least 15 characters"},
		{"short password of many bytes", "éééèèèàààùùùôô", nil, "at least 15 characters"},
		{"long password", strings.Repeat("abcdefgh", 200), nil, "at most 1024 bytes"},
		{"one key held down", strings.Repeat("a", 20), nil, "5 different characters"},
		{"the name again", "a17a17a17 bcdef", nil, "15 characters beside it"},
		{"password of broken UTF-8", "\xff\xfe two helpers and a belt", nil, "UTF-8"},
		{"no name", password, func(u *guard.User) { u.Name = "" }, "want a user's name"},
		{"name with a blank", password, func(u *guard.User) { u.Name = "a b" }, "want a user's name"},
		{"name with a script", password, func(u *guard.User) { u.Name = "<script>" }, "want a user's name"},
		{"no roles", password, func(u *guard.User) { u.Roles = nil }, "want roles, out of write, review, audit"},
		{"unknown role", password, func(u *guard.User) { u.Roles = []guard.Role{"admin"} }, "want roles out of write, review, audit"},
		{"role twice", password, func(u *guard.User) { u.Roles = []guard.Role{guard.Write, guard.Write} }, "each role once"},
		{"no units", password, func(u *guard.User) { u.Units = nil }, "want units, or all for every one"},
		{"unit of blanks", password, func(u *guard.User) { u.Units = []string{" "} }, "no blank before or after"},
	} {
		t.Run(tt.name, func(t *testing.T) {
			u := good
			if tt.change != nil {
				tt.change(&u)
			}
			file := filepath.Join(t.TempDir(), "users.jsonl")
			if err := guard.AddUser(file, u, tt.password, false); err == nil || !strings.Contains(err.Error(), tt.want) {
				t.Errorf("AddUser: %v, want %q", err, tt.want)
			}
			if _, err := os.Stat(file); !errors.Is(err, os.ErrNotExist) {
				t.Errorf("a file was made: %v", err)
			}
		})
	}
}

func TestOpenUsersNamesTheLine(t *testing.T) {
	line, _, _ := strings.Cut(twoUsers(), "\n")
	swap := func(old, by string) string {
		if !strings.Contains(line, old) {
			t.Fatalf("%q is not in the line", old)
		}
		return strings.Replace(line, old, by, 1)
	}
	for _, tt := range []struct{ name, text, want string }{
		{"empty", "", ": no users in it"},
		{"no JSON", line + "\nZebra\n", ":2: want one user as a JSON object"},
		{"blank line", line + "\n\n", ":2: want one user as a JSON object"},
		{"two in a line", line + line + "\n", ":1: want one user as a JSON object"},
		{"unknown key", swap(`"user"`, `"admin":true,"user"`), ":1: want one user as a JSON object"},
		{"twice", line + "\n" + line + "\n", ":2: want each user once; the one of line 1 stands here again"},
		{"unknown role", swap(`"review"`, `"zebra"`), ":1: want roles out of"},
		{"password as it is", swap("$argon2id$", "zebra"), ":1: want the password as $argon2id$v=19$m=65536,t=3,p=4$salt$tag"},
		{"less work", swap("m=65536", "m=8"), ":1: want the password as"},
		{"more memory", swap("m=65536", "m=4294967295"), ":1: want the password as"},
		{"other function", swap("argon2id", "argon2i"), ":1: want the password as"},
		{"no tag", swap(line[strings.LastIndex(line, "$"):strings.Index(line, `","roles"`)], ""), ":1: want the password as"},
		{"line too long", line + "\n" + strings.Repeat("x", 20_000), ":2: want a line of at most 16384 bytes"},
	} {
		t.Run(tt.name, func(t *testing.T) {
			file := filepath.Join(t.TempDir(), "users.jsonl")
			if err := os.WriteFile(file, []byte(tt.text), 0o600); err != nil {
				t.Fatal(err)
			}
			_, err := guard.OpenUsers(file)
			if err == nil || !strings.HasPrefix(err.Error(), file+tt.want) {
				t.Errorf("%v, want %s%s", err, file, tt.want)
			}
			if err != nil && strings.Contains(strings.ToLower(strings.TrimPrefix(err.Error(), file)), "zebra") {
				t.Errorf("the error repeats what stands in the file: %v", err)
			}
		})
	}
	if _, err := guard.OpenUsers(filepath.Join(t.TempDir(), "none")); !errors.Is(err, os.ErrNotExist) {
		t.Errorf("no file: %v, want that there is none", err)
	}
}

// Others on the machine must neither get at the passwords nor let themselves in, also while it is served.
func TestUsersFileIsPrivate(t *testing.T) {
	if runtime.GOOS == "windows" {
		t.Skip("no mode bits")
	}
	file := usersFile(t)
	for _, tt := range []struct {
		mode os.FileMode
		ok   bool
	}{{0o600, true}, {0o400, true}, {0o640, true}, {0o644, false}, {0o660, false}, {0o602, false}} {
		if err := os.Chmod(file, tt.mode); err != nil {
			t.Fatal(err)
		}
		_, err := guard.OpenUsers(file)
		if tt.ok && err != nil {
			t.Errorf("mode %o: %v, want no error", tt.mode, err)
		}
		if !tt.ok && (err == nil || !strings.HasPrefix(err.Error(), file+": want a file that others cannot read or change")) {
			t.Errorf("mode %o: %v, want that others can get at it", tt.mode, err)
		}
	}
	a := serveAccounts(t)
	b := a.browser(t)
	b.mustEnter(reviewer)
	if err := os.Chmod(a.users, 0o666); err != nil {
		t.Fatal(err)
	}
	b.wantStatus("/", http.StatusSeeOther)
	if got := a.faults.String(); !strings.Contains(got, "others cannot read or change") {
		t.Errorf("told %q, want what is wrong with the file", got)
	}
}

// Another file in its place is read, though its size and its time are those of the one before.
func TestUsersFileReplacedByOneAlike(t *testing.T) {
	a := serveAccounts(t)
	b := a.browser(t)
	b.mustEnter(reviewer)
	b.wantStatus("/resident/R-1?unit=Birch", http.StatusOK)
	was, err := os.Stat(a.users)
	if err != nil {
		t.Fatal(err)
	}
	beside := a.users + ".copy"
	if err := os.WriteFile(beside, []byte(strings.Replace(twoUsers(), `"Birch"`, `"Rowan"`, 1)), 0o600); err != nil {
		t.Fatal(err)
	}
	if err := os.Chtimes(beside, was.ModTime(), was.ModTime()); err != nil {
		t.Fatal(err)
	}
	if err := os.Rename(beside, a.users); err != nil {
		t.Fatal(err)
	}
	b.wantStatus("/resident/R-1?unit=Birch", http.StatusNotFound)
}
