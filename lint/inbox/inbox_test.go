package inbox_test

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"example.com/stance/lint/inbox"
)

func moment(minute int) time.Time { return time.Date(2026, 11, 24, 21, minute, 0, 0, time.UTC) }

// drop writes a file with a time of its own.
func drop(t *testing.T, dir, name, text string, at time.Time) {
	t.Helper()
	path := filepath.Join(dir, name)
	if err := errors.Join(os.WriteFile(path, []byte(text), 0o600), os.Chtimes(path, at, at)); err != nil {
		t.Fatal(err)
	}
}

func open(t *testing.T, dir, book, by string, skip ...string) *inbox.Box {
	t.Helper()
	b, err := inbox.Open(dir, book, by, skip...)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { b.Close() })
	return b
}

// look gives the names of the files that are whole and new.
func look(t *testing.T, b *inbox.Box) string {
	t.Helper()
	files, _, err := b.Look()
	if err != nil {
		t.Fatal(err)
	}
	var names []string
	for _, f := range files {
		names = append(names, f.Name)
	}
	return strings.Join(names, " ")
}

func takeAll(t *testing.T, b *inbox.Box, bad bool) {
	t.Helper()
	files, _, err := b.Look()
	for _, f := range files {
		err = errors.Join(err, b.Taken(f, bad))
	}
	if err != nil {
		t.Fatal(err)
	}
}

func TestLook(t *testing.T) {
	dir, book := t.TempDir(), filepath.Join(t.TempDir(), "book")
	drop(t, dir, "chart.csv", "resident", moment(0))
	b := open(t, dir, book, "v1", filepath.Join(dir, "chart.csv"), filepath.Join(dir, "none"))
	if err := os.Mkdir(filepath.Join(dir, "done.csv"), 0o700); err != nil {
		t.Fatal(err)
	}
	for i, step := range []struct {
		do   func()
		want string
	}{
		{func() { drop(t, dir, "b.csv", "1", moment(1)) }, ""},  // seen once
		{func() { drop(t, dir, "b.csv", "12", moment(1)) }, ""}, // longer
		{func() { drop(t, dir, "b.csv", "12", moment(2)) }, ""}, // as long, but written to
		{func() {}, "b.csv"},
		{func() {}, "b.csv"}, // not taken yet
		{func() { takeAll(t, b, false) }, ""},
		{func() { // the oldest first, whatever they are called
			drop(t, dir, "a.csv", "1", moment(9))
			drop(t, dir, "c.csv", "1", moment(8))
			drop(t, dir, "d.csv", "1", moment(8))
		}, ""},
		{func() {}, "c.csv d.csv a.csv"},
		{func() { takeAll(t, b, false) }, ""},
		{func() { drop(t, dir, "b.csv", "123", moment(2)) }, ""}, // changed since
		{func() {}, "b.csv"},
		{func() { takeAll(t, b, false) }, ""},
		{func() { // names of files that are not finished, and what has nothing in it
			for _, name := range []string{".x.csv", "~x.csv", "x.csv~", "x.tmp", "x.csv.PART", "x.filepart"} {
				drop(t, dir, name, "1", moment(1))
			}
			drop(t, dir, "empty.csv", "", moment(1))
		}, ""},
		{func() {}, ""},
		{func() { // renamed in, once it is written
			if err := os.Rename(filepath.Join(dir, "x.tmp"), filepath.Join(dir, "x.csv")); err != nil {
				t.Fatal(err)
			}
		}, ""},
		{func() {}, "x.csv"},
		{func() { takeAll(t, b, false) }, ""},
		{func() { // gone is nothing
			if err := os.Remove(filepath.Join(dir, "a.csv")); err != nil {
				t.Fatal(err)
			}
		}, ""},
		{func() { drop(t, dir, "a.csv", "1", moment(9)) }, ""}, // and back as it was
		{func() {}, ""},
	} {
		step.do()
		if got := look(t, b); got != step.want {
			t.Errorf("look %d: %q, want %q", i, got, step.want)
		}
	}
}

// What was taken in is known to the next, whatever a crash has left of the book.
func TestBook(t *testing.T) {
	dir, book := t.TempDir(), filepath.Join(t.TempDir(), "book")
	twice := func(by string) string {
		b := open(t, dir, book, by)
		if got := look(t, b); got != "" {
			t.Errorf("at the first look: %q", got)
		}
		return look(t, b)
	}
	b := open(t, dir, book, "v1")
	for i, name := range []string{"a", "b", "bad"} {
		drop(t, dir, name, "1", moment(i))
		look(t, b)
		takeAll(t, b, name == "bad")
	}
	if got := twice("v1"); got != "" {
		t.Errorf("after a restart: %q", got)
	}
	if got := twice("v2"); got != "bad" {
		t.Errorf("read by something else: %q, want the bad one", got)
	}
	text, err := os.ReadFile(book)
	if err != nil {
		t.Fatal(err)
	}
	lines := strings.SplitAfter(string(text), "\n")
	for cut, want := range map[string]string{
		lines[0] + lines[1][:len(lines[1])-4]: "b bad",
		lines[0] + "\x00\x00\n" + lines[2]:    "b",
		lines[0] + strings.Repeat("x", 1<<17): "b bad",
		"":                                    "a b bad",
	} {
		if err := os.WriteFile(book, []byte(cut), 0o600); err != nil {
			t.Fatal(err)
		}
		if got := twice("v1"); got != want {
			t.Errorf("book of %d bytes: %q, want %q", len(cut), got, want)
		}
		b := open(t, dir, book, "v1")
		look(t, b)
		takeAll(t, b, false)
		if got := twice("v1"); got != "" {
			t.Errorf("book of %d bytes, added to: %q", len(cut), got)
		}
	}
	if b := open(t, t.TempDir(), book, "v1"); look(t, b) != "" {
		t.Error("files of another folder")
	}
}

// A book that has grown long is written anew, and forgets only what is gone.
func TestLongBook(t *testing.T) {
	dir, book := t.TempDir(), filepath.Join(t.TempDir(), "book")
	b := open(t, dir, book, "v1")
	drop(t, dir, "here", "1", moment(1))
	look(t, b)
	takeAll(t, b, false)
	text, err := os.ReadFile(book)
	if err != nil {
		t.Fatal(err)
	}
	line := string(text)
	for i := range 10_000 {
		text = append(text, strings.Replace(line, "here", fmt.Sprint("gone", i), 1)...)
	}
	text = append(text, strings.Replace(line, dir, "/elsewhere", 1)...)
	if err := os.WriteFile(book, text, 0o600); err != nil {
		t.Fatal(err)
	}
	b = open(t, dir, book, "v1")
	if got := look(t, b) + look(t, b); got != "" {
		t.Errorf("given again: %q", got)
	}
	text, err = os.ReadFile(book)
	if err != nil || strings.Count(string(text), "\n") != 2 || !strings.Contains(string(text), "/elsewhere") {
		t.Errorf("%v, %d bytes", err, len(text))
	}
}

func TestRestless(t *testing.T) {
	dir := t.TempDir()
	b := open(t, dir, filepath.Join(t.TempDir(), "book"), "v1")
	var told []string
	for i := range 3 * inbox.Restless {
		drop(t, dir, "log", strings.Repeat("x", i+1), moment(1))
		files, restless, err := b.Look()
		if err != nil || len(files) > 0 {
			t.Fatalf("%v, %v", files, err)
		}
		told = append(told, restless...)
	}
	if !slices.Equal(told, []string{"log"}) {
		t.Errorf("told %q", told)
	}
}

// A book is read whatever is in it.
func FuzzBook(f *testing.F) {
	f.Add([]byte(`{"folder":"/x","file":"a","size":1,"time":"2026-11-24T21:00:00Z","bad":"v1"}` + "\n"))
	f.Add([]byte("{}\n{\"file\":1}\n\xff"))
	f.Fuzz(func(t *testing.T, text []byte) {
		dir := t.TempDir()
		book := filepath.Join(dir, ".book")
		if err := os.WriteFile(book, text, 0o600); err != nil {
			t.Fatal(err)
		}
		b, err := inbox.Open(dir, book, "v1")
		if err != nil {
			t.Fatal(err)
		}
		defer b.Close()
		drop(t, dir, "a", "1", moment(1))
		look(t, b)
		takeAll(t, b, false)
		if got := look(t, b); got != "" {
			t.Errorf("given again: %q", got)
		}
	})
}
