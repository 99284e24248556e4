//go:build unix

package main

import (
	"errors"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
	"time"
)

// TestMain runs the program itself where the tests start it.
func TestMain(m *testing.M) {
	if os.Getenv("STANCE_TEST_MAIN") != "" {
		main()
	}
	os.Exit(m.Run())
}

// stuck starts the program, which then waits for its output to be read. What it writes of its one note is one piece
// that a pipe does not hold, so that it cannot end between two.
func stuck(t *testing.T) *exec.Cmd {
	t.Helper()
	notes := filepath.Join(t.TempDir(), "notes.jsonl")
	text := strings.Repeat("Pivot transfer x1 with belt. ", 1000)
	line := `{"note":"N1","resident":"R-1","time":"2026-11-24T21:40:00Z","text":"` + text + `"}` + "\n"
	if err := os.WriteFile(notes, []byte(line), 0o600); err != nil {
		t.Fatal(err)
	}
	cmd := exec.Command(os.Args[0], "read", "--format", "json", notes)
	cmd.Env = append(os.Environ(), "STANCE_TEST_MAIN=1")
	out, err := cmd.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = cmd.Process.Kill() })
	if _, err := io.ReadFull(out, make([]byte, 1)); err != nil { // it has begun
		t.Fatal(err)
	}
	return cmd
}

// signalled sends the signal until the program has ended: of two that come at once one is lost, and
// there is no telling from outside when the first has been taken.
func signalled(t *testing.T, cmd *exec.Cmd, sig os.Signal) syscall.WaitStatus {
	t.Helper()
	type end struct {
		state *os.ProcessState
		err   error
	}
	ended := make(chan end, 1)
	go func() {
		state, err := cmd.Process.Wait() // that of cmd would close the pipe
		ended <- end{state, err}
	}()
	tick := time.NewTicker(10 * time.Millisecond)
	defer tick.Stop()
	for {
		select {
		case e := <-ended:
			if e.err != nil {
				t.Fatal(e.err)
			}
			return e.state.Sys().(syscall.WaitStatus)
		case <-tick.C:
			if err := cmd.Process.Signal(sig); err != nil && !errors.Is(err, os.ErrProcessDone) {
				t.Fatal(err)
			}
		}
	}
}

// A second signal ends a program that the first could not.
func TestSecondSignal(t *testing.T) {
	for _, sig := range []syscall.Signal{syscall.SIGINT, syscall.SIGTERM} {
		if got := signalled(t, stuck(t), sig); !got.Signaled() || got.Signal() != sig {
			t.Errorf("%v: ended with %v, want by the signal", sig, got)
		}
	}
}
