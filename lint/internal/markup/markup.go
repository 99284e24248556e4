// Package markup turns HTML, as notes have it in exchange formats, into words.
package markup

import (
	"bytes"
	"strings"
	"unicode"

	"golang.org/x/net/html"
	"golang.org/x/net/html/atom"
)

// Text is the words of HTML, one line a block. Entities other than HTML's own are left as they are written: nothing
// that a document declares is expanded.
func Text(markup string) string {
	var p plainer
	z := html.NewTokenizer(strings.NewReader(markup))
	for {
		switch z.Next() {
		case html.ErrorToken:
			return strings.Trim(string(p.out), " \n")
		case html.TextToken:
			if p.hidden == 0 {
				p.text(string(z.Text()))
			}
		case html.StartTagToken:
			name, _ := z.TagName()
			p.tag(atom.Lookup(name), 1)
		case html.EndTagToken:
			name, _ := z.TagName()
			p.tag(atom.Lookup(name), -1)
		case html.SelfClosingTagToken:
			name, _ := z.TagName()
			p.tag(atom.Lookup(name), 0)
		}
	}
}

// A plainer writes words as a page would show them: white space is one blank, but in pre.
type plainer struct {
	out    []byte
	hidden int // tags open whose text is not shown
	pre    int // tags open that keep white space
}

func (p *plainer) tag(name atom.Atom, open int) {
	switch name {
	case atom.Script, atom.Style, atom.Head, atom.Title, atom.Template:
		p.hidden = max(0, p.hidden+open)
	case atom.Pre:
		p.pre = max(0, p.pre+open)
		p.line()
	case atom.Td, atom.Th:
		if open > 0 {
			p.blank()
		}
	case atom.Br:
		p.out = append(bytes.TrimRight(p.out, " "), '\n')
	case atom.P, atom.Div, atom.Li, atom.Ul, atom.Ol, atom.Tr, atom.Table, atom.Section, atom.Article, atom.Blockquote,
		atom.H1, atom.H2, atom.H3, atom.H4, atom.H5, atom.H6, atom.Dl, atom.Dt, atom.Dd, atom.Hr, atom.Caption, atom.Header, atom.Footer:
		p.line()
	}
}

func (p *plainer) line() {
	if p.out = bytes.TrimRight(p.out, " "); len(p.out) > 0 && p.out[len(p.out)-1] != '\n' {
		p.out = append(p.out, '\n')
	}
}

func (p *plainer) blank() {
	if n := len(p.out); n > 0 && p.out[n-1] != ' ' && p.out[n-1] != '\n' {
		p.out = append(p.out, ' ')
	}
}

func (p *plainer) text(s string) {
	if p.pre > 0 {
		p.out = append(p.out, s...)
		return
	}
	if strings.TrimLeftFunc(s, unicode.IsSpace) != s {
		p.blank()
	}
	for i, word := range strings.Fields(s) {
		if i > 0 {
			p.blank()
		}
		p.out = append(p.out, word...)
	}
	if strings.TrimRightFunc(s, unicode.IsSpace) != s {
		p.blank()
	}
}
