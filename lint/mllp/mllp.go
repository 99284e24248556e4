// Package mllp takes messages of HL7 v2 over connections, in the frames of the Minimal Lower Layer Protocol, and answers
// each once it has been taken.
package mllp

import (
	"bufio"
	"context"
	"errors"
	"fmt"
	"io"
	"net"
	"sync"
	"time"

	"example.com/stance/lint/internal/hl7"
)

// The bytes around a message.
const (
	start    = 0x0b
	end      = 0x1c
	carriage = 0x0d
)

// A RefusedError says why a message is rejected for good (AR). Any other error is answered with AE: it may come again.
type RefusedError struct{ Reason string }

func (e *RefusedError) Error() string { return e.Reason }

// A Server takes messages. Take and Say may be called by several connections at once.
type Server struct {
	// Take makes a message durable. It is answered with AA where the error is nil.
	Take func(ctx context.Context, message []byte) error
	Say  func(format string, args ...any) // what goes wrong on a connection
	Now  func() time.Time                 // the time to put on an answer

	Frame       time.Duration // within which a frame must be whole once it has begun, and an answer be taken
	Idle        time.Duration // after which a connection with no frame is closed
	Connections int           // at once
}

// Serve takes connections until the context ends. Messages that are being taken then are still answered.
func (s *Server) Serve(ctx context.Context, l net.Listener) error {
	stop := context.AfterFunc(ctx, func() { l.Close() })
	defer stop()
	var open sync.WaitGroup
	defer open.Wait()
	turns := make(chan struct{}, s.Connections)
	for {
		select {
		case turns <- struct{}{}:
		case <-ctx.Done():
			return nil
		}
		c, err := l.Accept()
		switch {
		case ctx.Err() != nil:
			if err == nil {
				return c.Close()
			}
			return nil
		case err != nil:
			return err
		}
		open.Go(func() {
			defer func() { <-turns }()
			defer c.Close()
			if err := s.connection(ctx, c); err != nil {
				s.Say("%s: %v", c.RemoteAddr(), err)
			}
		})
	}
}

// connection takes the frames of one connection. What was said of a broken one is never the end of the others.
func (s *Server) connection(ctx context.Context, c net.Conn) error {
	stop := context.AfterFunc(ctx, func() { _ = c.SetReadDeadline(time.Unix(1, 0)) }) // ends the wait for the next frame
	defer stop()
	in := bufio.NewReader(c)
	for {
		if ctx.Err() != nil {
			return nil
		}
		if err := c.SetReadDeadline(time.Now().Add(s.Idle)); err != nil {
			return err
		}
		if ctx.Err() != nil {
			return nil
		}
		b, err := in.ReadByte()
		switch {
		case err != nil:
			if quiet(err) {
				return nil
			}
			return err
		case b == carriage || b == '\n' || b == ' ':
			continue
		case b != start:
			return errors.New("want a frame that starts with byte 0x0B; the connection is closed")
		}
		if err := c.SetDeadline(time.Now().Add(s.Frame)); err != nil {
			return err
		}
		message, broken := frame(in)
		if broken != nil && message == nil {
			return broken
		}
		if err := s.answer(ctx, c, message, broken); err != nil || broken != nil {
			return errors.Join(broken, err)
		}
		if err := c.SetDeadline(time.Time{}); err != nil {
			return err
		}
	}
}

// quiet reports whether an error is the end of a connection between frames.
func quiet(err error) bool {
	var n net.Error
	return errors.Is(err, io.EOF) || errors.As(err, &n) && n.Timeout()
}

// frame reads a frame to its end. A message that is too long is cut to its first bytes, so that it can be answered.
func frame(in *bufio.Reader) ([]byte, error) {
	var message []byte
	for {
		b, err := in.ReadByte()
		if err != nil {
			return nil, fmt.Errorf("a frame that is not whole, of which nothing is kept: %w", err)
		}
		if b == end {
			if next, err := in.ReadByte(); err != nil || next != carriage {
				return nil, errors.New("want a frame that ends with bytes 0x1C 0x0D; nothing of it is kept")
			}
			return message, nil
		}
		if b == start {
			return nil, errors.New("want a frame to end before the next starts; nothing of it is kept")
		}
		if len(message) == hl7.MaxMessage {
			return message[:4096], fmt.Errorf("want a message of at most %d MiB; nothing of it is kept", hl7.MaxMessage>>20)
		}
		message = append(message, b)
	}
}

// answer has a message taken and says what became of it. broken is why its frame cannot be taken.
func (s *Server) answer(ctx context.Context, c net.Conn, message []byte, broken error) error {
	parsed, err := hl7.Parse(message)
	code, reason := "AA", ""
	var refused *RefusedError
	switch {
	case broken != nil:
		code, reason = "AR", broken.Error()
	case err != nil:
		code, reason = "AR", err.Error()
	default:
		// A message that has come is taken to its end even where the program is told to stop.
		err := s.Take(context.WithoutCancel(ctx), message)
		switch {
		case errors.As(err, &refused):
			code, reason = "AR", refused.Reason
		case err != nil:
			s.Say("%s: a message was not taken: %v", c.RemoteAddr(), err)
			code, reason = "AE", "the message could not be kept; send it again later" // no paths of this machine
		}
	}
	if reason != "" {
		s.Say("%s: answered %s: %s", c.RemoteAddr(), code, reason)
	}
	framed := append([]byte{start}, parsed.Ack(code, reason, s.Now())...)
	_, err = c.Write(append(framed, end, carriage))
	return err
}
