package cli_test

import (
	"context"
	"errors"
	"flag"
	"os"
	"os/exec"
	"strconv"
	"testing"
	"time"

	"github.com/rogpeppe/go-internal/testscript"

	"example.com/stance/cmd/stance/cli"
)

var update = flag.Bool("update", false, "rewrite the golden parts of the scripts, the golden files and the known misses")

// clock is the time at which all tests run: after the notes of the demo home.
func clock() time.Time { return time.Date(2026, 12, 1, 12, 0, 0, 0, time.UTC) }

func TestMain(m *testing.M) {
	testscript.Main(m, map[string]func(){
		"stance": func() {
			os.Exit(cli.MainAt(context.Background(), clock(), os.Args[1:], os.Stdin, os.Stdout, os.Stderr))
		},
	})
}

// TestScripts runs whole command lines. Beside the commands of testscript there are
//
//	status N stance …   runs the program, which must exit with status N
//	bytes FILE HEX      writes a file of bytes, for what a script cannot hold
//	wide FILE N         writes a JSON Lines file of one record of N megabytes
func TestScripts(t *testing.T) {
	testscript.Run(t, testscript.Params{
		Dir:                 "testdata/script",
		UpdateScripts:       *update,
		RequireExplicitExec: true,
		RequireUniqueNames:  true,
		Setup: func(e *testscript.Env) error {
			e.Setenv("TZ", "UTC")
			return nil
		},
		Cmds: map[string]func(*testscript.TestScript, bool, []string){
			"status": status,
			"bytes":  writeBytes,
			"wide":   writeWide,
		},
	})
}

func status(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) < 2 {
		ts.Fatalf("usage: status N command args…")
	}
	want, err := strconv.Atoi(args[0])
	ts.Check(err)
	got := 0
	if err := ts.Exec(args[1], args[2:]...); err != nil {
		var exit *exec.ExitError
		if !errors.As(err, &exit) {
			ts.Fatalf("%v", err)
		}
		got = exit.ExitCode()
	}
	if got != want {
		ts.Fatalf("exit status %d, want %d", got, want)
	}
}

func writeBytes(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) != 2 {
		ts.Fatalf("usage: bytes FILE HEX")
	}
	b := make([]byte, len(args[1])/2)
	for i := range b {
		n, err := strconv.ParseUint(args[1][2*i:2*i+2], 16, 8)
		ts.Check(err)
		b[i] = byte(n)
	}
	ts.Check(os.WriteFile(ts.MkAbs(args[0]), b, 0o644))
}

func writeWide(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) != 2 {
		ts.Fatalf("usage: wide FILE MEGABYTES")
	}
	n, err := strconv.Atoi(args[1])
	ts.Check(err)
	f, err := os.Create(ts.MkAbs(args[0]))
	ts.Check(err)
	_, err = f.WriteString(`{"note":"W","resident":"R","time":"2026-11-24T08:00:00Z","text":"`)
	ts.Check(err)
	chunk := make([]byte, 1<<20)
	for i := range chunk {
		chunk[i] = 'a'
	}
	for range n {
		_, err = f.Write(chunk)
		ts.Check(err)
	}
	_, err = f.WriteString("\"}\n")
	ts.Check(err)
	ts.Check(f.Close())
}
