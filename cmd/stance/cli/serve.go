package cli

import (
	"context"
	"crypto/tls"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"net"
	"net/http"
	"os"
	"slices"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"example.com/stance/cmd/stance/web"
	"example.com/stance/cmd/stance/web/guard"
	"example.com/stance/cmd/stance/web/pages"
	"example.com/stance/cmd/stance/web/pages/records"
	"example.com/stance/lexicon"
	"example.com/stance/lint/plural"
	"example.com/stance/lint/policy"
	"example.com/stance/lint/report"
)

type serveOptions struct {
	inputFlags
	chartFlags
	answers          string
	index            string
	listen           string
	cert, key        string
	users, accessLog string
	idle             time.Duration
	hooks            hooksFlags
}

// defaultListen is loopback, and a port of our own choice above those of the system.
const defaultListen = "127.0.0.1:8420"

func (a *app) serveCommand() *cobra.Command {
	opt := serveOptions{}
	c := &cobra.Command{
		Use:   "serve [NOTES…] --chart CHART",
		Short: "Show notes, findings and residents on a local web page",
		Long: `serve opens a web page, for a browser on this machine: write a note and have it checked as
it is typed, go through the findings of a shift, look up a resident, and see rates over many
notes. It shows the notes of the files given, or those kept in an --index, until it is
stopped with Ctrl-C, and reads notes, chart and answers again when they change.

Without more flags only this machine can reach the page, and whoever uses it can see all.
With --users FILE people log in; stance serve adduser makes that file. To let other
machines in, --listen ADDRESS:PORT needs all of

  --tls-cert --tls-key   a certificate of your own, so that nobody on the way reads along
  --users                the accounts, each with roles and the units that it may see
  --access-log           a file that only grows, of who saw which resident

Others on this machine must not be able to read the key and the users, nor to change the
access log: a file that they can is refused. The log may be renamed while stance runs,
which then goes on in a new one.

A system of records that speaks CDS Hooks 2.0 may ask too, with --cds-keys: at /cds-services
it finds a service for a note that is about to be signed (hook com.example.stance.note-sign,
the note as a DocumentReference) and one for opening a resident (patient-view), and is given
cards. Each of its requests shows a token (JWT) that is signed with one of the keys, good
once and for an hour at most, for the address as it was called. The access log tells who saw
whom, and for which user the system says it asked.

The page sends nothing to any other machine. Notes typed in it are not kept by stance.

Exit status:
  0  stopped with Ctrl-C
  2  wrong usage, or input that could not be read
  3  a fault inside stance, or a damaged index`,
		Example: `  stance serve --chart chart.csv --answers answers.jsonl notes.jsonl
  stance serve adduser a17 --users users.jsonl --roles write,review --units Birch
  stance serve --chart chart.csv --listen 192.0.2.7:8420 --tls-cert ward.pem \
    --tls-key ward.key --users users.jsonl --access-log access.jsonl notes.jsonl
  stance serve --chart chart.csv --index stance-index --access-log access.jsonl --cds-units all \
    --cds-keys records-keys.json --cds-issuer https://records.example.org`,
		Args: cobra.ArbitraryArgs,
		RunE: func(c *cobra.Command, files []string) error { return a.serve(c.Context(), &opt, files) },
	}
	f := c.Flags()
	opt.chartFlags.register(c)
	f.StringVar(&opt.index, "index", "", "`folder` of kept notes to show, in place of files")
	f.StringVar(&opt.answers, "answers", "", "`file` of the answers to findings; without it they cannot be answered")
	f.StringVar(&opt.listen, "listen", defaultListen, "`address:port` to serve on; port 0 takes one that is free")
	f.StringVar(&opt.cert, "tls-cert", "", "PEM `file` of the certificate, with those it rests on")
	f.StringVar(&opt.key, "tls-key", "", "PEM `file` of the certificate's key")
	f.StringVar(&opt.users, "users", "", "`file` of those who may log in")
	f.StringVar(&opt.accessLog, "access-log", "", "`file` to add to: who saw which resident")
	f.DurationVar(&opt.idle, "idle", guard.DefaultIdle, "log people out after this `time` of doing nothing")
	opt.hooks.register(c)
	opt.inputFlags.register(c, "print nothing but what goes wrong")
	c.AddCommand(a.addUserCommand())
	return c
}

// Bounds of --idle. NIST SP 800-63B-4 (2025), section 2.2.3, advises at most one hour.
const leastIdle, mostIdle = time.Minute, time.Hour

func (a *app) serve(ctx context.Context, opt *serveOptions, files []string) (err error) {
	switch {
	case (opt.cert == "") != (opt.key == ""):
		return usagef("want --tls-cert and --tls-key together")
	case opt.idle < leastIdle || opt.idle > mostIdle:
		return usagef("--idle %s: want a time from %s to %s", opt.idle, leastIdle, mostIdle)
	}
	switch {
	case slices.Contains(files, stdinName):
		return usagef("standard input (-) cannot be read again when it changes, want files of notes")
	case len(files) > 0 && opt.index != "":
		return usagef("want either files of notes or --index FOLDER")
	}
	if err := opt.safe(); err != nil {
		return err
	}
	if err := opt.hooks.check(opt.accessLog); err != nil {
		return err
	}
	// From here on several requests may say something at once.
	shared := *a
	shared.err = &lockedWriter{w: a.err}
	a = &shared

	cert, err := a.certificate(opt)
	if err != nil {
		return err
	}
	g, closeLog, err := a.guard(opt, cert)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, closeLog()) }()
	read, err := a.home(opt.policy, files, opt.index)
	if err != nil {
		return err
	}
	p, lex := read.policy, read.lex
	src, notes, err := a.source(ctx, opt, files, lex, p)
	if err != nil {
		return err
	}
	if _, err := a.answers(opt.answers); err != nil {
		return err
	}
	ch := &chartFile{app: a, flags: opt.chartFlags, policy: p}
	if err := ch.first(opt.skipBad); err != nil {
		return err
	}
	h, err := a.pages(opt, lex, p, src, ch, g)
	if err != nil {
		return err
	}
	err = web.Serve(ctx, web.Config{
		Bind: opt.listen, Certificate: cert, Handler: g.Wrap(h), Say: a.sayLine,
		Started: func(address string) {
			if !opt.quiet {
				a.sayServed(opt, address, notes)
			}
		},
	})
	var op *net.OpError
	if errors.As(err, &op) {
		return usagef("--listen %s: %w", opt.listen, cause(op))
	}
	return err
}

// safe refuses flags that would show notes to strangers, before any file is touched. The guard
// refuses the same; here what is missing is told by its flag.
func (opt *serveOptions) safe() error {
	loopback, err := guard.Loopback(opt.listen)
	if err != nil {
		return usagef("--listen: %w", err)
	}
	var missing []string
	if !loopback && opt.cert == "" {
		missing = append(missing, "--tls-cert FILE", "--tls-key FILE")
	}
	if !loopback && opt.users == "" {
		missing = append(missing, "--users FILE")
	}
	if (!loopback || opt.users != "") && opt.accessLog == "" {
		missing = append(missing, "--access-log FILE")
	}
	switch {
	case len(missing) == 0:
		return nil
	case loopback:
		return usagef("--users: want %s with it, to tell who saw which resident", and(missing))
	}
	return usagef("--listen %s: other machines can reach that address; want %s with it", opt.listen, and(missing))
}

// and is "a, b and c".
func and(words []string) string {
	if len(words) < 2 {
		return strings.Join(words, "")
	}
	return strings.Join(words[:len(words)-1], ", ") + " and " + words[len(words)-1]
}

// sayLine tells what a server has to tell. What clients send has no business in a terminal.
func (a *app) sayLine(line string) { a.say("%s", line) }

func (a *app) pages(opt *serveOptions, lex *lexicon.Lexicon, p *policy.Policy, src records.Source, ch *chartFile, g *guard.Guard) (http.Handler, error) {
	return pages.New(pages.Config{
		Records: records.Config{Lexicon: lex, Policy: p, Source: src, Chart: ch.now, Answers: opt.answers, Version: version(), Wait: g.Await},
		Session: guard.SessionOf,
		Saw:     g.Saw,
		Fault:   func(err error) { a.sayLine(err.Error()) },
		Now:     a.now,
		Hooks:   opt.hooks.keys != "",
		Behalf:  g.OnBehalf,
	})
}

// source is where the notes of the page come from, all of which are read once before it is served.
func (a *app) source(ctx context.Context, opt *serveOptions, files []string, lex *lexicon.Lexicon, p *policy.Policy) (records.Source, served, error) {
	if opt.index != "" {
		kept, err := openKept(opt.index, lex)
		if err != nil {
			return nil, served{}, indexError(err)
		}
		notes, err := kept.count(ctx)
		return kept, notes, err
	}
	src := &noteFiles{app: a, files: files, flags: opt.inputFlags, policy: p}
	notes, err := src.first(ctx)
	return src, notes, err
}

// guard makes the guard that the flags ask for, and gives what closes its access log.
func (a *app) guard(opt *serveOptions, cert *tls.Certificate) (*guard.Guard, func() error, error) {
	callers, err := a.callers(&opt.hooks)
	if err != nil {
		return nil, nil, err
	}
	c := guard.Config{Bind: opt.listen, Idle: opt.idle, Now: a.now, Say: a.sayLine, Callers: callers}
	if cert != nil {
		c.Certificate = cert.Leaf
	}
	if opt.users != "" {
		var err error
		switch c.Users, err = guard.OpenUsers(opt.users); {
		case errors.Is(err, fs.ErrNotExist):
			return nil, nil, usagef("%s: no such file; stance serve adduser makes it", opt.users)
		case err != nil:
			return nil, nil, usagef("%w", err)
		}
	}
	closeLog := func() error { return nil }
	if opt.accessLog != "" {
		var err error
		if c.AccessLog, err = guard.OpenAccessLog(opt.accessLog); err != nil {
			return nil, nil, usagef("%s: %w", opt.accessLog, cause(err))
		}
		closeLog = c.AccessLog.Close
	}
	g, err := guard.New(c)
	if err != nil {
		return nil, nil, errors.Join(usagef("--listen: %w", err), closeLog())
	}
	return g, closeLog, nil
}

func (a *app) certificate(opt *serveOptions) (*tls.Certificate, error) {
	if opt.cert == "" {
		return nil, nil
	}
	for _, name := range []string{opt.cert, opt.key} {
		info, err := os.Stat(name)
		if err != nil {
			return nil, usagef("%s: %w", name, cause(err))
		}
		if name == opt.key && !guard.Private(info) {
			return nil, usagef("%s: want a key that others cannot read or change, as after chmod 600", name)
		}
	}
	chain, err := a.readAll(opt.cert, mostPEM)
	if err != nil {
		return nil, err
	}
	key, err := a.readAll(opt.key, mostPEM)
	if err != nil {
		return nil, err
	}
	cert, err := tls.X509KeyPair(chain, key)
	if err != nil {
		return nil, usagef("%s and %s: want a certificate and its key in PEM: %w", opt.cert, opt.key, err)
	}
	switch {
	case len(cert.Leaf.DNSNames)+len(cert.Leaf.IPAddresses) == 0:
		return nil, usagef("%s: want a certificate that names the host which it is for (subject alternative names)", opt.cert)
	case a.now().After(cert.Leaf.NotAfter):
		return nil, usagef("%s: want a certificate that holds; this one ended on %s", opt.cert, cert.Leaf.NotAfter.Format("2 January 2006"))
	}
	return &cert, nil
}

// sayServed tells how to open the page, what it shows, and who can see it.
func (a *app) sayServed(opt *serveOptions, address string, notes served) {
	var on strings.Builder
	fmt.Fprintf(&on, "Open %s in a browser", address)
	if opt.cert == "" {
		on.WriteString(" on this machine")
	}
	on.WriteString(". Ctrl-C stops it.\n")
	on.WriteString(opt.hooks.said(address))
	if notes.notes == 0 {
		on.WriteString("No notes are shown; one that is typed is checked by itself.\n")
	} else {
		fmt.Fprintf(&on, "Shown: %s on %s.\n", plural.Of(notes.notes, "note"), plural.Of(notes.residents, "resident"))
	}
	if opt.chartFile == "" {
		on.WriteString("Nothing is held against a chart without --chart FILE.\n")
	}
	if opt.answers == "" {
		on.WriteString("Findings cannot be answered without --answers FILE.\n")
	}
	if opt.users == "" {
		on.WriteString("Whoever uses this machine can see all of it while stance runs; --users FILE asks for a login.\n")
	}
	on.WriteString(report.Caution + "\n")
	if _, err := io.WriteString(a.out, on.String()); err != nil {
		a.say("%v", err)
	}
}
