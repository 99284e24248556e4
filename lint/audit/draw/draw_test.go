package draw_test

import (
	"bytes"
	"encoding/xml"
	"errors"
	"flag"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"
	"unicode/utf8"

	"example.com/stance/lint/audit/draw"
	"example.com/stance/lint/audit/stat"
)

var update = flag.Bool("update", false, "rewrite the golden drawings")

// weeks are the points of a year with a change in it, a gap, and weeks too small to judge.
func weeks(n int) []stat.Point {
	var out []stat.Point
	for i := range n {
		p := stat.Point{Label: fmt.Sprintf("2026-W%02d", i+1), N: 180 + 13*(i*7%11), Events: 18 + i*5%9}
		switch {
		case i == 9:
			p.N, p.Events = 0, 0
		case i == 14:
			p.N, p.Events = 12, 1
		case i > 20:
			p.Events += 16
		}
		out = append(out, p)
	}
	return out
}

// hostile is a label that would break out of the drawing if it weren't escaped.
const hostile = `<script>"&'</script>`

func drawings() map[string]func(w io.Writer, width int) error {
	opt := func(id string, width int) draw.Options {
		return draw.Options{ID: id, Title: "Drawing " + id + " " + hostile, Words: "What it shows.", Unit: "findings per 100 opportunities", Width: width}
	}
	units := []stat.Point{
		{Label: "Ash", Events: 210, N: 1900}, {Label: "Birch", Events: 190, N: 900}, {Label: "Cedar", Events: 20, N: 700},
		{Label: "Fir", Events: 48, N: 300}, {Label: "Hazel", Events: 22, N: 310}, {Label: "Oak", Events: 1, N: 2}, {Label: "Yew"},
		{Label: hostile, Events: 60, N: 480},
	}
	return map[string]func(io.Writer, int) error{
		"control": func(w io.Writer, width int) error {
			return draw.Control(w, stat.Proportions(weeks(30)), opt("control", width))
		},
		"control-empty": func(w io.Writer, width int) error { return draw.Control(w, stat.PChart(nil), opt("empty", width)) },
		"control-few": func(w io.Writer, width int) error {
			return draw.Control(w, stat.PChart([]stat.Point{{Label: hostile, Events: 1, N: 3}, {Label: "b", Events: 3, N: 3}}), opt("few", width))
		},
		"control-high": func(w io.Writer, width int) error {
			return draw.Control(w, stat.UChart([]stat.Point{{Label: "a", Events: 900, N: 300}, {Label: "b", Events: 880, N: 300}}), opt("high", width))
		},
		"funnel": func(w io.Writer, width int) error { return draw.Funnel(w, stat.Funnel(units), opt("funnel", width)) },
		"funnel-crowd": func(w io.Writer, width int) error {
			return draw.Funnel(w, stat.Funnel(crowd()), opt("crowd", width))
		},
		"funnel-empty": func(w io.Writer, width int) error { return draw.Funnel(w, stat.Funnel(nil), opt("no", width)) },
		"funnel-none": func(w io.Writer, width int) error {
			return draw.Funnel(w, stat.Funnel([]stat.Point{{Label: "Ash", N: 40}, {Label: "Oak", N: 3}}), opt("none", width))
		},
		"rates": func(w io.Writer, width int) error {
			return draw.Rates(w, stat.Rates(append(units, stat.Point{Label: strings.Repeat("a very long label ", 5), Events: 3, N: 9}), 0.95), opt("rates", width))
		},
		"rates-empty": func(w io.Writer, width int) error { return draw.Rates(w, nil, opt("nothing", width)) },
	}
}

// crowd is units that lie close together, and one that is alone.
func crowd() []stat.Point {
	out := []stat.Point{{Label: "Rowan", Events: 60, N: 400}}
	for i := range 16 {
		out = append(out, stat.Point{Label: fmt.Sprintf("Unit number %d", i), Events: 20 + i%3, N: 300 + 2*i})
	}
	return out
}

// Each unit that has a point is named, at every width.
func TestEveryUnitIsNamed(t *testing.T) {
	for _, width := range []int{280, 288, 680, 1200} {
		var b bytes.Buffer
		if err := draw.Funnel(&b, stat.Funnel(crowd()), draw.Options{ID: "f", Width: width}); err != nil {
			t.Fatal(err)
		}
		for _, u := range crowd() {
			if !strings.Contains(b.String(), ">"+u.Label+"<") && !strings.Contains(b.String(), ">"+u.Label+": ") {
				t.Errorf("at %d px: no name of %s", width, u.Label)
			}
		}
	}
}

// A whisker is drawn from end to end, on the sheet, and no figures are written over it.
func TestWhiskersAreWhole(t *testing.T) {
	points := []stat.Point{{Label: "a", Events: 0, N: 5}, {Label: "b", Events: 5, N: 5}, {Label: "c", Events: 3, N: 2000}, {Label: "d", Events: 1, N: 1}}
	for _, width := range []int{280, 680} {
		var b bytes.Buffer
		if err := draw.Rates(&b, stat.Rates(points, 0.95), draw.Options{ID: "r", Width: width}); err != nil {
			t.Fatal(err)
		}
		whiskers := regexp.MustCompile(`<path d="M(\S+) \S+H(\S+)M(\S+) (\S+)V(\S+)M(\S+) (\S+)V(\S+)"`).FindAllStringSubmatch(b.String(), -1)
		figures := regexp.MustCompile(`text-anchor="end">([0-9.]+ \(|1 of 1)`).FindAllString(b.String(), -1)
		if len(whiskers) != len(points) || len(figures) != len(points) {
			t.Fatalf("%d whiskers and %d figures, want %d", len(whiskers), len(figures), len(points))
		}
		for i, w := range whiskers {
			if w[3] != w[1] || w[6] != w[2] || w[4] != w[7] || w[5] != w[8] {
				t.Errorf("the ends of %s differ: %s", points[i].Label, w[0])
			}
			low, high := float(t, w[1]), float(t, w[2])
			r := stat.Rates(points, 0.95)[i]
			if high-low < 200*(r.Interval.High-r.Interval.Low)*0.2 || low < 0 || high > float64(width)-8*float64(len(r.Said())) {
				t.Errorf("%s at %d px: from %.1f to %.1f", r.Label, width, low, high)
			}
		}
	}
	var b bytes.Buffer
	if err := draw.Rates(&b, stat.Rates(points, 0.95), draw.Options{ID: "r"}); err != nil {
		t.Fatal(err)
	}
	if !strings.Contains(b.String(), ">1 of 1<") || strings.Contains(b.String(), ">100.0 (20.7") {
		t.Error("one of one is written as a rate")
	}
}

func TestGolden(t *testing.T) {
	for _, name := range []string{"control", "funnel", "rates"} {
		for _, width := range []int{288, 680} {
			t.Run(fmt.Sprint(name, width), func(t *testing.T) {
				var got bytes.Buffer
				if err := drawings()[name](&got, width); err != nil {
					t.Fatal(err)
				}
				file := filepath.Join("testdata", fmt.Sprintf("%s-%d.svg", name, width))
				if *update {
					if err := os.WriteFile(file, got.Bytes(), 0o666); err != nil {
						t.Fatal(err)
					}
				}
				want, err := os.ReadFile(file)
				if err != nil {
					t.Fatal(err)
				}
				if !bytes.Equal(bytes.ReplaceAll(want, []byte("\r\n"), []byte("\n")), got.Bytes()) {
					t.Errorf("%s differs; look at the drawing that -update makes", file)
				}
			})
		}
	}
}

// Every drawing is well-formed, is named for those who don't see it, and keeps its text on the sheet
// and apart from other text.
func TestDrawings(t *testing.T) {
	for name, drawing := range drawings() {
		for _, width := range []int{0, 280, 288, 680, 1200} {
			t.Run(fmt.Sprint(name, width), func(t *testing.T) {
				var b bytes.Buffer
				if err := drawing(&b, width); err != nil {
					t.Fatal(err)
				}
				check(t, b.Bytes())
			})
		}
	}
}

func check(t *testing.T, svg []byte) {
	t.Helper()
	type placed struct {
		x1, y, x2 float64
		words     string
	}
	var (
		texts      []placed
		wide, high float64
		ids        = map[string]bool{}
		names      string
		inTitle    bool
	)
	d := xml.NewDecoder(bytes.NewReader(svg))
	for {
		tok, err := d.Token()
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			t.Fatalf("not well-formed: %v", err)
		}
		e, ok := tok.(xml.StartElement)
		if !ok {
			continue
		}
		attr := map[string]string{}
		for _, a := range e.Attr {
			attr[a.Name.Local] = a.Value
			if strings.Contains(a.Value, "NaN") || strings.Contains(a.Value, "Inf") {
				t.Errorf("%s has %s %q", e.Name.Local, a.Name.Local, a.Value)
			}
		}
		if id := attr["id"]; id != "" {
			ids[id] = true
		}
		switch e.Name.Local {
		case "svg":
			names = attr["aria-labelledby"]
			wide, high = float(t, attr["width"]), float(t, attr["height"])
			if attr["role"] != "img" {
				t.Errorf("role %q, want img", attr["role"])
			}
		case "title", "desc":
			inTitle = inTitle || attr["id"] != ""
		case "script", "style", "foreignObject", "image", "use":
			t.Errorf("has the element %s", e.Name.Local)
		case "text":
			var words string
			if err := d.DecodeElement(&words, &e); err != nil {
				t.Fatal(err)
			}
			x, y, w := float(t, attr["x"]), float(t, attr["y"]), 7*float64(utf8.RuneCountInString(words))
			switch attr["text-anchor"] {
			case "middle":
				x -= w / 2
			case "end":
				x -= w
			}
			p := placed{x, y, x + w, words}
			if p.x1 < -0.5 || p.x2 > wide+0.5 || y < 8 || y > high {
				t.Errorf("%q lies at %.0f to %.0f, %.0f, off the sheet of %.0f by %.0f", words, p.x1, p.x2, y, wide, high)
			}
			for _, o := range texts {
				if p.x1 < o.x2 && o.x1 < p.x2 && p.y < o.y+9 && o.y < p.y+9 {
					t.Errorf("%q runs into %q", p.words, o.words)
				}
			}
			texts = append(texts, p)
		}
	}
	for id := range strings.FieldsSeq(names) {
		if !ids[id] {
			t.Errorf("named by %q, which isn't there", id)
		}
	}
	if names == "" || !inTitle {
		t.Error("has no name")
	}
	if bytes.Contains(svg, []byte("<script>")) {
		t.Error("a label broke out")
	}
}

func float(t *testing.T, s string) float64 {
	t.Helper()
	f, err := strconv.ParseFloat(s, 64)
	if err != nil {
		t.Fatalf("coordinate %q", s)
	}
	return f
}

// What signals must show by its shape, and what doesn't mustn't.
func TestShapes(t *testing.T) {
	for _, c := range []struct {
		name  string
		shape string
		want  bool
	}{
		{"control", "<polygon", true},
		{"control-few", "<polygon", false},
		{"funnel", "<polygon", true},
		{"funnel-none", "<polygon", false},
	} {
		var b bytes.Buffer
		if err := drawings()[c.name](&b, 0); err != nil {
			t.Fatal(err)
		}
		if got := strings.Contains(b.String(), c.shape); got != c.want {
			t.Errorf("%s: a %s is there: %v, want %v", c.name, c.shape, got, c.want)
		}
	}
}

type failing struct{}

func (failing) Write([]byte) (int, error) { return 0, io.ErrClosedPipe }

func TestWriteFails(t *testing.T) {
	for name, drawing := range drawings() {
		if err := drawing(failing{}, 0); !errors.Is(err, io.ErrClosedPipe) {
			t.Errorf("%s: error %v, want that of the writer", name, err)
		}
	}
}

func BenchmarkFunnel(b *testing.B) {
	for b.Loop() {
		if err := drawings()["funnel"](io.Discard, 680); err != nil {
			b.Fatal(err)
		}
	}
}
