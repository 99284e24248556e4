package cli

import (
	"bytes"
	"testing"

	"golang.org/x/text/transform"
)

func TestScreen(t *testing.T) {
	for _, tt := range []struct {
		name, in, plain, styled string
	}{
		{"words and lines", "Slept well.\tcafé «ok»\n", "Slept well.\tcafé «ok»\n", "Slept well.\tcafé «ok»\n"},
		{"a style", "a\x1b[1;31mb\x1b[0mc", "a�[1;31mb�[0mc", "a\x1b[1;31mb\x1b[0mc"},
		{"clears the screen", "a\x1b[2Jb", "a�[2Jb", "a�[2Jb"},
		{"sets the title", "a\x1b]0;x\ab", "a�]0;x�b", "a�]0;x�b"},
		{"C1, as characters", "a\u009b31mb\u0085c", "a�31mb�c", "a�31mb�c"},
		{"C1, as bytes", "a\x9b31mb", "a�31mb", "a�31mb"},
		{"goes back over a line", "ab\rc\bd\x7f", "ab�c�d�", "ab�c�d�"},
		{"turns the direction", "a\u202eb", "a�b", "a�b"},
		{"no end of a style", "a\x1b[1;1;1;1;1;1;1;1;1;1mb", "a�[1;1;1;1;1;1;1;1;1;1mb", "a�[1;1;1;1;1;1;1;1;1;1mb"},
	} {
		t.Run(tt.name, func(t *testing.T) {
			for _, s := range []struct {
				screen screen
				want   string
			}{{screen{}, tt.plain}, {screen{styles: true}, tt.styled}} {
				for _, step := range []int{1, 2, 3, len(tt.in)} {
					var out bytes.Buffer
					w := transform.NewWriter(&out, s.screen)
					for rest := []byte(tt.in); len(rest) > 0; {
						n := min(step, len(rest))
						if _, err := w.Write(rest[:n]); err != nil {
							t.Fatal(err)
						}
						rest = rest[n:]
					}
					if err := w.Close(); err != nil {
						t.Fatal(err)
					}
					if out.String() != s.want {
						t.Errorf("%+v, %d bytes at a time: %q, want %q", s.screen, step, out.String(), s.want)
					}
				}
			}
		})
	}
}

// Whatever comes, and in whatever parts, nothing that drives a terminal gets through.
func FuzzScreen(f *testing.F) {
	f.Add([]byte("a\x1b[1mb\x1b[0m"), 2)
	f.Add([]byte("\x1b[\x9b\u009b\x1b]0;\a"), 1)
	f.Fuzz(func(t *testing.T, in []byte, at int) {
		at = min(max(at, 0), len(in))
		var out bytes.Buffer
		w := transform.NewWriter(&out, screen{})
		for _, part := range [][]byte{in[:at], in[at:]} {
			if _, err := w.Write(part); err != nil {
				t.Fatal(err)
			}
		}
		if err := w.Close(); err != nil {
			t.Fatal(err)
		}
		for _, r := range out.String() {
			if r != '\n' && r != '\t' && (r < ' ' || 0x7f <= r && r <= 0x9f) {
				t.Fatalf("%q came through as %q", in, out.String())
			}
		}
	})
}
