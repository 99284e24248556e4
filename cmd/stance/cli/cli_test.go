package cli

import (
	"bytes"
	"context"
	"errors"
	"io"
	"strings"
	"testing"
	"time"
)

func testApp(stdin string) (a *app, stdout, stderr *bytes.Buffer) {
	stdout, stderr = &bytes.Buffer{}, &bytes.Buffer{}
	return &app{
		in: strings.NewReader(stdin), out: stdout, err: stderr,
		getenv:  func(string) string { return "" },
		now:     func() time.Time { return time.Date(2026, 12, 1, 0, 0, 0, 0, time.UTC) },
		compile: compileOnce,
	}, stdout, stderr
}

func TestMoment(t *testing.T) {
	toronto, err := time.LoadLocation("America/Toronto")
	if err != nil {
		t.Fatal(err)
	}
	for _, tt := range []struct {
		in, want string
		unit     time.Duration
	}{
		{"2026-11-24", "2026-11-24T00:00:00-05:00", wholeDay},
		{"2026-11-24T07:00", "2026-11-24T07:00:00-05:00", time.Minute},
		{"2026-07-24 07:00", "2026-07-24T07:00:00-04:00", time.Minute},
		{"2026-11-24T07:00:09", "2026-11-24T07:00:09-05:00", time.Second},
		{"2026-11-24T07:00Z", "2026-11-24T07:00:00Z", time.Minute},
		{"2026-11-24T07:00:00+10:00", "2026-11-24T07:00:00+10:00", time.Second},
	} {
		got, unit, err := moment(tt.in, toronto)
		if err != nil || got.Format(time.RFC3339) != tt.want || unit != tt.unit {
			t.Errorf("moment(%q) = %s, %s, %v, want %s, %s", tt.in, got.Format(time.RFC3339), unit, err, tt.want, tt.unit)
		}
	}
	for _, in := range []string{"", "24/11/2026", "2026-11-31", "2026-11-24T25:00", "now"} {
		if got, _, err := moment(in, nil); err == nil {
			t.Errorf("moment(%q) = %s, want an error", in, got)
		}
	}
}

func TestList(t *testing.T) {
	for _, tt := range []struct {
		in   []string
		want string
	}{{nil, ""}, {[]string{"a"}, "a"}, {[]string{"a", "b"}, "a or b"}, {[]string{"a", "b", "c"}, "a, b or c"}} {
		if got := list(tt.in); got != tt.want {
			t.Errorf("list(%q) = %q, want %q", tt.in, got, tt.want)
		}
	}
}

// A panic is a fault of the program: status 3, and its value is not printed, because it could hold
// words of a note.
func TestPanicIsStatusThree(t *testing.T) {
	a, _, stderr := testApp("")
	a.in = panicking{"Zebra"}
	if status := a.main(context.Background(), []string{"check", "-"}); status != statusInternal {
		t.Errorf("status %d, want %d", status, statusInternal)
	}
	if got := stderr.String(); got != "stance: internal fault: panic with a string\n" {
		t.Errorf("on stderr: %q", got)
	}
}

type panicking struct{ value any }

func (p panicking) Read([]byte) (int, error) { panic(p.value) }

func TestStopping(t *testing.T) {
	ctx, stop := context.WithCancel(context.Background())
	stop()
	for _, command := range []string{"check", "read"} {
		a, _, stderr := testApp("Resident: R1\nTime: 2026-11-24T08:00:00Z\n\nSlept well.\n")
		if status := a.main(ctx, []string{command, "-"}); status != statusInternal {
			t.Errorf("%s: status %d, want %d", command, status, statusInternal)
		}
		if got := stderr.String(); got != "stance: stopped before the end\n" {
			t.Errorf("%s: on stderr: %q", command, got)
		}
	}
}

type full struct{}

func (full) Write([]byte) (int, error) { return 0, errors.New("no space left") }

// Output that cannot be written is no clean report.
func TestUnwritableOutput(t *testing.T) {
	for _, args := range [][]string{{"check", "-"}, {"read", "-"}, {"rules"}, {"rules", "--format", "md"}, {"words"}, {"words", "NWB"}} {
		a, _, stderr := testApp("Resident: R1\nTime: 2026-11-24T08:00:00Z\nRole: nurse\n\nSlept well.\n")
		a.out = full{}
		if status := a.main(context.Background(), args); status != statusInternal {
			t.Errorf("%v: status %d, want %d", args, status, statusInternal)
		}
		if !strings.Contains(stderr.String(), "no space left") {
			t.Errorf("%v: on stderr: %q", args, stderr)
		}
	}
}

// Input that breaks off is told, and what was read before it is still printed.
func TestInputThatBreaksOff(t *testing.T) {
	a, stdout, stderr := testApp("")
	a.in = io.MultiReader(strings.NewReader(strings.Repeat(`{"note":"A1","resident":"R1","time":"2026-11-24T08:00:00Z","text":"Slept."}`+"\n", 10_000)), broken{})
	if status := a.main(context.Background(), []string{"read", "--format", "json", "-"}); status != statusUsage {
		t.Errorf("status %d, want %d", status, statusUsage)
	}
	if !strings.Contains(stderr.String(), "pipe broke") {
		t.Errorf("on stderr: %q", stderr)
	}
	if !strings.HasPrefix(stdout.String(), `{"note":"A1",`) {
		t.Errorf("on stdout: %q", stdout)
	}
}

type broken struct{}

func (broken) Read([]byte) (int, error) { return 0, errors.New("pipe broke") }

// The order of the notes holds over many batches, which are read in parallel.
func TestReadKeepsTheOrder(t *testing.T) {
	var notes strings.Builder
	const n = 5*batchSize + 7
	for i := range n {
		notes.WriteString(`{"note":"`)
		notes.WriteString(strings.Repeat("i", i+1))
		notes.WriteString(`","resident":"R1","time":"2026-11-24T08:00:00Z","text":"Slept."}` + "\n")
	}
	a, stdout, stderr := testApp(notes.String())
	if status := a.main(context.Background(), []string{"read", "--format", "json", "-"}); status != statusClean {
		t.Fatalf("status %d: %s", status, stderr)
	}
	i := 0
	for line := range strings.Lines(stdout.String()) {
		i++
		if want := `{"note":"` + strings.Repeat("i", i) + `",`; !strings.HasPrefix(line, want) {
			t.Fatalf("line %d starts with %.40q, want %.40q", i, line, want)
		}
	}
	if i != n {
		t.Errorf("got %d lines, want %d", i, n)
	}
}
