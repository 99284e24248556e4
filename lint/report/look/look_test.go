package look_test

import (
	"math"
	"regexp"
	"strconv"
	"testing"

	"example.com/stance/lint/report/look"
)

// Contrast as WCAG 2.2 has it (W3C, Web Content Accessibility Guidelines 2.2, 2023, 1.4.3 and 1.4.11): 4.5 for text, 3
// for lines that mean something; in light and in dark.
func TestContrast(t *testing.T) {
	blocks := regexp.MustCompile(`(?s)\{([^{}]*--paper: #[^{}]*)\}`).FindAllStringSubmatch(look.Sheet(), -1)
	if len(blocks) != 3 {
		t.Fatalf("%d blocks of colours, want 3: light, dark and print", len(blocks))
	}
	for i, block := range blocks[:2] {
		colours := map[string]string{}
		for _, m := range regexp.MustCompile(`(--[a-z-]+): (#[0-9a-f]{6})`).FindAllStringSubmatch(block[1], -1) {
			colours[m[1]] = m[2]
		}
		for _, p := range []struct {
			ink, paper string
			least      float64
		}{
			{"--ink", "--paper", 4.5}, {"--ink", "--card", 4.5}, {"--quiet", "--paper", 4.5}, {"--quiet", "--card", 4.5},
			{"--lead", "--paper", 4.5}, {"--lead", "--card", 4.5}, {"--on-lead", "--lead", 4.5}, {"--line", "--card", 3}, {"--line", "--paper", 3},
			{"--focus", "--paper", 3}, {"--error", "--paper", 4.5}, {"--error", "--card", 4.5}, {"--error", "--error-back", 4.5},
			{"--warning", "--card", 4.5}, {"--warning", "--warning-back", 4.5}, {"--hint", "--card", 4.5}, {"--hint", "--hint-back", 4.5},
			{"--good", "--good-back", 4.5}, {"--ink", "--hint-back", 4.5},
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
	if len(hex) != 7 {
		t.Fatalf("colour %q, want six digits", hex)
	}
	sum := 0.0
	for i, weight := range []float64{0.2126, 0.7152, 0.0722} {
		n, err := strconv.ParseUint(hex[1+2*i:3+2*i], 16, 8)
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
