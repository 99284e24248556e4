package cli_test

import (
	"errors"
	"io/fs"
	"os"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
)

const knownHead = `# What the gold cases of testdata/gold are known to miss, a line a miss, in order.
# missed, extra      a finding that should be and is not; one that is and should not be
# unread, overread   the same of a statement
# field              a statement that is read, with another value than it should have
# "go test ./cmd/stance/cli -run TestGold -update" rewrites this file. Read the diff before you commit it.
`

// holdKnown compares the misses of a run with those that the file lists. A new one is a case that broke; one that
// no longer happens must leave the list, or it would hide the next time that the case breaks.
func holdKnown(t *testing.T, file string, misses []string) {
	t.Helper()
	slices.Sort(misses)
	if *update {
		text := knownHead
		for _, m := range misses {
			text += m + "\n"
		}
		if err := os.WriteFile(file, []byte(text), 0o644); err != nil {
			t.Fatal(err)
		}
		return
	}
	text, err := os.ReadFile(file)
	if err != nil && !errors.Is(err, fs.ErrNotExist) {
		t.Fatal(err)
	}
	broken, mended := sortOut(knownMisses(string(text)), misses)
	for _, m := range broken {
		t.Errorf("broken: %s\n\tmend it, or add this line to %s", m, file)
	}
	for _, m := range mended {
		t.Errorf("mended: %s\n\ttake this line out of %s (or run with -update)", m, file)
	}
}

// knownMisses is the lines of the file without its head.
func knownMisses(text string) []string {
	var out []string
	for line := range strings.Lines(text) {
		if line = strings.TrimSpace(line); line != "" && !strings.HasPrefix(line, "#") {
			out = append(out, line)
		}
	}
	return out
}

// sortOut is what happened and is not known, and what is known and did not happen. A miss may stand more than once,
// where a note says a thing twice.
func sortOut(known, happened []string) (broken, mended []string) {
	left := map[string]int{}
	for _, m := range known {
		left[m]++
	}
	for _, m := range happened {
		if left[m] == 0 {
			broken = append(broken, m)
			continue
		}
		left[m]--
	}
	for _, m := range known {
		if left[m] > 0 {
			mended = append(mended, m)
			left[m]--
		}
	}
	return broken, mended
}

func TestSortOutMisses(t *testing.T) {
	for _, c := range []struct {
		name                            string
		known, happened, broken, mended []string
	}{
		{"all known", []string{"a", "b"}, []string{"a", "b"}, nil, nil},
		{"one broke", []string{"b"}, []string{"a", "b"}, []string{"a"}, nil},
		{"one mended", []string{"a", "b"}, []string{"b"}, nil, []string{"a"}},
		{"one for another", []string{"a"}, []string{"b"}, []string{"b"}, []string{"a"}},
		{"a second of one kind", []string{"a"}, []string{"a", "a"}, []string{"a"}, nil},
		{"one of two mended", []string{"a", "a"}, []string{"a"}, nil, []string{"a"}},
	} {
		broken, mended := sortOut(c.known, c.happened)
		if diff := cmp.Diff([][]string{c.broken, c.mended}, [][]string{broken, mended}); diff != "" {
			t.Errorf("%s: sortOut(%q, %q) (-want +got):\n%s", c.name, c.known, c.happened, diff)
		}
	}
}
