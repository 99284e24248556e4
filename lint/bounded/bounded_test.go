package bounded_test

import (
	"bytes"
	"errors"
	"io"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"testing/iotest"

	"example.com/stance/lint/bounded"
)

// endless is a device that never ends.
type endless struct{}

func (endless) Read(p []byte) (int, error) { return len(p), nil }

func TestAll(t *testing.T) {
	for _, tt := range []struct {
		name string
		r    io.Reader
		want string
		long bool
	}{
		{"shorter", strings.NewReader("abc"), "abc", false},
		{"as long", strings.NewReader("abcd"), "abcd", false},
		{"as long, byte by byte", iotest.OneByteReader(strings.NewReader("abcd")), "abcd", false},
		{"as long, its end told with its data", iotest.DataErrReader(strings.NewReader("abcd")), "abcd", false},
		{"longer", strings.NewReader("abcde"), "abcd", true},
		{"longer, byte by byte", iotest.OneByteReader(strings.NewReader("abcde")), "abcd", true},
		{"endless", endless{}, "\x00\x00\x00\x00", true},
	} {
		t.Run(tt.name, func(t *testing.T) {
			got, err := bounded.All(tt.r, 4)
			var long *bounded.TooLongError
			if string(got) != tt.want || errors.As(err, &long) != tt.long || !tt.long && err != nil {
				t.Errorf("All = %q, %v, want %q and too long: %t", got, err, tt.want, tt.long)
			}
		})
	}
}

func TestFile(t *testing.T) {
	name := filepath.Join(t.TempDir(), "f")
	if err := os.WriteFile(name, bytes.Repeat([]byte("a"), 2*bounded.KiB), 0o600); err != nil {
		t.Fatal(err)
	}
	if b, err := bounded.File(name, 2*bounded.KiB); len(b) != 2*bounded.KiB || err != nil {
		t.Errorf("File = %d bytes, %v, want the whole file", len(b), err)
	}
	if _, err := bounded.File(name, bounded.KiB); err == nil || err.Error() != "is too long, want at most 1 KiB" {
		t.Errorf("File = %v, want it refused", err)
	}
	if _, err := bounded.File(name+"0", bounded.KiB); !errors.Is(err, os.ErrNotExist) {
		t.Errorf("File = %v, want that there is none", err)
	}
}
