package web_test

import (
	"bytes"
	"context"
	"crypto/tls"
	"errors"
	"fmt"
	"io"
	"net"
	"net/http"
	"net/http/httptest"
	"net/url"
	"os"
	"strings"
	"sync"
	"testing"
	"time"

	"example.com/stance/cmd/stance/web"
)

// A running server.
type running struct {
	url, address string
	stop         func()
	ended        chan error
}

func start(t *testing.T, c web.Config) *running {
	t.Helper()
	ctx, stop := context.WithCancel(context.Background())
	r := &running{stop: stop, ended: make(chan error, 1)}
	started := make(chan string, 1)
	c.Bind = "127.0.0.1:0"
	c.Started = func(address string) { started <- address }
	if c.Say == nil {
		c.Say = func(string) {}
	}
	go func() { r.ended <- web.Serve(ctx, c) }()
	select {
	case r.url = <-started:
	case err := <-r.ended:
		t.Fatal(err)
	}
	t.Cleanup(stop)
	u, err := url.Parse(r.url)
	if err != nil {
		t.Fatal(err)
	}
	r.address = u.Host
	return r
}

func (r *running) dial(t *testing.T) net.Conn {
	t.Helper()
	c, err := net.Dial("tcp", r.address)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { c.Close() })
	return c
}

// cutOff waits for the server to end the connection, and gives what it said before.
func cutOff(t *testing.T, c net.Conn) string {
	t.Helper()
	if err := c.SetReadDeadline(time.Now().Add(5 * time.Minute)); err != nil {
		t.Fatal(err)
	}
	said, err := io.ReadAll(c)
	if errors.Is(err, os.ErrDeadlineExceeded) {
		t.Error("the connection was left open")
	}
	return string(said)
}

func TestStopLetsRequestsEnd(t *testing.T) {
	entered, release := make(chan struct{}), make(chan struct{})
	r := start(t, web.Config{Handler: http.HandlerFunc(func(w http.ResponseWriter, _ *http.Request) {
		close(entered)
		<-release
		io.WriteString(w, "to its end")
	})})
	var body []byte
	var wg sync.WaitGroup
	wg.Go(func() {
		resp, err := http.Get(r.url)
		if err != nil {
			t.Error(err)
			return
		}
		defer resp.Body.Close()
		if body, err = io.ReadAll(resp.Body); err != nil {
			t.Error(err)
		}
	})
	<-entered
	r.stop()
	select {
	case err := <-r.ended:
		t.Fatalf("stopped beside a request in work: %v", err)
	default:
	}
	close(release)
	wg.Wait()
	if err := <-r.ended; err != nil || string(body) != "to its end" {
		t.Errorf("Serve: %v, answer %q, want no error and a whole answer", err, body)
	}
	if c, err := net.Dial("tcp", r.address); err == nil {
		c.Close()
		t.Error("still listened on")
	}
}

// Requests that do not end cannot keep the server from stopping.
func TestStopCutsOff(t *testing.T) {
	entered, release := make(chan struct{}), make(chan struct{})
	defer close(release)
	r := start(t, web.Config{Limits: web.Limits{Stop: time.Millisecond}, Handler: http.HandlerFunc(func(http.ResponseWriter, *http.Request) {
		close(entered)
		<-release
	})})
	fmt.Fprint(r.dial(t), "GET / HTTP/1.1\r\nHost: localhost\r\n\r\n")
	<-entered
	r.stop()
	if err := <-r.ended; err != nil {
		t.Errorf("Serve: %v, want no error", err)
	}
}

func TestSlowClientsAreCutOff(t *testing.T) {
	// Long enough for a header to be read on a busy machine.
	short := 5 * time.Second
	large := bytes.Repeat([]byte("x"), 32<<20) // more than the buffers between the two
	wrote := make(chan error, 1)
	handler := http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		switch r.URL.Path {
		case "/large":
			_, err := w.Write(large)
			wrote <- err
		default:
			if _, err := io.ReadAll(r.Body); err != nil {
				http.Error(w, "too slow", http.StatusRequestTimeout)
			}
		}
	})
	for _, tt := range []struct {
		name, send string
		limits     web.Limits
		want       string // start of what the server says; empty: nothing
	}{
		{"says nothing", "", web.Limits{Header: short}, ""},
		{"header trickles", "GET / HTTP/1.1\r\nHost: loc", web.Limits{Header: short}, ""},
		{"body trickles", "POST / HTTP/1.1\r\nHost: localhost\r\nContent-Length: 9\r\n\r\nx", web.Limits{Read: short}, "HTTP/1.1 408 "},
		{"asks no more", "GET / HTTP/1.1\r\nHost: localhost\r\n\r\n", web.Limits{Idle: short}, "HTTP/1.1 200 "},
		{"header too large", "GET / HTTP/1.1\r\nHost: localhost\r\nX: " + strings.Repeat("x", 20<<10), web.Limits{HeaderBytes: 1 << 10}, "HTTP/1.1 431 "},
	} {
		t.Run(tt.name, func(t *testing.T) {
			t.Parallel()
			c := start(t, web.Config{Handler: handler, Limits: tt.limits}).dial(t)
			fmt.Fprint(c, tt.send)
			if said := cutOff(t, c); !strings.HasPrefix(said, tt.want) || tt.want == "" && said != "" {
				t.Errorf("the server said %.60q, want %q", said, tt.want)
			}
		})
	}
	t.Run("does not read", func(t *testing.T) {
		t.Parallel()
		fmt.Fprint(start(t, web.Config{Handler: handler, Limits: web.Limits{Write: short}}).dial(t), "GET /large HTTP/1.1\r\nHost: localhost\r\n\r\n")
		if err := <-wrote; err == nil {
			t.Error("the handler wrote to its end, want it cut off")
		}
	})
}

// One address cannot take all connections, and a place is given back.
func TestConnectionsOfOneAddress(t *testing.T) {
	r := start(t, web.Config{Limits: web.Limits{PerAddress: 2}, Handler: http.HandlerFunc(func(http.ResponseWriter, *http.Request) {})})
	ask := func(c net.Conn) string {
		t.Helper()
		fmt.Fprint(c, "GET / HTTP/1.1\r\nHost: localhost\r\n\r\n")
		start := make([]byte, len("HTTP/1.1 200"))
		_, err := io.ReadFull(c, start)
		if err != nil {
			return "cut off"
		}
		return string(start)
	}
	first, second := r.dial(t), r.dial(t)
	for _, c := range []net.Conn{first, second} {
		if got := ask(c); got != "HTTP/1.1 200" {
			t.Fatalf("within the limit: %q", got)
		}
	}
	if got := ask(r.dial(t)); got != "cut off" {
		t.Errorf("the third connection: %q, want it cut off", got)
	}
	first.Close()
	deadline := time.Now().Add(30 * time.Second)
	for ask(r.dial(t)) != "HTTP/1.1 200" {
		if time.Now().After(deadline) {
			t.Fatal("the place of a closed connection was not given back")
		}
	}
}

// When all connections are taken the next waits, and the server can still be stopped.
func TestAllConnectionsTaken(t *testing.T) {
	r := start(t, web.Config{Limits: web.Limits{Connections: 1, Stop: 50 * time.Millisecond}, Handler: http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		io.WriteString(w, r.URL.Path)
	})})
	first, second := r.dial(t), r.dial(t)
	fmt.Fprint(second, "GET /second HTTP/1.1\r\nHost: localhost\r\nConnection: close\r\n\r\n")
	fmt.Fprint(first, "GET /first HTTP/1.1\r\nHost: localhost\r\nConnection: close\r\n\r\n")
	if got := cutOff(t, first); !strings.HasSuffix(got, "/first") {
		t.Errorf("the first: %q", got)
	}
	if got := cutOff(t, second); !strings.HasSuffix(got, "/second") {
		t.Errorf("the one that waited: %q", got)
	}
	fmt.Fprint(r.dial(t), "G") // takes the only place
	r.stop()
	if err := <-r.ended; err != nil {
		t.Errorf("Serve: %v, want no error", err)
	}
}

func TestTLS(t *testing.T) {
	lent := httptest.NewUnstartedServer(nil)
	lent.StartTLS() // for its certificate, which is for example.com
	defer lent.Close()
	cert := lent.TLS.Certificates[0]
	cert.Leaf = lent.Certificate()
	var said strings.Builder
	var mu sync.Mutex
	r := start(t, web.Config{Certificate: &cert, Handler: http.HandlerFunc(func(w http.ResponseWriter, _ *http.Request) { io.WriteString(w, "safe") }),
		Say: func(line string) {
			mu.Lock()
			defer mu.Unlock()
			said.WriteString(line)
		}})
	if !strings.HasPrefix(r.url, "https://example.com:") {
		t.Errorf("to open: %s, want the name of the certificate", r.url)
	}
	_, port, err := net.SplitHostPort(r.address)
	if err != nil {
		t.Fatal(err)
	}
	resp, err := lent.Client().Get("https://127.0.0.1:" + port)
	if err != nil {
		t.Fatal(err)
	}
	body, err := io.ReadAll(resp.Body)
	resp.Body.Close()
	if err != nil || string(body) != "safe" {
		t.Errorf("answer %q, %v", body, err)
	}
	if c, err := tls.Dial("tcp", "127.0.0.1:"+port, &tls.Config{InsecureSkipVerify: true, MaxVersion: tls.VersionTLS11}); err == nil {
		c.Close()
		t.Error("TLS 1.1 is taken")
	}
	if resp, err := http.Get("http://127.0.0.1:" + port); err == nil {
		resp.Body.Close()
		if resp.StatusCode != http.StatusBadRequest {
			t.Errorf("plain HTTP: status %d, want 400", resp.StatusCode)
		}
	}
	mu.Lock()
	defer mu.Unlock()
	if !strings.Contains(said.String(), "TLS handshake error") {
		t.Errorf("told %q, want the handshake that went wrong", &said)
	}
}

func TestAddressInUse(t *testing.T) {
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	defer l.Close()
	err = web.Serve(context.Background(), web.Config{Bind: l.Addr().String(), Started: func(string) { t.Error("started") }, Say: func(string) {}})
	var op *net.OpError
	if !errors.As(err, &op) {
		t.Errorf("Serve: %v, want that the address is taken", err)
	}
}

// Nothing is answered past the handler, whose guard looks at each request.
func TestEveryRequestReachesTheHandler(t *testing.T) {
	r := start(t, web.Config{Handler: http.HandlerFunc(func(w http.ResponseWriter, _ *http.Request) {
		http.Error(w, "refused", http.StatusMethodNotAllowed)
	})})
	c := r.dial(t)
	fmt.Fprint(c, "OPTIONS * HTTP/1.1\r\nHost: evil.example\r\nConnection: close\r\n\r\n")
	if said := cutOff(t, c); !strings.HasPrefix(said, "HTTP/1.1 405 ") {
		t.Errorf("the server said %.60q, want 405", said)
	}
}
