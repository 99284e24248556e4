package cli

import (
	"io"
	"os"
	"unicode/utf8"

	"golang.org/x/text/transform"

	"example.com/stance/lint/report"
)

// onScreen has all that goes to standard output pass through a screen where that is a terminal: JSON,
// CSV, SARIF and HTML hold texts of notes as they are, and those must not drive it.
func (a *app) onScreen() {
	if f, ok := a.out.(*os.File); ok && isTerminal(f) {
		a.tty = f
		a.out = transform.NewWriter(f, screen{})
	}
}

// styled is where text goes that may have colours.
func (a *app) styled() io.Writer {
	if a.tty == nil || !a.color() {
		return a.out
	}
	return transform.NewWriter(a.tty, screen{styles: true})
}

// report is where a report in that format goes, which on a terminal may have colours if it is text.
func (a *app) report(format *choice) io.Writer {
	if format.value == "text" {
		return a.styled()
	}
	return a.out
}

// A screen lets through what only shows: each character that drives a terminal, and each byte that is
// no text, becomes U+FFFD. It knows nothing between two calls.
type screen struct {
	styles bool // lets colours through, which the program itself puts into text
}

func (screen) Reset() {}

func (s screen) Transform(dst, src []byte, atEOF bool) (nDst, nSrc int, err error) {
	for nSrc < len(src) {
		shown, size, whole := s.next(src[nSrc:])
		if !whole && !atEOF {
			return nDst, nSrc, transform.ErrShortSrc
		}
		if nDst+len(shown) > len(dst) {
			return nDst, nSrc, transform.ErrShortDst
		}
		nDst += copy(dst[nDst:], shown)
		nSrc += size
	}
	return nDst, nSrc, nil
}

// next is what is shown of the first character or style of src, and how many bytes that takes. It is
// not whole where more bytes could make something else of it.
func (s screen) next(src []byte) (shown []byte, size int, whole bool) {
	if s.styles && src[0] == escape {
		if n, whole := style(src); !whole || n > 0 {
			return src[:n], max(n, 1), whole
		}
	}
	if !utf8.FullRune(src) {
		return replacement(), len(src), false
	}
	r, n := utf8.DecodeRune(src)
	if r == utf8.RuneError || r != '\n' && r != '\t' && report.Drives(r) {
		return replacement(), n, true
	}
	return src[:n], n, true
}

const escape = 0x1b

func replacement() []byte { return utf8.AppendRune(nil, utf8.RuneError) }

// style is the length of the sequence that src starts with where it sets how characters look (SGR of
// ECMA-48, section 8.3.117), else 0. It is not whole where src ends within it.
func style(src []byte) (n int, whole bool) {
	const longest = 16
	for i, b := range src[1:min(len(src), longest)] {
		switch {
		case i == 0 && b == '[', i > 0 && (b == ';' || '0' <= b && b <= '9'):
		case i > 0 && b == 'm':
			return i + 2, true
		default:
			return 0, true
		}
	}
	return 0, len(src) >= longest
}
