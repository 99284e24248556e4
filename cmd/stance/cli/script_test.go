package cli_test

import (
	"bytes"
	"context"
	"encoding/csv"
	"errors"
	"flag"
	"fmt"
	"os"
	"os/exec"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/rogpeppe/go-internal/testscript"
	"github.com/xuri/excelize/v2"

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
//	workbook FILE SHEET=CSV …   writes a workbook of those sheets; what is a date as in 2026-11-24 21:40 becomes one
//	rows FILE SHEET     prints the rows of a workbook's sheet as they are shown, | between the cells
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
			"status":   status,
			"bytes":    writeBytes,
			"wide":     writeWide,
			"workbook": writeWorkbook,
			"rows":     readRows,
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

func writeWorkbook(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) < 2 {
		ts.Fatalf("usage: workbook FILE SHEET=CSV …")
	}
	f := excelize.NewFile()
	for i, arg := range args[1:] {
		name, file, _ := strings.Cut(arg, "=")
		rows, err := csv.NewReader(strings.NewReader(ts.ReadFile(file))).ReadAll()
		ts.Check(err)
		if i == 0 {
			ts.Check(f.SetSheetName("Sheet1", name))
		} else {
			_, err = f.NewSheet(name)
			ts.Check(err)
		}
		for r, row := range rows {
			cells := make([]any, len(row))
			for c, cell := range row {
				cells[c] = cell
				if at, err := time.Parse("2006-01-02 15:04", cell); err == nil {
					cells[c] = at
				}
			}
			ts.Check(f.SetSheetRow(name, "A"+strconv.Itoa(r+1), &cells))
		}
	}
	var b bytes.Buffer
	ts.Check(f.Write(&b))
	ts.Check(os.WriteFile(ts.MkAbs(args[0]), b.Bytes(), 0o644))
}

func readRows(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) != 2 {
		ts.Fatalf("usage: rows FILE SHEET")
	}
	f, err := excelize.OpenFile(ts.MkAbs(args[0]))
	ts.Check(err)
	defer f.Close()
	rows, err := f.GetRows(args[1])
	ts.Check(err)
	for _, row := range rows {
		fmt.Fprintln(ts.Stdout(), strings.Join(row, "|"))
	}
}
