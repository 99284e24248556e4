// Package web serves a handler on one address until it is told to stop: the listener, TLS, and the
// limits on connections and on time that keep slow clients from holding the server.
//
// Start with [Serve]. Who may ask what is decided by package guard, which the handler comes wrapped in.
package web

import (
	"context"
	"crypto/tls"
	"errors"
	"log"
	"net"
	"net/http"
	"net/url"
	"strings"
	"time"
)

// Limits bound what clients may take. A field that is 0 has the value of DefaultLimits.
type Limits struct {
	Header      time.Duration // for the header of a request
	Read        time.Duration // for a request whole
	Write       time.Duration // from the end of the header to the end of the answer
	Idle        time.Duration // of a connection between two requests
	Stop        time.Duration // for the requests in work when the server is told to stop
	HeaderBytes int           // of one request
	Connections int           // at a time
	PerAddress  int           // connections at a time from one address
}

// DefaultLimits suit a home: a browser opens six connections at most to one server, and a page is
// answered in well under a second. Write is longer than reading, waiting for a turn and answering
// take together (package guard), so that who waits is told.
func DefaultLimits() Limits {
	return Limits{
		Header: 5 * time.Second, Read: 15 * time.Second, Write: time.Minute, Idle: time.Minute, Stop: 10 * time.Second,
		HeaderBytes: 16 << 10, Connections: 256, PerAddress: 64,
	}
}

// A Config says what is served where.
type Config struct {
	Bind        string           // host:port; port 0 takes one that is free
	Certificate *tls.Certificate // nil: plain HTTP
	Handler     http.Handler     // behind a guard
	Limits      Limits

	Started func(address string) // is told the URL to open, once requests are taken
	Say     func(line string)    // is told what goes wrong with connections
}

// Serve serves until ctx ends; then it lets the requests in work end, and returns nil. The error is
// that of an address that cannot be listened on.
func Serve(ctx context.Context, c Config) error {
	l, err := net.Listen("tcp", c.Bind)
	if err != nil {
		return err
	}
	limits := c.Limits.orDefault()
	// Only HTTP/1: one request at a time to a connection, so that the limit on connections is one on
	// requests that are being read.
	protocols := new(http.Protocols)
	protocols.SetHTTP1(true)
	s := &http.Server{
		Handler:           c.Handler,
		Protocols:         protocols,
		ReadHeaderTimeout: limits.Header,
		ReadTimeout:       limits.Read,
		WriteTimeout:      limits.Write,
		IdleTimeout:       limits.Idle,
		MaxHeaderBytes:    limits.HeaderBytes,
		ErrorLog:          log.New(lines(c.Say), "", 0),
		// So that nothing is answered before the handler's guard has looked at it.
		DisableGeneralOptionsHandler: true,
	}
	limited := limit(l, limits.Connections, limits.PerAddress)
	ended := make(chan error, 1)
	go func() {
		if c.Certificate == nil {
			ended <- s.Serve(limited)
			return
		}
		s.TLSConfig = &tls.Config{Certificates: []tls.Certificate{*c.Certificate}, MinVersion: tls.VersionTLS12}
		ended <- s.ServeTLS(limited, "", "")
	}()
	c.Started(address(c, l.Addr()))
	select {
	case err := <-ended:
		return err
	case <-ctx.Done():
	}
	grace, cancel := context.WithTimeout(context.WithoutCancel(ctx), limits.Stop)
	defer cancel()
	err = s.Shutdown(grace)
	if errors.Is(err, context.DeadlineExceeded) {
		err = s.Close() // whoever is still at it is cut off
	}
	<-ended
	return err
}

func (l Limits) orDefault() Limits {
	d := DefaultLimits()
	return Limits{
		Header: or(l.Header, d.Header), Read: or(l.Read, d.Read), Write: or(l.Write, d.Write), Idle: or(l.Idle, d.Idle), Stop: or(l.Stop, d.Stop),
		HeaderBytes: or(l.HeaderBytes, d.HeaderBytes), Connections: or(l.Connections, d.Connections), PerAddress: or(l.PerAddress, d.PerAddress),
	}
}

func or[T int | time.Duration](v, unset T) T {
	if v > 0 {
		return v
	}
	return unset
}

// lines hands each line written to it on.
type lines func(string)

func (say lines) Write(b []byte) (int, error) {
	say(strings.TrimSuffix(string(b), "\n"))
	return len(b), nil
}

// address is the URL at which the server is reached: by a name of its certificate where it has one.
func address(c Config, at net.Addr) string {
	u := url.URL{Scheme: "http", Host: at.String(), Path: "/"}
	if c.Certificate == nil {
		return u.String()
	}
	u.Scheme = "https"
	leaf := c.Certificate.Leaf
	_, port, err := net.SplitHostPort(at.String())
	if leaf == nil || err != nil {
		return u.String()
	}
	for _, name := range leaf.DNSNames {
		if !strings.HasPrefix(name, "*") {
			u.Host = net.JoinHostPort(name, port)
			return u.String()
		}
	}
	for _, ip := range leaf.IPAddresses {
		u.Host = net.JoinHostPort(ip.String(), port)
		break
	}
	return u.String()
}
