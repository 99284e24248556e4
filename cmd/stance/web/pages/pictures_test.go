package pages_test

import (
	"bytes"
	"cmp"
	"flag"
	"fmt"
	"image"
	"image/color"
	"image/png"
	"maps"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"
)

var update = flag.Bool("update", false, "take the pictures of the README anew")

// pictures are kept small, so that the project stays quick to fetch.
const mostPicture = 60 << 10

// TestPictures takes the pictures that the README shows, from the demo home, where -update asks for it. Otherwise it
// holds that each is there, is small, and is shown.
func TestPictures(t *testing.T) {
	const folder = "../../../../testdata/pictures"
	readme, err := os.ReadFile("../../../../README.md")
	if err != nil {
		t.Fatal(err)
	}
	var b *tab
	if *update {
		b = newTab(t, openBrowser(t), newHome(t), nil, nil)
	}
	for _, p := range []struct {
		name, path string
		part       string // selector of what is shown, from there down; empty for the page from its top
		height     int    // at most
	}{
		{"note", "/note?resident=R-101", "", 640},
		{"shift", "/shift?unit=Harbour&shift=2026-11-16/night", "", 640},
		{"resident", "/resident?id=R-101", "", 640},
		{"course", "/resident?id=R-101", ".drawing", 640},
		{"audit", "/audit", "", 640},
		{"learn", "/learn", "", 640},
	} {
		for _, scheme := range []string{"light", "dark"} {
			name := p.name + "-" + scheme + ".png"
			if b != nil {
				b.wear(scheme, 960)
				b.goTo(p.path)
				if p.name == "note" {
					b.do("start anew", js(`document.getElementById("clear").click()`))
					b.settled()
					b.typeText("#text", "Slept well. Walked to bathroom with cane x1. Dizzy on standing, sat down again, told RN.")
					b.settled()
					b.do("leave the field", js(`document.activeElement.blur()`))
					b.settled()
				}
				shot, err := chromedp.Run(b.ctx, chromedp.FullScreenshot(100))
				if err != nil {
					t.Fatal(err)
				}
				whole, err := png.Decode(bytes.NewReader(shot))
				if err != nil {
					t.Fatal(err)
				}
				view := whole.Bounds()
				if p.part != "" {
					r := ask[[4]int](b, fmt.Sprintf(`(() => { const r = document.querySelector(%s).getBoundingClientRect(); return [r.left + scrollX, r.top + scrollY, r.right + scrollX, r.bottom + scrollY].map(Math.round); })()`, quoted(p.part)))
					view = image.Rect(r[0], r[1], r[2], r[3]).Intersect(view)
				}
				view.Max.Y = min(view.Max.Y, view.Min.Y+p.height)
				if err := os.WriteFile(filepath.Join(folder, name), picture(t, whole, view), 0o644); err != nil {
					t.Fatal(err)
				}
			}
			info, err := os.Stat(filepath.Join(folder, name))
			if err != nil {
				t.Fatal(err)
			}
			if info.Size() > mostPicture {
				t.Errorf("%s has %d bytes, want %d at most", name, info.Size(), mostPicture)
			}
			if !strings.Contains(string(readme), "testdata/pictures/"+name) {
				t.Errorf("the README does not show %s", name)
			}
		}
	}
}

// picture is a part of a picture in the 64 colours that it has most of, which pages need no more than.
func picture(t *testing.T, from image.Image, view image.Rectangle) []byte {
	t.Helper()
	often := make(map[color.RGBA]int)
	at := func(x, y int) color.RGBA { return color.RGBAModel.Convert(from.At(x, y)).(color.RGBA) }
	for y := view.Min.Y; y < view.Max.Y; y++ {
		for x := view.Min.X; x < view.Max.X; x++ {
			often[at(x, y)]++
		}
	}
	all := slices.SortedFunc(maps.Keys(often), func(a, b color.RGBA) int {
		return cmp.Or(often[b]-often[a], int(a.R)-int(b.R), int(a.G)-int(b.G), int(a.B)-int(b.B))
	})
	var colours color.Palette
	for _, c := range all[:min(len(all), 64)] {
		colours = append(colours, c)
	}
	nearest := make(map[color.RGBA]uint8, len(often))
	for c := range often {
		nearest[c] = uint8(colours.Index(c))
	}
	out := image.NewPaletted(image.Rect(0, 0, view.Dx(), view.Dy()), colours)
	for y := range view.Dy() {
		for x := range view.Dx() {
			out.SetColorIndex(x, y, nearest[at(view.Min.X+x, view.Min.Y+y)])
		}
	}
	var b bytes.Buffer
	enc := png.Encoder{CompressionLevel: png.BestCompression}
	if err := enc.Encode(&b, out); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}
