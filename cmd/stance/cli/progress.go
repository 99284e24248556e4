package cli

import (
	"fmt"
	"io"
	"time"
)

// progress shows how far long work has come: on a terminal, and once it has taken a second.
type progress struct {
	w     io.Writer // nil: show nothing
	next  time.Time
	shown bool
}

func (a *app) newProgress(quiet bool) *progress {
	p := &progress{next: time.Now().Add(time.Second)}
	if !quiet && isTerminal(a.err) {
		p.w = a.err
	}
	return p
}

// step tells that n notes have been read. It looks at the clock once in 256 notes.
func (p *progress) step(n int) {
	if p.w == nil || n%256 != 0 {
		return
	}
	if now := time.Now(); now.After(p.next) {
		fmt.Fprintf(p.w, "\rstance: %d notes read", n)
		p.next, p.shown = now.Add(time.Second/4), true
	}
}

// done clears the line.
func (p *progress) done() {
	if p.shown {
		fmt.Fprint(p.w, "\r\x1b[K")
		p.shown = false
	}
}
