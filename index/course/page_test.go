package course_test

import (
	"bytes"
	"encoding/xml"
	"errors"
	"fmt"
	"io"
	"math"
	"os"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"example.com/stance/index/course"
	"example.com/stance/lint/note"
	"example.com/stance/lint/report"
)

// hostile is a name and a text that would do harm, were they not escaped.
const hostile = `<script>alert("x")</script>&"'`

func hostileNotes(h *home) []note.Note {
	notes := h.told("Pivot x2 "+hostile+" with belt. Found on floor "+hostile, "Pivot x1 \x1b[31m"+hostile+" with belt.")
	for i := range notes {
		notes[i].Resident, notes[i].Unit, notes[i].ID = hostile, hostile, hostile+"\x1b"+strconv.Itoa(i)
	}
	return notes
}

// Every drawing is well-formed XML, with a title and a description.
func TestDrawingIsWellFormed(t *testing.T) {
	h := demo(t)
	h.notes = append(h.notes, hostileNotes(h)...)
	if !slices.Contains(h.residents(), hostile) {
		t.Fatal("the hostile resident is missing")
	}
	for _, resident := range h.residents() {
		opt := h.draw()
		opt.ID = `r"1`
		var b bytes.Buffer
		if err := course.Figure(&b, h.course(resident, h.of(resident), course.Options{}), opt); err != nil {
			t.Fatal(err)
		}
		seen := map[string]int{}
		dec := xml.NewDecoder(&b)
		for {
			token, err := dec.Token()
			if errors.Is(err, io.EOF) {
				break
			}
			if err != nil {
				t.Fatalf("%s: %v", resident, err)
			}
			if e, ok := token.(xml.StartElement); ok {
				seen[e.Name.Local]++
			}
		}
		// Whole for a desk and for a tablet, and for a phone in parts: names, plot and legend.
		if seen["svg"] != 5 || seen["title"] < 3 || seen["desc"] != 3 || seen["script"] != 0 {
			t.Errorf("%s: elements %v, want five svg, a title and a desc for each form, and no script", resident, seen)
		}
	}
}

// No mark of an event hides another: an order and a review of one day stand one under the other.
func TestMarksAreStacked(t *testing.T) {
	h := demo(t)
	place := regexp.MustCompile(`<(?:rect class="told" x|circle class="sign" cx|path class="(?:fall|near|after|told)" d)="M?(-?[0-9.]+)(?:" (?:y|cy)="| )(-?[0-9.]+)`)
	most := 0
	for _, resident := range h.residents() {
		var b bytes.Buffer
		if err := course.Figure(&b, h.course(resident, h.of(resident), course.Options{}), h.draw()); err != nil {
			t.Fatal(err)
		}
		drawn, _, _ := strings.Cut(b.String(), `class="edge"`) // without the legend
		at := place.FindAllStringSubmatch(drawn, -1)
		most = max(most, len(at))
		for i, a := range at {
			for _, o := range at[:i] {
				dx, dy := number(t, a[1])-number(t, o[1]), number(t, a[2])-number(t, o[2])
				if math.Abs(dx) < 12 && math.Abs(dy) < 12 {
					t.Errorf("%s: marks at %s,%s and %s,%s lie on one another", resident, a[1], a[2], o[1], o[2])
				}
			}
		}
	}
	if most < 2 {
		t.Fatal("no drawing has two marks")
	}
}

func number(t *testing.T, s string) float64 {
	t.Helper()
	f, err := strconv.ParseFloat(s, 64)
	if err != nil {
		t.Fatal(err)
	}
	return f
}

// The page asks the network for nothing and runs nothing, whatever the notes hold.
func TestPageStandsAlone(t *testing.T) {
	h := newHome(t)
	var b bytes.Buffer
	if err := course.HTML(&b, h.course(hostile, hostileNotes(h), course.Options{}), h.draw()); err != nil {
		t.Fatal(err)
	}
	page := strings.ReplaceAll(b.String(), `xmlns="http://www.w3.org/2000/svg"`, "")
	for _, bad := range []string{"<script", "http:", "https:", "src=", "url(", "@import", "<link", "\x1b"} {
		if strings.Contains(page, bad) {
			t.Errorf("the page holds %q", bad)
		}
	}
	if !strings.Contains(page, report.Caution) {
		t.Error("the page lacks the caution")
	}
}

// A figure has each form once, with letters of twelve pixels at least, ids that are there once, and a link to each note to
// look at; what is on paper or a screen too narrow for the whole is not made smaller.
func TestFigure(t *testing.T) {
	h := demo(t)
	for _, size := range regexp.MustCompile(`font-size: ([0-9.]+)px`).FindAllStringSubmatch(course.Style(), -1) {
		if number(t, size[1]) < 12 {
			t.Errorf("letters of %s px", size[1])
		}
	}
	opt := h.draw()
	opt.Link = func(m course.Mark) string { return `#<"` + strconv.Itoa(m.Number) }
	c := h.course("R-101", h.of("R-101"), course.Options{})
	var b bytes.Buffer
	if err := course.Figure(&b, c, opt); err != nil {
		t.Fatal(err)
	}
	figure := b.String()
	for _, form := range []string{"wide", "medium", "narrow"} {
		if strings.Count(figure, `class="course-`+form+`"`) != 1 {
			t.Errorf("the form %s is not there once", form)
		}
	}
	seen := map[string]bool{}
	for _, id := range regexp.MustCompile(` id="([^"]*)"`).FindAllStringSubmatch(figure, -1) {
		if seen[id[1]] {
			t.Errorf("the id %s is there twice", id[1])
		}
		seen[id[1]] = true
	}
	for _, m := range c.Marks {
		if n := strings.Count(figure, fmt.Sprintf(`href="#&lt;&#34;%d"`, m.Number)); n < 3 {
			t.Errorf("%d links to note %d, want one in each form at least", n, m.Number)
		}
	}
	// No rectangle for a finger, band or number lies beyond its sheet.
	for _, svg := range strings.SplitAfter(figure, "</svg>") {
		box := regexp.MustCompile(`viewBox="0 0 ([0-9]+) ([0-9]+)"`).FindStringSubmatch(svg)
		if box == nil {
			continue
		}
		for _, at := range regexp.MustCompile(`<(?:rect class="(?:hit|band)"|text class="number") x="(-?[0-9.]+)"`).FindAllStringSubmatch(svg, -1) {
			if x := number(t, at[1]); x < 0 || x > number(t, box[1])-8 {
				t.Errorf("something at %s of a sheet of %s", at[1], box[1])
			}
		}
	}
}

// Text for a terminal holds no control character of a note.
func TestTextIsPrintable(t *testing.T) {
	h := newHome(t)
	var b bytes.Buffer
	if err := course.Text(&b, h.course(hostile, hostileNotes(h), course.Options{}), report.TextOptions{}); err != nil {
		t.Fatal(err)
	}
	if strings.ContainsRune(b.String(), '\x1b') {
		t.Errorf("an escape sequence comes through:\n%q", b.String())
	}
}

// A resident with no notes and no chart has a report that says so.
func TestNothingWritten(t *testing.T) {
	h := newHome(t)
	c := h.course("R", nil, course.Options{})
	var text, page bytes.Buffer
	if err := course.Text(&text, c, report.TextOptions{}); err != nil {
		t.Fatal(err)
	}
	if err := course.HTML(&page, c, h.draw()); err != nil {
		t.Fatal(err)
	}
	if strings.Contains(page.String(), "<svg") {
		t.Error("a page with no time to show has a drawing")
	}
	for _, out := range []string{text.String(), page.String()} {
		if !strings.Contains(out, "Nothing is charted, and the notes say nothing of how the resident is moved.") {
			t.Errorf("it does not say that there is nothing:\n%s", out)
		}
	}
}

// Contrast as WCAG 2.2 has it (W3C, Web Content Accessibility Guidelines 2.2, 2023, 1.4.3 and
// 1.4.11): 4.5 for text, 3 for what a mark is told by; in light, dark and print.
func TestContrast(t *testing.T) {
	css, err := os.ReadFile("drawing.css")
	if err != nil {
		t.Fatal(err)
	}
	blocks := regexp.MustCompile(`(?s)\{([^{}]*--[a-z-]+: #[^{}]*)\}`).FindAllStringSubmatch(string(css), -1)
	if len(blocks) != 3 {
		t.Fatalf("%d blocks of colours, want 3: light, dark and print", len(blocks))
	}
	colours := map[string]string{} // a block sets some, and leaves the others as they were
	for i, block := range blocks {
		for _, m := range regexp.MustCompile(`(--[a-z-]+): (#[0-9a-f]+)`).FindAllStringSubmatch(block[1], -1) {
			colours[m[1]] = m[2]
		}
		for _, p := range []struct {
			ink, paper string
			least      float64
		}{
			{"--c-ink", "--c-paper", 4.5}, {"--c-ink", "--c-night", 4.5}, {"--c-soft", "--c-paper", 4.5}, {"--c-soft", "--c-night", 4.5},
			{"--c-band-ink", "--c-band", 4.5}, {"--c-alert", "--c-paper", 4.5}, {"--c-alert", "--c-night", 4.5},
			{"--c-night", "--c-paper", 1.15}, // a tint that nobody must read, but see
			{"--c-point", "--c-paper", 3}, {"--c-point", "--c-night", 3}, {"--c-band-edge", "--c-paper", 3}, {"--c-band-edge", "--c-night", 3},
		} {
			if got := contrast(t, colours[p.ink], colours[p.paper]); got < p.least {
				t.Errorf("block %d: %s on %s has contrast %.2f, want %.1f", i+1, p.ink, p.paper, got, p.least)
			}
		}
	}
}

func contrast(t *testing.T, a, b string) float64 {
	la, lb := luminance(t, a), luminance(t, b)
	return (max(la, lb) + 0.05) / (min(la, lb) + 0.05)
}

func luminance(t *testing.T, hex string) float64 {
	t.Helper()
	hex = strings.TrimPrefix(hex, "#")
	if len(hex) == 3 {
		hex = strings.Join([]string{hex[:1], hex[:1], hex[1:2], hex[1:2], hex[2:], hex[2:]}, "")
	}
	if len(hex) != 6 {
		t.Fatalf("colour %q, want three or six digits", hex)
	}
	sum := 0.0
	for i, weight := range []float64{0.2126, 0.7152, 0.0722} {
		n, err := strconv.ParseUint(hex[2*i:2*i+2], 16, 8)
		if err != nil {
			t.Fatal(err)
		}
		c := float64(n) / 255
		if c <= 0.04045 {
			c /= 12.92
		} else {
			c = math.Pow((c+0.055)/1.055, 2.4)
		}
		sum += weight * c
	}
	return sum
}
