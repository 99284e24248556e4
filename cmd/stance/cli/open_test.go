package cli

import (
	"bytes"
	"context"
	"errors"
	"io"
	"strings"
	"sync"
	"testing"
	"testing/iotest"
)

// silent is a keyboard at which nobody types: it tells that it is read and waits until the test is over.
type silent struct {
	once  sync.Once
	asked chan struct{}
	over  <-chan struct{}
}

func (s *silent) Read([]byte) (int, error) {
	s.once.Do(func() { close(s.asked) })
	<-s.over
	return 0, io.EOF
}

// What waits for input stops when it is told to, whatever the input is for.
func TestStoppedWhileInputIsAwaited(t *testing.T) {
	for _, args := range [][]string{
		{"check", "-"},
		{"check", "--chart", "-", "../../../testdata/demo/notes.jsonl"},
		{"check", "--policy", "-", "../../../testdata/demo/notes.jsonl"},
		{"check", "--chart", "../../../testdata/demo/chart.csv", "--answers", "-", "../../../testdata/demo/notes.jsonl"},
		{"read", "-"},
		{"rewrite", "-"},
		{"words", "--policy", "-", "NWB"},
		{"audit", "-"},
		{"audit", "merge", "-"},
		{"audit", "agree", "-"},
		{"serve", "adduser", "a17", "--users", t.TempDir() + "/users.jsonl", "--roles", "write", "--units", "all"},
	} {
		t.Run(strings.Join(args, " "), func(t *testing.T) {
			ctx, stop := context.WithCancel(t.Context())
			a, stdout, stderr := testApp("")
			in := &silent{asked: make(chan struct{}), over: t.Context().Done()}
			a.in = in
			go func() {
				<-in.asked
				stop()
			}()
			if status := a.main(ctx, args); status != statusInternal {
				t.Errorf("status %d, want %d", status, statusInternal)
			}
			if got := stderr.String(); got != "stance: stopped before the end\n" || stdout.Len() > 0 {
				t.Errorf("on stderr: %q, on stdout: %q", got, stdout)
			}
		})
	}
}

// endless is a device that never ends.
type endless struct{ line string }

func (e endless) Read(p []byte) (int, error) {
	n := 0
	for n+len(e.line) <= len(p) {
		n += copy(p[n:], e.line)
	}
	return n, nil
}

// What has to be held in memory whole is refused where it does not end.
func TestEndlessInput(t *testing.T) {
	for _, tt := range []struct {
		args []string
		line string
	}{
		{[]string{"check", "--policy", "-", "../../../testdata/demo/notes.jsonl"}, "\x00"},
		{[]string{"words", "--policy", "-", "NWB"}, "# \n"},
		{[]string{"audit", "merge", "-"}, " "},
		{[]string{"audit", "agree", "-"}, "row,mark\n"},
		{[]string{"check", "--chart", "-", "../../../testdata/demo/notes.jsonl"},
			"resident,unit,from,until,left_leg,right_leg,left_arm,right_arm,transfer,staff,aids,walk,by" + strings.Repeat(" ", 64<<10-100) + "\n"},
	} {
		t.Run(strings.Join(tt.args, " "), func(t *testing.T) {
			a, _, stderr := testApp("")
			a.in = endless{tt.line}
			if status := a.main(t.Context(), tt.args); status != statusUsage {
				t.Errorf("status %d, want %d", status, statusUsage)
			}
			if got := stderr.String(); !strings.Contains(got, "is too long, want at most ") {
				t.Errorf("on stderr: %q", got)
			}
		})
	}
}

// Nothing is lost or changed on its way through the reader that can be stopped.
func TestStoppableReader(t *testing.T) {
	want := bytes.Repeat([]byte("Slept well. "), 20_000)
	a := &app{stop: t.Context().Done()}
	for name, r := range map[string]io.Reader{
		"whole":              bytes.NewReader(want),
		"byte by byte":       iotest.OneByteReader(bytes.NewReader(want)),
		"end told with data": iotest.DataErrReader(bytes.NewReader(want)),
	} {
		if got, err := io.ReadAll(a.stoppable(r)); err != nil || !bytes.Equal(got, want) {
			t.Errorf("%s: got %d bytes, %v, want %d", name, len(got), err, len(want))
		}
	}
	broken := errors.New("pipe broke")
	r := a.stoppable(io.MultiReader(strings.NewReader("abc"), iotest.ErrReader(broken)))
	if got, err := io.ReadAll(r); string(got) != "abc" || !errors.Is(err, broken) {
		t.Errorf("got %q, %v, want what came before the fault, and the fault", got, err)
	}
}
