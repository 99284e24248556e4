package note

import (
	"math/rand/v2"
	"strings"
	"testing"
	"unicode/utf8"
)

// asPlain holds what scan takes against what encoding/json reads, and reports whether it takes it.
func asPlain(t *testing.T, text string) bool {
	t.Helper()
	taken := false
	for _, homeKey := range []string{"more", "x", "unit", ""} {
		got, home, ok := scan(text, homeKey)
		if taken = ok; !ok {
			continue
		}
		want, wantHome, wanted := parseObject([]byte(text), homeKey)
		if wanted != "" {
			t.Errorf("scan takes %q, of which it is to be told: want %s", text, wanted)
		} else if got != want || home != wantHome {
			t.Errorf("scan(%q, %q) = %q, %q, want %q, %q", text, homeKey, got, home, want, wantHome)
		}
	}
	return taken
}

func objects() []string {
	return []string{
		`{"resident": "R-1", "time": "2026-11-24T21:40:00Z", "text": "Walked.\n\"Fine\" \u00e9\/ \t", "note": 12, "unit": null}`,
		` { "resident":"R","more":{"resident":["Q",{"a":[]},-0.5e+3,true,false,null,"\ud83d\ude00"]},"text":"\ud800" } `,
		`{}`, ` {} x`, `{"resident":"R"}}`, `{"resident":"R","resident":"Q"}`, `{"r\u0065sident":"R"}`, `{"note":01}`, `{"note":-}`, `{"note":1.}`,
		`{"note":1e}`, `{"note":+1}`, `{"note":.5}`, `{"note":tru}`, `{"note":true}`, `{"note":[1]}`, `{"x":[1,]}`, `{"x":{"a"}}`, `{"x":{,}}`, `{"a":1,}`,
		`{"text":"a` + "\t" + `b"}`, `{"text":"\x"}`, `{"text":"\u12"}`, `{"text":"\u00`, `{"text":"`, `{"text":"\`, `[]`, `null`, `"a"`, ``, `{"a" 1}`, `{"a":"b" "c":1}`,
		`{"x":` + strings.Repeat("[", 40) + strings.Repeat("]", 40) + `}`, `{"note":1234567890123456789012345678901234567890.5E-7,"Text":"b","text":"é"}`,
	}
}

// TestScan spoils objects in many ways: whatever scan still takes, it reads as encoding/json does.
func TestScan(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 2))
	taken, all := 0, objects()
	for range 200_000 {
		text := []byte(all[rng.IntN(len(all))])
		for range rng.IntN(3) {
			if len(text) == 0 {
				break
			}
			at := rng.IntN(len(text))
			switch rng.IntN(3) {
			case 0:
				text[at] = `{}[]:,"\ntu0e.-1 a`[rng.IntN(18)]
			case 1:
				text = append(text[:at], text[at+1:]...)
			default:
				other := all[rng.IntN(len(all))]
				text = append(text[:at:at], other[min(len(other), at):]...)
			}
		}
		if utf8.Valid(text) && asPlain(t, string(text)) {
			taken++
		}
	}
	if taken < 10_000 {
		t.Errorf("only %d objects were taken", taken)
	}
}

// TestScanTakes says what is not to be left to the slow way.
func TestScanTakes(t *testing.T) {
	for _, text := range []string{
		`{"resident": "R-1", "time": "2026-11-24T21:40:00Z", "text": "Walked.\n\"Fine\" \u00e9\/ \t", "note": 12, "unit": null}`,
		`{"resident":"R","more":{"resident":["Q",{"a":[]},-0.5e+3,true,false,null]},"text":"naïve"}`,
	} {
		if !asPlain(t, text) {
			t.Errorf("scan does not take %s", text)
		}
	}
}

func FuzzScan(f *testing.F) {
	for _, o := range objects() {
		f.Add(o)
	}
	f.Fuzz(func(t *testing.T, text string) {
		if utf8.ValidString(text) {
			asPlain(t, text)
		}
	})
}
