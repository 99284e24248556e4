package mllp_test

import (
	"context"
	"errors"
	"fmt"
	"io"
	"net"
	"regexp"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"example.com/stance/lint/mllp"
)

// A peer is a server that remembers what it was given, and a connection to it.
type peer struct {
	t    *testing.T
	addr string

	mu    sync.Mutex
	taken []string
	said  []string
}

// newPeer starts a server that refuses messages with "refuse" in them, and fails over those with "fail".
func newPeer(t *testing.T, frame time.Duration) *peer {
	t.Helper()
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	p := &peer{t: t, addr: l.Addr().String()}
	s := mllp.Server{
		Take: func(_ context.Context, m []byte) error {
			p.mu.Lock()
			defer p.mu.Unlock()
			switch {
			case strings.Contains(string(m), "refuse"):
				return &mllp.RefusedError{Reason: "want a|b\rc"}
			case strings.Contains(string(m), "fail"):
				return errors.New("/a/path is full")
			}
			p.taken = append(p.taken, string(m))
			return nil
		},
		Say: func(format string, args ...any) {
			p.mu.Lock()
			defer p.mu.Unlock()
			p.said = append(p.said, fmt.Sprintf(format, args...))
		},
		Now:   func() time.Time { return time.Date(2026, 11, 24, 21, 40, 0, 0, time.UTC) },
		Frame: frame, Idle: time.Minute, Connections: 4,
	}
	ctx, cancel := context.WithCancel(context.Background())
	done := make(chan error, 1)
	go func() { done <- s.Serve(ctx, l) }()
	t.Cleanup(func() {
		cancel()
		if err := <-done; err != nil {
			t.Error(err)
		}
	})
	return p
}

// send writes bytes on a connection of their own and gives all that comes back until it is closed by the server or, after
// the last byte, by the client.
func (p *peer) send(data string, closeAfter bool) string {
	p.t.Helper()
	c, err := net.Dial("tcp", p.addr)
	if err != nil {
		p.t.Fatal(err)
	}
	defer c.Close()
	wrote := make(chan struct{})
	go func() {
		defer close(wrote)
		_, _ = io.WriteString(c, data) // the server may hang up before
		if closeAfter {
			_ = c.(*net.TCPConn).CloseWrite()
		}
	}()
	got, _ := io.ReadAll(c) // a reset after the answer is no matter
	<-wrote
	return string(got)
}

const message = "MSH|^~\\&|NOTES|HOME|REG|CITY|20261124214500||MDM^T02^MDM_T02|M1|P|2.4\rPID|1||R\r"

func framed(m string) string { return "\x0b" + m + "\x1c\r" }

func answer(code, id, reason string) string {
	return framed("MSH|^~\\&|REG|CITY|NOTES|HOME|20261124214000+0000||ACK^T02|A" + id + "|P|2.4\rMSA|" + code + "|" + id + "|" + reason + "\r")
}

func TestServe(t *testing.T) {
	const bare = "MSH|^~\\&|||||20261124214000+0000||ACK|A|P|2.5\rMSA|AR||"
	tests := []struct {
		name, in, want string
		taken          []string
	}{
		{"one", framed(message), answer("AA", "M1", ""), []string{message}},
		{"two, and blanks between", framed(message) + "\r\n" + framed(message), answer("AA", "M1", "") + answer("AA", "M1", ""), []string{message, message}},
		{"refused", framed(message+"ZZZ|refuse\r") + framed(message), answer("AR", "M1", `want a\F\b c`) + answer("AA", "M1", ""), []string{message}},
		{"failed", framed(message + "ZZZ|fail\r"), answer("AE", "M1", "the message could not be kept; send it again later"), nil},
		{"other delimiters", framed("MSH!@*$%!NOTES!HOME!REG!CITY!20261124214500!!MDM@T02!M1!P!2.4\rZZZ!refuse\r"),
			framed("MSH!@*$%!REG!CITY!NOTES!HOME!20261124214000+0000!!ACK@T02!AM1!P!2.4\rMSA!AR!M1!want a|b c\r"), nil},
		{"no message", framed("GET / HTTP/1.1\r"), framed(bare + "line 1: want a message that starts with MSH\r"), nil},
		{"wrong delimiters", framed("MSH|||||\r"), framed(bare + `line 1: want MSH with a field separator and four other delimiters, as in "MSH\F\\S\\R\\E\\T\\F\"` + "\r"), nil},
		{"no frame", "MSH|^~\\&|\r" + framed(message), "", nil},
		{"half a frame", "\x0b" + message, "", nil},
		{"a frame in a frame", "\x0b" + message + framed(message), "", nil},
		{"a frame that ends otherwise", "\x0b" + message + "\x1cX" + framed(message), "", nil},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			p := newPeer(t, time.Minute)
			if got := p.send(tt.in, true); got != tt.want {
				t.Errorf("got  %q\nwant %q", got, tt.want)
			}
			p.mu.Lock()
			defer p.mu.Unlock()
			if !slices.Equal(p.taken, tt.taken) {
				t.Errorf("taken %q, want %q", p.taken, tt.taken)
			}
			if whole := !strings.Contains(tt.want, "AR") && !strings.Contains(tt.want, "AE") && tt.want != ""; whole != (len(p.said) == 0) {
				t.Errorf("said %q", p.said)
			}
		})
	}
}

// A huge frame is answered and cut off; who sends slowly, or not to the end, is hung up on; others are served meanwhile.
func TestHostile(t *testing.T) {
	p := newPeer(t, 100*time.Millisecond)
	slow, err := net.Dial("tcp", p.addr)
	if err != nil {
		t.Fatal(err)
	}
	defer slow.Close()
	if _, err := io.WriteString(slow, "\x0bMSH|^~"); err != nil {
		t.Fatal(err)
	}
	got := p.send("\x0b"+message+strings.Repeat("x", 5<<20), false)
	if !regexp.MustCompile(`MSA\|AR\|M1\|want a message of at most 4 MiB`).MatchString(got) {
		// Where the sender still writes, the answer may be lost with the connection, but never be another.
		if got != "" {
			t.Errorf("a huge frame was answered %q", got)
		}
	}
	if got := p.send(framed(message), true); got != answer("AA", "M1", "") {
		t.Errorf("after that: %q", got)
	}
	if rest, err := io.ReadAll(slow); len(rest) > 0 || err != nil && !errors.Is(err, io.EOF) {
		t.Errorf("the slow sender got %q, %v", rest, err)
	}
	p.mu.Lock()
	defer p.mu.Unlock()
	if len(p.taken) != 1 {
		t.Errorf("taken %q", p.taken)
	}
}
