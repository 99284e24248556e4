package lexicon

import (
	"io/fs"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"unicode/utf8"
)

// TestClassesHaveWords holds that the data files give words to every class that the engine asks about.
func TestClassesHaveWords(t *testing.T) {
	lex, err := New()
	if err != nil {
		t.Fatal(err)
	}
	var said classes
	for _, in := range lex.classes {
		for i := range said {
			said[i] |= in[i]
		}
	}
	for c, name := range classNames() {
		if name == "" {
			t.Errorf("class %d has no name", c)
		}
		if !said.has(class(c)) {
			t.Errorf("class %q has no words", name)
		}
	}
}

// TestDataReadsWell holds that people can review the data files: no line runs off a page, and no entry
// lists a wording twice or an empty one.
func TestDataReadsWell(t *testing.T) {
	const widest = 110 // characters
	names, err := fs.Glob(data, "data/*.txt")
	if err != nil || len(names) == 0 {
		t.Fatalf("data files: %d, error %v", len(names), err)
	}
	for _, name := range names {
		text, err := fs.ReadFile(data, name)
		if err != nil {
			t.Fatal(err)
		}
		seen := map[string]int{} // wording → line
		open := ""
		for i, line := range strings.Split(string(text), "\n") {
			if n := utf8.RuneCountInString(line); n > widest {
				t.Errorf("%s:%d: %d characters, want %d at most", name, i+1, n, widest)
			}
			says := strings.TrimSpace(line)
			switch {
			case strings.HasPrefix(says, "#"):
				continue
			case strings.HasPrefix(says, "="):
				clear(seen)
				continue
			case says == "" || strings.HasPrefix(says, "code ") || strings.HasPrefix(says, "set "):
				continue
			case strings.HasSuffix(says, "|"):
				open += says
				continue
			}
			says, open = open+says, ""
			if form, rest, ok := strings.Cut(says, "> "); ok && !strings.Contains(form, "<") {
				says = rest
			}
			for _, w := range strings.Split(says, ";") {
				w = strings.Join(strings.Fields(w), " ")
				if w == "" {
					t.Errorf("%s:%d: an empty wording", name, i+1)
				}
				if was, twice := seen[w]; twice {
					t.Errorf("%s:%d: %q stands in line %d already", name, i+1, w, was)
				}
				seen[w] = i + 1
			}
		}
	}
}

// TestEntriesNamedInCode holds that the data have every entry that the engine gives to words by its id.
func TestEntriesNamedInCode(t *testing.T) {
	lex, err := New()
	if err != nil {
		t.Fatal(err)
	}
	files, err := filepath.Glob("*.go")
	if err != nil {
		t.Fatal(err)
	}
	named := regexp.MustCompile(`lex\.find\("([a-z-]+\.[a-z-]+)"\)`)
	found := 0
	for _, file := range files {
		src, err := os.ReadFile(file)
		if err != nil {
			t.Fatal(err)
		}
		for _, m := range named.FindAllSubmatch(src, -1) {
			found++
			if id := string(m[1]); lex.find(id) == nil {
				t.Errorf("%s: no entry %q in the data", file, id)
			}
		}
	}
	if found == 0 {
		t.Error("no entry is named in code: the pattern that looks for them is out of date")
	}
}
