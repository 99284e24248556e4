//go:build unix

package main

import (
	"errors"
	"io"
	"os"
	"os/exec"
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

// stuck starts the program, which then waits for its output to be read: it writes more than a pipe holds.
func stuck(t *testing.T) *exec.Cmd {
	t.Helper()
	cmd := exec.Command(os.Args[0], "read", "--format", "json", "../../testdata/demo/notes.jsonl")
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
