package cli

import (
	"bufio"
	"bytes"
	"context"
	"crypto/tls"
	"fmt"
	"io"
	"net"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"time"
)

// A listening is a run of stance listen in this process.
type listening struct {
	t      *testing.T
	addr   string
	stderr *safeBuffer
	stop   func() (status int)
}

func listenOn(t *testing.T, args ...string) *listening {
	t.Helper()
	l := &listening{t: t, stderr: new(safeBuffer)}
	stdout, printed := io.Pipe()
	ctx, cancel := context.WithCancel(context.Background())
	status := make(chan int, 1)
	a, _, _ := testApp("")
	a.out, a.err = printed, l.stderr
	a.now = time.Now // certificates are looked at by it
	go func() {
		status <- a.main(ctx, append([]string{"listen", "--listen", "127.0.0.1:0"}, args...))
		printed.Close()
	}()
	line, err := bufio.NewReader(stdout).ReadString('\n')
	if err != nil {
		t.Fatalf("it does not listen: %v, status %d, %s", err, <-status, l.stderr)
	}
	go func() { _, _ = io.Copy(io.Discard, stdout) }()
	l.addr = regexp.MustCompile(`127\.0\.0\.1:\d+`).FindString(line)
	stopped := false
	l.stop = func() int {
		if stopped {
			return 0
		}
		stopped = true
		cancel()
		return <-status
	}
	t.Cleanup(func() { l.stop() })
	return l
}

// say sends a message over a connection and gives the answer's code and reason.
func sayHL7(t *testing.T, c net.Conn, message string) string {
	t.Helper()
	if _, err := io.WriteString(c, "\x0b"+message+"\x1c\r"); err != nil {
		t.Fatal(err)
	}
	answer, err := bufio.NewReader(c).ReadString('\x1c')
	if err != nil {
		t.Fatal(err)
	}
	_, msa, _ := strings.Cut(answer, "MSA|")
	return strings.TrimRight(msa, "\r\x1c")
}

// documentOf is a document of the resident R-1; hl7Escape is not called for in what these tests say.
func documentOf(event, control, number, text string) string {
	return fmt.Sprintf("MSH|^~\\&|NOTES|HOME|REG|HOME|20261124214500||MDM^%s|%s|P|2.5\rPID|1||R-1\rPV1|1|I|Birch\r"+
		"TXA|1|PN|TX|202611242140+0000|||||A17^^^^^^RN|||%s\rOBX|1|TX|N||%s||||||F\r", event, control, number, text)
}

func dial(t *testing.T, addr string) net.Conn {
	t.Helper()
	c, err := net.Dial("tcp", addr)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { c.Close() })
	if err := c.SetDeadline(time.Now().Add(time.Minute)); err != nil {
		t.Fatal(err)
	}
	return c
}

// waitFor waits until a file has something that a pattern finds.
func waitFor(t *testing.T, name, pattern string) string {
	t.Helper()
	for range 600 {
		if b, err := os.ReadFile(name); err == nil && regexp.MustCompile(pattern).Match(b) {
			return string(b)
		}
		time.Sleep(100 * time.Millisecond)
	}
	b, _ := os.ReadFile(name)
	t.Fatalf("%s never has %s: %s", name, pattern, b)
	return ""
}

const nwbChart = "resident,unit,from,until,left_leg,right_leg,left_arm,right_arm,transfer,staff,aids,walk,by\n" +
	"R-1,Birch,2026-11-20T09:00:00Z,,nwb,fwb,fwb,fwb,two-person-pivot,2,,no,therapist\n"

func TestListen(t *testing.T) {
	dir := t.TempDir()
	idx, chart, findings := filepath.Join(dir, "index"), filepath.Join(dir, "chart.csv"), filepath.Join(dir, "findings.jsonl")
	if err := os.WriteFile(chart, []byte(nwbChart), 0o600); err != nil {
		t.Fatal(err)
	}
	args := []string{"--index", idx, "--chart", chart, "--findings", findings}
	l := listenOn(t, args...)
	c := dial(t, l.addr)
	walked := documentOf("T02", "M1", "N1", "walked to the lounge with cane, x1")
	for _, tt := range []struct{ send, want string }{
		{walked, "AA|M1|"},
		{walked, "AA|M1|"}, // sent again, since the answer was lost
		{strings.Replace(walked, "PID|1||R-1", "PID|1||", 1), "AR|M1|message:2: want the resident's number in PID-3 (message M1)"},
		{"MSH|^~\\&|A|B|C|D|20261124214500||ADT^A01|M2|P|2.5\rPID|1||R-1\r", `AR|M2|want a message with a note in it: MDM\S\T02, T06, T10 or T11, or ORU\S\R01 with text; this is ADT\S\A01`},
		{documentOf("T11", "M3", "N7", ""), `AR|M3|want the number (TXA-12) and the resident (PID-3) of a document that is kept; nothing was withdrawn`},
		{strings.Replace(documentOf("T11", "M3", "N1", ""), "PID|1||R-1", "PID|1||R-2", 1), `AR|M3|want the number (TXA-12) and the resident (PID-3) of a document that is kept; nothing was withdrawn`},
	} {
		if got := sayHL7(t, c, tt.send); got != tt.want {
			t.Errorf("answered %q, want %q", got, tt.want)
		}
	}
	found := waitFor(t, findings, `"rule":"load-over-limit"`)
	if status := l.stop(); status != 0 {
		t.Errorf("stopped with status %d: %s", status, l.stderr)
	}

	// Started again, it says nothing twice, cuts off what was left half written, and goes on.
	f, err := os.OpenFile(findings, os.O_APPEND|os.O_WRONLY, 0)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := f.WriteString(`{"id":"hal`); err != nil {
		t.Fatal(err)
	}
	if err := f.Close(); err != nil {
		t.Fatal(err)
	}
	l = listenOn(t, args...)
	c = dial(t, l.addr)
	if got := sayHL7(t, c, walked); got != "AA|M1|" {
		t.Errorf("answered %q", got)
	}
	if got := sayHL7(t, c, documentOf("T10", "M4", "N2|N1", "walked to the dining room with cane, x1")); got != "AA|M4|" {
		t.Errorf("answered %q", got)
	}
	all := waitFor(t, findings, `dining room`)
	if !strings.HasPrefix(all, found) || strings.Count(all, "lounge with cane") != strings.Count(found, "lounge with cane") || strings.Contains(all, `"hal`) {
		t.Errorf("before:\n%safter:\n%s", found, all)
	}
	// A sentence about moving of which nothing was understood is told too, once.
	unread := documentOf("T02", "M5", "N3", "Quorvel x2 to the commode at 0900.")
	for range 2 {
		if got := sayHL7(t, c, unread); got != "AA|M5|" {
			t.Errorf("answered %q", got)
		}
	}
	waitFor(t, findings, `"rule":"not-understood","resident":"R-1","note":"N3".*Quorvel`)
	l.stop()
	if last := waitFor(t, findings, "Quorvel"); strings.Count(last, "Quorvel") != 1 {
		t.Errorf("told more than once:\n%s", last)
	}
	a, stdout, _ := testApp("")
	if status := a.main(context.Background(), []string{"find", "--index", idx, "walked", "--format", "csv"}); status != 0 || strings.Count(stdout.String(), "R-1") != 1 {
		t.Errorf("status %d, kept:\n%s", status, stdout)
	}
}

// Documents that replace and cancel others come one by one, over several runs, late and twice.
func TestListenReplaced(t *testing.T) {
	idx := filepath.Join(t.TempDir(), "index")
	kept := func(args ...string) string {
		t.Helper()
		a, stdout, stderr := testApp("")
		if status := a.main(context.Background(), append([]string{"find", "--index", idx, "--order", "newest"}, args...)); status != 0 {
			t.Fatalf("find: status %d, %s", status, stderr)
		}
		return stdout.String()
	}
	for _, run := range []struct {
		send []string // event, number and text, divided by bars; a number that is replaced after a slash
		want string   // what is kept of R-1: how often each word stands there
		not  string
	}{
		{[]string{"T02 N1 first", "T10 N2/N1 second", "T02 N8 other"}, "second other", "first"},
		{[]string{"T10 N3/N2 third", "T02 N1 first", "T02 N1 late", "T10 N2/N1 second"}, "third other", "first second late"},
		{[]string{"T11 N3", "T11 N3", "T10 N3/N2 third", "T02 N8 other"}, "other", "third second first"},
		{[]string{"T10 N4/N3 fourth", "T11 N1", "T11 N8"}, "fourth", "other third"},
		{[]string{"T11 N4"}, "", "fourth other"}, // nobody is left to be checked
		{[]string{"T02 N9 last"}, "last", "fourth"},
	} {
		l := listenOn(t, "--index", idx)
		c := dial(t, l.addr)
		for i, s := range run.send {
			event, rest, _ := strings.Cut(s, " ")
			number, text, _ := strings.Cut(rest, " ")
			if got, want := sayHL7(t, c, documentOf(event, fmt.Sprint("M", i), strings.ReplaceAll(number, "/", "|"), "was "+text+" seen")), fmt.Sprintf("AA|M%d|", i); got != want {
				t.Errorf("%s: answered %q, want %q", s, got, want)
			}
		}
		if status := l.stop(); status != 0 {
			t.Fatalf("stopped with status %d: %s", status, l.stderr)
		}
		found := kept()
		for _, word := range strings.Fields(run.want) {
			if strings.Count(found, word) != 1 {
				t.Errorf("after %v: want %s once in\n%s", run.send, word, found)
			}
		}
		for _, word := range strings.Fields(run.not) {
			if strings.Contains(found, word) {
				t.Errorf("after %v: want no %s in\n%s", run.send, word, found)
			}
		}
	}
	if all := kept("--earlier"); !strings.Contains(all, "withdrawn since") || !strings.Contains(all, "amended since") {
		t.Errorf("with earlier versions:\n%s", all)
	}
	a, stdout, stderr := testApp("")
	if status := a.main(context.Background(), []string{"keep", "--index", idx, "--rebuild"}); status != 0 || !strings.Contains(stdout.String(), "the notes of 1 resident") {
		t.Errorf("status %d, %s%s", status, stdout, stderr)
	}
}

// Findings that a program fails over are handed to it again.
func TestListenRun(t *testing.T) {
	dir := t.TempDir()
	chart, got, program := filepath.Join(dir, "chart.csv"), filepath.Join(dir, "got"), filepath.Join(dir, "program")
	script := "#!/bin/sh\nif [ -e " + filepath.Join(dir, "works") + " ]; then cat >>" + got + "; else exit 1; fi\n"
	for name, text := range map[string]string{chart: nwbChart, program: script} {
		if err := os.WriteFile(name, []byte(text), 0o700); err != nil {
			t.Fatal(err)
		}
	}
	l := listenOn(t, "--index", filepath.Join(dir, "index"), "--chart", chart, "--run", program)
	c := dial(t, l.addr)
	if got := sayHL7(t, c, documentOf("T02", "M1", "N1", "walked to the lounge with cane, x1")); got != "AA|M1|" {
		t.Fatalf("answered %q", got)
	}
	for i := 0; !strings.Contains(l.stderr.String(), "notes are kept but were not checked: --run"); i++ {
		if i == 600 {
			t.Fatalf("said %q", l.stderr)
		}
		time.Sleep(100 * time.Millisecond)
	}
	if err := os.WriteFile(filepath.Join(dir, "works"), nil, 0o600); err != nil {
		t.Fatal(err)
	}
	if got := sayHL7(t, c, documentOf("T02", "M2", "N2", "walked to the bathroom with cane, x1")); got != "AA|M2|" {
		t.Fatalf("answered %q", got)
	}
	waitFor(t, got, `(?s)lounge.*bathroom|bathroom.*lounge`)
}

// Beyond this machine only who shows a certificate that is signed by those named may send.
func TestListenTLS(t *testing.T) {
	dir := t.TempDir()
	cert, key, _ := selfSigned(t, dir)
	l := listenOn(t, "--index", filepath.Join(dir, "index"), "--tls-cert", cert, "--tls-key", key, "--tls-clients", cert)
	pair, err := tls.LoadX509KeyPair(cert, key)
	if err != nil {
		t.Fatal(err)
	}
	message := documentOf("T02", "M1", "N1", "sat up")
	c, err := tls.Dial("tcp", l.addr, &tls.Config{InsecureSkipVerify: true, Certificates: []tls.Certificate{pair}})
	if err != nil {
		t.Fatal(err)
	}
	defer c.Close()
	if got := sayHL7(t, c, message); got != "AA|M1|" {
		t.Errorf("answered %q", got)
	}
	stranger, err := tls.Dial("tcp", l.addr, &tls.Config{InsecureSkipVerify: true})
	if err == nil {
		defer stranger.Close()
		_, _ = io.WriteString(stranger, "\x0b"+message+"\x1c\r")
		if got, err := io.ReadAll(stranger); err == nil || bytes.Contains(got, []byte("MSA")) {
			t.Errorf("a stranger was answered %q", got)
		}
	}
	plain := dial(t, l.addr)
	_, _ = io.WriteString(plain, "\x0b"+message+"\x1c\r")
	if got, _ := io.ReadAll(plain); bytes.Contains(got, []byte("MSA")) {
		t.Errorf("without TLS: answered %q", got)
	}
}
