package names_test

import (
	"bytes"
	"os"
	"path/filepath"
	"regexp"
	"runtime"
	"strings"
	"testing"

	"example.com/stance/lint/audit/names"
)

func TestText(t *testing.T) {
	h := names.NewHider(bytes.Repeat([]byte{7}, 32))
	for _, n := range [][2]string{{"R-101", "A17"}, {"R-10", ""}, {"Élise Arbre", "Bo"}, {"Arbre", ""}, {"", ""}, {"--", ""}} {
		h.Know(n[0], n[1])
	}
	r101, a17, elise, arbre, bo := h.Resident("R-101"), h.Author("A17"), h.Resident("Élise Arbre"), h.Resident("Arbre"), h.Author("Bo")
	for _, tt := range []struct{ in, want string }{
		{"R-101 up with A17.", r101 + " up with " + a17 + "."},
		{"r 101, a17's note", r101 + ", " + a17 + "'s note"},
		{"R-1010 and A170 are others", "R-1010 and A170 are others"},
		{"R-10 is another", h.Resident("R-10") + " is another"},
		{"ÉLISE ARBRE and e\u0301lise arbre", elise + " and " + elise},
		{"Mrs Arbre", "Mrs " + arbre},
		{"Élise", "Élise"},
		{"Both told Bo", "Both told " + bo},
		{"Élise and then Arbre", "Élise and then " + arbre},
		{"walked -- 5 m", "walked -- 5 m"},
		{"", ""},
	} {
		if got := h.Text(tt.in); got != tt.want {
			t.Errorf("Text(%q) = %q, want %q", tt.in, got, tt.want)
		}
	}
}

// A pseudonym depends on the key, the name and its kind, and on nothing else.
func TestPseudonym(t *testing.T) {
	a, again, b := names.NewHider([]byte("key a")), names.NewHider([]byte("key a")), names.NewHider([]byte("key b"))
	if a.Resident("R-1") != again.Resident("R-1") || a.Mark() != again.Mark() {
		t.Error("one key gives two pseudonyms")
	}
	all := []string{a.Resident("R-1"), a.Resident("R-2"), a.Author("R-1"), b.Resident("R-1")}
	for i, s := range all {
		if !regexp.MustCompile(`^(resident|author)-[a-z2-7]{10}$`).MatchString(s) {
			t.Errorf("pseudonym %q", s)
		}
		for _, o := range all[:i] {
			if s == o {
				t.Errorf("%q stands for two", s)
			}
		}
	}
	if a.Mark() == b.Mark() || a.Resident("") != "" {
		t.Error("two keys share a mark, or nobody has a pseudonym")
	}
}

func TestKey(t *testing.T) {
	name := filepath.Join(t.TempDir(), "names.key")
	key, made, err := names.ReadKey(name)
	if err != nil || !made || len(key) != 32 {
		t.Fatalf("ReadKey of no file = %d bytes, %v, %v; want a new key", len(key), made, err)
	}
	if info, err := os.Stat(name); err != nil || runtime.GOOS != "windows" && info.Mode().Perm() != 0o600 {
		t.Errorf("key file: %v, %v; want mode 0600", info.Mode(), err)
	}
	again, made, err := names.ReadKey(name)
	if err != nil || made || !bytes.Equal(key, again) {
		t.Errorf("ReadKey a second time: made %v, %v; want the same key", made, err)
	}
	if err := os.WriteFile(name, []byte("0123 secret"), 0o600); err != nil {
		t.Fatal(err)
	}
	if _, _, err := names.ReadKey(name); err == nil || !strings.Contains(err.Error(), "64 hexadecimal digits") || strings.Contains(err.Error(), "secret") {
		t.Errorf("ReadKey of a file with no key = %v", err)
	}
}
