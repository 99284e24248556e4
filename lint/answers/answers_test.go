package answers_test

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"example.com/stance/lint/answers"
	"example.com/stance/lint/finding"
)

// TestMain lets the test's own program stand in for a second process: with this variable set it
// appends to the file named there.
func TestMain(m *testing.M) {
	if file := os.Getenv("ANSWERS_TEST_FILE"); file != "" {
		for range perWriter {
			if err := answers.Append(file, one, answer("another process")); err != nil {
				fmt.Fprintln(os.Stderr, err)
				os.Exit(1)
			}
		}
		return
	}
	os.Exit(m.Run())
}

const (
	one, two  = "0123456789abcdef", "fedcba9876543210"
	perWriter = 20
)

func answer(by string) finding.Answer {
	return finding.Answer{As: finding.Mistaken, Why: "a <mat> on the floor, \"no\" fall", By: by,
		Time: time.Date(2026, 11, 24, 21, 40, 0, 0, time.FixedZone("", -5*3600))}
}

// written is the content of a file of n answers.
func written(t testing.TB, n int) string {
	t.Helper()
	file := filepath.Join(t.TempDir(), "answers.jsonl")
	for i := range n {
		if err := answers.Append(file, one, answer(fmt.Sprint("nurse ", i))); err != nil {
			t.Fatal(err)
		}
	}
	b, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	return string(b)
}

func TestAppendAndRead(t *testing.T) {
	file := filepath.Join(t.TempDir(), "answers.jsonl")
	later := answer("B")
	later.As, later.Why = finding.Amended, "wording put right"
	for _, step := range []struct {
		id string
		a  finding.Answer
	}{{one, answer("A")}, {two, answer("A")}, {one, later}} {
		if err := answers.Append(file, step.id, step.a); err != nil {
			t.Fatal(err)
		}
	}
	f, err := os.Open(file)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	book, err := answers.Read(file, f)
	if err != nil {
		t.Fatal(err)
	}
	if got := len(book.Entries()); got != 3 {
		t.Errorf("%d entries, want 3", got)
	}
	got, ok := book.Of(one)
	if !ok {
		t.Fatal("the answered finding has no answer")
	}
	if diff := cmp.Diff(later, got, cmp.Comparer(time.Time.Equal)); diff != "" {
		t.Errorf("the last answer (-want +got):\n%s", diff)
	}
	if _, ok := book.Of("1111111111111111"); ok {
		t.Error("a finding nobody answered has an answer")
	}
}

// The hash is one that other tools can compute: over the bytes of the line before it.
func TestHashCanBeComputedElsewhere(t *testing.T) {
	prev := ""
	for line := range strings.Lines(written(t, 3)) {
		head, _, ok := strings.Cut(line, `,"hash":"`)
		if !ok {
			t.Fatalf("a line without a hash: %s", line)
		}
		var e answers.Entry
		if err := json.Unmarshal([]byte(line), &e); err != nil {
			t.Fatal(err)
		}
		sum := sha256.Sum256([]byte(head))
		if want := hex.EncodeToString(sum[:]); e.Hash != want {
			t.Errorf("hash %s, want %s", e.Hash, want)
		}
		if e.Prev != prev {
			t.Errorf("prev %s, want %s", e.Prev, prev)
		}
		prev = e.Hash
	}
}

func TestReadFindsWhereTheChainBreaks(t *testing.T) {
	whole := written(t, 4)
	lines := strings.SplitAfter(whole, "\n")[:4]
	for _, tt := range []struct {
		name, content string
		line          int // 0: no break
		entries, torn int
	}{
		{"whole", whole, 0, 4, 0},
		{"empty", "", 0, 0, 0},
		{"first line removed", lines[1] + lines[2] + lines[3], 1, 0, 0},
		{"line removed", lines[0] + lines[2] + lines[3], 2, 0, 0},
		{"lines swapped", lines[0] + lines[2] + lines[1] + lines[3], 2, 0, 0},
		{"line twice", lines[0] + lines[0], 2, 0, 0},
		{"line edited", lines[0] + strings.Replace(lines[1], "nurse 1", "nurse 7", 1) + lines[2] + lines[3], 2, 0, 0},
		{"last line edited", lines[0] + strings.Replace(lines[1], "mistaken", "confirmed", 1), 2, 0, 0},
		{"spaces put in", lines[0] + strings.Replace(lines[1], `{"f`, `{ "f`, 1), 2, 0, 0},
		{"key added", lines[0] + strings.Replace(lines[1], `{"f`, `{"x":1,"f`, 1), 2, 0, 0},
		{"blank line", lines[0] + "\n" + lines[1], 2, 0, 0},
		{"torn last line", lines[0] + lines[1][:len(lines[1])/2], 0, 1, 2},
		{"torn only line", lines[0][:1], 0, 0, 1},
		{"last line end lost", lines[0] + strings.TrimSuffix(lines[1], "\n"), 0, 2, 0},
		{"edited, line end lost", lines[0] + strings.TrimSuffix(strings.Replace(lines[1], "nurse 1", "nurse 7", 1), "\n"), 2, 0, 0},
		{"line too long", lines[0] + strings.Repeat("x", 2<<20), 2, 0, 0},
	} {
		t.Run(tt.name, func(t *testing.T) {
			book, err := answers.Read("a.jsonl", strings.NewReader(tt.content))
			if tt.line > 0 {
				var broken *answers.BrokenError
				if !errors.As(err, &broken) || broken.Line != tt.line {
					t.Fatalf("Read: %v, want a break at line %d", err, tt.line)
				}
				if strings.Contains(err.Error(), "mat") {
					t.Errorf("the error repeats the file: %v", err)
				}
				return
			}
			if err != nil {
				t.Fatal(err)
			}
			if got := len(book.Entries()); got != tt.entries || book.Torn() != tt.torn {
				t.Errorf("%d entries, torn %d, want %d and %d", got, book.Torn(), tt.entries, tt.torn)
			}
		})
	}
}

func TestAppendAfterAnInterruptedWrite(t *testing.T) {
	whole := written(t, 2)
	for name, content := range map[string]string{"torn": whole + whole[:40], "no line end": strings.TrimSuffix(whole, "\n")} {
		t.Run(name, func(t *testing.T) {
			file := filepath.Join(t.TempDir(), "a.jsonl")
			if err := os.WriteFile(file, []byte(content), 0o600); err != nil {
				t.Fatal(err)
			}
			if err := answers.Append(file, two, answer("B")); err != nil {
				t.Fatal(err)
			}
			got, err := os.ReadFile(file)
			if err != nil {
				t.Fatal(err)
			}
			book, err := answers.Read(file, bytes.NewReader(got))
			if err != nil {
				t.Fatal(err)
			}
			if !strings.HasPrefix(string(got), whole) || len(book.Entries()) != 3 {
				t.Errorf("%d entries, want the two that were there and a third", len(book.Entries()))
			}
		})
	}
}

func TestAppendRefuses(t *testing.T) {
	dir := t.TempDir()
	broken := filepath.Join(dir, "broken.jsonl")
	content := "{}\n"
	if err := os.WriteFile(broken, []byte(content), 0o600); err != nil {
		t.Fatal(err)
	}
	with := func(change func(*finding.Answer)) finding.Answer {
		a := answer("A")
		change(&a)
		return a
	}
	for _, tt := range []struct {
		name, file, id string
		a              finding.Answer
	}{
		{"a broken file", broken, one, answer("A")},
		{"no id", "new.jsonl", "load-over-limit", answer("A")},
		{"no verdict", "new.jsonl", one, with(func(a *finding.Answer) { a.As = "maybe" })},
		{"no reason", "new.jsonl", one, with(func(a *finding.Answer) { a.Why = " " })},
		{"nobody", "new.jsonl", one, with(func(a *finding.Answer) { a.By = "" })},
		{"no time", "new.jsonl", one, with(func(a *finding.Answer) { a.Time = time.Time{} })},
		{"too long", "long.jsonl", one, with(func(a *finding.Answer) { a.Why = strings.Repeat("x", 1<<20) })},
	} {
		t.Run(tt.name, func(t *testing.T) {
			file := tt.file
			if !filepath.IsAbs(file) {
				file = filepath.Join(dir, file)
			}
			if err := answers.Append(file, tt.id, tt.a); err == nil {
				t.Fatal("Append took it")
			}
			if b, err := os.ReadFile(file); err == nil && string(b) != content && len(b) > 0 {
				t.Errorf("the file now holds %q", b)
			}
		})
	}
}

func TestTwoWriters(t *testing.T) {
	file := filepath.Join(t.TempDir(), "answers.jsonl")
	var wg sync.WaitGroup
	for _, by := range []string{"A", "B"} {
		wg.Go(func() {
			for range perWriter {
				if err := answers.Append(file, two, answer(by)); err != nil {
					t.Error(err)
					return
				}
			}
		})
	}
	other := exec.Command(os.Args[0])
	other.Env = append(os.Environ(), "ANSWERS_TEST_FILE="+file)
	if out, err := other.CombinedOutput(); err != nil {
		t.Errorf("the other process: %v\n%s", err, out)
	}
	wg.Wait()
	f, err := os.Open(file)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	book, err := answers.Read(file, f)
	if err != nil {
		t.Fatal(err)
	}
	if got, want := len(book.Entries()), 3*perWriter; got != want {
		t.Errorf("%d answers kept, want %d", got, want)
	}
}

// Whatever Read takes is what Append wrote: written again, the entries give the same bytes, but for a
// torn end.
func FuzzRead(f *testing.F) {
	whole := written(f, 3)
	lines := strings.SplitAfter(whole, "\n")
	for _, s := range []string{"", whole, lines[0], lines[0] + lines[2], whole + "{", strings.TrimSpace(whole), "{}", "\n", "null\n"} {
		f.Add([]byte(s))
	}
	f.Fuzz(func(t *testing.T, content []byte) {
		book, err := answers.Read("a", bytes.NewReader(content))
		if err != nil {
			var broken *answers.BrokenError
			if !errors.As(err, &broken) || broken.Line < 1 || broken.Line > bytes.Count(content, []byte("\n"))+1 {
				t.Fatalf("error %v of %d lines", err, bytes.Count(content, []byte("\n"))+1)
			}
			return
		}
		var again bytes.Buffer
		enc := json.NewEncoder(&again)
		enc.SetEscapeHTML(false)
		for _, e := range book.Entries() {
			if err := enc.Encode(e); err != nil {
				t.Fatal(err)
			}
		}
		if !bytes.HasPrefix(append(bytes.Clone(content), '\n'), again.Bytes()) {
			t.Errorf("written again: %q, read: %q", again.Bytes(), content)
		}
	})
}

// A file whose last lines are gone, or that was made anew, reads well by itself; held against a seal it shows.
func TestSeal(t *testing.T) {
	read := func(content string) *answers.Book {
		t.Helper()
		b, err := answers.Read("answers.jsonl", strings.NewReader(content))
		if err != nil {
			t.Fatal(err)
		}
		return b
	}
	content := written(t, 4)
	lines := strings.SplitAfter(content, "\n")
	seal := read(strings.Join(lines[:3], "")).Seal()
	if !answers.IsSeal(seal) || answers.IsSeal("") || answers.IsSeal(seal[1:]) || answers.IsSeal(strings.ToUpper(seal)) {
		t.Errorf("seal %q is none, or something else is one", seal)
	}
	anew := filepath.Join(t.TempDir(), "answers.jsonl")
	for i := range 4 {
		if err := answers.Append(anew, two, answer(fmt.Sprint("nurse ", i))); err != nil {
			t.Fatal(err)
		}
	}
	other, err := os.ReadFile(anew)
	if err != nil {
		t.Fatal(err)
	}
	for _, tt := range []struct {
		name, content string
		since         int
		ok            bool
	}{
		{"as sealed", strings.Join(lines[:3], ""), 0, true},
		{"one more", content, 1, true},
		{"the last taken out", strings.Join(lines[:2], ""), 0, false},
		{"made anew", string(other), 0, false},
		{"empty", "", 0, false},
	} {
		if since, ok := read(tt.content).Since(seal); ok != tt.ok || ok && since != tt.since {
			t.Errorf("%s: Since = %d, %t, want %d, %t", tt.name, since, ok, tt.since, tt.ok)
		}
	}
	if got := read("").Seal(); got != "" {
		t.Errorf("seal of no answers: %q", got)
	}
}
