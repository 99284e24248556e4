package cli

import (
	"bytes"
	"context"
	"crypto/tls"
	"crypto/x509"
	"errors"
	"fmt"
	"io"
	"maps"
	"net"
	"slices"
	"strings"
	"sync"
	"time"

	"github.com/spf13/cobra"

	"example.com/stance/cmd/stance/web/guard"
	"example.com/stance/index"
	"example.com/stance/lint/mllp"
	"example.com/stance/lint/note"
	"example.com/stance/lint/shift"
)

type listenOptions struct {
	policy string
	quiet  bool
	index  string
	chartFlags
	listen             string
	cert, key, clients string
	findings, run      string
}

// defaultHL7 is loopback, and the port that is registered for HL7.
const defaultHL7 = "127.0.0.1:2575"

func (a *app) listenCommand() *cobra.Command {
	var opt listenOptions
	c := &cobra.Command{
		Use:   "listen [--index DIR] [--chart CHART]",
		Short: "Take notes as HL7 v2 messages over a connection",
		Long: `listen takes documents and observations of HL7 v2 over connections in the frames of MLLP, and
keeps their notes in the index as stance keep does. A message is answered with AA once its
notes are on the disk; sent again, it is not kept twice. AR says that it cannot be read, or
that no note is in it, with the segment and what was expected. AE says that it could not be
kept now; it may be sent again. A document that replaces another (T10) takes its place; one
that is cancelled (T11) counts no longer, and stays, marked, as earlier versions do. Both are
looked for among the notes of the resident whom the message names: AR says that there is
none to cancel. What is late, as a document that another has replaced before it came, is
answered with AA and passed over.

Residents with new notes are then checked. --findings appends what is found to a file, one
JSON object a line, each finding once, and each sentence about moving that was not
understood, with the rule "not-understood". --run starts a program with such lines on its
standard input; where it fails, they are handed to it again after the next message.
What was not checked when the program stopped is checked when it starts again.

Only this machine is listened to, unless --listen names another address, for which
--tls-cert, --tls-key and --tls-clients are needed: whoever connects then shows a
certificate that one of those in --tls-clients has signed.

While it runs, it alone writes to the index; find, history and check read it meanwhile.

Exit status:
  0  stopped with Ctrl-C
  2  wrong usage, or an index that is in use
  3  a fault inside stance, or a damaged index`,
		Example: `  stance listen --chart chart.csv --findings findings.jsonl
  stance listen --listen 192.0.2.7:2575 --tls-cert ward.pem --tls-key ward.key --tls-clients senders.pem`,
		Args: cobra.ArbitraryArgs,
		RunE: func(c *cobra.Command, files []string) error {
			if len(files) > 0 {
				return usagef("notes come over connections, want no files; stance keep takes those")
			}
			return a.listen(c.Context(), &opt)
		},
	}
	f := c.Flags()
	f.StringVar(&opt.index, "index", indexName, "`folder` of the index, made where there is none")
	opt.chartFlags.register(c)
	f.StringVar(&opt.policy, "policy", "", "policy `file` (else stance.yaml beside the index, else the one kept in it)")
	f.StringVar(&opt.listen, "listen", defaultHL7, "`address:port` to listen on; port 0 takes one that is free")
	f.StringVar(&opt.cert, "tls-cert", "", "PEM `file` of the certificate, with those it rests on")
	f.StringVar(&opt.key, "tls-key", "", "PEM `file` of the certificate's key")
	f.StringVar(&opt.clients, "tls-clients", "", "PEM `file` of the authorities that sign the certificates of those who may send")
	f.StringVar(&opt.findings, "findings", "", "`file` to append findings to")
	f.StringVar(&opt.run, "run", "", "`program` to hand findings to, with its arguments, divided by blanks")
	f.BoolVarP(&opt.quiet, "quiet", "q", false, "print nothing but what goes wrong")
	return c
}

// safe refuses what would let strangers send or read.
func (opt *listenOptions) safe() error {
	loopback, err := guard.Loopback(opt.listen)
	if err != nil {
		return usagef("--listen: %w", err)
	}
	given := 0
	for _, name := range []string{opt.cert, opt.key, opt.clients} {
		if name != "" {
			given++
		}
	}
	switch {
	case given > 0 && given < 3:
		return usagef("want --tls-cert, --tls-key and --tls-clients together")
	case !loopback && given == 0:
		return usagef("--listen %s: other machines can reach that address; want --tls-cert FILE, --tls-key FILE and --tls-clients FILE with it", opt.listen)
	}
	return nil
}

func (a *app) listen(ctx context.Context, opt *listenOptions) (err error) {
	if err := opt.safe(); err != nil {
		return err
	}
	shared := *a // from here on several connections may say something at once
	shared.err = &lockedWriter{w: a.err}
	a = &shared
	config, err := a.mutualTLS(opt)
	if err != nil {
		return err
	}
	home, err := a.home(opt.policy, nil, opt.index)
	if err != nil {
		return err
	}
	_, ch, _, err := a.checker(opt.chartFlags, home.lex, home.policy)
	if err != nil {
		return err
	}
	cal, err := shift.NewCalendar(home.policy.Shifts, home.policy.Zone)
	if err != nil {
		return usagef("%w", err)
	}
	out, err := openOutlet(opt.findings, strings.Fields(opt.run))
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, out.close()) }()
	w, err := index.OpenWriter(opt.index, home.lex)
	if err != nil {
		return indexError(err)
	}
	defer func() { err = indexError(errors.Join(err, w.Close())) }()
	k := &keeper{app: a, w: w, home: home, chart: ch, quiet: true, found: out.take}
	if err := k.run(ctx, &keepOptions{index: opt.index}, nil); err != nil { // what the last run did not come to
		return err
	}
	l, err := (&net.ListenConfig{}).Listen(ctx, "tcp", opt.listen)
	if err != nil {
		return usagef("--listen %s: %w", opt.listen, cause(err))
	}
	if config != nil {
		l = tls.NewListener(l, config)
	}
	if !opt.quiet {
		fmt.Fprintf(a.out, "Listening for HL7 v2 (MLLP) on %s, keeping notes in %s. Ctrl-C stops it.\n", l.Addr(), opt.index)
	}
	t := &listener{keeper: k, dir: opt.index, cal: cal, wake: make(chan struct{}, 1)}
	return t.serve(ctx, l)
}

// mutualTLS is what connections are secured by; nil: nothing, on this machine.
func (a *app) mutualTLS(opt *listenOptions) (*tls.Config, error) {
	if opt.cert == "" {
		return nil, nil
	}
	cert, err := a.certificate(&serveOptions{cert: opt.cert, key: opt.key})
	if err != nil {
		return nil, err
	}
	pem, err := a.readAll(opt.clients, mostPEM)
	if err != nil {
		return nil, err
	}
	pool := x509.NewCertPool()
	if !pool.AppendCertsFromPEM(pem) {
		return nil, usagef("%s: want certificates of authorities in PEM", opt.clients)
	}
	return &tls.Config{
		Certificates: []tls.Certificate{*cert}, MinVersion: tls.VersionTLS12,
		ClientAuth: tls.RequireAndVerifyClientCert, ClientCAs: pool,
	}, nil
}

// A listener keeps the notes of messages, and checks them when it has a moment.
type listener struct {
	*keeper
	dir  string
	cal  *shift.Calendar
	wake chan struct{} // has something while there are notes to check

	mu sync.Mutex // of the index
}

// Limits on connections. Answers take as long as a disk; a sender that is slower than a minute a message is broken.
const (
	frameTime   = time.Minute
	idleTime    = time.Hour
	connections = 32
)

func (t *listener) serve(ctx context.Context, l net.Listener) error {
	checked := make(chan struct{})
	done := make(chan struct{})
	go func() {
		defer close(checked)
		t.check(ctx, done)
	}()
	s := mllp.Server{Take: t.take, Say: t.say, Now: t.now, Frame: frameTime, Idle: idleTime, Connections: connections}
	err := s.Serve(ctx, l)
	close(done)
	<-checked
	return err
}

// check checks what has come, until done is closed. What goes wrong is told, and done again after the next message.
func (t *listener) check(ctx context.Context, done <-chan struct{}) {
	for {
		select {
		case <-done:
			return
		case <-t.wake:
		}
		t.mu.Lock()
		err := t.run(ctx, &keepOptions{index: t.dir}, nil)
		t.mu.Unlock()
		if err != nil && ctx.Err() == nil {
			t.say("notes are kept but were not checked: %v", err)
		}
	}
}

// take keeps the notes of one message.
func (t *listener) take(ctx context.Context, message []byte) error {
	notes, back, err := t.notes(message)
	if err != nil {
		return err
	}
	t.mu.Lock()
	defer t.mu.Unlock()
	for _, w := range back {
		known, _, err := t.w.Withdraw(ctx, w.Resident, w.Numbers, t.now())
		switch {
		case err != nil:
			return err
		case !known && !w.Here:
			return &mllp.RefusedError{Reason: "want the number (TXA-12) and the resident (PID-3) of a document that is kept; nothing was withdrawn"}
		}
	}
	_, err = t.w.Keep(ctx, func() (note.Note, error) {
		if len(notes) == 0 {
			return note.Note{}, io.EOF
		}
		n := notes[0]
		notes = notes[1:]
		return n, nil
	}, index.KeepOptions{At: t.now(), Shift: func(n *note.Note) string { return t.cal.Key(n.Time, n.Shift).Name }})
	if err != nil {
		return err
	}
	select {
	case t.wake <- struct{}{}:
	default: // it is about to be checked anyway
	}
	return nil
}

// notes are those of a message, and the documents that it takes back; all of them, or a reason to refuse it.
func (t *listener) notes(message []byte) (notes []note.Note, back []note.Withdrawal, err error) {
	p := t.home.policy
	r, err := note.NewReader("message", bytes.NewReader(message), note.Options{Zone: p.Zone, Roles: p.Roles})
	if err != nil {
		return nil, nil, &mllp.RefusedError{Reason: err.Error()}
	}
	for {
		n, err := r.Next()
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			return nil, nil, &mllp.RefusedError{Reason: err.Error()}
		}
		notes = append(notes, n)
	}
	back = r.Withdrawn()
	if len(notes)+len(back) == 0 {
		passed := strings.Join(slices.Sorted(maps.Keys(r.Passed())), ", ")
		return nil, nil, &mllp.RefusedError{Reason: "want a message with a note in it: MDM^T02, T06, T10 or T11, or ORU^R01 with text; this is " + passed}
	}
	return notes, back, nil
}
